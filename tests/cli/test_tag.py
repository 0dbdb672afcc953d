"""`logbook tag`: what the log knows, read back out of the files by others."""

from __future__ import annotations

import hashlib
import json
import random
import shutil
import signal
import subprocess
import time
from pathlib import Path

import mutagen
import pytest

from logbook import records as r
from logbook.audio.reading import read_audio
from logbook.cli.main import run
from logbook.importing.tagging_plan import files_to_tag
from logbook.records import (
    AudioFile,
    Log,
    Part,
    Person,
    Project,
    Role,
    Song,
    Take,
    Track,
    Version,
)
from logbook.store.finding import LogPlace, find
from logbook.store.lifecycle import open_log
from logbook.store.reading import read_log
from logbook.store.store import Store
from logbook.store.writing import put
from tests.warm import shared

SAMPLE = Path(__file__).parents[2] / "sample_session"
Capture = pytest.CaptureFixture[str]
SONG = LogPlace("Low Tide Ledger")


@pytest.fixture
def folder(sample: str, tmp_path: Path, capsys: Capture) -> Path:
    """A copy of the sample's folder, imported; Low Tide Ledger has an ISRC and a date."""
    made = tmp_path / "boathouse"
    shutil.copytree(SAMPLE, made)
    assert run(["import", str(made)]) == 0
    with open_log(sample) as store, store.change("edit") as change:
        version = r.Version(name="EP", isrc="AA6Q72000047", date="2026-08-01")
        put(change, version, SONG, given={"isrc", "date"})
    capsys.readouterr()
    return made


def sums(folder: Path) -> dict[str, str]:
    return {
        path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in folder.rglob("*")
        if path.is_file()
    }


