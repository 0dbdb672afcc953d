"""One take measured against its version."""

from __future__ import annotations

from fractions import Fraction

import pytest

from logbook.listening import measure_take
from logbook.timing import Meter, Tempo, constant_tempo, parse_range
from tests.listening.conftest import Takes


def test_against_a_map(plucked: Takes) -> None:
    tempo_map = constant_tempo(Tempo(Fraction(120)), Meter(4, 4))
    found = measure_take(
        plucked.paths[0],
        tempo_map=tempo_map,
        covers=parse_range("1-8"),
        music_at_s=plucked.lead_in[0],
    )
    assert found.tempo is not None
    assert found.tempo.bpm == pytest.approx(120.0, rel=0.003)
    assert found.tempo.reading in ("beat", "half", "double")
    assert [reading.bar for reading in found.bars] == list(range(1, 9))
    assert all(reading.bpm == pytest.approx(120.0, rel=0.02) for reading in found.bars)
    assert found.drift_percent == pytest.approx(0.0, abs=1.5)
    assert found.tuning is not None
    assert found.tuning.cents == pytest.approx(0.0, abs=2.0)
    assert found.levels.silence_before_s == pytest.approx(0.5, abs=0.03)


def test_what_is_stored(plucked: Takes) -> None:
    found = measure_take(plucked.paths[1])
    record = found.as_record("2026-01-02T03:04:05")
    assert found.bars == ()
    assert record.tempo_drift_percent is None
    assert record.tempo_bpm == pytest.approx(120.0, rel=0.003) or record.tempo_bpm == pytest.approx(
        60.0, rel=0.003
    )
    assert record.loudness_lufs == found.levels.loudness_lufs
    assert record.clipped_samples == 0
    assert record.measured_at == "2026-01-02T03:04:05"
