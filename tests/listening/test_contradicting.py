"""Holding the log against what was heard: one bar, a chord wrong throughout, a chord that blurs."""

from __future__ import annotations

import pytest

from logbook.listening.contradicting import contradictions
from logbook.listening.heard import HeardSpan, HeardVoicing, sounding

OPEN = (40, 45, 50, 55, 59, 64)
G = (3, 2, 0, 0, 0, 3)
EM = (0, 2, 2, 0, 0, 0)
C = (None, 3, 2, 0, 1, 0)


def span(place: int, **sure: float) -> HeardSpan:
    grips = {"G": G, "Em": EM, "C": C}
    voicings = tuple(
        HeardVoicing(frets=grips[name], notes=sounding(grips[name], OPEN, 0), confidence=value)
        for name, value in sorted(sure.items(), key=lambda item: -item[1])
    )
    notes = voicings[0].notes if voicings else ()
    return HeardSpan(
        start=2.0 * place, end=2.0 * place + 2, notes=notes, voicings=voicings, silent=False
    )


def found(heard, logged):
    return [(c.place, c.throughout) for c in contradictions(heard, logged, open_strings=OPEN)]


def test_one_bar_that_is_something_else_is_named() -> None:
    heard = [span(0, G=0.99, Em=0.01), span(1, G=0.98, Em=0.02), span(2, Em=0.97, G=0.03)]
    (one,) = contradictions(heard, [G, G, G], open_strings=OPEN)
    assert (one.place, one.logged, one.throughout) == (2, G, False)
    assert one.heard is not None
    assert one.heard.frets == EM
    assert one.sure > 0.9


def test_a_chord_that_is_wrong_wherever_it_stands_is_named_so() -> None:
    heard = [span(0, Em=0.95, G=0.05), span(1, Em=0.9, G=0.1), span(2, Em=0.97, G=0.03)]
    assert found(heard, [G, G, G]) == [(0, True), (1, True), (2, True)]


def test_a_chord_that_blurs_in_every_bar_is_left_alone() -> None:
    heard = [span(n, Em=0.7, G=0.3) for n in range(4)]
    assert found(heard, [G] * 4) == []


def test_what_fits_is_left_alone_and_so_is_silence_and_nothing_logged() -> None:
    quiet = HeardSpan(start=4, end=6, notes=(), voicings=(), silent=True)
    heard = [span(0, G=0.6, Em=0.4), span(1, Em=0.9, G=0.1), quiet]
    assert found(heard, [G, None, G]) == []


def test_a_bar_that_none_of_the_voicings_fits_is_named_without_another() -> None:
    (one,) = contradictions([span(0)], [C], open_strings=OPEN)
    assert one.heard is None


def test_both_must_be_of_one_length() -> None:
    with pytest.raises(ValueError, match="argument"):
        contradictions([span(0, G=1.0)], [], open_strings=OPEN)
