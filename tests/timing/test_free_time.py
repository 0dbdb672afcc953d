"""Passages without a tempo: how long they last, and what stands in them."""

from __future__ import annotations

import io
from dataclasses import replace
from fractions import Fraction

import mido
import pytest

from logbook.arranging.clicks import click_track
from logbook.arranging.midi import midi_bytes
from logbook.arranging.musicxml import musicxml_tree
from logbook.errors import LogbookError
from logbook.notebook.read import read_log
from logbook.records import ArrangedSection, TempoChange
from logbook.records.context import tempo_map_of
from logbook.records.part_view import places
from logbook.sheets.comps import comp_sheet
from logbook.sheets.heads import change_said
from logbook.timing.bars import BarPoint
from logbook.timing.map_text import read_tempo_map, tempo_lines
from tests.arranging.material import VERSION, arranged

FREE = read_tempo_map("4/4", ["1 free 12 s", "3 q=120"])


def test_free_bars_share_the_seconds_they_lasted() -> None:
    # Two bars in 12 s, then bars of 2 s.
    assert [FREE.seconds_at(BarPoint(bar)) for bar in (1, 2, 3, 4)] == [0, 6, 12, 14]
    assert tempo_lines(FREE) == ["1 free 12 s", "3 q=120"]
    assert read_tempo_map("4/4", tempo_lines(FREE)) == FREE
    assert FREE.is_free(Fraction(1))
    assert not FREE.is_free(Fraction(2))


def test_a_pick_up_belongs_to_the_free_time_at_bar_one() -> None:
    bars = read_tempo_map("4/4", ["1 free 9 s", "3 q=120"], "1 q")
    assert bars.seconds_at(BarPoint(3)) == 9
    assert bars.seconds_at(BarPoint(1)) == 1  # one of nine quarters


def test_in_the_middle_and_of_unknown_length() -> None:
    bars = read_tempo_map("4/4", ["1 q=120", "3 free 7.5 s", "4 q=60"])
    assert [bars.seconds_at(BarPoint(bar)) for bar in (3, 4, 5)] == [
        4,
        Fraction(23, 2),
        Fraction(31, 2),
    ]
    unknown = read_tempo_map("4/4", ["1 free", "3 q=60"])
    assert unknown.seconds_at(BarPoint(3)) == 8  # as at the tempo after it
    assert tempo_lines(unknown)[0] == "1 free"


def test_a_session_file_says_it_and_the_sheet_repeats_it() -> None:
    log = read_log(
        '[[song]]\ntitle = "Low"\n[[song.version]]\nname = "EP"\n'
        'tempo = ["1 free 12.5 s", "5 q=92"]\nform = ["intro 1-4", "verse 5-8"]\n'
    )
    version = log.songs[0].versions[0]
    assert version.tempos[0] == TempoChange(bar=1, bpm=60, free_s=12.5)
    bars = tempo_map_of(version)
    assert bars is not None
    assert bars.seconds_at(BarPoint(5)) == Fraction(25, 2)
    assert change_said(bars.tempos[0]) == "free time, 12.5 s"


def test_the_click_is_silent_in_free_time() -> None:
    version = replace(
        VERSION, tempos=(TempoChange(bar=1, bpm=60, free_s=10), TempoChange(bar=3, bpm=120))
    )
    track = click_track(arranged(version=version), 1)
    # No count-in clicks; the first sounds where the tempo begins, after the silent bar.
    assert track.clicks[0].wholes == track.lead_wholes + 2
    assert track.clicks[0].seconds == track.lead_seconds + 10


def test_an_arrangement_keeps_free_time_as_long_as_it_was_at_any_tempo() -> None:
    version = replace(
        VERSION, tempos=(TempoChange(bar=1, bpm=60, free_s=10), TempoChange(bar=3, bpm=120))
    )
    intro = ArrangedSection(name="intro", source="intro")
    verse = ArrangedSection(name="verse", source="verse")
    whole = arranged(version=version, sections=(intro, verse))
    bars = tempo_map_of(whole.version)
    assert bars is not None
    assert bars.seconds_at(BarPoint(3)) == 10
    # A part of it has no length that anybody knows.
    half = arranged(version=version, sections=(replace(intro, bars=1), verse))
    assert half.version.tempos[0].free_s == 0


@pytest.mark.parametrize("line", ["1 free x", "1 free -3 s", "free 12 bars"])
def test_free_time_that_cannot_be_read(line: str) -> None:
    with pytest.raises(LogbookError):
        read_tempo_map("4/4", [line, "3 q=120"])


def test_a_score_says_free_time_in_words() -> None:
    version = replace(
        VERSION, tempos=(TempoChange(bar=1, bpm=60, free_s=16), TempoChange(bar=3, bpm=120))
    )
    root = musicxml_tree(arranged(version=version))
    part = root.find("part")
    assert part is not None
    first = part[0]
    assert "free time" in [each.text for each in first.iter("words")]
    assert first.find("direction/direction-type/metronome") is None
    # Two bars of four quarters in 16 s: 30 a minute for whoever plays the file.
    assert [each.get("tempo") for each in first.iter("sound")] == ["30"]


def test_before_a_first_tempo_that_comes_later_time_is_free() -> None:
    late = read_tempo_map("4/4", ["3 q=120"])
    assert late.is_free(Fraction(0))
    assert not late.is_free(Fraction(2))
    # Nobody knows how long it lasted: as long as at the tempo that comes.
    assert late.seconds_at_wholes(Fraction(2)) == 4
    assert tempo_lines(late) == ["1 free", "3 q=120"]


def test_a_comp_sheet_names_the_free_bars() -> None:
    head = (
        '[[song]]\ntitle = "Low"\n[[song.version]]\nname = "EP"\n'
        'form = ["intro 1-4", "verse 5-8"]\n'
    )
    part = (
        '[[song.version.part]]\nname = "guitar"\ntakes = ["1 keeper 1-8"]\ncomp = ["1-8 take 1"]\n'
    )
    for tempos, said in (
        (["1 free 12.5 s", "5 q=92"], ("bars 1-4, 12.5 s",)),
        (["1 q=92", "4.3 free", "5 q=80", "7 free 9 s"], ("bar 4", "bars 7-8, 9 s")),
        (["1 q=92"], ()),
    ):
        log = read_log(head + f"tempo = {tempos}\n" + part)
        assert comp_sheet(next(places(log))).free_time == said


def test_midi_holds_the_length_of_free_time() -> None:
    version = replace(
        VERSION, tempos=(TempoChange(bar=1, bpm=60, free_s=10), TempoChange(bar=3, bpm=120))
    )
    written = midi_bytes(arranged(version=version, count_in_bars=0))
    # Ten free seconds, then six bars of two seconds.
    assert mido.MidiFile(file=io.BytesIO(written)).length == pytest.approx(22, abs=0.05)
