"""Which grip sounds in each stretch, all stretches of a part heard together.

The likelihood of a set of notes is the product of each note's odds (see notes), softened, because
what blurs one note often blurs its neighbour. Before a part is heard every grip is as likely as
it is usual (see grips); then all stretches are weighed again and again with what came out: a part
has few grips, so a grip that fits elsewhere in it is more likely here (expectation and
maximisation on a mixture of grips, the usual method). Confidence is fitted on rendered material.
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

SOFT = 0.8
ROUNDS = 8
FRESH = 6.0
FIVE = 5
NONE_FITS = 14.0
CONFIDENCE = (0.0, 1.0)


class Reading(NamedTuple):
    """A grip for one stretch: frets, bits of its notes, and its probability."""

    frets: Frets
    mask: int
    confidence: float


def indicator(masks: npt.NDArray[np.uint64], pitches: int) -> Floats:
    """Rows of 0 and 1, masks x pitches."""
    steps = np.arange(pitches, dtype=np.uint64)
    return np.asarray((masks[:, None] >> steps) & MASK_ONE, dtype=np.float32)


def fits(odds: Floats, masks: npt.NDArray[np.uint64]) -> Floats:
    """Log likelihood of each set of notes in each stretch, up to a constant of the stretch."""
    return np.asarray(SOFT * (odds @ indicator(masks, odds.shape[1]).T), dtype=np.float32)


def choose(odds: Floats, open_strings: Sequence[int], capo: int) -> list[list[Reading]]:
    """The best readings of every stretch, at most FIVE, no two with the same notes."""
    if not len(odds):
        return []
    grips = likely_grips(odds, open_strings, capo)
    masks, frets, usual = _union(grips)
    fit = fits(odds, masks)
    # Only what came up for a stretch itself or leads elsewhere is compared: all sets of notes.
    weight = np.exp(usual - usual.max()).astype(np.float64)
    weight /= weight.sum()
    base = np.log(weight)
    prior = base.copy()
    post = np.empty((0, 0))
    for _ in range(ROUNDS):
        post = _normalised(fit + prior)
        share = (post.sum(axis=0) + FRESH * weight) / (len(odds) + FRESH)
        prior = np.log(share)
    out = []
    for span in range(len(odds)):
        order = np.argsort(-post[span], kind="stable")[:FIVE]
        out.append([Reading(_line(frets[n]), int(masks[n]), float(post[span, n])) for n in order])
    return out


class Alone(NamedTuple):
    """Each stretch heard for itself: the bits of its best notes, and how well they explain it."""

    masks: npt.NDArray[np.uint64]
    worth: Floats


def best_alone(odds: Floats, open_strings: Sequence[int], capo: int) -> Alone:
    """The best notes of every stretch, heard for itself, and their log likelihood."""
    grips = likely_grips(odds, open_strings, capo)
    score = _own_fit(odds, grips) + grips.usual
    order = np.lexsort((-score, grips.owner))
    _, first = np.unique(grips.owner[order], return_index=True)
    best = order[first]
    nothing = SOFT * np.logaddexp(0.0, odds).sum(axis=1)
    return Alone(grips.masks[best], np.asarray(score[best] - nothing, dtype=np.float32))


def choose_among(
    odds: Floats, open_strings: Sequence[int], capo: int, logged: Sequence[Frets]
) -> list[list[Reading]]:
    """Only the logged grips ranked, for every stretch; empty where none of them fits."""
    pitches = pitches_of(open_strings, capo)
    frets = np.array([[-1 if f is None else f for f in g] for g in logged], dtype=np.int8)
    masks = masks_of(frets, open_strings, capo, int(pitches[0]))
    fit = fits(odds, masks)
    free = likely_grips(odds, open_strings, capo)
    usual = usualness(frets, masks, open_strings, capo)
    best_free = np.full(len(odds), -np.inf)
    np.maximum.at(best_free, free.owner, _own_fit(odds, free) + free.usual)
    post = _normalised(fit.astype(np.float64))
    out: list[list[Reading]] = []
    for span in range(len(odds)):
        if best_free[span] - np.max(fit[span] + usual) > NONE_FITS:
            out.append([])
            continue
        order = np.argsort(-post[span], kind="stable")
        out.append([Reading(logged[n], int(masks[n]), float(post[span, n])) for n in order])
    return out


def _own_fit(odds: Floats, grips: Grips) -> Floats:
    there = indicator(grips.masks, odds.shape[1])
    return np.asarray(SOFT * np.sum(there * odds[grips.owner], axis=1), dtype=np.float32)


def _union(grips: Grips) -> tuple[npt.NDArray[np.uint64], npt.NDArray[np.int8], Floats]:
    """Every set of notes once, with the most usual grip that sounds it."""
    order = np.argsort(-grips.usual, kind="stable")
    masks, first = np.unique(grips.masks[order], return_index=True)
    return masks, grips.frets[order][first], grips.usual[order][first]


def _normalised(score: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    score = score - score.max(axis=1, keepdims=True)
    out = np.exp(score)
    return np.asarray(out / out.sum(axis=1, keepdims=True), dtype=np.float64)


def _line(frets: npt.NDArray[np.int8]) -> Frets:
    return tuple(None if f < 0 else int(f) for f in frets)
