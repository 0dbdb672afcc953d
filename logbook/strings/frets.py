"""Fret lines: one entry for each string, low to high, counted from the nut or from the capo.

A line is written with blanks, commas or dashes between its entries (`x 0 2 2 1 0`), or without
any where every fret is a single digit (`x02210`). `x` is not played; `0` is the open string,
which rings at the capo if one covers it; `(0)` may ring but is not played on purpose; `<12>` is
a natural harmonic touched over fret 12.

Counted from the nut, a number is the fret on the neck. Counted from the capo, it is the number
of frets above whatever stops that string: a string that a partial capo leaves free is counted
from the nut, a short string from the fret it starts at. Either way 0 is the open string, so
the two counts can be turned into each other string by string.

A natural harmonic with k of p parts of the string behind it lies 12 log2(p / (p - k)) frets
above the point where the string is stopped and sounds p times as high (acoustics of a string).
"""

from functools import lru_cache
from math import gcd, log2
from typing import NamedTuple

from logbook.errors import LogbookError
from logbook.numerals import read_whole
from logbook.strings.capo import Capos, string_stops
from logbook.strings.tunings import StringTuning, string_number

NUT = "nut"
CAPO = "capo"
HIGHEST_FRET = 36
_HIGHEST_PARTIAL = 6


class FretError(LogbookError):
    """A fret line that cannot be read, or that cannot be played as it is written."""


class FingerError(LogbookError):
    """A line of fingers that cannot be read or does not fit its frets."""


class FretCell(NamedTuple):
    """One string's entry as written: `fret` None is not played, 0 the open string."""

    fret: int | None
    may_ring: bool = False
    harmonic: bool = False

    @property
    def text(self) -> str:
        """The entry as it is typed."""
        if self.fret is None:
            return "x"
        if self.harmonic:
            return f"<{self.fret}>"
        return f"({self.fret})" if self.may_ring else str(self.fret)


class FretLine(NamedTuple):
    """A fret line as read: its entries low to high, which way it counts, the text as written."""

    cells: tuple[FretCell, ...]
    counted: str
    written: str

    @property
    def text(self) -> str:
        """The entries with a blank between them."""
        return " ".join(cell.text for cell in self.cells)


class Stopped(NamedTuple):
    """Where one string is stopped on the neck.

    `fret` is counted from the nut on the neck; for an open string it is `stop`, the fret at
    which the string is stopped unfingered (0 nut, else the capo or a short string's start).
    """

    fret: int
    stop: int
    may_ring: bool = False
    harmonic: bool = False

    @property
    def fingered(self) -> bool:
        """Whether a finger presses the string down or touches it."""
        return self.fret > self.stop


Position = tuple[Stopped | None, ...]
"""Each string low to high: where it is stopped, None where it is not played."""


@lru_cache(maxsize=4096)
def read_frets(text: str, *, counted: str = NUT, strings: int | None = None) -> FretLine:
    """Read a fret line; `counted` is "nut" or "capo", `strings` how many entries are wanted.

    Raises FretError naming the string and the entry that is wrong.
    """
    if counted not in (NUT, CAPO):
        raise FretError(f"frets cannot be counted from '{counted}'", "say nut or capo")
    tokens = _split(text, strings)
    if strings is not None and len(tokens) != strings:
        raise FretError(
            f"'{text}' has {_count(len(tokens), 'entry', 'entries')} for "
            f"{_count(strings, 'string', 'strings')}",
            "give one fret for each string, low to high, x where it is not played",
        )
    if not tokens:
        raise FretError("the fret line is empty", "write one fret for each string: x 0 2 2 1 0")
    cells = tuple(
        _read_cell(token, string_number(index, len(tokens))) for index, token in enumerate(tokens)
    )
    return FretLine(cells, counted, text)


def _count(number: int, one: str, many: str) -> str:
    return f"{number} {one if number == 1 else many}"


def _split(text: str, strings: int | None) -> list[str]:
    plain = text.strip()
    for separator in ",|-–−":
        plain = plain.replace(separator, " ")
    words = plain.split()
    if len(words) != 1 or strings == 1:
        return words
    return _split_compact(words[0])


