"""Two recordings held against each other: the same one, or a second performance?

The same recording, however late, loud or processed, lines up to the sample and leaves little
over. A second performance of the part lines up only roughly; what tells players whether it is
tight is how far apart the same notes of the two begin.
"""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

import numpy as np

from logbook.listening.candidates import Work, believe
from logbook.listening.copies import NEAR_SECONDS, likeness, lone_lag, mutual
from logbook.listening.decoding import DecodedSound, decode
from logbook.listening.fitting import STEP_16_BIT, SoundMatch, fit_channel, fitted
from logbook.listening.onsets import Floats, onset_curve, onsets
from logbook.listening.pitches import aligned, alike, pitch_frames
from logbook.listening.preparing import check_sounds, prepare
from logbook.listening.recovering import WORKERS, trace
from logbook.listening.retracing import at_exact_lag
from logbook.listening.signals import Samples, cut
from logbook.listening.tracing import UNKNOWN
from logbook.listening.tuning import read_tuning

SAME_SHARE = 0.5  # of the sound of the shorter that must line up for the same recording
SAME_GAIN = 2e-3
IDENTICAL_DB = -60.0  # left over when gain and delay are undone
SCRAPS = 0.1  # of B that may line up by chance in a copy that drowns in reverberation
SHORT_GAP_SECONDS = 0.3
AS_CLEAR = 0.8  # of a tuning in the copy beside the other's: less was modulated, not tuned
TIGHT_MS = 12.0  # median distance: common practice, no source
LEAST_PAIRS = 8
# Of the onsets of the one with fewer: unrelated music pairs about half by chance, but widely.
WELL_PAIRED, LEAST_PAIRED = 0.65, 0.4
# How far two passes of a part agree in pitch at least: generated ones on unlike instruments have
# 0.76 and more, a bass and a guitar of one song up to 0.74 (0.79 over a vamp of two chords).
SAME_NOTES = 0.75
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
    stretch that lines up. timing is None unless B is a second performance. pasted: seconds of B
    that hold A's sound: all of a copy, and what was copied into a performance. stretch, cents: B's
    time over A's, and how sharp it is of A, of a copy that was heard by its notes.
    """

    kind: DoubleKind
    same_recording: bool
    offset_s: float
    gain_db: float
    inverted: bool
    residual_db: float
    share: float
    timing: Timing | None
    pasted: tuple[tuple[float, float], ...] = ()
    stretch: float = 1.0
    cents: float = 0.0


def compare(a: Path, b: Path) -> Comparison:
    """Compare two files. Raises ListeningError when one is silent, too short or damaged."""
    with ThreadPoolExecutor(WORKERS) as pool:
        sounds = list(pool.map(decode, [b, a]))
        check_sounds(sounds)
        work = prepare(sounds, pool)
        found, weight = believe(work, (), pool)
        _, matches = trace(work, found, weight)
    lined_up = [m for m in matches if m.take != UNKNOWN]
    share = sum(_energy(work, m.first, m.last) for m in lined_up)
    share /= _common_energy(work, lined_up) + 1e-20
    if share >= SAME_SHARE:
        return _same(work, lined_up, min(1.0, share))
    if share < SCRAPS:
        lag = lone_lag(work.low_bounce, work.low_takes[0], work.low_rate)
        if lag is not None:
            at = lag * work.factor
            first, last = max(0, -at), min(work.bounce.size, work.takes[0].size - at)
            return _same(work, [SoundMatch(first, last, 0, at, 0, float(at))], 1.0)
    return _second(work, sounds[1], sounds[0], _stretches(work, lined_up), share)


def _stretches(work: Work, matches: Sequence[SoundMatch]) -> tuple[tuple[float, float], ...]:
    """Seconds of B that hold A's sound, neighbours joined over short gaps."""
    out: list[tuple[float, float]] = []
    for m in matches:
        start, end = m.first / work.rate, m.last / work.rate
        if out and start - out[-1][1] < SHORT_GAP_SECONDS:
            start = out.pop()[0]
        out.append((start, end))
    return tuple(out)


def _energy(work: Work, first: int, last: int) -> float:
    part = work.bounce[max(0, first) : last]
    return float(np.vdot(part, part))


def _common_energy(work: Work, lined_up: list[SoundMatch]) -> float:
    """Energy of B where A, at the place found, has sound to compare."""
    if not lined_up:
        return _energy(work, 0, work.bounce.size)
    lags = [m.lag for m in lined_up]
    first, last = max(0, -max(lags)), work.takes[0].size - min(lags)
    return _energy(work, first, min(work.bounce.size, last))


