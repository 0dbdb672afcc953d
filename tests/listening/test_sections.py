"""Sections found by what repeats."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from logbook.listening.sections import find_sections


def told(bars: str, first: int = 1) -> list[tuple[str, int, int]]:
    return [(each.name, each.start, each.bars) for each in find_sections(bars, first)]


def test_verse_and_chorus() -> None:
    verse, chorus = "acdecdfg", "hkhkmnmp"
    assert told(verse + chorus + verse + chorus) == [("A", 1, 16), ("A", 17, 16)]
    assert told(verse + chorus + verse) == [("A", 1, 8), ("B", 9, 8), ("A", 17, 8)]
    assert told(verse + verse + chorus + verse) == [
        ("A", 1, 8), ("A", 9, 8), ("B", 17, 8), ("A", 25, 8),
    ]  # fmt: skip


def test_an_intro_before_what_repeats() -> None:
    verse, chorus = "acdecdfg", "hkhkmnmp"
    assert told("xy" + verse + chorus + verse, 5) == [
        ("A", 5, 2), ("B", 7, 8), ("C", 15, 8), ("B", 23, 8),
    ]  # fmt: skip


def test_a_bar_heard_wrongly_does_not_part_two_verses() -> None:
    assert told("acdecdfg" + "hkhkmnmp" + "acdeczfg") == [("A", 1, 8), ("B", 9, 8), ("A", 17, 8)]


def test_nothing_repeats() -> None:
    assert told("abcdefgh") == [("A", 1, 8)]
    assert find_sections("") == ()


@given(st.lists(st.integers(0, 4), min_size=1, max_size=40), st.integers(1, 9))
def test_sections_cover_the_bars_in_order(bars: list[int], first: int) -> None:
    at = first
    for section in find_sections(bars, first):
        assert section.start == at
        assert section.bars > 0
        assert 0.0 <= section.sure <= 1.0
        at += section.bars
    assert at == first + len(bars)
