from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.arranging.charts import distinct_labels, move_chart, move_name, move_techniques
from logbook.arranging.form import ArrangedForm, arrange_form
from logbook.records import ArrangedSection, ChartEntry, TechniqueNote
from logbook.theory.keys import parse_key
from logbook.theory.kinds import ChordKind, all_kinds
from logbook.theory.symbols import read_symbol
from tests.arranging.material import GUITAR_PART, VERSION


def form_of(*names: str) -> ArrangedForm:
    return arrange_form(VERSION, [ArrangedSection(name=name) for name in names])


def short(chart: tuple[ChartEntry, ...]) -> list[str]:
    return [f"{e.bar}.{e.beat} {e.voicing}@{e.pattern}" for e in chart]


def test_a_chart_as_recorded_only_gets_its_new_names() -> None:
    moved = move_chart(GUITAR_PART.chart, arrange_form(VERSION, ()), {"D": "C"})
    assert short(moved)[:2] == ["1.1 C@strum", "3.1 Bm@"]


def test_a_repeated_section_repeats_its_chart() -> None:
    assert short(move_chart(GUITAR_PART.chart, form_of("verse", "verse"))) == [
        "1.1 Bm@strum",
        "3.1 Bm@",
    ]


def test_what_goes_on_over_a_cut_is_said_anew() -> None:
    version = replace(
        VERSION,
        form=(*VERSION.form[:2], replace(VERSION.form[2], name="tail", start=6, bars=3)),
    )
    entries = (ChartEntry(bar=2, beat="3", voicing="D", pattern="strum"),)
    form = arrange_form(version, [ArrangedSection(name="tail"), ArrangedSection(name="intro")])
    # Bars 6 to 8 hold the D of bar 2; the intro rests until beat 3 of its second bar.
    assert short(move_chart(entries, form)) == ["1.1 D@strum", "4.1 @", "5.3 D@strum"]


def test_the_pattern_in_force_goes_with_the_bars() -> None:
    moved = move_chart(GUITAR_PART.chart, form_of("chorus", "intro"))
    assert short(moved) == [
        "1.1 G@strum",
        "2.1 A@",
        "3.1 G@bars",
        "3.3 A@",
        "5.1 D@strum",
    ]


def test_a_new_section_rests_and_the_next_starts_again() -> None:
    form = arrange_form(
        VERSION,
        [
            ArrangedSection(name="intro"),
            ArrangedSection(name="solo", bars=2),
            ArrangedSection(name="intro"),
        ],
    )
    assert short(move_chart(GUITAR_PART.chart, form)) == [
        "1.1 D@strum",
        "3.1 @",
        "5.1 D@strum",
    ]


def sounding(chart: tuple[ChartEntry, ...], bars: int) -> list[tuple[str, str]]:
    """The voicing and pattern as each bar begins, an independent reading of a chart."""
    found = []
    for bar in range(1, bars + 1):
        voicing = pattern = ""
        for each in chart:
            if (each.bar, float(each.beat)) <= (bar, 1.0):
                voicing = each.voicing
                pattern = each.pattern or pattern
        found.append((voicing, pattern if voicing else ""))
    return found


@given(st.lists(st.sampled_from(["intro", "verse", "chorus"]), min_size=1, max_size=8))
def test_every_bar_sounds_as_the_one_it_comes_from(names: list[str]) -> None:
    form = form_of(*names)
    recorded = sounding(GUITAR_PART.chart, 8)
    moved = sounding(move_chart(GUITAR_PART.chart, form), len(form.origins))
    assert moved == [recorded[(form.origins[bar] or 0) - 1] for bar in sorted(form.origins)]


def test_technique_notes_follow_their_bars() -> None:
    notes = GUITAR_PART.technique_notes
    moved = move_techniques(notes, form_of("chorus", "verse", "verse"))
    # Bars 3 to 5: the verse twice and the chorus's first bar.
    assert moved == (TechniqueNote(text="palm", bars="1, 5-6, 7-8"), notes[1])
    assert move_techniques(notes, form_of("intro")) == (notes[1],)
    beats = (TechniqueNote(text="late", bars="3.2-4.3"),)
    assert move_techniques(beats, form_of("verse")) == (TechniqueNote(text="late", bars="1.2-2.3"),)


@pytest.mark.parametrize(
    ("name", "steps", "key", "moved"),
    [
        ("A", -2, "G", "G"),
        ("E/G#", -2, "G", "D/F#"),
        ("Amin7", 3, "Eb", "Cmin7"),
        ("C-7", 1, "Db", "Db-7"),
        ("D6/9", -2, "C", "C6/9"),
        ("Bb", 1, "B", "B"),
        ("N.C.", 5, "C", "N.C."),
        ("jangle", 5, "C", "jangle"),
        ("", 5, "C", ""),
        ("Db", 0, "C#", "C#"),
        ("C on E", 2, "D", "D/F#"),
        ("C/E add9", 2, "D", "Dadd9/F#"),
        ("B flat 7", 2, "D", "C7"),
        ("C:maj/3", 2, "D", "D:maj/3"),
        ("am", 2, "D", "Bm"),
        ("C⁷", 2, "D", "D⁷"),
    ],
)
def test_names_keep_the_way_they_are_written(name: str, steps: int, key: str, moved: str) -> None:
    assert move_name(name, steps, parse_key(key)) == moved


@given(st.sampled_from(all_kinds()), st.integers(-6, 6), st.sampled_from(["C", "Eb", "A", "F#"]))
def test_a_moved_name_is_the_moved_chord(kind: ChordKind, steps: int, key: str) -> None:
    symbol = read_symbol("C" + kind.suffix + "/E")
    moved = read_symbol(move_name(symbol.symbol, steps, parse_key(key)))
    assert moved.intervals == symbol.intervals
    assert moved.pitch_classes == {(pc + steps) % 12 for pc in symbol.pitch_classes}


def test_two_labels_never_come_out_alike() -> None:
    moved = distinct_labels({"Db": "Eb", "C#": "Eb", "E": "Gb"})
    assert moved == {"Db": "Eb", "C#": "Eb (2)", "E": "Gb"}
