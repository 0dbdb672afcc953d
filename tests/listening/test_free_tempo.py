"""Beats and a gliding tempo map, from playing whose true beats are known."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import mir_eval.beat
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logbook.listening.extra import ListeningError
from logbook.listening.free_tempo import hear_tempo
from logbook.listening.gliding import lay_map
from logbook.timing import parse_meter, read_tempo_map
from logbook.timing.map_text import tempo_lines
from tests.listening import material as m

RATE = 22_050
BARS = 12
FOUR = parse_meter("4/4")
Warp = Callable[[float], float]


def played(tmp_path: Path, warp: Warp, *, tempo: float = 100.0, style: str = "strum") -> Path:
    """A performance whose beats stand where `warp` puts those of an even one."""
    notes = m.perform(5, bars=BARS, tempo=tempo, lead_in=0.0, style=style)
    moved = [replace(note, start=warp(note.start)) for note in notes]
    seconds = warp(BARS * m.bar_length(tempo)) + 1.0
    return m.save(m.pluck(moved, seconds=seconds, rate=RATE), tmp_path / "free.wav", RATE)


def gliding(tempo: float) -> Warp:
    """Ever faster, by 35 % over all bars, linear in musical time."""
    whole = BARS * m.bar_length(tempo)
    return lambda t: 0.5 + whole * math.log1p(0.35 * t / whole) / 0.35


def swaying(tempo: float) -> Warp:
    """To and fro by 12 % about the tempo, twice."""
    whole = BARS * m.bar_length(tempo)
    return lambda t: 0.5 + t + 0.06 * whole / (2 * math.pi) * math.sin(4 * math.pi * t / whole)


@pytest.mark.parametrize("style", ["strum", "pick"])
@pytest.mark.parametrize("make", [gliding, swaying])
def test_free_playing_is_followed(
    tmp_path: Path, make: Callable[[float], Warp], style: str
) -> None:
    warp = make(100.0)
    heard = hear_tempo(played(tmp_path, warp, style=style), about_bpm=105.0)
    true = np.array([warp(beat * 0.6) for beat in range(4 * BARS)])
    # Counted as the library mir_eval counts beats: right within 70 ms, and near: within 25 ms.
    assert mir_eval.beat.f_measure(true, heard.beats.times) > 0.97
    laid = np.array([heard.laid.start_s + float(heard.laid.tempo_map.seconds_at(p))
                     for p in heard.laid.points])  # fmt: skip
    away = np.array([np.min(np.abs(laid - time)) for time in true])
    assert np.quantile(away, 0.95) < 0.020
    assert not heard.laid.steady
    assert any(change.ramp for change in heard.laid.tempo_map.tempos)
    assert heard.bar_one_s == pytest.approx(0.5, abs=0.03)
    # It is written as a session file has it, and read back as the same map.
    lines = tempo_lines(heard.laid.tempo_map)
    assert read_tempo_map("4/4", lines, heard.pickup_beats) == heard.laid.tempo_map


@pytest.mark.parametrize("tempo", [84.0, 120.0])
def test_steady_playing_is_one_tempo(tmp_path: Path, tempo: float) -> None:
    heard = hear_tempo(played(tmp_path, lambda t: 0.5 + t, tempo=tempo))
    assert heard.laid.steady
    (line,) = tempo_lines(heard.laid.tempo_map)
    assert line == f"q={tempo:.0f}"
    assert heard.laid.worst_s < 0.025


def test_what_has_no_beat(tmp_path: Path) -> None:
    sound = np.zeros((3 * RATE, 2))
    with pytest.raises(ListeningError, match="begin"):
        hear_tempo(m.save(sound, tmp_path / "still.wav", RATE))


@settings(max_examples=40, deadline=None)
@given(
    bpm=st.floats(50, 190),
    ratio=st.floats(0.6, 1.6),
    beats=st.integers(12, 60),
    before=st.integers(0, 3),
    jitter=st.floats(0, 0.004),
)
def test_a_map_keeps_to_its_beats(
    bpm: float, ratio: float, beats: int, before: int, jitter: float
) -> None:
    share = np.arange(beats) / (beats - 1)
    even = abs(ratio - 1.0) < 1e-6
    bent = share if even else np.log1p((ratio - 1.0) * share) / (ratio - 1.0)
    times = 0.7 + bent * (beats - 1) * 60.0 / bpm
    times = times + np.random.default_rng(beats).normal(0.0, jitter, beats).clip(-0.01, 0.01)
    heard = lay_map(times, before, FOUR)
    assert heard.worst_s < 0.020
    assert heard.points[before].beat == 1
    assert heard.tempo_map.pickup == before * FOUR.beat_length


def test_beats_that_make_no_map() -> None:
    with pytest.raises(ListeningError, match="no tempo"):
        lay_map([1.0], 0, FOUR)
