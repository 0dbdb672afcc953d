"""Where a take starts: from the time its file was stamped with to a bar of the version.

A broadcast file's time reference counts samples since midnight at the file's own rate (EBU Tech
3285). The version says at which time of day, in samples at its rate, its music starts (the
pick-up, or bar 1). The difference, through the tempo map, is a place in the form.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from logbook.errors import LogbookError
from logbook.timing.bars import BarPoint
from logbook.timing.tempo_map import TempoMap, nearest_sample

_DAY_SECONDS = 24 * 60 * 60
# A file that starts within a millisecond of a bar line starts on it.
_ON_THE_LINE_SECONDS = Fraction(1, 1000)


@dataclass(frozen=True, slots=True, kw_only=True)
class Placement:
    """Where a take's file starts.

    `bar` is the bar line nearest to it and `late_seconds` how far behind that line it starts
    (negative: ahead of it); `point` is the exact place, None when it starts before the music.
    `rate_mismatch` holds the file's and the version's rate in Hz when they differ.
    """

    bar: int
    late_seconds: Fraction
    late_samples: int
    late_beats: Fraction
    point: BarPoint | None
    rate_mismatch: tuple[int, int] | None

    @property
    def is_on_bar(self) -> bool:
        """Whether it starts on the bar line, within a millisecond."""
        return abs(self.late_seconds) <= _ON_THE_LINE_SECONDS

    @property
    def remarks(self) -> tuple[str, ...]:
        """What an assistant would point out, one sentence each; empty when all is well."""
        said = []
        if self.rate_mismatch:
            file_hz, version_hz = self.rate_mismatch
            said.append(f"the file is at {file_hz} Hz and the version at {version_hz} Hz")
        if not self.is_on_bar:
            side = "after" if self.late_seconds > 0 else "before"
            said.append(
                f"the take starts {abs(float(self.late_seconds)):.3f} s "
                f"({abs(float(self.late_beats)):.2f} beats) {side} bar {self.bar}"
            )
        return tuple(said)


def place_take(
    *,
    time_reference_samples: int,
    file_rate_hz: int,
    music_start_samples: int,
    version_rate_hz: int,
    tempo_map: TempoMap,
) -> Placement:
    """Find the bar at which a file starts.

    `time_reference_samples` is since midnight at the file's rate, `music_start_samples` since
    midnight at the version's. A file stamped after a midnight the session ran across counts on.
    Raises LogbookError when a rate is not above 0 or a time is below 0.
    """
    if file_rate_hz <= 0 or version_rate_hz <= 0:
        raise LogbookError("a sample rate is not above 0", "give it in Hz, such as 48000")
    if time_reference_samples < 0 or music_start_samples < 0:
        raise LogbookError("a time of day is below 0", "count samples since midnight")
    seconds = Fraction(time_reference_samples, file_rate_hz) - Fraction(
        music_start_samples, version_rate_hz
    )
    if abs(seconds) > _DAY_SECONDS // 2:
        seconds += _DAY_SECONDS if seconds < 0 else -_DAY_SECONDS
    wholes = tempo_map.wholes_at_seconds(seconds)
    bar = _nearest_bar(seconds, wholes, tempo_map)
    late = seconds - tempo_map.seconds_at(BarPoint(bar))
    beat_length = tempo_map.meter_at(bar).beat_length
    late_samples = nearest_sample(abs(late), file_rate_hz)
    first_sample = nearest_sample(seconds, version_rate_hz)
    return Placement(
        bar=bar,
        late_seconds=late,
        late_samples=late_samples if late >= 0 else -late_samples,
        late_beats=(wholes - tempo_map.bar_start(bar)) / beat_length,
        point=(
            tempo_map.point_at_sample(first_sample, version_rate_hz) if first_sample >= 0 else None
        ),
        rate_mismatch=(
            (file_rate_hz, version_rate_hz) if file_rate_hz != version_rate_hz else None
        ),
    )


def _nearest_bar(seconds: Fraction, wholes: Fraction, tempo_map: TempoMap) -> int:
    if wholes <= 0:
        return tempo_map.first_bar
    bar = tempo_map.point_at(wholes).bar
    before = seconds - tempo_map.seconds_at(BarPoint(bar))
    after = tempo_map.seconds_at(BarPoint(bar + 1)) - seconds
    return bar if before <= after else bar + 1


def clock_seconds(text: str) -> Fraction:
    """Return a time on the recorder's clock ("10:02:15.5") in seconds since midnight, exact.

    Raises LogbookError for what is no such time.
    """
    seconds = Fraction(0)
    try:
        for piece in text.split(":"):
            seconds = seconds * 60 + Fraction(piece.strip())
    except (ValueError, ZeroDivisionError):
        raise LogbookError(
            f"{text[:40]!r} is not a time on the recorder's clock", "write it as in 10:02:15.5"
        ) from None
    return seconds


def file_start(
    *, time_reference_samples: int, file_rate_hz: int, bar_one_at: str, tempo_map: TempoMap
) -> Fraction:
    """Return where in the music a file starts by its clock, in seconds; below 0 before it.

    `bar_one_at` is where bar 1 stands on the recorder's clock. Raises LogbookError where that
    is no time.
    """
    seconds = Fraction(time_reference_samples, file_rate_hz) - clock_seconds(bar_one_at)
    if abs(seconds) > _DAY_SECONDS // 2:
        seconds += _DAY_SECONDS if seconds < 0 else -_DAY_SECONDS
    return seconds + tempo_map.seconds_at(BarPoint(1))