def _split_compact(word: str) -> list[str]:
    """Cut `x02210` or `x(0)2<12>10` into its entries."""
    tokens: list[str] = []
    place = 0
    closing = {"(": ")", "<": ">"}
    while place < len(word):
        end = word.find(closing[word[place]], place) if word[place] in closing else place
        end = len(word) - 1 if end < 0 else end
        tokens.append(word[place : end + 1])
        place = end + 1
    return tokens


def _read_cell(token: str, number: int) -> FretCell:
    plain = token.lower()
    if plain == "x":
        return FretCell(None)
    may_ring = plain.startswith("(") and plain.endswith(")")
    harmonic = plain.startswith("<") and plain.endswith(">")
    digits = plain[1:-1] if may_ring or harmonic else plain
    if not (digits.isascii() and digits.isdecimal()):
        hint = "0 for the open string" if plain == "o" else "a fret number, 0 for the open string"
        raise FretError(
            f"string {number}: '{token}' is not a fret",
            f"write {hint}, x for not played, (0) for may ring or <12> for a harmonic",
        )
    fret = read_whole(digits)
    if fret > HIGHEST_FRET:
        raise FretError(
            f"string {number}: there is no fret {fret}",
            "separate the entries with spaces, as in x 0 12 12 10 0",
        )
    if harmonic and fret == 0:
        raise FretError(
            f"string {number}: <0> is not a harmonic", "write 0, or <12> for the octave"
        )
    return FretCell(fret, may_ring, harmonic)


@lru_cache(maxsize=4096)
def place_frets(
    line: FretLine, tuning: StringTuning, capos: Capos = (), *, last_fret: int | None = None
) -> Position:
    """Return where each string is stopped on the neck.

    Raises FretError for a line that does not fit the tuning's strings, a fretted note at or
    behind the capo, a fret above `last_fret`, or a harmonic where no string has one; every
    string that is wrong is named.
    """
    count = len(tuning)
    if len(line.cells) != count:
        raise FretError(
            f"'{line.written}' has {_count(len(line.cells), 'entry', 'entries')} for "
            f"{_count(count, 'string', 'strings')}",
            "give one fret for each string, low to high, x where it is not played",
        )
    position: list[Stopped | None] = []
    problems: list[FretError] = []
    for index, (cell, stop) in enumerate(zip(line.cells, string_stops(tuning, capos), strict=True)):
        try:
            start = tuning.strings[index].start
            position.append(_place(cell, line.counted, stop, start, last_fret))
        except FretError as error:
            place = f"string {string_number(index, count)}: "
            problems.append(FretError(place + error.problem, error.remedy))
    if len(problems) == 1:
        raise problems[0]
    if problems:
        behind = line.counted == NUT and any(capo.fret for capo in capos)
        raise FretError(
            "; ".join(problem.problem for problem in problems),
            "write 0 for an open string, or say that the frets are counted from the capo"
            if behind
            else problems[0].remedy,
        )
    return tuple(position)


def _place(
    cell: FretCell, counted: str, stop: int, start: int, last_fret: int | None
) -> Stopped | None:
    if cell.fret is None:
        return None
    fret = stop if cell.fret == 0 else cell.fret + (stop if counted == CAPO else 0)
    if cell.fret and fret <= stop:
        _refuse_behind(cell.fret, stop, start)
    if last_fret is not None and fret > last_fret:
        raise FretError(
            f"fret {fret} from the nut is past the last fret, {last_fret}",
            f"write a fret up to {last_fret - (stop if counted == CAPO else 0)}",
        )
    if cell.harmonic and harmonic_partial(fret - stop) is None:
        usual = ", ".join(f"<{node + (0 if counted == CAPO else stop)}>" for node in (12, 7, 5, 4))
        raise FretError(f"there is no natural harmonic over fret {cell.fret}", f"write {usual}")
    return Stopped(fret, stop, cell.may_ring, cell.harmonic)


