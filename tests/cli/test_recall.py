"""How things stood, with photographs that are shown, lost or changed."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from logbook.importing.photographs import media_of
from tests.cli.typed import Typed

SONG = """
[[session]]
name = "day one"
recall = ["desk: all flat; note fader 3 at -5"]

[[song]]
title = "Low Water"

[[song.version]]
name = "album"

[[song.version.part]]
name = "guitar"
chain = "combo, ribbon"
takes = ["1 keeper 1-8"]
recall = ["small combo: gain 4, treble 6", "small combo: gain 7; for the solo"]
photographs = ["photos/combo.png; of small combo; caption <knobs>"]
"""
PICTURE = b"\x89PNG\r\n\x1a\n and what a camera puts behind it"


@pytest.fixture
def typed(fresh: Callable[[], str], capsys: pytest.CaptureFixture[str], tmp_path: Path) -> Typed:
    file = tmp_path / "session.toml"
    file.write_text(SONG, encoding="utf-8")
    (tmp_path / "photos").mkdir()
    (tmp_path / "photos" / "combo.png").write_bytes(PICTURE)
    typed = Typed(fresh(), capsys)
    typed(["load", str(file)])
    return typed


def test_settings_and_photographs_of_a_part_and_of_its_session(
    typed: Typed, tmp_path: Path
) -> None:
    said = " ".join(typed("recall low guitar").split())
    assert "small combo gain 4, treble 6" in said
    assert "for the solo: gain 7" in said
    assert "desk all flat (fader 3 at -5)" in said
    assert "has not been looked at yet" in said
    assert "Taken in:" in typed("photograph read")
    assert "1 photograph, all as they were kept." in typed("photograph read")
    page = typed("recall low guitar --as html")
    assert 'src="data:image/png;base64,' in page
    assert "&lt;knobs&gt;" in page
    assert "combo.png" in typed("recall low guitar --as markdown")
    group, session = typed.json("recall low guitar")
    assert group["photographs"][0]["path"] == str(tmp_path / "photos" / "combo.png")
    assert group["photographs"][0]["state"] == "there"
    assert session["recall"][0]["device"] == "desk"


def test_a_photograph_that_is_lost_or_another_one_is_told_and_not_shown(
    typed: Typed, tmp_path: Path
) -> None:
    photo = tmp_path / "photos" / "combo.png"
    typed("photograph read")
    photo.write_bytes(PICTURE + b"!")
    assert "is a different file from the one that was kept" in " ".join(typed("recall low").split())
    assert "base64" not in typed("recall low --as html")
    assert "A different file" in typed("photograph read", 1)
    assert "Taken in" in typed("photograph read --changed")
    photo.unlink()
    assert "combo.png is no longer there" in typed("recall low")
    assert typed("photograph read", 1).startswith("No longer there")
    typed(["photograph", "add", str(photo), "--session", "day one"])
    assert typed.json("recall --session day")[0]["photographs"][0]["digest"] == ""


def test_pictures_are_told_by_their_first_bytes() -> None:
    heads = {b"\xff\xd8\xff\xe0": "image/jpeg", b"GIF89a": "image/gif", b"<svg onload='x'>": ""}
    assert {head: media_of(head) for head in heads} == heads
    assert media_of(b"RIFF\0\0\0\0WEBPVP8 ") == "image/webp"
    assert media_of(b"RIFF\0\0\0\0WAVEfmt ") == ""
