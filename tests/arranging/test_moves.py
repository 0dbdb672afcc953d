from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.arranging.form import arrange_form
from logbook.arranging.moves import ENDINGS, JUMPS, MARKS, Moves, SectionBars, read_moves
from logbook.arranging.road_words import road_map
from logbook.errors import LogbookError
from logbook.records import ArrangedSection as Section
from logbook.records import MeterChange, TempoChange
from logbook.sheets.catalog import make_sheet
from logbook.theory.keys import parse_key
from tests.arranging.material import VERSION, arranged

FORM = {"intro": (1, 2), "verse": (3, 4), "chorus": (5, 6, 7, 8)}


@pytest.mark.parametrize(
    ("text", "moves"),
    [
        ("", Moves()),
        ("bars 3-4", Moves(bars=SectionBars(3, 4))),
        ("Bar 3", Moves(bars=SectionBars(3, 3))),
        ("up 2, rit. 2 bars to 60", Moves(steps=2, rit_bars=2, rit_bpm=60)),
        ("down 1 semitone", Moves(steps=-1)),
        ("in E", Moves(key="E")),
        ("meter 3/4, last bar 2 beats", Moves(meter="3/4", last_beats=2)),
        (
            "endings 7-8 / 9-10, to coda",
            Moves(endings=(SectionBars(7, 8), SectionBars(9, 10)), marks=("to coda",)),
        ),
        ("then d.s. al coda", Moves(jump="D.S. al coda")),
        ("fade 8 bars", Moves(ending="fade", fade_bars=8)),
        ("chart C | F . G(b9,#11) . | -", Moves(chart="C | F . G(b9,#11) . | -")),
        ("ring, chart C|F", Moves(ending="ring", chart="C | F")),
    ],
)
def test_moves_read(text: str, moves: Moves) -> None:
    assert read_moves(text) == moves
    assert read_moves(moves.text) == moves


spans = st.tuples(st.integers(1, 99), st.integers(0, 9)).map(
    lambda t: SectionBars(t[0], t[0] + t[1])
)


@given(
    st.builds(
        Moves,
        key=st.just(""),
        rit_bars=st.just(2),
        rit_bpm=st.integers(1, 999).map(float),
        fade_bars=st.just(0),
        bars=st.none() | spans,
        steps=st.none() | st.integers(-12, 12).filter(bool),
        meter=st.sampled_from(("", "3/4", "6/8")),
        last_beats=st.integers(0, 9),
        endings=st.just(()) | st.lists(spans, min_size=2, max_size=4).map(tuple),
        marks=st.lists(st.sampled_from(MARKS), unique=True).map(tuple),
        jump=st.sampled_from(("", *JUMPS)),
        as_recorded=st.booleans(),
        ending=st.sampled_from(("", *ENDINGS[:2])),
        chart=st.sampled_from(("", "C", "C | F . G .", "- | Am7(b5,9)")),
    )
)
def test_moves_are_written_as_they_are_read(moves: Moves) -> None:
    assert read_moves(moves.text) == moves


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("sideways", '"sideways" is nothing that can be done with a section'),
        ("up 2, down 1", "said twice for the section"),
        ("up 13", "a section cannot go up 13"),
        ("up 2, in E", "given a key and a distance"),
        ("bars 4-3", "end before they have begun"),
        ("rit 0 bars to 60", "a number of bars of 0 cannot be"),
        ("meter 5/5", "counts in 1/5 notes"),
        ("chart C || F", "the section's chart has an empty bar"),
        ("in H", "H"),
    ],
)
def test_moves_that_cannot_be_read(text: str, says: str) -> None:
    with pytest.raises(LogbookError, match=says):
        read_moves(text)


def origins(*sections: Section) -> list[tuple[str, tuple[int | None, ...], str]]:
    return [(p.name, p.origins, p.note) for p in arrange_form(VERSION, sections).passages]


def test_bars_from_inside_a_section_and_endings() -> None:
    assert origins(Section(name="chorus", source="chorus", moves="bars 3-4")) == [
        ("chorus", (7, 8), "")
    ]
    ended = Section(name="chorus", source="chorus", times=3, moves="endings 3 / 4")
    assert origins(ended) == [
        ("chorus", (5, 6, 7), "first ending"),
        ("chorus", (5, 6, 8), "second ending"),
        ("chorus", (5, 6, 8), "second ending"),
    ]


def test_dal_segno_al_coda_is_followed_and_printed() -> None:
    sections = (
        Section(name="intro", source="intro"),
        Section(name="verse", source="verse", times=2, moves="segno"),
        Section(name="chorus", source="chorus", moves="to coda"),
        Section(name="verse", source="verse", moves="D.S. al coda"),
        Section(name="outro", source="chorus", bars=2, moves="coda, ring"),
    )
    form = arrange_form(VERSION, sections)
    assert [p.name for p in form.passages] == [
        "intro", "verse", "verse", "chorus", "verse", "verse", "chorus", "outro",
    ]  # fmt: skip
    road = road_map(form)
    assert road[1] == "verse x2, bars 3-6; segno"
    assert road[3] == "verse, bars 11-12; then D.S. al coda"
    assert road[4] == "verse, bars 13-14; after the D.S.; segno"
    assert road[-1] == "outro, bars 19-20; coda; let the last chord ring"


def test_da_capo_al_fine_ends_at_the_fine() -> None:
    sections = (
        Section(name="intro", source="intro", moves="fine"),
        Section(name="verse", source="verse", moves="D.C. al fine"),
    )
    assert [o[0] for o in origins(*sections)] == ["intro", "verse", "intro"]