def test_a_dry_run_shows_what_would_change_and_changes_nothing(
    folder: Path, tmp_path: Path, capsys: Capture, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    before = sums(tmp_path / "boathouse")
    assert run(["tag", "low", "--dry-run"]) == 0
    out = capsys.readouterr().out
    assert "performer: nothing -> Ina Ock (guitar)" in out
    assert "isrc: nothing -> AA6Q72000047" in out
    assert max(map(len, out.splitlines())) <= 80
    assert sums(folder) == before
    assert not (tmp_path / "tagged").exists()


def test_copies_have_it_all_and_the_files_stay(
    folder: Path, tmp_path: Path, capsys: Capture
) -> None:
    before = sums(folder)
    out = tmp_path / "to send"
    assert run(["tag", "low", "--out", str(out)]) == 0
    assert "not a contract" in capsys.readouterr().out
    assert sums(folder) == before
    assert len(sums(out)) == 5
    name = "low-tide-ledger_guitar_2.flac"
    tags = mutagen.File(out / name).tags
    assert tags["title"] == ["Low Tide Ledger (guitar, take 2)"]
    assert tags["writer"] == ["Ina Ock", "Tam"]
    assert tags["performer"] == ["Ina Ock (guitar)"]
    assert tags["isrc"] == ["AA6Q72000047"]
    assert tags["bpm"] == ["112"]
    assert tags["initialkey"] == ["A"]
    assert tags["date"] == ["2026-05-02"]
    assert tags["producer"] == ["Bertil"]
    assert tags["engineer"] == ["Bertil"]
    assert "mixer" not in tags
    assert tags["artist"] == ["Ina"]  # not the log's to say, so it stays
    assert read_audio(out / name).digest == read_audio(folder / name).digest
    assert mutagen.File(out / "low-tide-ledger_bass_1.ogg").tags["performer"] == ["Tam (bass)"]
    # The log's own files are as they were, and copies can be made anew.
    assert run(["files"]) == 0
    assert run(["tag", "low", "--out", str(out)]) == 0


@pytest.mark.skipif(shutil.which("ffprobe") is None, reason="ffprobe is missing")
def test_ffprobe_reads_them_too(folder: Path, tmp_path: Path) -> None:
    """ffprobe (FFmpeg), an independent reader of the same tags."""
    out = tmp_path / "to send"
    for song in ("low", "rowan", "lantern"):
        assert run(["tag", song, "--out", str(out)]) == 0
    flac = probed(out / "low-tide-ledger_guitar_2.flac")
    assert flac["ISRC"] == "AA6Q72000047"
    assert flac["PERFORMER"] == "Ina Ock (guitar)"
    mp3 = probed(out / "rowan-gate_mandolin_1.mp3")
    assert mp3["TBPM"] == "92"
    assert mp3["TKEY"] == "E"
    assert mp3["composer"] == "Bertil; Ina Ock; Tam"
    wav = probed(out / "lantern-on-the-slip_guitar_1.wav")
    assert wav["title"] == "Lantern on the Slip (guitar, take 1)"
    assert wav["time_reference"] == "1150995999"
    assert folder.is_dir()


def probed(path: Path) -> dict[str, str]:
    command = ["ffprobe", "-v", "error", "-of", "json", "-show_entries", "format_tags", str(path)]
    done = subprocess.run(command, check=True, capture_output=True)
    tags: dict[str, str] = json.loads(done.stdout)["format"]["tags"]
    return tags


def test_in_place_the_log_knows_the_new_file(folder: Path, capsys: Capture) -> None:
    digests = {path.name: digest(path) for path in folder.glob("low*")}
    assert run(["tag", "low", "--in-place"]) == 0
    capsys.readouterr()
    assert {path.name: digest(path) for path in folder.glob("low*")} == digests
    assert run(["files"]) == 0
    assert run(["import", str(folder)]) == 0
    assert "\nNothing is new" in capsys.readouterr().out
    assert run(["check", "low"]) == 0
    capsys.readouterr()
    assert run(["tag", "low", "--in-place"]) == 0
    assert capsys.readouterr().out.count("already up to date") == 5


def digest(path: Path) -> str | None:
    return read_audio(path).digest


def test_a_mix_gets_everybody_and_a_player_of_another_part_is_not_on_a_take(
    folder: Path, sample: str, tmp_path: Path
) -> None:
    shutil.copy(folder / "varnish_guitar_1.flac", folder / "rough.flac")
    assert run(["files", "attach", str(folder / "rough.flac"), "varn"]) == 0
    out = tmp_path / "out"
    assert run(["tag", "varn", "--out", str(out)]) == 0
    mix = mutagen.File(out / "rough.flac").tags
    assert mix["title"] == ["Varnish"]
    assert mix["performer"] == ["Ina Ock (guitar)", "Tam (bass)", "Tam (guitar)"]
    assert mix["mixer"] == ["Bertil"]
    assert mutagen.File(out / "varnish_guitar_1.flac").tags["performer"] == ["Ina Ock (guitar)"]
    assert sample


def test_one_part_only(folder: Path, tmp_path: Path) -> None:
    assert run(["tag", "varn", "--part", "bass", "--out", str(tmp_path / "out")]) == 0
    assert list(sums(tmp_path / "out")) == ["varnish_bass_1.ogg"]
    assert folder.is_dir()


def test_files_that_cannot_be_tagged_are_said_and_the_others_go_on(
    folder: Path, tmp_path: Path, capsys: Capture
) -> None:
    (folder / "low-tide-ledger_guitar_3.flac").unlink()
    shutil.copy(folder / "varnish_guitar_1.flac", folder / "low-tide-ledger_guitar_4.flac")
    assert run(["tag", "low", "--out", str(tmp_path / "out")]) == 1
    out = capsys.readouterr().out
    assert out.count("not tagged") == 2
    assert "not there" in out
    assert "not the file that the log knows" in out
    assert "3 files tagged, 2 not." in out


def test_a_key_that_no_tag_holds_is_left_out_and_said(
    folder: Path, sample: str, tmp_path: Path, capsys: Capture
) -> None:
    with open_log(sample) as store, store.change("edit") as change:
        put(change, r.Version(name="EP", key="A dorian"), SONG, given={"key"})
    assert run(["tag", "low", "--part", "bass", "--out", str(tmp_path / "out")]) == 0
    assert "note: left out:" in capsys.readouterr().out
    assert "initialkey" not in mutagen.File(tmp_path / "out/low-tide-ledger_bass_1.ogg").tags
    assert folder.is_dir()


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["nothing"], "no song is called"),
        (["low", "--in-place", "--out", "x"], "writes no copies"),
        (["low", "--part", "oud"], "no part is called"),
        (["low", "--part", "voice"], "no audio file is attached"),
        ([], "none is current"),
    ],
    ids=range(5),
)
def test_what_cannot_be_done_is_one_sentence(
    words: list[str], says: str, folder: Path, capsys: Capture
) -> None:
    assert folder.is_dir()
    assert run(["tag", *words]) == 2
    caught = capsys.readouterr()
    assert says in caught.err
    assert len(caught.err.strip().splitlines()) == 1


