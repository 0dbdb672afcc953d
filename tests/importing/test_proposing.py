"""A messy folder brought home: what is sure hangs, the rest is proposed and hung as told."""

from __future__ import annotations

import json
import shutil
import wave
from pathlib import Path

import pytest

from tests.cli.typed import Typed

DAY = """
session Harbour loft, 2026-05-02
song Saltpan Road
part guitar on the cedar one, Oda
part drums
part lead vocal
song Kiln Lane
part guitar on the cedar one, Oda
part drums
"""


def wav(path: Path, tone: int) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(8000)
        file.writeframes(bytes([tone, tone // 2]) * 4000)
    return path


@pytest.fixture
def typed(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Typed:
    (tmp_path / "day.txt").write_text(DAY.strip() + "\n")
    found = Typed(str(tmp_path / "log.db"), capsys)
    found(["note", str(tmp_path / "day.txt")])
    return found


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    root = tmp_path / "home"
    names = [f"Saltpan/drums/07_{mic}.wav" for mic in ("KickIn", "KickOut", "SnTop", "OHL", "OHR")]
    names += ["SR_gtr_T1.wav", "Kiln Lane/Gtr_02_L.wav", "Kiln Lane/Gtr_02_R.wav", "REC_0009.wav"]
    names += ["Saltpan Road - LdVox 3.wav"]
    for tone, name in enumerate(names, 1):
        wav(root / name, tone)
    (root / "A backup").mkdir()
    shutil.copy(root / names[0], root / "A backup" / "KickIn copy.wav")
    return root


def test_one_option_hangs_all_that_is_sure(typed: Typed, folder: Path) -> None:
    typed(["import", str(folder)])
    said = typed(["import", str(folder), "--yes"])
    assert "attached to" in said
    shown = typed(["import", str(folder), "--propose"])
    assert "# copy of Saltpan/drums/07_KickIn.wav: A backup/KickIn copy.wav" in shown
    assert "| REC_0009.wav" in shown
    assert not [line for line in shown.splitlines() if line and not line.startswith("#")]
    logged = typed("dump")
    for mic in ("Kick In", "Kick Out", "Sn Top", "OHL"):
        assert f'"{mic}"' in logged


def test_a_proposal_is_edited_and_taken_back(typed: Typed, folder: Path, tmp_path: Path) -> None:
    typed(["import", str(folder)])
    before = typed("dump")
    text = typed(["import", str(folder), "--propose"])
    edited = text + "Kiln Lane | recording | drums | Harbour loft | 4 | room = REC_0009.wav\n"
    (tmp_path / "guesses.txt").write_text(edited)
    typed(["import", str(folder), "--proposal", str(tmp_path / "guesses.txt")])
    after = typed("dump")
    assert "REC_0009.wav" in after
    assert "room" in after
    typed("undo")
    assert typed("dump") == before


def test_a_correction_is_remembered(typed: Typed, folder: Path, tmp_path: Path) -> None:
    for n in (1, 2):
        wav(folder / f"Kiln Lane - Bettina - {n}.wav", 100 + n)
    typed(["import", str(folder)])
    path = tmp_path / "guesses.txt"
    path.write_text(
        "Kiln Lane | recording | drums | Harbour loft | 1 | Kiln Lane - Bettina - 1.wav ;"
        " room = Kiln Lane - Bettina - 2.wav\n"
        "Kiln Lane | recording | drums | Harbour loft | 4 | REC_0009.wav\n"
    )
    typed(["import", str(folder), "--proposal", str(path)])
    assert 'aliases = "Bettina"' in typed("dump")
    wav(folder / "Kiln Lane - Bettina - 5.wav", 105)
    typed(["import", str(folder), "--yes"])
    assert "take 5" in typed(["search", "Bettina - 5"])
    typed("undo")
    typed("undo")
    typed("undo")
    assert "aliases" not in typed("dump")


def test_a_wrong_line_hangs_nothing(typed: Typed, folder: Path, tmp_path: Path) -> None:
    typed(["import", str(folder)])
    before = typed("dump")
    path = tmp_path / "guesses.txt"
    path.write_text(
        "Kiln Lane | recording | drums | Harbour loft | 4 | REC_0009.wav\n"
        "Kiln Lane | recording | kazoo | Harbour loft | 4 | SR_gtr_T1.wav\n"
        "Kiln Lane | recording | drums | Harbour loft | 5 | nowhere.wav ; REC_0009.wav\n"
    )
    said = typed(["import", str(folder), "--proposal", str(path)], 2)
    assert "line 2" in said
    assert "kazoo" in said
    assert "line 3" in said
    assert typed("dump") == before


def test_an_editor_settles_it(
    typed: Typed, folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    typed(["import", str(folder)])
    monkeypatch.setenv("EDITOR", "true")
    said = typed(["import", str(folder), "--edit"])
    assert "attached to" in said
    monkeypatch.setenv("EDITOR", "false")
    assert "ended with an error" in typed(["import", str(folder), "--edit"], 2)


def test_json_still_is_one_document(typed: Typed, folder: Path) -> None:
    json.loads(typed(["import", str(folder), "--json"]))
