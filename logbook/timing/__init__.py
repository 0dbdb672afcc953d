"""The timing room: meters, tempos, and bars <-> seconds <-> samples. Imports nothing of ours."""

from __future__ import annotations

from logbook.timing.bars import BarPoint, BarRange, bars, parse_point, parse_range
from logbook.timing.map_text import read_tempo_map
from logbook.timing.meter import Meter, parse_meter
from logbook.timing.tempo import Tempo, parse_tempo
from logbook.timing.tempo_map import TempoMap, constant_tempo

__all__ = [
    "BarPoint",
    "BarRange",
    "Meter",
    "Tempo",
    "TempoMap",
    "bars",
    "constant_tempo",
    "parse_meter",
    "parse_point",
    "parse_range",
    "parse_tempo",
    "read_tempo_map",
]
