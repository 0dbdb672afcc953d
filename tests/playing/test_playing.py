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
from logbook.playing.parts import CHORD_S, chord_places, play_chords, play_part
from logbook.playing.plucked import pluck
from logbook.playing.recordings import COMP, FINISHED, LOGGED, TAKE, sounds_of
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
    sound = play_part(GUITAR, bars, RATE)
    assert np.array_equal(sound, play_part(GUITAR, bars, RATE))
    starts = sorted({note.start for note in perform(GUITAR, bars)})
    for start in starts[3:40:7]:
        at = int(float(bars.seconds_at_wholes(start)) * RATE)
        before = float(np.mean(sound[at - 240 : at - 24] ** 2))
        after = float(np.mean(sound[at : at + 1200] ** 2))
        assert after > before, start


def test_a_part_without_a_tuning_says_what_is_missing() -> None:
    (voice,) = [each for each in places(LOG) if each.title == "Low Tide Ledger, EP, voice"]
    with pytest.raises(LogbookError, match="has no tuning"):
        play_part(voice, bars_map(voice.version), RATE)


def test_each_chord_stands_alone_where_it_is_said_to() -> None:
    sound = play_chords(GUITAR, RATE)
    found = chord_places(GUITAR)
    assert [each.label for each in found] == ["A", "E/G#", "F#m7", "Dadd9", "Esus4"]
    for each in found:
        first = int(each.start_s * RATE)
        ends = int((each.start_s + CHORD_S) * RATE)
        assert float(np.max(np.abs(sound[first : first + 2400]))) > 0.02
        assert float(np.max(np.abs(sound[ends + 600 : ends + 7200]))) < 0.01


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


def test_a_part_is_heard_finished_take_by_take_and_as_logged() -> None:
    place = hung(GUITAR)
    bars = place.bars
    heard = sounds_of(place, bars)
    kinds = [(each.kind, each.take) for each in heard.sounds]
    assert kinds[:5] == [(FINISHED, ""), (TAKE, "2"), (TAKE, "3"), (TAKE, "4"), (LOGGED, "")]
    four = heard.sounds[3]
    assert four.starts_at == pytest.approx(float(bars.seconds_at(BarPoint(7))))
    assert heard.missing == ()


def test_without_a_finished_file_the_comp_is_made_from_its_takes(tmp_path: Path) -> None:
    place = hung(GUITAR, files=())
    bars = place.bars
    sound = sounds_of(place, bars).sounds[0]
    assert sound.kind == COMP
    wish = Wish(sound, place, bars)
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
    heard = sounds_of(hung(GUITAR, files=gone), bars_map(GUITAR.version))
    assert heard.missing == ("Low Tide Ledger, EP, guitar: gone.wav is not where the log says",)
    assert heard.sounds[0].kind == COMP


def test_a_file_is_named_by_all_that_goes_into_it() -> None:
    bars = bars_map(GUITAR.version)

    def name(place: PartView) -> str:
        return next(file_of(each) for each in sounds_of(place, bars).sounds if each.kind == LOGGED)

    assert name(GUITAR) == name(GUITAR)
    capo = replace(GUITAR, part=replace(GUITAR.part, capo="3"))
    renamed = replace(GUITAR, part=replace(GUITAR.part, notes="another day"))
    assert name(capo) != name(GUITAR) == name(renamed)
