"""`logbook form`: bars and sections put in, taken out and moved, with what stands in them."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.cli.typed import Typed

DAY = (
    "song One", "A 4 bars, B 4 bars, A", "A: Am F C G", "B: Dm Em F G", "t1 keeper 1-12",
    "t1 punch 6", "comp t1 1-8, t1 1-4 at 9", "note 5-8: ring",
)  # fmt: skip


@pytest.fixture
def typed(fresh: Callable[[], str], capsys: pytest.CaptureFixture[str]) -> Typed:
    typed = Typed(fresh(), capsys)
    for line in DAY:
        typed(["note", line])
    return typed


def test_the_form_is_listed(typed: Typed) -> None:
    said = typed("form")
    assert "B        5-8   4" in said
    assert [each["name"] for each in typed.json("form list")] == ["A", "B", "A"]


def test_bars_are_put_in_with_one_undo(typed: Typed) -> None:
    before = typed("dump")
    said = typed("form insert 2 --before 7")
    assert "A 1-4, B 5-10, A 11-14" in said
    assert "take 1 of guitar covers bars 1-14 now, without the new bars 7-8" in said
    after = typed("dump")
    assert "1 keeper 1-14; punch 6" in after
    assert '"9-10 take 1"' in after
    assert '"11-14 take 1 @ 1-4"' in after
    typed("undo")
    assert typed("dump") == before


def test_a_section_put_in_is_charted_as_its_namesakes(typed: Typed) -> None:
    typed("form insert 'B 4 bars'")
    chart = {each["bar"]: each["voicing"] for each in typed.json("chart list")}
    assert [chart[bar] for bar in range(13, 17)] == ["Dm", "Em", "F", "G"]
    typed("section add --name B --start 17 --length 4")
    chart = {each["bar"]: each["voicing"] for each in typed.json("chart list")}
    assert [chart[bar] for bar in range(17, 21)] == ["Dm", "Em", "F", "G"]


def test_a_section_is_moved_and_taken_out(typed: Typed) -> None:
    assert "B 1-4, A 5-8, A 9-12" in typed("form move B --before A")
    assert typed.json("chart list")[0]["voicing"] == "Dm"
    assert "note" in typed("form delete B")
    assert "say which: A1 to A2" in typed("form delete A", 2)
    assert "A 1-4" in typed("form delete A2")


def test_a_form_said_again_carries_the_chart(typed: Typed) -> None:
    typed("version edit recording --form 'intro 2 bars' --form 'A 4 bars' --form 'B 4 bars'")
    chart = {each["bar"]: each["voicing"] for each in typed.json("chart list")}
    assert [chart.get(bar) for bar in (1, 3, 7)] == [None, "Am", "Dm"]


def test_a_section_said_again_replaces_its_line(typed: Typed) -> None:
    assert typed("chart add 'B: Em | F | G | Am'").startswith("replaced by B: Em | F | G | Am")
    assert [each["voicing"] for each in typed.json("chart list")][4:8] == ["Em", "F", "G", "Am"]
    assert "adds nothing new" in typed("chart add 'B: Em | F | G | Am'", 2)


def test_a_second_comp_is_not_final_unasked(typed: Typed) -> None:
    typed("comp add rough --pieces '1-4 take 1'")
    assert [each["final"] for each in typed.json("comp list")] == [True, False]
    typed("comp add best --pieces '1-4 take 1' --final")
    assert [each["final"] for each in typed.json("comp list")] == [False, False, True]


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("form insert 4 --before Q", "no section is called Q"),
        ("form insert lots", "neither a number of bars nor a section"),
        ("form delete 40-50", "the form has no bars 40-50"),
        ("form move Q", "no section is called Q"),
    ],
)
def test_slips_change_nothing(typed: Typed, line: str, says: str) -> None:
    before = typed("dump")
    assert says in typed(line, 2)
    assert typed("dump") == before


def test_the_history_tells_form_and_chart_from_what_to_what(typed: Typed) -> None:
    typed("chart add 'B: Em | F | G | Am'")
    assert "bar 5: Dm -> Em; bar 6: Em -> F" in " ".join(typed("history -n 1").split())
    typed("form insert 'C 2 bars' --before B")
    said = " ".join(typed("history -n 1").split())
    assert "bar 5: B, 4 bars -> C, 2 bars; bar 7: nothing -> B, 4 bars" in said
    assert "bar 9: A, 4 bars -> nothing" in said


def test_several_voicings_in_one_command(typed: Typed) -> None:
    said = typed(["voicing", "add", "D x x 0 2 3 2, E7 0 2 0 1 0 0"])
    assert said.count("added") == 2
    labels = [each["label"] for each in typed.json("voicing list")]
    assert labels[-2:] == ["D", "E7"]
