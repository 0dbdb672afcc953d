"""CSV files opened and saved by a spreadsheet (LibreOffice, headless): every value as it was."""

from __future__ import annotations

import csv
import shutil
import subprocess
from fractions import Fraction
from pathlib import Path

import pytest

from logbook.cli.answering import write_file
from logbook.crediting.credits import credits_of_song
from logbook.crediting.wording import csv_rows
from logbook.editing.comp import parse_comp
from logbook.editing.timeline import comp_rows
from logbook.records import Log, Part, Person, Project, Share, Song, Track, Version
from logbook.sheets.csv_form import draw
from logbook.sheets.looks import Look, Sheet
from logbook.timing.map_text import read_tempo_map

OFFICE = shutil.which("soffice") or shutil.which("libreoffice")
_CSV = "Text - txt - csv (StarCalc)"

pytestmark = pytest.mark.skipif(OFFICE is None, reason="LibreOffice is not installed")


def saved(rows: list[list[str]] | list[tuple[str, ...]], folder: Path) -> list[list[str]]:
    """Write rows as the program does, have the spreadsheet open and save them, read them back."""
    path, out = folder / "given.csv", folder / "out"
    write_file(path, draw(Sheet("credits", "", {}, (), tuple(map(tuple, rows))), Look()))
    profile = (folder / "profile").as_uri()
    subprocess.run(
        [
            str(OFFICE), "--headless", f"-env:UserInstallation={profile}",
            f"--infilter={_CSV}:44,34,76,1", "--convert-to", f"csv:{_CSV}:44,34,76,1",
            "--outdir", str(out), str(path),
        ],
        check=True, capture_output=True, timeout=180,
    )  # fmt: skip
    return list(csv.reader((out / "given.csv").read_text(encoding="utf-8").splitlines()))


def test_credits_and_comps_come_back_unchanged(tmp_path: Path) -> None:
    third = Fraction(1, 3)
    people = (
        Person(name="Ada Quill", ipi="00000000199", isni="0000000218250097"),
        Person(name="007", full_name="May 5"),
        Person(name="1/2"),
    )
    song = Song(
        title="3-8",
        iswc="T0345246801",
        shares=tuple(Share(person=each.name, share=third) for each in people),
        versions=(
            Version(
                name="2026-05-02",
                isrc="AA6Q72000047",
                parts=tuple(Part(name=f"part {each.name}", player=each.name) for each in people),
            ),
        ),
    )
    release = Project(
        title="=1+1", barcode="6291041500213", tracks=(Track(song="3-8", version="2026-05-02"),)
    )
    log = Log(people=people, songs=(song,), projects=(release,))
    rows = csv_rows(credits_of_song(log, "3-8"))
    comp = comp_rows(
        parse_comp("1-4 take 2\n5-8 take 11 @ 1-4 xfade 7ms note 1/2\n9 take 2/2-3"),
        read_tempo_map("4/4", "97"),
    )
    wide = max(len(rows[0]), len(comp[0]))
    both = [[*row, *[""] * (wide - len(row))] for row in (*rows, *comp)]
    written = tmp_path / "given.csv"
    again = saved(both, tmp_path)
    given = list(csv.reader(written.read_text(encoding="utf-8").splitlines()))
    assert len(given) == len(both)
    assert again == given
