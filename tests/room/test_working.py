"""One key, one transaction, one answer."""

from __future__ import annotations

import wave
from pathlib import Path

import pytest

from logbook.errors import LogbookError
from logbook.room import arriving
from logbook.room.keys import ACTIONS, read_keys, usual_keys
from logbook.room.working import Room
from logbook.store.lifecycle import open_log
from logbook.store.store import Store

DAY = "2026-05-02"
START = (
    "song Saltpan Road",
    "part guitar on the cedar one, Oda",
    "q=120",
    "A 4 bars, B 4 bars, A",
    "Em 022000",
    "A: Em . Em .",
)


def wav(path: Path, seconds: float, tone: int = 1) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(8000)
        file.writeframes(bytes([tone, 0]) * round(8000 * seconds))
    return path


def started(store: Store, **more: object) -> Room:
    room = Room(store, who="Oda", today=DAY, **more)  # type: ignore[arg-type]
    for line in START:
        reply = room.write(line)
        assert reply.done, reply
    return room


def test_an_empty_log_says_how_to_begin(file_store: Store) -> None:
    view = Room(file_store, today=DAY).view()
    assert view.song == ""
    assert view.missing == ("which song: song Saltpan Road",)


def test_a_key_logs_a_take_and_a_key_takes_it_back(file_store: Store) -> None:
    room = started(file_store)
    assert room.rate("keeper").said.startswith("take 1")
    assert room.choose("2").said == "B, bars 5-8"
    room.rate("false start")
    takes = room.view().takes
    assert [(t.number, t.result, t.bars) for t in takes] == [
        (2, "false start", "5-8"), (1, "keeper", ""),
    ]  # fmt: skip
    assert room.undo().said.startswith("took back")
    assert [take.number for take in room.view().takes] == [1]
    assert room.choose("0").said == "the whole song"
    assert not room.choose("9").done


def test_a_punch_and_a_mark(file_store: Store) -> None:
    room = started(file_store)
    assert not room.punch("3").done
    room.rate("keeper")
    assert room.punch("3 late on the change").done
    assert room.mark().done
    with file_store.reading() as connection:
        from logbook.store.reading import read_log

        log = read_log(connection)
    (take,) = log.songs[0].versions[0].parts[0].takes
    assert [(each.bars, each.why) for each in take.punch_ins] == [("3", "late on the change")]
    assert "mark at " in log.sessions[0].notes


def test_parts_turn(file_store: Store) -> None:
    room = started(file_store)
    assert not room.turn_part(1).done
    room.write("part high on the small one, same chords")
    assert room.view().part == "high"
    assert room.turn_part(1).said == "part guitar"
    assert room.turn_part(-1).said == "part high"
    room.undo()
    assert room.view().parts == ("guitar",)


def test_the_chart_line_says_what_sounds_and_what_the_hands_call_it(file_store: Store) -> None:
    room = started(file_store)
    room.write("capo 3")
    room.write("frets from capo")
    room.write("Gm 022000")
    room.write("B: Gm . . .")
    room.choose("2")
    cells = room.view().chart
    assert [(cell.bar, cell.sounds, cell.shape) for cell in cells][:2] == [
        (5, "Gm", "Em"), (6, ".", ""),
    ]  # fmt: skip
    room.choose("3")
    assert room.view().section == "3"


def test_what_cannot_be_read_stays_as_a_remark(file_store: Store) -> None:
    room = started(file_store)
    reply = room.write("the odd bit after the door slammed")
    assert not reply.done
    assert room.view().remarks == 1
    assert "1 remark to settle" in room.view().missing


def test_two_rooms_see_each_other(file_store: Store) -> None:
    one = started(file_store)
    assert file_store.path is not None
    with open_log(str(file_store.path)) as other_store:
        other = Room(other_store, who="Oda", today=DAY)
        before = other.view()
        one.rate("keeper")
        assert other.view() != before
        assert other.view().takes[0].result == "keeper"
        assert other.view() is other.view()


# The recorder's folder


