"""Real edits: how much of short, inserted and slipped pieces is found, and what is found falsely.

    python tests/benchmarks/bench_edits.py [--done] [seed ...]

Comps are cut from generated takes (plucked strings, a sung line, drums, a pad) on seeds that
nothing was tuned on. Printed: the share of sounding 10 ms frames clear of fades that are right
(the right take, its source to 1 ms), and the share that is false; times real time as processor
seconds; last how often pieces were right that were said to be so sure. Exit 1 where a row's mean
is under its target, more than three in a thousand of its frames are false, or where a take is
missing a piece is found that is none.

Second, comps to which something was done until no take can be subtracted (a hall, an amplifier, a
chorus, other instruments on top): shares of their bars right and false by take, and how often
pieces were right that were said to be so sure. --done: these alone.
"""

from __future__ import annotations

import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from itertools import pairwise
from pathlib import Path
from typing import NamedTuple

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))

from logbook.listening import recover_comp
from tests.listening import edits, processed
from tests.listening import material as m

KINDS = ("strum", "pick", "sung", "drums", "pad")
SEEDS = (811, 812)
SECONDS = 12
TAKES = 3
MOST_FALSE = 0.003
Plan = Callable[[int], list[m.TruePiece]]


def home(shortest: float, longest: float, slip: float = 0.0) -> Plan:
    """Pieces of such lengths at or near their own place."""

    def plan(seed: int) -> list[m.TruePiece]:
        return edits.at_home(
            seed, shortest=shortest, longest=longest, slip=slip, seconds=SECONDS - 0.5
        )

    return plan


def inserts(seed: int) -> list[m.TruePiece]:
    """Pieces of 80 to 150 ms in a long one."""
    return edits.inserted(seed, shortest=0.08, longest=0.15, seconds=SECONDS - 0.5)


def flown(shortest: float, longest: float) -> Plan:
    """Pieces from other bars, each from a place used once, in a long one."""

    def plan(seed: int) -> list[m.TruePiece]:
        return edits.flown_in(seed, shortest=shortest, longest=longest, seconds=SECONDS - 0.5)

    return plan


# name, plan, seconds of a crossfade, takes given, right before this was followed, target
ROWS: tuple[tuple[str, Plan, float, tuple[int, ...], str, float], ...] = (
    ("pieces of 1-4 s", home(1, 4), 0.010, (0, 1, 2), "99", 0.98),
    ("0.5-1 s", home(0.5, 1), 0.010, (0, 1, 2), "0", 0.97),
    ("0.2-0.4 s", home(0.2, 0.4), 0.006, (0, 1, 2), "0-3", 0.95),
    ("80-200 ms", home(0.08, 0.2), 0.004, (0, 1, 2), "0-3", 0.90),
    ("inserts of 80-150 ms", inserts, 0.006, (0, 1, 2), "94", 0.97),
    ("slipped 20 ms, 0.8-1.5 s", home(0.8, 1.5, 0.02), 0.010, (0, 1, 2), "41", 0.97),
    ("slipped 20 ms, 0.3-0.8 s", home(0.3, 0.8, 0.02), 0.010, (0, 1, 2), "0", 0.90),
    ("slipped 2 ms, 0.5-1.5 s", home(0.5, 1.5, 0.002), 0.010, (0, 1, 2), "5-14", 0.97),
    ("eighths nudged 2 ms", home(0.249, 0.251, 0.002), 0.004, (0, 1, 2), "0", 0.80),
    ("flown in, 0.6-1.1 s", flown(0.6, 1.1), 0.010, (0, 1, 2), "0", 0.90),
    ("flown in, 0.3-0.6 s", flown(0.3, 0.6), 0.010, (0, 1, 2), "0", 0.80),
    ("flown in, a take missing", flown(0.4, 1.1), 0.010, (0, 2), "-", 0.80),
    ("a take missing, 1-4 s", home(1, 4), 0.010, (0, 2), "99", 0.95),
    ("a take missing, 0.2-0.5 s", home(0.2, 0.5), 0.006, (0, 2), "37", 0.90),
)

DONE_SECONDS = 16
# name, what is done, takes given, target (bars by take)
DONE: tuple[tuple[str, processed.Effect, tuple[int, ...], float], ...] = (
    ("reverberation, 0 to +8 dB", processed.in_a_hall, (0, 1, 2), 0.80),
    ("an amplifier with high gain", processed.driven, (0, 1, 2), 0.80),
    ("a chorus", processed.chorused, (0, 1, 2), 0.80),
    ("drums and bass at +6 dB", processed.under_others, (0, 1, 2), 0.80),
    ("reverberation, a take missing", processed.in_a_hall, (0, 2), 0.80),
    ("an amplifier, a take missing", processed.driven, (0, 2), 0.80),
    ("a chorus, a take missing", processed.chorused, (0, 2), 0.80),
    ("+6 dB, a take missing", processed.under_others, (0, 2), 0.80),
)
MOST_BARS_FALSE = 0.01


class Score(NamedTuple):
    """Shares right and false, times real time, pieces invented, and what was said how surely."""

    right: float
    false: float
    speed: float
    invented: int
    trusted: list[tuple[float, float]]


