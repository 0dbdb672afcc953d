"""Which grip sounds in each stretch, all stretches of a part heard together.

The likelihood of a set of notes is the product of each note's odds (see notes). Before a part is
heard every grip is as likely as it is usual (see grips). Then all stretches are weighed again and
again with what came out: a part has few grips, so a grip that other stretches came out as is more
likely here, and a stretch is no evidence for itself (a mixture of grips, each stretch in turn
against all the others). Where grips were logged, only those are weighed, and against the best
playable one: where that explains the sound far better, none of the logged ones fits.

Confidence is a logistic regression on rendered material: how likely the first reading came out,
and how many notes of the stretch are expected to be wrong by their own odds.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from logbook.listening.grips import (
    MASK_ONE,
    Grips,
    likely_grips,
    masks_of,
    pitches_of,
    usualness,
)
from logbook.listening.heard import Frets

Floats = npt.NDArray[np.float32]
Exact = npt.NDArray[np.float64]
Masks = npt.NDArray[np.uint64]

SOFT = 0.66  # what the odds of notes weigh (fit_choosing.py)
ROUNDS = 8
FRESH = 5.0  # stretches that speak for a grip that has not been heard yet
AGAIN = 0.5  # what it weighs that a grip is heard elsewhere in the part
FIVE = 5
NONE_FITS = 12.0  # natural logarithm of how much better another grip must explain a stretch
# Constant, weight of the logarithm of the odds, weight of the second feature (fit_choosing.py; the
# first also on 40 parts of seeds 7 and 21, so that hits of every kind are in it).
CONFIDENCE = (0.03, 0.66, -0.03)
CONFIDENCE_LOGGED = (-0.15, 0.51, -0.78)


class VoicingReading(NamedTuple):
    """A grip for one stretch: frets, bits of its notes, and how sure it is."""

    frets: Frets
    mask: int
    confidence: float


def indicator(masks: Masks, pitches: int) -> Floats:
    """Rows of 0 and 1, masks x pitches."""
    steps = np.arange(pitches, dtype=np.uint64)
    return np.asarray((masks[:, None] >> steps) & MASK_ONE, dtype=np.float32)


def fits(odds: Floats, masks: Masks) -> Exact:
    """Log likelihood of each set of notes in each stretch, up to a constant of the stretch."""
    return np.asarray(SOFT * (odds @ indicator(masks, odds.shape[1]).T), dtype=np.float64)


def choose(odds: Floats, open_strings: Sequence[int], capo: int) -> list[list[VoicingReading]]:
    """The best readings of every stretch, at most FIVE, no two with the same notes."""
    if not len(odds):
        return []
    masks, frets, usual = _union(likely_grips(odds, open_strings, capo))
    base = np.log(_normalised(usual[None].astype(np.float64))[0])
    post = _weighed(fits(odds, masks), base)
    out = []
    for span, chance in enumerate(post):
        order = np.argsort(-chance, kind="stable")[:FIVE]
        sure = confidences(chance[order], CONFIDENCE, expected_wrong(odds[span]))
        out.append(
            [
                VoicingReading(_line(frets[n]), int(masks[n]), s)
                for n, s in zip(order, sure, strict=True)
            ]
        )
    return out


def _weighed(fit: Exact, base: Exact) -> Exact:
    """Probability of each set of notes in each stretch: its fit, and what others came out as."""
    post = _normalised(fit + base)
    fresh = FRESH * np.exp(base)
    for _ in range(ROUNDS):
        others = post.sum(axis=0) - post
        share = np.log((others + fresh) / (len(fit) - 1 + FRESH))
        post = _normalised(fit + AGAIN * share + (1.0 - AGAIN) * base)
    return post


def best_alone(odds: Floats, open_strings: Sequence[int], capo: int) -> Masks:
    """The best notes of every stretch as bits, each stretch heard for itself."""
    if not len(odds):
        return np.zeros(0, dtype=np.uint64)
    grips = likely_grips(odds, open_strings, capo)
    order = np.lexsort((-(_own_fit(odds, grips) + grips.usual), grips.owner))
    _, first = np.unique(grips.owner[order], return_index=True)
    return grips.masks[order[first]]


def choose_among(
    odds: Floats, open_strings: Sequence[int], capo: int, logged: Sequence[Frets]
) -> list[list[VoicingReading]]:
    """Only the logged grips ranked, for every stretch; empty where none of them fits."""
    if not len(odds) or not logged:
        return [[] for _ in odds]
    pitches = pitches_of(open_strings, capo)
    frets = np.array([[-1 if f is None else f for f in g] for g in logged], dtype=np.int8)
    masks = masks_of(frets, open_strings, capo, int(pitches[0]))
    fit = fits(odds, masks)
    free = likely_grips(odds, open_strings, capo)
    usual = usualness(frets, masks, open_strings, capo)
    best_free = np.full(len(odds), -np.inf)
    np.maximum.at(best_free, free.owner, _own_fit(odds, free) + free.usual)
    gap = best_free - np.max(fit + usual, axis=1)
    out: list[list[VoicingReading]] = []
    for span, chance in enumerate(_among(fit, masks)):
        if gap[span] > NONE_FITS:
            out.append([])
            continue
        order = np.argsort(-chance, kind="stable")
        sure = confidences(chance[order], CONFIDENCE_LOGGED, max(0.0, float(gap[span])))
        out.append(
            [VoicingReading(logged[n], int(masks[n]), s) for n, s in zip(order, sure, strict=True)]
        )
    return out


def _among(fit: Exact, masks: Masks) -> Exact:
    """Probability of each logged grip; those that sound the same notes share theirs."""
    _, place, count = np.unique(masks, return_inverse=True, return_counts=True)
    return _normalised(fit - np.log(count[place]))


def expected_wrong(odds: Floats) -> float:
    """Logarithm of how many notes of a stretch are expected to be wrong by their own odds."""
    return float(np.log(np.sum(1.0 / (1.0 + np.exp(np.abs(odds.astype(np.float64))))) + 1e-4))


def confidences(chances: Exact, weights: Sequence[float], feature: float) -> list[float]:
    """How sure each reading is, from what they came out as, best first."""
    first = min(max(float(chances[0]), 1e-6), 1.0 - 1e-6)
    score = weights[0] + weights[1] * float(np.log(first / (1.0 - first))) + weights[2] * feature
    sure = 1.0 / (1.0 + float(np.exp(-score)))
    rest = max(float(np.sum(chances[1:])), 1e-12)
    return [sure, *(float((1.0 - sure) * min(1.0, c / rest)) for c in chances[1:])]


def _own_fit(odds: Floats, grips: Grips) -> Floats:
    there = indicator(grips.masks, odds.shape[1])
    return np.asarray(SOFT * np.sum(there * odds[grips.owner], axis=1), dtype=np.float32)


def _union(grips: Grips) -> tuple[Masks, npt.NDArray[np.int8], Floats]:
    """Every set of notes once, with the most usual grip that sounds it."""
    order = np.argsort(-grips.usual, kind="stable")
    masks, first = np.unique(grips.masks[order], return_index=True)
    return masks, grips.frets[order][first], grips.usual[order][first]


def _normalised(score: Exact) -> Exact:
    out = np.exp(score - score.max(axis=1, keepdims=True))
    return np.asarray(out / out.sum(axis=1, keepdims=True), dtype=np.float64)


def _line(frets: npt.NDArray[np.int8]) -> Frets:
    return tuple(None if f < 0 else int(f) for f in frets)
