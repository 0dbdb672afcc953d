"""Tempo heard in a recording, and how it moves from bar to bar against a tempo map.

The onset curve's periodicity gives the beat: how strongly the curve comes and goes at a tempo and
its multiples. Then onsets are set on a grid of that beat, and the tempo is the slope of the
straight line through them. Which of a tempo, its half and its double is meant cannot be heard;
where a tempo is expected the reading is folded to it and the fold is named.

Against a map, onsets are followed bar by bar on the map's own grid; how late they are, and how
that changes, gives each bar's tempo.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy import fft

from logbook.listening.onsets import RATE

Floats = npt.NDArray[np.float64]

SLOWEST_BPM, FASTEST_BPM = 40.0, 240.0
USUAL_BPM, SPREAD_OCTAVES = 110.0, 0.8  # where listeners tap: common practice, no source
HARMONICS = (1.0, 2.0, 4.0)
FOLD = 0.06  # how far from an expected tempo, its half or double, a reading may be
PARTS = 4  # grid steps to a beat
NEAR = 0.3  # of a grid step within which an onset belongs to it


@dataclass(frozen=True, kw_only=True, slots=True)
class BarReading:
    """One bar as played: its tempo in the map's beats, and how late it is, milliseconds.

    error_bpm: the tempo's standard error, 0 where it was not asked.
    """

    bar: int
    bpm: float
    late_ms: float
    error_bpm: float = 0.0


@dataclass(frozen=True, kw_only=True, slots=True)
class TempoReading:
    """Tempo of a whole recording.

    bpm: beats a minute, folded to the expected tempo where one was given. heard_bpm: as heard
    before folding. reading: what heard_bpm is of the expected tempo: "beat", "half", "double" or
    "other"; "open" where none was given, and the half or the double may as well be meant.
    spread_ms: median distance of an onset from the grid.
    """

    bpm: float
    heard_bpm: float
    reading: str
    spread_ms: float


def salience(curve: Floats, bpm: Floats) -> Floats:
    """How strongly an onset curve is periodic at each tempo and its double and fourfold."""
    window = np.hanning(curve.size)
    size = int(fft.next_fast_len(8 * curve.size, real=True))
    spectrum = np.abs(fft.rfft((curve - np.mean(curve)) * window, size))
    bins = np.arange(spectrum.size) * RATE / size * 60.0
    return np.asarray(
        sum(np.interp(bpm * times, bins, spectrum) for times in HARMONICS), dtype=np.float64
    )


def read_tempo(
    curve: Floats, times: Floats, strengths: Floats, expected_bpm: float | None = None
) -> TempoReading | None:
    """Tempo from an onset curve and its onsets; None when there are too few to tell.

    expected_bpm: beats a minute of the version, to fold to.
    """
    if times.size < 8 or curve.size < 4 * RATE:
        return None
    fine = SLOWEST_BPM * 2 ** (np.arange(0.0, np.log2(FASTEST_BPM / SLOWEST_BPM), 5e-4))
    prior = np.exp(-0.5 * (np.log2(fine / USUAL_BPM) / SPREAD_OCTAVES) ** 2)
    heard = float(fine[int(np.argmax(salience(curve, fine) * prior))])
    heard, _ = _on_grid(times, strengths, heard)
    if expected_bpm is None:
        bpm, spread = _on_grid(times, strengths, heard)
        return TempoReading(bpm=bpm, heard_bpm=heard, reading="open", spread_ms=spread)
    near = expected_bpm * 2 ** np.arange(-np.log2(1 + FOLD), np.log2(1 + FOLD), 2e-4)
    bpm = float(near[int(np.argmax(salience(curve, near)))])
    bpm, spread = _on_grid(times, strengths, bpm)
    return TempoReading(
        bpm=bpm, heard_bpm=heard, reading=name_reading(heard, expected_bpm), spread_ms=spread
    )


def name_reading(heard_bpm: float, expected_bpm: float) -> str:
    """What a tempo heard is of the expected one: beat, half, double or other."""
    for name, times in (("beat", 1.0), ("double", 2.0), ("half", 0.5)):
        if abs(heard_bpm / (times * expected_bpm) - 1.0) <= FOLD:
            return name
    return "other"


def _on_grid(times: Floats, strengths: Floats, bpm: float) -> tuple[float, float]:
    """Tempo by least squares through onsets on a grid of about `bpm`, and their median distance.

    The grid is grown outward from the middle, so a first guess a little off does not lose count.
    """
    step = 60.0 / bpm / PARTS
    phase = np.angle(np.sum(strengths * np.exp(2j * np.pi * times / step))) / (2 * np.pi)
    origin = phase * step
    centre = float(np.median(times))
    whole = float(np.ptp(times))
    spread = 0.0
    for reach in (0.1, 0.25, 0.5, 1.0, 1.0):
        inside = np.abs(times - centre) <= max(reach * whole, 8 * step)
        count = np.round((times - origin) / step)
        away = times - origin - count * step
        use = inside & (np.abs(away) < NEAR * step)
        if np.sum(use) < 6 or np.ptp(count[use]) == 0:
            continue
        weight = np.sqrt(strengths[use])
        slope, start = np.polyfit(count[use], times[use], 1, w=weight)
        if abs(slope / step - 1.0) > 0.03:
            continue
        step, origin = float(slope), float(start)
        spread = float(np.median(np.abs(times[use] - origin - count[use] * step)))
    return 60.0 / (PARTS * step), 1000.0 * spread


def follow_bars(
    times: Floats,
    strengths: Floats,
    bars: Sequence[int],
    bar_starts_s: Sequence[float],
    steps: Sequence[int],
    beat_bpm: Sequence[float],
    first_at_s: float | None = None,
) -> list[BarReading]:
    """Follow onsets through the bars of a map.

    bars: bar numbers. bar_starts_s: map seconds at which each begins, and one more for the end.
    steps: grid steps (eighths, say) of each bar. beat_bpm: the map's tempo in each bar, in its
    beats. first_at_s: where the first bar begins in the file; None takes the first onset's grid
    step. Bars without onsets are left out.
    """
    if times.size == 0:
        return []
    starts = np.asarray(bar_starts_s, dtype=np.float64)
    starts = starts - starts[0]
    offset = float(times[0]) if first_at_s is None else first_at_s
    late, speed = 0.0, 1.0
    middles: list[float] = []
    lates: list[float] = []
    kept: list[int] = []
    for n in range(len(bars)):
        length = starts[n + 1] - starts[n]
        grid = starts[n] + np.arange(steps[n]) * length / steps[n]
        step = length / steps[n]
        expected = offset + late + (grid - starts[n]) * speed + starts[n]
        near = np.abs(times[:, None] - expected[None, :]).min(axis=1) < NEAR * step
        if not np.any(near):
            continue
        which = np.abs(times[near][:, None] - expected[None, :]).argmin(axis=1)
        away = times[near] - expected[which]
        weight = strengths[near]
        middle = float(np.average(grid[which], weights=weight))
        here = late + float(_weighted_median(away, weight)) + (middle - starts[n]) * (speed - 1)
        if middles:
            slope = (here - lates[-1]) / max(middle - middles[-1], 0.5 * length)
            speed += 0.4 * (1.0 + slope - speed)
        middles.append(middle)
        lates.append(here)
        kept.append(n)
        late = here + (starts[n + 1] - middle) * (speed - 1.0)
    return _readings(bars, beat_bpm, kept, np.array(middles), np.array(lates), starts)


def _readings(
    bars: Sequence[int],
    beat_bpm: Sequence[float],
    kept: Sequence[int],
    middles: Floats,
    lates: Floats,
    starts: Floats,
) -> list[BarReading]:
    """Each bar's tempo from the slope of lateness around it (about a bar either side)."""
    out: list[BarReading] = []
    for row, n in enumerate(kept):
        length = starts[n + 1] - starts[n]
        weight = np.exp(-0.5 * ((middles - middles[row]) / length) ** 2)
        slope = 0.0
        if middles.size > 1:
            slope = float(np.polyfit(middles, lates, 1, w=np.sqrt(weight))[0])
        late = 1000.0 * float(lates[row] - lates[0])
        out.append(BarReading(bar=bars[n], bpm=beat_bpm[n] / (1.0 + slope), late_ms=late))
    return out


def drift_percent(readings: Sequence[BarReading], beat_bpm: Sequence[float]) -> float | None:
    """Change of tempo against the map from the first to the last bar, in percent; None for < 3.

    The straight line through each bar's ratio to the map: 0 for a take as steady as the map.
    """
    if len(readings) < 3:
        return None
    ratio = np.array([r.bpm for r in readings]) / np.asarray(beat_bpm, dtype=np.float64)
    at = np.array([r.bar for r in readings], dtype=np.float64)
    slope, _ = np.polyfit(at, ratio, 1)
    return float(100.0 * slope * (at[-1] - at[0]))


def _weighted_median(values: Floats, weights: Floats) -> float:
    order = np.argsort(values)
    total = np.cumsum(weights[order])
    return float(values[order][int(np.searchsorted(total, 0.5 * total[-1]))])
