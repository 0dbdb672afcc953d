"""Doubles: copies told as copies, however processed, and second performances never told as them.

    python tests/benchmarks/bench_doubles.py [seed ...]

Performances are generated on seeds that nothing was fitted on: strummed, picked, a bass line and a
sung one, by players of 2, 5 and 12 ms. Exit 1 where less than 95 % of the copies are found or more
than one second performance in a hundred is called one.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))

from logbook.listening import compare_doubles
from tests.listening import copying, edits
from tests.listening import material as m

KINDS = ("strum", "pick", "line", "sung")
SEEDS = (821, 822)
JITTER = (0.002, 0.005, 0.012)
SECONDS = 16
LEAST_FOUND, MOST_FALSE = 0.95, 0.01


def performances(kind: str, seed: int, jitter: float) -> list[m.Audio]:
    """Two of one part."""
    if kind == "sung":
        return edits.takes_of("sung", seed, count=2, seconds=SECONDS)
    out = []
    for number in range(2):
        own = 1000 * seed + number
        player = m.Player(timing=jitter)
        notes = m.perform(own, bars=SECONDS // 2, lead_in=0.5, style=kind, player=player)
        out.append(m.pluck(notes, seconds=SECONDS + 1, rate=edits.RATE, seed=own))
    return out


def main() -> int:
    seeds = [int(word) for word in sys.argv[1:]] or SEEDS
    found: dict[str, list[bool]] = {}
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)

        def copied(a: m.Audio, b: m.Audio) -> bool:
            level = 0.3 / np.max(np.abs(b))
            one = m.save(a, folder / "a.wav", edits.RATE)
            return compare_doubles(
                one, m.save(level * b, folder / "b.wav", edits.RATE)
            ).same_recording

        for kind in KINDS:
            for seed in seeds:
                for jitter in JITTER if kind != "sung" else JITTER[:1]:
                    a, b = performances(kind, seed, jitter)
                    found.setdefault("second performance", []).append(copied(a, b))
                for name, fake in copying.fakes(a, seed).items():
                    found.setdefault(name, []).append(copied(a, fake))
    for name, each in found.items():
        print(f"{name:28}{sum(each):4} of {len(each)} told as a copy", flush=True)
    real = found.pop("second performance")
    fakes = [one for each in found.values() for one in each]
    share = sum(fakes) / len(fakes)
    print(f"copies found {100 * share:.1f} %, false {100 * sum(real) / len(real):.1f} %")
    return 0 if share >= LEAST_FOUND and sum(real) <= MOST_FALSE * len(real) else 1


if __name__ == "__main__":
    sys.exit(main())
