"""What listening measured in one file, in words: in one line, and what is worth a remark."""

from __future__ import annotations

from collections.abc import Callable

from logbook.records.context import tempo_map_of
from logbook.records.files import Measurement
from logbook.records.songs import Version
from logbook.timing.bars import BarPoint
from logbook.timing.tempo_runs import against, half_and_double, odd_runs, read_runs

Planned = Callable[[int], float]

_READINGS = {"half": "half of it", "double": "double", "other": "another tempo"}
SURE_CENTS, FAIRLY_SURE_CENTS = 1.0, 3.0
SURE_MS, FAIRLY_SURE_MS = 3.0, 6.0
NOTABLE_CENTS = 3.0  # what a listener may hear beside another instrument
MOST_RUNS = 6


def reading_said(reading: str, bpm: float | None = None) -> str:
    """Return how a tempo was heard, in brackets; empty where it was the beat itself."""
    if reading == "open" and bpm is not None:
        other = ", ".join(f"{each:.1f} in {word}" for each, word in half_and_double(bpm))
        return f" (or {other})" if other else ""
    known = reading in ("", "beat", "open")
    return "" if known else f" (heard as {_READINGS.get(reading, reading)})"


def measurement_text(found: Measurement, planned: Planned | None = None) -> str:
    """Return what was found, in a line; planned: beats a minute of each bar by the map."""
    said = []
    if found.tempo_bpm is not None:
        reading = reading_said(found.tempo_reading, found.tempo_bpm)
        said.append(f"tempo {found.tempo_bpm:.1f}{reading}")
    if found.tempo_drift_percent is not None:
        said.append(f"drift {found.tempo_drift_percent:+.1f} %")
    said += odd_bars(found, planned)
    if found.tuning_cents is not None:
        said.append(f"tuning {tuning_text(found)} cents{_give_or_take(found)}")
    if apart := apart_text(found):
        said.append(apart)
    if found.click_late_ms is not None:
        said.append(click_text(found))
    if found.loudness_lufs is not None:
        said.append(f"{found.loudness_lufs:.1f} LUFS")
    if found.true_peak_dbtp is not None:
        said.append(f"peak {found.true_peak_dbtp:.1f} dBTP")
    if found.clipped_samples:
        word = "sample" if found.clipped_samples == 1 else "samples"
        said.append(f"{found.clipped_samples} clipped {word}")
    if found.silence_start_s is not None or found.silence_end_s is not None:
        before, after = found.silence_start_s or 0.0, found.silence_end_s or 0.0
        said.append(f"silence {before:.2f} s before and {after:.2f} s after")
    return ", ".join(said)


def remarks(found: Measurement, a4_hz: float, planned: Planned | None = None) -> tuple[str, ...]:
    """Return what of a measurement is worth a sentence, without a full stop.

    planned: beats a minute of each bar by the map.
    """
    said = []
    error = found.tuning_error_cents
    if found.tuning_from_cents is not None and found.tuning_to_cents is not None:
        said.append(
            f"the tuning slides from {found.tuning_from_cents:+.0f} to "
            f"{found.tuning_to_cents:+.0f} cents"
        )
    elif found.tuning_cents is not None and error is not None:
        cents = found.tuning_cents
        sure = f"{_sure(error, SURE_CENTS, FAIRLY_SURE_CENTS)} (give or take {error:.1f} cents)"
        if abs(cents) >= max(NOTABLE_CENTS, 2 * error):
            side = "sharp" if cents > 0 else "flat"
            a4 = f"A4 = {a4_hz * 2 ** (cents / 1200):.1f} Hz"
            said.append(f"{abs(cents):.0f} cents {side} throughout, {a4}: {sure}")
        elif error > FAIRLY_SURE_CENTS:
            said.append(f"tuning {cents:+.0f} cents: {sure}")
    if apart := apart_text(found):
        said.append(apart)
    said += odd_bars(found, planned)
    runs = read_runs(found.tempo_bars)
    moves = len(against(runs, planned) if planned else runs) > 1
    if moves and len(runs) <= MOST_RUNS:
        said.append("tempo in bars " + ", ".join(_run_said(each) for each in runs))
    elif moves:
        bpms = [each.bpm for each in runs]
        said.append(f"the tempo moves between {min(bpms):.1f} and {max(bpms):.1f} (--bar-by-bar)")
    if found.click_late_ms is not None:
        said.append(click_text(found))
    return tuple(said)


def tuning_text(found: Measurement) -> str:
    """Return where the tuning stands, in cents: "+4", or "-10 to +10" where it slides."""
    if found.tuning_from_cents is not None and found.tuning_to_cents is not None:
        return f"{found.tuning_from_cents:+.0f} to {found.tuning_to_cents:+.0f}"
    return "" if found.tuning_cents is None else f"{found.tuning_cents:+.0f}"


def apart_text(found: Measurement) -> str:
    """Return which string or notes are out: "string 3 (G3) 12 cents sharp of the others"."""
    if not found.tuning_apart_cents:
        return ""
    side = "sharp" if found.tuning_apart_cents > 0 else "flat"
    names = found.tuning_apart.split()
    what = found.tuning_apart
    if names and names[0] != "string":
        what = " and ".join(filter(None, (", ".join(names[:-1]), names[-1])))
    return f"{what or 'some notes'} {abs(found.tuning_apart_cents):.0f} cents {side} of the others"


def click_text(found: Measurement) -> str:
    """Return how the player sits on the click, and how sure that is."""
    late, error = found.click_late_ms or 0.0, found.click_error_ms or 0.0
    sure = f"{_sure(error, SURE_MS, FAIRLY_SURE_MS)} (give or take {error:.0f} ms)"
    if found.click_by == "file start":
        sure += " if the file begins on the bar"
    if abs(late) < max(2 * error, 1.0):
        return f"on the click: {sure}"
    return f"{abs(late):.0f} ms {'behind' if late > 0 else 'ahead of'} the click: {sure}"


def planned_by(version: Version) -> Planned | None:
    """Return what a version's map plans for each bar, None where it has no tempo."""
    tempo_map = tempo_map_of(version)
    if tempo_map is None:
        return None
    return lambda bar: float(tempo_map.tempo_at(BarPoint(bar)).bpm)


def odd_bars(found: Measurement, planned: Planned | None = None) -> list[str]:
    """Return the bars that were rushed or dragged, each in a few words."""
    said = []
    for run in odd_runs(read_runs(found.tempo_bars), planned):
        bars = f"bar {run.first}" if run.first == run.last else f"bars {run.first}-{run.last}"
        said.append(f"{bars} {run.word}: {run.bpm:.1f} where {run.around:.1f} is played around")
    return said


def _run_said(run: object) -> str:
    bars, _, bpm = str(run).partition(" ")
    return f"{bars}: {float(bpm):.1f}"


def _give_or_take(found: Measurement) -> str:
    error = found.tuning_error_cents
    return "" if error is None else f" (give or take {error:.1f})"


def _sure(error: float, sure: float, fairly: float) -> str:
    return "sure" if error <= sure else "fairly sure" if error <= fairly else "doubtful"
