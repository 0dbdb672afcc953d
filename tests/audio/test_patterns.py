"""File-name patterns: what they read, what they refuse, and that they never hang or raise."""

from __future__ import annotations

import time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.audio.patterns import (
    FIELDS,
    USUAL_PATTERNS,
    NameReading,
    PatternError,
    compile_pattern,
    iso_date,
    same_name,
    take_number,
    try_patterns,
)


def readings(pattern: str, name: str) -> tuple[NameReading, ...]:
    return compile_pattern(pattern).readings(name)


@pytest.mark.parametrize(
    ("pattern", "name", "expected"),
    [
        ("{part}_{take}", "gtr_03.wav", NameReading(part="gtr", take=3)),
        ("{part}_{take}", "gtr_T03.wav", NameReading(part="gtr", take=3)),
        ("{part}_{take}", "acoustic_gtr_12.aiff", NameReading(part="acoustic_gtr", take=12)),
        ("{part} {take}", "gtr take 3.flac", NameReading(part="gtr", take=3)),
        ("{part}-{take}", "gtr-tk007.mp3", NameReading(part="gtr", take=7)),
        ("{part}_{take}.wav", "gtr_3.wav", NameReading(part="gtr", take=3)),
        ("{take} {part}", "03 gtr left.wav", NameReading(part="gtr left", take=3)),
        ("{part}_{take}_{mic}", "gtr_3_neck.wav", NameReading(part="gtr", take=3, mic="neck")),
        (
            "Session {text} - {part} {take}",
            "session ü - gtr 4.wav",
            NameReading(part="gtr", take=4),
        ),
        ("{song}/{part}_{take}", "Monday/Low Tide/gtr_4.wav", NameReading("Low Tide", "gtr", 4)),
        ("{date}_{part}_{take}", "2024-05-06_gtr_2.wav", NameReading(None, "gtr", 2, "2024-05-06")),
        ("{date} {part} {take}", "20240506 gtr 2.wav", NameReading(None, "gtr", 2, "2024-05-06")),
        ("{song} - {part} - {take}", "Low-Tide - gtr - 9.wav", NameReading("Low-Tide", "gtr", 9)),
    ],
)
def test_a_name_is_read(pattern: str, name: str, expected: NameReading) -> None:
    assert readings(pattern, name) == (expected,)


@pytest.mark.parametrize(
    ("pattern", "name"),
    [
        ("{part}_{take}", "gtr.wav"),
        ("{part}_{take}", "gtr_solo.wav"),
        ("{part}_{take}", "_3.wav"),
        ("{part}_{take}", "gtr_12345.wav"),
        ("{song}/{part}_{take}", "gtr_3.wav"),
        ("{date}_{part}_{take}", "2024-13-06_gtr_2.wav"),
        ("{date}_{part}_{take}", "2023-02-29_gtr_2.wav"),
        ("{part} {take}", "take 3.wav"),
    ],
)
def test_a_name_that_does_not_fit_is_not_read(pattern: str, name: str) -> None:
    assert readings(pattern, name) == ()


def test_every_way_to_read_a_name_is_found() -> None:
    found = readings("{song}_{part}_{take}", "low_tide_gtr_3.wav")
    assert set(found) == {NameReading("low", "tide_gtr", 3), NameReading("low_tide", "gtr", 3)}


@pytest.mark.parametrize(
    ("pattern", "said"),
    [
        ("", "is empty"),
        ("   ", "is empty"),
        ("take", "has no field"),
        ("{part", "without its partner"),
        ("part}_{take}", "without its partner"),
        ("{{part}}_{take}", "without its partner"),
        ("{part}_{tkae}", "unknown field {tkae}"),
        ("{}_{take}", "unknown field {}"),
        ("{take}_{take}", "{take} twice"),
        ("{part}{take}", "keeps {part} and {take} apart"),
        ("_".join(["{text}"] * 9), "9 fields"),
        ("{part}_{take}" + "x" * 300, "characters"),
    ],
)
def test_a_bad_pattern_says_what_is_wrong_and_what_would_be_right(pattern: str, said: str) -> None:
    with pytest.raises(PatternError) as caught:
        compile_pattern(pattern)
    assert said in caught.value.problem
    assert caught.value.remedy


@given(st.text(max_size=80) | st.text(alphabet="{}_ -partke/.", max_size=40))
def test_any_text_is_a_pattern_or_a_pattern_error(text: str) -> None:
    try:
        pattern = compile_pattern(text)
    except PatternError:
        return
    pattern.readings("gtr_3.wav")


@given(st.sampled_from(USUAL_PATTERNS), st.text(max_size=300))
def test_any_name_is_read_or_not(pattern: str, name: str) -> None:
    for reading in readings(pattern, name):
        assert reading.take is not None


names = st.text(alphabet="abcdefgh", min_size=1, max_size=8).filter(lambda n: n not in ("tk", "t"))


@given(names, names, st.integers(0, 9999))
def test_what_a_pattern_writes_it_reads(song: str, part: str, take: int) -> None:
    found = readings("{song}_{part}_{take}", f"{song}_{part}_{take:02d}.wav")
    assert NameReading(song=song, part=part, take=take) in found


@pytest.mark.parametrize("name", ["_" * 255, "a_" * 500 + "1", "_a" * 500 + "x", "1_" * 500])
def test_hostile_names_take_no_time(name: str) -> None:
    begin = time.process_time()
    found = readings("{text}_{song}_{text}_{part}_{text}_{mic}_{text}_{take}", name)
    assert len(found) != 1  # nothing in it decides for one
    assert time.process_time() - begin < 1


def test_takes_and_dates() -> None:
    assert [take_number(text) for text in ("3", "003", "T3", "tk 3", "Take_003", " 3 ")] == [3] * 6
    assert [take_number(text) for text in ("", "x", "3b", "99999", "-3x")] == [None] * 5
    assert iso_date("2024.05.06") == iso_date("20240506") == "2024-05-06"
    assert iso_date("2024-0506") is None


def test_names_are_compared_without_regard_to_separators_and_case() -> None:
    assert same_name("Acoustic_Gtr  L") == same_name("acoustic gtr.l") == "acoustic gtr l"


def test_the_pattern_that_recognises_most_comes_first() -> None:
    names = ["gtr_1.wav", "gtr_2.wav", "bass_1.wav", "room tone.wav"]
    best, *others = try_patterns(names, parts=["gtr", "bass"])
    assert (best.pattern, best.read, best.recognised, best.total) == ("{part}_{take}", 3, 3, 4)
    assert all(trial.recognised < 3 for trial in others)


def test_fields_are_all_usable() -> None:
    for field in FIELDS:
        assert compile_pattern(f"{{{field}}}").pieces == ((True, field),)
