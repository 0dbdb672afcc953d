from __future__ import annotations

import pytest

from logbook.editing.comp import parse_comp
from logbook.editing.doubling import Doubling, DoublingState
from logbook.editing.sentences import tell_comp, tell_doubling
from logbook.editing.survey import Section, survey_comp
from logbook.editing.takes import TakeResult, TakeSpan, parse_punch_in
from logbook.timing.bars import parse_range
from logbook.timing.map_text import read_tempo_map

STEADY = read_tempo_map("4/4", "96")
FORM = (Section("verse", parse_range("1-32")), Section("chorus", parse_range("33-48")))
CLEAN = (
    TakeSpan(number=2, bars=parse_range("1-48"), result=TakeResult.KEEPER),
    TakeSpan(number=5, bars=parse_range("1-48")),
    TakeSpan(number=6, bars=parse_range("1-48")),
)
PUNCHED = (
    TakeSpan(number=2, bars=parse_range("1-48"), punch_ins=(parse_punch_in("12"),)),
    TakeSpan(number=5, bars=parse_range("1-48"), punch_ins=(parse_punch_in("30-31"),)),
)
APART = Doubling(state=DoublingState.DOUBLED, by=("second guitar",), panned=("apart",))


def tell(comp: str, takes: tuple[TakeSpan, ...] = CLEAN, doubling: Doubling | None = None) -> str:
    return tell_comp(survey_comp(parse_comp(comp), takes, FORM, STEADY), takes, doubling)


@pytest.mark.parametrize(
    ("comp", "said"),
    [
        ("1-48 take 2", "take 2 from beginning to end, one untouched pass"),
        ("1-20 take 2\n21-48 take 2", "take 2 from beginning to end, one untouched pass"),
        (
            "17-32 take 5",
            "take 5 over bars 17-32, one untouched pass; nothing at bars 1-16 and 33-48",
        ),
        (
            "1-40 take 2\n41-48 take 2 @ 9-16",
            "take 2, one pass with bars repeated; bars 41-48 repeat 9-16",
        ),
        (
            "1-32 take 2\n33-40 take 2 @ 9-16\n41-48 take 2 @ 9-16",
            "take 2, one pass with bars repeated; bars 33-40 and 41-48 repeat 9-16",
        ),
        (
            "1-47 take 2\n48 take 2 @ 8",
            "take 2, one pass with bars repeated; bar 48 repeats 8",
        ),
        (
            "1-16 take 2\n17-48 take 2 @ 16-47",
            "take 2 in two pieces; bar 17 repeats 16; bars 18-48 are bars 17-47 of take 2",
        ),
        ("1-24.3 take 2\n24.3-48 take 5", "takes 2 and 5"),
        ("1-16 take 6\n17-32 take 2\n33-48 take 5", "takes 2, 5 and 6"),
        (
            "1-16 take 2\n17-32 take 5\n33-40 take 6 @ 1-8\n41-48 take 6 @ 1-8",
            "takes 2, 5 and 6; bars 33-40 and 41-48 are bars 1-8 of take 6",
        ),
        (
            "1-16 take 2\n17-32 take 5\n33-48 take 5 @ 1-16",
            "takes 2 and 5; bars 33-48 are bars 1-16 of take 5",
        ),
        (
            "1-17 take 2\n17-48 take 5",
            "takes 2 and 5; bar 17 claimed twice",
        ),
        ("1-48 take 2\n9-16 take 2", "take 2 in two pieces; bars 9-16 claimed twice"),
        ("1-8 take 2 @ 2-9\n9-48 take 5", "takes 2 and 5; bars 1-8 are bars 2-9 of take 2"),
        ("1-48 take 9", "take 9 from beginning to end, one pass; take 9 is not logged"),
    ],
)
def test_a_comp_is_told_as_a_person_would(comp: str, said: str) -> None:
    assert tell(comp) == said


@pytest.mark.parametrize(
    ("comp", "said"),
    [
        ("1-48 take 2", "take 2 from beginning to end, one pass, one punch-in at bar 12"),
        (
            "1-16 take 2\n17-48 take 5",
            "takes 2 and 5, two punch-ins at bars 12 and 30-31",
        ),
        ("1-16 take 5\n17-48 take 2", "takes 2 and 5"),
        (
            "1-40 take 2\n41-48 take 2 @ 9-16",
            "take 2, one pass with bars repeated, one punch-in at bar 12, heard again at bar 44; "
            "bars 41-48 repeat 9-16",
        ),
    ],
)
def test_punch_ins_are_told_where_they_are_heard(comp: str, said: str) -> None:
    assert tell(comp, PUNCHED) == said


