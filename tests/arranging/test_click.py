from __future__ import annotations

import io
import math
import wave
from array import array
from dataclasses import replace
from fractions import Fraction

import pytest

from logbook.arranging.click import click_bytes
from logbook.arranging.clicks import click_track
from logbook.errors import LogbookError
from logbook.records import ArrangedSection, MeterChange, TempoChange
from tests.arranging.material import VERSION, arranged


def read(data: bytes) -> tuple[array[int], int]:
    with wave.open(io.BytesIO(data)) as file:
        assert (file.getnchannels(), file.getsampwidth()) == (1, 2)
        samples = array("h")
        samples.frombytes(file.readframes(file.getnframes()))
        return samples, file.getframerate()


def found_onsets(samples: array[int], rate_hz: int) -> list[tuple[float, float]]:
    """Seconds and peak of every sound after silence: an envelope of 1 ms, risen from nothing.

    Made without knowing where clicks should be.
    """
    hop = max(rate_hz // 4000, 1)
    quiet_until = 0
    found: list[tuple[float, float]] = []
    for at in range(0, len(samples), hop):
        peak = max(abs(value) for value in samples[at : at + hop])
        if peak > 1500 and at >= quiet_until:
            first = next(n for n in range(at, at + hop) if abs(samples[n]) > 1500)
            height = max(abs(value) for value in samples[first : first + rate_hz // 100])
            found.append((first / rate_hz, height / 32767))
            quiet_until = at + rate_hz // 20
    return found


@pytest.mark.parametrize(
    ("rate_hz", "bpm", "sections"),
    [
        (44_100, 100, ()),
        (48_000, 133.7, ()),
        (8_000, 61.3, ()),
        (
            96_000,
            None,
            (
                ArrangedSection(name="intro", bpm=140, ramp=True),
                ArrangedSection(name="verse", bpm=70),
            ),
        ),
    ],
)
def test_onsets_fall_within_a_millisecond(
    rate_hz: int, bpm: float | None, sections: tuple[ArrangedSection, ...]
) -> None:
    found = arranged(
        version=replace(VERSION, sample_rate_hz=rate_hz, parts=()), bpm=bpm, sections=sections
    )
    samples, rate = read(click_bytes(found))
    assert rate == rate_hz
    heard = found_onsets(samples, rate)
    wanted = click_track(found).clicks
    assert len(heard) == len(wanted)
    for (seconds, _), click in zip(heard, wanted, strict=True):
        assert abs(seconds - float(click.seconds)) < 0.001
    loud = [height for (_, height), click in zip(heard, wanted, strict=True) if click.accent]
    soft = [height for (_, height), click in zip(heard, wanted, strict=True) if not click.accent]
    assert min(loud) > 1.5 * max(soft)


def test_the_level_is_moderate() -> None:
    samples, _ = read(click_bytes(arranged()))
    peak = max(map(abs, samples)) / 32767
    assert -9.5 < 20 * math.log10(peak) < -8.5


def test_it_lasts_as_long_as_count_in_and_music() -> None:
    samples, rate = read(click_bytes(arranged(bpm=100, count_in_bars=2)))
    # Two bars and eight bars of 2.4 s.
    assert len(samples) == round(24.0 * rate)
    assert len(read(click_bytes(arranged(bpm=100), count_in_bars=0))[0]) == round(19.2 * rate)


def test_the_usual_rate_where_none_is_said() -> None:
    version = replace(VERSION, sample_rate_hz=None)
    assert read(click_bytes(arranged(version=version)))[1] == 48_000


def test_felt_beats_and_accents() -> None:
    version = replace(
        VERSION,
        meters=(MeterChange(bar=1, meter="6/8"), MeterChange(bar=2, meter="7/8")),
        tempos=(TempoChange(bar=1, bpm=60),),
    )
    found = click_track(arranged(version=version, count_in_bars=1))
    assert [(float(c.seconds), c.accent) for c in found.clicks[:5]] == [
        (0.0, True), (1.0, False), (2.0, True), (3.0, False), (4.0, True),
    ]  # fmt: skip
    assert [float(c.seconds) for c in found.clicks[4:7]] == pytest.approx([4, 4 + 1 / 3, 4 + 2 / 3])


def test_the_pick_up_comes_under_the_count_in() -> None:
    version = replace(VERSION, pickup_beats="1", tempos=(TempoChange(bar=1, bpm=60),))
    found = click_track(arranged(version=version, count_in_bars=1))
    assert (found.lead_wholes, found.lead_seconds) == (Fraction(3, 4), 3)
    assert [float(c.seconds) for c in found.clicks[:6]] == [0, 1, 2, 3, 4, 5]
    assert [c.accent for c in found.clicks[:5]] == [True, False, False, False, True]


@pytest.mark.parametrize(
    ("version", "bars", "says"),
    [
        (replace(VERSION, tempos=()), None, "has no tempo"),
        (replace(VERSION, sample_rate_hz=100), None, "a click at 100 samples a second"),
        (VERSION, 65, "a count-in of 65 bars cannot be"),
    ],
)
def test_what_cannot_be(version: object, bars: int | None, says: str) -> None:
    found = arranged(version=version)
    with pytest.raises(LogbookError, match=says):
        click_bytes(found, bars)


def test_a_click_of_days_is_refused() -> None:
    found = arranged(bpm=1, sections=(ArrangedSection(name="chorus", times=1000),))
    with pytest.raises(LogbookError, match=r"a click of 266.7 hours is too long for a WAV file"):
        click_bytes(found)


def test_each_group_of_an_uneven_meter_has_an_accent() -> None:
    version = replace(VERSION, meters=(MeterChange(bar=1, meter="3+2+2/8"),), form=(), parts=())
    track = click_track(arranged(version=version), 1)
    # One bar of count-in and one of music, seven eighths each at 120 eighths a minute.
    assert "".join("X" if each.accent else "." for each in track.clicks) == "X..X.X." * 2
    assert [each.seconds for each in track.clicks][:3] == [0, Fraction(1, 2), 1]
