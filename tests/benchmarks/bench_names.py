"""How long a naming takes, against three general-purpose libraries in the same run.

`python tests/benchmarks/bench_names.py` names guitar fingerings (tests/data/chord-fingerings), each
once, in the order of the file; names found before are forgotten before each. It prints the median
in microseconds, plain and with a key and the chord before, and the other libraries' medians as
multiples of both. It exits 1 above 40 microseconds a naming, or where mingus is not four times as
slow as a naming in a key in the same run. Libraries that are not installed are left out and said
to be.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from statistics import mean, median
from time import thread_time

from logbook.theory import midi_to_name, name_chord, names, ranking

DATA = Path(__file__).parents[1] / "data" / "chord-fingerings" / "guitar.json"
TARGET_US, TIMES_FASTER = 40.0, 4
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
        names._names.cache_clear()
        start = thread_time()
        name(voicing)
        times.append((thread_time() - start) * 1e6)
    return times


def forget() -> None:
    """Forget every ranking of notes."""
    for kept in (names._near, ranking.heard_in, ranking._over_bass, ranking._without_bass):
        kept.cache_clear()


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
    forget()
    ours = microseconds(name_chord, notes)
    forget()
    in_key = microseconds(lambda voicing: name_chord(voicing, key="Db", before="Ab7"), notes)
    print(f"logbook: median {median(ours):.1f} us, mean {mean(ours):.1f} us, {len(notes)} namings")
    print(f"logbook in a key: median {median(in_key):.1f} us, mean {mean(in_key):.1f} us")
    ratios = {}
    others = {"music21": music21_namer, "pychord": pychord_namer, "mingus": mingus_namer}
    for library, namer in others.items():
        try:
            times = microseconds(namer(), notes[::40])
        except ImportError:
            print(f"{library}: not installed")
            continue
        plain = median(times) / median(ours)
        ratio = ratios[library] = median(times) / median(in_key)
        print(f"{library}: median {median(times):.0f} us, {plain:.1f} and {ratio:.1f} times ours")
    met = max(median(ours), mean(ours), median(in_key), mean(in_key)) <= TARGET_US
    print(f"target: at most {TARGET_US:.0f} us a naming: {'met' if met else 'MISSED'}")
    if "mingus" in ratios:
        faster = ratios["mingus"] >= TIMES_FASTER
        print(f"target: {TIMES_FASTER} times as fast as mingus: {'met' if faster else 'MISSED'}")
        met = met and faster
    return 0 if met else 1


if __name__ == "__main__":
    sys.exit(main())
