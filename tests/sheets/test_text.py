"""How a sheet looks as text: nothing too wide, everything told without colour."""

from __future__ import annotations

import re
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from logbook.records import Log, MeterChange, Part, Pattern, Voicing
from logbook.sheets import text
from logbook.sheets.blocks import Chart
from logbook.sheets.catalog import draw_sheet, make_sheet
from logbook.sheets.charts import ChartBar, ChartChord, ChartSection
from logbook.sheets.lines import cell_len, cut, wrapped
from logbook.sheets.looks import Look, Sheet, Wanted
from logbook.sheets.svg_chart import chart_pages
from logbook.sheets.text_chart import chart_lines

sys.path.insert(0, str(Path(__file__).parent))
from material import EP, FERRY, GUITAR, LOG

WIDTHS = (60, 80, 100, 120)


def made(log: Log = LOG, part: str = "") -> Sheet:
    return make_sheet("player", log, Wanted("The Ferry Bell", part=part))


def drawn(width: int = 80, log: Log = LOG, part: str = "", **look: bool) -> str:
    sheet = draw_sheet(made(log, part), "text", Look(width=width, **look))
    assert isinstance(sheet, str)
    return sheet


def with_part(part: Part) -> Log:
    return replace(LOG, songs=(replace(FERRY, versions=(replace(EP, parts=(part,)),)),))


def section(sheet: str, heading: str) -> list[str]:
    """The lines under a heading of level 3, up to the next one or a rule."""
    lines = sheet.splitlines()
    start = next(n for n, line in enumerate(lines) if line.split("  ")[0] == heading)
    return lines[start + 1 :]


@pytest.mark.parametrize("width", WIDTHS)
def test_no_line_is_wider_than_the_page_or_ends_in_blanks(width: int) -> None:
    for line in drawn(width).splitlines():
        assert cell_len(line) <= width, line
        assert line == line.rstrip()


@pytest.mark.parametrize(("width", "side_by_side"), [(60, 2), (80, 3), (120, 4)])
def test_as_many_diagrams_stand_side_by_side_as_fit(width: int, side_by_side: int) -> None:
    chords = section(drawn(width, part="first guitar"), "Chords")
    names = next(line for line in chords if line.startswith("A ")).split()
    assert names == ["A", "Dadd9", "E", "E/G♯"][:side_by_side]


def test_a_card_says_names_frets_both_ways_notes_and_degrees() -> None:
    card = [line[:24].rstrip() for line in section(drawn(part="first guitar"), "Chords")[:12]]
    assert card == [
        "A",
        "shape G",
        " nut     o o o   capo",
        "   2 ▀▀▀▀▀▀▀▀▀▀▀ capo",
        "   3 │ │ │ │ │ │ 1",
        "   4 │ 1 │ │ │ │ 2",
        "   5 2 │ │ │ │ 3 3",
        "   6 │ │ │ │ │ │ 4",
        " nut 5 4 0 0 0 5",
        "capo 3 2 0 0 0 3 <",
        "A2  C♯3 E3  A3  C♯4 A4",
        "R   3   5   R   3   R",
    ]


def test_the_count_a_voicing_was_written_in_is_marked_and_explained() -> None:
    part = replace(
        GUITAR, voicings=(Voicing(label="A", frets="5 4 0 0 0 5", counted="nut"),), chart=()
    )
    sheet = drawn(log=with_part(part))
    assert " nut 5 4 0 0 0 5 <\n" in sheet
    assert "capo 3 2 0 0 0 3\n" in sheet
    assert "< the count it was written in" in sheet


def test_every_part_with_strings_begins_with_how_frets_are_counted() -> None:
    lines = drawn().splitlines()
    for name in ("FIRST GUITAR", "SECOND GUITAR", "MANDOLIN"):
        at = next(n for n, line in enumerate(lines) if line.startswith(name))
        glance = " ".join(lines[at + 2 : at + 5])
        assert "frets are counted" in glance


def test_the_chart_has_the_sounding_name_over_the_shape() -> None:
    chart = section(drawn(part="first guitar"), "Chart")
    first = next(n for n, line in enumerate(chart) if line.startswith("   1 │"))
    assert chart[first : first + 2] == [
        "   1 │ A           │ ·           │ Dadd9       │ · ╱ E/G♯ ╱  │",
        "     │ G           │ ·           │ Cadd9       │ ·   D/F♯    │",
    ]
    assert "Upper line: what sounds. Lower line: the shape the hands play." in " ".join(chart)


