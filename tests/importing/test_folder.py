"""Files hung on the takes they are, known again by their sound, and never half written."""

from __future__ import annotations

import os
import random
import shutil
import signal
import sqlite3
import time
from dataclasses import replace
from pathlib import Path
from subprocess import PIPE

import pytest
from sqlalchemy import event

from logbook import records as r
from logbook.audio.patterns import PatternError
from logbook.errors import LogbookError
from logbook.importing.filing import FileOutcome
from logbook.importing.folder import Imported, import_folder
from logbook.importing.matching import ImportOptions
from logbook.importing.relinking import report_files
from logbook.records import AudioFile, Log
from logbook.store.finding import LogPlace, find
from logbook.store.lifecycle import open_log
from logbook.store.reading import read_log
from logbook.store.store import Store
from logbook.store.undoing import undo
from logbook.store.writing import put, put_log
from tests.planted import planted
from tests.sounds import RATE_HZ, wav
from tests.warm import shared

GUITAR = LogPlace("Salt Road", "album", "guitar")


def part(name: str, *takes: r.Take) -> r.Part:
    return r.Part(name=name, takes=takes)


def fill(store: Store) -> None:
    """Two sessions; two songs that both have a guitar; bar 1 stands at ten in the morning."""
    planted(store, "two sessions", lambda: _put(store))


def _put(store: Store) -> None:
    salt = r.Version(
        name="album",
        sample_rate_hz=RATE_HZ,
        bar_one_at="10:00:00",
        meters=(r.MeterChange(bar=1, meter="4/4"),),
        tempos=(r.TempoChange(bar=1, bpm=120.0),),
        form=(r.FormSection(name="verse", start=1, bars=8),),
        parts=(
            part(
                "guitar",
                r.Take(number=1, session="day one", result="keeper", bars="1-8"),
                r.Take(number=2, session="day one"),
                r.Take(number=2, session="day two"),
            ),
            part("high guitar", r.Take(number=1, session="day one")),
            part("bass"),
        ),
    )
    other = r.Version(name="album", parts=(part("guitar"), part("fiddle")))
    log = Log(
        sessions=(
            r.Session(name="day one", date="2026-05-02"),
            r.Session(name="day two", date="2026-05-03"),
        ),
        songs=(
            r.Song(title="Salt Road", versions=(salt,)),
            r.Song(title="Low Water", versions=(other,)),
        ),
    )
    with store.change("load") as change:
        put_log(change, log)


@pytest.fixture
def filled(store: Store) -> Store:
    fill(store)
    return store


def ids(store: Store, song: str = "", session: str = "") -> ImportOptions:
    with store.reading() as connection:
        return ImportOptions(
            song_id=find(connection, "song", song).id if song else None,
            session_id=find(connection, "session", session).id if session else None,
        )


def bring(store: Store, folder: Path, asked: ImportOptions | None = None, **more: bool) -> Imported:
    return import_folder(
        store, folder, asked or ImportOptions(), command=f"import {folder}", **more
    )


def log_of(store: Store) -> Log:
    with store.reading() as connection:
        return read_log(connection)


def hung(store: Store) -> dict[str, str]:
    """Where each file attach-alls, as "Salt Road/guitar/2 day one"; files of nothing are "-"."""
    log = log_of(store)
    found = {file.path: "-" for file in log.files}
    for song in log.songs:
        for version in song.versions:
            for each in version.parts:
                where = f"{song.title}/{each.name}"
                found.update({file.path: where for file in each.files})
                for take in each.takes:
                    name = f"{where}/{take.number} {take.session}".strip()
                    found.update({file.path: name for file in take.files})
    return found


def files_of(store: Store) -> dict[str, AudioFile]:
    log = log_of(store)
    found = list(log.files)
    for song in log.songs:
        for version in song.versions:
            for each in version.parts:
                found += each.files
                for take in each.takes:
                    found += take.files
    return {file.path: file for file in found}


def outcome(done: Imported, name: str) -> FileOutcome:
    (found,) = [each for each in done.outcomes if each.file == name]
    return found


# Which take it is


