"""Tunings: the open pitch of every string, written low to high.

Conventions. Strings are written in the order in which they are strung, from the bass side to
the treble side of the neck; in a re-entrant tuning (ukulele, high-strung guitar) that is not
the order of pitch. String 1 is the last one written, as players count. A pitch is a note name
with its octave, C4 being middle C (MIDI note 60). A course of several strings is written with
strokes, `E3/E2`; its lowest string is the one that frets and chord names go by. `G4@5` is a
short string that starts at fret 5, and its pitch is the one it has there.

The table holds tunings in common practice; it has no published source.
"""

from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import pairwise
from typing import NamedTuple

from logbook.errors import LogbookError
from logbook.numerals import read_whole
from logbook.theory.pitch import midi_to_hz, name_to_midi


class TuningError(LogbookError):
    """A tuning that cannot be read or is not known."""


class OpenString(NamedTuple):
    """One string or course as it sounds open.

    `name` and `midi` belong to the lowest string of the course, `course` holds the names of all
    of its strings as strung, `start` is the fret the string starts at (0: the nut).
    """

    name: str
    midi: int
    course: tuple[str, ...]
    start: int = 0

    @property
    def course_midi(self) -> tuple[int, ...]:
        """MIDI note numbers of every string of the course, as strung."""
        return tuple(map(name_to_midi, self.course))

    @property
    def text(self) -> str:
        """The string as a person types it: `E2`, `E3/E2`, `G4@5`."""
        return "/".join(self.course) + (f"@{self.start}" if self.start else "")


@dataclass(frozen=True, kw_only=True, slots=True)
class StringTuning:
    """The open pitch of each string, as strung from the bass side to the treble side.

    `a4_hz` is the reference pitch and `offset_cents` what the whole instrument lies above it;
    `kind` is the instrument the tuning is usual on (see `logbook.strings.instruments`).
    """

    name: str
    strings: tuple[OpenString, ...]
    a4_hz: float = 440.0
    offset_cents: float = 0.0
    kind: str = "guitar"

    @property
    def open_midi(self) -> tuple[int, ...]:
        """The MIDI note number of each open string (the lowest of its course)."""
        return tuple(string.midi for string in self.strings)

    @property
    def open_names(self) -> tuple[str, ...]:
        """The printed pitch of each open string (the lowest of its course)."""
        return tuple(string.name for string in self.strings)

    @property
    def starts(self) -> tuple[int, ...]:
        """The fret each string starts at: 0, but for short strings."""
        return tuple(string.start for string in self.strings)

    @property
    def text(self) -> str:
        """The strings as a person types them, low to high."""
        return " ".join(string.text for string in self.strings)

    @property
    def is_reentrant(self) -> bool:
        """Whether some string is lower than the one strung before it."""
        midi = self.open_midi
        return any(low > high for low, high in pairwise(midi))

    def __len__(self) -> int:
        """How many strings (courses) there are."""
        return len(self.strings)


def bass_counts_on(tuning: StringTuning) -> bool:
    """Whether the lowest note is heard as the bass: not on re-entrant or high strings.

    There a string lies below the one before it (ukulele, five-string banjo, high-strung guitar).
    """
    open_midi = tuning.open_midi
    return all(low <= high for low, high in pairwise(open_midi))


def string_number(index: int, count: int) -> int:
    """Return the players' number of the string at `index` (low to high) of `count`."""
    return count - index


def string_hz(tuning: StringTuning, index: int) -> tuple[float, ...]:
    """Return the frequency in hertz of each string of the open course at `index` (low to high)."""
    return tuple(sounding_hz(tuning, midi) for midi in tuning.strings[index].course_midi)


def sounding_hz(tuning: StringTuning, midi: float) -> float:
    """Return the frequency in hertz of a MIDI note at the tuning's reference and offset.

    Equal temperament, ISO 16 for the reference pitch.
    """
    return midi_to_hz(midi, tuning.a4_hz, tuning.offset_cents)


def read_string(text: str) -> OpenString:
    """Read one string or course: `E2`, `E3/E2`, `G4@5`.

    Raises TuningError where a pitch cannot be read.
    """
    pitches, _, start = text.partition("@")
    if start and not (start.isdecimal() and read_whole(start) <= 24):
        raise TuningError(
            f"'{text}' starts at no fret that can be read",
            "a short string is written with the fret it starts at, such as G4@5",
        )
    course = tuple(pitches.split("/"))
    notes = []
    for name in course:
        if not name or not name[-1].isdecimal():
            raise TuningError(
                f"'{name or text}' is not a pitch of an open string",
                "write a note with its octave, such as D2; C4 is middle C",
            )
        try:
            notes.append(name_to_midi(name))
        except LogbookError as error:
            raise TuningError(error.problem, error.remedy) from error
    lowest = min(range(len(notes)), key=notes.__getitem__)
    return OpenString(course[lowest], notes[lowest], course, read_whole(start or "0"))