def test_chart_rows_have_four_bars_at_80_and_at_120() -> None:
    for width in (80, 120):
        chart = section(drawn(width, part="first guitar"), "Chart")
        chart = chart[: next(n for n, line in enumerate(chart) if line.startswith("Chords"))]
        rows = [line for line in chart if line[:4].strip().isdecimal() and "│" in line]
        assert [row.count("│") for row in rows] == [5, 5, 5, 5]


def test_voicings_that_share_a_name_are_told_apart_by_label() -> None:
    voicings = (
        Voicing(label="low A", name="A", frets="3 2 0 0 0 3"),
        Voicing(label="high A", name="A", frets="x x 5 4 3 3"),
    )
    chart = tuple(
        replace(GUITAR.chart[0], bar=n, voicing=v.label) for n, v in enumerate(voicings, 1)
    )
    lines = section(drawn(log=with_part(replace(GUITAR, voicings=voicings, chart=chart))), "Chart")
    assert any(line.startswith("     │ low A       │ high A") for line in lines)


def test_strokes_stand_under_their_count() -> None:
    lines = section(drawn(part="first guitar"), "Picking hand")
    assert lines[1:3] == ["  1 & 2 & 3 & 4 &", "  p . i m p i m a"]
    assert lines[4:6] == [
        "  1  e  &  a  2  e  &  a  3  e  &  a  4  e  &  a",
        "  >D .  .  U  .  .  D  U  x  .  D  U  .  .  D  U",
    ]


def test_a_long_pattern_is_broken_at_a_beat() -> None:
    line = " ".join(["[p5m2]..."] * 4)
    part = replace(GUITAR, patterns=(Pattern(label="wide", grid="1/16", line=line),))
    lines = section(drawn(60, log=with_part(part)), "Picking hand")
    assert lines[1].split()[0] == "1"
    assert lines[3].split()[0] in "234"


def test_a_pattern_that_does_not_fill_its_bar_says_so() -> None:
    part = replace(GUITAR, patterns=(Pattern(label="odd", grid="1/8", line="D.U"),))
    sheet = " ".join(drawn(log=with_part(part)).split())
    assert "the pattern has 3 steps of 1/8, and a bar of 4/4 has 8" in sheet


def test_a_pattern_is_read_in_the_meter_it_is_played_in() -> None:
    version = replace(EP, meters=(MeterChange(bar=1, meter="4/4"), MeterChange(bar=9, meter="6/8")))
    part = replace(GUITAR, patterns=(Pattern(label="strum", grid="1/8", line="pimami"),))
    log = replace(LOG, songs=(replace(FERRY, versions=(replace(version, parts=(part,)),)),))
    lines = section(drawn(log=log), "Picking hand")
    assert lines[:3] == ["strum  6/8, grid 1/8, straight", "  1 2 3 4 5 6", "  p i m a m i"]


def test_the_comp_is_a_sentence_and_a_bar_map() -> None:
    edit = section(drawn(part="first guitar"), "How it was taped")
    assert edit[0].startswith("Takes 2 and 5; bars 13–14 repeat 9–10; doubled by")
    assert "chorus          9 | 5+  5+  5   5" in edit


def test_what_the_checks_found_says_what_would_mend_it() -> None:
    asked = Wanted("The Ferry Bell", checks="yes")
    drawn_ = draw_sheet(make_sheet("player", LOG, asked), "text", Look())
    sheet = " ".join(str(drawn_).split())
    assert "What the checks found" not in drawn()
    assert "EP version, first guitar: voicing D: D is the shape name" in sheet
    assert "Fix: write E as its name." in sheet


def test_a_wide_reach_brings_the_caution() -> None:
    part = replace(
        GUITAR, capo="", counted="nut", chart=(), voicings=(Voicing(label="wide", frets="1xxx5x"),)
    )
    sheet = " ".join(drawn(log=with_part(part)).split())
    assert "Wide reach: " in sheet
    assert "123 mm. A wide or new fingering can strain the hand" in sheet
    assert "or a doctor" in sheet


def test_drawing_characters_can_be_done_without() -> None:
    assert drawn(ascii=True).isascii()


def test_a_terminal_gets_weight_and_colour_and_the_same_words() -> None:
    coloured = text.draw_coloured(made(), Look(width=80))
    assert "\x1b[1;36m" in coloured
    from rich.text import Text

    words = Text.from_ansi(coloured).plain
    assert [line.rstrip() for line in words.splitlines()] == drawn().splitlines()


