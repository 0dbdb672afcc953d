"""Chart lines say which voicing falls where, and are written back as they read."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.notebook.chart_lines import read_chart_lines
from logbook.notebook.chart_printing import write_chart_lines
from logbook.notebook.declare import Context
from logbook.notebook.problems import NotebookError
from logbook.notebook.read import read_log
from logbook.notebook.working_copy import LogKnown
from logbook.notebook.write import write_log
from logbook.records import (
    ChartEntry,
    FormSection,
    Log,
    MeterChange,
    Part,
    Pattern,
    Version,
    Voicing,
)

LABELS = ("Am", "F", "G", "Am (high)", "x2", "C|G", "-", "3:F", "%")


def context(form: str = "intro 2, verse 4, intro 2", meter: str = "4/4") -> Context:
    sections, start = [], 1
    for each in form.split(", "):
        name, _, bars = each.rpartition(" ")
        sections.append(FormSection(name=name, start=start, bars=int(bars)))
        start += int(bars)
    version = Version(name="album", form=tuple(sections), meters=(MeterChange(bar=1, meter=meter),))
    part = Part(
        name="guitar",
        voicings=tuple(Voicing(label=label, frets="x") for label in LABELS),
        patterns=(Pattern(label="strum", grid="1/8", line="D"),),
    )
    return Context(known=LogKnown(Log()), owners=(version, part))


def entries(line: str, **where: str) -> list[tuple[int, str, str, str]]:
    """What one line gives in the sections it stands at; others it leaves to rest."""
    around = context(**where)
    read = read_chart_lines([line], around)
    assert not read.errors, read.errors
    version = around.owner(Version)
    assert version is not None
    silent = {section.start for section in version.form} - {
        section.start
        for section in version.form
        for each in read.records
        if (each.voicing or each.pattern or each.beat != "1")
        and section.start <= each.bar < section.start + section.bars
    }
    return [
        (each.bar, each.beat, each.voicing, each.pattern)
        for each in read.records
        if each != ChartEntry(bar=each.bar, beat="1") or each.bar not in silent
    ]


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        ("verse: Am | F | G | Am", [(3, "1", "Am"), (4, "1", "F"), (5, "1", "G"), (6, "1", "Am")]),
        ("verse: | Am | . | . | . |", [(3, "1", "Am")]),
        ("verse: Am F | . | . | .", [(3, "1", "Am"), (3, "3", "F")]),
        ("verse: Am . F G | . | . | .", [(3, "1", "Am"), (3, "3", "F"), (3, "4", "G")]),
        ("verse: . . F . | . | . | .", [(3, "3", "F")]),
        ("verse: Am F | % | . | .", [(3, "1", "Am"), (3, "3", "F"), (4, "1", "Am"), (4, "3", "F")]),
        ("verse: Am 4:G | 5/2:F | . | .", [(3, "1", "Am"), (3, "4", "G"), (4, "5/2", "F")]),
        ("verse: Am | - x2", [(3, "1", "Am"), (4, "1", ""), (5, "1", "Am"), (6, "1", "")]),
        ("verse: 'Am (high)' | 'x2' | 'C|G' | '-'",
         [(3, "1", "Am (high)"), (4, "1", "x2"), (5, "1", "C|G"), (6, "1", "-")]),
        ("5-6: Am | F", [(5, "1", "Am"), (6, "1", "F")]),
        ("40: Am | F", [(40, "1", "Am"), (41, "1", "F")]),
        ("intro: Am | F", [(1, "1", "Am"), (2, "1", "F"), (7, "1", "Am"), (8, "1", "F")]),
    ],
)  # fmt: skip
def test_lines(line: str, expected: list[tuple[int, str, str]]) -> None:
    assert [each[:3] for each in entries(line)] == expected


def test_patterns_stand_behind_or_in_front() -> None:
    said = entries("verse: Am@strum | F | @strum G Am | .")
    assert [(each[2], each[3]) for each in said] == [
        ("Am", "strum"),
        ("F", ""),
        ("G", "strum"),
        ("Am", ""),
    ]


def test_six_eight_halves_at_four() -> None:
    assert [each[1] for each in entries("verse: Am F | . | . | .", meter="6/8")] == ["1", "4"]


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("verse: Am | F", "verse has 4 bars but its line has 2 bars"),
        ("verse: Am F G | . | . | .", "3 entries do not divide the 4 beats"),
        ("verse: % | . | . | .", "begins with"),
        ("verse: Dm | . | . | .", 'no voicing is called "Dm"'),
        ("verse: Am@roll | . | . | .", 'no pattern is called "roll"'),
        ("verse: Am F 4:G | . | . | .", "gives a beat for some entries"),
        ("verse: Am 5:G | . | . | .", "there is no beat 5"),
        ("vers: Am", 'did you mean "verse"?'),
        ("Am | F", "does not say which section"),
        ("verse: 'Am | . | . | .", "is never closed"),
        ("verse: Am F | % G | . | .", "cannot be read"),
    ],
)
def test_mistakes(line: str, says: str) -> None:
    ((index, error),) = read_chart_lines([line], context()).errors
    assert index == 0
    assert says in str(error)


def test_three_lines_for_two_sections_are_too_many() -> None:
    read = read_chart_lines(["intro: Am | F"] * 3, context())
    assert "3 lines but comes 2 times" in str(read.errors[0][1])


_beats = st.sampled_from(["1", "2", "3", "4", "3/2", "5/2", "7/3"])
_charts = st.lists(
    st.builds(
        ChartEntry,
        bar=st.integers(1, 12),
        beat=_beats,
        voicing=st.sampled_from(["", *LABELS]),
        pattern=st.sampled_from(["", "strum"]),
    ),
    max_size=14,
    unique_by=lambda entry: (entry.bar, Fraction(entry.beat)),
)


@given(_charts, st.sampled_from(["4/4", "3/4", "6/8", "7/8"]))
def test_any_chart_reads_back_as_it_is_written(chart: list[ChartEntry], meter: str) -> None:
    beats = int(meter[0])
    kept = [each for each in chart if Fraction(each.beat) < beats + 1]
    kept.sort(key=lambda each: (each.bar, Fraction(each.beat)))
    where = context(meter=meter)
    lines = write_chart_lines(tuple(kept), where)
    read = read_chart_lines(lines, where)
    assert not read.errors
    assert read.records == kept


def resting(*lines: str, form: str = "intro 2, verse 4, intro 2, coda 2") -> list[tuple[int, str]]:
    read = read_chart_lines(lines, context(form))
    assert not read.errors, read.errors
    return [(each.bar, each.voicing) for each in read.records]


def test_a_section_without_a_line_is_not_charted_and_not_a_rest() -> None:
    played = [(3, "Am"), (4, "F"), (5, "G"), (6, "Am")]
    assert resting("verse: Am | F | G | Am") == played
    assert resting("3-6: Am | F | G | Am") == played
    assert resting("verse: Am | F | G | Am", "coda: F | .") == [*played, (9, "F")]


def test_a_rest_is_said_and_so_is_a_chord_that_goes_on() -> None:
    played = [(3, "Am"), (4, "F"), (5, "G"), (6, "Am")]
    line = "verse: Am | F | G | Am"
    assert resting(line, "coda: -") == [*played, (9, "")]
    assert resting(line, "7-8: . | .", "coda: . | .") == [*played, (7, "Am"), (9, "Am")]
    assert resting("1: Am") == [(1, "Am")]
    assert resting("verse: Am | F | G | -") == [*played[:3], (6, "")]


@pytest.mark.parametrize(
    "chart",
    [
        [(3, "Am")],
        [(3, "Am"), (7, "")],
        [(1, "Am"), (9, "F")],
        [(1, "Am"), (3, ""), (8, "F")],
        [(12, "F")],
    ],
    ids=str,
)
def test_what_goes_on_and_what_rests_is_written_so(chart: list[tuple[int, str]]) -> None:
    around = context("intro 2, verse 4, intro 2, coda 2")
    records = tuple(ChartEntry(bar=bar, voicing=voicing) for bar, voicing in chart)
    lines = write_chart_lines(records, around)
    assert tuple(read_chart_lines(lines, around).records) == records


SMALL = """
[[song]]
title = "Low Water"
[[song.version]]
name = "album"
{pickup}
form = ["verse 1-2"]
[[song.version.part]]
name = "guitar"
voicings = {{ Am = "x02210", G = "320003" }}
chart = [{line}]
"""


@pytest.mark.parametrize("line", ['"0: Am"', '{ bar = 0, voicing = "Am" }'])
def test_a_chord_in_a_pick_up_that_is_not_there_is_refused(line: str) -> None:
    with pytest.raises(NotebookError, match="there is no bar 0, since the version has no pick-up"):
        read_log(SMALL.format(pickup="", line=line))


@pytest.mark.parametrize(
    ("pickup", "line", "beats"),
    [
        ("2 e", "0: Am", ["1"]),
        ("2 q", "0: Am G", ["1", "4"]),
        ("3 e", "0: Am 4:G", ["1", "4"]),
        ("3 e", "0: Am G", ["1", "17/4"]),
        ("1 q", "0: 4:Am", ["4"]),
    ],
)
def test_what_stands_first_in_a_pick_up_stands_where_it_begins(
    pickup: str, line: str, beats: list[str]
) -> None:
    log = read_log(SMALL.format(pickup=f'pickup = "{pickup}"', line=f'"{line}"'))
    chart = log.songs[0].versions[0].parts[0].chart
    assert [(each.bar, each.beat) for each in chart] == [(0, beat) for beat in beats]
    assert read_log(write_log(log)) == log


@pytest.mark.parametrize("line", ['"0: 3:Am"', '{ bar = 0, beat = "3", voicing = "Am" }'])
def test_a_chord_before_the_pick_up_is_refused_with_the_right_place(line: str) -> None:
    with pytest.raises(NotebookError, match="comes before the pick-up, which begins on beat 4"):
        read_log(SMALL.format(pickup='pickup = "1 q"', line=line))


def test_a_chord_left_over_from_a_pick_up_is_written_as_it_was_logged() -> None:
    log = read_log(SMALL.format(pickup='pickup = "2 e"', line='"0: Am"'))
    song = log.songs[0]
    bare = replace(song.versions[0], pickup_beats="")
    left = replace(log, songs=(replace(song, versions=(bare,)),))
    assert read_log(write_log(left)) == left


def test_a_pick_up_may_be_laid_out_as_the_full_bar_that_it_ends_like() -> None:
    log = read_log(SMALL.format(pickup='pickup = "1 q"', line='"0: . . . Am"'))
    assert log.songs[0].versions[0].parts[0].chart[0].beat == "4"
    with pytest.raises(NotebookError, match="comes before the pick-up, which begins on beat 4"):
        read_log(SMALL.format(pickup='pickup = "1 q"', line='"0: . . Am ."'))
