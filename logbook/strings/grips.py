"""The grips that hands know: what every teacher teaches, by instrument and tuning.

The tables (`grips_guitar`, `grips_retuned`, `grips_small`) are common practice and have no
published source. An entry is a chord, its frets low to high, and the fingers as taught where
there is something to say ("-" for a string without one, T the thumb). A grip with "~" is movable:
the same shape serves any root. Of a chord's grips those that are not movable come first, in the
order of the table; then the movable ones, the lowest on the neck first, "~3" counting as three
frets higher: shells and power chords on two strings come after whole chords so. "!" marks a grip
that leaves out a note its name claims, as it is commonly taught.

A tuning shares a table where its strings lie as far apart (half step down, mandola; octaves do
not matter, so high-strung guitars know the guitar's grips), a guitar with more strings plays them
on its upper six, and behind a capo they are the same shapes. A banjo's short string rings along
where its note belongs to the chord.
"""

from __future__ import annotations

from functools import cache, lru_cache
from typing import NamedTuple

from logbook.strings.capo import Capos, string_stops
from logbook.strings.chord_tones import tones_of
from logbook.strings.frets import Position, Stopped
from logbook.strings.grips_guitar import STANDARD_MOVABLE, STANDARD_OPEN
from logbook.strings.grips_retuned import (
    DADGAD_OPEN,
    DROP_D_MOVABLE,
    DROP_D_OPEN,
    OPEN_G_MOVABLE,
    OPEN_G_OPEN,
)
from logbook.strings.grips_small import (
    BANJO_MOVABLE,
    BANJO_OPEN,
    MANDOLIN_MOVABLE,
    MANDOLIN_OPEN,
    UKULELE_MOVABLE,
    UKULELE_OPEN,
)
from logbook.strings.shapes import Shape, shape_of_frets
from logbook.strings.tunings import StringTuning, find_tuning
from logbook.theory.symbols import ChordSymbol, read_symbol

WHOLE, SHELL, POWER = "whole chord", "shell", "power chord"
_HIGHEST_BARRE = 12  # a movable grip an octave up is not what anybody shows


class TaughtGrip(NamedTuple):
    """One grip of the table: frets from the nut or capo, None where a string is not played.

    `fingers` is as taught, "" where nothing is said; `later` how many frets higher a movable grip
    counts than it lies; `bare` says that it leaves out a note the chord's name claims.
    """

    chord: ChordSymbol
    frets: tuple[int | None, ...]
    fingers: str
    movable: bool
    later: int
    bare: bool

    @property
    def family(self) -> str:
        """Power chord, shell (root, third or sixth and seventh on three strings) or whole chord."""
        if set(self.chord.degrees) <= {"R", "5"}:
            return POWER
        played = [fret for fret in self.frets if fret is not None]
        return SHELL if self.movable and len(played) == 3 and "5" in self.chord.degrees else WHOLE


class _GripTable(NamedTuple):
    """The grips of one tuning by what a chord is: its degrees, and its bass above its root."""

    pitch_classes: tuple[int, ...]
    by_chord: dict[tuple[tuple[str, ...], int | None], tuple[TaughtGrip, ...]]


_TABLES: dict[str, tuple[str, ...]] = {
    "standard": (STANDARD_OPEN, STANDARD_MOVABLE),
    "drop D": (DROP_D_OPEN, DROP_D_MOVABLE),
    "DADGAD": (DADGAD_OPEN,),
    "open G": (OPEN_G_OPEN, OPEN_G_MOVABLE),
    "ukulele": (UKULELE_OPEN, UKULELE_MOVABLE),
    "mandolin": (MANDOLIN_OPEN, MANDOLIN_MOVABLE),
    "banjo": (BANJO_OPEN, BANJO_MOVABLE),
}


class _Entry(NamedTuple):
    """An entry of a table before its chord's name is read."""

    name: str
    frets: tuple[int | None, ...]
    fingers: str
    movable: bool
    later: int
    bare: bool


def _entries(text: str) -> list[_Entry]:
    return [_entry(entry.split()) for entry in text.replace("\n", " ").split(",")]


def _entry(words: list[str]) -> _Entry:
    name, frets, *rest = words
    fingers, later, movable, bare = "", 0, False, False
    for word in rest:
        bare = bare or word.endswith("!")
        mark = word.removesuffix("!")
        if mark.startswith("~"):
            movable, later = True, int(mark[1:] or 0)
        elif mark:
            fingers = mark
    cells = tuple(None if fret == "x" else int(fret) for fret in frets)
    return _Entry(name, cells, fingers, movable, later, bare)


def read_grips(text: str) -> tuple[TaughtGrip, ...]:
    """Read a table of grips, entries with commas between them."""
    return tuple(TaughtGrip(read_symbol(entry.name), *entry[1:]) for entry in _entries(text))


@cache
def table_of(name: str) -> tuple[TaughtGrip, ...]:
    """Return the grips of a tuning that has a table of its own, in its order; () where none."""
    return tuple(grip for text in _TABLES.get(name, ()) for grip in read_grips(text))


