"""Fits how usual grips are, and how sure a reading is, on rendered parts that were never scored.

    python tests/benchmarks/fit_choosing.py PARTS

Run after `fit_hearing.py`, with parts that the note model was not fitted on. Prints the numbers
that stand in `logbook/listening/grips.py` (USUAL) and `choosing.py` (SOFT, CONFIDENCE,
CONFIDENCE_LOGGED); they are set by hand. `usualness` is a conditional logit: of the grips that
are proposed for a stretch, how likely is the one that was played, by its features and its fit.
Confidence is a logistic regression of whether the first reading was right.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
from scipy.optimize import minimize

sys.path.insert(0, str(Path(__file__).parents[2]))

from logbook.listening import choosing, grips
from logbook.listening.notes import note_odds
from tests.benchmarks import fit_hearing

FIRST_SEED = 700


def parts(count: int) -> list[dict[str, np.ndarray]]:
    """Odds and truth of every part."""
    out = []
    for wanted in fit_hearing.cases(count, FIRST_SEED):
        kept = fit_hearing.material(wanted)
        levels, seconds, _ = fit_hearing.spectra_of(kept, wanted)
        opens, capo = tuple(int(n) for n in kept["opens"]), int(kept["capo"])
        pitches = grips.pitches_of(opens, capo)
        odds = note_odds(levels.astype(np.float32), seconds, pitches)
        truth = kept["truth"][:, pitches].astype(np.uint64)
        masks = (truth << np.arange(pitches.size, dtype=np.uint64)).sum(axis=1, dtype=np.uint64)
        out.append({"odds": odds, "masks": masks, "opens": opens, "capo": capo, **kept})
    return out


def fit_usual(every: list[dict[str, np.ndarray]]) -> np.ndarray:
    """SOFT and USUAL by conditional logit with a little decay."""
    rows, sizes, right, lost = [], [], [], 0
    for part in every:
        found = grips.likely_grips(part["odds"], part["opens"], part["capo"])
        there = choosing.indicator(found.masks, part["odds"].shape[1])
        fit = np.sum(there * part["odds"][found.owner], axis=1)
        told = grips.features(found.frets, found.masks, part["opens"], part["capo"])
        for span, mask in enumerate(part["masks"]):
            own = np.flatnonzero(found.owner == span)
            place = np.flatnonzero(found.masks[own] == mask)
            if place.size:
                right.append(sum(sizes) + int(place[0]))
                sizes.append(own.size)
                rows.append(np.concatenate([fit[own, None], told[own]], axis=1))
            else:
                lost += 1
    table, first = np.concatenate(rows), np.cumsum([0, *sizes[:-1]])
    owner = np.repeat(np.arange(len(sizes)), sizes)

    def loss(w: np.ndarray) -> tuple[float, np.ndarray]:
        score = table @ w
        score -= np.maximum.reduceat(score, first)[owner]
        chance = np.exp(score)
        chance /= np.add.reduceat(chance, first)[owner]
        decay = 1e-3 * np.concatenate([[0.0], w[1:]])
        slope = (table * chance[:, None]).sum(axis=0) - table[right].sum(axis=0)
        value = -np.mean(np.log(chance[right] + 1e-30)) + 0.5 * float(decay @ w)
        return value, slope / len(sizes) + decay

    found_w = minimize(
        loss, np.concatenate([[choosing.SOFT], grips.USUAL]), jac=True, method="L-BFGS-B"
    )
    print(f"{len(sizes)} stretches, {lost} whose grip was not proposed; loss {found_w.fun:.4f}")
    return found_w.x


def fit_confidence(rows: list[tuple[float, float]], right: list[bool]) -> np.ndarray:
    """Logistic regression: constant, the logarithm of the odds as it came out, the feature."""
    x = np.array([(1.0, *row) for row in rows])
    y = np.array(right, dtype=np.float64)

    def loss(w: np.ndarray) -> float:
        z = x @ w
        return float(np.mean(np.logaddexp(0, z) - y * z) + 1e-3 * np.sum(w[1:] ** 2))

    return minimize(loss, np.zeros(3)).x


def confidence_rows(
    every: list[dict[str, np.ndarray]], *, among: bool
) -> tuple[list[tuple[float, float]], list[bool]]:
    """What the first readings came out as, and whether they were right.

    Where only a part's own grips are ranked, the one that was played is left out of the choice for
    every fifth stretch, so that wrong readings are met as they are when the log is wrong.
    """
    chances, _ = _said(every, (0.0, 1.0, 0.0), among=among)
    features, right = _said(every, (0.0, 0.0, 1.0), among=among)
    return list(zip(chances, features, strict=True)), right


def _said(
    every: list[dict[str, np.ndarray]], weights: tuple[float, float, float], *, among: bool
) -> tuple[list[float], list[bool]]:
    """The logarithm of the odds said of each first reading with such weights; whether right."""
    choosing.CONFIDENCE = choosing.CONFIDENCE_LOGGED = weights
    values: list[float] = []
    right: list[bool] = []
    for part in every:
        opens, capo, odds = part["opens"], part["capo"], part["odds"]
        own = np.unique(part["frets"], axis=0)
        bits = grips.masks_of(
            own.astype(np.int8), opens, capo, int(grips.pitches_of(opens, capo)[0])
        )
        lines = [tuple(None if f < 0 else f for f in grip) for grip in own.tolist()]
        if among:
            said = []
            for span, mask in enumerate(part["masks"]):
                kept = [g for g, b in zip(lines, bits, strict=True) if span % 5 or b != mask]
                said += choosing.choose_among(odds[span : span + 1], opens, capo, kept)
        else:
            said = choosing.choose(odds, opens, capo)
        for readings, mask in zip(said, part["masks"], strict=True):
            if readings:
                sure = min(max(readings[0].confidence, 1e-9), 1 - 1e-9)
                values.append(float(np.log(sure / (1 - sure))))
                right.append(readings[0].mask == int(mask))
    return values, right


def main() -> None:
    every = parts(int(sys.argv[1]))
    fitted = fit_usual(every)
    np.set_printoptions(precision=2, suppress=True, linewidth=100)
    print("SOFT", fitted[:1], "USUAL", repr(fitted[1:]))
    choosing.SOFT = float(fitted[0])
    grips.USUAL = fitted[1:].astype(np.float32)
    for name, among in (("CONFIDENCE", False), ("CONFIDENCE_LOGGED", True)):
        rows, right = confidence_rows(every, among=among)
        print(name, fit_confidence(rows, right), f"of {len(right)}, {np.mean(right):.3f} right")


if __name__ == "__main__":
    main()
