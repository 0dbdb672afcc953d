"""Which place explains which moment: scores of every candidate, and the best path through them.

A candidate is a take at a lag. For successive frames of the bounce its score is the natural
logarithm of how much of the frame's energy is left when the take, at a slowly moving gain, is
taken away: 0 when it explains nothing, more the better it fits. The state "unknown" has a fixed
score between what chance gives and what a right take gives. The path (Viterbi) pays for every
change, less for a place that much of the bounce is known to come from.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from logbook.listening.likeliest import likeliest_states
from logbook.listening.signals import Samples, cut, frame_sums, moving_sum

Scores = npt.NDArray[np.float32]
UNKNOWN = -1
BARRED = -2.0  # the take has no such place
MUTED = -0.5  # the bounce is silent and the take is not
LOUDER = 1000.0  # 30 dB


@dataclass(frozen=True, slots=True)
class TraceCandidate:
    """A take at a lag in samples (take time minus bounce time)."""

    take: int
    lag: int


@dataclass(frozen=True, slots=True)
class FrameSpan:
    """Frames `first` to `last` (exclusive) explained by candidate `state`, or UNKNOWN."""

    first: int
    last: int
    state: int


@dataclass(frozen=True, slots=True)
class TraceFrames:
    """Per-frame energies of bounce, take and their product."""

    bounce: Samples
    take: Samples
    product: Samples
    inside: npt.NDArray[np.bool_]  # frames for which the take has sound at all


def framed(
    bounce: Samples, take: Samples, lag: int, frame: int, energy: Samples | None = None
) -> TraceFrames:
    """Energies frame by frame of the bounce, the take at `lag`, and their product.

    energy: the bounce's, where it is known already.
    """
    count = bounce.size // frame
    moved = cut(take, lag, count * frame)
    places = np.arange(count) * frame + lag
    return TraceFrames(
        bounce=frame_sums(bounce, bounce, frame) if energy is None else energy,
        take=frame_sums(moved, moved, frame),
        product=frame_sums(bounce, moved, frame),
        inside=(places > -frame) & (places < take.size),
    )


def score(frames: TraceFrames, *, quiet: float, best: float, widths: Sequence[int]) -> Scores:
    """Log of energy over what is left of it, frame by frame; BARRED where the take cannot be.

    quiet: frame energy below which nothing can be told. best: the smallest part left that is
    worth telling from zero. widths: numbers of frames (odd) over which the gain may not move; the
    wide one holds a wrong take to its word, the narrow one follows a fade. Each is also tried
    wholly before and wholly after the frame, so an edit does not spoil the frames beside it.
    """
    left = np.full_like(frames.bounce, np.inf)
    sign = _polarity(frames)
    for width in widths:
        energy = moving_sum(frames.take, width) + np.float32(1e-12)
        gain = np.maximum(moving_sum(frames.product, width) * sign, 0.0) / energy
        if width == widths[0]:
            usual = _usual(gain, energy)
        for shift in (-(width // 2) - 1, 0, width // 2 + 1):
            moved = _shifted(gain, shift)
            rest = frames.bounce - 2 * sign * moved * frames.product + moved**2 * frames.take
            np.minimum(left, rest, out=left)
    np.maximum(left, 0.0, out=left)
    out = np.log((frames.bounce + quiet) / (left + best * frames.bounce + quiet))
    # A take that sounds where the bounce is silent does not explain the silence.
    silent = (frames.bounce < 4 * quiet) & (usual**2 * frames.take > LOUDER * frames.bounce)
    out[silent] = MUTED
    out[~frames.inside] = BARRED
    return np.asarray(out, dtype=np.float32)


def _polarity(frames: TraceFrames) -> float:
    """1 or -1: what most frames say in which the take fits; the others say nothing, at length."""
    scale = np.sqrt(frames.bounce * frames.take) + np.float32(1e-12)
    return float(np.sign(np.sum((frames.product / scale) ** 3)) or 1.0)


def weighed(scores: Scores, weight: Samples) -> Scores:
    """Scores times the weight of their frame, BARRED ones as they are."""
    return np.where((scores == BARRED) | (scores == MUTED), scores, scores * weight).astype(
        np.float32
    )


def _usual(gain: Samples, weight: Samples) -> float:
    """Median of the gains that explain something."""
    chosen = gain[(gain > 0) & (weight > 0.1 * np.mean(weight))]
    return float(np.median(chosen)) if chosen.size else 0.0


def _shifted(values: Samples, by: int) -> Samples:
    """values[n + by], the ends held."""
    if by == 0:
        return values
    index = np.clip(np.arange(values.size) + by, 0, values.size - 1)
    return values[index]


def best_path(scores: Scores, entry: Samples, leave: float) -> npt.NDArray[np.int32]:
    """The states with the greatest sum of scores less the price of every change.

    scores: frames x states. entry: what it costs to change to each state; leave is paid
    beside it at every change. Equal sums keep the state.
    """
    return likeliest_states(scores, entry.astype(np.float64), leave=leave)


def entry_costs(explained: npt.NDArray[np.floating], scale: float) -> Samples:
    """What it costs to change to each place, and last to unknown, in score x frames.

    A place that explains more than three seconds of the bounce is entered more easily: most
    pieces of a comp stand where they were played.
    """
    costs = [scale * (1.5 if seconds > 3.0 else 4.0) for seconds in explained]
    return np.array([*costs, scale], dtype=np.float32)


def spans(path: npt.NDArray[np.int32], unknown: int) -> list[FrameSpan]:
    """Runs of the same state; state number `unknown` is reported as UNKNOWN."""
    changes = np.flatnonzero(np.diff(path)) + 1
    edges = [0, *changes.tolist(), path.size]
    return [
        FrameSpan(a, b, UNKNOWN if path[a] == unknown else int(path[a])) for a, b in pairwise(edges)
    ]