@lru_cache(maxsize=512)
def parse_tuning(
    text: str,
    *,
    name: str = "",
    a4_hz: float = 440.0,
    offset_cents: float = 0.0,
    kind: str | None = None,
) -> StringTuning:
    """Read open strings written low to high: `D2 A2 D3 G3 A3 D4`.

    Strings that stand in the table have their name and instrument from it; any others have
    `name` (or the text itself), and an instrument guessed from their number and pitch.
    Raises TuningError where a string cannot be read or none is given.
    """
    strings = tuple(map(read_string, text.replace(",", " ").split()))
    if not strings:
        raise TuningError("the tuning names no string", "write them low to high: E2 A2 D3 G3 B3 E4")
    written = " ".join(string.text for string in strings)
    known = next((entry for entry, row in _TABLE.items() if row[1] == written), None)
    if kind is None:
        kind = _TABLE[known][0] if known else _guess(strings)
    tuning = StringTuning(name=name or known or written, strings=strings, kind=kind)
    return at_pitch(tuning, a4_hz=a4_hz, offset_cents=offset_cents)


def at_pitch(
    tuning: StringTuning, *, a4_hz: float = 440.0, offset_cents: float = 0.0
) -> StringTuning:
    """Return the tuning at another reference pitch in hertz and offset in cents.

    Raises TuningError for an A4 outside 220-880 Hz or an offset of more than 1200 cents.
    """
    if not 220.0 <= a4_hz <= 880.0:
        raise TuningError(f"A4 cannot be {a4_hz:g} Hz", "give it in hertz, such as 440 or 432")
    if abs(offset_cents) > 1200.0:
        raise TuningError(
            f"an offset of {offset_cents:g} cents is more than an octave",
            "give the cents above or below the reference, such as -15",
        )
    if (tuning.a4_hz, tuning.offset_cents) == (a4_hz, offset_cents):
        return tuning
    return replace(tuning, a4_hz=a4_hz, offset_cents=offset_cents)


_TABLE: dict[str, tuple[str, str]] = {
    "standard": ("guitar", "E2 A2 D3 G3 B3 E4"),
    "drop D": ("guitar", "D2 A2 D3 G3 B3 E4"),
    "double drop D": ("guitar", "D2 A2 D3 G3 B3 D4"),
    "DADGAD": ("guitar", "D2 A2 D3 G3 A3 D4"),
    "open D": ("guitar", "D2 A2 D3 F#3 A3 D4"),
    "open D minor": ("guitar", "D2 A2 D3 F3 A3 D4"),
    "open E": ("guitar", "E2 B2 E3 G#3 B3 E4"),
    "open G": ("guitar", "D2 G2 D3 G3 B3 D4"),
    "open G minor": ("guitar", "D2 G2 D3 G3 Bb3 D4"),
    "open A": ("guitar", "E2 A2 E3 A3 C#4 E4"),
    "open C": ("guitar", "C2 G2 C3 G3 C4 E4"),
    "CGCGCD": ("guitar", "C2 G2 C3 G3 C4 D4"),
    "CGDGAD": ("guitar", "C2 G2 D3 G3 A3 D4"),
    "drop C": ("guitar", "C2 G2 C3 F3 A3 D4"),
    "drop C#": ("guitar", "C#2 G#2 C#3 F#3 A#3 D#4"),
    "half step down": ("guitar", "Eb2 Ab2 Db3 Gb3 Bb3 Eb4"),
    "whole step down": ("guitar", "D2 G2 C3 F3 A3 D4"),
    "high-strung": ("guitar", "E3 A3 D4 G4 B3 E4"),
    "all fourths": ("guitar", "E2 A2 D3 G3 C4 F4"),
    "twelve-string": ("twelve-string", "E3/E2 A3/A2 D4/D3 G4/G3 B3/B3 E4/E4"),
    "seven-string": ("seven-string", "B1 E2 A2 D3 G3 B3 E4"),
    "seven-string drop A": ("seven-string", "A1 E2 A2 D3 G3 B3 E4"),
    "eight-string": ("eight-string", "F#1 B1 E2 A2 D3 G3 B3 E4"),
    "baritone B": ("baritone", "B1 E2 A2 D3 F#3 B3"),
    "baritone A": ("baritone", "A1 D2 G2 C3 E3 A3"),
    "bass": ("bass", "E1 A1 D2 G2"),
    "bass drop D": ("bass", "D1 A1 D2 G2"),
    "bass half step down": ("bass", "Eb1 Ab1 Db2 Gb2"),
    "five-string bass": ("bass", "B0 E1 A1 D2 G2"),
    "five-string bass, high C": ("bass", "E1 A1 D2 G2 C3"),
    "six-string bass": ("bass", "B0 E1 A1 D2 G2 C3"),
    "mandolin": ("mandolin", "G3/G3 D4/D4 A4/A4 E5/E5"),
    "mandola": ("mandola", "C3/C3 G3/G3 D4/D4 A4/A4"),
    "octave mandolin": ("octave mandolin", "G2/G2 D3/D3 A3/A3 E4/E4"),
    "bouzouki GDAD": ("bouzouki", "G3/G2 D4/D3 A3/A3 D4/D4"),
    "ukulele": ("ukulele", "G4 C4 E4 A4"),
    "ukulele low G": ("ukulele", "G3 C4 E4 A4"),
    "baritone ukulele": ("baritone ukulele", "D3 G3 B3 E4"),
    "tenor guitar": ("tenor guitar", "C3 G3 D4 A4"),
    "tenor banjo": ("tenor banjo", "C3 G3 D4 A4"),
    "plectrum banjo": ("banjo", "C3 G3 B3 D4"),
    "banjo": ("banjo", "G4@5 D3 G3 B3 D4"),
    "banjo double C": ("banjo", "G4@5 C3 G3 C4 D4"),
    "banjo sawmill": ("banjo", "G4@5 D3 G3 C4 D4"),
    "charango": ("charango", "G4/G4 C5/C5 E5/E4 A4/A4 E5/E5"),
}

