"""Melodies and silence on a player's sheet, in words and on a staff."""

from __future__ import annotations

import sys

import pytest

from logbook.notebook.read import read_log
from logbook.sheets.catalog import draw_sheet, make_sheet
from logbook.sheets.engraving import engraved
from logbook.sheets.looks import Look, Wanted
from tests.arranging.test_melodies import SONG


def page(kind: str, part: str) -> str:
    sheet = make_sheet("player", read_log(SONG), Wanted("Gull Weather", part=part))
    drawn = draw_sheet(sheet, kind, Look())
    return drawn if isinstance(drawn, str) else drawn.decode()


def test_a_singer_has_notes_under_the_band_s_chords() -> None:
    text = page("text", "voice")
    assert "pick-up, bar 0: melody alone" in text
    assert "2    A♭     C5/2 B♭4/4. G4/8" in text
    assert "3    E♭     A♭4/1~" in text
    chart = text.partition("Melody")[0]
    assert "C5/2 B♭4/4." in chart, "the notes stand under their bars"
    drawn = page("html", "voice")
    assert "C5/2 B♭4/4." in drawn.partition("<h3>Melody")[0]
    assert "string" not in text


def test_a_horn_reads_and_sounds_and_is_silent_where_it_says() -> None:
    text = page("text", "sax")
    assert "tag, bars 5–6: tacet" in text
    assert "1    E♭     C5/4 D5 E5 F5  E♭4/4 F4 G4 A♭4" in text


def test_a_horn_reads_the_band_s_chords_at_its_own_pitch() -> None:
    chart = page("text", "sax").partition("Chart")[2].partition("Melody")[0]
    rows = [[each.strip() for each in line.split("│")[1:-1]] for line in chart.splitlines()]
    sounds = next(number for number, row in enumerate(rows) if "E♭" in row)
    assert [rows[sounds + 1][at] for at, each in enumerate(rows[sounds]) if each == "E♭"] == [
        "C"
    ] * 2
    assert [rows[sounds + 1][at] for at, each in enumerate(rows[sounds]) if each == "A♭"] == [
        "F"
    ] * 2
    assert "what the player reads" in chart


def test_a_staff_is_drawn_where_it_can_be(monkeypatch: pytest.MonkeyPatch) -> None:
    pytest.importorskip("verovio")
    drawn = page("html", "sax")
    assert drawn.count('aria-label="staff, line') == 1
    assert "<style" not in drawn.partition('class="staff"')[2]
    engraved.cache_clear()
    monkeypatch.setitem(sys.modules, "verovio", None)
    without = page("html", "sax")
    engraved.cache_clear()
    assert 'aria-label="staff' not in without
    assert "C5/4 D5 E5 F5" in without


def test_a_bar_line_in_the_wrong_place_is_said() -> None:
    from logbook.errors import LogbookError

    with pytest.raises(LogbookError, match="the bar line after G4 stands at beat 4 of bar 1"):
        read_log(SONG.replace("Eb4/4 F G Bb | C5/2", "Eb4/4 F G | Bb C5/2"))
