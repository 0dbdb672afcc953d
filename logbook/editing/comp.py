"""A comp: for each stretch of the finished part, the take and the bars it comes from.

One piece is one line:

    1-16    take 2
    17-24.3 take 5                      note cleaner low strings
    41-48   take 2 @ 9-16 xfade 10ms    note the third chorus was late

First the bars of the finished part, then the take, "@" and the bars of that take where they are
not the same bars, "xfade" and the length of the crossfade into the piece (centred on its start),
and "note" with anything to the end of the line. Bars are written as in `logbook.timing.bars`, so
pieces can start and end on a beat or a fraction of one. "t2" is short for "take 2".

A piece may come from elsewhere: a take of another version of the song, and of another part there,
or a finished file of a version (mix, master) or of a part (bounce), by its own name if need be:

    1-8   take 2 of album
    9-16  take 1 of "album long"/"second guitar" @ 25-32
    17-24 mix of album @ 33-40
    25-32 file "instrumental.wav" of album

The bars after "@" are counted in that version.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from logbook.editing.takes import FINISHED, TakeId, parse_take_id
from logbook.errors import LogbookError
from logbook.timing.bars import BarRange, parse_range

_FORMS = 'write it as in "41-48 take 2 @ 9-16 xfade 10ms note warmer"'
_TAKE = re.compile(
    r'(?:take\s*|t)(?P<take>[0-9]+(?:/(?:"(?:[^"\\]|\\.)*"|[^\s@]+))?)\s*(?P<rest>.*)', re.I
)
_NAME = r'(?:"(?:[^"\\]|\\.)+"|[^\s"@/]+)'
_FILE = re.compile(
    rf"(?:(?P<word>{'|'.join(FINISHED)})|file\s+(?P<file>{_NAME}))(?=\s|@|$)\s*(?P<rest>.*)", re.I
)
_OF = re.compile(
    rf"of\s+(?P<version>{_NAME})?(?:/(?P<part>{_NAME}))?(?=\s|@|$)\s*(?P<rest>.*)", re.I
)
_SOURCE = re.compile(r"@\s*(?P<bars>\S+)\s*(?P<rest>.*)")
_FADE = re.compile(
    r"xfade\s+(?P<length>[0-9.]+|[0-9]+/[0-9]+)\s*(?P<unit>ms|s)(?:\s+(?P<rest>.*))?$", re.I
)
_NOTE = re.compile(r"note\s+(?P<note>\S.*)", re.I)


@dataclass(frozen=True, slots=True, kw_only=True)
class EditPiece:
    """`bars` of the finished part are `source` bars of `take`, counted where that lies.

    `crossfade_ms` is the crossfade into the piece, in milliseconds, centred on its start.
    """

    bars: BarRange
    take: TakeId
    source: BarRange
    crossfade_ms: Fraction = Fraction(0)
    note: str = ""

    def __str__(self) -> str:
        text = f"{self.bars} {'' if self.take.file else 'take '}{self.take}"
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
    take, rest = _read_take(rest.strip(), line)
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


def _read_take(text: str, line: str) -> tuple[TakeId, str]:
    """Read the take or the finished file a piece comes from, and where that lies."""
    if found := _FILE.fullmatch(text):
        file = (found["word"] or "").lower() or _plain(found["file"])
        take, rest = TakeId(0, file=file), found["rest"]
    elif found := _TAKE.fullmatch(text):
        take, rest = parse_take_id(found["take"]), found["rest"]
    else:
        raise LogbookError(f'"{line.strip()}" does not say which take after its bars', _FORMS)
    if found := _OF.fullmatch(rest):
        version, part = _plain(found["version"]), _plain(found["part"])
        if not version and not part:
            raise LogbookError(f'"{line.strip()}" does not say of which version', _FORMS)
        take, rest = take._replace(version=version, part=part), found["rest"]
    return take, rest


def _plain(name: str | None) -> str:
    """A name without its quotation marks."""
    if name and name.startswith('"'):
        return re.sub(r"\\(.)", r"\1", name[1:-1])
    return name or ""


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
