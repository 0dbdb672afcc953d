"""Plucked strings, parts as logged, comps joined from takes, and the small files they end in."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from logbook.arranging.performance import perform
from logbook.editing.clips import Clip, TakeAudio
from logbook.editing.comp import EditPiece
from logbook.editing.takes import TakeId
from logbook.errors import LogbookError
from logbook.listening.decoding import decode_channels
from logbook.notebook.read import read_log
from logbook.playing.comps import join_clips
from logbook.playing.making import Wish, file_of, make_sound, sizes_of
from logbook.playing.opus import write_opus
from logbook.playing.parts import strokes_of
from logbook.playing.plucked import pluck
from logbook.playing.recordings import COMP, FINISHED, TAKE, sounds_of
from logbook.records.context import bars_map
from logbook.records.files import AudioFile
from logbook.records.part_view import PartView, places
from logbook.timing.bars import BarPoint, parse_range

SAMPLE = Path(__file__).parents[2] / "sample_session"
LOG = read_log((SAMPLE / "session.toml").read_text(encoding="utf-8"), folder=str(SAMPLE))
GUITAR = next(places(LOG))
RATE = 24_000


@pytest.mark.parametrize("hz", [82.4, 196.0, 440.0])
def test_a_plucked_string_sounds_at_its_pitch(hz: float) -> None:
    sound = pluck(hz, 1.0, 48_000, 0.5, np.random.default_rng(3))
    spectrum = np.abs(np.fft.rfft(sound * np.hanning(len(sound)), 1 << 18))
    step = 48_000 / (1 << 18)
    # The harmonic nearest to each multiple, for the loudest need not be the first.
    for multiple in (1, 2, 3):
        low, high = (int(multiple * hz * part / step) for part in (0.97, 1.03))
        found = (low + int(np.argmax(spectrum[low:high]))) * step
        assert abs(1200 * np.log2(found / (multiple * hz))) < 20, multiple


def test_a_part_is_struck_where_its_notes_begin() -> None:
    bars = bars_map(GUITAR.version)
    notes = perform(GUITAR, bars)
    found = strokes_of(GUITAR, bars)
    assert found.a4_hz == 440
    assert sum(len(each.stroke.strings) for each in found.struck) == len(notes)
    starts = [float(bars.seconds_at_wholes(note.start)) for note in notes]
    assert sorted({each.start_s for each in found.struck}) == sorted(set(starts))
    for each in found.struck:
        there = [note for note, start in zip(notes, starts, strict=True) if start == each.start_s]
        assert set(each.stroke.strings) <= {(0,) if n.muted else n.midi for n in there}
        ends = {float(bars.seconds_at_wholes(note.end)) for note in there}
        assert any(abs(each.start_s + each.seconds - end) < 1e-9 for end in ends)


def test_a_part_without_a_tuning_says_what_is_missing() -> None:
    (voice,) = [each for each in places(LOG) if each.title == "Low Tide Ledger, EP, voice"]
    sung = replace(voice, part=replace(voice.part, chart=GUITAR.part.chart))
    with pytest.raises(LogbookError, match="has no tuning"):
        strokes_of(sung, bars_map(voice.version))


def test_each_chord_alone_is_the_strings_that_are_fingered() -> None:
    chords = strokes_of(GUITAR, bars_map(GUITAR.version)).chords
    assert list(chords) == ["A", "E/G#", "F#m7", "Dadd9", "Esus4"]
    assert chords["A"].strings == ((45,), (49,), (52,), (57,), (61,), (69,))


def test_opus_keeps_every_place_in_time(tmp_path: Path) -> None:
    rate = 44_100
    sound = np.zeros(rate * 3)
    for second in range(3):
        sound[second * rate : second * rate + 400] = 0.7 * np.sin(np.arange(400) * 0.3)
    write_opus(tmp_path / "x.webm", sound, rate)
    av = pytest.importorskip("av")
    with av.open(str(tmp_path / "x.webm")) as container:
        got = np.concatenate([each.to_ndarray()[0] for each in container.decode(audio=0)])
    assert abs(len(got) / 48_000 - 3.0) < 0.03
    for second in range(3):
        first = int(np.argmax(np.abs(got[second * 48_000 :]) > 0.2 * np.max(np.abs(got))))
        assert first < 96, "within 2 ms"
    assert [each.name for each in tmp_path.iterdir()] == ["x.webm"]


def clip(bars: str, take: int, first: int, at: int, frames: int, fade_ms: int = 0) -> Clip:
    span = parse_range(bars)
    return Clip(
        piece=EditPiece(bars=span, take=TakeId(take), source=span, crossfade_ms=Fraction(fade_ms)),
        audio=TakeAudio(take=TakeId(take), path=f"{take}", rate_hz=1_000, frames=9_000),
        first_frame=first,
        frames=frames,
        at_frame=at,
        fills=frames,
    )


def test_a_comp_is_joined_where_the_edits_say_and_no_cut_is_heard() -> None:
    takes = {"1": np.full((9_000, 1), 0.5), "2": np.full((9_000, 1), -0.25)}
    clips = [clip("1", 1, 0, 0, 1_000), clip("2", 2, 5_000, 1_000, 1_000, fade_ms=100)]

    def decode(path: Path) -> tuple[np.ndarray[Any, Any], int]:
        return takes[path.name].astype(np.float32), 1_000

    joined = join_clips(clips, decode, 1_000, tail_s=0.0)
    assert len(joined) == 2_000
    assert joined[900, 0] == pytest.approx(0.5)
    assert joined[1_100, 0] == pytest.approx(-0.25)
    assert joined[1_000, 0] == pytest.approx(0.125, abs=0.02), "half of each"
    assert float(np.max(np.abs(np.diff(joined[:1_900, 0])))) < 0.02


def hung(place: PartView, **changes: Any) -> PartView:
    """The first guitar with the files of its takes, as import hangs them there."""
    takes = tuple(
        replace(
            take,
            files=tuple(
                AudioFile(path=each.name, folder=str(SAMPLE))
                for each in SAMPLE.glob(f"low-tide-ledger_guitar_{take.number}.*")
            ),
        )
        for take in place.part.takes
    )
    return replace(place, part=replace(place.part, takes=takes, **changes))


def test_a_part_is_heard_finished_and_take_by_take() -> None:
    place = hung(GUITAR)
    bars = place.bars
    heard = sounds_of(place)
    kinds = [(each.kind, each.take) for each in heard.sounds]
    assert kinds == [(FINISHED, ""), (TAKE, "2"), (TAKE, "3"), (TAKE, "4")]
    four = heard.sounds[3]
    assert four.starts_at == pytest.approx(float(bars.seconds_at(BarPoint(7))))
    assert heard.missing == ()


def test_without_a_finished_file_the_comp_is_made_from_its_takes(tmp_path: Path) -> None:
    place = hung(GUITAR, files=())
    sound = sounds_of(place).sounds[0]
    assert sound.kind == COMP
    wish = Wish(sound, place)
    before = sizes_of([wish], tmp_path)
    assert (before.sounds, before.there) == (1, 0)
    assert make_sound(wish, tmp_path)
    assert not make_sound(wish, tmp_path), "it already exists"
    after = sizes_of([wish], tmp_path)
    assert after.there == 1
    assert 0.4 < after.bytes_about / before.bytes_about < 1.3
    # It is the very thing that the sample's finished file was joined as.
    joined = join_clips(sound.clips, decode_channels, 22_050)[:, 0]
    finished, _ = decode_channels(SAMPLE / "low-tide-ledger_guitar_finished.flac")
    count = min(len(joined), len(finished)) - 22_050
    left = joined[:count] - finished[:count, 0]
    assert float(np.mean(left**2)) < 1e-3 * float(np.mean(finished[:count, 0] ** 2))


def test_a_file_that_is_gone_is_told_and_the_rest_is_heard() -> None:
    gone = (AudioFile(path="gone.wav", folder="/nowhere"),)
    heard = sounds_of(hung(GUITAR, files=gone))
    assert heard.missing == ("Low Tide Ledger, EP, guitar: gone.wav is not where the log says",)
    assert heard.sounds[0].kind == COMP


def test_a_file_is_named_by_all_that_goes_into_it() -> None:
    whole = hung(GUITAR, files=())

    def name(place: PartView) -> str:
        return file_of(sounds_of(place).sounds[0])

    comp = whole.part.comps[0]
    pieces = tuple(replace(each, crossfade_ms="90") for each in comp.pieces)
    faded = replace(whole, part=replace(whole.part, comps=(replace(comp, pieces=pieces),)))
    renamed = replace(whole, part=replace(whole.part, notes="another day"))
    assert name(faded) != name(whole) == name(renamed)