def test_hostile_names_neither_act_nor_break_the_page() -> None:
    part = replace(
        GUITAR,
        name="gtr\x1b[31m" + "x" * 200,
        player="ab\u202ecd\nnext line",
        notes="[bold red]not markup[/] " + "w" * 300,
        chain="録音 " * 40,
        voicings=(Voicing(label="A" * 90, frets="3 2 0 0 0 3"),),
        chart=(replace(GUITAR.chart[0], voicing="A" * 90),),
    )
    sheet = drawn(log=with_part(part))
    assert "\x1b" not in sheet
    assert "\u202e" not in sheet
    assert "[bold red]not" in sheet
    assert max(cell_len(line) for line in sheet.splitlines()) <= 80


def test_wrapped_text_keeps_its_width_and_its_words() -> None:
    words = "one two three " + "four" * 10 + " five"
    for width in (5, 8, 20):
        lines = wrapped(words, width, "  ")
        assert all(cell_len(line) <= width for line in lines)
        assert "".join("".join(lines).split()) == "".join(words.split())
    assert wrapped("", 10) == []


def test_cut_text_shows_that_it_was_cut() -> None:
    assert cut("second guitar", 8) == "second …"
    assert cut("録音録音", 5) == "録音…"
    assert cut("short", 8) == "short"


def test_a_crowded_bar_goes_on_below_itself_and_rows_stay_four() -> None:
    def chord(beat: str, name: str) -> ChartChord:
        return ChartChord(beat, beat, name, "", name)

    def bar(number: int, *chords: ChartChord) -> ChartBar:
        return ChartBar(number, 1, 8, None, chords, "")

    row = (
        bar(1, chord("1", "A")),
        bar(2, chord("1", "Asus4/E"), chord("3", "F#m7add11"), chord("5", "E7")),
        bar(3, chord("1", "D")),
        bar(4, chord("1", "A")),
    )
    section = ChartSection("verse", "1-4", "", (row,), False)
    chart = Chart((section,), with_shapes=False, with_labels=False)
    lines = ["".join(text for text, _ in line) for line in chart_lines(chart, Look(width=80))]
    assert lines[1:] == [
        "   1 │ A               │ Asus4/E ╱       │ D               │ A               │",
        "     │                 │ F♯m7add11 ╱     │                 │                 │",
        "     │                 │ E7 ╱ ╱ ╱        │                 │                 │",
    ]
    narrow = chart_lines(chart, Look(width=60))
    assert len(narrow) == 4
    assert all(sum(len(text) for text, _ in line) <= 60 for line in narrow)


def test_a_label_that_is_one_of_the_names_is_not_printed_again() -> None:
    def chord(concert: str, shape: str, label: str) -> ChartChord:
        return ChartChord("1", "1", concert, shape, label)

    row = (
        ChartBar(1, 1, 4, None, (chord("A", "G", "G"),), ""),
        ChartBar(2, 1, 4, None, (chord("A", "G", "high G"),), ""),
        ChartBar(3, 1, 4, None, (chord("A", "G", "A"),), ""),
    )
    chart = Chart((ChartSection("verse", "1-3", "", (row,), False),), True, True)
    lines = ["".join(text for text, _ in line) for line in chart_lines(chart, Look(width=80))]
    cells = [[cell.strip() for cell in line.split("│")[1:-1]] for line in lines[1:]]
    assert cells == [["A"] * 3, ["G"] * 3, ["", "high G", ""]]
    (page,) = chart_pages(chart, width=500, height=400)
    assert re.findall(r'class="under"[^>]*>([^<]*)<', page) == ["G", "G high G", "G"]


def test_the_key_of_a_chart_follows_the_larger_names() -> None:
    sheet = make_sheet("live", LOG, Wanted("The Ferry Bell"))
    shapes, sounds = (str(draw_sheet(sheet, "text", Look(big=big))) for big in ("shapes", "sounds"))
    said = " ".join(shapes.split())
    assert "Upper line: the shape the hands play. Lower line: what sounds. · the" in said
    assert "Upper line: what sounds. Lower line: the shape" in " ".join(sounds.split())
    page = str(draw_sheet(sheet, "html", Look(big="shapes")))
    above = re.search(
        r'class="aloud">shape </span><b>([^<]+)</b>.*?, sounds </span><i>([^<]+)<', page
    )
    below = re.search(r'class="aloud">sounds </span><b>([^<]+)</b>.*?, shape </span><i>([^<]+)<',
                      str(draw_sheet(sheet, "html", Look())))  # fmt: skip
    assert above
    assert below
    assert above.groups() == below.groups()[::-1]