def test_a_name_with_song_part_and_take_is_told(filled: Store, tmp_path: Path) -> None:
    wav(tmp_path / "salt-road_guitar_1.wav")
    wav(tmp_path / "salt-road_high-guitar_01.wav")
    wav(tmp_path / "Low Water" / "fiddle_3.wav")
    done = bring(filled, tmp_path, ids(filled, session="day one"))
    assert hung(filled) == {
        "salt-road_guitar_1.wav": "Salt Road/guitar/1 day one",
        "salt-road_high-guitar_01.wav": "Salt Road/high guitar/1 day one",
        "Low Water/fiddle_3.wav": "Low Water/fiddle/3 day one",
    }
    assert [each.new_take for each in done.outcomes] == [True, False, False]
    (fiddle,) = [p for p in log_of(filled).songs[1].versions[0].parts if p.name == "fiddle"]
    assert [(take.number, take.result) for take in fiddle.takes] == [(3, "")]


def test_a_part_of_two_songs_is_not_guessed(filled: Store, tmp_path: Path) -> None:
    wav(tmp_path / "guitar_1.wav")
    done = bring(filled, tmp_path)
    assert hung(filled) == {"guitar_1.wav": "-"}
    assert "--song" in done.unassigned[0].why
    assert "Low Water and Salt Road" in done.unassigned[0].why.replace(
        "Salt Road and Low Water", "Low Water and Salt Road"
    )
    again = bring(filled, tmp_path, ids(filled, song="Salt Road"))
    assert hung(filled) == {"guitar_1.wav": "Salt Road/guitar/1 day one"}
    assert [each.what for each in again.outcomes] == ["assigned"]


def test_a_take_logged_in_two_sessions_needs_the_session(filled: Store, tmp_path: Path) -> None:
    wav(tmp_path / "salt road_guitar_2.wav")
    done = bring(filled, tmp_path)
    assert "--session" in done.unassigned[0].why
    bring(filled, tmp_path, ids(filled, session="day two"))
    assert hung(filled) == {"salt road_guitar_2.wav": "Salt Road/guitar/2 day two"}


def test_the_date_of_the_broadcast_chunk_tells_the_session(filled: Store, tmp_path: Path) -> None:
    wav(tmp_path / "salt road_guitar_2.wav", date="2026-05-03")
    bring(filled, tmp_path)
    assert hung(filled) == {"salt road_guitar_2.wav": "Salt Road/guitar/2 day two"}


def test_a_date_that_contradicts_the_log_decides_nothing(filled: Store, tmp_path: Path) -> None:
    wav(tmp_path / "salt road_guitar_1.wav", date="2026-05-03")
    done = bring(filled, tmp_path)
    assert "logged in day one" in done.unassigned[0].why


def test_a_broadcast_description_tells_what_the_name_does_not(
    filled: Store, tmp_path: Path
) -> None:
    wav(tmp_path / "0007.wav", description="Salt Road, high guitar, take 1")
    wav(tmp_path / "0008.wav", description="a rough one", ixml_take="2")
    done = bring(filled, tmp_path)
    assert hung(filled) == {"0007.wav": "Salt Road/high guitar/1 day one", "0008.wav": "-"}
    assert outcome(done, "0007.wav").by == ("broadcast chunk",)


def test_the_ixml_take_completes_a_name(filled: Store, tmp_path: Path) -> None:
    wav(tmp_path / "high guitar.wav", description="high guitar", ixml_take="1", ixml_note="good")
    bring(filled, tmp_path)
    assert hung(filled) == {"high guitar.wav": "Salt Road/high guitar/1 day one"}
    file = files_of(filled)["high guitar.wav"]
    assert (file.ixml_take, file.ixml_note, file.ixml_circled) == ("1", "good", True)


def test_contradicting_evidence_leaves_a_file_alone(filled: Store, tmp_path: Path) -> None:
    wav(tmp_path / "salt road_guitar_1.wav", ixml_take="5")
    done = bring(filled, tmp_path)
    assert hung(filled) == {"salt road_guitar_1.wav": "-"}
    assert "the file name says 1, the iXML chunk says 5" in done.unassigned[0].why


