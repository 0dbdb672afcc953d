"""Walking a folder: what is read, what is passed over, what is refused, and never outside."""

from __future__ import annotations

import inspect
import os
import shutil
import sys
from pathlib import Path

import pytest

from logbook.audio.errors import AudioError, Reason
from logbook.audio.scanning import (
    Fresh,
    KnownFile,
    Progress,
    Refused,
    Unchanged,
    list_folder,
    scan,
    stat_known,
)

SAMPLES = Path(__file__).parent / "samples"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder with a take in it, two in a folder inside, a text and hidden files."""
    inside = tmp_path / "takes" / "monday" / "gtr"
    inside.mkdir(parents=True)
    shutil.copy(SAMPLES / "plain.wav", tmp_path / "takes" / "gtr_1.wav")
    shutil.copy(SAMPLES / "plain.flac", inside / "gtr_2.flac")
    shutil.copy(SAMPLES / "opus.opus", inside / "gtr_3.wav")
    (tmp_path / "takes" / "notes.txt").write_text("capo at two\n")
    (tmp_path / "takes" / ".hidden.wav").write_bytes(b"")
    (tmp_path / "takes" / ".cache").mkdir()
    shutil.copy(SAMPLES / "plain.wav", tmp_path / "takes" / ".cache" / "x.wav")
    return tmp_path / "takes"


def known(folder: Path) -> dict[str, KnownFile]:
    return {
        fresh.name: KnownFile(fresh.info.size_bytes, fresh.info.modified_ns)
        for fresh in scan(folder, {})
        if isinstance(fresh, Fresh)
    }


def test_everything_is_found_in_order_and_what_is_packed_last(folder: Path) -> None:
    found = list(scan(folder, {}))
    assert [item.name for item in found] == [
        "gtr_1.wav",
        "monday/gtr/gtr_3.wav",
        "notes.txt",
        "monday/gtr/gtr_2.flac",
    ]
    assert isinstance(found[1], Fresh)
    assert found[1].info.codec == "Opus"
    assert isinstance(found[2], Refused)
    assert (found[2].reason, found[2].called_audio) == (Reason.FOREIGN, False)


def test_a_second_scan_reads_nothing(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    remembered = known(folder)
    (folder / "notes.txt").unlink()

    def never(*_: object, **__: object) -> None:
        raise AssertionError("a known file was read")

    monkeypatch.setattr("logbook.audio.scanning.read_audio", never)
    assert [type(item) for item in scan(folder, remembered)] == [Unchanged] * 3


def test_only_what_changed_is_read(folder: Path) -> None:
    remembered = known(folder)
    changed = folder / "gtr_1.wav"
    shutil.copy(SAMPLES / "broadcast.wav", changed)
    shutil.copy(SAMPLES / "plain.mp3", folder / "new.mp3")
    kinds = {item.name: type(item) for item in scan(folder, remembered)}
    assert kinds["gtr_1.wav"] is Fresh
    assert kinds["new.mp3"] is Fresh
    assert kinds["monday/gtr/gtr_2.flac"] is Unchanged


def test_an_interrupted_scan_is_taken_up_again(folder: Path) -> None:
    first = next(iter(scan(folder, {})))
    assert isinstance(first, Fresh)
    remembered = {first.name: KnownFile(first.info.size_bytes, first.info.modified_ns)}
    kinds = [type(item) for item in scan(folder, remembered)]
    assert kinds == [Unchanged, Fresh, Refused, Fresh]


def test_bad_files_do_not_stop_the_others(folder: Path) -> None:
    (folder / "a_empty.wav").write_bytes(b"")
    (folder / "b_cut.wav").write_bytes((SAMPLES / "plain.wav").read_bytes()[:500])
    (folder / "c_text.wav").write_text("not a sound")
    refused = {item.name: item for item in scan(folder, {}) if isinstance(item, Refused)}
    assert refused["a_empty.wav"].reason is Reason.EMPTY
    assert refused["b_cut.wav"].reason is Reason.TRUNCATED
    assert refused["c_text.wav"].reason is Reason.FOREIGN
    assert refused["c_text.wav"].called_audio
    assert sum(isinstance(item, Fresh) for item in scan(folder, {})) == 3


def test_a_link_to_a_file_is_that_file_and_no_folder_out_of_it_is_followed(
    folder: Path, tmp_path: Path
) -> None:
    outside = tmp_path / "outside"
    outside.mkdir()
    shutil.copy(SAMPLES / "plain.wav", outside / "secret.wav")
    (folder / "file.wav").symlink_to(outside / "secret.wav")
    (folder / "folder").symlink_to(outside)
    (folder / "loop").symlink_to(folder)
    (folder / "again.wav").symlink_to(folder / "gtr_1.wav")
    (folder / "broken.wav").symlink_to(tmp_path / "nowhere.wav")
    # A neighbour whose name begins with the folder's own is outside all the same.
    sibling = tmp_path / "takes-old"
    sibling.mkdir()
    (folder / "sibling").symlink_to(sibling)
    candidates, refused = list_folder(folder)
    assert len(candidates) == 5
    linked = next(each for each in candidates if each.name == "file.wav")
    assert linked.size_bytes == (outside / "secret.wav").stat().st_size
    fresh = [item for item in scan(folder, {}) if isinstance(item, Fresh)]
    assert "file.wav" in {item.name for item in fresh}
    assert {item.name: item.why for item in refused} == {
        "broken.wav": "a link to nothing",
        "folder": "a link out of the folder; links to folders are not followed",
        "sibling": "a link out of the folder; links to folders are not followed",
    }


def test_pipes_and_names_that_are_no_text(folder: Path) -> None:
    os.mkfifo(folder / "pipe.wav")
    strange = os.fsencode(folder) + b"/b\xff.wav"
    with open(strange, "wb") as file:
        file.write((SAMPLES / "plain.wav").read_bytes())
    _, refused = list_folder(folder)
    assert [(item.name, item.why) for item in refused] == [
        ("b\\udcff.wav", "its name is not UTF-8; rename it"),
        ("pipe.wav", "not a regular file"),
    ]


def test_progress_counts_files_and_bytes(folder: Path) -> None:
    told: list[Progress] = []
    list(scan(folder, {}, on_progress=told.append))
    total = sum(path.stat().st_size for path in folder.rglob("[!.]*") if path.is_file())
    total -= (folder / ".cache" / "x.wav").stat().st_size
    assert told[-1] == Progress(4, 4, total, total)
    assert [progress.files_done for progress in told] == [1, 2, 3, 4]


def test_progress_within_a_long_file(tmp_path: Path) -> None:
    content = (SAMPLES / "plain.wav").read_bytes()
    at = content.index(b"data")
    length = 20 << 20
    long = tmp_path / "long.wav"
    with open(long, "wb") as file:
        file.write(content[: at + 4] + length.to_bytes(4, "little"))
        file.truncate(at + 8 + length)
    told: list[Progress] = []
    list(scan(tmp_path, {}, on_progress=told.append))
    assert [progress.files_done for progress in told] == [0, 0, 1]
    assert 8 << 20 <= told[0].bytes_done < told[1].bytes_done < told[2].bytes_done


def test_folders_deeper_than_the_stack(tmp_path: Path) -> None:
    deep = tmp_path / "/".join("d" * 150)
    deep.mkdir(parents=True)
    shutil.copy(SAMPLES / "plain.wav", deep / "gtr_1.wav")
    limit = sys.getrecursionlimit()
    sys.setrecursionlimit(len(inspect.stack(0)) + 100)
    try:
        candidates, _ = list_folder(tmp_path)
    finally:
        sys.setrecursionlimit(limit)
    assert [candidate.name for candidate in candidates] == ["d/" * 150 + "gtr_1.wav"]


def test_a_folder_that_is_none(tmp_path: Path) -> None:
    for path in (tmp_path / "nowhere", SAMPLES / "plain.wav"):
        with pytest.raises(AudioError, match="the folder cannot be read"):
            list_folder(path)


def test_size_and_time_as_they_are_now(folder: Path) -> None:
    path = folder / "gtr_1.wav"
    assert stat_known(path) == KnownFile(path.stat().st_size, path.stat().st_mtime_ns)
    assert stat_known(folder) is None
    assert stat_known(folder / "nowhere") is None
