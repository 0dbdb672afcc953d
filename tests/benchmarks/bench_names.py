"""How long a naming takes, against three general-purpose libraries in the same run.

`python tests/benchmarks/bench_names.py` names guitar fingerings (tests/data/chord-fingerings), each
once from a cold call: nothing is kept between namings. It prints the median in microseconds and
the other libraries' medians as multiples of it, and exits 1 above 40 microseconds a naming.
Libraries that are not installed are left out and said to be.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from statistics import mean, median
from time import thread_time

from logbook.theory import midi_to_name, name_chord

DATA = Path(__file__).parents[1] / "data" / "chord-fingerings" / "guitar.json"
TARGET_US = 40.0
Namer = Callable[[Sequence[int]], object]


def voicings() -> list[list[int]]:
    """Note numbers of every fingering of the set."""
    chords = json.loads(DATA.read_text())["chords"]
    return [p["midi"] for kinds in chords.values() for kind in kinds for p in kind["positions"]]


def microseconds(name: Namer, notes: list[list[int]]) -> list[float]:
    """Processor time of each naming in microseconds, after one to load what is loaded once."""
    name(notes[0])
    times = []
    for voicing in notes:
        start = thread_time()
        name(voicing)
        times.append((thread_time() - start) * 1e6)
    return times


def _plain(voicing: Sequence[int]) -> list[str]:
    names = (midi_to_name(note).rstrip("0123456789") for note in sorted(voicing))
    return list(dict.fromkeys(names))


def music21_namer() -> Namer:
    """music21: the chord symbol found for a chord."""
    from music21 import chord, harmony

    return lambda voicing: harmony.chordSymbolFigureFromChord(chord.Chord(list(voicing)))


def pychord_namer() -> Namer:
    """pychord: the chords found from note names."""
    from pychord import find_chords_from_notes

    return lambda voicing: find_chords_from_notes(_plain(voicing))


def mingus_namer() -> Namer:
    """mingus: the chords determined from note names."""
    from mingus.core import chords

    return lambda voicing: chords.determine(_plain(voicing), True)


def main() -> int:
    """Time all four, print, and say whether the target is met."""
    notes = voicings()
    ours = microseconds(name_chord, notes)
    in_key = microseconds(lambda voicing: name_chord(voicing, key="Db"), notes)
    print(f"logbook: median {median(ours):.1f} us, mean {mean(ours):.1f} us, {len(notes)} namings")
    print(f"logbook in a key: median {median(in_key):.1f} us, mean {mean(in_key):.1f} us")
    others = {"music21": music21_namer, "pychord": pychord_namer, "mingus": mingus_namer}
    for library, namer in others.items():
        try:
            times = microseconds(namer(), notes[::40])
        except ImportError:
            print(f"{library}: not installed")
            continue
        ratio = median(times) / median(ours)
        print(f"{library}: median {median(times):.0f} us, {ratio:.0f} times ours")
    met = median(ours) <= TARGET_US and mean(ours) <= TARGET_US
    print(f"target: at most {TARGET_US:.0f} us a naming: {'met' if met else 'MISSED'}")
    return 0 if met else 1


if __name__ == "__main__":
    sys.exit(main())
