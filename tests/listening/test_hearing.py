"""Hearing a part: rendered chords, the check against what was logged, and hostile requests."""

from __future__ import annotations

import itertools
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
import soundfile as sf
from scipy import signal

from logbook.listening import ListeningError, hear_chords, hear_part
from logbook.listening.changes import beat_grid, cheapest_cut
from logbook.timing import constant_tempo, parse_meter, parse_range, parse_tempo
from tests.listening import rendered as r

needs_fluidsynth = pytest.mark.skipif(
    not (r.HAVE_FLUIDSYNTH and r.FONTS["FluidR3"].exists()),
    reason="fluidsynth or its sound font is not installed",
)
needs_fingerings = pytest.mark.skipif(
    not any(path.exists() for path in r.FINGERINGS), reason="the set of fingerings is not here"
)
STANDARD = r.STANDARD


@pytest.fixture(scope="module")
def tone(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("tone") / "tone.wav"
    t = np.arange(4 * 22050) / 22050
    sound = sum(np.sin(2 * np.pi * k * 220.0 * t) * np.exp(-t) / k for k in range(1, 9))
    sf.write(path, 0.1 * sound, 22050)
    return path


@needs_fluidsynth
@needs_fingerings
def test_a_rendered_part_is_heard() -> None:
    part = r.render(r.Wanted(seed=42, sound="nylon", bars=12, voicings=6))
    heard = hear_part(part.path, part.spans, open_strings=part.open_strings)
    right = [h.voicings[0].notes == notes for h, notes in zip(heard, part.notes, strict=True)]
    assert sum(right) >= 7
    for span in heard:
        assert not span.silent
        assert span.notes == span.voicings[0].notes
        assert sum(v.confidence for v in span.voicings) <= 1.001
        for voicing in span.voicings:
            assert voicing.notes == r.sounding(voicing.frets, part.open_strings, 0)


@needs_fluidsynth
@needs_fingerings
def test_the_parts_own_voicings_are_told_apart() -> None:
    part = r.render(r.Wanted(seed=43, sound="steel", style="pick", bars=12, voicings=8, capo=2))
    heard = hear_part(
        part.path, part.spans, open_strings=part.open_strings, capo=2, logged=part.own
    )
    right = [h.voicings[0].notes == notes for h, notes in zip(heard, part.notes, strict=True)]
    assert sum(right) >= 11
    assert all(v.frets in part.own for h in heard for v in h.voicings)


@pytest.mark.parametrize(
    ("spans", "strings", "capo", "logged", "word"),
    [
        ([(1.0, 2.0), (0.0, 1.0)], STANDARD, 0, None, "in order"),
        ([(0.0, 9.0)], STANDARD, 0, None, "within the file"),
        ([(-1.0, 1.0)], STANDARD, 0, None, "within the file"),
        ([(1.0, 1.0)], STANDARD, 0, None, "no length"),
        ([(0.0, float("nan"))], STANDARD, 0, None, "no length"),
        ([(0.0, 1.0)], (), 0, None, "no open strings"),
        ([(0.0, 1.0)], (400,), 0, None, "open string"),
        ([(0.0, 1.0)], ("E2",), 0, None, "whole number"),
        ([(0.0, 1.0)], STANDARD, -1, None, "capo"),
        ([(0.0, 1.0)], STANDARD, 1.5, None, "whole number"),
        ([(0.0, 1.0)], STANDARD, 0, [("x", 3, 2, 0, 1, 0)], "whole number"),
        ([(0.0, 1.0)], STANDARD, 0, [(0, 0)], "6"),
        ([(0.0, 1.0)], STANDARD, 0, [(None,) * 6], "plays no string"),
        ([(0.0, 1.0)], STANDARD, 3, [(2, 0, 0, 0, 0, 0)], "capo"),
    ],
)
def test_what_cannot_be_asked(tone, spans, strings, capo, logged, word) -> None:
    with pytest.raises(ListeningError, match=word):
        hear_part(tone, spans, open_strings=strings, capo=capo, logged=logged)


def struck(notes: list[tuple[int, ...]], seconds: float, cents: float = 0.0):
    """Each set of notes once, on made-up strings: sound at 44.1 kHz, and the spans."""
    hits, spans, at = [], [], 0.2
    for chord in notes:
        hits += [r.Hit(at + 0.012 * i, seconds - 0.03, note, 85) for i, note in enumerate(chord)]
        spans.append((at, at + seconds))
        at += seconds
    return r.plucked(hits, np.random.default_rng(2), cents=cents), spans


OPEN_CHORDS = [
    (43, 47, 50, 55, 59, 67),
    (48, 52, 55, 60, 64),
    (50, 57, 62, 66),
    (40, 47, 52, 55, 59, 64),
    (45, 52, 57, 60, 64),
]


@pytest.mark.parametrize(
    ("rate", "channels", "cents"), [(44_100, 2, 0.0), (48_000, 1, 12.0), (16_000, 1, -20.0)]
)
def test_chords_on_strings_that_no_sound_font_has(tmp_path, rate, channels, cents) -> None:
    sound, spans = struck(OPEN_CHORDS, 1.6, cents)
    sound = signal.resample_poly(sound, rate // 100, 441, axis=0)[:, :channels]
    sf.write(tmp_path / "take.flac", sound / np.max(np.abs(sound)) * 0.9, rate)
    heard = hear_part(tmp_path / "take.flac", spans, open_strings=STANDARD)
    right = [h.notes == notes for h, notes in zip(heard, OPEN_CHORDS, strict=True)]
    assert sum(right) >= 4


@pytest.mark.parametrize(
    ("strings", "notes"),
    [
        ((35, *STANDARD), [(35, 42, 47, 54), (40, 47, 52, 55, 59, 64)]),
        ((67, 60, 64, 69), [(60, 64, 67, 72), (62, 67, 71), (60, 65, 69)]),
        (STANDARD, [(64,), (57,), (43,), (76,), (52,)]),
    ],
)
def test_other_instruments_and_single_notes(tmp_path, strings, notes) -> None:
    sound, spans = struck(notes, 1.5)
    sf.write(tmp_path / "take.wav", sound / np.max(np.abs(sound)) * 0.9, r.RATE)
    heard = hear_part(tmp_path / "take.wav", spans, open_strings=strings)
    assert [h.notes for h in heard] == notes
    for span in heard:
        for voicing in span.voicings:
            assert voicing.notes == r.sounding(voicing.frets, strings, 0)


@needs_fluidsynth
def test_a_bass_line_is_heard_note_by_note() -> None:
    wanted = r.Wanted(seed=5, sound="finger bass", tuning="bass", division="half", bars=8)
    part = r.render(wanted)
    heard = hear_part(part.path, part.spans, open_strings=part.open_strings)
    right = [h.notes == notes for h, notes in zip(heard, part.notes, strict=True)]
    assert sum(right) >= 0.8 * len(right)


def test_where_none_of_the_logged_voicings_fits_none_is_said(tmp_path) -> None:
    sound, spans = struck(OPEN_CHORDS, 1.6)
    sf.write(tmp_path / "take.wav", sound / np.max(np.abs(sound)) * 0.9, r.RATE)
    logged = [(3, 2, 0, 0, 0, 3), (1, 3, 3, 2, 1, 1), (4, 6, 6, 5, 4, 4)]
    heard = hear_part(tmp_path / "take.wav", spans, open_strings=STANDARD, logged=logged)
    assert heard[0].voicings[0].frets == logged[0]
    assert not any(span.voicings for span in heard[1:])
    assert all(span.notes and not span.silent for span in heard)


def test_strings_at_the_ends_of_what_can_be_heard_are_asked_without_harm(tone) -> None:
    for strings in ((23, 28, 33, 38, 43), (16,), (88, 81, 76)):
        assert len(hear_part(tone, [(0.0, 2.0)], open_strings=strings)) == 1
    high = [(None, None, None, None, None, 22)]
    assert len(hear_part(tone, [(0.0, 2.0)], open_strings=STANDARD, logged=high)) == 1
    assert len(hear_part(tone, [(0.0, 2.0)], open_strings=STANDARD, capo=23)) == 1


def test_noise_is_no_chord(tmp_path) -> None:
    sf.write(tmp_path / "hiss.wav", 0.1 * np.random.default_rng(0).normal(size=88_200), 44_100)
    (heard,) = hear_part(tmp_path / "hiss.wav", [(0.0, 1.5)], open_strings=STANDARD)
    assert heard.silent


def test_silence_is_said_to_be_silent_and_short_spans_are_heard(tmp_path) -> None:
    sf.write(tmp_path / "nothing.wav", np.zeros(44_100), 22_050)
    heard = hear_part(tmp_path / "nothing.wav", [(0.0, 0.5), (0.5, 2.0)], open_strings=STANDARD)
    assert all(s.silent and not s.voicings and not s.notes for s in heard)
    assert hear_part(tmp_path / "nothing.wav", [], open_strings=STANDARD) == ()
    sound, spans = struck(OPEN_CHORDS[:2], 1.0)
    sound[round(1.2 * r.RATE) :] = 0.0
    sf.write(tmp_path / "take.wav", sound / np.max(np.abs(sound)) * 0.9, r.RATE)
    heard = hear_part(tmp_path / "take.wav", spans, open_strings=STANDARD)
    assert [s.silent for s in heard] == [False, True]
    brief = hear_part(tmp_path / "take.wav", [(0.25, 0.26)], open_strings=STANDARD)
    assert len(brief) == 1


@needs_fluidsynth
@needs_fingerings
@pytest.mark.parametrize("division", ["bar", "half"])
def test_chord_changes_are_found_on_the_beats(division) -> None:
    part = r.render(r.Wanted(seed=44, sound="nylon", bars=8, voicings=6, division=division))
    heard = hear_chords(
        part.path,
        constant_tempo(parse_tempo(f"{part.tempo:.4f}")),
        open_strings=part.open_strings,
        music_at_s=part.spans[0][0],
        covers=parse_range("1-8"),
    )
    assert heard[0].start == pytest.approx(part.spans[0][0], abs=0.01)
    assert heard[-1].end == pytest.approx(part.spans[-1][1], abs=0.01)
    for one, after in itertools.pairwise(heard):
        assert one.end == pytest.approx(after.start)
        assert one.notes != after.notes
    pairs = zip(part.spans[1:], part.notes[1:], part.notes, strict=False)
    true = [start for (start, _), now, before in pairs if now != before]
    said = [span.start for span in heard[1:]]
    met = [at for at in true if any(abs(at - s) < 0.05 for s in said)]
    assert len(met) >= 0.85 * len(true)
    assert len(said) - len(met) <= 1


def test_the_beat_grid_keeps_a_pick_up_and_ends_with_the_file() -> None:
    tempo = parse_tempo("120")
    pickup = constant_tempo(tempo, pickup=Fraction(1, 4))
    bars = beat_grid(pickup, 4.0, None, 1.0)
    assert [[round(t, 3) for t in bar] for bar in bars] == [
        [1.0, 1.5],
        [1.5, 2.0, 2.5, 3.0, 3.5],
        [3.5, 4.0],
    ]
    inside = beat_grid(constant_tempo(tempo), 30.0, parse_range("3-4"), 0.5)
    assert [bar[0] for bar in inside] == [0.5, 2.5]
    assert inside[-1][-1] == 4.5
    six = beat_grid(constant_tempo(tempo, meter=parse_meter("6/8")), 4.0, parse_range("1"), 0.0)
    assert [round(t, 3) for t in six[0]] == [0.0, 0.75, 1.5]


def test_the_cheapest_cut_pays_for_its_changes() -> None:
    flat = {(i, j): 0.0 for i in range(4) for j in range(i + 1, 5)}
    assert cheapest_cut(4, flat) == [(0, 4)]
    torn = {**flat, **{(i, j): 20.0 for i, j in flat if i < 2 < j}}
    assert cheapest_cut(4, torn) == [(0, 2), (2, 4)]


@pytest.mark.parametrize("at", [99.0, 3.95])
def test_a_file_that_ends_before_the_music_says_so(tone, at) -> None:
    with pytest.raises(ListeningError, match="before a beat"):
        hear_chords(tone, constant_tempo(parse_tempo("120")), open_strings=STANDARD, music_at_s=at)
