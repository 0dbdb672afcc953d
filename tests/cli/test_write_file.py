"""Files that commands write are whole, or what they were before."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from logbook.cli.answering import write_file
from logbook.errors import LogbookError


def test_a_new_file_takes_the_place_of_the_old_one_and_its_rights(tmp_path: Path) -> None:
    path = tmp_path / "sheet.md"
    write_file(path, "one\n")
    path.chmod(0o640)
    write_file(path, b"two\n")
    assert path.read_bytes() == b"two\n"
    assert path.stat().st_mode & 0o777 == 0o640
    assert [each.name for each in tmp_path.iterdir()] == ["sheet.md"]


def test_a_write_that_fails_leaves_the_old_file_and_no_other(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "sheet.md"
    write_file(path, "one\n")

    def full(_descriptor: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OSError, match="No space"):
        write_file(path, "two\n")
    assert path.read_text() == "one\n"
    assert [each.name for each in tmp_path.iterdir()] == ["sheet.md"]


def test_a_link_is_followed_and_stays_a_link(tmp_path: Path) -> None:
    (tmp_path / "real.md").write_text("one\n")
    link = tmp_path / "link.md"
    link.symlink_to("real.md")
    write_file(link, "two\n")
    assert link.is_symlink()
    assert (tmp_path / "real.md").read_text() == "two\n"


def test_a_device_is_written_to_as_it_is() -> None:
    write_file(Path(os.devnull), "gone\n")
    assert not Path(os.devnull).is_file()


def test_a_folder_that_is_not_there_is_named(tmp_path: Path) -> None:
    with pytest.raises(LogbookError, match="there is no folder"):
        write_file(tmp_path / "nowhere" / "sheet.md", "one\n")
