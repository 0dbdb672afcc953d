"""The book: what pages there are, that only what changed is written, and never over what is not
its own."""

from __future__ import annotations

import json
import os
import re
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.cli.main import run
from logbook.errors import LogbookError
from logbook.notebook.read import read_log
from logbook.records import Instrument, Log, Person, Session, Song, Version
from logbook.sheets import book_files
from logbook.sheets.book import plan_book
from logbook.sheets.book_files import LIST, WrittenBook, write_book
from logbook.sheets.book_names import addresses, plain_name
from logbook.sheets.looks import Look
from logbook.store.lifecycle import open_log
from logbook.store.reading import read_log as read_stored

SAMPLE = Path(__file__).parents[2] / "sample_session" / "session.toml"
LOG = read_log(SAMPLE.read_text(encoding="utf-8"))
PAGES = 1 + 4 * 5 + 1 + 1 + 2 + 5 + 3


def written(log: Log, folder: Path, look: Look | None = None) -> WrittenBook:
    return write_book(plan_book(log), folder, look or Look(), lambda total: lambda done: None)


def times(folder: Path) -> dict[str, int]:
    return {
        str(page.relative_to(folder)): page.stat().st_mtime_ns for page in folder.rglob("*.html")
    }


def changed(log: Log, title: str, **fields: Any) -> Log:
    songs = tuple(replace(s, **fields) if s.title == title else s for s in log.songs)
    return replace(log, songs=songs)


def test_a_book_has_a_page_for_everything(tmp_path: Path) -> None:
    done = written(LOG, tmp_path)
    assert done == WrittenBook(PAGES, 0, 0, ())
    assert sorted(times(tmp_path))[:4] == [
        "index.html", "instruments/fretted-bass.html", "instruments/mandolin.html",
        "instruments/parlour-guitar.html",
    ]  # fmt: skip
    index = (tmp_path / "index.html").read_text(encoding="utf-8")
    for song in LOG.songs:
        assert song.title in index
    assert "DADGAD" in index
    person = (tmp_path / "people" / "ina.html").read_text(encoding="utf-8")
    assert '<a href="../songs/varnish.html">Varnish</a>' in person
    assert "Ina Vesterlund-Ock" in person
    session = (tmp_path / "sessions" / "day-one.html").read_text(encoding="utf-8")
    assert "guitar take 2 (complete)" in session
    assert "../people/bertil.html" in session
    instrument = (tmp_path / "instruments" / "mandolin.html").read_text(encoding="utf-8")
    assert "Rowan Gate" in instrument
    lesson = (tmp_path / "songs" / "rowan-gate__lesson.html").read_text(encoding="utf-8")
    assert 'href="rowan-gate.html"' in lesson
    assert "../sessions/day-two.html" in lesson


def test_a_second_run_writes_nothing(tmp_path: Path) -> None:
    written(LOG, tmp_path)
    before = times(tmp_path)
    assert written(LOG, tmp_path) == WrittenBook(0, PAGES, 0, ())
    assert times(tmp_path) == before


def test_one_change_writes_that_song_and_what_names_it(tmp_path: Path) -> None:
    written(LOG, tmp_path)
    before = times(tmp_path)
    done = written(changed(LOG, "Varnish", notes="the second take is the one"), tmp_path)
    after = times(tmp_path)
    assert done.written == 5
    assert {page for page in after if after[page] != before[page]} == {
        "songs/varnish.html", "songs/varnish__lesson.html", "songs/varnish__live.html",
        "songs/varnish__credits.html", "index.html",
    }  # fmt: skip
    assert "the second take is the one" in (tmp_path / "songs" / "varnish.html").read_text()


def test_a_person_renamed_on_the_sleeve_changes_the_songs_that_name_them(tmp_path: Path) -> None:
    written(LOG, tmp_path)
    people = tuple(replace(p, credited_as="T. Orrwell") if p.name == "Tam" else p
                   for p in LOG.people)  # fmt: skip
    done = written(replace(LOG, people=people), tmp_path)
    # Every song names Tam: four pages each; her own page, and the index she is searched in.
    assert done.written == 4 * 4 + 2
    assert "T. Orrwell" in (tmp_path / "songs" / "varnish__credits.html").read_text()


