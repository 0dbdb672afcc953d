from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logbook.arranging.adaptations import (
    NEW_SHAPES,
    RETUNED,
    SAME_SHAPES,
    Adaptation,
    retune,
    signed_steps,
    ways_to_key,
)
from logbook.arranging.arrange import moved_key
from logbook.arranging.form import arrange_form
from logbook.arranging.hands import KEPT, MOVED, Setup, build_rig, recorded_voicings
from logbook.arranging.moved import Moved, steps_between
from logbook.arranging.parts import part_adaptations
from logbook.errors import LogbookError
from logbook.records import ArrangedPart, Part, Voicing
from logbook.records.part_view import PartView
from logbook.strings.capo import read_capos
from logbook.strings.frets import count_frets
from logbook.strings.sounding import played_midi, sounding_midi
from logbook.strings.tunings import find_tuning, parse_tuning
from logbook.theory.keys import parse_key
from tests.arranging.material import BASS_PART, GUITAR_PART, VERSION, arranged, log_of


def ways_of(part: Part, key: str) -> tuple[Adaptation, ...]:
    log, song = log_of()
    old, new = moved_key(VERSION, key)
    moved = Moved(old, new, steps_between(old, new), arrange_form(VERSION, ()))
    return part_adaptations(PartView(log, song, VERSION, part), moved)


def rig(tuning: str = "standard", capo: str = "") -> Setup:
    return build_rig(find_tuning(tuning), read_capos(capo), None)


def shapes(part: Part, before: Setup, steps: int, key: str = "C") -> tuple[Adaptation, ...]:
    recorded, problems = recorded_voicings(part, before, None)
    assert not problems
    return ways_to_key(recorded, before, steps, parse_key(key))


@pytest.mark.parametrize(
    ("steps", "near"), [(0, 0), (1, 1), (5, 5), (6, -6), (7, -5), (11, -1), (-13, -1)]
)
def test_the_shorter_way(steps: int, near: int) -> None:
    assert signed_steps(steps) == near


def test_the_capo_moved_keeps_every_voicing() -> None:
    best = ways_of(GUITAR_PART, "E")[0]
    assert (best.kind, best.capo, best.kept, best.steps) == (SAME_SHAPES, "4", 4, 2)
    assert best.text == "same shapes, capo 4"


def test_a_capo_behind_the_nut_and_past_the_body_says_why() -> None:
    ways = ways_of(GUITAR_PART, "Ab")
    (capo,) = [way for way in ways if way.kind == SAME_SHAPES]
    # Six down is four behind the nut; six up is fret 8, which is awkward but can be.
    assert (capo.possible, capo.capo, capo.steps) == (True, "8", 6)
    part = Part(name="x", voicings=(Voicing(label="C", frets="x 3 2 0 1 0"),))
    classical = build_rig(find_tuning("standard"), (), None)._replace(clear_frets=9)
    (no,) = [way for way in shapes(part, classical, -1) if way.kind == SAME_SHAPES]
    assert not no.possible
    assert no.why == (
        "the capo would have to sit 1 behind the nut and the one an octave higher at fret 11 is "
        "past the body, clear up to fret 9"
    )


def test_strings_are_only_retuned_so_far() -> None:
    down = [way for way in ways_of(BASS_PART, "Ab") if way.kind == RETUNED]
    assert not down[0].possible
    assert "slack beyond 4 down" in down[0].why
    up = [way for way in ways_of(BASS_PART, "G") if way.kind == RETUNED]
    assert "strings break beyond 2 up" in up[0].why
    fine = [way for way in ways_of(BASS_PART, "C") if way.kind == RETUNED]
    assert (fine[0].possible, fine[0].retuned, fine[0].kept) == (True, -2, 4)


def test_with_the_capo_off_retuning_reaches_further() -> None:
    # A tritone down: capo off is two of it, the strings the other four.
    (way,) = [way for way in ways_of(GUITAR_PART, "Ab") if way.kind == RETUNED]
    assert (way.possible, way.retuned, way.capo, way.steps) == (True, -4, "0", -6)


def test_a_bass_moves_along_the_neck_rather_than_take_a_capo() -> None:
    best = ways_of(BASS_PART, "E")[0]
    assert best.kind == NEW_SHAPES
    assert {hand.state for hand in best.hands} == {MOVED}
    frets = [count_frets(hand.position).text for hand in best.hands if hand.position]
    assert frets == ["x 7 x x", "5 x x x", "7 x x x", "x 4 x x"]


