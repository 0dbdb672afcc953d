"""Files of many channels, spread over the parts that their recorder's tracks name."""

from __future__ import annotations

from pathlib import Path

import pytest

from logbook.audio.reading import read_audio
from logbook.importing.channels import spread
from logbook.store.file_rows import PartLine
from tests.cli.typed import Typed
from tests.sounds import wav

DAY = """
session Harbour loft, 2026-05-02
song Saltpan Road
part drums
part guitar on the cedar one, Oda
part lead vocal
song Kiln Lane
part drums
part guitar on the cedar one, Oda
"""
BAND = ("KICK", "SNARE", "GTR L", "GTR R", "VOX", "Talkback")


@pytest.mark.parametrize(
    ("tracks", "parts", "expected", "untold"),
    [
        (BAND, ("drums", "guitar", "lead vocal"),
         {"drums": "1 KICK, 2 SNARE", "guitar": "3 GTR L, 4 GTR R", "lead vocal": "5 VOX"}, ()),
        (("Bass DI", "amp", "Vln 1", "Vln 2", "room"), ("violin 1", "violin 2", "bass"),
         {"bass": "1 Bass DI, 2 amp", "violin 1": "3 Vln 1", "violin 2": "4 Vln 2, 5 room"}, ()),
        (("Gtr", "AcGtr", "", "OH L"), ("acoustic guitar", "electric guitar", "drums"),
         {"acoustic guitar": "2 AcGtr", "drums": "4 OH L"}, ("1 Gtr", "3")),
        (("VOX guide", "click", "Pno"), ("lead vocal", "piano"),
         {"piano": "3 Pno"}, ("1 VOX guide",)),
        (("L", "R"), ("drums", "guitar"), {}, ("1 L", "2 R")),
    ],
)  # fmt: skip
def test_each_track_is_of_the_part_it_names(
    tracks: tuple[str, ...], parts: tuple[str, ...], expected: dict[str, str], untold: tuple[str]
) -> None:
    lines = [PartLine(at, 1, name) for at, name in enumerate(parts)]
    found = spread(tracks, lines)
    assert {part.name: said for part, said in found.parts} == expected
    assert found.untold == untold


@pytest.fixture
def typed(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Typed:
    (tmp_path / "day.txt").write_text(DAY.strip() + "\n")
    found = Typed(str(tmp_path / "log.db"), capsys)
    found(["note", str(tmp_path / "day.txt")])
    return found


def test_a_band_in_one_file_is_proposed_for_its_parts(typed: Typed, tmp_path: Path) -> None:
    home = tmp_path / "home"
    for take in (3, 4):
        wav(home / f"Saltpan Road_T0{take}.wav", ixml_take=str(take), ixml_tracks=BAND)
    wav(home / "Kiln Lane_drums_02.wav", ixml_scene="Kiln Lane, louder", ixml_tracks=BAND[:4])
    assert read_audio(home / "Kiln Lane_drums_02.wav").ixml.tracks == BAND[:4]  # type: ignore[union-attr]
    said = typed(["import", str(home)])
    assert "its channels are drums and guitar" in " ".join(said.split())
    shown = typed(["import", str(home), "--propose"])
    line = next(each for each in shown.splitlines() if "T03" in each)
    assert line.startswith(
        "Saltpan Road | recording | drums + guitar + lead vocal | Harbour loft | 3 | "
        "1 KICK, 2 SNARE + 3 GTR L, 4 GTR R + 5 VOX = Saltpan Road_T03.wav"
    )
    before = typed("dump")
    typed(["import", str(home), "--yes"])
    for part, mic in (("drums", "1 KICK"), ("guitar", "3 GTR L"), ("lead vocal", "5 VOX")):
        said = typed(["takes", "Saltpan", part])
        assert said.count("0:00.0") == 2, "each part's takes are as long as the band's file"
        sheet = " ".join(typed(["sheet", "Saltpan", "--part", part]).split())
        assert "T03.wav" in sheet
        assert mic in sheet
    assert '"guitar; mic 3 GTR L, 4 GTR R"' in typed("dump")
    assert "Kiln Lane_drums_02.wav" in typed("search 'kiln louder'")
    assert "take 4" in typed("search 'kick talkback'")
    (tmp_path / "again.toml").write_text(typed("dump"))
    assert "nothing" in typed(["load", str(tmp_path / "again.toml")]).lower()
    typed("undo")
    assert typed("dump") == before
