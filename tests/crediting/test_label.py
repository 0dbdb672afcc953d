"""What a label asks: rights lines, times of work, artists, and who is named on which track."""

from __future__ import annotations

from dataclasses import replace

import pytest

from logbook.crediting.credits import credits_of_project
from logbook.crediting.errors import CreditError
from logbook.crediting.rights import read_moment, read_rights
from logbook.crediting.wording import apart_lines, by_role, csv_rows, sleeve_line
from logbook.records import Log, Part, Person, Project, Role, Session, Song, Track, Version
from logbook.sheets.label_copy import AskedCredits
from tests.sheets.drawing import lines_of


@pytest.mark.parametrize(
    ("text", "kept"),
    [
        ("2026 Slack Water Records", "2026 Slack Water Records"),
        ("(P) 2026  Slack Water", "2026 Slack Water"),
        ("\N{SOUND RECORDING COPYRIGHT} 2026 Ina", "2026 Ina"),
        ("\N{COPYRIGHT SIGN}2025 Ina", "2025 Ina"),
    ],
)
def test_a_rights_line_names_a_year_and_an_owner(text: str, kept: str) -> None:
    assert read_rights(text) == kept
    assert read_rights(kept) == kept


@pytest.mark.parametrize("text", ["", "2026", "Slack Water", "26 Ina", "(P) Ina 2026"])
def test_rights_lines_that_are_none(text: str) -> None:
    with pytest.raises(CreditError, match="does not name a year and an owner"):
        read_rights(text)


@pytest.mark.parametrize(
    ("text", "kept"),
    [
        ("2026-05-02 10:00 +02:00", "2026-05-02T10:00+02:00"),
        ("2026-05-02T10:00Z", "2026-05-02T10:00+00:00"),
        ("2026-05-02T10:00:30-03:30", "2026-05-02T10:00-03:30"),
    ],
)
def test_a_time_of_work_has_its_zone(text: str, kept: str) -> None:
    """ISO 8601."""
    assert read_moment(text) == kept
    assert read_moment(kept) == kept


@pytest.mark.parametrize("text", ["", "10:00", "2026-05-02", "2026-05-02 10:00", "noon +02:00"])
def test_times_without_a_zone_are_refused(text: str) -> None:
    with pytest.raises(CreditError, match="not a time with a time zone"):
        read_moment(text)


def song(title: str, *roles: Role, **fields: str) -> Song:
    part = Part(name="guitar", player="Ina", heard=True)
    version = Version(name="EP", parts=(part,), roles=roles, **fields)  # type: ignore[arg-type]
    return Song(title=title, versions=(version,))


FEATURED = Role(person="Bo", role="performer", instrument="fiddle", billing="featured")
HIDDEN = Role(person="Cy", role="mixer", billing="uncredited")
HIRED = Role(person="Dee", role="performer", instrument="bass", billing="contracted")
ARTIST = Role(person="Ina", role="main artist")
LOG = Log(
    people=tuple(Person(name=name) for name in ("Ina", "Bo", "Cy", "Dee")),
    sessions=(Session(name="one"),),
    songs=(
        song("One", ARTIST, HIRED, language="English", genre="folk", explicit="clean"),
        song("Two", ARTIST, FEATURED, HIDDEN),
        song("Three", ARTIST),
    ),
    projects=(
        Project(
            title="Slack", artist="Ina", phonogram="2026 Ina", date="2026-09-01",
            tracks=tuple(Track(song=each, version="EP") for each in ("One", "Two", "Three")),
        ),
    ),
)  # fmt: skip


def test_display_artist_contracted_and_uncredited() -> None:
    one, two, _ = credits_of_project(LOG, "Slack")
    assert dict(two.facts)["artist"] == "Ina feat. Bo"
    assert dict(one.facts) == {
        "artist": "Ina", "language": "English", "genre": "folk", "explicit": "clean",
        "contracted": "Dee",
    }  # fmt: skip
    assert "mixer" not in dict(by_role(two))
    assert "Cy" not in sleeve_line(two)
    assert "Cy: mixer (EP), uncredited, as they wish" in apart_lines(two)
    named = replace(LOG.songs[1].versions[0], artist="The Inas")
    songs = (LOG.songs[0], replace(LOG.songs[1], versions=(named,)), LOG.songs[2])
    found = credits_of_project(replace(LOG, songs=songs), "Slack")[1]
    assert dict(found.facts)["artist"] == "The Inas feat. Bo"


def test_a_spreadsheet_has_what_a_label_asks() -> None:
    header, *cells = csv_rows(credits_of_project(LOG, "Slack"))
    rows = [dict(zip(header, row, strict=True)) for row in cells]
    dee = next(row for row in rows if row["name"] == "Dee")
    asked = ("billing", "artist", "language", "genre", "explicit", "published", "(P)", "(C)")
    assert [dee[each] for each in asked] == [
        "contracted", "Ina", "English", "folk", "clean", "2026-09-01", "2026 Ina", "",
    ]  # fmt: skip
    (hidden,) = [row for row in rows if row["name"] == "Cy"]
    assert (hidden["billing"], hidden["standing"]) == ("uncredited", "credited")
    assert hidden["artist"] == "Ina feat. Bo"


def test_an_album_says_once_who_is_on_it_and_what_is_missing_at_its_end() -> None:
    text = "\n".join(lines_of("label copy", AskedCredits(credits_of_project(LOG, "Slack"))))
    plain = " ".join(text.split())
    assert "performer, fiddle: Bo (on 2)" in plain
    assert "main artist: Ina" in plain
    assert "(P) 2026 Ina" in plain
    missing = plain.rpartition("Missing")[2]
    assert "No copyright line of the release" in missing
    assert "On 2 and 3: no language; set its language." in missing
    assert plain.index("Missing") > plain.index("3. Three")
    assert plain.count("Missing") == 1
