"""What is printed on every sheet the same: signs, names under a capo, a comp with its sound."""

from __future__ import annotations

import math
import re
import struct
import wave
from pathlib import Path

import pytest

from logbook.notebook.read import read_log
from logbook.records import Log
from logbook.sheets.catalog import draw_sheet, make_sheet
from logbook.sheets.looks import Look, Wanted
from logbook.sheets.signs import in_print, tempo_in_print
from logbook.sheets.strips import Strip, StripRun, StripSound, StripTake, strip_lines
from logbook.sheets.svg_strip import strip_svg


def song(part: str, *, form: str = "verse 8 bars", head: str = "") -> Log:
    """A log of one song with one guitar part, given as it is typed."""
    return read_log(
        f"""
[[instrument]]
name = "box"
kind = "guitar"
strings = 6
scale = 648
tuning = "standard"

[[song]]
title = "Cartwheel"

[[song.version]]
name = "demo"
key = "E"
meter = "4/4"
tempo = "q=100"
form = ["{form}"]
{head}
[[song.version.part]]
name = "guitar"
instrument = "box"
{part}
"""
    )


def drawn(log: Log, form: str = "text", kind: str = "player", **look: object) -> str:
    page = draw_sheet(make_sheet(kind, log, Wanted("Cartwheel")), form, Look(**look))  # type: ignore[arg-type]
    assert isinstance(page, str)
    return page


@pytest.mark.parametrize(
    ("typed", "printed"),
    [
        ("may ring 1 (C#4, 3), or A6/F#", "may ring 1 (C♯4, 3), or A6/F♯"),
        ("guide tones b3 A3, b7 E4", "guide tones ♭3 A3, ♭7 E4"),
        ("F#m7b5 and Ebmaj7#11", "F♯m7♭5 and E♭maj7♯11"),
        ("adds B (the b7) to C#m", "adds B (the ♭7) to C♯m"),
        ("bars 41-48 repeat 9-16", "bars 41–48 repeat 9–16"),
        ("sounds in Bb major", "sounds in B♭ major"),
        ("take #4, a B bass, E's, and A-B", "take #4, a B bass, E's, and A-B"),
        ("2026-05-02, QZ-ABC-26-00001", "2026-05-02, QZ-ABC-26-00001"),
        ("low-tide_1-2.wav, Bb.wav, x-3-2-0", "low-tide_1-2.wav, Bb.wav, x-3-2-0"),
    ],
)
def test_names_degrees_and_ranges_are_printed_and_nothing_else(typed: str, printed: str) -> None:
    assert in_print(typed) == printed
    assert in_print(printed) == printed


def test_a_partial_capo_gives_a_shape_no_name() -> None:
    log = song(
        """capo = "2 on strings 3-5"
chart = ["1: E | A | B"]
[song.version.part.voicings]
E = "0 0 0 0 0 0"
A = "5 4 0 0 0 0"
B = "x 0 4 4 4 x"
"""
    )
    for kind in ("player", "lesson", "live"):
        assert "shape" not in drawn(log, kind=kind).replace("the shape", "").replace("shapes", "")
    page = drawn(log, "html")
    assert 'class="capo"' in page.partition("</svg>")[0]
    from logbook.cli.main import run

    assert run(["chord", "0 0 0 0 0 0", "--capo", "2 on strings 3-5", "--name", "E"]) == 0


def test_a_whole_capo_still_has_shapes(capsys: pytest.CaptureFixture[str]) -> None:
    from logbook.cli.main import run

    assert run(["chord", "0 0 0 0 0 0", "--capo", "2 on strings 3-5"]) == 0
    assert "Shape" not in capsys.readouterr().out
    assert run(["chord", "x 3 2 0 1 0", "--capo", "2", "--from", "capo"]) == 0
    assert re.search(r"Shape +C", capsys.readouterr().out)


def test_both_strings_of_a_course_are_named_under_the_capo() -> None:
    log = song(
        'tuning = "12-string"\ncapo = "2"\ncounted = "capo"\nchart = ["1: D"]\n'
        '[song.version.part.voicings]\nD = "x x 0 2 3 2"'
    )
    text = drawn(log)
    (row,) = [line.split() for line in text.splitlines() if line.startswith("capo on")]
    assert row[2:] == ["F♯3/F♯2", "B3/B2", "E4/E3", "A4/A3", "C♯4/C♯4", "F♯4/F♯4"]


def test_harmonics_are_no_barre_and_stand_apart() -> None:
    log = song(
        'chart = ["1: Bell"]\n[song.version.part.voicings]\n'
        'Bell = { frets = "x x <12> <12> <12> x", fingers = "- - 1 1 1 -" }'
    )
    page = drawn(log, "html")
    assert 'class="barre"' not in page
    assert page.count("‹12›") == 3


def test_notes_of_four_letters_do_not_run_together() -> None:
    log = song(
        'chart = ["1: V"]\n[song.version.part.voicings]\nV = { frets = "x 4 3 4 5 x", '
        'name = "C##m7" }'
    )
    row = next(line for line in drawn(log).splitlines() if "♯♯3" in line or "♯♯" in line)
    assert not re.search(r"\d[A-G]", row)


