"""`logbook credits` on the sample session, as it is typed."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import pytest

from logbook import records as r
from logbook.cli.main import run
from logbook.store.finding import LogPlace
from logbook.store.lifecycle import open_log
from logbook.store.writing import put

Capture = pytest.CaptureFixture[str]
STANDING = "This is a record of what people said, not a contract."


def printed(capsys: Capture, *words: str) -> str:
    assert run(["credits", *words]) == 0
    return capsys.readouterr().out


@pytest.mark.usefixtures("sample")
def test_a_song_by_role_by_person_and_for_the_sleeve(capsys: Capture) -> None:
    out = printed(capsys, "low")
    told = " ".join(out.split())
    assert out.startswith("Low Tide Ledger, EP")
    assert "performer, guitar: Ina Ock" in out
    assert "Bertil: producer; engineer; mixer; mastering engineer" in out
    assert "Written by Ina Ock and Tam." in told
    assert "Ina Ock, writer: 1/2 (50 %)" in out
    assert "The version has no ISRC" in out
    assert STANDING in told
    assert max(map(len, out.splitlines())) <= 80


@pytest.mark.usefixtures("sample")
def test_one_way_only(capsys: Capture) -> None:
    for way, heading in (("role", "By role"), ("person", "By person"), ("sleeve", "For the")):
        out = printed(capsys, "low", "--by", way)
        headings = [line for line in out.splitlines() if line.startswith(("By ", "For "))]
        assert len(headings) == 1
        assert headings[0].startswith(heading)
        assert STANDING in " ".join(out.split())


@pytest.mark.usefixtures("sample")
def test_a_release_has_all_its_tracks(capsys: Capture) -> None:
    out = printed(capsys, "Slack Water", "--by", "sleeve")
    for title in ("Low Tide Ledger", "Lantern on the Slip", "Varnish", "Rowan Gate"):
        assert f"{title}, EP, Slack Water" in out
    assert "no EAN or UPC" in out


@pytest.mark.usefixtures("sample")
def test_rows_for_a_spreadsheet(capsys: Capture, tmp_path: Path) -> None:
    rows = list(csv.DictReader(printed(capsys, "slack", "--as", "csv").splitlines()))
    assert {row["song"] for row in rows} >= {"Varnish", "Rowan Gate"}
    played = [row for row in rows if row["song"] == "Varnish" and row["role"] == "performer"]
    assert {(row["name"], row["instrument"]) for row in played} == {
        ("Ina Ock", "guitar"),
        ("Tam", "guitar"),
        ("Tam", "bass"),
    }
    out = tmp_path / "credits.csv"
    printed(capsys, "slack", "--as", "csv", "--out", str(out))
    with out.open(encoding="utf-8", newline="") as file:
        assert list(csv.DictReader(file)) == rows


@pytest.mark.usefixtures("sample")
def test_as_data(capsys: Capture, tmp_path: Path) -> None:
    (data,) = json.loads(printed(capsys, "rowan", "--json"))
    assert data["song"] == "Rowan Gate"
    assert [share["share"] for share in data["shares"]] == ["1/3", "1/3", "1/3"]
    assert data["standing"].startswith(STANDING)
    out = tmp_path / "credits.json"
    printed(capsys, "rowan", "--as", "json", "--out", str(out))
    assert json.loads(out.read_text(encoding="utf-8")) == [data]


def test_who_is_not_heard_is_listed_apart(sample: str, capsys: Capture) -> None:
    with open_log(sample) as store, store.change("edit") as change:
        place = LogPlace("Low Tide Ledger", "EP")
        put(change, r.Part(name="voice", heard=False), place, given={"heard"})
    out = printed(capsys, "low")
    assert "performer, voice: " not in out
    assert "Ina Ock: performer, voice (voice), not used in the final version" in " ".join(
        out.split()
    )


def test_a_song_and_a_release_of_one_title(sample: str, capsys: Capture) -> None:
    with open_log(sample) as store, store.change("add") as change:
        put(change, r.Project(title="Varnish", tracks=(r.Track(song="Varnish", version="EP"),)))
    assert run(["credits", "Varnish"]) == 0
    assert "--project" in capsys.readouterr().err
    assert "Varnish, EP, Varnish" in printed(capsys, "Varnish", "--project")


def test_names_like_formulas_are_harmless(sample: str, capsys: Capture) -> None:
    with open_log(sample) as store, store.change("add") as change:
        put(change, r.Person(name="=HYPERLINK(1)"))
        role = r.Role(person="=HYPERLINK(1)", role="producer")
        put(change, role, LogPlace("Varnish", "EP"))
    rows = list(csv.reader(printed(capsys, "varn", "--as", "csv").splitlines()))
    assert any("'=HYPERLINK(1)" in row for row in rows)
    assert not any(cell.startswith("=") for row in rows for cell in row)


@pytest.mark.usefixtures("sample")
@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["nothing"], "no song or project is called"),
        (["low", "--by", "height"], "not sorted by height"),
        (["low", "--as", "poem"], "cannot be written as poem"),
        (["slack", "--version", "EP"], "is a project"),
        (["low", "--version", "live"], "no version is called"),
        (["low", "--project"], "no project is called"),
        ([], "none is current"),
    ],
    ids=range(7),
)
def test_what_cannot_be_done_is_one_sentence(words: list[str], says: str, capsys: Capture) -> None:
    assert run(["credits", *words]) == 2
    caught = capsys.readouterr()
    assert says in caught.err
    assert len(caught.err.strip().splitlines()) == 1
