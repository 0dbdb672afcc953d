from __future__ import annotations

import itertools
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.arranging.performance import Note, perform
from logbook.errors import LogbookError
from logbook.records import ChartEntry, MeterChange, Part, Pattern, Voicing
from logbook.records.context import tempo_map_of
from logbook.records.part_view import PartView
from tests.arranging.material import GUITAR_PART, VERSION, log_of

OPEN = Voicing(label="O", frets="0 0 0 0 0 0")
HIGH = Voicing(label="H", frets="x x x 0 1 0")


def play(
    pattern: Pattern | None,
    *chart: ChartEntry,
    meters: tuple[MeterChange, ...] = (),
    pickup: str = "",
    bars: int = 2,
    capo: str = "",
    voicings: tuple[Voicing, ...] = (OPEN, HIGH),
) -> tuple[Note, ...]:
    part = Part(
        name="guitar",
        instrument="willow guitar",
        capo=capo,
        voicings=voicings,
        patterns=(pattern,) if pattern else (),
        chart=chart,
    )
    version = replace(VERSION, meters=meters, pickup_beats=pickup, form=(), parts=(part,))
    log, song = log_of(version)
    tempo_map = tempo_map_of(version)
    assert tempo_map is not None
    return perform(PartView(log, song, version, part), tempo_map, tempo_map.bar_start(bars + 1))


def starts(notes: tuple[Note, ...]) -> list[Fraction]:
    return sorted({note.start for note in notes})


def quarters(*numbers: float) -> list[Fraction]:
    return [Fraction(str(number)) / 4 for number in numbers]


def test_a_chord_without_a_pattern_is_struck_once_low_to_high() -> None:
    notes = play(None, ChartEntry(bar=1, voicing="O"))
    assert [(n.string, n.midi[0], n.order) for n in notes] == [
        (6, 40, 0), (5, 45, 1), (4, 50, 2), (3, 55, 3), (2, 59, 4), (1, 64, 5),
    ]  # fmt: skip
    assert {(n.start, n.end) for n in notes} == {(Fraction(0), Fraction(2))}


def test_strokes_go_round_and_up_strokes_start_at_the_high_string() -> None:
    pattern = Pattern(label="p", grid="1/4", line="D . U .")
    notes = play(pattern, ChartEntry(bar=1, voicing="H", pattern="p"))
    assert starts(notes) == quarters(0, 2, 4, 6)
    up = [note for note in notes if note.start == Fraction(1, 2)]
    assert [(n.string, n.order, n.stroke) for n in up] == [(1, 0, "U"), (2, 1, "U"), (3, 2, "U")]
    assert {note.end for note in up} == {Fraction(1)}


def test_the_capo_raises_what_sounds() -> None:
    notes = play(None, ChartEntry(bar=1, voicing="O"), capo="3", voicings=(OPEN,))
    assert [note.midi[0] for note in notes] == [43, 48, 53, 58, 62, 67]


def test_an_open_string_rings_on_into_the_next_chord() -> None:
    notes = play(None, ChartEntry(bar=1, voicing="O"), ChartEntry(bar=2, voicing="H"))
    first = {note.string: note.end for note in notes if note.start == 0}
    # Strings 3 and 1 are open in both and struck again; 2 is fretted, the low ones drop out.
    assert first == {6: 1, 5: 1, 4: 1, 3: 1, 2: 1, 1: 1}
    pattern = Pattern(label="p", grid="1/4", line="D6 . . .")
    notes = play(
        pattern, ChartEntry(bar=1, voicing="O", pattern="p"), ChartEntry(bar=2, voicing="O")
    )
    assert [(n.start, n.end) for n in notes] == [(0, 1), (1, 2)]


def test_muted_hits_stop_and_are_said_to_be_muted() -> None:
    pattern = Pattern(label="p", grid="1/4", line="D x d .")
    notes = play(pattern, ChartEntry(bar=1, voicing="H", pattern="p"), bars=1)
    by_start = {at: [n for n in notes if n.start == at] for at in starts(notes)}
    assert {note.end for note in by_start[Fraction(0)]} == {Fraction(1, 4)}
    (hit,) = by_start[Fraction(1, 4)]
    assert (hit.muted, hit.midi, hit.stroke) == (True, (), "x")
    damped = by_start[Fraction(1, 2)]
    assert [note.midi[0] for note in damped] == [40, 45, 50, 55, 59, 64]
    assert all(note.muted and note.start == note.end for note in damped)