def test_a_pattern_of_the_command_or_the_session(filled: Store, tmp_path: Path) -> None:
    wav(tmp_path / "p1=bass=take.wav")
    asked = ids(filled, song="Salt Road", session="day one")
    pattern = ImportOptions(
        song_id=asked.song_id, session_id=asked.session_id, pattern="p{take}={part}={text}"
    )
    bring(filled, tmp_path, pattern)
    assert hung(filled) == {"p1=bass=take.wav": "Salt Road/bass/1 day one"}
    with pytest.raises(PatternError):
        bring(filled, tmp_path, ImportOptions(pattern="{who}"))
    with filled.change("session edit") as change:
        session = r.Session(name="day one", date="2026-05-02", file_pattern="{take}~{part}")
        put(change, session, given={"file_pattern"})
    wav(tmp_path / "4~bass.wav")
    bring(filled, tmp_path, asked)
    assert hung(filled)["4~bass.wav"] == "Salt Road/bass/4 day one"


def test_several_microphones_make_one_take(filled: Store, tmp_path: Path) -> None:
    for mic in ("left", "right", "room"):
        wav(tmp_path / f"bass_{mic}_1.wav")
    bring(filled, tmp_path, ids(filled, session="day one"))
    (take,) = log_of(filled).songs[0].versions[0].parts[2].takes
    assert [file.microphone for file in take.files] == ["left", "right", "room"]


def test_what_is_known_later_is_hung_later(filled: Store, tmp_path: Path) -> None:
    wav(tmp_path / "cello_1.wav")
    assert bring(filled, tmp_path).unassigned
    assert bring(filled, tmp_path).outcomes == []
    with filled.change("part add") as change:
        put(change, r.Part(name="cello"), LogPlace("Salt Road", "album"))
    done = bring(filled, tmp_path, ids(filled, session="day one"))
    assert [each.what for each in done.outcomes] == ["assigned"]
    assert hung(filled) == {"cello_1.wav": "Salt Road/cello/1 day one"}


def test_the_microphone_is_learnt_when_a_file_is_hung_later(filled: Store, tmp_path: Path) -> None:
    names = [f"bass_x_2_{mic}.wav" for mic in ("kick in", "kick out", "room")]
    for name in names:
        wav(tmp_path / name)
    assert len(bring(filled, tmp_path, ids(filled, session="day one")).unassigned) == 3
    asked = replace(ids(filled, session="day one"), pattern="{part}_x_{take}_{mic}")
    bring(filled, tmp_path, asked)
    found = files_of(filled)
    assert [found[name].microphone for name in names] == ["kick in", "kick out", "room"]


def test_the_original_is_the_one_nearer_the_session(filled: Store, tmp_path: Path) -> None:
    """Not the one whose folder comes first in the alphabet, nor a second microphone."""
    first = wav(tmp_path / "Takes" / "salt road_guitar_1.wav")
    for name in ("A backup/salt road_guitar_1.wav", "Takes/more/deep/salt road_guitar_1_copy.wav"):
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(first, tmp_path / name)
    bring(filled, tmp_path)
    assert hung(filled) == {
        "Takes/salt road_guitar_1.wav": "Salt Road/guitar/1 day one",
        "A backup/salt road_guitar_1.wav": "-",
        "Takes/more/deep/salt road_guitar_1_copy.wav": "-",
    }


def test_a_flac_of_a_logged_wav_is_the_same_recording(filled: Store, tmp_path: Path) -> None:
    soundfile = pytest.importorskip("soundfile")
    noise = random.Random(5)
    for depth, take in (("PCM_16", 1), ("PCM_24", 2)):
        name = tmp_path / f"salt road_high guitar_{take}"
        sound = [noise.randint(-900, 900) / 32768 for _ in range(4000)]
        soundfile.write(f"{name}.wav", sound, RATE_HZ, subtype=depth)
    asked = ids(filled, session="day one")
    bring(filled, tmp_path, asked)
    folder = tmp_path / "for the mixer"
    folder.mkdir()
    for take, name in ((1, "salt road_guitar_1"), (2, "salt road_high guitar_2")):
        sound = soundfile.read(tmp_path / f"salt road_high guitar_{take}.wav", dtype="int32")[0]
        depth = f"PCM_{16 if take == 1 else 24}"
        soundfile.write(folder / f"{name}.flac", sound, RATE_HZ, subtype=depth)
    done = bring(filled, tmp_path, asked)
    assert [each.what for each in done.outcomes] == ["copy", "copy"]
    assert all("the same recording as" in each.remarks[0] for each in done.outcomes)
    assert [name for name, where in hung(filled).items() if where == "-"] == [
        "for the mixer/salt road_guitar_1.flac",
        "for the mixer/salt road_high guitar_2.flac",
    ]


