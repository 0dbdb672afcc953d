"""A capo moved with the shapes or the sound kept."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.strings.capo import Capo, Capos
from logbook.strings.frets import FretError, place_frets, read_frets
from logbook.strings.recapo import recapo
from logbook.strings.sounding import shape_midi, sounding_midi
from logbook.strings.tunings import find_tuning

STANDARD = find_tuning("standard")


def capos(fret: int) -> Capos:
    return (Capo(fret),) if fret else ()


LINES = st.lists(st.one_of(st.just("x"), st.integers(0, 7).map(str)), min_size=6, max_size=6).map(
    " ".join
)


@given(LINES, st.integers(0, 7), st.integers(0, 7))
def test_shapes_keep_their_shape_notes(line: str, old: int, new: int) -> None:
    moved = recapo(line, "capo", STANDARD, capos(old), capos(new), "shapes")
    assert moved == read_frets(line, counted="capo").text
    from_nut = "nut"
    before = place_frets(read_frets(line, counted="capo"), STANDARD, capos(old))
    written = " ".join("x" if at is None else str(at.fret if at.fingered else 0) for at in before)
    again = recapo(written, from_nut, STANDARD, capos(old), capos(new), "shapes")
    after = place_frets(read_frets(again, counted=from_nut), STANDARD, capos(new))
    assert shape_midi(after, STANDARD) == shape_midi(before, STANDARD)


@given(LINES, st.integers(0, 7), st.integers(0, 7))
def test_sound_keeps_every_pitch_or_says_so(line: str, old: int, new: int) -> None:
    before = place_frets(read_frets(line, counted="capo"), STANDARD, capos(old))
    lowest = min((at.fret for at in before if at is not None), default=99)
    if lowest < new:
        with pytest.raises(FretError, match="behind the capo"):
            recapo(line, "capo", STANDARD, capos(old), capos(new), "sound")
        return
    moved = recapo(line, "capo", STANDARD, capos(old), capos(new), "sound")
    after = place_frets(read_frets(moved, counted="capo"), STANDARD, capos(new))
    assert sounding_midi(after, STANDARD) == sounding_midi(before, STANDARD)


def test_a_partial_capo() -> None:
    partial = (Capo(2, (2, 3, 4)),)
    assert recapo("0 0 2 2 2 0", "nut", STANDARD, (), partial, "sound") == "0 0 0 0 0 0"
    assert recapo("0 2 2 1 0 0", "nut", STANDARD, (), partial, "shapes") == "0 2 4 3 0 0"
    with pytest.raises(FretError, match="keep shapes or sound"):
        recapo("0 0 0 0 0 0", "nut", STANDARD, (), partial, "both")