def test_single_open_notes_find_their_place() -> None:
    part = Part(name="bass", instrument="oak bass", voicings=(Voicing(label="E", frets="0 x x x"),))
    (way, *_) = [way for way in ways_of(part, "C") if way.kind == NEW_SHAPES]
    position = way.hands[0].position
    assert position is not None
    (note,) = played_midi(position, find_tuning("bass"))
    assert note % 12 == 2


def test_new_shapes_sound_the_moved_chord_over_the_moved_bass() -> None:
    before = rig(capo="2")
    for way in shapes(GUITAR_PART, before, -1, "Db"):
        if way.kind != NEW_SHAPES:
            continue
        recorded, _ = recorded_voicings(GUITAR_PART, before, None)
        for hand, was in zip(way.hands, recorded, strict=True):
            assert hand.position is not None
            old = played_midi(was.position, before.tuning)
            new = played_midi(hand.position, way.rig.tuning)
            assert {note % 12 for note in new} == {(note - 1) % 12 for note in old}
            assert min(new) % 12 == (min(old) - 1) % 12


def test_figures_are_counted() -> None:
    best = ways_of(GUITAR_PART, "E")[0]
    # x32010 rings 2 open, x02210 2 (A and e), 133211 none, 320003 three.
    assert best.open_strings == 7
    assert best.highest_fret == 7  # fret 3 above a capo at 4
    scale, fret = 640.0, 2 ** (-1 / 12)
    assert best.stretch_mm == pytest.approx(scale * (fret**5 - fret**7))  # frets 1 and 3 above it


def test_a_partial_capo_gets_a_whole_one_beside_it() -> None:
    part = Part(name="x", voicings=(Voicing(label="E", frets="0 0 0 0 0 0"),))
    before = rig(capo="2 on strings 3-5")
    best = shapes(part, before, 2, "F#")[0]
    assert best.capo == "2 + 4 on strings 3-5"
    position = best.hands[0].position
    assert position is not None
    recorded, _ = recorded_voicings(part, before, None)
    was = sounding_midi(recorded[0].position, before.tuning)
    assert sounding_midi(position, before.tuning) == tuple(
        None if note is None else note + 2 for note in was
    )


def test_a_short_string_stays_behind_the_capo() -> None:
    part = Part(name="x", voicings=(Voicing(label="G", frets="0 0 0 0 0"),))
    capo = [way for way in shapes(part, rig("banjo"), 2, "A") if way.kind == SAME_SHAPES]
    assert not any(way.possible for way in capo)
    assert "its strings would not all move alike" in capo[0].why


def test_retuning_keeps_usual_names_and_courses() -> None:
    assert retune(find_tuning("standard"), -1).name == "half step down"
    assert retune(find_tuning("standard"), -2).name == "whole step down"
    dadgad = retune(find_tuning("DADGAD"), -2)
    assert (dadgad.name, dadgad.text) == ("DADGAD, all down 2", "C2 G2 C3 F3 G3 C4")
    twelve = retune(find_tuning("twelve-string"), -2)
    assert twelve.text == "D3/D2 G3/G2 C4/C3 F4/F3 A3/A3 D4/D4"
    assert retune(parse_tuning("G4@5 D3 G3 B3 D4"), 1).starts == (5, 0, 0, 0, 0)


@settings(max_examples=6, deadline=None)
@given(
    st.integers(-6, 5),
    st.integers(0, 7),
    st.sampled_from(["standard", "DADGAD", "drop D", "open G"]),
)
def test_every_possible_way_is_in_the_new_key(steps: int, capo: int, tuning: str) -> None:
    part = Part(
        name="x",
        counted="capo",
        voicings=(
            Voicing(label="a", frets="x 3 2 0 1 0"),
            Voicing(label="b", frets="0 2 2 1 0 0"),
            Voicing(label="c", frets="5 x 5 5 5 x"),
        ),
    )
    before = rig(tuning, str(capo))
    recorded, _ = recorded_voicings(part, before, None)
    for way in shapes(part, before, steps, "C"):
        if not way.possible:
            assert way.why
            continue
        for hand, was in zip(way.hands, recorded, strict=True):
            assert hand.position is not None
            old = {note % 12 for note in played_midi(was.position, before.tuning)}
            new = {note % 12 for note in played_midi(hand.position, way.rig.tuning)}
            assert new >= {(note + steps) % 12 for note in old}
            if hand.state == KEPT and way.kind != NEW_SHAPES:
                assert (
                    count_frets(hand.position, "capo").text
                    == count_frets(was.position, "capo").text
                )


