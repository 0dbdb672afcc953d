"""Play it to log it: chords held once each, and a take's chords, proposed and accepted."""

from __future__ import annotations

import random
import shutil
from pathlib import Path

import pytest

from logbook.errors import LogbookError
from logbook.listening.decoding import decode
from logbook.listening.held import held_spans
from logbook.records import Part
from logbook.room.working import Room
from logbook.store.reading import read_log
from logbook.store.store import Store
from tests.listening.material import HAVE_FLUIDSYNTH, SHAPES, Note, render
from tests.room.test_working import DAY

needs_fluidsynth = pytest.mark.skipif(not HAVE_FLUIDSYNTH, reason="FluidSynth is not installed")
SHOWN = ("G", "C", "Em")


@pytest.fixture(scope="module")
def shown(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Three open chords, each strummed once and held for two seconds."""
    rng = random.Random(4)
    notes = [
        Note(start=0.4 + 2.2 * n + 0.012 * string, length=2.0, pitch=pitch,
             velocity=90 + rng.randint(-6, 6))
        for n, name in enumerate(SHOWN)
        for string, pitch in enumerate(SHAPES[name])
    ]  # fmt: skip
    path = tmp_path_factory.mktemp("shown") / "chords.wav"
    render(notes, path)
    return path


def part_of(store: Store) -> Part:
    with store.reading() as connection:
        return read_log(connection).songs[0].versions[0].parts[0]


@needs_fluidsynth
def test_each_held_chord_is_a_span(shown: Path) -> None:
    spans = held_spans(decode(shown))
    assert [round(start, 1) for start, _ in spans] == [0.4, 2.6, 4.8]


@needs_fluidsynth
def test_chords_that_are_shown_are_logged_with_one_key(
    file_store: Store, shown: Path, tmp_path: Path
) -> None:
    folder = tmp_path / "recorder"
    folder.mkdir()
    shutil.copy(shown, folder / "REC_0001.wav")
    room = Room(file_store, who="Oda", today=DAY, folder=folder)
    room.write("song Saltpan Road")
    room.write("part guitar on the cedar one, Oda")
    heard = room.hear_chords_held()
    assert heard.done, heard
    assert heard.said == "heard in REC_0001.wav: G C Em"
    assert part_of(file_store).voicings == ()
    assert room.accept().done
    logged = {each.label: each.frets for each in part_of(file_store).voicings}
    assert set(logged) == set(SHOWN)
    assert (logged["G"], logged["C"]) == ("3 2 0 0 0 3", "x 3 2 0 1 0")
    room.undo()
    assert part_of(file_store).voicings == ()
    assert not room.accept().done


@needs_fluidsynth
def test_a_part_that_changed_meanwhile_is_not_written_over(
    file_store: Store, shown: Path, tmp_path: Path
) -> None:
    folder = tmp_path / "recorder"
    folder.mkdir()
    shutil.copy(shown, folder / "REC_0001.wav")
    room = Room(file_store, who="Oda", today=DAY, folder=folder)
    room.write("song Saltpan Road")
    room.write("part guitar on the cedar one, Oda")
    room.hear_chords_held()
    room.write("D xx0232")
    reply = room.accept()
    assert not reply.done
    assert "somebody changed" in reply.said


def test_without_a_recording_nothing_is_heard(file_store: Store) -> None:
    room = Room(file_store, who="Oda", today=DAY)
    assert not room.hear_take().done
    room.write("song Saltpan Road")
    room.write("k 1-4")
    for reply in (room.hear_take(), room.hear_chords_held()):
        assert not reply.done
        assert "recording" in reply.said or "file" in reply.said


def test_a_file_that_is_gone_is_said(file_store: Store, tmp_path: Path) -> None:
    room = Room(file_store, who="Oda", today=DAY)
    room.write("song Saltpan Road")
    room.write("t1 keeper; file gone.wav")
    with pytest.raises(LogbookError):
        decode(tmp_path / "gone.wav")
    assert not room.hear_take().done