def test_songs_that_did_not_change_are_not_worked_out_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    written(LOG, tmp_path)
    asked = []
    worked_out = book_files.song_page_texts

    def counted(pages: Any, look: Look) -> Any:
        asked.append(pages.title)
        return worked_out(pages, look)

    monkeypatch.setattr(book_files, "song_page_texts", counted)
    written(changed(LOG, "Rowan Gate", notes="x"), tmp_path)
    assert asked == ["Rowan Gate"]


def test_pages_of_what_is_gone_are_removed(tmp_path: Path) -> None:
    written(LOG, tmp_path)
    fewer = replace(LOG, songs=LOG.songs[:3])
    done = written(fewer, tmp_path)
    assert done.removed == 5
    assert not list(tmp_path.glob("songs/rowan*"))
    assert "Rowan Gate" not in (tmp_path / "index.html").read_text()


def test_what_the_book_did_not_write_stays(tmp_path: Path) -> None:
    written(LOG, tmp_path)
    mine = tmp_path / "songs" / "my-notes.html"
    mine.write_text("<p>mine</p>")
    (tmp_path / "songs" / "varnish.html").write_text("<p>I took this page over</p>")
    done = written(replace(LOG, songs=LOG.songs[:2]), tmp_path)
    assert mine.read_text() == "<p>mine</p>"
    assert done.kept == ("songs/varnish.html",)
    assert (tmp_path / "songs" / "varnish.html").exists()


def test_a_folder_with_an_index_of_its_own_is_refused(tmp_path: Path) -> None:
    (tmp_path / "index.html").write_text("<p>my site</p>")
    with pytest.raises(LogbookError, match=r"index\.html already exists and is not a page"):
        written(LOG, tmp_path)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["index.html"]


def test_a_book_whose_list_is_lost_or_broken_is_written_again(tmp_path: Path) -> None:
    written(LOG, tmp_path)
    for broken in ("", "{", "[]", '{"pages": 3}', '{"pages": {"a": 1}}'):
        (tmp_path / LIST).write_text(broken)
        assert written(LOG, tmp_path).written == PAGES
    (tmp_path / LIST).unlink()
    assert written(LOG, tmp_path).written == PAGES


def test_a_list_that_points_outside_removes_nothing(tmp_path: Path) -> None:
    folder, outside = tmp_path / "book", tmp_path / "precious.html"
    written(LOG, folder)
    outside.write_text((folder / "index.html").read_text())
    listed = json.loads((folder / LIST).read_text())
    for path in (
        "../precious.html",
        str(outside),
        "songs/../../precious.html",
        "..\\precious.html",
    ):
        listed["pages"][path] = "x"
    (folder / LIST).write_text(json.dumps(listed))
    assert written(LOG, folder).removed == 0
    assert outside.exists()


@pytest.mark.skipif(os.name == "nt", reason="links need rights there")
def test_a_folder_that_is_a_link_is_refused(tmp_path: Path) -> None:
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    (tmp_path / "book").mkdir()
    (tmp_path / "book" / "songs").symlink_to(elsewhere)
    with pytest.raises(LogbookError, match="leads out of the book's folder"):
        written(LOG, tmp_path / "book")
    assert list(elsewhere.iterdir()) == []


def test_a_page_that_was_deleted_is_written_again(tmp_path: Path) -> None:
    written(LOG, tmp_path)
    (tmp_path / "songs" / "varnish__live.html").unlink()
    (tmp_path / "songs" / "low-tide-ledger__takes.html").unlink()
    assert written(LOG, tmp_path).written == 2


def test_another_look_writes_every_page_again(tmp_path: Path) -> None:
    written(LOG, tmp_path)
    assert written(LOG, tmp_path, Look(left_handed=True)).written == PAGES


