"""No session file and no tag reaches outside the folder it was given."""

from __future__ import annotations

import json
import os
import shutil
from pathlib import Path

import pytest

from tests.robustness.commands import ROOT, done, give, one_sentence, refused

SOUND = ROOT / "sample_session" / "varnish_bass_1.ogg"


@pytest.fixture
def folder(empty_file: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A session's folder, with somebody else's file beside it."""
    shutil.copy(empty_file, tmp_path / "log.db")
    monkeypatch.setenv("LOGBOOK_DB", str(tmp_path / "log.db"))
    inside = tmp_path / "session"
    inside.mkdir()
    shutil.copy(SOUND, tmp_path / "secret.ogg")
    shutil.copy(SOUND, inside / "own.ogg")
    (inside / "link.ogg").symlink_to(tmp_path / "secret.ogg")
    (inside / "linked").symlink_to(tmp_path)
    return inside


def session_file(folder: Path, path: str) -> Path:
    file = folder / "session.toml"
    file.write_text(
        '[[person]]\nname = "Ina"\n[[session]]\nname = "day one"\n[[song]]\ntitle = "Low"\n'
        '[[song.version]]\nname = "EP"\n[[song.version.part]]\nname = "bass"\nplayer = "Ina"\n'
        f'files = [{json.dumps(path)}]\ntakes."day one" = ["1 keeper"]\n',
        encoding="utf-8",
    )
    return file


@pytest.mark.parametrize(
    "path",
    ["../secret.ogg", "linked/secret.ogg", "link.ogg", "{outside}", "x/../../secret.ogg",
     "~/secret.ogg", "/etc/passwd", "\\\\server\\x.ogg", "./.././secret.ogg"],
)  # fmt: skip
def test_a_session_file_names_no_file_outside_its_folder(path: str, folder: Path) -> None:
    path = path.format(outside=folder.parent / "secret.ogg")
    secret = folder.parent / "secret.ogg"
    before = secret.read_bytes()
    given = give("load", str(session_file(folder, path)))
    if given.code:
        assert given.code == 2
        assert "line " in one_sentence(given.err)
        assert json.loads(done("song", "list", "--json")) == []
        return
    # A name that stays a name within the folder may be kept; nothing outside is read or written.
    for record in json.loads(done("file", "list", "--json", "--song", "Low", "--part", "bass")):
        kept = Path(os.path.normpath(folder / record["path"]))
        assert kept.is_relative_to(folder) or record.get("frames") is None
    give("tag", "Low", "--in-place")
    assert secret.read_bytes() == before


def test_tags_are_not_written_through_a_link(folder: Path) -> None:
    done("load", str(session_file(folder, "own.ogg")))
    secret = folder.parent / "secret.ogg"
    before = secret.read_bytes()
    (folder / "own.ogg").unlink()
    (folder / "own.ogg").symlink_to(secret)
    give("tag", "Low", "--in-place")
    assert secret.read_bytes() == before
    assert (folder / "own.ogg").is_symlink()


def test_copies_stay_in_the_folder_they_go_to(folder: Path, tmp_path: Path) -> None:
    done("load", str(session_file(folder, "own.ogg")))
    out = tmp_path / "copies"
    out.mkdir()
    target = tmp_path / "target.ogg"
    (out / "own.ogg").symlink_to(target)
    give("tag", "Low", "--out", str(out))
    assert not target.exists()


def test_an_import_takes_nothing_in_through_a_link(folder: Path) -> None:
    given = give("import", str(folder))
    assert given.code in (0, 1, 2), given
    assert "secret" not in given.out


def test_a_folder_that_is_none(folder: Path) -> None:
    refused("import", str(folder / "own.ogg"))
    refused("import", str(folder / "none"))
    refused("load", str(folder / "none"))
    refused("tag", "Low", "--out", str(folder / "own.ogg"))
