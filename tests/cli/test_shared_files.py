"""When a take began, and files that belong to several parts or to a whole session."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.typed import Typed
from tests.sounds import wav

LOG = """
[[session]]
name = "day one"
date = "2026-05-02"
[[session]]
name = "day two"
date = "2026-05-03"
[[song]]
title = "Kiln Lane"
[[song.version]]
name = "album"
part = [{ name = "drums" }, { name = "bass" }, { name = "lead vocal" }]
[[song]]
title = "Varnish"
[[song.version]]
name = "album"
part = [{ name = "drums" }, { name = "lead vocal" }]
"""


@pytest.fixture
def typed(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Typed:
    (tmp_path / "log.toml").write_text(LOG)
    found = Typed(str(tmp_path / "log.db"), capsys)
    found(["load", str(tmp_path / "log.toml")])
    return found


@pytest.fixture
def home(tmp_path: Path) -> Path:
    root = tmp_path / "home"
    root.mkdir()
    for at, name in enumerate(("drums+bass 02", "room all day", "overheads 1")):
        wav(root / f"{name}.wav", seed=name, seconds=0.1 + at / 100)
    return root


def test_a_take_has_a_clock(typed: Typed, tmp_path: Path) -> None:
    said = typed("take add --song Kiln --part bass --session 'day one' --clock 14:32")
    assert "began 14:32:00" in said
    typed("take edit 1 --song Kiln --part bass --clock 9.05.30")
    assert "09:05:30" in typed("takes Kiln bass")
    assert "not a time of day" in typed("take edit 1 --song Kiln --part bass --clock 25:00", 2)
    (tmp_path / "again.toml").write_text(typed("dump"))
    assert "nothing" in typed(["load", str(tmp_path / "again.toml")]).lower()


def test_the_broadcast_time_is_the_take_s(typed: Typed, home: Path) -> None:
    name = home / "Kiln Lane_bass_04.wav"
    wav(name, seed="b", date="2026-05-02", time="15:01:02", description="bass take 4")
    typed(["import", str(home)])
    assert "15:01:02" in typed("takes Kiln bass")


def test_one_file_is_of_several_parts_and_of_a_session(typed: Typed, home: Path) -> None:
    for part in ("drums", "bass"):
        typed(f"take add --song Kiln --part {part} --session 'day one'")
    typed(["import", str(home)])
    hang = ["file", "attach-all", "overheads*", "--song", "Kiln", "--part", "drums", "--take", "1"]
    typed([*hang, "--session", "day one", "--also", "bass"])
    assert "take 1 is also on overheads 1.wav" in typed("takes Kiln bass")
    typed(["file", "attach-all", "overheads*", "--song", "Kiln", "--also", "session day two"])
    typed(["file", "attach-all", "room*", "--session", "day one"])
    assert typed("dump").count("also = ") == 2
    typed("part edit bass --song Kiln --name 'electric bass'")
    assert 'also = ["electric bass", "session day two"]' in typed("dump")
    assert "no part is called" in typed([*hang, "--session", "day one", "--also", "kazoo"], 2)
    typed("session edit 'day two' --name evening")
    assert '"session evening"' in typed("dump")
    typed("undo")
    typed("undo")
    assert 'also = ["bass", "session day two"]' in typed("dump")
    typed("part remove bass --song Kiln --yes")
    assert 'also = ["session day two"]' in typed("dump")


def test_parts_named_together_are_proposed_together(
    typed: Typed, home: Path, tmp_path: Path
) -> None:
    typed(["import", str(home), "--song", "Kiln", "--session", "day one"])
    shown = typed(["import", str(home), "--song", "Kiln", "--session", "day one", "--propose"])
    assert "Kiln Lane | album | drums + bass | day one | 2 | drums+bass 02.wav" in shown
    (tmp_path / "p.txt").write_text(shown)
    typed(["import", str(home), "--proposal", str(tmp_path / "p.txt")])
    assert "take 2 is also on drums+bass 02.wav" in typed("takes Kiln bass")
    typed("undo")
    assert "also" not in typed("dump")


def test_a_correction_teaches_how_a_session_names_its_files(
    typed: Typed, home: Path, tmp_path: Path
) -> None:
    for number in (3, 4):
        name = f"2026-05-02 Kiln Lane album {number:02d} Bettina ribbon"
        wav(home / f"{name}.wav", seed=name)
    typed(["import", str(home)])
    (tmp_path / "p.txt").write_text(
        "Kiln Lane | album | lead vocal | day one | 3 | "
        "ribbon = 2026-05-02 Kiln Lane album 03 Bettina ribbon.wav\n"
    )
    typed(["import", str(home), "--proposal", str(tmp_path / "p.txt")])
    logged = typed("dump")
    assert 'file_pattern = "{date} {song} {version} {take} {part} {mic}"' in logged
    assert 'aliases = "Bettina"' in logged
    typed(["import", str(home)])
    assert "\n4" in typed("takes Kiln 'lead vocal'")
    # What the part is called there counts for the part of that name in another song.
    wav(home / "2026-05-03 Varnish album 05 Bettina ribbon.wav", seed="v")
    typed(["import", str(home), "--yes", "--sure", "90"])
    assert "\n5" in typed("takes Varnish 'lead vocal'")


def test_a_proposal_may_say_a_whole_session(typed: Typed, home: Path, tmp_path: Path) -> None:
    typed(["import", str(home)])
    before = typed("dump")
    (tmp_path / "p.txt").write_text("| | | day two | | talkback = room all day.wav\n")
    typed(["import", str(home), "--proposal", str(tmp_path / "p.txt")])
    assert 'also = ["session day two"]' in typed("dump")
    typed("undo")
    assert typed("dump") == before
    (tmp_path / "p.txt").write_text("| | bass | day two | | room all day.wav\n")
    said = typed(["import", str(home), "--proposal", str(tmp_path / "p.txt")], 2)
    assert "is not a take" in said