def test_a_rest_of_the_part_silences_the_pattern_too() -> None:
    pattern = Pattern(label="p", grid="1/4", line="D x d D")
    notes = play(pattern, ChartEntry(bar=1, voicing="H", pattern="p"), ChartEntry(bar=2))
    assert max(starts(notes)) < 1
    assert max(note.end for note in notes) == 1


def test_accents() -> None:
    pattern = Pattern(label="p", grid="1/2", line=">D D")
    notes = play(pattern, ChartEntry(bar=1, voicing="H", pattern="p"), bars=1)
    assert {note.start: note.accent for note in notes} == {Fraction(0): True, Fraction(1, 2): False}


def test_swing_is_kept() -> None:
    pattern = Pattern(label="p", grid="1/8", line="DDDD DDDD", feel="swing")
    notes = play(pattern, ChartEntry(bar=1, voicing="H", pattern="p"), bars=1)
    assert starts(notes)[:3] == [0, Fraction(1, 6), Fraction(1, 4)]


def test_a_pattern_plays_its_last_steps_in_a_pick_up() -> None:
    pattern = Pattern(label="p", grid="1/4", line="D6 D5 D4 D3")
    notes = play(
        pattern,
        ChartEntry(bar=0, beat="4", voicing="O", pattern="p"),
        pickup="1",
        bars=1,
    )
    assert [(n.start, n.string) for n in notes] == [
        (0, 3), (Fraction(1, 4), 6), (Fraction(1, 2), 5), (Fraction(3, 4), 4), (1, 3),
    ]  # fmt: skip


def test_a_pattern_begins_anew_where_the_meter_changes() -> None:
    pattern = Pattern(label="p", grid="1/4", line="D6 D5 D4 D3")
    notes = play(
        pattern,
        ChartEntry(bar=1, voicing="O", pattern="p"),
        meters=(
            MeterChange(bar=1, meter="4/4"),
            MeterChange(bar=2, meter="2/4"),
            MeterChange(bar=3, meter="4/4"),
        ),
        bars=3,
    )
    assert [note.string for note in notes] == [6, 5, 4, 3, 6, 5, 6, 5, 4, 3]


def test_a_pattern_of_two_bars_goes_on_over_chords() -> None:
    pattern = Pattern(label="p", grid="1/2", line="D6 D5 | D4 D3")
    chart = [ChartEntry(bar=1, voicing="O", pattern="p")]
    chart += [ChartEntry(bar=bar, voicing="O") for bar in (2, 3)]
    notes = play(pattern, *chart, bars=3)
    assert [note.string for note in notes] == [6, 5, 4, 3, 6, 5]


def test_what_is_not_there_is_said() -> None:
    with pytest.raises(LogbookError, match="names the voicing Q, which is not there; use O, H"):
        play(None, ChartEntry(bar=1, voicing="Q"))
    with pytest.raises(LogbookError, match="names the pattern q, which is not there"):
        play(None, ChartEntry(bar=1, voicing="O", pattern="q"))


def test_only_what_the_chart_names_has_to_be_readable() -> None:
    bad = Voicing(label="bad", frets="1 2")
    assert play(None, ChartEntry(bar=1, voicing="O"), voicings=(OPEN, bad))
    with pytest.raises(LogbookError, match="guitar, voicing bad: '1 2' has 2 entries"):
        play(None, ChartEntry(bar=1, voicing="bad"), voicings=(OPEN, bad))


def test_a_part_without_tuning() -> None:
    part = replace(GUITAR_PART, instrument="", tuning="")
    version = replace(VERSION, parts=(part,))
    log, song = log_of(version)
    tempo_map = tempo_map_of(version)
    assert tempo_map is not None
    with pytest.raises(LogbookError, match="has no tuning"):
        perform(PartView(log, song, version, part), tempo_map)


