"""The form changed: what stands in it moves along, or is told."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logbook.errors import LogbookError
from logbook.records import (
    ChartEntry,
    Comp,
    CompPiece,
    FormSection,
    Lyric,
    MeterChange,
    Overdub,
    Part,
    PunchIn,
    Take,
    TechniqueNote,
    TempoChange,
    Version,
)
from logbook.records.form_edits import (
    Edited,
    delete_bars,
    fill_namesakes,
    insert_bars,
    insert_section,
    move_section,
    restated,
)
from logbook.records.lyrics import words_for
from logbook.timing.bars import parse_range


def form(*sections: tuple[str, int]) -> tuple[FormSection, ...]:
    made, start = [], 1
    for name, bars in sections:
        made.append(FormSection(name=name, start=start, bars=bars))
        start += bars
    return tuple(made)


def a_version() -> Version:
    """A 4, B 4, A 4: a chord for each bar, named after it."""
    sections = form(("A", 4), ("B", 4), ("A", 4))
    chart = tuple(ChartEntry(bar=bar, voicing=f"chord {bar}") for bar in range(1, 13))
    take = Take(
        number=1, bars="1-12", result="keeper", punch_ins=(PunchIn(bars="6.3-7.2", why="late"),)
    )
    comp = Comp(
        pieces=(
            CompPiece(bars="1-8", take=1, source=""),
            CompPiece(bars="9-12", take=1, source="1-4", crossfade_ms=10.0),
        )
    )
    part = Part(
        name="guitar",
        chart=chart,
        takes=(take,),
        comps=(comp,),
        technique_notes=(TechniqueNote(text="ring", bars="5-8"),),
        overdubs=(Overdub(bars="1-4, 9-12"),),
    )
    return Version(
        name="album",
        form=sections,
        parts=(part,),
        tempos=(TempoChange(bar=1, bpm=96.0), TempoChange(bar=9, bpm=92.0)),
        meters=(MeterChange(bar=1, meter="4/4"), MeterChange(bar=5, meter="3/4")),
        lyrics=tuple(Lyric(bar=bar, beat="2", text=f"line {bar}") for bar in (1, 5, 9)),
    )


def chart_of(version: Version) -> dict[int, str]:
    return {each.bar: each.voicing for each in version.parts[0].chart}


def test_bars_put_in_move_what_follows() -> None:
    new, told, _ = insert_bars(a_version(), 7, 2)
    (part,) = new.parts
    assert [(each.name, each.start, each.bars) for each in new.form] == [
        ("A", 1, 4), ("B", 5, 6), ("A", 11, 4),
    ]  # fmt: skip
    assert chart_of(new)[6] == "chord 6"
    assert chart_of(new)[9] == "chord 7"
    assert 7 not in chart_of(new)
    assert part.takes[0].bars == "1-14"
    # A punch-in across the seam is two now; each keeps its own end.
    assert [each.bars for each in part.takes[0].punch_ins] == ["6.3-7.1", "9-9.2"]
    assert [(e.bars, e.source or e.bars) for e in part.comps[0].pieces] == [
        ("1-6", "1-6"), ("9-10", "9-10"), ("11-14", "1-4"),
    ]  # fmt: skip
    assert part.technique_notes[0].bars == "5-6, 9-10"
    assert part.overdubs[0].bars == "1-4, 11-14"
    assert [each.bar for each in new.tempos] == [1, 11]
    assert [each.bar for each in new.meters] == [1, 5]
    assert any("without the new bars 7-8" in each for each in told)


def test_bars_taken_out_are_told() -> None:
    new, told, _ = delete_bars(a_version(), 5, 8)
    (part,) = new.parts
    assert [(each.name, each.start) for each in new.form] == [("A", 1), ("A", 5)]
    assert chart_of(new) == {n: f"chord {n}" for n in range(1, 5)} | {
        n: f"chord {n + 4}" for n in range(5, 9)
    }
    assert part.takes[0].bars == "1-8"
    assert part.takes[0].punch_ins == ()
    assert [(e.bars, e.source or e.bars) for e in part.comps[0].pieces] == [
        ("1-4", "1-4"), ("5-8", "1-4"),
    ]  # fmt: skip
    said = "\n".join(told)
    assert "4 chart entries" in said
    assert "punch-in at 6.3-7.2 went" in said
    assert "'ring' was about bars 5-8" in said
    assert new.meters == (MeterChange(bar=1, meter="4/4"), MeterChange(bar=5, meter="3/4"))


def test_a_section_moved_takes_its_music_along() -> None:
    new, _, _ = move_section(a_version(), 5, 1)
    assert [(each.name, each.start) for each in new.form] == [("B", 1), ("A", 5), ("A", 9)]
    assert [chart_of(new)[bar] for bar in (1, 4, 5, 8, 9)] == [
        "chord 5", "chord 8", "chord 1", "chord 4", "chord 9",
    ]  # fmt: skip
    (part,) = new.parts
    assert part.takes[0].bars == "1-12"
    assert part.technique_notes[0].bars == "1-4"
    assert [(e.bars, e.source or e.bars) for e in part.comps[0].pieces] == [
        ("1-8", "1-8"), ("9-12", "5-8"),
    ]  # fmt: skip


def test_a_new_section_is_charted_as_its_namesakes_are() -> None:
    version = replace(a_version(), form=form(("A", 2), ("B", 2)))
    chart = tuple(
        ChartEntry(bar=bar, voicing=name) for bar, name in ((1, "Am"), (3, "F"), (4, "G"))
    )
    version = replace(version, parts=(Part(name="guitar", chart=chart),), tempos=(), meters=())
    new, _, _ = insert_section(version, "B", 2)
    assert chart_of(new) == {1: "Am", 3: "F", 4: "G", 5: "F", 6: "G"}
    first, _, _ = insert_section(version, "B", 2, before=1)
    assert chart_of(first) == {1: "F", 2: "G", 3: "Am", 5: "F", 6: "G"}
    other, _, _ = insert_section(version, "C", 2)
    assert chart_of(other) == {1: "Am", 3: "F", 4: "G"}


def test_namesakes_that_differ_are_not_copied() -> None:
    chart = (ChartEntry(bar=1, voicing="Am"), ChartEntry(bar=3, voicing="F"))
    version = Version(
        name="v", form=form(("A", 2), ("A", 2), ("A", 2)), parts=(Part(name="g", chart=chart),)
    )
    assert fill_namesakes(version, {5}) == version


def test_a_form_said_again_finds_its_sections_by_name_and_count() -> None:
    new, told, _ = restated(a_version(), form(("intro", 2), ("A", 4), ("A", 4), ("B", 4)))
    assert [chart_of(new).get(bar) for bar in (1, 3, 7, 11)] == [
        None,
        "chord 1",
        "chord 9",
        "chord 5",
    ]
    assert not any("went" in each for each in told)
    renamed, told, _ = restated(a_version(), form(("verse", 4), ("chorus", 4), ("outro", 4)))
    assert chart_of(renamed) == chart_of(a_version())
    assert renamed.parts == a_version().parts
    assert told == ()


@pytest.mark.parametrize(
    "edit",
    [
        lambda version: insert_bars(version, 40, 1),
        lambda version: insert_bars(version, 3, 0),
        lambda version: delete_bars(version, 11, 14),
        lambda version: move_section(version, 2, None),
        lambda version: move_section(version, 1, 3),
        lambda version: insert_section(version, "C", 4, 3),
        lambda version: insert_bars(replace(version, form=()), 1, 1),
    ],
)
def test_what_cannot_be_says_so(edit: object) -> None:
    with pytest.raises(LogbookError) as error:
        edit(a_version())  # type: ignore[operator]
    assert error.value.remedy


def heard(version: Version) -> dict[int, int]:
    """Which bar of the take stands at each bar of the finished part."""
    return {
        bar: source
        for piece in version.parts[0].comps[0].pieces
        for bar, source in zip(
            parse_range(piece.bars).bars, parse_range(piece.source or piece.bars).bars, strict=True
        )
    }


@given(st.integers(1, 13), st.integers(1, 6))
@settings(max_examples=60, deadline=None)
def test_what_was_put_in_and_taken_out_leaves_all_as_it_was(at: int, count: int) -> None:
    version = a_version()
    back: Edited = delete_bars(insert_bars(version, at, count).version, at, at + count - 1)
    assert back.version.form == version.form
    assert chart_of(back.version) == chart_of(version)
    assert heard(back.version) == heard(version)
    assert back.version.parts[0].takes[0].bars == version.parts[0].takes[0].bars
    assert back.version.tempos == version.tempos
    assert back.version.meters == version.meters


@given(st.permutations([1, 5, 9]), st.sampled_from([1, 5, 9]))
@settings(max_examples=40, deadline=None)
def test_moving_loses_nothing(order: list[int], before: int) -> None:
    version = a_version()
    for start in order:
        version = move_section(version, start, before).version
    assert sorted(chart_of(version).values()) == sorted(chart_of(a_version()).values())
    assert pairs(version) == pairs(a_version())
    # Each section still has its own words under its first chord.
    sung = {(chart_of(version)[each.bar], each.text) for each in version.lyrics}
    assert sung == {(f"chord {bar}", f"line {bar}") for bar in (1, 5, 9)}


def test_words_of_one_version_find_their_sections_in_another() -> None:
    version = a_version()
    placed, lost = words_for(version.lyrics, version.form, form(("B", 8), ("A", 4)))
    assert [(each.bar, each.text) for each in placed] == [(1, "line 5"), (9, "line 1")]
    assert [each.text for each in lost] == ["line 9"]


def test_words_go_with_bars_taken_out_and_that_is_told() -> None:
    done = delete_bars(a_version(), 5, 6)
    assert [(each.bar, each.text) for each in done.version.lyrics] == [(1, "line 1"), (7, "line 9")]
    assert "the words 'line 5' went with bar 5" in done.told


def pairs(version: Version) -> set[tuple[str, str]]:
    """What was to be played at each bar, and what was to be played where its take comes from."""
    names = chart_of(version)
    return {(names[bar], names[source]) for bar, source in heard(version).items()}