@cache
def _table(name: str) -> _GripTable:
    by_chord: dict[tuple[tuple[str, ...], int | None], list[TaughtGrip]] = {}
    for grip in table_of(name):
        by_chord.setdefault(_kind(grip.chord), []).append(grip)
    long = [string for string in find_tuning(name).strings if not string.start]
    return _GripTable(
        tuple(string.midi % 12 for string in long),
        {kind: tuple(grips) for kind, grips in by_chord.items()},
    )


def _kind(chord: ChordSymbol) -> tuple[tuple[str, ...], int | None]:
    root, bass = chord.root_pc or 0, chord.bass_pc or 0
    return chord.degrees, None if chord.bass is None else (bass - root) % 12


def common_grips(
    chord: ChordSymbol, tuning: StringTuning, capos: Capos = (), *, last_fret: int | None = None
) -> tuple[Position, ...]:
    """Return the grips that are taught for a chord, the first one first; none may be known.

    Nothing above `last_fret` (from the nut) is returned, and nothing where a partial capo leaves
    some strings free.
    """
    if chord.root_pc is None:
        return ()
    stops = string_stops(tuning, capos)
    skipped, table, moved = _known_on(tuning)
    long = [index for index, string in enumerate(tuning.strings) if not string.start][skipped:]
    if table is None or len({stops[index] for index in long}) != 1:
        return ()
    stop = stops[long[0]]
    found: dict[Position, None] = {}
    for frets in _frets_of(chord, table, (chord.root_pc - moved - stop) % 12):
        cells: list[Stopped | None] = [None] * len(tuning)
        for index, fret in zip(long, frets, strict=True):
            cells[index] = None if fret is None else Stopped(stop + fret, stop)
        _ring_along(cells, chord, tuning, stops)
        highest = max((at.fret for at in cells if at is not None), default=0)
        if last_fret is None or highest <= last_fret:
            found[tuple(cells)] = None
    return tuple(found)


def _ring_along(
    cells: list[Stopped | None], chord: ChordSymbol, tuning: StringTuning, stops: tuple[int, ...]
) -> None:
    """Let short strings ring where their note belongs to the chord."""
    allowed = tones_of(chord).allowed
    for index, string in enumerate(tuning.strings):
        if string.start and allowed >> (string.midi + stops[index] - string.start) % 12 & 1:
            cells[index] = Stopped(stops[index], stops[index])


@lru_cache(maxsize=64)
def _known_on(tuning: StringTuning) -> tuple[int, _GripTable | None, int]:
    """Return how many low strings are left alone, the table, and its semitones to this tuning."""
    long = [string.midi % 12 for string in tuning.strings if not string.start]
    banjo = any(string.start for string in tuning.strings)
    for skipped in range(max(len(long) - 5, 1)):
        upper = long[skipped:]
        for name in _TABLES:
            table = _table(name)
            ways = {
                (midi - own) % 12 for midi, own in zip(upper, table.pitch_classes, strict=False)
            }
            same = len(upper) == len(table.pitch_classes) and len(ways) == 1
            if same and (name == "banjo") == banjo and "bass" not in tuning.kind:
                return skipped, table, ways.pop()
    return 0, None, 0


def _frets_of(chord: ChordSymbol, table: _GripTable, root: int) -> list[tuple[int | None, ...]]:
    """The frets of each grip of a chord of this kind on a root, the first one first."""
    grips = table.by_chord.get(_kind(chord), ())
    fixed = [grip.frets for grip in grips if not grip.movable and grip.chord.root_pc == root]
    moved: list[tuple[int, int, tuple[int | None, ...]]] = []
    for number, grip in enumerate(grips):
        if grip.movable and grip.chord.root_pc is not None:
            frets = [fret for fret in grip.frets if fret is not None]
            lowest = (min(frets) + root - grip.chord.root_pc - 1) % 12 + 1
            by = lowest - min(frets)
            where = tuple(None if fret is None else fret + by for fret in grip.frets)
            if lowest <= _HIGHEST_BARRE:
                moved.append((lowest + grip.later, number, where))
    return [*fixed, *(frets for _, _, frets in sorted(moved, key=lambda each: each[:2]))]


@cache
def _taught_fingers() -> dict[tuple[Shape, int], str]:
    """The fingers as taught, by shape and lowest fret; 0 for a shape that may lie anywhere."""
    taught: dict[tuple[Shape, int], str] = {}
    for texts in _TABLES.values():
        for entry in (each for text in texts for each in _entries(text) if each.fingers):
            shape, lowest = shape_of_frets(entry.frets)
            anywhere = 0 not in entry.frets
            taught.setdefault((shape, 0 if anywhere else lowest), entry.fingers)
    return taught


def taught_fingers(shape: Shape, height: int) -> str | None:
    """Return the fingers as taught for a shape whose lowest finger is `height` frets above open.

    None where no table has it.
    """
    taught = _taught_fingers()
    return taught.get((shape, height)) or taught.get((shape, 0))