def test_between_two_folders_alike_the_session_s_own_has_the_original(
    filled: Store, tmp_path: Path
) -> None:
    first = wav(tmp_path / "drive" / "salt road_guitar_1.wav")
    for folder in ("day one", "another", "zz"):
        (tmp_path / folder).mkdir()
        shutil.copy2(first, tmp_path / folder / first.name)
    bring(filled, tmp_path)
    assert [name for name, where in hung(filled).items() if where != "-"] == [
        "day one/salt road_guitar_1.wav"
    ]


def test_between_two_folders_of_nobody_the_older_has_the_original(
    filled: Store, tmp_path: Path
) -> None:
    first = wav(tmp_path / "takes" / "salt road_guitar_1.wav")
    (tmp_path / "another").mkdir()
    second = Path(shutil.copy(first, tmp_path / "another" / first.name))
    os.utime(first, (1_700_000_000, 1_700_000_000))
    os.utime(second, (1_700_009_000, 1_700_009_000))
    bring(filled, tmp_path)
    assert [name for name, where in hung(filled).items() if where != "-"] == [
        "takes/salt road_guitar_1.wav"
    ]


def test_a_date_is_no_microphone(filled: Store, tmp_path: Path) -> None:
    wav(tmp_path / "bass_2026-05-02_1.wav")
    bring(filled, tmp_path, ids(filled, session="day one"))
    assert [file.microphone for file in files_of(filled).values()] == [""]


# Where it starts


def at_bar(bar: int, late_s: float = 0.0) -> int:
    """The time reference of a file that starts `late_s` after a bar of 4/4 at 120: 2 s each."""
    return round((36_000 + 2 * (bar - 1) + late_s) * RATE_HZ)


def test_a_new_take_gets_the_bars_its_clock_says(filled: Store, tmp_path: Path) -> None:
    wav(tmp_path / "bass_1.wav", seconds=4.2, time_reference=at_bar(3))
    done = bring(filled, tmp_path, ids(filled, session="day one"))
    (take,) = log_of(filled).songs[0].versions[0].parts[2].takes
    assert take.bars == "3-4"
    assert done.outcomes[0].bars == "starts at bar 3"


def test_a_take_that_starts_between_bars_is_said(filled: Store, tmp_path: Path) -> None:
    wav(tmp_path / "bass_1.wav", time_reference=at_bar(3, 0.5))
    done = bring(filled, tmp_path, ids(filled, session="day one"))
    assert done.outcomes[0].remarks == ("the take starts 0.500 s (1.00 beats) after bar 3",)
    (take,) = log_of(filled).songs[0].versions[0].parts[2].takes
    assert take.bars == ""


def test_a_clock_that_contradicts_the_take_is_said(filled: Store, tmp_path: Path) -> None:
    wav(tmp_path / "salt road_guitar_1.wav", time_reference=at_bar(5))
    done = bring(filled, tmp_path)
    assert done.outcomes[0].remarks == ("by its clock it starts at bar 5, and its take at bar 1",)


def test_another_rate_than_the_version_s_is_said(filled: Store, tmp_path: Path) -> None:
    wav(tmp_path / "salt road_guitar_1.wav", rate_hz=11025)
    done = bring(filled, tmp_path)
    assert done.outcomes[0].remarks == ("the file is at 11025 Hz and the version at 8000 Hz",)


# Which file it is


def test_run_twice_only_what_is_new_is_done(filled: Store, tmp_path: Path) -> None:
    wav(tmp_path / "salt road_guitar_1.wav")
    bring(filled, tmp_path)
    before = log_of(filled)
    again = bring(filled, tmp_path)
    assert (again.outcomes, again.unchanged) == ([], 1)
    assert log_of(filled) == before
    wav(tmp_path / "salt road_high guitar_1.wav")
    third = bring(filled, tmp_path)
    assert [each.file for each in third.outcomes] == ["salt road_high guitar_1.wav"]


def test_a_dry_run_says_the_same_and_writes_nothing(filled: Store, tmp_path: Path) -> None:
    wav(tmp_path / "bass_1.wav")
    wav(tmp_path / "salt road_guitar_1.wav")
    before = log_of(filled)
    asked = ids(filled, session="day one")
    tried = bring(filled, tmp_path, asked, dry_run=True)
    assert log_of(filled) == before
    assert tried.outcomes == bring(filled, tmp_path, asked).outcomes


