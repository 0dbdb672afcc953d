from __future__ import annotations

from logbook.strings.capo import Capos, read_capos
from logbook.strings.diagram import ASCII, draw, side_by_side
from logbook.strings.frets import place_frets, read_fingers, read_frets
from logbook.strings.tunings import StringTuning, find_tuning

STANDARD = find_tuning("standard")


def drawn(
    frets: str, fingers: str = "", capos: Capos = (), tuning: StringTuning = STANDARD
) -> list[str]:
    position = place_frets(read_frets(frets), tuning, capos)
    held = read_fingers(fingers) if fingers else None
    return [line.rstrip() for line in draw(position, tuning, capos, fingers=held)]


def test_nut_open_and_muted_strings_and_fingers() -> None:
    assert drawn("x 3 2 0 1 0", "-32-1-") == [
        "     x     o   o",
        " nut ═══════════",
        "   1 │ │ │ │ 1 │",
        "   2 │ │ 2 │ │ │",
        "   3 │ 3 │ │ │ │",
        "   4 │ │ │ │ │ │",
    ]


def test_a_capo_is_drawn_as_one_with_both_counts() -> None:
    assert drawn("x 0 4 4 3 (0)", "--231-", read_capos("2")) == [
        " nut x o       ~ capo",
        "   2 ▀▀▀▀▀▀▀▀▀▀▀ capo",
        "   3 │ │ │ │ 1 │ 1",
        "   4 │ │ 2 3 │ │ 2",
        "   5 │ │ │ │ │ │ 3",
        "   6 │ │ │ │ │ │ 4",
    ]


def test_a_barre_up_the_neck() -> None:
    assert drawn("8 10 10 9 8 8", "134211") == [
        "",
        "     ┄┄┄┄┄┄┄┄┄┄┄",
        "   8 1───────1─1",
        "   9 │ │ │ 2 │ │",
        "  10 │ 3 4 │ │ │",
        "  11 │ │ │ │ │ │",
    ]


def test_a_partial_capo_holds_its_strings() -> None:
    lines = drawn("0 0 0 4 0 0", "---1--", read_capos("2 @ 3-5"))
    assert lines[1] == " nut ═══════════"
    assert lines[3] == "   2 │ ▬ ▬ ▬ │ │"
    assert lines[-1] == "     capo 2 on strings 3-5"


def test_unknown_fingers_harmonics_and_the_short_string() -> None:
    assert drawn("x x <12> x x 14")[2] == "  12 │ │ ◇ │ │ │"
    assert drawn("x x <12> x x 14")[4] == "  14 │ │ │ │ │ ●"
    banjo = drawn("0 2 0 1 2", tuning=find_tuning("banjo"))
    assert banjo[2] == "   1   │ │ ● │"
    assert banjo[3] == "   2   ● │ │ ●"


def test_plain_characters() -> None:
    position = place_frets(read_frets("x32010"), STANDARD)
    text = "".join(draw(position, STANDARD, signs=ASCII))
    assert text.isascii()


def test_side_by_side_keeps_to_the_width() -> None:
    diagrams = [draw(place_frets(read_frets("x32010"), STANDARD), STANDARD, title=["C"])] * 7
    lines = side_by_side(diagrams, width=80)
    assert max(map(len, lines)) <= 80
    assert lines[0].split() == ["C"] * 4
    assert lines.count("") == 1
    assert len(lines) == 2 * len(diagrams[0]) + 1
