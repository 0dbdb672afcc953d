"""Chord names away from the guitar: a ukulele's fingerings, arranged voicings, moved strings.

Source: npm package @tombatossals/chords-db 0.5.1, lib/ukulele.json (MIT), beside the guitar's file
in tests/data/chord-fingerings. On four re-entrant strings the lowest note is seldom the root, so
what the notes alone can tell is little: where the chord's root is given as the bass of another
part, the name follows. The suffixes mean what they mean in test_theory_fingerings.
"""

from __future__ import annotations

import json
from collections import Counter
from itertools import product
from pathlib import Path
from typing import NamedTuple

import pytest

from logbook.strings.frets import place_frets, read_frets
from logbook.strings.sounding import sounding_midi
from logbook.strings.tunings import find_tuning
from logbook.theory import judge, name_chord, read_symbol
from logbook.theory.notes import PLAIN_NAMES, pitch_class

DATA = Path(__file__).parents[1] / "data" / "chord-fingerings"
PLAIN_SUFFIX = {"major": "", "minor": "m", "b13b9": "7b9b13", "b13#9": "7#9b13"}


class Row(NamedTuple):
    root: int
    symbol: str
    intervals: frozenset[int]
    midi: list[int]

    @property
    def is_exact(self) -> bool:
        return {(note - self.root) % 12 for note in self.midi} == self.intervals


def rows_of(file: str, tuning: str) -> list[Row]:
    """Rows of a file as they sound on the named tuning, suffixes that the reader can read."""
    strings = find_tuning(tuning)
    rows = []
    for chords in json.loads((DATA / file).read_text())["chords"].values():
        for chord in chords:
            suffix = PLAIN_SUFFIX.get(chord["suffix"], chord["suffix"])
            if "/" in suffix or suffix in ("alt", "7sg"):
                continue
            root = pitch_class(chord["key"])
            symbol = read_symbol(PLAIN_NAMES[root] + suffix)
            for position in chord["positions"]:
                shift = position["baseFret"] - 1
                line = " ".join(
                    "x" if fret < 0 else str(fret + shift if fret else 0)
                    for fret in position["frets"]
                )
                at = place_frets(read_frets(line), strings)
                midi = [note for note in sounding_midi(at, strings) if note is not None]
                rows.append(Row(root, symbol.symbol, symbol.intervals, midi))
    return rows


UKULELE = rows_of("ukulele.json", "ukulele")
EXACT = [row for row in UKULELE if row.is_exact]


def share(rows: list[Row], *, first: bool, bass: bool = False) -> float:
    agreeing = 0
    for row in rows:
        names = name_chord(row.midi, bass=row.root if bass else None)
        wanted = (row.root, row.intervals)
        agreeing += wanted in {(n.root, n.intervals) for n in (names[:1] if first else names)}
    return agreeing / len(rows)


def test_the_frets_of_the_file_sound_the_notes_it_lists() -> None:
    listed = [
        position["midi"]
        for chords in json.loads((DATA / "ukulele.json").read_text())["chords"].values()
        for chord in chords
        if chord["suffix"] != "alt"
        for position in chord["positions"]
    ]
    assert [row.midi for row in UKULELE] == listed


def test_over_its_root_every_exact_ukulele_chord_is_named_first() -> None:
    """Of the others, three kinds lack the fifth that would tell b5 from #11 and #5 from b13."""
    assert share(EXACT, first=True, bass=True) == 1.0
    assert share(UKULELE, first=True, bass=True) >= 0.90
    assert share(UKULELE, first=False, bass=True) >= 0.97


def test_without_a_bass_the_name_is_listed() -> None:
    """What is not listed: 45 rows of 13b5b9 without root and third, and 4 with a wrong note."""
    assert share(EXACT, first=False) == 1.0
    assert share(UKULELE, first=False) >= 0.97


def test_without_a_bass_the_first_name_is_nearly_as_often_right_as_notes_alone_allow() -> None:
    """Equal notes over an equal lowest note can only be named one way."""
    wanted: dict[frozenset[int], Counter[tuple[int, frozenset[int]]]] = {}
    for row in EXACT:
        low = min(row.midi)
        notes = frozenset((note - low) % 12 for note in row.midi)
        wanted.setdefault(notes, Counter())[((row.root - low) % 12, row.intervals)] += 1
    ceiling = sum(max(names.values()) for names in wanted.values()) / len(EXACT)
    assert ceiling - share(EXACT, first=True) < 0.02
    assert share(EXACT, first=True) >= 0.77


