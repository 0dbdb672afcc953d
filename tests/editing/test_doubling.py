from __future__ import annotations

import pytest

from logbook.editing.doubling import (
    Doubling,
    DoublingState,
    LoggedPart,
    check_doubling,
    parse_doubling_state,
)
from logbook.errors import LogbookError

DOUBLED, NOT_DOUBLED = DoublingState.DOUBLED, DoublingState.NOT_DOUBLED


def part(
    name: str,
    state: DoublingState = DoublingState.UNKNOWN,
    by: str = "",
    takes: int = 1,
    doubles: str = "",
) -> LoggedPart:
    return LoggedPart(
        name=name,
        doubling=Doubling(state=state, by=(by,) if by else ()),
        usable_takes=takes,
        doubles=(doubles,) if doubles else (),
    )


def problems(*parts: LoggedPart) -> list[str]:
    return [finding.problem for finding in check_doubling(parts)]


@pytest.mark.parametrize(
    ("text", "state"),
    [
        ("doubled", DOUBLED),
        ("d", DOUBLED),
        ("yes", DOUBLED),
        ("not", NOT_DOUBLED),
        ("no", NOT_DOUBLED),
        ("Not  doubled", NOT_DOUBLED),
        ("unk", DoublingState.UNKNOWN),
    ],
)
def test_a_state_is_known_by_its_beginning(text: str, state: DoublingState) -> None:
    assert parse_doubling_state(text) is state


@pytest.mark.parametrize("text", ["", "maybe", "doubledd"])
def test_another_word_is_no_state(text: str) -> None:
    with pytest.raises(LogbookError, match="say doubled, not doubled or unknown"):
        parse_doubling_state(text)


@pytest.mark.parametrize(
    "parts",
    [
        [part("guitar", DOUBLED, "second guitar"), part("second guitar", doubles="guitar")],
        [part("guitar", DOUBLED, "second guitar"), part("second guitar")],
        [part("guitar", DOUBLED), part("second guitar", doubles="Guitar")],
        [part("guitar", NOT_DOUBLED), part("mandolin")],
        [part("guitar"), part("mandolin")],
        [part("a", DOUBLED, "b"), part("b", DOUBLED, "a")],
    ],
)
def test_what_agrees_is_left_alone(parts: list[LoggedPart]) -> None:
    assert problems(*parts) == []


@pytest.mark.parametrize(
    ("parts", "said"),
    [
        (
            [part("guitar", DOUBLED)],
            "guitar is said to be doubled, but no part is logged as its double",
        ),
        (
            [part("guitar", DOUBLED, "second guitar")],
            "guitar is said to be doubled by second guitar, but there is no such part",
        ),
        (
            [part("guitar", DOUBLED, "second guitar"), part("second guitar", takes=0)],
            "guitar is said to be doubled by second guitar, which has no usable take",
        ),
        ([part("guitar", DOUBLED, "guitar")], "guitar is said to be doubled by itself"),
        (
            [part("guitar", NOT_DOUBLED), part("second guitar", doubles="guitar")],
            "guitar is said to be not doubled, but second guitar is logged as its double",
        ),
        (
            [part("guitar"), part("second guitar", doubles="guitar")],
            "nobody noted whether guitar was doubled, but second guitar is logged as its double",
        ),
        (
            [part("guitar", NOT_DOUBLED, "mandolin"), part("mandolin")],
            "guitar is said to be not doubled, and yet doubled by mandolin",
        ),
        (
            [part("second guitar", doubles="guitar")],
            "second guitar is logged as the double of guitar, but there is no such part",
        ),
        ([part("guitar", doubles="guitar")], "guitar is logged as the double of itself"),
    ],
)
def test_what_contradicts_the_log_is_said(parts: list[LoggedPart], said: str) -> None:
    assert said in problems(*parts)


def test_two_parts_that_disagree_on_the_double_are_both_named() -> None:
    assert problems(
        part("guitar", DOUBLED, "mandolin"),
        part("mandolin", doubles="voice"),
        part("voice", DOUBLED, "second voice"),
        part("second voice", doubles="voice"),
    ) == [
        "guitar is said to be doubled by mandolin, which is logged as the double of voice",
        "mandolin is logged as the double of voice, which is said to be doubled by second voice",
    ]


def test_every_finding_says_what_would_mend_it() -> None:
    found = check_doubling([part("guitar", DOUBLED), part("x", NOT_DOUBLED, "guitar")])
    assert len(found) == 2
    assert all(finding.remedy for finding in found)
    assert [finding.part for finding in found] == ["guitar", "x"]
