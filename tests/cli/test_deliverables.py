"""What leaves the house, as it is typed and checked against the files that are there."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from logbook.records import Part, Version
from logbook.records.delivered import missing_kinds
from tests.cli.typed import Typed
from tests.sounds import wav

SONG = """
[[song]]
title = "Low Water"

[[song.version]]
name = "album"
deliverables = [
  "master; mix 3; rate 48k; depth 16; status delivered; on 2026-06-01; file out/master.wav",
  "acapella; status delivered",
  "stems; status in work; file out/drums.wav; file out/voice.wav; note rough",
]

[[song.version.part]]
name = "lead vocal"

[[project]]
title = "Boathouse"
tracks = ["Low Water / album"]
"""


@pytest.fixture
def typed(fresh: Callable[[], str], capsys: pytest.CaptureFixture[str], tmp_path: Path) -> Typed:
    file = tmp_path / "session.toml"
    file.write_text(SONG, encoding="utf-8")
    (tmp_path / "out").mkdir()
    wav(tmp_path / "out" / "master.wav", rate_hz=44100)
    (tmp_path / "out" / "drums.wav").write_bytes(b"no sound")
    typed = Typed(fresh(), capsys)
    typed(["load", str(file)])
    return typed


def test_files_are_held_against_what_is_asked_for(typed: Typed, tmp_path: Path) -> None:
    said = " ".join(typed("deliverable --song low").split())
    assert "master, mix 3: master.wav is at 44100 Hz, and 48000 Hz is asked for" in said
    assert "a cappella: it is delivered, and no file is named" in said
    assert "stems: drums.wav cannot be read" in said
    assert "stems: voice.wav is not there yet" in said
    assert "Still to be made: stems." in said
    assert "Nothing is said of: instrumental, TV track." in said
    (data,) = typed.json("deliverable --project boat")
    assert data["missing"] == ["instrumental", "TV track"]
    assert data["deliverables"][0]["files"] == [
        {"path": str(tmp_path / "out" / "master.wav"), "state": "there"}
    ]
    typed("deliverable edit master --rate 44.1k --song low")
    assert "is asked for" not in typed("deliverable --song low")


def test_the_checks_know_what_the_log_has_read(typed: Typed, tmp_path: Path) -> None:
    assert "no file is named" in " ".join(typed("check", 1).split())
    typed("deliverable edit cappella --status 'not wanted' --song low")
    typed("check")
    typed(["deliverable", "add", f"remix; file {tmp_path}/out/master.wav", "--song", "low"])
    said = " ".join(typed("check", 1).split())
    assert "it stands for album, master, mix 3 and for album, remix" in said


def test_what_needs_a_singer_is_not_asked_for_where_nobody_sings() -> None:
    assert missing_kinds(Version(name="album", parts=(Part(name="guitar"),))) == ("master", "stems")
    assert "TV track" in missing_kinds(Version(name="album", parts=(Part(name="Voice 2"),)))
    assert len(missing_kinds(Version(name="album"))) == 5


def test_one_line_says_it_all(typed: Typed) -> None:
    assert "master; mix 3; rate 48000; depth 16; status delivered; on 2026-06-01" in typed("dump")
    assert '"lost" is not one of wanted' in typed(
        "deliverable add 'TV track; status lost' --song low", 2
    )