def test_an_arrangement_takes_the_capo_it_is_given() -> None:
    found = arranged(key="E", parts=(ArrangedPart(part="guitar", capo="4"),))
    (guitar, *_) = found.version.parts
    assert (guitar.capo, guitar.voicings[0].frets) == ("4", "x 3 2 0 1 0")
    other = arranged(key="E", parts=(ArrangedPart(part="guitar", capo=""),))
    plan = other.parts[0]
    assert plan.way is not None
    assert plan.way.kind == NEW_SHAPES
    assert plan.part is not None
    assert plan.part.capo == ""


@pytest.mark.parametrize(
    ("part", "says"),
    [
        (ArrangedPart(part="guitar", capo="15"), "guitar: a capo at fret 15 is past the body"),
        (ArrangedPart(part="guitar", capo="x"), "not a capo that can be read"),
        (ArrangedPart(part="guitar", tuning="drop Q"), "no tuning is called 'drop Q'"),
        (ArrangedPart(part="guitar", instrument="lute"), '"lute", which is not in the log'),
        (ArrangedPart(part="kazoo"), 'album has no part "kazoo"'),
        (
            ArrangedPart(part="guitar", way="same shapes", capo="3"),
            "guitar does not get to E major with same shapes and capo 3; it does with same "
            "shapes, capo 4",
        ),
    ],
)
def test_what_cannot_be_is_one_sentence(part: ArrangedPart, says: str) -> None:
    with pytest.raises(LogbookError, match=says.replace("(", r"\(")):
        arranged(key="E", parts=(part,))


def test_a_way_that_does_not_lead_there_says_why() -> None:
    with pytest.raises(LogbookError, match=r"bass cannot get to G major with retuned: .*break"):
        arranged(key="G", parts=(ArrangedPart(part="bass", way="retuned"),))


def test_a_part_without_tuning_says_so() -> None:
    log, song = log_of()
    place = PartView(log, song, VERSION, VERSION.parts[2])
    moved = Moved(None, None, 0, arrange_form(VERSION, ()))
    with pytest.raises(LogbookError, match="has no tuning"):
        part_adaptations(place, moved)


def test_retuned_with_the_capo_off_the_strings_go_less_far_down() -> None:
    part = Part(name="g", counted="capo", voicings=(Voicing(label="D", frets="x 3 2 0 1 0"),))
    before = rig(capo="1")
    ways = [way for way in shapes(part, before, -2, "B") if way.kind == RETUNED]
    assert [(way.retuned, way.capo, way.steps) for way in ways] == [(-1, "0", -2), (-2, "1", -2)]
    recorded, _ = recorded_voicings(part, before, None)
    heard = played_midi(recorded[0].position, before.tuning)
    for way in ways:
        position = way.hands[0].position
        assert position is not None
        assert played_midi(position, way.rig.tuning) == tuple(note - 2 for note in heard)


OPEN_SHAPES = Part(
    name="guitar",
    voicings=tuple(
        Voicing(label=label, frets=frets)
        for label, frets in (
            ("C", "x 3 2 0 1 0"), ("F", "1 3 3 2 1 1"), ("G", "3 2 0 0 0 3"),
            ("Am", "x 0 2 2 1 0"), ("D", "x x 0 2 3 2"),
        )
    ),
)  # fmt: skip


def test_every_capo_position_is_listed_with_the_key_of_its_shapes() -> None:
    ways = shapes(OPEN_SHAPES, rig(), 5, "F")
    new = {way.capo: way.shape_key for way in ways if way.kind == NEW_SHAPES}
    assert set(new) >= {"0", "1", "3", "8"}
    assert (new["0"], new["1"], new["3"], new["8"]) == ("F major", "E major", "D major", "A major")
    (same,) = [way for way in ways if way.kind == SAME_SHAPES and way.capo == "5"]
    assert same.shape_key == "C major"
    assert ways[0] == same


def test_new_shapes_are_the_ones_hands_know() -> None:
    ways = shapes(OPEN_SHAPES, rig(), 5, "F")
    (plain,) = [way for way in ways if way.kind == NEW_SHAPES and way.capo == "0"]
    found = {hand.label: count_frets(hand.position or ()).text for hand in plain.hands}
    assert found["G"] == "x 3 2 0 1 0"
    assert found["D"] == "3 2 0 0 0 3"
    assert found["Am"] == "x x 0 2 3 1"
    assert found["C"] == "1 3 3 2 1 1"


@given(st.integers(1, 11))
@settings(deadline=None, max_examples=11)
def test_a_far_retuning_is_never_first_and_says_what_happens_to_the_strings(steps: int) -> None:
    ways = shapes(OPEN_SHAPES, rig(), steps)
    assert abs(ways[0].retuned) <= 2
    for way in ways:
        if way.kind == RETUNED and way.possible and abs(way.retuned) > 2:
            assert "slack" in way.why or "break" in way.why
