"""The page: one file that needs nothing else, whole, escaped, in words where it draws."""

from __future__ import annotations

import json
import sys
from dataclasses import replace
from html.parser import HTMLParser
from itertools import pairwise
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logbook.errors import LogbookError
from logbook.notebook.read import read_log
from logbook.records import Log, Song, Version
from logbook.sheets import pdf
from logbook.sheets.blocks import Heading
from logbook.sheets.catalog import draw_sheet, make_sheet
from logbook.sheets.html import TEMPLATES
from logbook.sheets.looks import Look, Sheet, Wanted
from logbook.sheets.signs import with_signs
from logbook.sheets.svg_chord import chord_svg
from logbook.sheets.svg_comp import comp_row_svg, take_keys
from logbook.sheets.svg_marks import picture, text
from logbook.strings.ornaments import read_ornaments
from logbook.strings.tunings import find_tuning
from logbook.strings.voicing import describe

sys.path.insert(0, str(Path(__file__).parent))
from material import EP, FERRY, GUITAR, LOG

SAMPLE = Path(__file__).parents[2] / "sample_session" / "session.toml"
SAMPLE_LOG = read_log(SAMPLE.read_text(encoding="utf-8"))
KINDS = ("player", "lesson", "live", "credits")
HOSTILE = "<script>alert('x')</script> \"q\" & {{ 7 * 7 }} </style><b>"
VOID = frozenset({"meta", "br", "input", "link", "img", "hr"})


