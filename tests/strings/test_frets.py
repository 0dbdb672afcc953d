from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.strings.capo import read_capos, string_stops
from logbook.strings.frets import (
    CAPO,
    NUT,
    FingerError,
    FretError,
    check_fingers,
    count_frets,
    harmonic_semitones,
    place_frets,
    read_fingers,
    read_frets,
    write_fingers,
)
from logbook.strings.tunings import find_tuning

STANDARD = find_tuning("standard")


@pytest.mark.parametrize(
    "text",
    ["x 0 2 2 1 0", "x02210", "X02210", "x,0,2,2,1,0", "x-0-2-2-1-0", " x  0 2  2 1 0 "],
)
def test_separators(text: str) -> None:
    line = read_frets(text, strings=6)
    assert line.text == "x 0 2 2 1 0"
    assert line.written == text


def test_two_digit_frets_need_separators() -> None:
    assert read_frets("10-12-12-11-10-10").text == "10 12 12 11 10 10"
    with pytest.raises(FretError, match="there is no fret 101210"):
        read_frets("101210", strings=1)


def test_ringing_and_harmonics() -> None:
    line = read_frets("x(0)2<12>10")
    assert line.text == "x (0) 2 <12> 1 0"
    assert line.cells[1].may_ring
    assert line.cells[3].harmonic


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("x 0 2 2 1", "has 5 entries for 6 strings"),
        ("x 0 2 2 1 o", "string 1: 'o' is not a fret; write 0 for the open string"),
        ("x 0 2 -1 1 0 q", "has 7 entries"),
        ("x 0 2 2 q 0", "string 2: 'q' is not a fret"),
        ("x 0 2 2 1 <0>", "string 1: <0> is not a harmonic"),
        ("x 0 99 2 1 0", "string 4: there is no fret 99"),
        ("", "has 0 entries"),
    ],
)
def test_errors_name_string_and_entry(text: str, says: str) -> None:
    with pytest.raises(FretError, match=says):
        read_frets(text, strings=6)


def test_a_fretted_note_behind_the_capo_says_what_to_write() -> None:
    line = read_frets("x 0 4 1 0 0")
    with pytest.raises(
        FretError,
        match="string 3: fret 1 from the nut is behind the capo at 2; write 0 for the open string,"
        " or 3 if you counted 1 from the capo",
    ):
        place_frets(line, STANDARD, read_capos("2"))
    with pytest.raises(FretError, match="string 3: fret 2 from the nut is at the capo"):
        place_frets(read_frets("x 0 4 2 0 0"), STANDARD, read_capos("2"))


def test_several_wrong_strings_are_told_in_one_go() -> None:
    with pytest.raises(FretError) as caught:
        place_frets(read_frets("x 0 2 2 1 0"), STANDARD, read_capos("2"))
    assert "string 4" in caught.value.problem
    assert "string 2" in caught.value.problem
    assert "counted from the capo" in caught.value.remedy


def test_counted_from_the_capo_nothing_lies_behind_it() -> None:
    position = place_frets(read_frets("x02210", counted=CAPO), STANDARD, read_capos("2"))
    assert count_frets(position, NUT).text == "x 0 4 4 3 0"
    assert count_frets(position, CAPO).text == "x 0 2 2 1 0"


def test_a_partial_capo_counts_string_by_string() -> None:
    capos = read_capos("2 @ 3-5")
    position = place_frets(read_frets("3 0 0 4 1 0"), STANDARD, capos)
    assert count_frets(position, CAPO).text == "3 0 0 2 1 0"
    with pytest.raises(FretError, match="string 5: fret 2 from the nut is at the capo"):
        place_frets(read_frets("3 2 0 4 1 0"), STANDARD, capos)


def test_the_short_string_counts_from_where_it_starts() -> None:
    banjo = find_tuning("banjo")
    position = place_frets(read_frets("7 0 0 1 2"), banjo)
    assert count_frets(position, CAPO).text == "2 0 0 1 2"
    with pytest.raises(FretError, match="string 5: fret 5 from the nut is where the string starts"):
        place_frets(read_frets("5 0 0 1 2"), banjo)


def test_past_the_last_fret() -> None:
    with pytest.raises(FretError, match="string 1: fret 23 from the nut is past the last fret, 22"):
        place_frets(
            read_frets("x x x x x 21", counted=CAPO), STANDARD, read_capos("2"), last_fret=22
        )


def test_harmonics_are_counted_from_the_capo() -> None:
    capos = read_capos("2")
    assert place_frets(read_frets("xxxxx<14>"), STANDARD, capos)[5] is not None
    with pytest.raises(FretError, match="no natural harmonic over fret 12; write <14>, <9>"):
        place_frets(read_frets("xxxxx<12>"), STANDARD, capos)


@pytest.mark.parametrize(
    ("fret", "semitones"),
    [(12, 12), (7, 19), (19, 19), (5, 24), (24, 24), (4, 28), (9, 28), (16, 28), (3, 31)],
)
def test_natural_harmonics(fret: int, semitones: int) -> None:
    assert harmonic_semitones(fret) == semitones


@pytest.mark.parametrize("fret", [1, 6, 8, 10, 11, 13])
def test_no_harmonic_there(fret: int) -> None:
    assert harmonic_semitones(fret) is None


CAPOS = st.sampled_from(["0", "1", "2", "5", "2 @ 3-5", "3 @ 1-5", "2 + 4 @ 3-5", "7 @ 5"])
TUNINGS = st.sampled_from(["standard", "DADGAD", "banjo", "ukulele", "twelve-string", "bass"])


@given(TUNINGS, CAPOS, st.data())
def test_both_counts_say_the_same_position(name: str, capo: str, data: st.DataObject) -> None:
    tuning = find_tuning(name)
    capos = read_capos(capo)
    cells = []
    for stop in string_stops(tuning, capos):
        fret = data.draw(st.none() | st.just(0) | st.integers(stop + 1, 20))
        cells.append("x" if fret is None else str(fret))
    position = place_frets(read_frets(" ".join(cells)), tuning, capos)
    for counted in (NUT, CAPO):
        line = count_frets(position, counted)
        assert place_frets(line, tuning, capos) == position
        assert place_frets(read_frets(line.text, counted=counted), tuning, capos) == position


@pytest.mark.parametrize(
    ("text", "fingers"),
    [
        ("- 0 2 3 1 0", (None, None, "2", "3", "1", None)),
        ("x x 0 1 3 2", (None, None, None, "1", "3", "2")),
        ("t02311", ("T", None, "2", "3", "1", "1")),
        ("x32.1x", (None, "3", "2", None, "1", None)),
    ],
)
def test_fingers(text: str, fingers: tuple[str | None, ...]) -> None:
    assert read_fingers(text, strings=6) == fingers
    assert read_fingers(write_fingers(fingers)) == fingers


def test_fingers_that_do_not_fit() -> None:
    position = place_frets(read_frets("x02210"), STANDARD)
    assert check_fingers(read_fingers("--231-"), position)[2] == "2"
    with pytest.raises(FingerError, match="string 5: finger 1 on a string that is open"):
        check_fingers(read_fingers("-1231-"), position)
    with pytest.raises(FingerError, match="string 2: no finger for fret 1"):
        check_fingers(read_fingers("--23--"), position)
    with pytest.raises(FingerError, match="string 4: '5' is not a finger"):
        read_fingers("--53--")
    with pytest.raises(FingerError, match="5 fingers for 6 strings"):
        read_fingers("--53-", strings=6)