def test_a_line_begins_with_the_chord_that_goes_on() -> None:
    log = song('chart = ["1: E"]\n[song.version.part.voicings]\nE = "0 2 2 1 0 0"')
    assert ">(E)<" in drawn(log, "svg")


def test_what_nobody_charted_is_not_jumped_to() -> None:
    form = '", "'.join(["intro 4 bars", *["verse 8 bars", "chorus 8 bars"] * 2, "outro 4 bars"])
    log = song('chart = ["1: E"]\n[song.version.part.voicings]\nE = "0 2 2 1 0 0"', form=form)
    assert "segno" not in drawn(log)
    assert "D.S." not in drawn(log, "svg")


def test_signs_that_few_fonts_have_are_drawn() -> None:
    form = '", "'.join(["verse 8 bars", "chorus 8 bars"] * 2 + ["tag 2 bars"])
    log = song(
        'chart = ["verse: E | A | E | A | E | A | E | E", '
        '"chorus: A | E | A | E | A | E | A | A", "tag: E | A"]\n'
        '[song.version.part.voicings]\nE = "0 2 2 1 0 0"\nA = "x 0 2 2 2 0"',
        form=form,
    )
    picture = drawn(log, "svg")
    assert "D.S. al coda" in picture
    assert 'class="segno"' in picture
    assert 'class="coda"' in picture
    assert not re.search("[\U0001d10b\U0001d10c]", picture)


def test_a_long_song_fills_the_pages_it_needs_on_stage() -> None:
    chart = '"1: ' + " | ".join(["E", "A"] * 60) + '"'
    form = '", "'.join(f"part {number} 8 bars" for number in range(1, 16))
    log = song(
        f'chart = [{chart}]\n[song.version.part.voicings]\nE = "0 2 2 1 0 0"\nA = "x 0 2 2 2 0"',
        form=form,
    )
    page = drawn(log, "html", "live")
    heights = [
        float(high)
        for high in re.findall(r'class="engraved"[^>]*viewBox="0 0 [\d.]+ ([\d.]+)"', page)
    ]
    room = Look().page[1]
    assert max(heights) <= room
    # Every page but the first, which has the head, and the last is well filled.
    assert all(high > 0.7 * room for high in heights[1:-1])
    assert len(heights) <= 5


# The comp and its sound


def tone(file: Path, seconds: float, loud_from: float) -> None:
    rate = 8000
    samples = [
        round((20000 if at / rate >= loud_from else 2000) * math.sin(at * 0.3))
        for at in range(int(rate * seconds))
    ]
    with wave.open(str(file), "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(2)
        out.setframerate(rate)
        out.writeframes(struct.pack(f"<{len(samples)}h", *samples))


def test_a_comp_shows_the_sound_of_files_that_are_there(tmp_path: Path) -> None:
    pytest.importorskip("soundfile", reason="the extra listen is not installed")
    from logbook.sheets.outlines import outlines_of

    file = tmp_path / "one.wav"
    tone(file, 4.0, 2.0)
    here = StripSound(str(file), 0.0, 4.0)
    gone = StripSound(str(tmp_path / "gone.wav"), 0.0, 4.0)
    runs = (
        StripRun((0.0, 2.0), "1", "1-2", "1-2", moved=False, fade=0.0, sound=here),
        StripRun((2.0, 4.0), "2", "3-4", "3-4", moved=False, fade=0.0, sound=gone),
    )
    takes = tuple(
        StripTake(name, "complete", ((0.0, 4.0),), (at,), (), (sound,))
        for name, at, sound in (("1", (0.0, 2.0), here), ("2", (2.0, 4.0), gone))
    )
    strip = Strip(1, 4.0, (("all", (0.0, 4.0)),), takes, runs)
    outlines = outlines_of(strip)
    assert set(outlines) == {here}
    shape = outlines[here]
    half = len(shape) // 2
    assert max(shape) == 1.0
    assert max(shape[: half - 1]) < 0.2 < min(shape[half + 1 :])
    picture = strip_svg(strip, outlines=outlines)
    assert picture.count('class="envelope"') == 2  # in the take's row, and where it is heard
    # Cut into lines, each line has the sound of its own bars.
    first, second = strip_lines(strip, 1)[:2]
    assert first.runs[0].sound == StripSound(str(file), 0.0, 2.0)
    assert second.runs[0].sound == StripSound(str(file), 2.0, 4.0)
    assert second.first == 2


@pytest.mark.parametrize(
    ("typed", "in_print"),
    [
        ("q=112", "♩=112"),
        ("q.=63", "♩.=63"),
        ("1 q=120, 7 e=104", "♩=120, from bar 7 ♪=104"),
        ("1 q=92, 9-12 q=92>76", "♩=92, bars 9–12 ♩=92→76"),
        ("h.=54", "dotted half = 54"),
        ("1 free", "1 free"),
        ("", ""),
    ],
)
def test_tempos_are_printed_with_the_signs_of_notes(typed: str, in_print: str) -> None:
    assert tempo_in_print(typed) == in_print