@pytest.mark.parametrize(
    ("sections", "says"),
    [
        ((Section(name="verse", source="verse", moves="D.S."),), "finds no segno before it"),
        (
            (Section(name="verse", source="verse", moves="segno, to coda, D.S. al coda"),),
            "finds no coda after it",
        ),
        (
            (
                Section(name="verse", source="verse", moves="fine, D.C. al fine"),
                Section(name="intro", source="intro"),
            ),
            "intro comes after the D.C. al fine, and is never played",
        ),
        ((Section(name="chorus", source="chorus", moves="bars 4-5"),), "chorus has 4 bars"),
        (
            (Section(name="chorus", source="chorus", moves="endings 3 / 4"),),
            "has 2 endings and is played 1 times",
        ),
        ((Section(name="tag", bars=2, moves="bars 1-2"),), 'the form has no section "tag"'),
    ],
)
def test_roads_that_lead_nowhere(sections: tuple[Section, ...], says: str) -> None:
    with pytest.raises(LogbookError, match=says):
        arrange_form(VERSION, sections)


def test_the_last_chorus_goes_up_a_tone_under_the_same_capo() -> None:
    found = arranged(
        sections=(
            Section(name="chorus", source="chorus"),
            Section(name="chorus", source="chorus", moves="up 2"),
        )
    )
    guitar = found.parts[0].part
    assert guitar is not None
    assert guitar.capo == "2"
    assert [(e.bar, e.voicing) for e in guitar.chart] == [
        (1, "G"), (2, "A"), (3, "G"), (3, "A"), (5, "A"), (6, "B"), (7, "A"), (7, "B"),
    ]  # fmt: skip
    # In E the A of the chorus is the A that already exists.
    assert [v.label for v in guitar.voicings].count("A") == 1
    assert found.version.form[1].notes == "up a tone"
    assert "up a tone" in str(make_sheet("arrangement", found).data)


def test_a_key_by_its_name_is_the_shorter_way() -> None:
    assert read_moves("in C").shift(parse_key("D")) == -2
    with pytest.raises(LogbookError, match="the version has no key"):
        read_moves("in C").shift(None)


def test_meters_and_half_bars() -> None:
    found = arranged(
        sections=(
            Section(name="chorus", source="chorus", moves="last bar 2 beats"),
            Section(name="verse", source="verse", moves="meter 3/4"),
        )
    )
    assert found.version.meters == (
        MeterChange(bar=1, meter="4/4"),
        MeterChange(bar=4, meter="2/4"),
        MeterChange(bar=5, meter="3/4"),
    )
    with pytest.raises(LogbookError, match="bar 4 is to have 4 beats, and a bar of 4/4 has 4"):
        arranged(sections=(Section(name="chorus", source="chorus", moves="last bar 4 beats"),))


def test_what_a_short_bar_cuts_off_goes_on_at_the_next() -> None:
    # Bar 7 has G, and A from beat 3 on.
    found = arranged(
        sections=(
            Section(name="chorus", source="chorus", moves="bars 3-3, last bar 2 beats"),
            Section(name="verse", source="verse"),
        )
    )
    guitar = found.parts[0].part
    assert guitar is not None
    assert [(e.bar, e.beat, e.voicing) for e in guitar.chart] == [(1, "1", "G"), (2, "1", "Bm")]


def test_a_ritardando_ends_its_section_and_the_tempo_comes_back() -> None:
    found = arranged(
        sections=(
            Section(name="verse", source="verse", moves="rit 1 bar to 80"),
            Section(name="chorus", source="chorus"),
        )
    )
    assert found.version.tempos == (
        TempoChange(bar=1, bpm=120, unit="1/4"),
        TempoChange(bar=2, bpm=120, unit="1/4", ramp_bpm=80, ramp_unit="1/4", ramp_end="3"),
        TempoChange(bar=3, bpm=120, unit="1/4"),
    )


def test_a_solo_leaves_the_ritardando_of_the_verse_behind() -> None:
    from dataclasses import replace

    slowing = replace(
        VERSION,
        tempos=(
            TempoChange(bar=1, bpm=120),
            TempoChange(bar=4, bpm=120, ramp_bpm=60, ramp_end="5"),
            TempoChange(bar=5, bpm=100),
        ),
    )
    solo = Section(name="solo", source="verse")
    found = arranged(version=slowing, sections=(solo, Section(name="chorus", source="chorus")))
    assert [(t.bar, t.bpm, t.ramp_bpm) for t in found.version.tempos] == [
        (1, 120, None), (3, 100, None),
    ]  # fmt: skip
    told = replace(solo, moves="tempos as recorded")
    found = arranged(version=slowing, sections=(told, Section(name="chorus", source="chorus")))
    assert [(t.bar, t.bpm, t.ramp_bpm) for t in found.version.tempos] == [
        (1, 120, None), (2, 120, 60), (3, 100, None),
    ]  # fmt: skip
    # The verse itself keeps it.
    found = arranged(version=slowing, sections=(Section(name="verse", source="verse"),))
    assert any(t.ramp_bpm == 60 for t in found.version.tempos)


def test_a_new_section_brings_its_own_chart() -> None:
    found = arranged(
        sections=(
            Section(name="verse", source="verse"),
            Section(name="tag", moves="chart G | Em . A ."),
        )
    )
    guitar, bass = found.parts[0].part, found.parts[1].part
    assert guitar is not None
    assert bass is not None
    assert [(e.bar, e.beat, e.voicing) for e in guitar.chart if e.bar > 2] == [
        (3, "1", "G"), (4, "1", "Em"), (4, "3", "A"),
    ]  # fmt: skip
    assert next(v.frets for v in bass.voicings if v.label == "Em") == "0 x x x"
    assert not any("tag is new" in remark for remark in found.remarks)
    with pytest.raises(LogbookError, match="3 chords and dots for 4 beats"):
        arranged(sections=(Section(name="tag", moves="chart C F G"),))
