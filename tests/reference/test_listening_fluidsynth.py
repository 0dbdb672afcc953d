"""Comps, tempo and tuning of performances rendered by FluidSynth with the FluidR3 GM font.

Every take is a performance of its own: each note has its own time, loudness and place in the
strum. The bars are played nearly alike in every take, as in a studio.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import librosa
import numpy as np
import pytest
import soundfile as sf

from logbook.listening import recover_comp
from logbook.listening.doubles import DoubleKind, compare
from logbook.listening.onsets import onset_curve, onsets
from logbook.listening.tempo import read_tempo
from logbook.listening.tuning import read_tuning
from tests.listening import material as m
from tests.listening.judging import assert_recovered

pytestmark = pytest.mark.skipif(
    not m.HAVE_FLUIDSYNTH, reason="fluidsynth or the FluidR3 GM sound font is not installed"
)

RATE = 44_100
TEMPO = 112.0
LEAD_IN = [0.5, 0.637, 0.774]
BARS = 22
LAG_S = 0.6 / RATE  # half a sample of rounding in the cutting, and a little


@pytest.fixture(scope="module")
def paths(tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    folder = tmp_path_factory.mktemp("takes")
    player = m.Player(timing=0.004, loudness=4.0, spread=(0.010, 0.016))
    return [
        m.render(
            m.perform(20 + n, bars=BARS, tempo=TEMPO, lead_in=lead, player=player),
            folder / f"take {n + 1}.wav",
        )
        for n, lead in enumerate(LEAD_IN)
    ]


@pytest.fixture(scope="module")
def sounds(paths: list[Path]) -> list[m.Audio]:
    return [sf.read(path)[0] for path in paths]


IN_PLACE = [(0, 0, 4), (1, 4, 4), (2, 8, 2), (0, 10, 1), (1, 11, 4), (2, 15, 5)]
USED_TWICE = [(0, 0, 4), (1, 4, 4), (2, 4, 4), (1, 8, 1), (0, 9, 3), (1, 4, 4)]


def plan_of(bars: list[tuple[int | None, int, int]]) -> list[m.TruePiece]:
    return m.plan_of(bars, tempo=TEMPO, lead_in=LEAD_IN)


def strip(sound: m.Audio) -> m.Audio:
    return m.channel_strip(sound, RATE)


def fades(sound: m.Audio) -> m.Audio:
    gain = np.ones(len(sound))
    gain[: 2 * RATE] = np.linspace(0, 1, 2 * RATE)
    gain[-4 * RATE :] = np.linspace(1, 0, 4 * RATE)
    return sound * gain[:, None]


@pytest.mark.parametrize(
    ("change", "bars"),
    [
        pytest.param(lambda x: x, USED_TWICE, id="plain, used twice"),
        pytest.param(lambda x: -0.5 * x, IN_PLACE, id="quieter, flipped, in place"),
        pytest.param(fades, USED_TWICE, id="fades, used twice"),
        pytest.param(strip, IN_PLACE, id="channel strip, in place"),
        pytest.param(strip, USED_TWICE, id="channel strip, used twice"),
    ],
)
def test_comps(
    sounds: list[m.Audio],
    paths: list[Path],
    tmp_path: Path,
    bars: list[tuple[int | None, int, int]],
    change: Callable[[m.Audio], m.Audio],
) -> None:
    plan = plan_of(bars)
    bounce = m.save(change(m.blend(sounds, plan, RATE)), tmp_path / "bounce.wav", RATE)
    assert_recovered(recover_comp(bounce, paths), plan, lag_s=LAG_S)


@pytest.mark.skipif(not m.HAVE_FFMPEG, reason="ffmpeg is not installed")
@pytest.mark.parametrize("processed", [False, True])
def test_comps_as_mp3(
    sounds: list[m.Audio], paths: list[Path], tmp_path: Path, processed: bool
) -> None:
    plan = plan_of(USED_TWICE)
    sound = m.blend(sounds, plan, RATE)
    source = m.save(strip(sound) if processed else sound, tmp_path / "bounce.wav", RATE)
    bounce = m.encode(source, tmp_path / "bounce.mp3", "-b:a", "160k")
    assert_recovered(recover_comp(bounce, paths), plan, lag_s=0.001)


@pytest.mark.parametrize("processed", [False, True])
def test_a_take_that_is_not_there(
    sounds: list[m.Audio], paths: list[Path], tmp_path: Path, processed: bool
) -> None:
    plan = plan_of(IN_PLACE)
    sound = m.blend(sounds, plan, RATE)
    bounce = m.save(strip(sound) if processed else sound, tmp_path / "bounce.wav", RATE)
    found = recover_comp(bounce, [paths[0], paths[2]])
    there = {0: 0, 1: None, 2: 1}
    assert_recovered(found, [replace(p, take=there[p.take or 0]) for p in plan], lag_s=LAG_S)


@pytest.mark.parametrize("rate", [48_000, 22_050])
def test_another_rate(sounds: list[m.Audio], paths: list[Path], tmp_path: Path, rate: int) -> None:
    plan = plan_of(IN_PLACE)
    sound = m.resample(m.blend(sounds, plan, RATE), RATE, rate)
    bounce = m.save(sound, tmp_path / "bounce.wav", rate)
    assert_recovered(recover_comp(bounce, paths), plan, lag_s=LAG_S)


def test_long_identical_silence(tmp_path: Path) -> None:
    takes = [
        m.render(
            m.perform(31 + n, bars=14, tempo=TEMPO, lead_in=1.0, silent_bars=range(5, 9)),
            tmp_path / f"take {n + 1}.wav",
        )
        for n in range(2)
    ]
    sounds = [sf.read(path)[0] for path in takes]
    bars = [(0, 0, 4), (1, 4, 7), (0, 11, 3)]
    plan = m.plan_of(bars, tempo=TEMPO, lead_in=[1.0, 1.0])
    bounce = m.save(m.blend(sounds, plan, RATE), tmp_path / "bounce.wav", RATE)
    assert_recovered(recover_comp(bounce, takes), plan, lag_s=LAG_S)


def test_takes_are_second_performances(paths: list[Path]) -> None:
    found = compare(paths[0], paths[1])
    assert found.kind is DoubleKind.SECOND_PERFORMANCE
    assert found.offset_s == pytest.approx(LEAD_IN[1] - LEAD_IN[0], abs=0.005)
    assert found.timing is not None
    # Two normal deviates of 4 ms each: half of their differences are within 3.8 ms.
    assert found.timing.median_ms == pytest.approx(3.8, abs=2.0)
    assert found.timing.word == "tight"


@pytest.mark.parametrize(("tempo", "style"), [(71.3, "pick"), (142.6, "strum")])
def test_tempo_beside_librosa(tmp_path: Path, tempo: float, style: str) -> None:
    notes = m.perform(4, bars=round(tempo / 6), tempo=tempo, style=style)
    path = m.render(notes, tmp_path / "take.wav")
    sound, rate = sf.read(path, dtype="float32")
    mono = sound.mean(axis=1)
    curve = onset_curve(mono, rate)
    read = read_tempo(curve, *onsets(curve), tempo)
    assert read is not None
    assert read.bpm == pytest.approx(tempo, rel=0.003)
    assert read.reading in ("beat", "half", "double")
    theirs = float(np.ravel(librosa.feature.tempo(y=mono, sr=rate))[0])
    octave = theirs * 2.0 ** np.round(np.log2(tempo / theirs))
    assert abs(read.bpm - tempo) <= abs(octave - tempo) + 0.01


@pytest.mark.parametrize(("program", "cents"), [(24, 0.0), (25, 17.0), (0, -31.0), (33, 9.0)])
def test_tuning_beside_librosa(tmp_path: Path, program: int, cents: float) -> None:
    notes = m.perform(3, bars=8, tempo=100.0, style="pick")
    path = m.render(notes, tmp_path / "take.wav", program=program, tuning=cents)
    sound, rate = sf.read(path, dtype="float32")
    mono = sound.mean(axis=1)
    read = read_tuning(mono, rate)
    assert read is not None
    assert read.cents == pytest.approx(cents, abs=2.0)
    theirs = 100.0 * librosa.estimate_tuning(y=mono, sr=rate, n_fft=8192)
    assert abs(read.cents - cents) <= abs(theirs - cents) + 1.0
