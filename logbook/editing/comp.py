"""A comp: for each stretch of the finished part, the take and the bars it comes from.

One piece is one line:

    1-16    take 2
    17-24.3 take 5                      note cleaner low strings
    41-48   take 2 @ 9-16 xfade 10ms    note the third chorus was late

First the bars of the finished part, then the take, "@" and the bars of that take where they are
not the same bars, "xfade" and the length of the crossfade into the piece (centred on its start),
and "note" with anything to the end of the line. Bars are written as in `logbook.timing.bars`, so
pieces can start and end on a beat or a fraction of one. "t2" is short for "take 2".
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from logbook.editing.takes import TakeId, parse_take_id
from logbook.errors import LogbookError
from logbook.timing.bars import BarRange, parse_range

_FORMS = 'write it as in "41-48 take 2 @ 9-16 xfade 10ms note warmer"'
_TAKE = re.compile(
    r'(?:take\s*|t)(?P<take>[0-9]+(?:/(?:"(?:[^"\\]|\\.)*"|[^\s@]+))?)\s*(?P<rest>.*)', re.I
)
_SOURCE = re.compile(r"@\s*(?P<bars>\S+)\s*(?P<rest>.*)")
_FADE = re.compile(
    r"xfade\s+(?P<length>[0-9.]+|[0-9]+/[0-9]+)\s*(?P<unit>ms|s)(?:\s+(?P<rest>.*))?$", re.I
)
_NOTE = re.compile(r"note\s+(?P<note>\S.*)", re.I)


@dataclass(frozen=True, slots=True, kw_only=True)
class EditPiece:
    """`bars` of the finished part are `source` bars of `take`.

    `crossfade_ms` is the crossfade into the piece, in milliseconds, centred on its start.
    """

    bars: BarRange
    take: TakeId
    source: BarRange
    crossfade_ms: Fraction = Fraction(0)
    note: str = ""

    def __str__(self) -> str:
        text = f"{self.bars} take {self.take}"
        if self.source != self.bars:
            text += f" @ {self.source}"
        if self.crossfade_ms:
            text += f" xfade {_decimal(self.crossfade_ms)}ms"
        return f"{text} note {self.note}" if self.note else text


def parse_piece(line: str) -> EditPiece:
    """Read one piece of a comp from its line.

    Raises LogbookError saying which of bars, take, source, crossfade or note cannot be read.
    """
    bars_text, _, rest = line.strip().partition(" ")
    if not bars_text:
        raise LogbookError("a comp piece is empty", _FORMS)
    bars = parse_range(bars_text)
    found = _TAKE.fullmatch(rest.strip())
    if found is None:
        raise LogbookError(f'"{line.strip()}" does not say which take after its bars', _FORMS)
    take, rest = parse_take_id(found["take"]), found["rest"]
    source, fade, note = bars, Fraction(0), ""
    if found := _SOURCE.fullmatch(rest):
        source, rest = parse_range(found["bars"]), found["rest"]
    if found := _FADE.fullmatch(rest):
        fade, rest = _fade_ms(found["length"], found["unit"]), found["rest"] or ""
    if found := _NOTE.fullmatch(rest):
        note, rest = found["note"].strip(), ""
    if rest:
        raise LogbookError(f'"{rest}" in "{line.strip()}" cannot be read', _FORMS)
    return EditPiece(bars=bars, take=take, source=source, crossfade_ms=fade, note=note)


def parse_comp(lines: str | Iterable[str]) -> tuple[EditPiece, ...]:
    """Read a comp, one piece to a line; empty lines are passed over.

    Raises LogbookError naming the line and what in it cannot be read.
    """
    pieces = []
    for number, line in enumerate(lines.splitlines() if isinstance(lines, str) else lines, 1):
        if line.strip():
            try:
                pieces.append(parse_piece(line))
            except LogbookError as error:
                raise LogbookError(f"comp line {number}: {error.problem}", error.remedy) from error
    return tuple(pieces)


def comp_lines(pieces: Iterable[EditPiece]) -> list[str]:
    """The lines `parse_comp` reads back."""
    return [str(piece) for piece in pieces]


def _fade_ms(length: str, unit: str) -> Fraction:
    try:
        return Fraction(length) * (1000 if unit.lower() == "s" else 1)
    except (ValueError, ZeroDivisionError):
        raise LogbookError(
            f'"{length}{unit}" is not the length of a crossfade', 'write it as in "xfade 10ms"'
        ) from None


def _decimal(value: Fraction) -> str:
    decimal = f"{float(value):.6f}".rstrip("0").rstrip(".")
    return decimal if Fraction(decimal) == value else f"{value.numerator}/{value.denominator}"