def test_a_run_that_was_cut_off_is_finished_by_the_next(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    written(LOG, tmp_path)
    kept = book_files._write
    count = 0

    def failing(file: Path, text: str) -> None:
        nonlocal count
        count += 1
        if count > 3:
            raise OSError(28, "No space left on device")
        kept(file, text)

    later = changed(LOG, "Varnish", notes="later")
    monkeypatch.setattr(book_files, "_write", failing)
    with pytest.raises(OSError, match="No space"):
        written(later, tmp_path)
    monkeypatch.setattr(book_files, "_write", kept)
    written(later, tmp_path)
    assert "later" in (tmp_path / "songs" / "varnish.html").read_text()
    assert not list(tmp_path.rglob("*.new"))


def test_what_cannot_be_worked_out_is_said_on_its_page(tmp_path: Path) -> None:
    (version,) = LOG.songs[0].versions
    bad = replace(version, key="H flat", arrangements=())
    log = changed(LOG, LOG.songs[0].title, versions=(bad,))
    assert written(log, tmp_path).written == PAGES
    page = (tmp_path / "songs" / "low-tide-ledger__live.html").read_text()
    assert "cannot be worked out" in page


def test_an_empty_log_gives_an_index_that_says_so(tmp_path: Path) -> None:
    assert written(Log(), tmp_path).written == 1
    assert "The log is empty." in (tmp_path / "index.html").read_text()


def test_many_songs_are_made_by_several_processes_alike(tmp_path: Path) -> None:
    songs = tuple(Song(title=f"Song {n}", versions=(Version(name="v"),)) for n in range(60))
    alone, together = tmp_path / "alone", tmp_path / "together"
    for song in range(0, 60, 20):
        written(Log(songs=songs[: song + 20]), alone)
    done = written(Log(songs=songs), together)
    assert done.written == 1 + 60 * 4
    for page in times(together):
        assert (together / page).read_bytes() == (alone / page).read_bytes()


# Names


@given(st.lists(st.text(max_size=80), unique=True, max_size=30))
def test_addresses_are_safe_and_never_the_same(names: list[str]) -> None:
    found = addresses(names)
    assert len({address.casefold() for address in found.values()}) == len(names)
    for address in found.values():
        assert 1 <= len(address) <= 60
        assert set(address) <= set("abcdefghijklmnopqrstuvwxyz0123456789-")
        assert address not in ("con", "nul", "index")


@pytest.mark.parametrize(
    ("name", "address"),
    [
        ("Low Tide Ledger", "low-tide-ledger"),
        ("  Ærlig?  Été à l'île/2 ", "aerlig-ete-a-lile-2"),
        ("../../etc/passwd", "etc-passwd"),
        ("夜", ""),
        ("a" * 200, "a" * 60),
    ],
)
def test_a_name_becomes_an_address(name: str, address: str) -> None:
    assert plain_name(name) == address


def test_names_that_come_out_alike_get_addresses_that_do_not_depend_on_the_others() -> None:
    both = addresses(["Tide!", "tide", "Ebb"])
    assert both["Ebb"] == "ebb"
    assert both["Tide!"].startswith("tide-")
    assert both["tide"] != both["Tide!"]
    assert addresses(["tide", "x", "Tide!"])["Tide!"] == both["Tide!"]


def test_odd_names_all_get_pages(tmp_path: Path) -> None:
    names = ["夜", "con", "index", "a/b", "A B", "\u202egnos", "x" * 300, "..", "<b>", "0123456789"]
    names += ["bell\x07", "bell\u2407"]  # the same once they are made harmless
    log = Log(
        songs=tuple(Song(title=name) for name in names),
        people=tuple(Person(name=name) for name in names),
        instruments=tuple(Instrument(name=name) for name in names),
        sessions=tuple(Session(name=name) for name in names),
    )
    assert written(log, tmp_path).written == 1 + 12 * 7
    assert len(times(tmp_path)) == 1 + 12 * 7
    assert _only_inside(tmp_path)


def _only_inside(folder: Path) -> bool:
    allowed: Iterable[str] = {"songs", "people", "instruments", "sessions"}
    return {path.name for path in folder.iterdir() if path.is_dir()} <= set(allowed)


# The command


def test_the_command_says_what_it_did(
    sample: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "the book"
    assert run(["book", str(folder)]) == 0
    assert f"{PAGES} pages written, 0 unchanged" in capsys.readouterr().out
    # Songs are read one after another there, and all at once here.
    with open_log(sample) as store, store.reading() as connection:
        written(read_stored(connection), tmp_path / "at once")
    assert all(
        (folder / page).read_bytes() == (tmp_path / "at once" / page).read_bytes()
        for page in times(tmp_path / "at once")
    )
    assert run(["song", "edit", "Varnish", "--notes", "loud"]) == 0
    capsys.readouterr()
    assert run(["book", str(folder)]) == 0
    assert f"5 pages written, {PAGES - 5} unchanged" in capsys.readouterr().out


def test_a_file_in_place_of_the_folder_is_refused(
    sample: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "file"
    file.write_text("x")
    assert run(["book", str(file)]) == 2
    assert "is not a folder" in capsys.readouterr().err


def test_what_searching_the_log_looks_into_the_index_looks_into_too() -> None:
    from logbook.sheets.book_words import SEARCHED
    from logbook.store.searching import SEARCHED as IN_THE_LOG

    assert {column for columns in IN_THE_LOG.values() for column in columns} <= SEARCHED


@pytest.mark.parametrize(
    ("words", "page"),
    [
        ("outboard motor", "songs/low-tide-ledger.html"),
        ("palm on the bridge", "songs/low-tide-ledger.html"),
        ("lost the words", "songs/low-tide-ledger.html"),
        ("buzz on the low string", "songs/rowan-gate.html"),
        ("refrain", "songs/lantern-on-the-slip.html"),
        ("windows shut", "sessions/day-two.html"),
        ("above fret 12", "instruments/parlour-guitar.html"),
        ("slack water", "releases/slack-water.html"),
        ("harbour fair", "setlists/harbour-fair.html"),
    ],
)
def test_the_index_finds_the_page_of_what_was_noted_anywhere(words: str, page: str) -> None:
    found = [
        entry.link.address
        for entry in plan_book(LOG).entries
        if all(word in entry.words.casefold() for word in words.split())
    ]
    assert page in found


def test_releases_set_lists_and_takes_have_pages(tmp_path: Path) -> None:
    written(LOG, tmp_path)
    takes = (tmp_path / "songs" / "low-tide-ledger__takes.html").read_text(encoding="utf-8")
    assert 'data-part="guitar" data-version="EP"' in takes
    four = re.search(r'<tr role="row" data-take="4">.*?</tr>', takes, re.DOTALL)
    assert four is not None
    cells = re.findall(r">([^<>]+)</t[hd]>", four.group())
    assert cells[:4] == ["4", "incomplete", "7–10", "day one"]
    assert cells[-1] == "chorus only, twice the fire"
    assert "../sessions/day-one.html" in takes
    release = (tmp_path / "releases" / "slack-water.html").read_text(encoding="utf-8")
    assert release.index("Low Tide Ledger") < release.index("Rowan Gate")
    fair = (tmp_path / "setlists" / "harbour-fair.html").read_text(encoding="utf-8")
    assert fair.index("Lantern on the Slip") < fair.index("Low Tide Ledger")
    assert "harbour stage" in fair


def test_the_look_of_all_pages_is_in_one_file_and_a_page_is_light(tmp_path: Path) -> None:
    written(LOG, tmp_path)
    page = (tmp_path / "songs" / "low-tide-ledger.html").read_text(encoding="utf-8")
    assert '<link rel="stylesheet" href="../book.css">' in page
    assert "style-src &#39;self&#39;" in page or "style-src 'self'" in page
    assert '<link rel="stylesheet" href="book.css">' in (tmp_path / "index.html").read_text("utf-8")
    assert len(page.encode()) < 97_000
    styles = tmp_path / "book.css"
    styles.write_text("p { color: red }", encoding="utf-8")
    with pytest.raises(LogbookError, match=r"book\.css already exists and is not part of a book"):
        written(LOG, tmp_path)
    styles.unlink()
    written(LOG, tmp_path)
    assert styles.exists()


def test_anchors_are_named_after_what_stands_there(tmp_path: Path) -> None:
    song = LOG.songs[0]
    (version,) = song.versions
    other = replace(version, name="demo", arrangements=())
    log = replace(LOG, songs=(replace(song, versions=(version, other)),))
    written(log, tmp_path)
    page = (tmp_path / "songs" / "low-tide-ledger.html").read_text(encoding="utf-8")
    for anchor in ("guitar", "bass", "demo-guitar"):
        assert page.count(f'id="{anchor}"') == 1
        assert f'href="#{anchor}"' in page


@pytest.mark.parametrize(
    ("name", "address"),
    [
        ("L'Été du Søren", "lete-du-soren"),
        ("Don’t Go", "dont-go"),
        ("Łódź Straße", "lodz-strasse"),
        ("Ærø / Œuvre", "aero-oeuvre"),
    ],
)
def test_an_address_keeps_letters_and_parts_no_word_at_an_apostrophe(
    name: str, address: str
) -> None:
    assert plain_name(name) == address