def test_moved_renamed_and_retagged_is_the_same_file(filled: Store, tmp_path: Path) -> None:
    file = wav(tmp_path / "salt road_guitar_1.wav", seed=1)
    bring(filled, tmp_path)
    (tmp_path / "sub").mkdir()
    file.rename(tmp_path / "sub" / "x.wav")
    done = bring(filled, tmp_path)
    assert [each.what for each in done.outcomes] == ["moved"]
    assert hung(filled) == {"sub/x.wav": "Salt Road/guitar/1 day one"}
    wav(tmp_path / "sub" / "x.wav", seed=1, description="now with a chunk")
    done = bring(filled, tmp_path)
    assert [each.what for each in done.outcomes] == ["retagged"]
    assert files_of(filled)["sub/x.wav"].description == "now with a chunk"
    assert hung(filled) == {"sub/x.wav": "Salt Road/guitar/1 day one"}


def test_other_sound_at_the_same_place_is_a_changed_file(filled: Store, tmp_path: Path) -> None:
    wav(tmp_path / "salt road_guitar_1.wav", seed=1)
    bring(filled, tmp_path)
    with filled.change("listen") as change:
        kept = files_of(filled)["salt road_guitar_1.wav"]
        values = {**vars(kept), "measurement": r.Measurement(tempo_bpm=120.0)}
        put(change, AudioFile(**values), GUITAR._replace(take=1))
    wav(tmp_path / "salt road_guitar_1.wav", seed=2)
    done = bring(filled, tmp_path)
    assert [each.what for each in done.outcomes] == ["changed"]
    now = files_of(filled)["salt road_guitar_1.wav"]
    assert now.digest != kept.digest
    assert now.measurement is None
    assert hung(filled) == {"salt road_guitar_1.wav": "Salt Road/guitar/1 day one"}
    assert bring(filled, tmp_path).outcomes == []


def test_two_files_that_changed_names_keep_their_takes(filled: Store, tmp_path: Path) -> None:
    one = wav(tmp_path / "salt road_guitar_1.wav", seed=1)
    two = wav(tmp_path / "salt road_high guitar_1.wav", seed=2, seconds=0.1)
    bring(filled, tmp_path)
    one.rename(tmp_path / "aside")
    two.rename(one)
    (tmp_path / "aside").rename(two)
    done = bring(filled, tmp_path)
    assert [each.what for each in done.outcomes] == ["moved", "moved"]
    assert hung(filled) == {
        "salt road_guitar_1.wav": "Salt Road/high guitar/1 day one",
        "salt road_high guitar_1.wav": "Salt Road/guitar/1 day one",
    }
    assert bring(filled, tmp_path).outcomes == []


def test_a_file_moved_aside_for_a_new_one_keeps_its_take(filled: Store, tmp_path: Path) -> None:
    first = wav(tmp_path / "salt road_guitar_1.wav", seed=1)
    bring(filled, tmp_path)
    first.rename(tmp_path / "salt road_guitar_1 old.wav")
    wav(tmp_path / "salt road_guitar_1.wav", seed=2, seconds=0.1)
    bring(filled, tmp_path)
    assert hung(filled) == {
        "salt road_guitar_1 old.wav": "Salt Road/guitar/1 day one",
        "salt road_guitar_1.wav": "Salt Road/guitar/1 day one",
    }


def test_a_file_moved_over_another_one(filled: Store, tmp_path: Path) -> None:
    one = wav(tmp_path / "salt road_guitar_1.wav", seed=1)
    two = wav(tmp_path / "salt road_high guitar_1.wav", seed=2, seconds=0.1)
    bring(filled, tmp_path)
    two.rename(one)
    bring(filled, tmp_path)
    report = report_files(filled)
    assert [each.hangs_on for each in report.missing] == ["Salt Road, album, guitar, take 1"]
    assert hung(filled)["salt road_guitar_1.wav"] == "Salt Road/high guitar/1 day one"
    assert bring(filled, tmp_path).outcomes == []


