"""Which spellings are one name; forms from the Unicode standard, annex 15."""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.errors import LogbookError
from logbook.names import alike, bare, begins, closest, fold, pick, same, spelling, spelt

NFD = unicodedata.normalize("NFD", "René")


@pytest.mark.parametrize(
    ("typed", "known"),
    [
        ("René", "René"),
        (NFD, "René"),
        ("rené", "René"),
        ("Rene", "René"),
        ("René", "Rene"),
        ("RENE", "René"),
        ("O'Neil", "O’Neil"),
        ("O’Neil", "O'Neil"),
        ('the "Wharf"', "The “Wharf”"),
        ("pre-chorus", "Pre\u2011chorus"),
        ("Strasse", "Straße"),
        ("Soren", "Søren"),
        ("two  words", "Two words"),
        ("Ada", "Ada Fenrush"),
        ("renet", "René Tidewell"),
    ],
)
def test_a_name_is_found_however_it_is_typed(typed: str, known: str) -> None:
    if typed == "renet":
        typed = "rene t"
    assert pick(typed, ["Somebody", known], "person") == known


def test_what_is_written_goes_before_what_is_like_it() -> None:
    assert pick("riff", ["Riff", "riff", "RIFF"], "voicing") == "riff"
    assert pick("Rene", ["René", "Rene", "Renée"], "person") == "Rene"
    assert pick("rene", ["René", "Rene"], "person") == "Rene"
    assert pick("René", ["Renée", NFD], "person") == NFD
    with pytest.raises(LogbookError, match="may be any of 2 persons"):
        pick("RIFF", ["Riff", "riff"], "person")


def test_the_closest_are_named() -> None:
    assert closest("Renne", ["Ada", "René"]) == ["René"]
    with pytest.raises(LogbookError, match='no person is called "Bo"; there is no person yet'):
        pick("Bo", [], "person")
    with pytest.raises(LogbookError, match='did you mean "Ada Fenrush"'):
        pick("Ade Fenrish", ["Ada Fenrush"], "person")
    with pytest.raises(LogbookError, match="no person is called"):
        pick("", ["Ada"], "person")


def test_capitals_and_accents_tell_names_apart_until_one_looks_for_them() -> None:
    assert same(NFD, "René")
    assert not same("rene", "René")
    assert not same("CM7", "Cm7")
    assert alike("CM7", "Cm7")
    assert spelt("O’Neil", ["Ada", "O'Neil"]) == "O'Neil"
    assert spelt("o'neil", ["O'Neil"]) is None
    assert begins("Émile", "em")


@given(st.text(max_size=20))
def test_forms_hold_still_and_know_no_composition(name: str) -> None:
    for form in (spelling, fold, bare):
        once = form(name)
        assert form(once) == once
    for other in ("NFC", "NFD"):
        assert spelling(unicodedata.normalize(other, name)) == spelling(name)
        assert bare(unicodedata.normalize(other, name)) == bare(name)


def test_a_name_may_be_cut_to_any_of_its_words() -> None:
    known = ["the cedar guitar", "the small guitar", "Oda Brandvik", "Low Water", "Waterline"]
    assert pick("cedar", known, "thing") == "the cedar guitar"
    assert pick("guitar small", known, "thing") == "the small guitar"
    assert pick("brand", known, "thing") == "Oda Brandvik"
    assert pick("water", known, "thing") == "Waterline", "a beginning goes first"
    with pytest.raises(LogbookError, match="may be any of 2"):
        pick("guitar", known, "thing")
    with pytest.raises(LogbookError, match="no thing is called"):
        pick("larch guitar", known, "thing")
