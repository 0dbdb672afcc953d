"""Charts engraved for paper: their sizes, what stands where, and how they are folded and paged."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from xml.etree import ElementTree

import pytest

from logbook.records import (
    ChartEntry,
    FormSection,
    Log,
    MeterChange,
    Part,
    Song,
    TechniqueNote,
    TempoChange,
    Version,
    Voicing,
)
from logbook.sheets.beat_places import least_wide, spread
from logbook.sheets.blocks import Chart
from logbook.sheets.catalog import draw_sheet, make_sheet
from logbook.sheets.chart_layout import (
    TextSizes,
    group_height,
    lay_section,
    least_height,
    needs_of,
    shown,
)
from logbook.sheets.charts import BARS_A_ROW, ChartSection
from logbook.sheets.folded import AL_CODA, AL_FINE, CODA, FINE, SEGNO, TO_CODA, bar_passes
from logbook.sheets.folding import fold
from logbook.sheets.looks import Look, Wanted
from logbook.sheets.player import PartSheet, player_sheet
from logbook.sheets.signs import with_dashes, with_signs
from logbook.sheets.svg_chart import (
    ALONE_LARGEST,
    ALONE_SMALLEST,
    LARGEST,
    SMALLEST,
    STAGE_SMALLEST,
    chart_pages,
)
from logbook.sheets.svg_marks import text_width
from logbook.sheets.text_chart import chart_lines

SVG = "{http://www.w3.org/2000/svg}"
NAMES = ("C", "G", "Am", "F", "Dm7", "Em", "Bb", "F#m7b5")
FRETS = ("x32010", "320003", "x02210", "133211", "xx0211", "022000", "x13331", "2x221x")
VOICINGS = tuple(Voicing(label=name, frets=frets) for name, frets in zip(NAMES, FRETS, strict=True))


def sheet_of(
    sections: Sequence[tuple[str, str]],
    *,
    more: Sequence[ChartEntry] = (),
    notes: Sequence[TechniqueNote] = (),
    **version: object,
) -> PartSheet:
    """A part that plays a chord a bar: each section is its name and its chords."""
    chart, form, bar = [], [], 1
    for name, chords in sections:
        form.append(FormSection(name=name, start=bar, bars=len(chords.split())))
        for chord in chords.split():
            if chord != ".":
                chart.append(ChartEntry(bar=bar, voicing=chord))
            bar += 1
    part = Part(
        name="guitar",
        tuning="standard",
        voicings=VOICINGS,
        chart=(*chart, *more),
        technique_notes=tuple(notes),
    )
    made = Version(name="demo", form=tuple(form), parts=(part,), **version)  # type: ignore[arg-type]
    log = Log(songs=(Song(title="Cartwheel", versions=(made,)),))
    return player_sheet(log, "Cartwheel").versions[0].parts[0]


def chart_of(sheet: PartSheet, *, stage: bool = False) -> Chart:
    return Chart(sheet.chart, False, False, sheet.chords, stage)


def pages_of(chart: Chart, height: float = 700, **more: str) -> list[ElementTree.Element]:
    pages = chart_pages(chart, width=521, height=height, **more)  # type: ignore[arg-type]
    return [ElementTree.fromstring(page) for page in pages]


def texts(page: ElementTree.Element, kind: str = "") -> list[str]:
    return [
        each.text or "" for each in page.iter(f"{SVG}text") if not kind or each.get("class") == kind
    ]


def marks(sections: Sequence[ChartSection]) -> dict[int, tuple[str, ...]]:
    return {
        bar.bar: (*bar.marks, *bar.notes)
        for section in sections
        for row in section.rows
        for bar in row
        if bar.marks or bar.notes
    }


VERSE, CHORUS = ("verse", "C G Am F"), ("chorus", "F G C C")


def test_meter_and_tempo_changes_and_remarks_stand_at_their_bars() -> None:
    sheet = sheet_of(
        [VERSE, CHORUS, VERSE],
        notes=(TechniqueNote(text="palm muted", bars="3-4"), TechniqueNote(text="always warm")),
        meters=(MeterChange(bar=1, meter="4/4"), MeterChange(bar=5, meter="6/8")),
        tempos=(
            TempoChange(bar=1, bpm=96),
            TempoChange(bar=7, bpm=80, ramp_bpm=60, ramp_end="10"),
            TempoChange(bar=11, bpm=84, beat="3"),
        ),
    )
    assert marks(sheet.chart) == {
        1: ("4/4", "♩=96"),
        3: ("palm muted (to bar 4)",),
        5: ("6/8",),
        7: ("♩.=80, rit. to 60 by bar 10",),
        11: ("♩.=84 from beat 3",),
    }
    (page,) = pages_of(chart_of(sheet))
    assert {"4/4 ♩=96", "6/8", "palm muted (to bar 4)"} <= set(texts(page, "mark"))
    log_text = " ".join(texts(page))
    assert "rit. to 60 by bar 10" in log_text


def test_a_slash_is_a_beat_and_a_split_bar_has_all_of_its_beats() -> None:
    sheet = sheet_of([("verse", "C G . .")], more=(ChartEntry(bar=2, beat="3", voicing="Am"),))
    (page,) = pages_of(chart_of(sheet))
    slashes = [
        each.get("data-bar") for each in page.iter(f"{SVG}path") if each.get("class") == "slash"
    ]
    assert [slashes.count(str(bar)) for bar in (1, 2, 3, 4)] == [4, 4, 4, 4]
    row = next(line for line in _text(sheet).splitlines() if line.startswith("   1 │"))
    assert "│ G ╱ Am ╱" in row
    compound = sheet_of([("verse", "C G")], meters=(MeterChange(bar=1, meter="6/8"),))
    (page,) = pages_of(chart_of(compound))
    assert len([1 for each in page.iter(f"{SVG}path") if each.get("class") == "slash"]) == 4


def _text(sheet: PartSheet) -> str:
    from logbook.sheets.lines import line_text
    from logbook.sheets.text_chart import chart_lines

    return "\n".join(line_text(line) for line in chart_lines(chart_of(sheet), Look(80)))


def test_beats_of_a_rest_are_no_slashes() -> None:
    sheet = sheet_of([("verse", "C .")], more=(ChartEntry(bar=2, beat="1"),))
    more = (ChartEntry(bar=1, beat="3"),)
    sheet = sheet_of([("verse", "C G")], more=more)
    assert "│ C ╱ rest -" in _text(sheet)
    (page,) = pages_of(chart_of(sheet))
    slashes = [each for each in page.iter(f"{SVG}path") if each.get("class") == "slash"]
    assert len(slashes) == 6


def test_stage_sizes_can_be_read_from_the_floor() -> None:
    sections = [
        (f"{name} {number}", chords) for number in range(3) for name, chords in (VERSE, CHORUS)
    ]
    (page,) = pages_of(chart_of(sheet_of(sections), stage=True), 3000)
    sizes: dict[str, list[float]] = {}
    for each in page.iter(f"{SVG}text"):
        digit = (each.text or "").isdecimal() and each.get("class") in (None, "paper")
        kind = "finger" if digit else each.get("class") or "other"
        sizes.setdefault(kind, []).append(float(each.get("font-size", "12")))
    assert min(sizes["chord"]) >= 20
    assert min(sizes["name"]) >= 20
    assert min(sizes["fret"]) >= 12
    assert min(sizes["finger"]) >= 10
    assert min(min(each) for each in sizes.values()) >= 8


def test_a_chart_fits_itself_to_the_page_and_then_goes_on_at_a_section() -> None:
    short = [VERSE, CHORUS]
    size = [float(page.get("data-size", "0")) for page in pages_of(chart_of(sheet_of(short)))]
    assert len(size) == 1
    long = [
        (f"{name} {number}", chords)
        for number in range(9)
        for name, chords in (VERSE, ("bridge", "Am F Dm7 G"))
    ]
    pages = pages_of(chart_of(sheet_of(long)), 640)
    assert len(pages) > 1
    assert all(float(page.get("data-size", "0")) == SMALLEST for page in pages)
    assert all(float(page.get("height", "0")) <= 642 for page in pages)
    names = [name for name, _ in long]
    found = [text for page in pages for text in texts(page) if text in names]
    assert found == names
    staged = pages_of(chart_of(sheet_of(long), stage=True), 640)
    assert all(float(page.get("data-size", "0")) == STAGE_SMALLEST for page in staged)


def bars_drawn(page: ElementTree.Element) -> dict[int, tuple[float, float, float]]:
    """Where each written bar stands: its line, where it begins and how wide it is."""
    return {
        int(each.get("data-bars", "").split()[0]): (
            float(each.get("y", "0")),
            float(each.get("x", "0")),
            float(each.get("width", "0")),
        )
        for each in page.iter(f"{SVG}rect")
        if each.get("class") == "bar"
    }


def test_a_pick_up_is_a_short_bar_before_bar_one_and_its_verse_is_still_folded() -> None:
    verses = [("verse", "C G Am F C G F G"), ("verse", "C G Am F C G F C"), ("bridge", "Am F Am G")]
    entry = ChartEntry(bar=0, beat="4", voicing="G")
    sheet = sheet_of(verses, more=[entry], pickup_beats="1")
    first, bridge = fold(sheet.chart)
    assert (first.section.name, first.times, len(first.endings)) == ("verse", 2, 2)
    assert [bar.bar for bar in first.upbeat] == [0]
    assert bridge.upbeat == ()
    (page,) = pages_of(chart_of(sheet))
    drawn = bars_drawn(page)
    assert drawn[0][0] == drawn[1][0] == drawn[4][0]
    assert drawn[0][1] + drawn[0][2] == pytest.approx(drawn[1][1], abs=0.2)
    assert drawn[0][2] < drawn[1][2] / 2
    assert drawn[5][0] == drawn[8][0], "the first ending goes on in its line"
    assert drawn[8][0] < drawn[16][0]
    text = "\n".join(
        "".join(said for said, _ in line) for line in chart_lines(chart_of(sheet), Look())
    )
    (line,) = [each for each in text.splitlines() if each.startswith("   0 ")]
    assert line.split("│")[1:3] == [" G ", " C           "]
    assert "pick-up" not in text


def test_forty_bars_for_the_stage_stay_on_a_page_eight_to_a_line() -> None:
    verse, chorus = "C G Am F C G F G", "F G C Am F G C C"
    forty = [("intro", "C G Am F"), ("verse 1", verse), ("chorus 1", chorus)]
    forty += [("verse 2", verse), ("bridge", "Am F Am G"), ("chorus 2", chorus)]
    (page,) = pages_of(chart_of(sheet_of(forty), stage=True), 580)
    assert float(page.get("data-size", "0")) >= STAGE_SMALLEST
    drawn = bars_drawn(page)
    assert len(drawn) == 40
    assert max(sum(y == other for other, *_ in drawn.values()) for y, *_ in drawn.values()) == 8
    names = [
        (float(each.get("y", "0")), float(each.get("x", "0")), each.text or "")
        for each in page.iter(f"{SVG}text")
        if each.get("class") == "chord"
    ]
    for (y, x, said), (below, right, _) in pairwise(names):
        assert y != below or x + text_width(said, STAGE_SMALLEST, bold=True) < right
    (loose,) = pages_of(chart_of(sheet_of(forty[:2]), stage=True), 580)
    assert bars_drawn(loose)[5][0] < bars_drawn(loose)[9][0], "where there is room, four"


def test_four_bars_make_a_line_where_they_fit() -> None:
    narrow = sheet_of([("verse", "C G Am F F C G Am")])
    (page,) = pages_of(chart_of(narrow))
    assert texts(page, "faint number") == ["1", "5"]
    beats = [
        ChartEntry(bar=bar, beat=str(beat), voicing="F#m7b5")
        for bar in range(1, 9)
        for beat in (1, 2, 3, 4)
    ]
    crowded = sheet_of([("verse", ". . . . . . . .")], more=beats)
    (page, *_) = pages_of(chart_of(crowded))
    assert texts(page, "faint number")[1] in ("2", "3")


def test_names_never_touch() -> None:
    from logbook.sheets.svg_marks import text_width

    more = [ChartEntry(bar=2, beat=beat, voicing="F#m7b5") for beat in ("2", "3", "4")]
    (page, *_) = pages_of(chart_of(sheet_of([VERSE], more=more)))
    rows: dict[str, list[tuple[float, float]]] = {}
    for each in page.iter(f"{SVG}text"):
        if each.get("class") == "chord":
            x, size = float(each.get("x", "0")), float(each.get("font-size", "0"))
            wide = text_width(each.text or "", size)
            rows.setdefault(each.get("y", ""), []).append((x, x + wide))
    for places in rows.values():
        placed = sorted(places)
        assert all(end <= start + 0.2 for (_, end), (start, _) in pairwise(placed))
        assert placed[-1][1] <= 521


def test_big_shapes_or_big_concert_names() -> None:
    sheet = sheet_of([VERSE])
    chart = Chart(
        tuple(
            section._replace(
                rows=tuple(
                    tuple(
                        bar._replace(chords=tuple(c._replace(shape="X7") for c in bar.chords))
                        for bar in row
                    )
                    for row in section.rows
                )
            )
            for section in sheet.chart
        ),
        True,
        False,
    )
    (sounds,) = pages_of(chart)
    (shapes,) = pages_of(chart, big="shapes")
    assert texts(sounds, "chord") == ["C", "G", "Am", "F"]
    assert texts(sounds, "under") == ["X7"] * 4
    assert texts(shapes, "chord") == ["X7"] * 4
    assert texts(shapes, "under") == ["C", "G", "Am", "F"]


# Folding


def folded(*sections: tuple[str, str]) -> list[tuple[str, int, tuple[str, ...], tuple[str, ...]]]:
    return [
        (each.section.name, each.times, each.again, each.signs)
        for each in fold(sheet_of(sections).chart)
    ]


def test_what_follows_itself_is_written_once() -> None:
    assert folded(VERSE, VERSE, CHORUS) == [
        ("verse", 2, ("5-8",), ()),
        ("chorus", 1, (), ()),
    ]
    assert folded(VERSE, ("verse", "C G Am Dm7"), CHORUS)[0][:3] == ("verse", 2, ("5-8",))
    other_name = folded(VERSE, ("verse 2", "C G Am F"))
    assert [times for _, times, *_ in other_name] == [1, 1]


def test_a_first_and_a_second_ending() -> None:
    (verse, _) = fold(sheet_of([VERSE, ("verse", "C G Am Dm7"), CHORUS]).chart)
    assert [[bar.bar for bar in ending] for ending in verse.endings] == [[4], [8]]
    assert [bar.bar for row in verse.section.rows for bar in row] == [1, 2, 3]
    text = _text(sheet_of([VERSE, ("verse", "C G Am Dm7"), CHORUS]))
    assert "verse, bars 1–4 x2, again bars 5–8" in text
    assert "1. ending" in text
    assert "2. ending" in text
    (page,) = pages_of(chart_of(sheet_of([VERSE, ("verse", "C G Am Dm7"), CHORUS])))
    assert {"1.", "2."} <= set(texts(page, "mark"))
    assert "x2" in texts(page, "times")


def test_both_endings_stand_in_one_line_where_they_fit() -> None:
    sheet = sheet_of([("verse", "C G Am F C G Am"), ("verse", "C G Am F C G F"), CHORUS])
    for stage in (False, True):
        (page,) = pages_of(chart_of(sheet, stage=stage))
        drawn = bars_drawn(page)
        assert drawn[5][0] == drawn[6][0] == drawn[7][0] == drawn[14][0]
        assert drawn[7][1] < drawn[14][1]
        brackets = [each for each in page.iter(f"{SVG}path") if each.get("class") == "ending"]
        assert len(brackets) == 2
        ends = [float((each.get("d") or "").rpartition("H")[2]) for each in brackets]
        assert drawn[7][1] < ends[0] < drawn[14][1] < ends[1]
        backwards = [
            float(each.get("x", "0")) + 4
            for each in page.iter(f"{SVG}rect")
            if each.get("class") == "repeat"
        ]
        assert max(backwards) == pytest.approx(drawn[14][1], abs=0.2), "the first ending goes back"


def test_a_crowded_bar_gives_each_name_what_it_needs() -> None:
    more = [ChartEntry(bar=1, beat="5", voicing="F#m7b5"), ChartEntry(bar=2, beat="4", voicing="G")]
    sheet = sheet_of(
        [("verse", "C F#m7b5 Am F#m7b5")], more=more, meters=(MeterChange(bar=1, meter="5/4"),)
    )
    loose, tight = TextSizes(20), TextSizes(20, stage=True, tight=True)
    shows = shown(chart_of(sheet), 900, "sounds")
    (verse,) = fold(sheet.chart)
    wide = [lay_section(verse, sizes, shows).lines[0].widths for sizes in (loose, tight)]
    assert wide[0][0] > 1.5 * wide[1][0], "as wide as its names and slashes, not five times one"
    for sizes in (loose, tight):
        bar = verse.section.rows[0][0]
        needs = needs_of(bar, sizes, shows.naming)
        for room in (least_wide(needs), 1.3 * least_wide(needs), 5 * least_wide(needs)):
            at = [spread(needs, room)(beat / 5) for beat in range(6)]
            assert at[0] == 0
            assert at[5] == pytest.approx(room)
            assert at == sorted(at)
            assert at[4] - at[0] >= needs[0][1] - 0.01
            assert at[5] - at[4] >= needs[1][1] - 0.01
        assert at[1] == pytest.approx(room / 5), "with room, the beats are even"


def test_a_run_that_comes_back_is_played_dal_segno() -> None:
    tag = ("tag", "F C")
    assert folded(("intro", "C C"), VERSE, CHORUS, ("bridge", "Am F"), VERSE, CHORUS, tag) == [
        ("intro", 1, (), ()),
        ("verse", 1, ("13-16",), (SEGNO,)),
        ("chorus", 1, ("17-20",), (TO_CODA,)),
        ("bridge", 1, (), (AL_CODA,)),
        ("tag", 1, (), (CODA,)),
    ]
    ends = folded(VERSE, CHORUS, ("bridge", "Am F"), VERSE, CHORUS)
    assert [signs for *_, signs in ends] == [(SEGNO,), (FINE,), (AL_FINE,)]
    assert folded(VERSE, ("bridge", "Am F"), VERSE)[2][0] == "verse"  # one section alone is not


@pytest.mark.parametrize(
    ("tempos", "said"),
    [
        # At the jump; what comes after it says the tempo that is on by then.
        (((1, 90), (13, 100)), {"chorus": "", "bridge": "", "tag": "♩=100"}),
        (((1, 90), (3, 92), (13, 100)), {"verse": "♩=92 (♩=100 after the D.S.)", "tag": "♩=100"}),
        (((1, 90), (7, 92), (13, 100), (17, 92)), {"verse": "", "chorus": "♩=92"}),
        (((1, 90), (7, 80), (11, 90)), {"verse": "", "chorus": "♩=80 (♩=90 after the D.S.)"}),
        (((1, 90), (11, 60), (13, 90)), {"verse": "♩=90", "bridge": "♩=60", "tag": "♩=90"}),
    ],
)
def test_a_tempo_that_a_jump_changes_is_said(
    tempos: Sequence[tuple[int, float]], said: dict[str, str]
) -> None:
    sections = [("intro", "C C"), VERSE, CHORUS, ("bridge", "Am F"), VERSE, CHORUS, ("tag", "F C")]
    changes = tuple(TempoChange(bar=bar, bpm=bpm) for bar, bpm in tempos)
    written = fold(sheet_of(sections, tempos=changes).chart)
    assert [each.section.name for each in written] == ["intro", "verse", "chorus", "bridge", "tag"]
    firsts = {each.section.name: " ".join(each.section.rows[0][0].marks) for each in written}
    assert {name: firsts[name] for name in said} == said
    back = " at ♩=100" if (13, 100) in tempos else ""
    assert written[3].signs == (AL_CODA + back,)


def test_a_tempo_under_way_to_another_is_the_same_from_its_bar_on() -> None:
    sections = [VERSE, CHORUS, ("bridge", "Am F"), VERSE, CHORUS, ("tag", "F C")]
    slowing = [TempoChange(bar=bar, bpm=90, ramp_bpm=80, ramp_end=str(bar + 2)) for bar in (7, 17)]
    start, back = TempoChange(bar=1, bpm=90), TempoChange(bar=11, bpm=90)
    alike = sheet_of(sections, tempos=(start, slowing[0], back, slowing[1]))
    assert [each.section.name for each in fold(alike.chart)] == ["verse", "chorus", "bridge", "tag"]
    sooner = replace(slowing[1], ramp_end="18")  # which no mark at the written bar could say
    other = sheet_of(sections, tempos=(start, slowing[0], back, sooner))
    assert len(fold(other.chart)) == len(sections)


def test_nothing_is_lost_or_doubled_by_folding() -> None:
    sections = [VERSE, VERSE, CHORUS, ("bridge", "Am F"), VERSE, VERSE, CHORUS, ("tag", "F C")]
    chart = sheet_of(sections).chart
    bars = {bar.bar for section in chart for row in section.rows for bar in row}
    met: list[int] = []
    for each in fold(chart):
        met += [bar.bar for row in each.section.rows for bar in row]
        met += [bar.bar for ending in each.endings for bar in ending]
        for again in each.again:
            first, _, last = again.partition("-")
            met += range(int(first), int(last or first) + 1)
    assert set(met) == bars
    assert len(met) == len(bars)


def test_what_differs_in_a_mark_is_not_folded() -> None:
    sheet = sheet_of(
        [VERSE, VERSE], tempos=(TempoChange(bar=1, bpm=90), TempoChange(bar=5, bpm=99))
    )
    assert [each.times for each in fold(sheet.chart)] == [1, 1]


@pytest.mark.parametrize(
    ("plain", "printed"),
    [
        ("F#m7b5", "F♯m7♭5"),
        ("Bb", "B♭"),
        ("Ebmaj7/Bb", "E♭maj7/B♭"),
        ("C7#9b13", "C7♯9♭13"),
        ("Abdim", "A♭dim"),
        ("Gadd9", "Gadd9"),
        ("Bbb", "B♭♭"),
        ("E4", "E4"),
    ],
)
def test_sharps_and_flats_are_signs(plain: str, printed: str) -> None:
    assert with_signs(plain) == printed


def test_ranges_have_en_dashes() -> None:
    assert with_dashes("bars 9-16, x-y, 1 - 2") == "bars 9–16, x-y, 1 - 2"


def test_a_reader_by_voice_hears_what_sounds_and_the_shape() -> None:
    from tests.sheets.material import LOG

    page = str(draw_sheet(make_sheet("player", LOG, Wanted("The Ferry Bell")), "html", Look()))
    assert (
        '<span class="aloud">sounds </span><b>A</b><span class="aloud">, shape </span><i>G</i>'
        in page
    )
    assert "bar 1 sounds A, shape G;" in page


def test_a_bar_of_a_part_of_a_beat_is_placed_exactly() -> None:
    sheet = sheet_of([VERSE], more=(ChartEntry(bar=2, beat="7/2", voicing="Am"),))
    (page,) = pages_of(chart_of(sheet))
    second = [
        e for e in page.iter(f"{SVG}text") if e.get("class") == "chord" and e.get("data-bar") == "2"
    ]
    lines = sorted(
        {
            float((e.get("d") or "M0").split()[0][1:])
            for e in page.iter(f"{SVG}path")
            if e.get("class") == "barline"
        }
    )
    x = [float(e.get("x", "0")) for e in second]
    first = float(x[0])
    wide = lines[2] - lines[1]
    assert (x[1] - first) / wide == pytest.approx(float(Fraction(5, 8)), abs=0.06)


def test_two_tempos_in_one_bar_do_not_run_into_each_other() -> None:
    notes = tuple(
        TechniqueNote(text="let it ring for as long as it can", bars=str(bar)) for bar in (1, 2, 3)
    )
    sheet = sheet_of([VERSE], notes=notes)
    (page,) = pages_of(chart_of(sheet))
    placed = [
        (e.get("y"), float(e.get("x", "0")))
        for e in page.iter(f"{SVG}text")
        if e.get("class") == "mark"
    ]
    assert len({y for y, _ in placed}) >= 2


def test_a_chart_that_is_replaced_by_nothing_has_no_page() -> None:
    assert chart_pages(replace_sections(()), width=500, height=700) == ()


def replace_sections(sections: tuple[ChartSection, ...]) -> Chart:
    return Chart(sections, False, False)


def test_hostile_names_stay_text() -> None:
    sheet = sheet_of([("</svg><script>", "C G")])
    (page,) = chart_pages(chart_of(sheet), width=521, height=700)
    assert "<script>" not in page


def test_bold_letters_are_held_to_be_as_wide_as_in_a_wide_font() -> None:
    # The advance widths of DejaVu Sans Bold, in ems (read from the font's own hmtx table).
    widths = {
        "hold back with the singer (to bar 40)": 20.76,
        "to coda, D.S. al coda": 11.61,
        "let the two top strings ring through the change (to bar 6)": 32.48,
        "G♭maj7♯11": 5.92,
        "Dadd9": 3.63,
    }
    for said, ems in widths.items():
        assert ems <= text_width(said, 1, bold=True) < ems * 1.2


def test_what_goes_round_within_a_section_is_written_once() -> None:
    (verse, chorus) = fold(sheet_of([("verse", "C G Am F " * 3), ("chorus", "C G Am F G")]).chart)
    assert (verse.section.bars, verse.times, verse.again) == ("1-4", 3, ("5-8", "9-12"))
    assert [bar_passes(verse, bar) for bar in verse.rows[0]][1] == "2 6 10"
    assert chorus.times == 1
    differs = sheet_of(
        [("verse", "C G Am F " * 2)],
        tempos=(TempoChange(bar=1, bpm=96), TempoChange(bar=5, bpm=90)),
    )
    assert fold(differs.chart)[0].times == 1


def test_a_crowded_chart_for_the_stage_stays_on_one_page_and_within_it() -> None:
    beats = [
        ChartEntry(bar=bar, beat=str(beat), voicing="F#m7b5" if (bar + beat) % 3 else "Bb")
        for bar in range(1, 41)
        for beat in (1, 3)
    ]
    sheet = sheet_of([("verse", ". " * 20), ("bridge", ". " * 20)], more=beats)
    stage = chart_of(sheet)._replace(stage=True, cards=())
    (page,) = chart_pages(stage, width=521, height=560)
    sizes = [float(size) for size in re.findall(r'font-size="([0-9.]+)"', page)]
    assert min(sizes) >= 8
    assert float(re.findall(r'data-size="([0-9.]+)"', page)[0]) >= 12
    assert len(chart_pages(stage, width=521, height=150)) > 1  # there the names are large again


def test_a_crowded_line_breaks_without_breaking_the_others() -> None:
    names = " ".join(["F#m7b5 Bb F#m7b5 Bb", "C G Am F"])
    more = [ChartEntry(bar=bar, beat="3", voicing="F#m7b5") for bar in (1, 2, 3, 4)]
    sheet = sheet_of([("verse", names)], more=more)
    (page,) = pages_of(chart_of(sheet, stage=True))
    rows = [texts(page, "faint number")]
    assert rows == [["1", "2", "3", "4", "5"]]  # and 5 to 8 in one line


def test_a_chart_has_a_page_of_its_own() -> None:
    sheet = sheet_of([("verse", "C G Am F"), ("chorus", "F G F G")])
    chart = chart_of(sheet)
    (usual,), (alone,) = pages_of(chart), pages_of(chart._replace(alone=True))
    assert float(usual.get("data-size", "")) == LARGEST
    assert float(alone.get("data-size", "")) == ALONE_LARGEST
    long = sheet_of([(name, "C G Am F Dm7 Em Bb G") for name in "ABCDEFG"])
    sizes = [float(page.get("data-size", "")) for page in pages_of(chart_of(long), 650)]
    (page,) = pages_of(chart_of(long)._replace(alone=True), 650)
    assert len(sizes) == 2
    assert ALONE_SMALLEST <= float(page.get("data-size", "")) < sizes[0] == SMALLEST


def test_free_time_stands_over_its_bar() -> None:
    tempos = (TempoChange(bar=1, bpm=96.0), TempoChange(bar=3, bpm=96.0, free_s=4.0))
    sheet = sheet_of([("verse", "C G Am F")], tempos=tempos)
    assert marks(sheet.chart)[3] == ("free",)


def test_a_chart_is_set_at_the_largest_size_that_fits() -> None:
    """TextSizes that are passed over unlaid would not have fitted: every one is tried here."""
    part = sheet_of([("verse", "C G Am F " * 5), ("chorus", "Dm7 Em Bb F#m7b5 " * 3)])
    chart = Chart(part.chart, with_shapes=False, with_labels=False)
    groups = fold(chart.sections)
    shows = shown(chart, 540.0, "sounds")

    def high(size: float) -> float:
        sizes = TextSizes(size)
        laid = [lay_section(each, sizes, shows) for each in groups]
        least = sum(least_height(each, sizes, shows, BARS_A_ROW) for each in groups)
        needs = sum(group_height(each, sizes, shows) for each in laid)
        assert least <= needs
        return needs

    steps = [LARGEST - step / 2 for step in range(int(2 * (LARGEST - SMALLEST)) + 1)]
    for wanted in (LARGEST, *steps[1::2], SMALLEST):
        room = high(wanted) + 0.1
        (drawn, *more) = chart_pages(chart, width=540.0, height=room)
        fitting = next(size for size in steps if high(size) <= room)
        assert not more
        assert f'data-size="{fitting:g}"' in drawn