def test_copies_into_the_folder_itself_are_refused(folder: Path, capsys: Capture) -> None:
    before = sums(folder)
    assert run(["tag", "low", "--out", str(folder)]) == 1
    assert capsys.readouterr().out.count("not tagged") == 5
    assert sums(folder) == before


def test_killed_at_any_moment_files_and_log_are_whole(sample_file: Path, tmp_path: Path) -> None:
    log, folder = tmp_path / "log.db", tmp_path / "boathouse"
    shutil.copy(sample_file, log)
    shutil.copytree(SAMPLE, folder)
    log_of = ("--db", str(log))
    shared().run(*log_of, "import", str(folder), check=True)
    digests = {path.name: digest(path) for path in folder.glob("low*")}
    chance = random.Random(6)
    for _ in range(6):
        worker = shared().command(
            *log_of, "tag", "low", "--in-place", stdout=subprocess.PIPE, stderr=subprocess.PIPE
        )
        time.sleep(chance.uniform(0.05, 0.6))
        worker.send_signal(signal.SIGKILL)
        worker.communicate(timeout=60)
        assert {path.name: digest(path) for path in folder.glob("low*")} == digests
        with open_log(str(log), create=False) as store:
            _sound(store)
    shared().run(*log_of, "tag", "low", "--in-place", check=True)
    shared().run(*log_of, "files", check=True)


def _sound(store: Store) -> None:
    with store.reading() as connection:
        assert connection.exec_driver_sql("PRAGMA integrity_check").scalar() == "ok"
        assert connection.exec_driver_sql("PRAGMA foreign_key_check").fetchall() == []
        song = find(connection, "song", "Low Tide Ledger")
        assert read_log(connection, [song.id]).songs[0].versions


def test_titles_are_never_the_same_and_a_mix_has_its_place_on_the_release() -> None:
    def file(path: str, microphone: str = "") -> AudioFile:
        return AudioFile(path=path, digest=path, microphone=microphone)

    takes = (
        Take(number=1, session="day one", files=(file("a.wav", "near"), file("b.wav", "room"))),
        Take(number=1, session="day two", files=(file("c.wav"),)),
        Take(number=2, session="day two", files=(file("x/d.wav"), file("y/d.wav"))),
    )
    version = Version(
        name="EP",
        isrc="AA6Q72000047",
        date="2026-05-02",
        files=(file("mix.wav"), file("mix instrumental.wav"), file("mix.flac")),
        parts=(Part(name="guitar", player="Ina", takes=takes),),
        roles=(Role(person="Ina", role="main artist"),),
    )
    song = Song(title="Low", iswc="T0345246801", versions=(version,))
    release = Project(
        title="Slack", barcode="6291041500213", date="2026-09-01",
        tracks=(Track(song="Low", version="EP"),),
    )  # fmt: skip
    log = Log(people=(Person(name="Ina"),), songs=(song,), projects=(release,))
    found = list(files_to_tag(log, song, song.versions))
    titles = [each.tags.title for each in found]
    assert len({title.casefold() for title in titles}) == len(titles)
    assert titles[3:6] == [
        "Low (guitar, take 1, day one, near)",
        "Low (guitar, take 1, day one, room)",
        "Low (guitar, take 1, day two)",
    ]
    assert titles[1] == "Low (mix instrumental)"
    mix, take = found[0].tags, found[3].tags
    assert (mix.track, mix.tracks, mix.album_artist, mix.barcode, mix.release_date) == (
        1, 1, "Ina", "6291041500213", "2026-09-01",
    )  # fmt: skip
    assert (mix.iswc, take.iswc) == ("T0345246801", "T0345246801")
    assert (take.track, take.barcode) == (None, "")