def test_a_copy_is_said_to_be_one(filled: Store, tmp_path: Path) -> None:
    file = wav(tmp_path / "salt road_guitar_1.wav")
    bring(filled, tmp_path)
    shutil.copy(file, tmp_path / "copy of it.wav")
    (tmp_path / "again").mkdir()
    shutil.copy(file, tmp_path / "again" / "salt road_guitar_1.wav")
    done = bring(filled, tmp_path)
    assert [each.what for each in done.outcomes] == ["copy", "copy"]
    assert all("the same sound as salt road_guitar_1.wav" in e.remarks for e in done.outcomes)
    assert sorted(hung(filled).values()) == ["-", "-", "Salt Road/guitar/1 day one"]
    assert bring(filled, tmp_path).outcomes == []


def test_a_file_that_the_log_mentions_is_filled_in(filled: Store, tmp_path: Path) -> None:
    here, gone = tmp_path.resolve().as_posix(), "/nowhere/at/all"
    with filled.change("load") as change:
        put(change, AudioFile(path="finished.wav", folder=here), GUITAR)
        put(change, AudioFile(path="mixes/rough.wav", folder=gone), LogPlace("Salt Road", "album"))
    wav(tmp_path / "finished.wav")
    wav(tmp_path / "mixes" / "rough.wav")
    done = bring(filled, tmp_path)
    assert [each.what for each in done.outcomes] == ["mentioned", "mentioned"]
    version = log_of(filled).songs[0].versions[0]
    assert [(f.path, f.rate_hz) for f in version.parts[0].files] == [("finished.wav", RATE_HZ)]
    assert [(f.folder, f.rate_hz) for f in version.files] == [(here, RATE_HZ)]


def test_bad_files_get_a_line_and_the_others_go_on(filled: Store, tmp_path: Path) -> None:
    folder = tmp_path / "in"
    whole = wav(folder / "salt road_guitar_1.wav").read_bytes()
    (folder / "cut.wav").write_bytes(whole[:-60])
    (folder / "empty.flac").touch()
    (folder / "noise.mp3").write_bytes(bytes(range(256)) * 9)
    (folder / "notes.txt").write_text("not audio")
    os.symlink("/etc/hostname", folder / "link.wav")
    done = bring(filled, folder)
    assert [each.file for each in done.refused] == [
        "cut.wav",
        "empty.flac",
        "link.wav",
        "noise.mp3",
    ]
    assert all(each.why for each in done.refused)
    assert done.passed_over == 1
    assert hung(filled) == {"salt road_guitar_1.wav": "Salt Road/guitar/1 day one"}


@pytest.mark.parametrize(
    "name",
    ['o\'brien "x" \N{GUITAR}.wav', "a\nb.wav", "\u202egnos.wav", "\x1b[31mred.wav", "=1+1.wav"],
    ids=range(5),
)
def test_hostile_names_are_kept_as_they_are(filled: Store, tmp_path: Path, name: str) -> None:
    wav(tmp_path / name, description=f"{name} \x07", ixml_note="&#7;" if name == "a\nb.wav" else "")
    bring(filled, tmp_path)
    assert hung(filled) == {name: "-"}
    assert bring(filled, tmp_path).outcomes == []


# Somebody else, and the end of the world


def test_an_undo_takes_an_import_back(filled: Store, tmp_path: Path) -> None:
    before = log_of(filled)
    wav(tmp_path / "bass_1.wav")
    wav(tmp_path / "salt road_guitar_1.wav")
    bring(filled, tmp_path, ids(filled, session="day one"))
    assert log_of(filled) != before
    undo(filled)
    assert log_of(filled) == before


