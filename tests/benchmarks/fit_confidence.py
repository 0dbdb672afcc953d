"""Fits how sure pieces of a comp are, on generated comps that no benchmark scores.

    python tests/benchmarks/fit_confidence.py [seed ...]

Prints, for what responses say (`responding`), what keeps in step (`faint`) and the pieces of the
path and of the following (`sureness`), how often they were right by the figure each has to judge
itself by, and a logistic fit at the knots that stand in the code; they are set by hand. Half of the
comps are clean, half have something done to them, and a take is missing in half of each.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Callable, Sequence
from functools import partial
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
from scipy.optimize import minimize

sys.path.insert(0, str(Path(__file__).parents[2]))

from logbook.listening import recover_comp, recovering, remaining
from logbook.listening.sureness import RESPONSES, SHARES, STEPS
from tests.listening import edits, processed
from tests.listening import material as m

SEEDS = (951, 952)
KINDS = ("strum", "pick", "sung", "drums", "pad")
SECONDS = 14
NEAR_S = 0.010
EFFECTS: tuple[processed.Effect | None, ...] = (
    processed.in_a_hall,
    processed.driven,
    processed.chorused,
    processed.under_others,
    None,
    None,
)
GIVEN = ((0, 1, 2), (0, 2))
DECAY = 0.02  # of the fit's slope: a few pieces must not make it certain

Seen = tuple[float, float, float]  # figure, seconds, share right


def judged(one: Any, given: Sequence[int], plan: Sequence[m.TruePiece]) -> tuple[float, float]:
    """Seconds of a stretch found, and how much of it is from where it is said to be from."""
    times = np.arange(one.start + 0.05, max(one.start + 0.06, one.end - 0.05), 0.02)
    good = 0
    for time in times:
        true = next((p for p in reversed(plan) if p.start <= time), plan[0])
        away = true.source - true.start - (one.source - one.start)
        good += true.take == given[one.take] and abs(away) < NEAR_S
    return one.end - one.start, good / times.size


def cases(seeds: Sequence[int], folder: Path) -> dict[str, list[Seen]]:
    """Every piece found, by what found it."""
    out: dict[str, list[Seen]] = {"responding": [], "faint": [], "followed": []}
    held: dict[str, list[Any]] = {"responding": [], "faint": []}

    def listening_in(name: str, ask: Callable[..., list[Any]], *given: Any) -> list[Any]:
        found = ask(*given)
        held[name] += found
        return found

    remaining.answering = partial(listening_in, "responding", remaining.answering)  # type: ignore[assignment]
    remaining.faintly = partial(listening_in, "faint", remaining.faintly)  # type: ignore[assignment]
    recovering.of_share = float  # the share itself
    for seed in seeds:
        for kind in KINDS:
            takes = edits.takes_of(kind, seed, seconds=SECONDS)
            for number, effect in enumerate(EFFECTS):
                shortest, longest = (2.0, 6.0) if effect else ((0.2, 0.6), (0.5, 2.5))[number % 2]
                plan = edits.at_home(
                    10 * seed + number,
                    shortest=shortest,
                    longest=longest,
                    seconds=SECONDS - 0.5,
                )
                bounce = m.blend(takes, plan, edits.RATE)
                bounce = effect(bounce, 10 * seed + number) if effect else 0.7 * bounce
                path = m.save(bounce, folder / "bounce.wav", edits.RATE)
                for given in GIVEN:
                    paths = [m.save(takes[n], folder / f"{n}.wav", edits.RATE) for n in given]
                    for each in held.values():
                        each.clear()
                    pieces = recover_comp(path, paths)
                    for name, found in held.items():
                        out[name] += [(one.sure, *judged(one, given, plan)) for one in found]
                    out["followed"] += [
                        (piece.confidence, *judged(piece, given, plan))
                        for piece in pieces
                        if piece.take is not None and not (piece.faint or piece.by_notes)
                    ]
            print(f"seed {seed}, {kind}", file=sys.stderr, flush=True)
    return out


def fitted(seen: Sequence[Seen], knots: Sequence[float]) -> list[float]:
    """Chance of being right at the knots, from a logistic fit in the figure."""
    figure, _, right = np.array(seen).T

    def lost(by: np.ndarray) -> float:
        z = by[0] + by[1] * figure
        return float(np.sum(np.logaddexp(0.0, z) - right * z) + DECAY * by[1] ** 2)

    best = minimize(lost, np.array([1.0, 0.1])).x
    return [round(float(1 / (1 + np.exp(-best[0] - best[1] * knot))), 3) for knot in knots]


def main() -> int:
    seeds = [int(word) for word in sys.argv[1:]] or list(SEEDS)
    with tempfile.TemporaryDirectory() as folder:
        every = cases(seeds, Path(folder))
    for name, knots in (
        ("responding", RESPONSES),
        ("faint", STEPS),
        ("followed", SHARES),
    ):
        seen = every[name]
        if not seen:
            print(f"{name}: none")
            continue
        figure, seconds, right = np.array(seen).T
        print(f"{name}: {len(seen)} pieces, {100 * np.mean(right):.1f} % right")
        edges = [-np.inf, *knots, np.inf]
        for low, high in pairwise(edges):
            here = (figure >= low) & (figure < high)
            if np.any(here):
                print(
                    f"  {low:6.2f} to {high:6.2f}: {np.sum(here):4} pieces of"
                    f" {np.mean(seconds[here]):.1f} s, {100 * np.mean(right[here]):.1f} % right"
                )
        print(f"  at {tuple(knots)}: {tuple(fitted(seen, knots))}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
