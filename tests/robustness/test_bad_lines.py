"""Whatever is written in a line, its reader reads it or refuses it in one plain sentence."""

from __future__ import annotations

import random
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logbook.audio.patterns import compile_pattern as read_file_pattern
from logbook.editing.comp import parse_comp, parse_piece
from logbook.editing.doubling import parse_doubling_state
from logbook.editing.takes import parse_punch_in, parse_result, parse_take_id
from logbook.errors import LogbookError
from logbook.strings.capo import read_capos
from logbook.strings.frets import read_fingers, read_frets
from logbook.strings.ornaments import read_ornaments
from logbook.strings.picking import parse_swing, read_pattern
from logbook.strings.tunings import read_string, read_tuning
from logbook.theory.keys import parse_key
from logbook.theory.symbols import read_symbol
from logbook.timing.bars import parse_point, parse_range, parse_ranges
from logbook.timing.map_text import read_meters, read_pickup, read_tempos
from logbook.timing.meter import Meter, parse_meter
from logbook.timing.tempo import parse_tempo, parse_unit

FOUR = Meter(4, 4)
READERS: dict[str, tuple[Callable[[str], Any], tuple[str, ...]]] = {
    "fret line": (
        read_frets,
        ("x 3 2 0 1 0", "(0) 2 2 0 x 0", "x32010", "10 x 10 9 0 0", "0 0 (3) (x) 2 12"),
    ),
    "fret line, from the capo": (lambda text: read_frets(text, counted="capo"), ("x 3 2 0 1 0",)),
    "fingers": (read_fingers, ("- 3 2 - 1 -", "1 1 2 3 4 1", "T - - - 2 1")),
    "ornaments": (read_ornaments, ("hammer-on 4 0-2", "slide 3 5-7, pull-off 2 3-0")),
    "capo": (read_capos, ("2", "2 on strings 3-5", "5, 7 on strings 1-2", "0", "none")),
    "tuning": (read_tuning, ("standard", "DADGAD", "E2 A2 D3 G3 B3 E4", "drop D")),
    "string": (read_string, ("E2", "G4+G3", "G4 from 5", "5:G4")),
    "picking": (
        lambda text: read_pattern(text.partition(":")[2], text.partition(":")[0], meter=FOUR),
        ("1/16: >D... D.U. ...U >D.DU", "1/8: p.[ma]. p.[im]a", "1/8: B.D."),
    ),
    "swing": (parse_swing, ("straight", "swing", "swing 2:1", "swing 3:2")),
    "chord symbol": (read_symbol, ("C#m7b5/G", "Dadd9", "Abmaj7", "G7(b9,#11)", "N.C.", "6/9")),
    "key": (parse_key, ("A", "Eb", "F#m", "C dorian", "Bb minor")),
    "point": (parse_point, ("9", "9.3", "9.3+1/2")),
    "bar range": (parse_range, ("9-16", "9", "12.1-14.3", "9.3-12", "0-4", "3–4")),
    "bar ranges": (parse_ranges, ("1-8, 17-24", "3")),
    "meter": (parse_meter, ("4/4", "6/8", "7/8")),
    "meters": (lambda text: read_meters([text]), ("1 4/4", "9 6/8", "3/4")),
    "tempo": (parse_tempo, ("q=112", "q.=63", "1/4=90", "120", "e=92.5")),
    "tempos": (
        lambda text: read_tempos([text], read_meters(["4/4"])),
        ("1 q=120", "7 q=104", "33-36 >84", "9.3 q=80"),
    ),
    "note value": (parse_unit, ("q", "q.", "1/4", "3/8")),
    "pick-up": (lambda text: read_pickup(text, FOUR), ("2", "1+1/2", "1/2")),
    "comp piece": (
        parse_piece,
        (
            "9-10 take 4 @ 7-8 xfade 10ms note again",
            "1-8 take 2",
            "3.2-5.1 take 2 of day one xfade 20 ms",
        ),
    ),
    "comp": (lambda text: parse_comp(text.split(";")), ("1-2 take 3;3-6 take 2", "1 take 1")),
    "take": (parse_take_id, ("take 2", "2", "take 3 of day one", "3 (day two)")),
    "punch-in": (parse_punch_in, ("12", "20-21 pass 3 late", "6 buzz on the low string")),
    "result": (parse_result, ("keeper", "false start", "c", "rej")),
    "doubled": (parse_doubling_state, ("doubled", "not doubled", "unknown")),
    "file pattern": (
        read_file_pattern,
        ("{song}_{part}_{take}", "{date} {song} - {part} T{take}", "{part}{take}.{song}"),
    ),
}
SIGNS = ["9" * 5000, "1" * 400, "²", "٣", "½", "\x00", "\x1b[2J", "‮", "😀", "\n", "\ud800", "é",
         "-", "+", "/", ".", ",", ":", ";", "@", "|", "%", "(", ")", "[", "]", "{", "}", "x", "0",
         "99", "=", ">", "#", "b", "take", "xfade", "note", "on", "of", " ", ""]  # fmt: skip


def held(reader: Callable[[str], Any], text: str) -> None:
    """Read a text; nothing but a sentence may come of what is wrong with it."""
    said = "it was read"
    try:
        reader(text)
    except LogbookError as error:
        said = error.problem
    assert said.strip(), text


@pytest.mark.parametrize("name", READERS)
@settings(max_examples=150, deadline=None)
@given(text=st.text(max_size=30))
def test_any_text(name: str, text: str) -> None:
    held(READERS[name][0], text)


@pytest.mark.parametrize("name", READERS)
def test_every_form_with_something_wrong_in_it(name: str) -> None:
    reader, forms = READERS[name]
    chance = random.Random(name)
    for form in forms:
        for sign in SIGNS:
            held(reader, sign)
            held(reader, form + sign)
            held(reader, sign + form)
            held(reader, f"{form} {sign}")
        for _ in range(150):
            letters = list(form)
            for _ in range(chance.randint(1, 3)):
                at = chance.randrange(len(letters))
                letters[at : at + chance.randint(0, 2)] = chance.choice([*SIGNS, *letters])
                letters = letters or [""]
            held(reader, "".join(letters))


@pytest.mark.parametrize("name", READERS)
def test_a_line_of_ten_thousand_characters_is_read_or_refused_at_once(name: str) -> None:
    import time

    reader, forms = READERS[name]
    start = time.perf_counter()
    for form in forms:
        for text in (form * (10_000 // len(form)), f"{form} " * (10_000 // len(form)), "(" * 10_000,
                     "1 " * 5000, "a" * 10_000, " " * 10_000):  # fmt: skip
            held(reader, text)
    assert time.perf_counter() - start < 10