def test_what_others_write_meanwhile_is_seen(
    filled: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("logbook.importing.folder._BATCH_FILES", 1)
    wav(tmp_path / "1_cello.wav")
    wav(tmp_path / "2_cello.wav")
    told = []

    def other_user(_: object) -> None:
        if not told:
            told.append(True)
            with filled.change("part add", who="other") as change:
                put(change, r.Part(name="cello"), LogPlace("Salt Road", "album"))

    import_folder(
        filled, tmp_path, ids(filled, session="day two"), command="import", on_progress=other_user
    )
    assert hung(filled)["2_cello.wav"] == "Salt Road/cello/2 day two"


def test_two_imports_of_one_folder_at_once(filled: Store, tmp_path: Path) -> None:
    for number in range(1, 30):
        wav(tmp_path / f"bass_{number}.wav", seconds=0.01)
    url = filled.target.url if filled.path is None else str(filled.path)
    command = ("--db", url, "import", str(tmp_path), "--session", "day one")
    runs = [shared().command(*command, stdout=PIPE, stderr=PIPE) for _ in range(2)]
    assert [run.communicate(timeout=60)[1] for run in runs] == [b"", b""]
    assert [run.returncode for run in runs] == [0, 0]
    takes = log_of(filled).songs[0].versions[0].parts[2].takes
    assert sorted(take.number for take in takes) == list(range(1, 30))
    assert all(len(take.files) == 1 for take in takes)


def test_killed_at_any_moment_every_file_is_in_the_log_whole_or_not(
    file_store: Store, tmp_path: Path
) -> None:
    fill(file_store)
    file_store.close()
    assert file_store.path is not None
    folder = tmp_path / "takes"
    for number in range(1, 91):
        wav(folder / f"bass_{number}.wav", seconds=0.01, description="Salt Road", time_reference=0)
    chance = random.Random(4)
    log = tmp_path / "victim.db"
    finished = False
    for _ in range(2):
        shutil.copy(file_store.path, log)
        for stop in range(3):
            run = shared().call(
                "tests.importing.workers:import_in_small_batches",
                "--db", str(log), "import", str(folder), "--session", "day one",
                stdout=PIPE, stderr=PIPE,
            )  # fmt: skip
            assert run.stdout is not None
            run.stdout.readline()
            if stop < 2:
                time.sleep(chance.uniform(0.05, 0.5))
                run.send_signal(signal.SIGKILL)
            _, errors = run.communicate(timeout=60)
            assert errors == b""
            with open_log(str(log), create=False) as store:
                _holds_whole_files(store)
                finished = len(files_of(store)) == 90
        assert finished
        for path in tmp_path.glob("victim.db*"):
            path.unlink()


def _holds_whole_files(store: Store) -> None:
    with store.reading() as connection:
        assert connection.exec_driver_sql("PRAGMA integrity_check").scalar() == "ok"
        assert connection.exec_driver_sql("PRAGMA foreign_key_check").fetchall() == []
    for take in log_of(store).songs[0].versions[0].parts[2].takes:
        (file,) = take.files
        assert file.path == f"bass_{take.number}.wav"
        assert file.digest


def test_a_disk_that_fills_up_half_way_keeps_what_was_done(
    file_store: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The log's pages are counted, so that it is full as on a full disk (SQLITE_FULL)."""
    fill(file_store)
    monkeypatch.setattr("logbook.importing.folder._BATCH_FILES", 10)
    folder = tmp_path / "in"
    for number in range(200):
        wav(folder / f"{number:03d}.wav", seconds=0.002, description="x" * 200)

    with file_store.reading() as connection:
        used = int(connection.exec_driver_sql("PRAGMA page_count").scalar() or 0)

    def few_pages(connection: sqlite3.Connection, _record: object) -> None:
        connection.execute(f"PRAGMA max_page_count = {used + 30}")

    event.listen(file_store.engine, "connect", few_pages)
    with pytest.raises(LogbookError, match="the import stopped: the disk is full"):
        bring(file_store, folder)
    event.remove(file_store.engine, "connect", few_pages)
    kept = len(files_of(file_store))
    assert 0 < kept < 200
    assert kept % 10 == 0
    assert len(bring(file_store, folder).outcomes) == 200 - kept


def test_a_file_of_another_day_than_the_session_asked_for_is_said(
    filled: Store, tmp_path: Path
) -> None:
    wav(tmp_path / "bass_1.wav", date="2026-05-02")
    wav(tmp_path / "bass_2.wav", date="2026-05-03")
    done = bring(filled, tmp_path, ids(filled, session="day one"))
    assert [each.remarks for each in done.outcomes] == [
        (),
        ("dated 2026-05-03, and day one was on 2026-05-02",),
    ]


def test_a_search_for_what_is_missing_tells_how_far_it_is(filled: Store, tmp_path: Path) -> None:
    for number in (1, 2):
        wav(tmp_path / "takes" / f"bass_{number}.wav")
    bring(filled, tmp_path / "takes", ids(filled, session="day one"))
    (tmp_path / "takes").rename(tmp_path / "elsewhere")
    told: list[tuple[int, int]] = []
    report = report_files(
        filled,
        relink=tmp_path / "elsewhere",
        on_progress=lambda done: told.append((done.files_done, done.files_total)),
    )
    assert len(report.relinked) == 2
    assert told == [(0, 2), (1, 2)]
