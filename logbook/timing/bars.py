"""Places in the form as players say them: bars, beats and ranges of bars.

* A point is "9" (where bar 9 begins), "9.3" (its third beat) or "9.3+1/2" (half a beat later).
  Beats are counted from 1 in the meter's written unit. The first full bar is bar 1; a pick-up
  bar before it is bar 0.
* A range is "9-16", "9", "12.1-14.3" or "9.3-12". A bar without a beat is meant whole, at either
  end: bars 9-16 are eight bars. A beat at the end is the point where the range stops: 12.1-14.3
  stops as beat 3 of bar 14 begins, so neighbouring ranges share the point they meet at.

Inside the program a range is half-open: it has a start and a point it no longer reaches.
"""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache
from typing import NamedTuple

from logbook.errors import LogbookError
from logbook.numerals import MOST_BARS, MOST_BEATS, read_up_to, read_whole

_ONE = Fraction(1)
_POINT_FORMS = 'write a bar, a bar and beat, or a fraction more: "9", "9.3", "9.3+1/2"'
_RANGE_FORMS = 'write bars as in "9-16" or "9", with beats as in "12.1-14.3"'


class BarPoint(NamedTuple):
    """A place in the form: a bar and a beat in it, counted from 1 (3 1/2 is beat 3 and a half)."""

    bar: int
    beat: Fraction = _ONE

    def __str__(self) -> str:
        return str(self.bar) if self.beat == 1 else _with_beat(self)


class BarRange(NamedTuple):
    """A stretch of the form: from `start` up to, and not reaching, `end`."""

    start: BarPoint
    end: BarPoint

    @property
    def is_whole_bars(self) -> bool:
        """Whether both ends fall on bar lines."""
        return self.start.beat == 1 and self.end.beat == 1

    @property
    def bars(self) -> range:
        """The numbers of all bars the range touches."""
        return range(self.start.bar, self.end.bar + (self.end.beat > 1))

    def __str__(self) -> str:
        if not self.is_whole_bars:
            start = _with_beat(self.start) if self.start.beat > 1 else str(self.start.bar)
            last = self.end.bar - 1
            # "9.3-9" would be right but reads badly: name the point 10.1 instead.
            plain_end = self.end.beat == 1 and last > self.start.bar
            end = str(last) if plain_end else _with_beat(self.end)
            return f"{start}-{end}"
        last = self.end.bar - 1
        return str(last) if last == self.start.bar else f"{self.start.bar}-{last}"


def bars(first: int, last: int | None = None) -> BarRange:
    """The range of whole bars from `first` to `last`, both included; one bar without `last`.

    Raises LogbookError when `last` comes before `first`.
    """
    return _ordered(BarPoint(first), BarPoint((first if last is None else last) + 1), "")


@lru_cache(maxsize=4096)
def parse_point(text: str) -> BarPoint:
    """Read "9", "9.3" or "9.3+1/2".

    Raises LogbookError when it is none of these, or a beat or fraction is out of place.
    """
    return _read_point(text)[0]


@lru_cache(maxsize=4096)
def parse_range(text: str) -> BarRange:
    """Read "9-16", "9", "12.1-14.3" or "9.3-12"; see the module for what is included.

    Raises LogbookError when it cannot be read or ends before it begins.
    """
    # A dash pasted from a letter or a sheet is as good as a hyphen.
    start_text, dash, end_text = text.strip().replace("\u2013", "-").partition("-")
    start, start_has_beat = _read_point(start_text)
    if not dash:
        if start_has_beat:
            raise LogbookError(
                f'"{text.strip()}" is one point, not a range',
                f'say where it stops, as in "{start_text}-{start.bar}"',
            )
        return BarRange(start, BarPoint(start.bar + 1))
    end, end_has_beat = _read_point(end_text)
    return _ordered(start, end if end_has_beat else BarPoint(end.bar + 1), text.strip())


def parse_ranges(text: str) -> tuple[BarRange, ...]:
    """Read several ranges with commas between: "1-8, 17-24".

    Raises LogbookError as `parse_range` does.
    """
    return tuple(parse_range(part) for part in text.split(","))


def ranges_text(ranges: tuple[BarRange, ...] | list[BarRange]) -> str:
    """Several ranges as `parse_ranges` reads them back: "1-8, 17-24"."""
    return ", ".join(str(each) for each in ranges)


def _read_point(text: str) -> tuple[BarPoint, bool]:
    """The point, and whether a beat was written."""
    body = text.strip()
    bar_text, dot, beat_text = body.partition(".")
    whole_text, plus, part_text = beat_text.partition("+")
    if not _is_number(bar_text) or (dot and not _is_number(whole_text)):
        raise LogbookError(f'"{body}" is not a bar' if body else "a bar is missing", _POINT_FORMS)
    beat = Fraction(read_up_to(MOST_BEATS, whole_text, "beat")) if dot else _ONE
    if beat < 1:
        raise LogbookError(f'"{body}" names beat 0', "beats are counted from 1")
    if plus:
        beat += _read_part(part_text, body)
    return BarPoint(read_up_to(MOST_BARS, bar_text, "bar"), beat), bool(dot)


def _read_part(text: str, body: str) -> Fraction:
    numerator, _, denominator = text.partition("/")
    if _is_number(numerator) and _is_number(denominator) and read_whole(denominator):
        part = Fraction(read_whole(numerator), read_whole(denominator))
        if 0 < part < 1:
            return part
    raise LogbookError(
        f'the part after "+" in "{body}" is not between 0 and 1 beat',
        'write it as a fraction, as in "9.3+1/2"',
    )


def _is_number(text: str) -> bool:
    return text.isascii() and text.isdecimal()


def _ordered(start: BarPoint, end: BarPoint, text: str) -> BarRange:
    if end <= start:
        shown = text or f"{start.bar}-{end.bar - 1}"
        raise LogbookError(f'"{shown}" ends before it has begun', _RANGE_FORMS)
    return BarRange(start, end)


def _with_beat(point: BarPoint) -> str:
    whole, part = divmod(point.beat, 1)
    return f"{point.bar}.{whole}" + (f"+{part}" if part else "")
