"""Where every bar of a version lies in a take's file.

The first bar is where the recorder's clock says, or where the first loud onset is; then the grid
is pushed to where the onsets are, and each bar followed as it was played (see tempo.follow_bars).
Without a tempo in the log the take's own beats make the bars (see free_tempo).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy import ndimage

from logbook.listening.decoding import DecodedSound
from logbook.listening.free_tempo import hear_tempo
from logbook.listening.onsets import Floats, attacks, jumps, onset_curve, onsets
from logbook.listening.tempo import follow_bars
from logbook.timing.bars import BarPoint, BarRange
from logbook.timing.meter import Meter
from logbook.timing.tempo_map import TempoMap

AHEAD_S = 0.1  # of silence put before the file
AROUND_TIMES = 1.3  # soft strokes between loud ones are strokes too
LOUD_SHARE = 0.2  # of a usual stroke's weight: the first of these begins the music
REACH_S, PUSH_S = 0.14, 0.05  # how far the grid may be pushed, and usually is
HALF_BEATS = 0.3  # how much half beats count there: they may be swung


@dataclass(frozen=True, kw_only=True, slots=True)
class LaidBar:
    """A bar in the file: its number, meter, and start and end in seconds."""

    bar: int
    meter: Meter
    start: float
    end: float


@dataclass(frozen=True, kw_only=True, slots=True)
class HeardBeats:
    """The onsets of a recording: times set back to their beginning, and strengths.

    weights: how much like a stroke each is, about 1 for a loud one (see onsets.jumps).
    """

    times: Floats
    strengths: Floats
    weights: Floats


def hear_onsets(sound: DecodedSound) -> HeardBeats:
    """Return the onsets of a decoded sound; one at its very beginning is heard too."""
    ahead = round(AHEAD_S * sound.rate)
    samples = np.concatenate([np.zeros(ahead, dtype=sound.samples.dtype), sound.samples])
    curve = onset_curve(samples, sound.rate)
    times, strengths = onsets(curve, around_times=AROUND_TIMES)
    begun = attacks(samples, sound.rate, times)
    usual = float(np.quantile(strengths, 0.75)) if strengths.size else 1.0
    jumped = np.clip(jumps(samples, sound.rate, begun), 0.03, 1.2)
    times = begun - ahead / sound.rate
    return HeardBeats(times=times, strengths=strengths, weights=strengths / usual * jumped)


def lay_bars(
    sound: DecodedSound,
    heard: HeardBeats,
    tempo_map: TempoMap | None,
    covers: BarRange | None = None,
    music_at_s: float | None = None,
    meter: Meter | None = None,
) -> tuple[LaidBar, ...]:
    """Lay a version's bars over a recording.

    covers: the bars it plays (None: from the first on). music_at_s: where in the file the map
    begins, as the clock has it; None where nobody knows. meter: taken where there is no map.
    """
    if tempo_map is None:
        free = hear_tempo(sound, meter=meter)
        starts = [bar.starts_s for bar in free.bars]
        starts.append(2 * starts[-1] - starts[-2] if len(starts) > 1 else sound.seconds)
        return tuple(
            LaidBar(bar=bar.bar, meter=free.meter, start=a, end=b)
            for bar, a, b in zip(free.bars, starts, starts[1:], strict=False)
        )
    first = covers.start.bar if covers else tempo_map.first_bar
    zero = float(tempo_map.seconds_at(BarPoint(first)))
    last = covers.bars[-1] if covers else 100_000
    begins = None if music_at_s is None else music_at_s + zero
    if begins is None:
        begins = _first_loud(heard)
    numbers, starts = [first], [0.0]
    while numbers[-1] < last:
        starts.append(float(tempo_map.seconds_at(BarPoint(numbers[-1] + 1))) - zero)
        if covers is None and begins + starts[-1] > _last_loud(heard, sound) + 0.1:
            break
        numbers.append(numbers[-1] + 1)
    if len(starts) == len(numbers):
        starts.append(float(tempo_map.seconds_at(BarPoint(numbers[-1] + 1))) - zero)
    beats = [
        max(1, round(float(tempo_map.bar_length(bar) / tempo_map.meter_at(bar).felt_beat_length)))
        for bar in numbers
    ]
    # Followed in eighths, and in beats alone, since what lies between them may be swung.
    eighths = [max(1, round(8 * float(tempo_map.bar_length(bar)))) for bar in numbers]
    tried = [_followed(heard, begins, starts, steps) for steps in (eighths, beats)]
    edges = max(tried, key=lambda each: _fit(heard, each, beats))
    return tuple(
        LaidBar(bar=bar, meter=tempo_map.meter_at(bar), start=edges[n], end=edges[n + 1])
        for n, bar in enumerate(numbers)
        if edges[n + 1] > edges[n]
    )


def _followed(
    heard: HeardBeats, begins: float, starts: Sequence[float], steps: Sequence[int]
) -> list[float]:
    """Where each bar begins, and the last ends, following onsets on this many steps a bar."""
    count = len(steps)
    begins += _push(heard, begins, starts, steps)
    numbers = list(range(count))
    readings = follow_bars(
        heard.times, heard.weights, numbers, starts, steps, [120.0] * count, begins
    )
    late = np.zeros(count)
    if readings:
        # The reading's lateness counts from the first bar read; the push has set that one right.
        known = [one.bar for one in readings]
        way = ndimage.gaussian_filter1d(np.array([one.late_ms for one in readings]), 0.7)
        late = np.interp(np.arange(count), known, way) / 1000.0
        late -= late[0] if known[0] == 0 else 0.0
    edges = [begins + starts[n] + float(late[n]) for n in range(count)]
    return [*edges, begins + starts[-1] + float(late[-1])]


def _fit(heard: HeardBeats, edges: Sequence[float], beats: Sequence[int]) -> float:
    """How sharply onsets crowd at places of the beat, and how many on the beat itself."""
    at = np.concatenate([[-1.0], np.cumsum(beats)]).astype(float)
    at[0] = 0.0
    place = np.interp(heard.times, edges, at, left=-1.0, right=-1.0)
    use = place >= 0.0
    if not np.any(use):
        return 0.0
    beat_s = (edges[-1] - edges[0]) / at[-1]
    share, weight = place[use] % 1.0, np.sqrt(heard.weights[use])
    bins = max(8, round(beat_s / 0.008))
    where = np.round(share * bins).astype(int) % bins
    crowd = np.bincount(where, weights=weight, minlength=bins)
    crowd = ndimage.gaussian_filter1d(crowd, 1.2, mode="wrap") / np.sum(weight)
    away = np.minimum(share, 1.0 - share) * beat_s
    on_beat = float(np.average(np.exp(-0.5 * (away / 0.012) ** 2), weights=weight))
    return float(np.sum(crowd**2)) * on_beat


def _first_loud(heard: HeardBeats) -> float:
    if heard.times.size == 0:
        return 0.0
    loud = heard.weights > LOUD_SHARE
    return float(heard.times[int(np.argmax(loud))])


def _last_loud(heard: HeardBeats, sound: DecodedSound) -> float:
    if heard.times.size == 0:
        return sound.seconds
    loud = heard.weights > LOUD_SHARE
    return float(heard.times[loud][-1])


def _push(heard: HeardBeats, begins: float, starts: Sequence[float], steps: Sequence[int]) -> float:
    """Seconds by which the grid of the first bars lies best on the onsets, at most a part step."""
    count = min(8, len(steps))
    grid = np.concatenate(
        [np.linspace(starts[n], starts[n + 1], steps[n], endpoint=False) for n in range(count)]
    )
    step = (starts[count] - starts[0]) / grid.size
    halves = grid + 0.5 * step
    inside = (heard.times > begins - step) & (heard.times < begins + starts[count])
    times, weight = heard.times[inside], heard.weights[inside]
    if times.size < 3:
        return 0.0
    reach = min(REACH_S, 0.45 * step)
    best, found = 0.0, -1.0
    for shift in np.arange(-reach, reach, 0.002):
        away = np.abs(times[:, None] - (begins + shift + grid)[None, :]).min(axis=1)
        value = float(np.sum(weight * np.exp(-0.5 * (away / 0.015) ** 2)))
        away = np.abs(times[:, None] - (begins + shift + halves)[None, :]).min(axis=1)
        value += HALF_BEATS * float(np.sum(weight * np.exp(-0.5 * (away / 0.015) ** 2)))
        value *= float(np.exp(-0.5 * (shift / PUSH_S) ** 2))
        if value > found:
            best, found = float(shift), value
    return best
