"""Comps that draw on another version's takes and on a finished mix, by hand arithmetic.

The album version has 16 bars of 3/4 at 120 after 4 of 4/4: bars 1-4 last 2 s each, bars 5-20
1.5 s each, 32 s in all. The radio version is 12 bars of 4/4 at 120.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from logbook.checking import check_log
from logbook.errors import LogbookError
from logbook.notebook.read import read_log
from logbook.notebook.write import write_log
from logbook.records import Log
from logbook.records.elsewhere import elsewhere
from logbook.records.form_pieces import moved_piece
from logbook.records.part_view import PartView, places
from logbook.sheets.comps import comp_clips, comp_csv_rows, comp_sheet

RATE = 48000
LOG = f"""
[[song]]
title = "Tin Roof"

[[song.version]]
name = "album"
meter = ["4/4", "5 3/4"]
tempo = "120"
form = ["intro 4 bars", "verse 16 bars"]

[[song.version.files]]
path = "mixes/roof mix 2.wav"
rate = {RATE}
frames = {32 * RATE}

[[song.version.part]]
name = "guitar"

[[song.version.part.take]]
number = 2
bars = "1-8"
files = [{{ path = "g2.wav", rate = {RATE}, frames = {14 * RATE} }}]

[[song.version]]
name = "radio"
meter = "4/4"
tempo = "120"
form = ["verse 12 bars"]

[[song.version.part]]
name = "guitar"
comp = PIECES
"""


def log_of(*pieces: str) -> Log:
    return read_log(LOG.replace("PIECES", repr(list(pieces))))


def radio(*pieces: str) -> PartView:
    return next(each for each in places(log_of(*pieces)) if each.version.name == "radio")


def found(*pieces: str) -> list[str]:
    return [each.what for each in check_log(log_of(*pieces)) if each.rule.startswith("comp")]


def test_what_is_drawn_on_is_told() -> None:
    # 1-4 of the mix are 8 s; bars 5-8 of the album are 3 beats each: 12 beats fill 3 bars of 4/4.
    sheet = comp_sheet(radio("1-4 mix of album", "5-7 mix of album @ 5-8", "8-12 take 2 of album"))
    assert sheet.told.startswith("take 2 of album and the mix of album")
    assert sheet.shares == (
        "the mix of album: 7 bars, 58.3 %",
        "take 2 of album: 5 bars, 41.7 %",
    )
    assert sheet.pieces[1] == "5-7 mix of album @ 5-8"
    assert sheet.unused[0] == "the mix of album: 9-20"


def test_a_radio_edit_is_a_comp_of_one_file() -> None:
    sheet = comp_sheet(
        radio("1-4 mix of album", "5-8 mix of album @ 1-4", "9-12 mix of album @ 1-4")
    )
    assert sheet.told == (
        "the mix of album in three pieces; bars 5-8 and 9-12 repeat 1-4; "
        "not known whether it was doubled"
    )


def test_bars_are_those_of_the_other_version() -> None:
    place = radio("1-3 mix of album @ 5-8")
    (clip,) = comp_clips(place)
    # Bars 5-8 of the album begin after 4 bars of 2 s and last 4 of 1.5 s.
    assert (clip.first_frame, clip.frames, clip.at_frame, clip.fills) == (
        8 * RATE,
        6 * RATE,
        0,
        6 * RATE,
    )
    assert clip.audio.path.endswith("mixes/roof mix 2.wav")
    (_, row) = comp_csv_rows(place)
    assert row[:4] == ("1\N{EN DASH}3", "mix of album", "", "5\N{EN DASH}8")
    (clip,) = comp_clips(radio("4-6 take 2 of album @ 5-8"))
    assert (clip.first_frame, clip.at_frame) == (8 * RATE, 6 * RATE)


@pytest.mark.parametrize(
    ("piece", "said"),
    [
        ("1-12 mix of demo", "there is no version demo of Tin Roof"),
        ("1-12 take 2 of album/bass", "album of Tin Roof has no part bass"),
        ("1-12 take 3 of album", "there is no take 3 of guitar of album"),
        ("1-12 mix", "the mix is not in the log"),
        ('1-12 file "b.wav" of album', "the file b.wav of album is not in the log"),
        ("1-12 mix of album @ 9-24", "bars 21-24 are not in the mix of album"),
        ("1-12 take 2 of album @ 1-14", "bars 9-14 are not in take 2 of album"),
        ("1-12 mix of album @ 5-16", "bars 5-16 of the mix of album are not as long as bars 1-12"),
    ],
)
def test_what_is_not_there_is_found(piece: str, said: str) -> None:
    assert said in found(piece)


def test_a_right_one_is_not_accused() -> None:
    assert found("1-4 mix of album", "5-12 mix of album @ 5-15.3") == []


def test_another_tempo_is_found() -> None:
    log = log_of("1-4 mix of album", "5-12 mix of album @ 5-15.3")
    song = log.songs[0]
    album, edit = song.versions
    slow = replace(edit, tempos=(replace(edit.tempos[0], bpm=60.0),))
    log = replace(log, songs=(replace(song, versions=(album, slow)),))
    said = [each.what for each in check_log(log) if each.rule == "comp source"]
    assert said[0] == "bars 1-4 of the mix of album last 8.000 s shorter than bars 1-4"


def test_two_files_of_one_word_have_to_be_told_apart() -> None:
    place = radio("1-4 mix of album")
    album = place.song.versions[0]
    more = replace(album, files=(*album.files, replace(album.files[0], path="roof mix 3.wav")))
    song = replace(place.song, versions=(more, *place.song.versions[1:]))
    place = replace(place, song=song)
    assert elsewhere(place, place.part.comps[0]).takes == ()
    with pytest.raises(LogbookError, match="has no audio file"):
        comp_clips(place)
    log = replace(place.log, songs=(song,))
    assert any("may be any of" in each.what for each in check_log(log))


def test_a_take_of_a_session_is_told_by_its_number_where_that_is_enough() -> None:
    place = radio("4-6 take 2 of album @ 5-8")
    album = place.song.versions[0]
    guitar = album.parts[0]
    dated = replace(guitar.takes[0], session="day one")
    for takes, count in (((dated,), 1), ((dated, replace(dated, session="day two")), 0)):
        there = replace(album, parts=(replace(guitar, takes=takes),))
        song = replace(place.song, versions=(there, *place.song.versions[1:]))
        moved = replace(place, song=song)
        if count:
            assert comp_sheet(moved).shares == ("take 2 of album: 3 bars, 100 %",)
            assert len(comp_clips(moved)) == count
        else:
            with pytest.raises(LogbookError, match="no audio file"):
                comp_clips(moved)


def test_a_bar_taken_out_of_the_form_leaves_the_other_version_alone() -> None:
    comp = radio("1-4 mix of album", "5-8 take 2 of album @ 1-4").part.comps[0]
    moved = moved_piece(comp.pieces[1], lambda bar: bar - 2)
    assert [(each.bars, each.source) for each in moved] == [("3-6", "1-4")]


def test_lines_are_written_back_as_they_were() -> None:
    log = log_of("1-4 mix of album", "5-7 take 2 of album/guitar @ 5-8")
    text = write_log(log)
    assert "5-7 take 2 of album/guitar @ 5-8" in text
    assert read_log(text) == log
