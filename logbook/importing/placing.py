"""Where in a version a file starts, by the clock it was stamped with.

The version says where bar 1 stands on the recorder's clock; a broadcast file says at which sample
since midnight it begins (EBU Tech 3285). What a tempo map makes of the difference is worked out
in `logbook.editing.placing`; here it is put beside what the log says.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction

from logbook.audio.facts import AudioInfo
from logbook.editing.placing import Placement, clock_seconds, place_take
from logbook.errors import LogbookError
from logbook.records import Version
from logbook.records.context import sections_of, tempo_map_of
from logbook.timing.bars import BarPoint, bars, parse_range
from logbook.timing.tempo_map import TempoMap, nearest_sample

_TOGETHER_S = Fraction(1, 1000)
_NEVER_SET_S = 60 * 60


@dataclass(frozen=True, slots=True)
class Placed:
    """Where a file starts: `start` in words, `bars` the whole bars it holds, with remarks.

    `start` and `bars` are empty where nothing places it, `bars` also where it starts between bars.
    """

    start: str = ""
    bars: str = ""
    remarks: tuple[str, ...] = ()


def time_of_day(info: AudioInfo) -> str:
    """The time of day at which a file begins, by its broadcast chunk ("14:32:05"); empty for none.

    The time it was started at; else its first sample's, counted from midnight (EBU Tech 3285).
    """
    said = info.broadcast
    if said is None:
        return ""
    written = re.fullmatch(r"(\d\d)\D(\d\d)\D(\d\d)", said.time.strip(), re.ASCII)
    parts = [int(each) for each in written.groups()] if written else []
    if any(parts) and parts[0] < 24 and max(parts[1:]) < 60:
        return ":".join(f"{each:02d}" for each in parts)
    seconds = said.time_reference_samples // info.rate_hz
    if not 0 < seconds < 24 * 60 * 60:
        return ""  # midnight is what a program writes that knows no time
    return f"{seconds // 3600:02d}:{seconds // 60 % 60:02d}:{seconds % 60:02d}"


class Clock:
    """Places files on versions; `load` reads a version with its meters, tempos and form."""

    def __init__(self, load: Callable[[int], Version]) -> None:
        self._load = load
        self._versions: dict[int, Version] = {}
        self._maps: dict[int, TempoMap | None] = {}

    def compare(self, version_id: int, info: AudioInfo) -> Placed:
        """Say whether a file has another sample rate than its version."""
        wanted = self._version(version_id).sample_rate_hz
        if wanted is None or wanted == info.rate_hz:
            return Placed()
        return Placed(remarks=(f"the file is at {info.rate_hz} Hz and the version at {wanted} Hz",))

    def lasts(self, version_id: int, take_bars: str) -> float | None:
        """Say how many seconds some bars of a version last; None where nothing tells."""
        try:
            tempo_map = self._map(version_id) if take_bars else None
            if tempo_map is None:
                return None
            return float(tempo_map.seconds_of(parse_range(take_bars)))
        except LogbookError:
            return None

    def place(self, version_id: int, info: AudioInfo, take_bars: str) -> Placed:
        """Say at which bar a take's file starts, held against the bars its take covers."""
        try:
            placement = self._placement(version_id, info)
            if placement is None:
                return self.compare(version_id, info)
            return self._placed(version_id, info, placement, take_bars)
        except LogbookError as error:
            return Placed(remarks=(f"its clock cannot place it: {error}",))

    def _placed(
        self, version_id: int, info: AudioInfo, placement: Placement, take_bars: str
    ) -> Placed:
        tempo_map = self._map(version_id)
        assert tempo_map is not None, "what was placed has a tempo map"
        start = f"starts at bar {placement.bar}" if placement.is_on_bar else ""
        held = self._bars(version_id, info, placement.bar) if placement.is_on_bar else ""
        remarks = list(placement.remarks)
        last = self._last_bar(version_id)
        if last is not None and placement.bar > last:
            remarks.append(f"by its clock it starts behind the form, which ends with bar {last}")
        elif take_bars:
            logged = parse_range(take_bars).start
            starts_s = tempo_map.seconds_at(BarPoint(placement.bar)) + placement.late_seconds
            if abs(tempo_map.seconds_at(logged) - starts_s) <= _TOGETHER_S:
                # A take that is logged to begin between bars does so.
                remarks = [each for each in remarks if not each.startswith("the take starts")]
                start = f"starts at bar {logged}"
            elif placement.is_on_bar:
                remarks.append(
                    f"by its clock it starts at bar {placement.bar}, and its take at bar {logged}"
                )
        return Placed(start, held, tuple(remarks))

    def _version(self, version_id: int) -> Version:
        if version_id not in self._versions:
            self._versions[version_id] = self._load(version_id)
        return self._versions[version_id]

    def _map(self, version_id: int) -> TempoMap | None:
        if version_id not in self._maps:
            self._maps[version_id] = tempo_map_of(self._version(version_id))
        return self._maps[version_id]

    def _placement(self, version_id: int, info: AudioInfo) -> Placement | None:
        version = self._version(version_id)
        if info.broadcast is None or not version.bar_one_at:
            return None
        bar_one_s = clock_seconds(version.bar_one_at)
        if not info.broadcast.time_reference_samples and bar_one_s > _NEVER_SET_S:
            return None  # midnight is what a program writes that knows no time
        tempo_map = self._map(version_id)
        if tempo_map is None:
            return None
        rate_hz = version.sample_rate_hz or info.rate_hz
        music_s = bar_one_s - tempo_map.seconds_at(BarPoint(1))
        return place_take(
            time_reference_samples=info.broadcast.time_reference_samples,
            file_rate_hz=info.rate_hz,
            music_start_samples=nearest_sample(max(music_s, Fraction(0)), rate_hz),
            version_rate_hz=rate_hz,
            tempo_map=tempo_map,
        )

    def _bars(self, version_id: int, info: AudioInfo, first: int) -> str:
        """The whole bars of the form that a file starting at `first` holds; empty for none."""
        tempo_map = self._map(version_id)
        assert tempo_map is not None, "what was placed has a tempo map"
        last = self._last_bar(version_id)
        # A recorder may stop a touch early.
        ends_s = tempo_map.seconds_at(BarPoint(first)) + info.duration_s + Fraction(1, 20)
        end = tempo_map.point_at_seconds(ends_s).bar - 1
        if last is not None:
            end = min(end, last)
        return str(bars(first, end)) if end >= first else ""

    def _last_bar(self, version_id: int) -> int | None:
        form = sections_of(self._version(version_id))
        return max((section.bars.end.bar - 1 for section in form), default=None)