def _same(work: Work, matches: Sequence[SoundMatch], share: float) -> Comparison:
    longest = max(matches, key=lambda match: match.last - match.first)
    exact = at_exact_lag(work, longest)
    one_place = all(abs(m.lag - longest.lag) <= 1 for m in matches)
    used = (matches[0].first, matches[-1].last) if one_place else (longest.first, longest.last)
    first, last = used
    b = cut(work.bounce, first, last - first)
    a = cut(work.takes[0], first + exact.lag, last - first)
    gain = float(np.vdot(a, b)) / (float(np.vdot(a, a)) + 1e-20)
    left = _residual_db(b, gain * a)
    kind = DoubleKind.DELAYED if exact.lag else DoubleKind.IDENTICAL
    if not one_place or (exact.lag == 0 and abs(gain - 1.0) > SAME_GAIN):
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
        pasted=_stretches(work, matches),
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


def _second(
    work: Work,
    a: DecodedSound,
    b: DecodedSound,
    pasted: Sequence[tuple[float, float]],
    share: float,
) -> Comparison:
    """Compare two performances by where their notes begin; `pasted`, a share of B, are none."""
    curve_a, curve_b = onset_curve(a.samples, a.rate), onset_curve(b.samples, b.rate)
    (times_a, loud_a), (times_b, loud_b) = onsets(curve_a), onsets(curve_b)
    frames = pitch_frames(a.samples, a.rate), pitch_frames(b.samples, b.rate)
    offset, agree = aligned((curve_a, curve_b), frames)
    agree = 0.5 * (agree + alike(*frames, offset))
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
    like = likeness((times_a, loud_a), (times_b, loud_b), offset) if agree >= SAME_NOTES else None
    copied = like is not None and like.copied
    if like is not None:
        # Of a detuned copy a few notes line up by chance: where little does, the notes say more.
        pasted = pasted if share >= SCRAPS else like.pasted
    # What was pasted says nothing of how tight the playing is.
    played = np.array([not any(s <= t <= e for s, e in pasted) for t in times_b], dtype=np.bool_)
    if pasted and np.sum(played) >= LEAST_PAIRS:
        gaps = _pair(times_a + offset, times_b[played])
    lag = round(-offset * work.rate)
    whole = work.bounce
    moved = cut(work.takes[0], lag, whole.size)
    gain = float(np.vdot(moved, whole)) / (float(np.vdot(moved, moved)) + 1e-20)
    level = np.sqrt(float(np.vdot(whole, whole)) / (float(np.vdot(moved, moved)) + 1e-20))
    kind = DoubleKind.SECOND_PERFORMANCE if related else DoubleKind.UNRELATED
    return Comparison(
        kind=DoubleKind.PROCESSED if copied else kind,
        same_recording=copied,
        offset_s=offset,
        gain_db=float(20 * np.log10(max(level, 1e-6))),
        inverted=False,
        residual_db=_residual_db(whole, gain * moved),
        share=min(1.0, paired),
        timing=_timing(gaps) if related and not copied else None,
        pasted=tuple(pasted) if related or copied else (),
        stretch=like.stretch if copied and like is not None else 1.0,
        cents=_detuned(a, b) if copied else 0.0,
    )


def _detuned(a: DecodedSound, b: DecodedSound) -> float:
    """Cents by which B is sharp of A, within half a semitone; 0 where it cannot be heard."""
    one, other = read_tuning(a.samples, a.rate), read_tuning(b.samples, b.rate)
    if one is None or other is None or other.clear < AS_CLEAR * one.clear:
        return 0.0
    return (other.cents - one.cents + 50.0) % 100.0 - 50.0


def _pair(times_a: Floats, times_b: Floats) -> Floats:
    """B minus A in seconds for onsets that are each other's nearest and near enough."""
    at, to = mutual(times_a, times_b)
    return np.asarray(times_b[to] - times_a[at], dtype=np.float64)


def _timing(gaps: Floats) -> Timing:
    low, middle, high = np.percentile(1000.0 * np.abs(gaps), GAP_PERCENT)
    return Timing(
        lower_quartile_ms=float(low),
        median_ms=float(middle),
        upper_quartile_ms=float(high),
        pairs=int(gaps.size),
        word="tight" if middle <= TIGHT_MS else "loose",
    )
