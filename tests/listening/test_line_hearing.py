"""Single lines heard: notes of sung-like tones, their places on the grid, which parts they are."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

pytest.importorskip("scipy")

import soundfile as sf

from logbook.listening import HeardNote, ListeningError, hear_notes, hear_part
from logbook.listening.chart_heard import single_notes
from logbook.listening.following import LaidBar
from logbook.listening.line_chart import place_notes, plays_line
from logbook.listening.playing import Strings
from logbook.records import Instrument, Log, Part, Song, Version
from logbook.records.part_view import PartView
from logbook.timing.meter import Meter
from tests.listening import sung

RATE = 22_050


def _right(truth: list[sung.SungNote], found: tuple[HeardNote, ...]) -> int:
    """How many notes are found with their pitch, begun within 80 ms, each once."""
    left = list(found)
    count = 0
    for note in truth:
        hit = next(
            (f for f in left if f.midi == note.midi and abs(f.start - note.start) < 0.08), None
        )
        if hit is not None:
            left.remove(hit)
            count += 1
    return count


@pytest.mark.parametrize(
    ("low", "high"), [(40, 58), (52, 72), (60, 81)], ids=["low", "middle", "high"]
)
def test_sung_lines_with_vibrato_slides_breath_and_off_pitch(
    tmp_path: Path, low: int, high: int
) -> None:
    right = wanted = said = 0
    for seed in range(3):
        truth = sung.melody(seed, low=low, high=high)
        sound = sung.sing(truth, seed=seed, cents=12.0, breath=0.04)
        path = tmp_path / f"{seed}.wav"
        sf.write(path, sound, RATE)
        found = hear_notes(path, start=0.0, end=None)
        right += _right(truth, found)
        wanted += len(truth)
        said += len(found)
        sure = np.median([note.confidence for note in found])
        assert sure > 0.7
    assert right >= 0.95 * wanted
    assert right >= 0.95 * said


def test_slow_slides_and_a_breathy_voice_add_no_notes(tmp_path: Path) -> None:
    for name, how in [("slow", {"glide": 0.15}), ("breathy", {"breath": 0.1})]:
        truth = sung.melody(50, low=50, high=74)
        path = tmp_path / f"{name}.wav"
        sf.write(path, sung.sing(truth, **how), RATE)
        found = hear_notes(path)
        assert _right(truth, found) >= 0.95 * len(truth)
        assert len(found) <= 1.05 * len(truth)


def test_a_stretch_is_heard_alone_in_seconds_of_the_file(tmp_path: Path) -> None:
    notes = [sung.SungNote(start=n * 0.5, end=n * 0.5 + 0.45, midi=60 + 2 * n) for n in range(6)]
    path = tmp_path / "line.wav"
    sf.write(path, sung.sing(notes), RATE)
    found = hear_notes(path, start=0.97, end=1.98)
    assert [note.midi for note in found] == [64, 66]
    assert found[0].start == pytest.approx(1.0, abs=0.05)
    assert found[1].end == pytest.approx(1.95, abs=0.08)
    with pytest.raises(ListeningError, match="not within the file"):
        hear_notes(path, start=0.0, end=9.0)
    with pytest.raises(ListeningError, match="no length"):
        hear_notes(path, start=2.0, end=1.0)


def test_silence_and_noise_have_no_notes(tmp_path: Path) -> None:
    rng = np.random.default_rng(5)
    for name, sound in [("quiet", np.zeros(RATE)), ("noise", 0.1 * rng.standard_normal(RATE))]:
        path = tmp_path / f"{name}.wav"
        sf.write(path, sound, RATE)
        assert hear_notes(path, start=0.0, end=1.0) == ()


def test_a_low_b_of_a_five_string_bass_is_heard(tmp_path: Path) -> None:
    times = np.arange(RATE) / RATE
    # 30.87 Hz is B0 in equal temperament on A4 = 440 Hz.
    sound = sum(np.sin(2 * np.pi * 30.868 * n * times) / n for n in range(1, 9))
    path = tmp_path / "low.wav"
    sf.write(path, 0.2 * np.asarray(sound) * np.exp(-times), RATE)
    (note,) = hear_notes(path, start=0.0, end=1.0)
    assert note.midi == 23


def test_the_low_b_is_heard_among_the_notes_of_five_strings(tmp_path: Path) -> None:
    times = np.arange(RATE) / RATE
    notes = (23, 26, 28, 35, 23, 31)
    tones = []
    for midi in notes:
        hz = 440.0 * 2 ** ((midi - 69) / 12)
        tone = sum(np.sin(2 * np.pi * hz * n * times) / n**0.8 for n in range(1, 20))
        tones.append(0.1 * np.asarray(tone) * np.exp(-1.5 * times) * np.minimum(1, times / 0.004))
    path = tmp_path / "five.wav"
    sf.write(path, np.concatenate(tones), RATE)
    open_strings = (23, 28, 33, 38, 43)
    strings = Strings(open_midi=open_strings, capo=0, added=(0,) * 5, stops=(0,) * 5)
    spans = [(float(n), n + 0.95) for n in range(len(notes))]
    heard = hear_part(path, spans, open_strings=open_strings, logged=single_notes(strings))
    assert [span.notes for span in heard] == [(midi,) for midi in notes]


def test_single_note_spans_with_strings_stay_heard(tmp_path: Path) -> None:
    times = np.arange(2 * RATE) / RATE
    sound = sum(np.sin(2 * np.pi * 110.0 * n * times) / n**1.5 for n in range(1, 12))
    path = tmp_path / "a.wav"
    sf.write(path, 0.2 * np.asarray(sound) * np.exp(-1.5 * times), RATE)
    (span,) = hear_part(
        path,
        [(0.0, 1.8)],
        open_strings=(40, 45, 50, 55, 59, 64),
        logged=[(None, 0, None, None, None, None), (None, 3, None, None, None, None)],
    )
    assert span.voicings[0].notes == (45,)


def _bars(count: int, meter: str = "4/4", seconds: float = 2.0) -> list[LaidBar]:
    beats, unit = (int(each) for each in meter.split("/"))
    return [
        LaidBar(bar=n + 1, meter=Meter(beats, unit), start=n * seconds, end=(n + 1) * seconds)
        for n in range(count)
    ]


def _note(start: float, end: float, midi: int = 60) -> HeardNote:
    return HeardNote(start=start, end=end, midi=midi, cents=0.0, confidence=0.9)


def test_notes_fall_on_the_grid() -> None:
    notes = [
        _note(0.02, 0.5),
        _note(0.53, 0.7),
        _note(0.74, 1.0),  # an eighth after beat 2
        _note(1.97, 2.9),  # a little before bar 2
        _note(3.01, 3.3),
    ]
    placed = place_notes(notes, _bars(3))
    found = [(one.bar, one.beat) for one in placed]
    assert found == [
        (1, Fraction(1)),
        (1, Fraction(2)),
        (1, Fraction(5, 2)),
        (2, Fraction(1)),
        (2, Fraction(3)),
    ]
    assert placed[2].rest_after == (1, Fraction(3))
    assert placed[3].rest_after is None
    assert placed[4].rest_after == (2, Fraction(7, 2))


def test_thirds_of_a_beat_and_compound_meters() -> None:
    thirds = [_note(n / 6, n / 6 + 0.15, 60 + n) for n in range(6)]
    placed = place_notes(thirds, _bars(1))
    assert [one.beat for one in placed] == [1 + Fraction(n, 3) for n in range(6)]
    eighths = [_note(n / 3, n / 3 + 0.3, 60 + n) for n in range(6)]
    placed = place_notes(eighths, _bars(1, "6/8"))
    assert [one.beat for one in placed] == [Fraction(n + 1) for n in range(6)]


@pytest.mark.parametrize(
    ("kind", "name", "wanted"),
    [
        ("voice", "lead", True),
        ("vocal", "lead", True),
        ("", "lead vocals", True),
        ("", "voice", True),
        ("flute", "solo", True),
        ("alto sax", "solo", True),
        ("bassoon", "low part", True),
        ("bass clarinet", "low part", True),
        ("piano", "keys", False),
        ("bass", "bass", False),
        ("guitar", "solo", False),
        ("", "single guitar", False),
        ("", "riff", False),
    ],
)
def test_which_parts_are_single_lines(kind: str, name: str, wanted: bool) -> None:
    instruments = (Instrument(name="it", kind=kind),) if kind else ()
    part = Part(name=name, instrument="it" if kind else "")
    version = Version(name="album", parts=(part,))
    song = Song(title="Heron Light", versions=(version,))
    log = Log(songs=(song,), instruments=instruments)
    assert plays_line(PartView(log, song, version, part)) is wanted
