from __future__ import annotations

import pytest

from logbook.strings.tunings import (
    TuningError,
    at_pitch,
    find_tuning,
    parse_tuning,
    read_tuning,
    sounding_hz,
    string_hz,
    string_number,
    usual_tunings,
)


def test_low_to_high_as_strung() -> None:
    tuning = parse_tuning("D2 A2 D3 G3 A3 D4")
    assert tuning.open_midi == (38, 45, 50, 55, 57, 62)
    assert tuning.name == "DADGAD"
    assert not tuning.is_reentrant


def test_reentrant_tunings_keep_the_order_of_the_strings() -> None:
    ukulele = find_tuning("ukulele")
    assert ukulele.open_midi == (67, 60, 64, 69)
    assert ukulele.is_reentrant
    assert find_tuning("high-strung").open_midi == (52, 57, 62, 67, 59, 64)


def test_a_course_goes_by_its_lowest_string() -> None:
    twelve = find_tuning("twelve-string")
    assert twelve.open_midi == find_tuning("standard").open_midi
    assert twelve.strings[0].course_midi == (52, 40)
    assert twelve.strings[5].course_midi == (64, 64)


def test_the_short_string_of_the_banjo_starts_at_fret_five() -> None:
    banjo = find_tuning("banjo")
    assert banjo.starts == (5, 0, 0, 0, 0)
    assert banjo.open_names == ("G4", "D3", "G3", "B3", "D4")


@pytest.mark.parametrize("name", [tuning.name for tuning in usual_tunings()])
def test_every_usual_tuning_is_read_back_from_its_text(name: str) -> None:
    tuning = find_tuning(name)
    again = parse_tuning(tuning.text)
    assert again.strings == tuning.strings
    same = next(other for other in usual_tunings() if other.text == tuning.text)
    assert (again.name, again.kind) == (same.name, same.kind)


@pytest.mark.parametrize("text", ["drop d", "Drop D", "dropd", "DROP-D"])
def test_names_are_found_however_they_are_typed(text: str) -> None:
    assert find_tuning(text).name == "drop D"


def test_read_takes_names_and_strings() -> None:
    assert read_tuning("dadgad").open_midi == read_tuning("D2, A2, D3, G3, A3, D4").open_midi


@pytest.mark.parametrize(
    ("letters", "name"),
    [
        ("DADGBE", "drop D"),
        ("eadgbe", "standard"),
        ("D A D F# A D", "open D"),
        ("gdae", "mandolin"),
        ("GDGBD", "banjo"),
        ("gCEA", "ukulele"),
    ],
)
def test_the_letters_of_the_strings_are_a_name(letters: str, name: str) -> None:
    assert read_tuning(letters).name == name


def test_an_unknown_name_is_answered_with_the_closest() -> None:
    with pytest.raises(TuningError, match="no tuning is called 'dadgat'; did you mean DADGAD"):
        find_tuning("dadgat")


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("E2 A2 D", "'D' is not a pitch of an open string"),
        ("E2 A2 H3", "H3"),
        ("G4@x D3", "starts at no fret"),
        ("E3/ A2", "is not a pitch"),
        ("", "names no string"),
    ],
)
def test_what_cannot_be_read_is_named(text: str, says: str) -> None:
    with pytest.raises(TuningError, match=says):
        parse_tuning(text)


def test_reference_and_offset() -> None:
    tuning = parse_tuning("E2 A2 D3 G3 B3 E4", a4_hz=432.0, offset_cents=-1200.0)
    assert sounding_hz(tuning, 69) == pytest.approx(216.0)
    assert string_hz(find_tuning("twelve-string"), 0) == pytest.approx((164.814, 82.407), abs=0.001)
    with pytest.raises(TuningError, match=r"A4 cannot be 4\.4 Hz"):
        at_pitch(tuning, a4_hz=4.4)
    with pytest.raises(TuningError, match="more than an octave"):
        at_pitch(tuning, offset_cents=1300.0)


def test_players_number_strings_from_the_high_side() -> None:
    assert [string_number(index, 6) for index in range(6)] == [6, 5, 4, 3, 2, 1]