def score(kind: str, seed: int, row: int, folder: Path) -> Score:
    """One case."""
    _, plan_of, fade, given, _, _ = ROWS[row]
    takes = edits.takes_of(kind, seed, seconds=SECONDS)
    plan = plan_of(seed)
    bounce = m.blend(takes, plan, edits.RATE, fade=fade)
    paths = [m.save(takes[n], folder / f"{n}.wav", edits.RATE) for n in given]
    path = m.save(0.7 * bounce, folder / "bounce.wav", edits.RATE)
    start = time.process_time()
    pieces = recover_comp(path, paths)
    speed = SECONDS / (time.process_time() - start)
    named = edits.named(pieces, given)
    truth = edits.given_only(plan, given)
    right, false = edits.found_of(named, truth, bounce, fade=fade)
    trusted = edits.trusted(named, truth, bounce, fade=fade)
    return Score(right, false, speed, len(edits.invented(named, truth)), trusted)


def score_done(kind: str, seed: int, row: int, folder: Path) -> Score:
    """One case of a comp to which something was done; shares are of bars, by take."""
    _, effect, given, _ = DONE[row]
    takes = edits.takes_of(kind, seed, seconds=DONE_SECONDS)
    plan = edits.at_home(seed, shortest=2, longest=6, seconds=DONE_SECONDS - 0.5)
    bounce = effect(m.blend(takes, plan, edits.RATE), seed)
    paths = [m.save(takes[n], folder / f"{n}.wav", edits.RATE) for n in given]
    path = m.save(bounce, folder / "bounce.wav", edits.RATE)
    start = time.process_time()
    pieces = edits.named(recover_comp(path, paths), given)
    speed = DONE_SECONDS / (time.process_time() - start)
    truth = edits.given_only(plan, given)
    right, false = processed.bars_of(pieces, truth)
    trusted = edits.trusted(pieces, truth, bounce, fade=0.4, near_s=processed.NEAR_S)
    return Score(right, false, speed, 0, trusted)


def reliability(trusted: Sequence[tuple[float, float]]) -> list[str]:
    """Pieces by how sure they were said to be, and how many of them were right."""
    lines = [f"{'said to be sure':>20}{'pieces':>8}{'mean said':>11}{'right':>8}"]
    said, right = np.array(trusted).T
    for low, high in pairwise((0.0, 0.5, 0.7, 0.8, 0.9, 0.95, 0.98, 0.99, 1.01)):
        here = (said >= low) & (said < high)
        if np.any(here):
            bounds = f"{low:.2f} to {min(high, 1.0):.2f}"
            share = 100 * np.mean(right[here])
            lines.append(
                f"{bounds:>20}{np.sum(here):8}{100 * np.mean(said[here]):11.1f}{share:8.1f}"
            )
    return lines


def done(seeds: Sequence[int], folder: Path) -> list[str]:
    """Print the second table; what was missed."""
    missed: list[str] = []
    trusted: list[tuple[float, float]] = []
    print(
        f"{'done to the comp (bars by take)':34}{'right':>8}{'worst':>8}{'false':>8}{'x real':>8}"
    )
    for row, (name, _, _, target) in enumerate(DONE):
        scores = [score_done(kind, seed, row, folder) for kind in KINDS for seed in seeds]
        trusted += [each for one in scores for each in one.trusted]
        right, false, speed = np.mean([one[:3] for one in scores], axis=0)
        worst = min(one.right for one in scores)
        print(
            f"{name:34}{100 * right:8.1f}{100 * worst:8.1f}{100 * false:8.2f}{speed:8.0f}",
            flush=True,
        )
        if right < target:
            missed.append(f"{name}: {100 * right:.1f} % of bars right, not {100 * target:.0f}")
        if false > MOST_BARS_FALSE:
            missed.append(f"{name}: {100 * false:.2f} % of bars false")
    print()
    for line in reliability(trusted):
        print(line)
    return missed


def main() -> int:
    words = sys.argv[1:]
    seeds = [int(word) for word in words if word != "--done"]
    missed: list[str] = []
    with tempfile.TemporaryDirectory() as folder:
        if "--done" not in words:
            missed += pieces_found(seeds or SEEDS, Path(folder))
            print()
        missed += done(seeds or SEEDS[:1], Path(folder))
    for line in missed:
        print(f"missed: {line}")
    return 1 if missed else 0


def pieces_found(seeds: Sequence[int], folder: Path) -> list[str]:
    """Print the first table; what was missed."""
    missed: list[str] = []
    trusted: list[tuple[float, float]] = []
    print(
        f"{'case':28}{'before':>8}{'right':>8}{'worst':>8}{'false':>8}{'x real':>8}{'invented':>9}"
    )
    for row, (name, _, _, given, before, target) in enumerate(ROWS):
        scores = [score(kind, seed, row, folder) for kind in KINDS for seed in seeds]
        trusted += [each for one in scores for each in one.trusted]
        found = np.array([one[:4] for one in scores])
        right, false, speed, _ = np.mean(found, axis=0)
        invented = round(float(np.sum(found[:, 3])))
        worst = float(np.min(found[:, 0]))
        print(
            f"{name:28}{before:>8}{100 * right:8.1f}{100 * worst:8.1f}{100 * false:8.2f}"
            f"{speed:8.0f}{invented:9}",
            flush=True,
        )
        if right < target:
            missed.append(f"{name}: {100 * right:.1f} % right, not {100 * target:.0f}")
        if false > MOST_FALSE:
            missed.append(f"{name}: {100 * false:.2f} % false")
        if invented and len(given) < TAKES:
            missed.append(f"{name}: {invented} pieces that are none")
    print()
    for line in reliability(trusted):
        print(line)
    return missed


if __name__ == "__main__":
    sys.exit(main())
