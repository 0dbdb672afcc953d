"""Tuning with how sure it is: as a whole, sliding, one string out, and none at all."""

from __future__ import annotations

import numpy as np
import pytest

from logbook.listening.intonation import Intonation, read_intonation
from logbook.listening.signals import Samples
from tests.listening import tuned
from tests.listening.tuned import RATE, STANDARD


def heard(sound: Samples, *, capo: int = 0) -> Intonation:
    read = read_intonation(sound, RATE, open_strings=STANDARD, capo=capo)
    assert read is not None
    return read


@pytest.mark.parametrize(
    ("cents", "capo", "vibrato", "bends"),
    [(-34.0, 0, 0.0, 0.0), (11.0, 4, 0.0, 0.0), (3.0, 0, 18.0, 0.2)],
)
def test_the_whole_take_and_how_sure(cents: float, capo: int, vibrato: float, bends: float) -> None:
    read = heard(
        tuned.played(
            31,
            seconds=10.0,
            capo=capo,
            vibrato=vibrato,
            bends=bends,
            picked=bool(vibrato),
            a4=440 * 2 ** (cents / 1200),
        ),
        capo=capo,
    )
    assert abs(read.cents - cents) < 2 * read.error_cents
    assert read.error_cents < 1.0
    assert not read.slides
    assert not read.apart_cents


@pytest.mark.parametrize("picked", [True, False])
def test_a_slide_is_told_with_its_ends(picked: bool) -> None:
    read = heard(tuned.played(32, slide=(-10.0, 10.0), picked=picked))
    assert read.slides
    assert read.from_cents == pytest.approx(-10.0, abs=1.5)
    assert read.to_cents == pytest.approx(10.0, abs=1.5)
    assert not read.apart_cents


def test_one_string_out_is_no_offset_of_the_take() -> None:
    read = heard(tuned.played(33, out=(0.0, 0.0, 0.0, 12.0, 0.0, 0.0)))
    assert read.apart_cents == pytest.approx(12.0, abs=2.0)
    assert read.apart_string == 3
    assert 55 in read.apart_notes
    assert read.cents == pytest.approx(0.0, abs=1.5)
    assert not read.slides
    # All of them out by the same is the take's offset, and no string is out.
    read = heard(tuned.played(33, out=(-12.0,) * 6))
    assert read.cents == pytest.approx(-12.0, abs=1.0)
    assert not read.apart_cents


@pytest.mark.parametrize("seed", range(41, 46))
def test_drums_have_none(seed: int) -> None:
    assert read_intonation(tuned.drums(seed, 8.0), RATE) is None


@pytest.mark.parametrize("colour", [0.0, 0.5, 1.0])
def test_noise_and_hum_have_none(colour: float) -> None:
    noise = tuned.noise(7, 8.0, colour)
    assert read_intonation(noise, RATE) is None
    t = np.arange(noise.size) / RATE
    hum = sum(np.sin(2 * np.pi * 50 * k * t) / k for k in range(1, 9))
    assert read_intonation(0.01 * noise + hum.astype(np.float32), RATE) is None
    assert read_intonation(np.zeros(RATE * 4, dtype=np.float32), RATE) is None


def test_a_voice_is_less_sure_than_strings() -> None:
    from tests.listening.sung import melody, sing

    read = read_intonation(sing(melody(12), seed=12, cents=-14.0), 22_050)
    assert read is not None
    assert 1.0 < read.error_cents < 8.0
    assert abs(read.cents + 14.0) < 2 * read.error_cents
