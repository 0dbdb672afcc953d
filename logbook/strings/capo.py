"""Capos: at which fret, over which strings.

Conventions. Strings are numbered as players count them: string 1 is the treble side (the last
one written in a tuning), string 6 the bass string of a guitar. A capo without strings covers
all of them. Several may be on at once, a whole one at 2 and a partial one at 4; the highest one
over a string is the one that stops it. A capo at or behind the fret where a short string starts
does not touch that string.

As text: `2`, `2 on strings 1-5`, `2 @ 3-5`, `2 + 4 @ 3,4,5`; `0` or `none` for no capo.
"""

from collections.abc import Iterable
from functools import lru_cache
from typing import NamedTuple

from logbook.errors import LogbookError
from logbook.numerals import MOST_FRET, read_up_to, read_whole
from logbook.strings.instruments import KINDS
from logbook.strings.tunings import StringTuning, string_number

# More than any fretted instrument has; a range of strings is kept within it.
_MOST_STRINGS = 64


class CapoError(LogbookError):
    """A capo that cannot be read, or cannot be put there."""


class Capo(NamedTuple):
    """One capo: its fret from the nut, and the numbers of the strings it covers (None: all)."""

    fret: int
    strings: tuple[int, ...] | None = None

    @property
    def text(self) -> str:
        """The capo as a person types it: `2`, `2 on strings 3-5`."""
        if self.strings is None:
            return str(self.fret)
        return f"{self.fret} on {'string' if len(self.strings) == 1 else 'strings'} " + runs_text(
            self.strings
        )


Capos = tuple[Capo, ...]


def runs_text(numbers: Iterable[int]) -> str:
    """Write numbers with their runs drawn together: 1, 3, 4, 5 as `1, 3-5`."""
    runs: list[list[int]] = []
    for number in sorted(set(numbers)):
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return ", ".join(str(run[0]) if len(run) == 1 else f"{run[0]}-{run[-1]}" for run in runs)


def read_capos(text: str | int) -> Capos:
    """Read what capos are on, lowest fret first; none gives an empty tuple.

    Raises CapoError where the text cannot be read.
    """
    if isinstance(text, int):
        text = str(text)
    plain = text.strip().lower()
    if plain in {"", "0", "none", "no", "no capo", "-"}:
        return ()
    pieces = plain.replace(";", "+").replace("&", "+").replace(" and ", " + ").split("+")
    capos = [_read_one(piece, text) for piece in pieces]
    return tuple(sorted(capos, key=lambda capo: (capo.fret, capo.strings or ())))


def write_capos(capos: Capos) -> str:
    """Write capos as `read_capos` reads them; no capo is `0`."""
    return " + ".join(capo.text for capo in capos) or "0"


def _read_one(piece: str, whole: str) -> Capo:
    remedy = "write a fret, such as 2, or a fret and the strings it covers: 2 on strings 3-5"
    words = piece.replace("@", " @ ").replace(":", " @ ").replace(",", " ")
    kept = [word for word in words.split() if word not in {"capo", "partial", "at", "fret", "full"}]
    if not kept or not kept[0].isdecimal():
        raise CapoError(f"'{whole}' is not a capo that can be read", remedy)
    fret = read_up_to(MOST_FRET, kept[0], "fret")
    if fret == 0:
        raise CapoError(f"a capo at fret 0 in '{whole}' is not a capo", "leave it out")
    rest = [word for word in kept[1:] if word not in {"@", "on", "over", "strings", "string"}]
    if len(kept) == 1:
        return Capo(fret)
    numbers: set[int] = set()
    for word in rest:
        first, dash, last = word.partition("-")
        if not first.isdecimal() or (dash and not last.isdecimal()):
            raise CapoError(f"'{word}' in the capo '{whole}' names no strings", remedy)
        ends = sorted((read_whole(first), read_whole(last or first)))
        if ends[1] > _MOST_STRINGS:
            raise CapoError(f"there is no string {ends[1]} for the capo '{whole}'", remedy)
        numbers.update(range(ends[0], ends[1] + 1))
    if not numbers or 0 in numbers:
        raise CapoError(
            f"the capo '{whole}' does not say which strings it covers",
            "string 1 is the highest; write 2 on strings 3-5, or 2 alone for all",
        )
    return Capo(fret, tuple(sorted(numbers)))


def covers(capo: Capo, number: int) -> bool:
    """Say whether a capo covers the string that players call `number`."""
    return capo.strings is None or number in capo.strings


def check_capos(capos: Capos, tuning: StringTuning, *, clear_frets: int | None = None) -> Capos:
    """Return the capos unchanged where they can be put on this instrument.

    `clear_frets` is the last fret clear of the body; without it the usual one of the tuning's
    kind of instrument counts. Raises CapoError for a string that is not there or a fret past the
    body.
    """
    count = len(tuning)
    kind = KINDS.get(tuning.kind, KINDS["guitar"])
    clear = kind.clear_frets if clear_frets is None else clear_frets
    for capo in capos:
        if capo.strings and capo.strings[-1] > count:
            raise CapoError(
                f"the capo covers string {capo.strings[-1]}, and there are {count} strings",
                f"number them 1 (highest) to {count}",
            )
        if capo.fret > clear:
            raise CapoError(
                f"a capo at fret {capo.fret} is past the body",
                f"this neck is clear up to fret {clear}",
            )
    return capos


@lru_cache(maxsize=4096)
def string_stops(tuning: StringTuning, capos: Capos) -> tuple[int, ...]:
    """Return the fret from the nut at which each open string is stopped, low to high.

    0 is the nut; a short string is stopped where it starts, a covered one at its capo.
    """
    count = len(tuning)
    stops = []
    for index, string in enumerate(tuning.strings):
        number = string_number(index, count)
        on = [capo.fret for capo in capos if covers(capo, number)]
        stops.append(max([string.start, *on]))
    return tuple(stops)


@lru_cache(maxsize=4096)
def whole_capo(tuning: StringTuning, capos: Capos) -> int | None:
    """Return the fret at which every full-length string is stopped alike, None where they differ.

    0 means no capo.
    """
    frets = {
        stop
        for stop, start in zip(string_stops(tuning, capos), tuning.starts, strict=True)
        if start == 0
    }
    return frets.pop() if len(frets) == 1 else None
