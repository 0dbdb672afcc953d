from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.arranging.form import arrange_form
from logbook.arranging.road_words import road_map, vamps_of
from logbook.errors import LogbookError
from logbook.records import ArrangedSection, FormSection, MeterChange, Version
from tests.arranging.material import VERSION, arranged


def origins(*sections: ArrangedSection, version: Version = VERSION) -> list[int | None]:
    form = arrange_form(version, sections)
    return [form.origins[bar] for bar in sorted(form.origins)]


def test_without_sections_it_is_the_form_as_recorded() -> None:
    form = arrange_form(VERSION, ())
    assert form.is_recorded
    assert [each.name for each in form.passages] == ["intro", "verse", "chorus"]
    assert origins() == [1, 2, 3, 4, 5, 6, 7, 8]


def test_sections_are_dropped_moved_and_repeated() -> None:
    assert origins(ArrangedSection(name="chorus"), ArrangedSection(name="verse", times=2)) == [
        5,
        6,
        7,
        8,
        3,
        4,
        3,
        4,
    ]


@pytest.mark.parametrize(
    ("bars", "expected"),
    [
        (1, [5]),
        (3, [5, 6, 7]),
        (4, [5, 6, 7, 8]),
        (6, [5, 6, 7, 8, 7, 8]),
        (9, [5, 6, 7, 8, 5, 6, 7, 8, 8]),
    ],
)
def test_a_changed_length_keeps_first_bars_and_goes_on_with_the_last(
    bars: int, expected: list[int]
) -> None:
    assert origins(ArrangedSection(name="chorus", source="chorus", bars=bars)) == expected


def test_mentions_of_a_name_take_its_sections_in_turn() -> None:
    form = (
        FormSection(name="verse", start=1, bars=2),
        FormSection(name="chorus", start=3, bars=1),
        FormSection(name="verse", start=4, bars=2),
    )
    version = replace(VERSION, form=form, parts=())
    verse = ArrangedSection(name="verse")
    assert origins(verse, verse, verse, version=version) == [1, 2, 4, 5, 4, 5]


def test_a_section_under_another_name() -> None:
    form = arrange_form(VERSION, [ArrangedSection(name="outro", source="chorus", bars=2)])
    assert form.passages[0].name == "outro"
    assert form.passages[0].origins == (5, 6)


def test_a_new_section_has_no_origins_and_goes_on_in_the_meter() -> None:
    version = replace(
        VERSION, meters=(MeterChange(bar=1, meter="4/4"), MeterChange(bar=5, meter="3/4"))
    )
    found = arranged(
        version=version,
        sections=(
            ArrangedSection(name="chorus"),
            ArrangedSection(name="solo", bars=2),
            ArrangedSection(name="verse"),
        ),
    )
    assert list(found.version.meters) == [
        MeterChange(bar=1, meter="3/4"),
        MeterChange(bar=7, meter="4/4"),
    ]
    assert any("solo is new" in remark for remark in found.remarks)


def test_a_vamp_stands_once_and_is_said_to_be_open() -> None:
    form = arrange_form(
        VERSION, [ArrangedSection(name="verse", vamp=True), ArrangedSection(name="chorus")]
    )
    assert vamps_of(form) == ("verse",)
    assert len(form.passages[0].origins) == 2


def test_the_pick_up_stays_only_before_the_first_bar() -> None:
    version = replace(VERSION, pickup_beats="1")
    assert 0 in arrange_form(version, [ArrangedSection(name="intro")]).origins
    assert 0 not in arrange_form(version, [ArrangedSection(name="verse")]).origins
    found = arranged(version=version, sections=(ArrangedSection(name="verse"),))
    assert found.version.pickup_beats == ""
    assert "pick-up is left out" in found.remarks[0]


def test_the_road_map() -> None:
    form = arrange_form(
        VERSION, [ArrangedSection(name="intro"), ArrangedSection(name="chorus", times=2)]
    )
    assert road_map(form) == ("intro, bars 1-2", "chorus x2, bars 3-10")


@pytest.mark.parametrize(
    ("section", "says"),
    [
        (ArrangedSection(name="bridge"), 'the form has no section "bridge"; it has intro, verse'),
        (ArrangedSection(name="x", source="coda", bars=2), 'no section "coda"'),
        (ArrangedSection(name="verse", source="verse", bars=0), "verse is 0 bars long"),
        (ArrangedSection(name="verse", times=0), "verse is played 0 times"),
        (ArrangedSection(name="verse", times=100_000), "passes bar"),
    ],
)
def test_what_cannot_be(section: ArrangedSection, says: str) -> None:
    with pytest.raises(LogbookError, match=says):
        arrange_form(VERSION, [section])


def test_a_version_without_a_form_says_so() -> None:
    with pytest.raises(LogbookError, match="the version has no form yet"):
        arrange_form(replace(VERSION, form=()), [ArrangedSection(name="verse")])


@given(
    st.lists(
        st.builds(
            ArrangedSection,
            name=st.sampled_from(["intro", "verse", "chorus"]),
            times=st.integers(1, 4),
        ),
        min_size=1,
        max_size=6,
    )
)
def test_bars_are_counted_through_without_gaps(sections: list[ArrangedSection]) -> None:
    form = arrange_form(VERSION, sections)
    length = {"intro": 2, "verse": 2, "chorus": 4}
    total = sum(length[each.name] * each.times for each in sections)
    assert sorted(form.origins) == list(range(1, total + 1))
    assert sum(passage.bars for passage in form.passages) == total
    # The runs put together are the bars again.
    again = {
        first + n: None if origin is None else origin + n
        for first, origin, count in form.runs
        for n in range(count)
    }
    assert again == dict(form.origins)


def test_a_section_made_from_another_takes_no_turn_of_it() -> None:
    form = (
        FormSection(name="verse", start=1, bars=2),
        FormSection(name="chorus", start=3, bars=1),
        FormSection(name="verse", start=4, bars=2),
    )
    intro = ArrangedSection(name="intro", source="verse", bars=1)
    verse, chorus = ArrangedSection(name="verse"), ArrangedSection(name="chorus")
    found = origins(intro, verse, chorus, verse, version=replace(VERSION, form=form))
    assert found == [1, 1, 2, 3, 4, 5]
