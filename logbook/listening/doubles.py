"""Two recordings held against each other: the same one, or a second performance?

The same recording, however late, loud or processed, lines up to the sample and leaves little
over. A second performance of the part lines up only roughly; what tells players whether it is
tight is how far apart the same notes of the two begin.
"""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

import numpy as np
from scipy import fft

from logbook.listening.candidates import Work, believe
from logbook.listening.decoding import DecodedSound, decode
from logbook.listening.fitting import STEP_16_BIT, SoundMatch, fit_channel, fitted
from logbook.listening.onsets import RATE, Floats, onset_curve, onsets
from logbook.listening.pitches import agreement, pitch_frames
from logbook.listening.recovering import WORKERS, check_sounds, prepare, trace
from logbook.listening.retracing import at_exact_lag
from logbook.listening.signals import Samples, cut
from logbook.listening.tracing import UNKNOWN

SAME_SHARE = 0.5  # of the sound of the shorter that must line up for the same recording
SAME_GAIN = 2e-3
IDENTICAL_DB = -60.0  # left over when gain and delay are undone
NEAR_SECONDS = 0.080  # onsets further apart are not the same note
TIGHT_MS = 12.0  # median distance: common practice, no source
LEAST_PAIRS = 8
# Of the onsets of the one with fewer: unrelated music pairs about half by chance, but widely.
WELL_PAIRED, LEAST_PAIRED = 0.65, 0.4
SAME_NOTES = 0.65  # how far two passes of a part agree in pitch at least; others seldom pass 0.5
CANDIDATES = 24  # alignments tried
AROUND_SECONDS = 0.15
GAP_PERCENT = (25.0, 50.0, 75.0)


class DoubleKind(StrEnum):
    """What B is to A."""

    IDENTICAL = "identical"
    DELAYED = "delayed"
    PROCESSED = "processed"
    SECOND_PERFORMANCE = "second performance"
    UNRELATED = "unrelated"


@dataclass(frozen=True, kw_only=True, slots=True)
class Timing:
    """How far apart the same notes of two performances begin, milliseconds, best aligned.

    Quartiles of the distance (always positive) over all pairs. word: tight or loose.
    """

    lower_quartile_ms: float
    median_ms: float
    upper_quartile_ms: float
    pairs: int
    word: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Comparison:
    """A and B compared.

    same_recording: whether B holds A's sound. offset_s: B's time minus A's at the best
    alignment. gain_db: level of B over A. inverted: opposite polarity. residual_db: what is left
    of B when A, aligned and at its gain (and for processed ones through the fitted processing),
    is taken away, in decibels of B; 0 means nothing was taken away. share: of the common
    stretch that lines up. timing is None unless B is a second performance.
    """

    kind: DoubleKind
    same_recording: bool
    offset_s: float
    gain_db: float
    inverted: bool
    residual_db: float
    share: float
    timing: Timing | None


def compare(a: Path, b: Path) -> Comparison:
    """Compare two files. Raises ListeningError when one is silent, too short or damaged."""
    with ThreadPoolExecutor(WORKERS) as pool:
        sounds = list(pool.map(decode, [b, a]))
        check_sounds(sounds)
        work = prepare(sounds, pool)
        found, weight = believe(work, pool)
        _, matches = trace(work, found, weight)
    best = _longest_place(matches)
    lined_up = [m for m in matches if m.place == best and best != UNKNOWN]
    share = sum(_energy(work, m.first, m.last) for m in lined_up)
    share /= _common_energy(work, lined_up) + 1e-20
    if share >= SAME_SHARE:
        return _same(work, lined_up, min(1.0, share))
    return _second(work, sounds[1], sounds[0])


def _energy(work: Work, first: int, last: int) -> float:
    part = work.bounce[max(0, first) : last]
    return float(np.vdot(part, part))


def _common_energy(work: Work, lined_up: list[SoundMatch]) -> float:
    """Energy of B where A, at the place found, has sound to compare."""
    if not lined_up:
        return _energy(work, 0, work.bounce.size)
    lag = lined_up[0].lag
    return _energy(work, -lag, min(work.bounce.size, work.takes[0].size - lag))


def _longest_place(matches: list[SoundMatch]) -> int:
    """The place that explains most, or UNKNOWN."""
    total: dict[int, int] = {}
    for match in matches:
        if match.place != UNKNOWN:
            total[match.place] = total.get(match.place, 0) + match.last - match.first
    return max(total, key=lambda place: total[place]) if total else UNKNOWN


def _same(work: Work, matches: list[SoundMatch], share: float) -> Comparison:
    longest = max(matches, key=lambda match: match.last - match.first)
    exact = at_exact_lag(work, longest)
    first, last = matches[0].first, matches[-1].last
    b = cut(work.bounce, first, last - first)
    a = cut(work.takes[0], first + exact.lag, last - first)
    gain = float(np.vdot(a, b)) / (float(np.vdot(a, a)) + 1e-20)
    left = _residual_db(b, gain * a)
    kind = DoubleKind.DELAYED if exact.lag else DoubleKind.IDENTICAL
    if exact.lag == 0 and abs(gain - 1.0) > SAME_GAIN:
        kind = DoubleKind.PROCESSED
    if left > max(IDENTICAL_DB, _steps_db(b)):
        kind = DoubleKind.PROCESSED
        inside = [SoundMatch(first, last, 0, exact.lag, 0)]
        channel = fit_channel(work.bounce, work.takes, inside, work.rate)
        white_b, white_a = fitted(work.bounce, work.takes[0], inside[0], channel)
        frame = work.rate // 20
        left = _framewise_residual_db(white_b, white_a, frame)
    return Comparison(
        kind=kind,
        same_recording=True,
        offset_s=-exact.lag / work.rate if exact.lag else 0.0,
        gain_db=float(20 * np.log10(max(abs(gain), 1e-6))),
        inverted=gain < 0,
        residual_db=left,
        share=share,
        timing=None,
    )