def _refuse_behind(fret: int, stop: int, start: int) -> None:
    if stop == start:
        where = "where the string starts, fret" if fret == stop else "behind its start at fret"
        raise FretError(
            f"fret {fret} from the nut is {where} {stop}",
            f"write 0 for the open string, or {stop + 1} or more from the nut",
        )
    where = "at the capo" if fret == stop else f"behind the capo at {stop}"
    raise FretError(
        f"fret {fret} from the nut is {where}",
        f"write 0 for the open string, or {fret + stop} if you counted {fret} from the capo",
    )


def harmonic_partial(frets: int) -> int | None:
    """Return which partial a natural harmonic touched so many frets above the stop brings out.

    2 is the octave (12 frets), 3 the twelfth (7, 19), 4 two octaves (5, 24), 5 the third above
    them (4, 9, 16, 28) and 6 the fifth above (3, 31); None where no string has one.
    """
    for partial in range(2, _HIGHEST_PARTIAL + 1):
        for part in range(1, partial):
            if gcd(part, partial) == 1:
                node = 12.0 * log2(partial / (partial - part))
                if abs(node - frets) < 0.2:
                    return partial
    return None


def harmonic_semitones(frets: int) -> int | None:
    """Return how many semitones above its stopped string a natural harmonic sounds, rounded."""
    partial = harmonic_partial(frets)
    return None if partial is None else round(12.0 * log2(partial))


def count_frets(position: Position, counted: str = NUT) -> FretLine:
    """Return the fret line of a position, counted from the nut or from the capo."""
    cells = tuple(
        FretCell(None)
        if at is None
        else FretCell(
            0 if not at.fingered else at.fret - (at.stop if counted == CAPO else 0),
            at.may_ring,
            at.harmonic,
        )
        for at in position
    )
    return FretLine(cells, counted, " ".join(cell.text for cell in cells))


Fingers = tuple[str | None, ...]
"""Each string low to high: "1"-"4", "T" for the thumb, or None for no finger."""


def read_fingers(text: str, *, strings: int | None = None) -> Fingers:
    """Read a line of fingers: `- 0 2 3 1 0`, `x x 0 1 3 2`, `T02311`; T is the thumb.

    `-`, `x`, `0` and `.` all stand for no finger. Raises FingerError where it cannot be read.
    """
    words = text.replace(",", " ").split()
    if len(words) == 1 and strings != 1:
        words = list(words[0])
    if strings is not None and len(words) != strings:
        raise FingerError(
            f"'{text}' gives {_count(len(words), 'finger', 'fingers')} for "
            f"{_count(strings, 'string', 'strings')}",
            "give one for each string, low to high, - where there is none",
        )
    fingers: list[str | None] = []
    for index, word in enumerate(words):
        finger = word.upper()
        if finger not in {"1", "2", "3", "4", "T", "-", "X", "0", "."}:
            raise FingerError(
                f"string {string_number(index, len(words))}: '{word}' is not a finger",
                "write 1 to 4 from the index finger on, T for the thumb, - for none",
            )
        fingers.append(finger if finger in {"1", "2", "3", "4", "T"} else None)
    return tuple(fingers)


def write_fingers(fingers: Fingers) -> str:
    """Write fingers as `read_fingers` reads them."""
    return " ".join(finger or "-" for finger in fingers)


def check_fingers(fingers: Fingers, position: Position) -> Fingers:
    """Return the fingers unchanged where they fit the position.

    Raises FingerError where a finger stands on a string that none is needed on, or the other
    way round.
    """
    if len(fingers) != len(position):
        raise FingerError(
            f"{_count(len(fingers), 'finger', 'fingers')} for {len(position)} strings",
            "give one for each string, low to high, - where there is none",
        )
    for index, (finger, at) in enumerate(zip(fingers, position, strict=True)):
        number = string_number(index, len(position))
        if finger is not None and (at is None or not at.fingered):
            state = "not played" if at is None else "open"
            raise FingerError(
                f"string {number}: finger {finger} on a string that is {state}",
                "write - there, or give the string its fret",
            )
        if finger is None and at is not None and at.fingered:
            raise FingerError(
                f"string {number}: no finger for fret {at.fret} from the nut",
                "write 1 to 4, or T for the thumb",
            )
    return fingers