def test_every_exact_row_is_judged_exact_on_the_ukulele() -> None:
    assert {judge(row.symbol, row.midi).word for row in EXACT} == {"exact"}


HIGH_STRUNG = [row for row in rows_of("guitar.json", "high-strung") if row.is_exact]


def test_high_strings_keep_the_name_of_the_shape_in_93_of_100() -> None:
    """The same rows as a guitar with its lower four strings an octave up sounds them."""
    assert len(HIGH_STRUNG) == 1413
    assert share(HIGH_STRUNG, first=True) >= 0.93
    assert share(HIGH_STRUNG, first=False) == 1.0


UKULELE_KINDS = (
    "", "m", "7", "m7", "maj7", "6", "m6", "dim", "dim7", "aug", "sus2", "sus4", "7sus4", "m7b5",
    "add9", "m(maj7)", "9", "m9", "maj9", "7b9", "7#5", "7b5", "69",
)  # fmt: skip


def playable(intervals: frozenset[int], root: int) -> list[list[int]]:
    """Every way to hold exactly these notes on four strings within four frets, up to fret 7.

    From first principles: a fret for each string, all notes of the chord and no other.
    """
    open_strings = [string.midi for string in find_tuning("ukulele").strings]
    wanted = {(root + interval) % 12 for interval in intervals}
    each = [[f for f in range(8) if (note + f) % 12 in wanted] for note in open_strings]
    found = []
    for frets in product(*each):
        pressed = [fret for fret in frets if fret]
        notes = [note + fret for note, fret in zip(open_strings, frets, strict=True)]
        if {note % 12 for note in notes} != wanted:
            continue
        if not pressed or max(pressed) - min(pressed) <= 3:
            found.append(notes)
    return found


def test_on_all_playable_ukulele_chords_a_whole_chord_is_named_and_never_with_a_slash() -> None:
    right = total = 0
    wanted: dict[frozenset[int], Counter[tuple[int, str]]] = {}
    for suffix in UKULELE_KINDS:
        intervals = read_symbol("C" + suffix).intervals
        if len(intervals) > 4:
            continue
        for root in range(12):
            for notes in playable(intervals, root):
                best = name_chord(notes, bass_counts=False)[0]
                assert "/" not in best.symbol
                assert not best.omits
                total += 1
                low = min(notes)
                alike = wanted.setdefault(frozenset((n - low) % 12 for n in notes), Counter())
                alike[((root - low) % 12, suffix)] += 1
                right += (best.root, best.intervals) == (root, intervals)
    assert total > 700
    ceiling = sum(max(names.values()) for names in wanted.values()) / total
    assert ceiling - right / total < 0.02


GUITAR = [row for row in rows_of("guitar.json", "standard") if row.is_exact]
DISTINCT = sorted({(row.symbol, row.root, row.intervals) for row in GUITAR}, key=str)


def lowered(notes: list[int], *voices: int) -> list[int]:
    """Drop voices counted from the top by an octave."""
    order = sorted(notes, reverse=True)
    return [note - 12 if place in voices else note for place, note in enumerate(order, start=1)]


@pytest.mark.parametrize("voices", [(), (2,), (3,), (2, 4)])
def test_close_and_dropped_voicings_over_the_root_are_named_as_what_they_are(
    voices: tuple[int, ...],
) -> None:
    """Close, drop 2, drop 3 and drop 2 and 4 (common practice, no source)."""
    for symbol, root, intervals in DISTINCT:
        close = sorted(60 + (root + interval) % 12 for interval in intervals)
        for turn in range(len(close)):
            inversion = close[turn:] + [note + 12 for note in close[:turn]]
            voicing = lowered(inversion, *voices)
            over_root = name_chord([36 + root, *voicing])[0]
            assert (over_root.root, over_root.intervals) == (root, intervals), symbol
            alone = {(name.root, name.intervals) for name in name_chord(voicing)}
            assert (root, intervals) in alone, symbol


def test_a_capo_or_a_lower_tuning_moves_the_name_and_nothing_else() -> None:
    for row in GUITAR[::3]:
        name = name_chord(row.midi)[0]
        for moved in (-5, -2, 1, 7, 11):
            there = name_chord([note + moved for note in row.midi])[0]
            assert (there.root, there.suffix) == ((name.root + moved) % 12, name.suffix)