def _residual_db(whole: Samples, taken: Samples) -> float:
    rest = whole - taken
    ratio = float(np.vdot(rest, rest)) / (float(np.vdot(whole, whole)) + 1e-20)
    return float(10 * np.log10(max(ratio, 1e-15)))


def _steps_db(whole: Samples) -> float:
    """What rounding both to 16 bits may leave over, in decibels of the whole."""
    power = float(np.vdot(whole, whole)) / max(1, whole.size)
    return float(10 * np.log10(0.5 * STEP_16_BIT**2 / (power + 1e-20)))


def _framewise_residual_db(whole: Samples, part: Samples, frame: int) -> float:
    """Residual with the gain free in every frame, as after a compressor."""
    count = whole.size // frame
    b = whole[: count * frame].reshape(count, frame)
    x = part[: count * frame].reshape(count, frame)
    gain = np.sum(b * x, axis=1) / (np.sum(x * x, axis=1) + np.float32(1e-20))
    return _residual_db(b.reshape(-1), (gain[:, None] * x).reshape(-1))


def _second(work: Work, a: DecodedSound, b: DecodedSound) -> Comparison:
    """Compare two performances by where their notes begin."""
    curve_a, curve_b = onset_curve(a.samples, a.rate), onset_curve(b.samples, b.rate)
    (times_a, _), (times_b, _) = onsets(curve_a), onsets(curve_b)
    frames = pitch_frames(a.samples, a.rate), pitch_frames(b.samples, b.rate)
    offset, agree = _align((curve_a, curve_b), frames)
    gaps = _pair(times_a + offset, times_b)
    if gaps.size:
        offset += float(np.median(gaps))
        gaps = _pair(times_a + offset, times_b)
    fewer = max(1, min(times_a.size, times_b.size))
    paired = gaps.size / fewer
    middle = float(np.median(np.abs(gaps))) if gaps.size else NEAR_SECONDS
    related = (
        agree >= SAME_NOTES
        and gaps.size >= LEAST_PAIRS
        and (paired >= WELL_PAIRED or (paired >= LEAST_PAIRED and middle <= NEAR_SECONDS / 4))
    )
    lag = round(-offset * work.rate)
    whole = work.bounce
    moved = cut(work.takes[0], lag, whole.size)
    gain = float(np.vdot(moved, whole)) / (float(np.vdot(moved, moved)) + 1e-20)
    level = np.sqrt(float(np.vdot(whole, whole)) / (float(np.vdot(moved, moved)) + 1e-20))
    return Comparison(
        kind=DoubleKind.SECOND_PERFORMANCE if related else DoubleKind.UNRELATED,
        same_recording=False,
        offset_s=offset,
        gain_db=float(20 * np.log10(max(level, 1e-6))),
        inverted=False,
        residual_db=_residual_db(whole, gain * moved),
        share=min(1.0, paired),
        timing=_timing(gaps) if related else None,
    )


def _align(curves: tuple[Floats, Floats], frames: tuple[Floats, Floats]) -> tuple[float, float]:
    """Seconds to add to A's times so that it best lies on B, and how far the notes agree there.

    Strokes alone fit at every bar of a steady part, notes alone only to a tenth of a second:
    the places where the notes agree best are tried, each where the strokes fit best near it.
    """
    seconds, agree = agreement(*frames)
    size = int(fft.next_fast_len(curves[0].size + curves[1].size, real=True))
    a, b = (fft.rfft(curve - np.mean(curve), size) for curve in curves)
    strokes = fft.irfft(b * np.conj(a), size)
    strokes = strokes / (float(np.max(strokes)) + 1e-20)
    reach = np.arange(-round(AROUND_SECONDS * RATE), round(AROUND_SECONDS * RATE) + 1)
    best, tried = (0.0, -1.0, -9.0), np.argsort(agree)[::-1][:CANDIDATES]
    for place in tried:
        near = round(seconds[place] * RATE) + reach
        at = int(near[np.argmax(strokes[near % size])])
        worth = float(agree[place]) + 0.3 * float(strokes[at % size])
        if worth > best[2]:
            best = (at / RATE, float(agree[place]), worth)
    return best[0], best[1]


def _pair(times_a: Floats, times_b: Floats) -> Floats:
    """B minus A in seconds for onsets that are each other's nearest and near enough."""
    if times_a.size == 0 or times_b.size == 0:
        return np.empty(0)
    to_b = _nearest(times_a, times_b)
    back = _nearest(times_b, times_a)
    gaps = times_b[to_b] - times_a
    mutual = back[to_b] == np.arange(times_a.size)
    return np.asarray(gaps[mutual & (np.abs(gaps) <= NEAR_SECONDS)], dtype=np.float64)


def _nearest(times: Floats, others: Floats) -> np.ndarray[tuple[int, ...], np.dtype[np.intp]]:
    """For each time the index of the nearest of the others (sorted)."""
    right = np.clip(np.searchsorted(others, times), 1, max(1, others.size - 1))
    if others.size == 1:
        return np.zeros(times.size, dtype=np.intp)
    left = right - 1
    return np.where(times - others[left] <= others[right] - times, left, right)


def _timing(gaps: Floats) -> Timing:
    low, middle, high = np.percentile(1000.0 * np.abs(gaps), GAP_PERCENT)
    return Timing(
        lower_quartile_ms=float(low),
        median_ms=float(middle),
        upper_quartile_ms=float(high),
        pairs=int(gaps.size),
        word="tight" if middle <= TIGHT_MS else "loose",
    )