def test_a_file_that_stopped_growing_is_the_next_take(file_store: Store, tmp_path: Path) -> None:
    now = [0.0]
    folder = tmp_path / "recorder"
    wav(folder / "REC_0001.wav", 3, tone=9)
    room = started(file_store, folder=folder, clock=lambda: now[0])
    assert [path.name for path in room.offered] == ["REC_0001.wav"]
    assert room.look() == []
    file = folder / "REC_0002.wav"
    for seconds in (2, 8, 16.2):
        wav(file, seconds)
        assert room.look() == []
        now[0] += 1
    assert room.mark().done
    now[0] += arriving.QUIET_S
    (reply,) = room.look()
    assert reply.done, reply
    assert "take 1: REC_0002.wav, 0:16" in reply.said
    assert "bars 1-8" in reply.said
    view = room.view()
    assert (view.unrated, view.takes[0].files) == (1, ("REC_0002.wav",))
    assert room.rate("keeper").done
    assert [(t.number, t.result, t.bars) for t in room.view().takes] == [(1, "keeper", "1-8")]
    assert room.look() == []
    assert "take 2: REC_0001.wav" in room.log_offered().said
    assert not room.log_offered().done


def test_a_section_that_was_chosen_is_what_the_file_covers(
    file_store: Store, tmp_path: Path
) -> None:
    now = [0.0]
    folder = tmp_path / "recorder"
    folder.mkdir()
    room = started(file_store, folder=folder, clock=lambda: now[0])
    room.choose("2")
    for number, seconds in ((1, 30), (2, 4.1)):
        wav(folder / f"REC_{number}.wav", seconds, tone=number)
        room.look()
        now[0] += 5
        room.look()
        room.rate("complete")
    assert [take.bars for take in room.view().takes] == ["5-6", "5-8"]


def test_one_sound_is_not_logged_twice_and_no_rubbish_at_all(
    file_store: Store, tmp_path: Path
) -> None:
    now = [0.0]
    folder = tmp_path / "recorder"
    folder.mkdir()
    room = started(file_store, folder=folder, clock=lambda: now[0])
    for name in ("a.wav", "b.wav"):
        wav(folder / name, 2)
    (folder / "c.wav").write_text("no sound")
    (folder / "d.txt").write_text("words")
    room.look()
    now[0] += 5
    replies = room.look()
    assert [reply.done for reply in replies] == [True, False, False]
    assert "same sound as a.wav" in replies[1].said
    now[0] += 5
    assert room.look() == []


def test_a_file_before_any_song_waits(file_store: Store, tmp_path: Path) -> None:
    now = [0.0]
    folder = tmp_path / "recorder"
    folder.mkdir()
    room = Room(file_store, today=DAY, folder=folder, clock=lambda: now[0])
    wav(folder / "a.wav", 2)
    room.look()
    now[0] += 5
    assert not room.look()[0].done
    for line in START:
        room.write(line)
    assert room.log_offered().done


# Keys


def test_keys_are_said_in_a_file(tmp_path: Path) -> None:
    path = tmp_path / "keys.toml"
    path.write_text('keeper = ["b", "f5"]\nundo = "k"\n')
    keys = read_keys(path)
    assert keys["keeper"] == ("b", "f5")
    assert keys["undo"] == ("k",)
    assert keys["reject"] == ("r",)
    assert set(keys) == set(ACTIONS)
    path.write_text('keeper = "u"\n')
    assert read_keys(path)["undo"] == ("backspace",)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ('keper = "k"', "keeper"),
        ("keeper = 3", "has no key"),
        ('keeper = "z"\nreject = "z"', "given to keeper and to reject"),
        ("keeper = [", "not TOML"),
    ],
)
def test_a_wrong_key_file_is_refused(tmp_path: Path, text: str, says: str) -> None:
    path = tmp_path / "keys.toml"
    path.write_text(text)
    with pytest.raises(LogbookError, match=says):
        read_keys(path)
    with pytest.raises(LogbookError, match="cannot be read"):
        read_keys(tmp_path / "none.toml")


def test_no_usual_key_does_two_things() -> None:
    keys = [key for listed in usual_keys().values() for key in listed]
    assert len(keys) == len(set(keys))
