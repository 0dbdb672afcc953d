"""Delay times, cents of a speed ratio and bars in samples, against figures from outside."""

from __future__ import annotations

from fractions import Fraction

import pytest

from logbook.timing.bars import BarPoint, parse_range
from logbook.timing.map_text import read_tempo_map
from logbook.timing.tempo import (
    Tempo,
    note_milliseconds,
    note_values,
    parse_tempo,
    speed_cents,
    stretch_factor,
)


@pytest.mark.parametrize(
    ("bpm", "quarter_ms"),
    [
        (60, 1000),
        (75, 800),
        (90, 666.667),
        (96, 625),
        (100, 600),
        (120, 500),
        (125, 480),
        (140, 428.571),
    ],
)
def test_a_quarter_lasts_60000_over_the_tempo(bpm: int, quarter_ms: float) -> None:
    # common practice, no source: the table of delay times printed beside many a mixing desk.
    tempo = Tempo(Fraction(bpm))
    assert float(note_milliseconds(tempo, Fraction(1, 4))) == pytest.approx(quarter_ms, abs=5e-4)


@pytest.mark.parametrize(
    ("name", "milliseconds"),
    [
        # from memory: the rows of that table at 120, where a quarter lasts half a second.
        ("whole", 2000),
        ("half", 1000),
        ("quarter", 500),
        ("dotted quarter", 750),
        ("quarter triplet", 333.333),
        ("eighth", 250),
        ("dotted eighth", 375),
        ("eighth triplet", 166.667),
        ("sixteenth", 125),
        ("dotted sixteenth", 187.5),
        ("sixteenth triplet", 83.333),
    ],
)
def test_the_table_at_120(name: str, milliseconds: float) -> None:
    table = {row.name: float(row.milliseconds) for row in note_values(parse_tempo("120"))}
    assert table[name] == pytest.approx(milliseconds, abs=5e-4)


@pytest.mark.parametrize(
    ("ratio", "cents"),
    [
        # common practice, no source: 1200 log2 r by the definition of the cent (1/1200 octave).
        (Fraction(2), 1200.0),
        (Fraction(1, 2), -1200.0),
        (Fraction(1), 0.0),
        # from memory: the just fifth, fourth and major third in cents.
        (Fraction(3, 2), 701.955),
        (Fraction(4, 3), 498.045),
        (Fraction(5, 4), 386.314),
        # from memory: a file at 48000 Hz played at 44100 Hz sounds about 147 cents flat.
        (Fraction(44100, 48000), -146.707),
    ],
)
def test_the_cents_of_a_speed_ratio(ratio: Fraction, cents: float) -> None:
    assert speed_cents(ratio) == pytest.approx(cents, abs=5e-4)


def test_a_tempered_semitone_is_100_cents() -> None:
    # ISO 16 tunes to A4 = 440 Hz; that semitones are equal is common practice, no source.
    assert speed_cents(2 ** (1 / 12)) == pytest.approx(100)


def test_a_song_played_slower_is_stretched_by_the_ratio_of_tempos() -> None:
    # common practice, no source.
    assert stretch_factor(parse_tempo("120"), parse_tempo("100")) == Fraction(6, 5)
    assert stretch_factor(parse_tempo("q=90"), parse_tempo("q.=60")) == 1


@pytest.mark.parametrize(
    ("tempo", "microseconds"),
    [
        # Standard MIDI Files 1.0: without a tempo event, 500,000 microseconds a quarter (120).
        ("120", 500_000),
        # from memory: the event's bytes FF 51 03 09 89 68 are 96 quarters a minute.
        ("96", int.from_bytes(bytes([0x09, 0x89, 0x68]), "big")),
        ("60", 1_000_000),
        ("q.=60", 666_667),
        ("h=50", 600_000),
    ],
)
def test_midi_tempo_is_microseconds_a_quarter(tempo: str, microseconds: int) -> None:
    assert parse_tempo(tempo).midi_microseconds_a_quarter == microseconds


@pytest.mark.parametrize(
    ("rate_hz", "bpm", "samples"),
    [
        # common practice, no source: 240 / tempo seconds a bar of 4/4, times the rate.
        (48000, 120, 96_000),
        (44100, 120, 88_200),
        (44100, 96, 110_250),
        (96000, 75, 307_200),
        (48000, 97, 118_763),
    ],
)
def test_samples_in_a_bar(rate_hz: int, bpm: int, samples: int) -> None:
    assert read_tempo_map("4/4", str(bpm)).sample_at(BarPoint(2), rate_hz) == samples


def test_sixteen_bars_of_four_at_120_last_32_seconds() -> None:
    # common practice, no source.
    assert read_tempo_map("4/4", "120").seconds_of(parse_range("9-24")) == 32
