from __future__ import annotations

from dataclasses import replace

import pytest

from logbook.checking import check_log
from logbook.records import ArrangedPart, ArrangedSection, Arrangement, TempoChange
from tests.arranging.material import VERSION, log_of


def told(plan: Arrangement, tempos: tuple[TempoChange, ...] = VERSION.tempos) -> list[str]:
    log, _ = log_of(replace(VERSION, tempos=tempos, arrangements=(plan,)))
    return [each.what for each in check_log(log) if each.rule == "arrangements"]


def test_an_arrangement_that_can_be_played_is_no_problem() -> None:
    guitar = ArrangedPart(part="guitar", capo="4")
    assert told(Arrangement(name="pub", key="E", bpm=90, parts=(guitar,))) == []


@pytest.mark.parametrize(
    ("plan", "says"),
    [
        (
            Arrangement(name="pub", parts=(ArrangedPart(part="guitar", capo="18"),)),
            "guitar: a capo at fret 18 is past the body",
        ),
        (Arrangement(name="pub", key="A minor"), "the recording is in D major"),
        (
            Arrangement(name="pub", sections=(ArrangedSection(name="verse", ramp=True),)),
            "the tempo of verse moves to no other tempo",
        ),
        (
            Arrangement(name="pub", sections=(ArrangedSection(name="bridge"),)),
            'the form has no section "bridge"',
        ),
    ],
)
def test_one_that_cannot_says_why(plan: Arrangement, says: str) -> None:
    (what,) = told(plan)
    assert says in what


def test_what_is_wrong_with_the_record_is_not_told_of_its_arrangements() -> None:
    tempos = (TempoChange(bar=1, bpm=120), TempoChange(bar=1, bpm=100))
    assert told(Arrangement(name="pub", bpm=90), tempos) == []