@given(
    st.lists(st.sampled_from("DUdux.*rBbP>"), min_size=8, max_size=8).map("".join),
    st.lists(st.sampled_from(["O", "H", ""]), min_size=1, max_size=4),
)
def test_no_string_sounds_twice_at_once(line: str, chords: list[str]) -> None:
    line = line.replace(">", ">D")
    pattern = Pattern(label="p", grid="1/8", line=line)
    chart = [
        ChartEntry(bar=bar, voicing=name, pattern="p") for bar, name in enumerate(chords, start=1)
    ]
    notes = play(pattern, *chart, bars=len(chords))
    end = Fraction(len(chords))
    for string in range(1, 7):
        mine = sorted((n.start, n.end) for n in notes if n.string == string and not n.muted)
        assert all(0 <= start < stop <= end for start, stop in mine)
        assert all(before[1] <= after[0] for before, after in itertools.pairwise(mine))
    assert list(notes) == sorted(notes, key=lambda n: (n.start, n.order, n.string))


C_MAJOR = Voicing(label="C", frets="x 3 2 0 1 0")


def test_a_hammer_on_comes_from_the_open_string_without_a_stroke() -> None:
    pattern = Pattern(label="p", grid="1/4", line="p4 h4 p2 s2-1")
    notes = play(pattern, ChartEntry(bar=1, voicing="C", pattern="p"), bars=1, voicings=(C_MAJOR,))
    assert [(n.start * 4, n.string, n.midi[0], n.stroke) for n in notes] == [
        (0, 4, 50, "p"), (1, 4, 52, "h"), (2, 2, 59, "p"), (3, 2, 60, "s"),
    ]  # fmt: skip
    pulled = Pattern(label="p", grid="1/4", line="p2 l2-2 . .")
    notes = play(pulled, ChartEntry(bar=1, voicing="C", pattern="p"), bars=1, voicings=(C_MAJOR,))
    assert [n.midi[0] for n in notes] == [62, 60]


def test_a_rake_is_damped_up_to_its_last_string() -> None:
    pattern = Pattern(label="p", grid="1/1", line="R432")
    notes = play(pattern, ChartEntry(bar=1, voicing="C", pattern="p"), bars=1, voicings=(C_MAJOR,))
    assert [(n.string, n.muted) for n in notes] == [(4, True), (3, True), (2, False)]
    assert notes[-1].midi == (60,)


def test_palm_mutes_are_short_and_ghosts_are_said() -> None:
    pattern = Pattern(label="p", grid="1/4", line="_D (D) <D >D")
    notes = play(pattern, ChartEntry(bar=1, voicing="C", pattern="p"), bars=1, voicings=(C_MAJOR,))
    first = [n for n in notes if n.start == 0]
    assert all(n.palm and n.end == Fraction(1, 32) for n in first)
    softness = [next(n.soft for n in notes if n.start == start) for start in starts(notes)]
    assert softness == [0, 2, 1, 0]


def test_a_pattern_that_begins_before_the_bar_takes_the_end_of_the_bar_before() -> None:
    entries = (
        ChartEntry(bar=1, voicing="O", pattern="q"),
        ChartEntry(bar=2, voicing="C", pattern="p"),
    )
    patterns = (
        Pattern(label="q", grid="1/4", line="D D D D"),
        Pattern(label="p", grid="1/4", line="U U ^ D . . ."),
    )
    part = Part(name="guitar", instrument="willow guitar", capo="", voicings=(OPEN, C_MAJOR),
                patterns=patterns, chart=entries)  # fmt: skip
    version = replace(VERSION, meters=(), pickup_beats="", form=(), parts=(part,))
    log, song = log_of(version)
    tempo_map = tempo_map_of(version)
    assert tempo_map is not None
    notes = perform(PartView(log, song, version, part), tempo_map, tempo_map.bar_start(4))
    said = {n.start * 4: n.stroke for n in notes if n.order == 0}
    assert said == {0: "D", 1: "D", 2: "U", 3: "U", 4: "D", 8: "D"}
    # It is played on the chord that sounds there.
    assert min(n.midi[0] for n in notes if n.start == Fraction(3, 4)) == 40


def test_shared_steps_and_repeats_fall_where_they_are_written() -> None:
    pattern = Pattern(label="p", grid="1/4", line="D {DUD} D {DU} x2")
    notes = play(pattern, ChartEntry(bar=1, voicing="O", pattern="p"))
    assert starts(notes)[:6] == [
        Fraction(0), Fraction(1, 4), Fraction(1, 3), Fraction(5, 12), Fraction(1, 2),
        Fraction(3, 4),
    ]  # fmt: skip
    assert starts(notes)[7] == Fraction(1)
