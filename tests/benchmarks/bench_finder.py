"""How many of the data set's fingerings the finder finds, and how long a chord takes.

Run as `python tests/benchmarks/bench_finder.py`; exits 1 where a target is missed: at least 98 %
of the rows of guitar.json (tests/data/chord-fingerings, its README names the source) found with
the default limits, and under 50 ms a chord. The baseline of the same run is one naming of an
open E chord, so that figures from different machines can be compared.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path
from statistics import mean
from time import perf_counter

from logbook.strings.finder import find_same_notes, find_voicings
from logbook.strings.frets import Position, place_frets, read_frets
from logbook.strings.tunings import find_tuning
from logbook.theory.names import name_chord

ROWS = Path(__file__).parents[1] / "data" / "chord-fingerings" / "guitar.json"
NO_SYMBOL = "7sg"


def naming_ms(times: int = 2000) -> float:
    """Milliseconds one chord naming takes."""
    name_chord((40, 47, 52, 56, 59, 64))
    start = perf_counter()
    for _ in range(times):
        name_chord((40, 47, 52, 56, 59, 64))
    return (perf_counter() - start) * 1000 / times


def main() -> int:
    """Print the figures; 1 if a target is missed."""
    tuning = find_tuning("standard")
    baseline = naming_ms()
    took: list[tuple[float, str]] = []
    rows = named = same = voicings = 0
    for chords in json.loads(ROWS.read_text())["chords"].values():
        for chord in chords:
            suffix = {"major": "", "minor": "m"}.get(chord["suffix"], chord["suffix"])
            found: set[Position] = set()
            if suffix != NO_SYMBOL:
                start = perf_counter()
                results = find_voicings(chord["key"] + suffix, tuning)
                took.append(((perf_counter() - start) * 1000, chord["key"] + suffix))
                found = {each.position for each in results}
                voicings += len(results)
            for row in chord["positions"]:
                shift = row["baseFret"] - 1
                line = " ".join(
                    "x" if fret < 0 else str(fret + shift if fret else 0) for fret in row["frets"]
                )
                position = place_frets(read_frets(line), tuning)
                rows += 1
                named += position in found
                same += position in {each.position for each in find_same_notes(row["midi"], tuning)}
    average = mean(ms for ms, _ in took)
    slowest = max(took)
    print(f"rows found by the chord's name   {named} of {rows}, {named / rows:.2%} (at least 98 %)")
    print(f"rows found by their exact notes  {same} of {rows}, {same / rows:.2%}")
    print(f"voicings a chord                 {voicings / len(took):.0f}")
    print(
        f"time a chord                     {average:.1f} ms, {average / baseline:.0f} x one naming"
        f" of {baseline * 1000:.0f} microseconds (under 50 ms)"
    )
    print(f"slowest chord                    {slowest[1]}, {slowest[0]:.1f} ms")
    return int(named / rows < 0.98 or average >= 50.0)


if __name__ == "__main__":
    sys.exit(main())
