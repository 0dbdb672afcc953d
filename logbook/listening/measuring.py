"""What one take measures: tempo bar by bar, tuning, loudness, peaks, clipping, silence.

The tempo is read against the version's map where one is given (see tempo and bar_tempo), and so is
how the player sits on the click (see sitting); the tuning against the version's A4 (see
intonation); levels need neither (see loudness).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import numpy as np

from logbook.listening.bar_tempo import BarGrid, PlacedOnsets, place_onsets, read_bars
from logbook.listening.decoding import DecodedSound, decode
from logbook.listening.intonation import Intonation, read_intonation
from logbook.listening.loudness import Levels, measure_levels
from logbook.listening.onsets import Floats, onset_curve, onsets
from logbook.listening.sitting import Sitting, read_sitting
from logbook.listening.tempo import BarReading, TempoReading, drift_percent, read_tempo
from logbook.records.files import Measurement
from logbook.theory.pitch import midi_to_name
from logbook.timing import BarPoint, BarRange, TempoMap
from logbook.timing.tempo_runs import runs_of, runs_text

STEP_WHOLES = Fraction(1, 8)  # onsets are followed on eighths
AS_WELL = 0.9  # placed of what another beginning would place: then the file begins with the bar
NEAR_START_S = 0.1
BY_CLOCK, BY_START = "clock", "file start"


@dataclass(frozen=True, kw_only=True, slots=True)
class TakeMeasures:
    """All that is measured on one take's file.

    tempo and tuning are None where there is too little to tell them by. bars holds each bar's
    tempo in the map's own beats and how late it came, from the take's first bar on; it is empty
    without a map. drift_percent is the change of tempo against the map over the take. sitting:
    how the player sits on the click, None without a map, or where the take follows none.
    open_strings: as they were given.
    """

    path: Path
    levels: Levels
    tempo: TempoReading | None
    bars: tuple[BarReading, ...]
    drift_percent: float | None
    tuning: Intonation | None
    sitting: Sitting | None = None
    open_strings: tuple[int, ...] = ()

    def as_record(self, measured_at: str = "") -> Measurement:
        """The part of it that is stored with the file."""
        tuning, sitting = self.tuning, self.sitting
        by = "" if sitting is None else BY_CLOCK if sitting.by_clock else BY_START
        return Measurement(
            tempo_bpm=self.tempo.bpm if self.tempo else None,
            tempo_drift_percent=self.drift_percent,
            tempo_reading=self.tempo.reading if self.tempo else "",
            tempo_bars=runs_text(runs_of((each.bar, each.bpm) for each in self.bars)),
            tuning_cents=tuning.cents if tuning else None,
            tuning_error_cents=tuning.error_cents if tuning else None,
            tuning_from_cents=tuning.from_cents if tuning else None,
            tuning_to_cents=tuning.to_cents if tuning else None,
            tuning_apart_cents=tuning.apart_cents if tuning and tuning.apart_cents else None,
            tuning_apart=_apart(tuning, self.open_strings) if tuning else "",
            click_late_ms=sitting.late_ms if sitting else None,
            click_error_ms=sitting.error_ms if sitting else None,
            click_by=by,
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
    open_strings: Sequence[int] = (),
    capo: int = 0,
) -> TakeMeasures:
    """Measure one take.

    tempo_map: of the version; covers: bars of it that the take plays (None: from its first bar
    on); music_at_s: where in the file the first of them begins, None where nobody knows (then
    the first onset is taken for it). a4_hz: the version's tuning reference. open_strings, capo:
    MIDI numbers low to high and the capo's fret, where known, to name a string that is out.
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
    sitting: Sitting | None = None
    if tempo_map is not None:
        numbers, starts, steps, bpms = _grid(tempo_map, first, covers, sound)
        placed = _placed(times, strengths, BarGrid(numbers, starts, steps, bpms), music_at_s)
        bars = read_bars(placed, BarGrid(numbers, starts, steps, bpms))
        sitting = read_sitting(sound.samples, sound.rate, placed, music_at_s)
        expected = _expected(bpms)
        by_number = dict(zip(numbers, bpms, strict=True))
        drift = drift_percent(bars, [by_number[reading.bar] for reading in bars])
    return TakeMeasures(
        path=path,
        levels=levels,
        tempo=read_tempo(curve, times, strengths, expected),
        bars=tuple(bars),
        drift_percent=drift,
        tuning=read_intonation(
            sound.samples, sound.rate, a4_hz, open_strings=open_strings, capo=capo
        ),
        sitting=sitting,
        open_strings=tuple(open_strings),
    )


def _placed(
    times: Floats, strengths: Floats, grid: BarGrid, music_at_s: float | None
) -> PlacedOnsets:
    """Onsets on the grid; where nobody knows where it begins, at the file's start if that fits."""
    if music_at_s is not None:
        return place_onsets(times, strengths, grid, music_at_s)
    first = place_onsets(times, strengths, grid)
    start = place_onsets(times, strengths, grid, 0.0)
    if not start.place_s.size or start.place_s.size < AS_WELL * first.place_s.size:
        return first
    return start if abs(float(np.median(start.time_s - start.place_s))) < NEAR_START_S else first


def _apart(tuning: Intonation, open_strings: Sequence[int]) -> str:
    """What lies apart: "string 3 (G3)", counted from the highest, or the notes: "G3 A3"."""
    if tuning.apart_string is not None and open_strings:
        number = len(open_strings) - tuning.apart_string
        return f"string {number} ({midi_to_name(open_strings[tuning.apart_string])})"
    return " ".join(midi_to_name(midi) for midi in sorted(tuning.apart_notes))


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