class Reader(HTMLParser):
    """Reads a page strictly: every element that is opened is closed, in order."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.seen: list[tuple[str, dict[str, str | None]]] = []
        self.text = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.seen.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.seen.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if self.open and self.open[-1] not in ("style", "script"):
            self.text += data


def page(kind: str, log: Log, title: str, **look: Any) -> str:
    drawn = draw_sheet(make_sheet(kind, log, Wanted(title)), "html", Look(**look))
    assert isinstance(drawn, str)
    return drawn


def read(drawn: str) -> Reader:
    reader = Reader()
    reader.feed(drawn)
    reader.close()
    assert reader.open == []
    return reader


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("title", [song.title for song in SAMPLE_LOG.songs])
def test_a_page_is_whole_and_needs_nothing_from_elsewhere(kind: str, title: str) -> None:
    drawn = page(kind, SAMPLE_LOG, title)
    reader = read(drawn)
    for tag, attributes in reader.seen:
        assert tag not in ("script", "link", "img", "iframe", "object")
        for name in ("src", "href", "xlink:href"):
            assert (attributes.get(name) or "#").startswith("#")
    for word in ("url(", "@import", 'http-equiv="refresh'):
        assert word not in drawn
    # The only addresses are the names of SVG's own language.
    assert drawn.count("http:") == drawn.count("http://www.w3.org/2000/svg")
    assert "https:" not in drawn
    assert len(drawn.encode()) < 200_000


@pytest.mark.parametrize("kind", KINDS)
def test_headings_go_down_one_step_at_a_time(kind: str) -> None:
    reader = read(page(kind, SAMPLE_LOG, "Low Tide Ledger"))
    levels = [int(tag[1]) for tag, _ in reader.seen if tag in ("h1", "h2", "h3", "h4")]
    assert levels.count(1) == 1
    assert levels[0] == 1
    assert all(after - before <= 1 for before, after in pairwise(levels))


def test_every_table_has_heads_and_every_picture_its_words() -> None:
    for kind in KINDS:
        reader = read(page(kind, SAMPLE_LOG, "Low Tide Ledger"))
        for tag, attributes in reader.seen:
            if tag == "th":
                assert attributes.get("scope") in ("col", "row")
            if tag == "svg":
                assert attributes["role"] == "img"
                assert attributes["aria-label"]
        ids = [attributes["id"] for _, attributes in reader.seen if "id" in attributes]
        assert len(ids) == len(set(ids))


def test_a_picture_tells_the_diagram_string_by_string() -> None:
    reader = read(page("player", SAMPLE_LOG, "Low Tide Ledger"))
    labels = [a["aria-label"] for tag, a in reader.seen if tag == "svg" and a["class"] == "chord"]
    assert labels[0] == (
        "Diagram of A, shape G, capo 2. Frets from the nut: string 6 fret 5 finger 2, string 5 "
        "fret 4 finger 1, string 4 open, string 3 open, string 2 open, string 1 fret 5 finger 3."
    )


@pytest.mark.parametrize("kind", KINDS)
def test_hostile_names_are_text(kind: str) -> None:
    part = replace(GUITAR, name=HOSTILE, player=HOSTILE, notes=HOSTILE, technique=HOSTILE)
    version = replace(EP, name=HOSTILE, parts=(part,))
    log = replace(LOG, songs=(replace(FERRY, title=HOSTILE, versions=(version,)),))
    reader = read(page(kind, log, HOSTILE))
    assert "script" not in {tag for tag, _ in reader.seen}
    assert HOSTILE in reader.text, "and neither markup nor template code is obeyed"


@given(st.text(max_size=60))
@settings(max_examples=60, deadline=None)
def test_any_title_and_note_give_a_whole_page(written: str) -> None:
    title = written or "?"
    log = Log(songs=(Song(title=title, notes=written, versions=(Version(name="v"),)),))
    for kind in ("player", "live"):
        made = make_sheet(kind, log, Wanted(log.songs[0].title))
        read(str(draw_sheet(made, "html", Look())))


def test_day_and_night_and_paper_are_provided_for() -> None:
    drawn = page("player", SAMPLE_LOG, "Varnish")
    assert "prefers-color-scheme: dark" in drawn
    assert "@media print" in drawn
    assert "break-inside: avoid" in drawn
    assert 'lang="en"' in drawn


def test_json_and_html_say_the_same_chords() -> None:
    made = make_sheet("player", SAMPLE_LOG, Wanted("Rowan Gate"))
    data = json.loads(str(draw_sheet(made, "json", Look())))
    reader = read(str(draw_sheet(made, "html", Look())))
    for part in data["versions"][0]["parts"]:
        for card in part["chords"]:
            shown = with_signs(card["concert"])
            assert shown in reader.text


# Pictures


def svg(frets: str, **more: Any) -> ElementTree.Element:
    voicing = describe(frets, find_tuning(more.pop("tuning", "standard")))
    return ElementTree.fromstring(chord_svg(voicing, label="x", **more))


def all_of(root: ElementTree.Element, name: str) -> list[ElementTree.Element]:
    return [each for each in root.iter() if name in (each.get("class") or "").split()]


def test_a_barre_is_one_bar_under_its_dots() -> None:
    root = svg("1 3 3 2 1 1")
    (barre,) = all_of(root, "barre")
    dots = all_of(root, "dot")
    assert len(dots) == 6
    held = [float(d.get("cx", 0)) for d in dots if d.get("data-fret") == "1"]
    assert float(barre.get("x1", 0)) == min(held)
    assert float(barre.get("x2", 0)) == max(held)


def test_a_left_hand_turns_places_round_and_not_the_figures() -> None:
    right, left = svg("x 3 2 0 1 0"), svg("x 3 2 0 1 0", left_handed=True)
    place = {
        hand: {d.get("data-string"): float(d.get("cx", 0)) for d in all_of(root, "dot")}
        for hand, root in (("right", right), ("left", left))
    }
    ends = [float(line.get("x1", 0)) for line in all_of(right, "string")]
    for string, x in place["right"].items():
        assert place["left"][string] == pytest.approx(min(ends) + max(ends) - x)
    words = [[e.text for e in root.iter() if e.text] for root in (right, left)]
    assert sorted(filter(None, words[0])) == sorted(filter(None, words[1]))


def test_ornaments_are_drawn_where_the_neck_has_them() -> None:
    root = svg("x 3 2 0 1 0", ornaments=read_ornaments("slide 2 1-5"))
    assert float(root.get("data-first-fret", 0)) == 1
    numbers = [each.text for each in root.iter() if each.text and each.text.isdecimal()]
    assert "5" in numbers, "the picture reaches to where the slide ends"
    assert [e.get("data-ornament") for e in root.iter() if e.get("data-ornament")] == ["slide"]


@pytest.mark.parametrize("tuning", ["standard", "mandolin", "banjo", "ukulele", "bass"])
def test_every_string_is_named(tuning: str) -> None:
    tuned = find_tuning(tuning)
    root = svg(" ".join("0" * len(tuned)), tuning=tuning)
    names = [each.text for each in all_of(root, "string-name")]
    assert len(names) == len(all_of(root, "string")) == len(tuned)


def test_takes_differ_by_hatching_and_by_label() -> None:
    made = make_sheet("player", SAMPLE_LOG, Wanted("Low Tide Ledger"))
    rows = made.data.versions[0].parts[0].edit.rows
    keys = take_keys(rows)
    assert [key.label for key in keys] == ["2", "3", "4"]
    hatchings = [
        tuple(e.get("d") for e in ElementTree.fromstring(key.swatch).iter() if e.get("d"))
        for key in keys
    ]
    assert len(set(hatchings)) == 3
    chorus = ElementTree.fromstring(comp_row_svg(rows[2], rows))
    cells = [e for e in chorus.iter() if e.get("data-bar")]
    assert [(e.get("data-bar"), e.get("data-takes")) for e in cells] == [
        ("7", "4"), ("8", "4"), ("9", "4"), ("10", "4"),
    ]  # fmt: skip
    assert "bar 9 take 4 also heard elsewhere from other bars" in str(chorus.get("aria-label"))
    colours = {e.get("fill") for e in chorus.iter()} | {e.get("stroke") for e in chorus.iter()}
    assert colours <= {None, "none", "currentColor", "#fff"}


def test_text_in_a_picture_is_escaped() -> None:
    made = picture("k", 10, 10, 'a < b & "c"', text(1, 2, "<b> & 'c'", size=3))
    root = ElementTree.fromstring(made)
    assert root.get("aria-label") == 'a < b & "c"'
    assert [each.text for each in root] == ["<b> & 'c'"]


# PDF


def test_without_weasyprint_a_sentence_says_how_to_get_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "weasyprint", None)
    with pytest.raises(LogbookError, match=r"session-logbook\[pdf\].*HTML"):
        pdf.draw(make_sheet("credits", SAMPLE_LOG, Wanted("Varnish")), Look())


def test_a_pdf_is_made_where_it_is_there() -> None:
    pytest.importorskip("weasyprint", reason="the extra pdf is not installed")
    made = pdf.draw(make_sheet("credits", SAMPLE_LOG, Wanted("Varnish")), Look())
    assert made.startswith(b"%PDF-")


@given(st.lists(st.text("ps-1 Ä?") | st.sampled_from(("P 1", "s-", "Sheet", "words")), max_size=9))
def test_every_heading_has_an_anchor_of_its_own(titles: list[str]) -> None:
    sheet = Sheet("player", "A page", {}, tuple(Heading(2, each) for each in titles))
    reader = Reader()
    reader.feed(draw_sheet(sheet, "html", Look()))
    ids = [str(found["id"]) for _, found in reader.seen if "id" in found]
    assert len(ids) == len(set(ids)) >= len(titles)
    assert not any(each.startswith(("p-", "s-")) for each in ids)


def test_the_player_is_a_small_script() -> None:
    assert len((TEMPLATES / "play.js").read_bytes()) < 30_000
