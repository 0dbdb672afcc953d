"""What one take measures: tempo and drift, tuning, loudness, peaks, clipping, silence.

The tempo is read against the version's map where one is given (see tempo), the tuning against
the version's A4 (see tuning); levels need neither (see loudness).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import numpy as np

from logbook.listening.decoding import DecodedSound, decode
from logbook.listening.loudness import Levels, measure_levels
from logbook.listening.onsets import Floats, onset_curve, onsets
from logbook.listening.tempo import (
    BarReading,
    TempoReading,
    drift_percent,
    follow_bars,
    read_tempo,
)
from logbook.listening.tuning import TuningReading, read_tuning
from logbook.records.files import Measurement
from logbook.timing import BarPoint, BarRange, TempoMap

STEP_WHOLES = Fraction(1, 8)  # onsets are followed on eighths


@dataclass(frozen=True, kw_only=True, slots=True)
class TakeMeasures:
    """All that is measured on one take's file.

    tempo and tuning are None where there is too little to tell them by. bars holds each bar's
    tempo in the map's own beats and how late it came, from the take's first bar on; it is empty
    without a map. drift_percent is the change of tempo against the map over the take.
    """

    path: Path
    levels: Levels
    tempo: TempoReading | None
    bars: tuple[BarReading, ...]
    drift_percent: float | None
    tuning: TuningReading | None

    def as_record(self, measured_at: str = "") -> Measurement:
        """The part of it that is stored with the file."""
        return Measurement(
            tempo_bpm=self.tempo.bpm if self.tempo else None,
            tempo_drift_percent=self.drift_percent,
            tempo_reading=self.tempo.reading if self.tempo else "",
            tuning_cents=self.tuning.cents if self.tuning else None,
            loudness_lufs=self.levels.loudness_lufs,
            true_peak_dbtp=self.levels.true_peak_dbtp,
            clipped_samples=self.levels.clipped_samples,
            silence_start_s=self.levels.silence_before_s,
            silence_end_s=self.levels.silence_after_s,
            measured_at=measured_at,
        )


def measure_take(
    path: Path,
    *,
    tempo_map: TempoMap | None = None,
    covers: BarRange | None = None,
    music_at_s: float | None = None,
    a4_hz: float = 440.0,
) -> TakeMeasures:
    """Measure one take.

    tempo_map: of the version; covers: bars of it that the take plays (None: from its first bar
    on); music_at_s: where in the file the first of them begins, None where nobody knows (then
    the first onset is taken for it). a4_hz: the version's tuning reference.
    Raises ListeningError when the file cannot be decoded or has nothing in it.
    """
    levels = measure_levels(path)
    sound = decode(path)
    curve = onset_curve(sound.samples, sound.rate)
    times, strengths = onsets(curve)
    first = _first_bar(tempo_map, covers)
    expected = float(tempo_map.tempo_at(BarPoint(first)).bpm) if tempo_map else None
    bars: list[BarReading] = []
    drift: float | None = None
    if tempo_map is not None:
        numbers, starts, steps, bpms = _grid(tempo_map, first, covers, sound)
        bars = follow_bars(times, strengths, numbers, starts, steps, bpms, music_at_s)
        expected = _expected(bpms)
        by_number = dict(zip(numbers, bpms, strict=True))
        drift = drift_percent(bars, [by_number[reading.bar] for reading in bars])
    return TakeMeasures(
        path=path,
        levels=levels,
        tempo=read_tempo(curve, times, strengths, expected),
        bars=tuple(bars),
        drift_percent=drift,
        tuning=read_tuning(sound.samples, sound.rate, a4_hz),
    )


def _first_bar(tempo_map: TempoMap | None, covers: BarRange | None) -> int:
    if covers is not None:
        return covers.start.bar
    return tempo_map.first_bar if tempo_map else 1


def _expected(bpms: Sequence[float]) -> float | None:
    """The tempo to read the whole take against: the map's middle one."""
    return float(np.median(np.array(bpms))) if bpms else None


def _grid(
    tempo_map: TempoMap, first: int, covers: BarRange | None, sound: DecodedSound
) -> tuple[list[int], list[float], list[int], list[float]]:
    """Bar numbers, their starts in map seconds with the end of the last, eighths, and tempos."""
    zero = tempo_map.seconds_at(BarPoint(first))
    numbers: list[int] = []
    starts = [0.0]
    while starts[-1] < sound.seconds and (covers is None or first + len(numbers) in covers.bars):
        numbers.append(first + len(numbers))
        starts.append(float(tempo_map.seconds_at(BarPoint(numbers[-1] + 1)) - zero))
    steps = [max(1, round(tempo_map.bar_length(bar) / STEP_WHOLES)) for bar in numbers]
    bpms = [float(tempo_map.tempo_at(BarPoint(bar)).bpm) for bar in numbers]
    return numbers, starts, steps, bpms


def onsets_of(sound: DecodedSound) -> tuple[Floats, Floats]:
    """Times in seconds and strengths of the onsets of a decoded sound."""
    return onsets(onset_curve(sound.samples, sound.rate))
