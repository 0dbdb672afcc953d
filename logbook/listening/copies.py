"""Is the second of two recordings the first once more, processed until its samples no longer agree?

A copy that was detuned, stretched or modulated keeps two things that no player repeats. Note after
note it is as late as the note before (after a straight line is taken away, which a stretch is),
and every note is as loud beside the others as it was. Both are weighed as one likelihood ratio:
how far apart the gaps of consecutive notes are, and how their loudness goes together. The two
distributions were read from generated performances with 2 to 12 ms of jitter and from copies
of them that were detuned, stretched, modulated, cut and moved, or put in a hall; the seeds of the
tests and of the benchmark are others.

A copy that drowns in reverberation keeps one thing: at one lag, and nowhere else, the phases of
all frequencies agree (the phase transform of Knapp and Carter, 1976). Two performances of a part
agree a little at every lag that lays one note on another like it, and nowhere much better.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy import fft, ndimage

from logbook.listening.onsets import Floats
from logbook.listening.signals import Samples

NEAR_SECONDS = 0.080  # onsets further apart are not the same note
MOST_STRETCH, STRETCH_STEP = 0.02, 0.0005
BIN_SECONDS = 0.004
SURE_TIMES = 4.0  # its standard error: a slope under that is none
LEAST_PAIRS = 8
# Mean and standard deviation of the logarithm of the median step between consecutive gaps in
# milliseconds, and of Fisher's z of the correlation of the notes' loudness.
STEP_PLAYED, STEP_COPIED = (1.95, 0.75), (-0.7, 1.3)
LOUD_PLAYED, LOUD_COPIED = (0.5, 0.4), (2.3, 0.8)
LEAST_STEP_MS = 0.05
MOST_CORRELATION = 0.995
LIKELIER = 3.0  # logarithm: twenty times as likely
WINDOW_PAIRS, WINDOW_STEP = 16, 4
CLEARLY_LIKELIER = 6.0  # of a window among many


APART_SECONDS, AROUND_SECONDS = 0.03, 1.0
LONE_TIMES = 3.0  # the square of the next peak; of two performances it is 1.0 to 1.6 times that
# Part of the amplitude that agrees at the lag: what leaks from headphones has a hundredth.
LEAST_PART = 0.07


@dataclass(frozen=True, slots=True)
class Likeness:
    """evidence: log likelihood ratio, a copy against a second performance.

    stretch: B's time over A's, 1.0 for none. pasted: stretches of B, seconds, that are copied.
    """

    evidence: float
    stretch: float
    pasted: tuple[tuple[float, float], ...]

    @property
    def copied(self) -> bool:
        """Whether the whole is a copy."""
        return self.evidence > LIKELIER


def lone_lag(b: Samples, a: Samples, rate: float) -> int | None:
    """The one lag (samples, A's time minus B's) at which B holds A's sound, if there is one."""
    size = int(fft.next_fast_len(a.size + b.size, real=True))
    cross = fft.rfft(a, size) * np.conj(fft.rfft(b, size))
    level = np.abs(cross)
    cross /= level + 1e-3 * np.mean(level) + 1e-20
    found = fft.irfft(cross, size)
    squares = found * found
    around = ndimage.uniform_filter1d(squares, round(AROUND_SECONDS * rate), mode="wrap")
    ratio = squares / (np.maximum(around, 0.3 * np.mean(squares)) + 1e-30)
    best = int(np.argmax(ratio))
    highest, part = float(ratio[best]), float(np.abs(found[best]))
    reach = round(APART_SECONDS * rate)
    ratio[np.arange(best - reach, best + reach + 1) % size] = 0.0
    if highest < LONE_TIMES * float(np.max(ratio)) or part < LEAST_PART:
        return None
    return best if best < a.size else best - size


def nearest(times: Floats, others: Floats) -> npt.NDArray[np.intp]:
    """For each time the index of the nearest of the others (sorted)."""
    right = np.clip(np.searchsorted(others, times), 1, max(1, others.size - 1))
    if others.size == 1:
        return np.zeros(times.size, dtype=np.intp)
    left = right - 1
    return np.where(times - others[left] <= others[right] - times, left, right)