_ALIASES = {
    "guitar": "standard",
    "dropd": "drop D",
    "halfstepdown": "half step down",
    "halftonedown": "half step down",
    "ebstandard": "half step down",
    "wholestepdown": "whole step down",
    "wholetonedown": "whole step down",
    "dstandard": "whole step down",
    "modald": "DADGAD",
    "highstrung": "high-strung",
    "12string": "twelve-string",
    "7string": "seven-string",
    "8string": "eight-string",
    "baritone": "baritone B",
    "bass4": "bass",
    "fourstringbass": "bass",
    "4stringbass": "bass",
    "bass5": "five-string bass",
    "5stringbass": "five-string bass",
    "bass6": "six-string bass",
    "6stringbass": "six-string bass",
    "banjoopeng": "banjo",
    "fivestringbanjo": "banjo",
    "5stringbanjo": "banjo",
    "opengbanjo": "banjo",
    "bouzouki": "bouzouki GDAD",
}


def _plain(name: str) -> str:
    return "".join(letter for letter in name.lower() if letter.isalnum() or letter == "#")


def _letters(strings: str) -> str:
    """The string letters of a tuning, plain: `E3/E2 A3/A2` is "ea"."""
    first = (string.split("/")[0] for string in strings.split())
    return "".join(name.rstrip("0123456789@") for name in first).replace("@", "").lower()


def tuning_names() -> tuple[str, ...]:
    """Return the names in the table of usual tunings, in its order."""
    return tuple(_TABLE)


def usual_tunings() -> tuple[StringTuning, ...]:
    """Return every tuning of the table."""
    return tuple(map(_from_table, _TABLE))


def find_tuning(name: str) -> StringTuning:
    """Return the usual tuning called `name`; case, spaces and hyphens do not matter.

    The letters of its strings are a name too, where they are a usual tuning's: DADGBE.
    Raises TuningError with the closest names where there is none.
    """
    wanted = _plain(name)
    if wanted in _ALIASES:
        return _from_table(_ALIASES[wanted])
    for known in _TABLE:
        if _plain(known) == wanted:
            return _from_table(known)
    for known, (_, strings) in _TABLE.items():
        if _letters(strings) == wanted:
            return _from_table(known)
    from difflib import get_close_matches

    plain = {_plain(known): known for known in _TABLE}
    close = [plain[match] for match in get_close_matches(wanted, plain, n=3, cutoff=0.5)]
    hint = f"did you mean {' or '.join(close)}? Or write" if close else "write"
    raise TuningError(
        f"no tuning is called '{name}'", f"{hint} its strings low to high: D2 A2 D3 G3 A3 D4"
    )


def read_tuning(text: str) -> StringTuning:
    """Return a tuning given by name or by its strings, low to high.

    Raises TuningError where it is neither.
    """
    words = text.replace(",", " ").split()
    looks_like_pitches = len(words) > 1 and all(
        word[0].upper() in "ABCDEFG" and any(letter.isdecimal() for letter in word)
        for word in words
    )
    return parse_tuning(text) if looks_like_pitches else find_tuning(text)


def _from_table(name: str) -> StringTuning:
    kind, text = _TABLE[name]
    return parse_tuning(text, name=name, kind=kind)


def _guess(strings: tuple[OpenString, ...]) -> str:
    """Say which instrument a free tuning most likely belongs to."""
    count, low = len(strings), min(string.midi for string in strings)
    if any(string.start for string in strings):
        return "banjo"
    if any(len(string.course) > 1 for string in strings):
        return "twelve-string" if count == 6 else "mandolin"
    if low < 34 and count <= 6 and max(string.midi for string in strings) < 52:
        return "bass"
    if count == 4:
        steps = {after.midi - before.midi for before, after in pairwise(strings)}
        small = "mandolin" if steps == {7} else "ukulele"
        return small if low >= 55 else "tenor guitar"
    if count == 7:
        return "seven-string"
    return "eight-string" if count == 8 else "guitar"
