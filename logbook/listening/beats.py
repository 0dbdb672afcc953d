"""Beats heard in a recording whose tempo may move, and which of them begin a bar.

The onset curve's periodicity is measured in windows of some seconds (`WINDOW_SECONDS`), and the
path of the beat's length through them is the one that is periodic and seldom jumps (Viterbi). Then
beats are laid by dynamic programming, as D. Ellis described it (Beat tracking by dynamic
programming, Journal of New Music Research 36, 2007): strong onsets, about a beat's length apart,
where the length is that of the path at this place. Last, each beat is drawn to the onset it stands
on, or between its neighbours' where it has none.

Which of a tempo, its half and its double is meant cannot be heard; the one nearest to
`USUAL_BPM` (or to `about_bpm`) is taken. Bars begin where harmony changes and strokes are loud.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy import fft, ndimage

from logbook.listening.extra import ListeningError
from logbook.listening.onsets import RATE, Floats, attacks, onset_curve, onsets
from logbook.listening.pitches import HOP_SECONDS as PITCH_HOP_SECONDS
from logbook.listening.pitches import WINDOW_SECONDS as PITCH_WINDOW_SECONDS
from logbook.listening.pitches import pitch_frames
from logbook.listening.signals import Samples
from logbook.listening.tempo import USUAL_BPM

SLOWEST_BPM, FASTEST_BPM = 45.0, 220.0
SPREAD_OCTAVES = 0.7
WINDOW_SECONDS, STEP_SECONDS = 6.0, 0.5
STEPS_AN_OCTAVE = 48
JUMP_COST = 60.0  # of an octave, in the path of the beat's length
TIGHTNESS = 100.0  # how much a beat's length may not leave the path
LEAST_ONSETS = 8
LEAST_SHARE = 0.3  # of the middle onset's strength: where playing begins and ends
FAST_BPM, STILL_SHARE = 115.0, 0.45  # when only each other bar begins a chord, the beat is double
AHEAD_S = 0.1  # of silence put before the file
EASE_BEATS = 3.0  # either side of a beat
NEAR_SHARE = 0.15  # of a beat within which an onset is the beat's own


@dataclass(frozen=True, kw_only=True, slots=True)
class Beats:
    """Beats of a recording.

    times: seconds of each beat as heard. eased: the same without the hand's own scatter, as far as
    the notes around each tell. struck: whether an onset stands there. downbeat: index of the
    first beat that begins a bar. beats_a_bar: how many there are to a bar. certainty: 0 to 1, how
    clearly bars begin there and not on another beat.
    """

    times: Floats
    eased: Floats
    struck: tuple[bool, ...]
    downbeat: int
    beats_a_bar: int
    certainty: float

    @property
    def bpm(self) -> float:
        """The middle tempo, beats a minute."""
        return float(60.0 / np.median(np.diff(self.times)))


def track_beats(
    samples: Samples,
    rate: int,
    *,
    about_bpm: float | None = None,
    beats_a_bar: int | None = None,
    thirds: bool = False,
) -> Beats:
    """Track the beats of a recording.

    about_bpm: the tempo that is about meant, to settle a half or double; beats_a_bar: None to
    work it out (3 or 4). thirds: whether a beat is divided in three, as in 6/8.
    Raises ListeningError where too few notes begin to tell.
    """
    # A file may begin with the first note itself.
    ahead = round(AHEAD_S * rate)
    samples = np.concatenate([np.zeros(ahead, dtype=samples.dtype), samples])
    curve = onset_curve(samples, rate)
    at, strengths = onsets(curve)
    if at.size < LEAST_ONSETS or curve.size < 3 * RATE:
        raise ListeningError(
            f"only {at.size} notes begin in it", "give a recording of at least two bars"
        )
    periods = _period_path(curve, about_bpm, thirds)
    begun = attacks(samples, rate, at)
    times, struck = _drawn(_laid(curve, periods), at, begun, strengths)
    loud = at[strengths > LEAST_SHARE * np.median(strengths)]
    inside = (times > loud[0] - 0.05) & (times < loud[-1] + 0.05)
    times, struck = times[inside], struck[inside]
    if times.size < 4:
        raise ListeningError("no steady beat is heard in it", "give a recording with a pulse")
    change = _harmony_change(samples, rate, times)
    if about_bpm is None and 60.0 / float(np.median(np.diff(times))) > FAST_BPM:
        start = _every_other(change)
        if start is not None:
            times, struck, change = times[start::2], struck[start::2], change[start::2]
    counts = (beats_a_bar,) if beats_a_bar else (4, 3)
    count, first, certainty = _bars(change, curve, times, counts)
    return Beats(
        times=times - ahead / rate,
        eased=_eased(times, begun) - ahead / rate,
        struck=tuple(bool(one) for one in struck),
        downbeat=first,
        beats_a_bar=count,
        certainty=certainty,
    )


def _period_path(curve: Floats, about_bpm: float | None, thirds: bool) -> Floats:
    """The beat's length in seconds at every frame of the curve."""
    bpm = SLOWEST_BPM * 2 ** np.arange(0, np.log2(FASTEST_BPM / SLOWEST_BPM), 1 / STEPS_AN_OCTAVE)
    usual = about_bpm or USUAL_BPM
    spread = 0.25 if about_bpm else SPREAD_OCTAVES
    prior = -0.5 * (np.log2(bpm / usual) / spread) ** 2
    size = round(WINDOW_SECONDS * RATE)
    step = round(STEP_SECONDS * RATE)
    padded = np.pad(curve - ndimage.uniform_filter1d(curve, round(2 * RATE)), (size // 2, size))
    starts = np.arange(0, curve.size, step)
    transform = int(fft.next_fast_len(2 * size, real=True))
    window = np.hanning(size)
    lags = 60.0 / bpm * RATE
    scores = np.zeros((starts.size, bpm.size))
    taps = [(1.0, 1.0), (2.0, 0.5), (4.0, 0.25), (0.5, 0.25)]
    if thirds:
        taps = [(1.0, 1.0), (2.0, 0.5), (1 / 3, 0.7), (2 / 3, 0.3), (0.5, -0.7)]
    for row, start in enumerate(starts):
        part = np.maximum(padded[start : start + size], 0.0) * window
        power = np.abs(fft.rfft(part, transform)) ** 2
        like = fft.irfft(power, transform)[: 4 * size // 5]
        like = like / (like[0] + 1e-12)
        for times, weight in taps:
            scores[row] += weight * np.interp(lags * times, np.arange(like.size), like)
    # One level of tempo for the whole: windows may glide but not leap to the half.
    whole = np.mean(scores, axis=0)
    scores = 6.0 * scores + 3.0 * whole / (np.max(whole) + 1e-12) + 1.0 * prior
    apart = np.abs(np.arange(bpm.size)[:, None] - np.arange(bpm.size)[None, :]) / STEPS_AN_OCTAVE
    cost = JUMP_COST * apart * np.minimum(1.0, 4 * apart + 0.15)
    total = scores[0]
    back = np.zeros(scores.shape, dtype=int)
    for row in range(1, len(scores)):
        moved = total[None, :] - cost
        back[row] = np.argmax(moved, axis=1)
        total = scores[row] + np.max(moved, axis=1)
    path = [int(np.argmax(total))]
    for row in range(len(scores) - 1, 0, -1):
        path.append(int(back[row][path[-1]]))
    lengths = 60.0 / bpm[np.array(path[::-1])]
    smooth = ndimage.gaussian_filter1d(lengths, 1.0, mode="nearest")
    return np.asarray(np.interp(np.arange(curve.size), starts, smooth), dtype=np.float64)


def _laid(curve: Floats, periods: Floats) -> Floats:
    """Frames of the beats: the best chain through the curve at about the path's lengths."""
    level = curve / (np.std(curve) + 1e-12)
    level = ndimage.gaussian_filter1d(level, 0.012 * RATE)
    lengths = periods * RATE
    score = level.copy()
    back = np.full(curve.size, -1)
    for frame in range(curve.size):
        length = lengths[frame]
        first, last = frame - int(2.0 * length), frame - int(0.5 * length)
        if last <= 0:
            continue
        before = np.arange(max(0, first), last)
        fit = score[before] - TIGHTNESS * np.log((frame - before) / length) ** 2
        best = int(np.argmax(fit))
        if fit[best] > 0.0:
            score[frame] = level[frame] + fit[best]
            back[frame] = before[best]
    tail = round(float(lengths[-1]))
    at = curve.size - tail + int(np.argmax(score[-tail:])) if tail < curve.size else 0
    chain = []
    while at >= 0:
        chain.append(at)
        at = int(back[at])
    return np.asarray(chain[::-1], dtype=np.float64)


def _drawn(
    frames: Floats, at: Floats, begun: Floats, strengths: Floats
) -> tuple[Floats, npt.NDArray[np.bool_]]:
    """Beats drawn to the onset each stands on; the others lie where their neighbours say."""
    times = frames / RATE
    if times.size < 4:
        return times, np.zeros(times.size, dtype=bool)
    struck = np.zeros(times.size, dtype=bool)
    gaps = np.gradient(times)
    for number, (time, gap) in enumerate(zip(times.copy(), gaps, strict=True)):
        near = np.flatnonzero(np.abs(at - time) < NEAR_SHARE * gap)
        if near.size:
            weight = strengths[near] * np.exp(-0.5 * ((at[near] - time) / (0.06 * gap)) ** 2)
            times[number] = begun[near[int(np.argmax(weight))]]
            struck[number] = True
    known = np.flatnonzero(struck)
    if known.size >= 2:
        filled = np.interp(np.arange(times.size), known, times[known])
        inner = (np.arange(times.size) > known[0]) & (np.arange(times.size) < known[-1])
        times = np.where(struck | ~inner, times, filled)
    return times, struck


def _eased(times: Floats, begun: Floats) -> Floats:
    """The pulse under the beats: a parabola through the beats and half beats around each.

    Half beats count where they fall halfway: swung ones would pull.
    """
    count = np.arange(times.size, dtype=np.float64)
    place = np.interp(begun, times, count, left=-9.0, right=-9.0)
    half = np.abs(place % 1.0 - 0.5) < 0.12
    use = np.zeros(place.size, dtype=bool)
    if np.sum(half) > 4 and abs(float(np.median(place[half] % 1.0)) - 0.5) < 0.02:
        use = half & (place > 0.0)
    # Where a half beat lies in the count is what is asked: it stands halfway.
    at = np.concatenate([count, np.floor(place[use]) + 0.5])
    when = np.concatenate([times, begun[use]])
    out = times.copy()
    for number in range(times.size):
        near = np.abs(at - number) <= EASE_BEATS
        if np.sum(near) < 6:
            continue
        away = at[near] - number
        weight = np.exp(-0.5 * (away / (0.5 * EASE_BEATS)) ** 2)
        for _ in range(2):
            fit = np.polyfit(away, when[near], 2, w=np.sqrt(weight))
            left = np.abs(when[near] - np.polyval(fit, away))
            weight = weight / (1.0 + (left / 0.012) ** 2)
        out[number] = fit[2]
    rising = np.all(np.diff(out) > 0.0)
    return out if rising else times


def _every_other(change: Floats) -> int | None:
    """0 or 1 where chords last eight of these beats, so that each other one is meant; or None."""
    if change.size < 24:
        return None
    by_phase = np.array([float(np.mean(change[phase::8])) for phase in range(8)])
    top = int(np.argmax(by_phase))
    usual = float(np.median(by_phase))
    rise, other = by_phase[top] - usual, by_phase[(top + 4) % 8] - usual
    return top % 2 if rise > 0.1 and other < STILL_SHARE * rise else None


def _bars(
    change: Floats, curve: Floats, times: Floats, counts: tuple[int, ...]
) -> tuple[int, int, float]:
    """Beats to a bar, the first beat that begins one, and how sure that is."""
    loud = np.interp(times * RATE, np.arange(curve.size), ndimage.maximum_filter1d(curve, 9))
    value = _standard(change) + 0.35 * _standard(loud)
    best: list[tuple[float, int, int]] = []
    for count in counts:
        for first in range(min(count, times.size)):
            inside = value[first::count]
            rest = np.delete(value, np.arange(first, value.size, count))
            gain = float(np.mean(inside) - np.mean(rest)) if rest.size else 0.0
            # Fewer beats would win by chance alone: 4 to the bar is the usual.
            best.append((gain * np.sqrt(inside.size) - (1.0 if count == 3 else 0.0), count, first))
    best.sort(reverse=True)
    top = best[0]
    rival = next((one[0] for one in best[1:]), top[0] - 4.0)
    certainty = float(1.0 / (1.0 + np.exp(-(top[0] - rival))))
    return top[1], top[2], round(certainty, 2)


def _standard(values: Floats) -> Floats:
    return np.asarray((values - np.mean(values)) / (np.std(values) + 1e-9), dtype=np.float64)


def _harmony_change(samples: Samples, rate: int, times: Floats) -> Floats:
    """How much the pitches of the beat from here on differ from those of the beat before."""
    frames = pitch_frames(samples, rate)
    middle = np.arange(len(frames)) * PITCH_HOP_SECONDS + 0.5 * PITCH_WINDOW_SECONDS
    edges = np.append(times, times[-1] + (times[-1] - times[-2]))
    means = np.zeros((times.size, frames.shape[1]))
    for number in range(times.size):
        inside = (middle >= edges[number]) & (middle < edges[number + 1] + PITCH_HOP_SECONDS)
        if np.any(inside):
            mean = np.mean(frames[inside], axis=0)
            means[number] = mean / (np.linalg.norm(mean) + 1e-9)
    out = np.zeros(times.size)
    out[1:] = 1.0 - np.sum(means[1:] * means[:-1], axis=1)
    out[0] = float(np.mean(out[1:])) if times.size > 1 else 0.0
    return out