@pytest.mark.parametrize(
    ("comp", "said"),
    [
        # The join falls inside the punch-in: what follows is its other half.
        (
            "1-30 take 5\n31-40 take 2\n41-48 take 5 @ 31-38",
            "takes 2 and 5, one punch-in at bars 30 and 41; bars 41-48 are bars 31-38 of take 5",
        ),
        (
            "1-30.3 take 5\n30.3-30 take 2\n31-48 take 5",
            "takes 2 and 5, one punch-in at bars 30-30.3 and 31",
        ),
        # Half of it comes twice, and only that half is heard again.
        (
            "1-40 take 5\n41-48 take 5 @ 31-38",
            "take 5, one pass with bars repeated, one punch-in at bars 30-31, heard again at "
            "bar 41; bars 41-48 repeat 31-38",
        ),
    ],
)
def test_a_punch_in_cut_in_two_is_not_heard_again(comp: str, said: str) -> None:
    assert tell(comp, PUNCHED) == said


def test_the_whole_sentence() -> None:
    takes = (PUNCHED[0], CLEAN[1])
    assert tell("1-24 take 2\n25-40 take 5\n41-48 take 2 @ 9-16", takes, APART) == (
        "takes 2 and 5, one punch-in at bar 12, heard again at bar 44; "
        "bars 41-48 repeat 9-16; doubled by the second guitar, panned apart"
    )


@pytest.mark.parametrize(
    ("doubling", "said"),
    [
        (APART, "doubled by the second guitar, panned apart"),
        (
            Doubling(
                state=DoublingState.DOUBLED,
                by=("Nela's mandolin",),
                panned=("panned hard left and right",),
                why="to widen the chorus",
            ),
            "doubled by Nela's mandolin, panned hard left and right: to widen the chorus",
        ),
        (
            Doubling(
                state=DoublingState.DOUBLED,
                by=("guitar 2", "guitar 3", "guitar 4"),
                panned=("left", "right", "centre"),
            ),
            "doubled by the guitar 2, the guitar 3 and the guitar 4, panned left, right and centre",
        ),
        (
            Doubling(state=DoublingState.DOUBLED, by=("Ava", "Bo"), panned=("", "panned left")),
            "doubled by Ava and Bo, Bo panned left",
        ),
        (Doubling(state=DoublingState.DOUBLED), "doubled, by which part is not noted"),
        (
            Doubling(state=DoublingState.NOT_DOUBLED, why="it fought the vocal"),
            "not doubled: it fought the vocal",
        ),
        (Doubling(state=DoublingState.NOT_DOUBLED), "not doubled, no reason noted"),
        (Doubling(), "not known whether it was doubled"),
    ],
)
def test_doubling_is_told(doubling: Doubling, said: str) -> None:
    assert tell_doubling(doubling) == said


@pytest.mark.parametrize(
    "name",
    ["the bouzouki", "a friend", "an oud", "his twelve-string", "her banjo", "their loop",
     "my tenor", "our choir", "himself", "herself", "Ava"],
)  # fmt: skip
def test_what_has_its_article_is_given_no_other(name: str) -> None:
    said = tell_doubling(Doubling(state=DoublingState.DOUBLED, by=(name,)))
    assert said.startswith(f"doubled by {name}")


def test_without_a_comp_the_takes_are_told() -> None:
    assert tell_comp(None, []) == "no takes and no comp logged"
    assert tell_comp(None, CLEAN) == "no comp logged; take 2 is the keeper"
    assert tell_comp(None, CLEAN[1:]) == "no comp logged; takes 5 and 6 recorded"
    two = (CLEAN[0], TakeSpan(number=3, result=TakeResult.KEEPER))
    assert tell_comp(None, two) == "no comp logged; takes 2 and 3 are keepers"
    assert tell("") == "no comp logged; take 2 is the keeper"
    assert tell_comp(None, [], Doubling()) == (
        "no takes and no comp logged; not known whether it was doubled"
    )


def test_takes_of_two_sessions_are_told_apart() -> None:
    takes = (
        TakeSpan(number=2, session="Friday", bars=parse_range("1-48")),
        TakeSpan(number=2, session="second day", bars=parse_range("1-48")),
    )
    comp = '1-16 take 2/Friday\n17-48 take 2/"second day"'
    assert tell(comp, takes) == "takes 2 of Friday and 2 of second day"