def mutual(times_a: Floats, times_b: Floats) -> tuple[npt.NDArray[np.intp], npt.NDArray[np.intp]]:
    """Indices of onsets that are each other's nearest and near enough."""
    if times_a.size == 0 or times_b.size == 0:
        return np.empty(0, dtype=np.intp), np.empty(0, dtype=np.intp)
    to_b, back = nearest(times_a, times_b), nearest(times_b, times_a)
    near = np.abs(times_b[to_b] - times_a) <= NEAR_SECONDS
    at = np.flatnonzero((back[to_b] == np.arange(times_a.size)) & near)
    return at, to_b[at]


def likeness(a: tuple[Floats, Floats], b: tuple[Floats, Floats], offset: float) -> Likeness | None:
    """Weigh the onsets (times in seconds and strengths) of two recordings.

    offset: seconds to add to A's times. None where too few notes pair.
    """
    (times_a, loud_a), (times_b, loud_b) = a, b
    moved, stretch = _straightened(times_a + offset, times_b)
    at, to = mutual(moved, times_b)
    if at.size < LEAST_PAIRS:
        return None
    gaps = 1000.0 * (times_b[to] - moved[at])
    logs = np.log(loud_a[at]), np.log(loud_b[to])
    pasted: list[tuple[float, float]] = []
    for first in range(0, at.size - WINDOW_PAIRS + 1, WINDOW_STEP):
        here = slice(first, first + WINDOW_PAIRS)
        if _evidence(gaps[here], logs[0][here], logs[1][here]) <= CLEARLY_LIKELIER:
            continue
        start, end = float(times_b[to[first]]), float(times_b[to[first + WINDOW_PAIRS - 1]])
        if pasted and start <= pasted[-1][1]:
            start = pasted.pop()[0]
        pasted.append((start, end))
    return Likeness(_evidence(gaps, *logs), stretch, tuple(pasted))


def _evidence(gaps_ms: Floats, loud_a: Floats, loud_b: Floats) -> float:
    step = max(LEAST_STEP_MS, float(np.median(np.abs(np.diff(gaps_ms)))))
    a, b = loud_a - np.mean(loud_a), loud_b - np.mean(loud_b)
    together = float(a @ b) / (float(np.sqrt((a @ a) * (b @ b))) + 1e-12)
    loud = float(np.arctanh(np.clip(together, -MOST_CORRELATION, MOST_CORRELATION)))
    found = 0.0
    for value, copied, played in (
        (float(np.log(step)), STEP_COPIED, STEP_PLAYED),
        (loud, LOUD_COPIED, LOUD_PLAYED),
    ):
        # Smaller steps and better agreement than a copy's usual ones are a copy's all the more.
        found += _likely(value, copied) - _likely(value, played)
    return found


def _likely(value: float, usual: tuple[float, float]) -> float:
    mean, spread = usual
    return -0.5 * ((value - mean) / spread) ** 2 - float(np.log(spread))


def _straightened(times: Floats, others: Floats) -> tuple[Floats, float]:
    """A's times on B's by a straight line, and its slope."""
    middle = float(np.mean(times)) if times.size else 0.0
    best, most = 0.0, -1
    for slope in np.arange(-MOST_STRETCH, MOST_STRETCH + 1e-9, STRETCH_STEP):
        tried = times + slope * (times - middle)
        at, to = mutual(tried, others)
        bins = np.round((others[to] - tried[at]) / BIN_SECONDS).astype(int)
        count = np.bincount(bins - bins.min()) if bins.size else np.zeros(1, dtype=int)
        together = int(np.max(count + np.append(count[1:], 0)))
        # The least stretch of equals.
        if together > most or (together == most and abs(slope) < abs(best)):
            best, most = float(slope), together
    out, slope = times + best * (times - middle), best
    for reach in (0.05, 0.03, 0.03):
        at, to = mutual(out, others)
        gaps = others[to] - out[at]
        if gaps.size < LEAST_PAIRS:
            break
        use = np.abs(gaps - np.median(gaps)) < reach
        if np.sum(use) < LEAST_PAIRS or np.ptp(out[at][use]) == 0.0:
            break
        line = np.polyfit(out[at][use], gaps[use], 1)
        out = out + np.polyval(line, out)
        slope = (1.0 + slope) * (1.0 + float(line[0])) - 1.0
    at, to = mutual(out, others)
    if at.size < LEAST_PAIRS:
        return out, 1.0
    uneven = float(np.median(np.abs(others[to] - out[at]))) / 0.6745
    error = uneven / (float(np.std(out[at])) * np.sqrt(at.size) + 1e-12)
    return out, 1.0 + slope if abs(slope) > SURE_TIMES * error else 1.0
