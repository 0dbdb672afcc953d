"""What the player's sheet says, against what can be worked out by hand."""

from __future__ import annotations

import sys
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest

from logbook.errors import LogbookError
from logbook.records import (
    ChartEntry,
    Comp,
    CompPiece,
    FormSection,
    Log,
    MeterChange,
    Part,
    Share,
    Song,
    Take,
    TempoChange,
    Version,
    Voicing,
)
from logbook.sheets.chords import ChordCard, string_numbers
from logbook.sheets.heads import written_by
from logbook.sheets.player import PartSheet, PlayerSheet, player_sheet

sys.path.insert(0, str(Path(__file__).parent))
from material import EP, FERRY, GUITAR, LOG, SECOND


@pytest.fixture(scope="module")
def ferry() -> PlayerSheet:
    return player_sheet(LOG, "The Ferry Bell")


@pytest.fixture(scope="module")
def guitar(ferry: PlayerSheet) -> PartSheet:
    return ferry.versions[0].parts[0]


def card(part: PartSheet, label: str) -> ChordCard:
    return next(each for each in part.chords if each.label == label)


def sheet_of(part: Part, version: Version = EP, log: Log = LOG) -> PartSheet:
    song = replace(FERRY, versions=(replace(version, parts=(part,)),))
    return player_sheet(replace(log, songs=(song,)), song.title).versions[0].parts[0]


def test_shape_g_at_capo_two_sounds_a(guitar: PartSheet) -> None:
    # By hand: E2+5 A2+4 D3+2 G3+2 B3+2 E4+5 semitones.
    shape_g = card(guitar, "G")
    assert shape_g.concert == "A"
    assert shape_g.shape == "G"
    assert shape_g.notes == ("A2", "C#3", "E3", "A3", "C#4", "A4")
    assert shape_g.degrees == ("R", "3", "5", "R", "3", "R")
    assert shape_g.from_capo == "3 2 0 0 0 3"
    assert shape_g.from_nut == "5 4 0 0 0 5"
    assert shape_g.fingers == ("2", "1", None, None, None, "3")


def test_a_shape_name_written_as_concert_name_is_told_apart(guitar: PartSheet) -> None:
    slip = card(guitar, "D")
    assert slip.concert == "E"
    assert slip.shape == "D"
    assert "shape name" in slip.remark


def test_strings_to_avoid_and_that_may_ring_hold_what_was_noted(guitar: PartSheet) -> None:
    assert [line.string for line in card(guitar, "Cadd9").avoid if line.said] == [6]
    ringing = card(guitar, "D").may_ring
    # The fifth string at capo 2 is B2, the fifth of the E that sounds.
    assert [(line.string, line.note, line.degree) for line in ringing] == [(5, "B2", "5")]


def test_a_fretted_string_may_be_noted_to_ring() -> None:
    voicing = Voicing(label="A", frets="3 2 0 0 0 3", ring="2, 1")
    shown = sheet_of(replace(GUITAR, voicings=(voicing,), chart=())).chords[0].may_ring
    assert [(line.string, line.note, line.degree) for line in shown] == [
        (1, "A4", "R"),
        (2, "C#4", "3"),
    ]


def test_an_unplayed_string_in_brackets_may_ring(guitar: PartSheet) -> None:
    ache = card(guitar, "the ache")
    assert [line.string for line in ache.may_ring if line.said] == [1]
    assert ache.said == "only in the last verse"


def test_keys_of_sound_and_of_shape(guitar: PartSheet) -> None:
    assert guitar.rig.concert_key == "A major"
    assert guitar.rig.shape_key == "G major"


def test_shape_key_follows_from_key_and_capo_where_nobody_said_it() -> None:
    # A capo at 4 under B-flat minor leaves F-sharp minor shapes.
    part = replace(GUITAR, capo="4", shape_key="", voicings=(), chart=())
    assert sheet_of(part, replace(EP, key="Bbm")).rig.shape_key == "F# minor"


def test_strings_are_numbered_from_the_high_side_and_sound_with_the_capo(guitar: PartSheet) -> None:
    assert [(each.number, each.open_note, each.with_capo) for each in guitar.rig.strings] == [
        (6, "E2", "F#2"),
        (5, "A2", "B2"),
        (4, "D3", "E3"),
        (3, "G3", "A3"),
        (2, "B3", "C#4"),
        (1, "E4", "F#4"),
    ]


def test_a_partial_capo_leaves_the_other_strings_alone(ferry: PlayerSheet) -> None:
    second = ferry.versions[0].parts[1]
    assert [each.with_capo for each in second.rig.strings] == ["D2", "B2", "E3", "A3", "A3", "D4"]
    assert second.rig.capo == "fret 2, strings 3-5; strings 1-2, 6 free"
    assert second.chords[0].notes == ("D2", "B2", "E3", "A3", "A3", "D4")


@pytest.mark.parametrize(
    ("capo", "counted", "said"),
    [
        ("", "nut", "from the nut."),
        ("2", "nut", "first fret to finger is 3"),
        ("2", "capo", "1 is fret 3 of the neck"),
        ("2 on strings 3-5", "nut", "FROM THE NUT on every string"),
        ("2 on strings 3-5", "capo", "FROM THE CAPO on the strings it covers"),
    ],
)
def test_every_part_says_how_frets_are_counted(capo: str, counted: str, said: str) -> None:
    part = replace(GUITAR, capo=capo, counted=counted, voicings=(), chart=())
    assert said in sheet_of(part).rig.counted


def test_one_voicing_may_be_counted_the_other_way() -> None:
    part = replace(
        GUITAR, voicings=(Voicing(label="A", frets="5 4 0 0 0 5", counted="nut"),), chart=()
    )
    shown = sheet_of(part).chords[0]
    assert (shown.counted, shown.from_capo) == ("nut", "3 2 0 0 0 3")


def test_two_names_for_the_same_notes_are_both_given() -> None:
    part = replace(
        GUITAR, capo="", counted="nut", chart=(), voicings=(Voicing(label="C6", frets="x32213"),)
    )
    shown = sheet_of(part, replace(EP, key="C")).chords[0]
    assert shown.concert == "C6"
    assert [other.symbol for other in shown.also] == ["Am7/C"]
    assert shown.also[0].why


def test_guide_tones_are_third_and_seventh() -> None:
    # G7 as 3 2 0 0 0 1: the third B2 and B3, the seventh F4.
    part = replace(
        GUITAR, capo="", counted="nut", chart=(), voicings=(Voicing(label="G7", frets="320001"),)
    )
    tones = sheet_of(part, replace(EP, key="C")).chords[0].guide_tones
    assert [(tone.string, tone.note, tone.degree) for tone in tones] == [
        (5, "B2", "3"),
        (2, "B3", "3"),
        (1, "F4", "b7"),
    ]


def test_a_wide_reach_is_measured_on_this_instruments_scale() -> None:
    # On 632 mm from fret 1 to fret 5: 632 (2^(-1/12) - 2^(-5/12)) = 123.1 mm.
    part = replace(
        GUITAR, capo="", counted="nut", chart=(), voicings=(Voicing(label="wide", frets="1xxx5x"),)
    )
    assert sheet_of(part).chords[0].stretch_mm == pytest.approx(123.1, abs=0.05)


def test_chart_stands_by_section_in_rows_of_four(guitar: PartSheet) -> None:
    assert [section.name for section in guitar.chart] == ["verse", "chorus", "tag"]
    assert [[len(row) for row in section.rows] for section in guitar.chart] == [[4, 4], [4], [4]]
    verse = guitar.chart[0]
    assert verse.bars == "1-8"
    first, second = verse.rows[0][:2]
    assert (first.chords[0].concert, first.chords[0].shape, first.pattern) == ("A", "G", "roll")
    assert second.chords == ()
    assert second.held is not None
    assert second.held.concert == "A"


def test_a_chord_inside_a_bar_keeps_its_beat(guitar: PartSheet) -> None:
    eighth = guitar.chart[0].rows[1][3]
    assert [(chord.counted, chord.concert) for chord in eighth.chords] == [
        ("1", "Dadd9"),
        ("3&", "E"),
    ]


def test_a_pattern_that_goes_on_is_not_said_again(guitar: PartSheet) -> None:
    patterns = [bar.pattern for section in guitar.chart for row in section.rows for bar in row]
    assert [name for name in patterns if name] == ["roll", "strum"]


def test_sections_in_which_a_part_does_not_play_are_tacet(ferry: PlayerSheet) -> None:
    mandolin = ferry.versions[0].parts[2]
    said = [section.tacet or not section.charted for section in mandolin.chart]
    assert said == [True, False, False]


def test_bars_of_the_chart_outside_the_form_come_last() -> None:
    part = replace(GUITAR, chart=(ChartEntry(bar=1, voicing="G"), ChartEntry(bar=19, voicing="G")))
    last = sheet_of(part).chart[-1]
    assert (last.name, last.bars) == ("", "19")


def test_a_chart_without_a_form_is_one_stretch() -> None:
    part = replace(GUITAR, chart=(ChartEntry(bar=3, voicing="G"), ChartEntry(bar=8, voicing="D")))
    chart = sheet_of(part, replace(EP, form=())).chart
    assert [(section.name, section.bars) for section in chart] == [("", "3-8")]


def test_a_pickup_bar_holds_its_last_beats() -> None:
    chart = (ChartEntry(bar=0, beat="4", voicing="D"), ChartEntry(bar=1, voicing="G"))
    pickup = sheet_of(replace(GUITAR, chart=chart)).chart[0]
    bar = pickup.rows[0][0]
    assert (pickup.name, bar.first_beat, bar.beats, bar.held) == ("pick-up", 4, 4, None)


def test_the_comp_is_told_and_drawn(guitar: PartSheet) -> None:
    assert guitar.edit.told == (
        "Takes 2 and 5; bars 13-14 repeat 9-10; doubled by the second guitar, panned "
        "apart: the chorus felt thin on Saturday night."
    )
    cells = [cell for row in guitar.edit.rows for cell in row.cells]
    assert [cell.takes[0].number for cell in cells] == [2] * 8 + [5] * 6 + [2] * 2
    assert [cell.bar for cell in cells if cell.is_moved] == [13, 14]


def test_takes_say_result_bars_punch_ins_files_and_what_is_heard(guitar: PartSheet) -> None:
    second = guitar.edit.takes[1]
    assert (second.number, second.result, second.bars) == (2, "keeper", "1-16")
    assert second.heard_bars == "10 bars, 62.5 %"
    assert second.punch_ins == ("punched in at 12, pass 2: late on the change",)
    assert second.files == ("sat/gtr1_02.wav, 48 kHz, 24 bit, mono, 0:42",)


def test_overdubs_and_doubles_are_said_on_both_sides(ferry: PlayerSheet) -> None:
    first, second = ferry.versions[0].parts[:2]
    assert first.edit.doubling == "doubled"
    assert second.edit.overdubs == (
        "added on top of first guitar, at boathouse Sunday: one pass, no click",
        "doubles first guitar",
    )


def test_the_head_says_key_meter_tempo_form_and_where_it_was_made(ferry: PlayerSheet) -> None:
    head = ferry.versions[0].head
    assert head.key == "A major"
    assert head.tempos == ("quarter = 92", "from bar 13 quarter = 92 slowing to 84 at bar 17")
    assert head.pickup == "bar 0 is a pick-up of 1 quarter note"
    assert [line.bars for line in head.form] == ["1-8", "9-12", "13-16"]
    # Eight bars of four and one beat of pick-up, at 92 a minute: 33 * 60 / 92 = 21.5 s.
    assert head.form[1].starts_at == "0:22"
    assert head.recorded[0].startswith("boathouse Saturday, 2026-05-02, the boathouse at Ellin")


def test_the_checks_are_on_the_sheet(ferry: PlayerSheet) -> None:
    assert any("voicing D" in problem.where for problem in ferry.checks)


def test_a_sheet_of_one_part_has_only_its_findings() -> None:
    sheet = player_sheet(LOG, "The Ferry Bell", part="voice")
    assert [part.name for part in sheet.versions[0].parts] == ["voice"]
    assert not any("first guitar" in problem.where for problem in sheet.checks)


def test_a_voice_has_neither_strings_nor_frets(ferry: PlayerSheet) -> None:
    voice = ferry.versions[0].parts[3]
    assert (voice.rig.strings, voice.rig.counted, voice.chords, voice.unreadable) == (
        (),
        "",
        (),
        (),
    )
    assert voice.edit.told == (
        "No comp logged; takes 1 and 2 recorded; not doubled, no reason noted."
    )


@pytest.mark.parametrize(
    ("title", "version", "part", "says"),
    [
        ("The Fairy Bell", None, None, "The Ferry Bell"),
        ("The Ferry Bell", "radio", None, "EP version"),
        ("The Ferry Bell", None, "harp", "mandolin"),
    ],
)
def test_a_name_that_is_not_there_is_answered_with_those_that_are(
    title: str, version: str | None, part: str | None, says: str
) -> None:
    with pytest.raises(LogbookError, match=says):
        player_sheet(LOG, title, version, part)


@pytest.mark.parametrize(
    ("part", "says"),
    [
        (replace(SECOND, capo="somewhere high"), "capo"),
        (replace(SECOND, tuning="no such tuning"), "tuning"),
        (replace(SECOND, shape_key="H dur"), "shape key"),
        (replace(SECOND, chart=(ChartEntry(bar=1, beat="two", voicing="D"),)), "chart"),
    ],
)
def test_what_cannot_be_read_becomes_a_line(part: Part, says: str) -> None:
    assert any(line.startswith(says) for line in sheet_of(part).unreadable)


@pytest.mark.parametrize(
    ("part", "says"),
    [
        (replace(SECOND, takes=(Take(number=1, result="so-so"),)), "takes"),
        (replace(SECOND, takes=(Take(number=1, bars="late"),)), "takes"),
        (replace(SECOND, comps=(Comp(pieces=(CompPiece(bars="?", take=1, source="?"),)),)), "comp"),
        (replace(SECOND, doubled="perhaps"), "doubled"),
    ],
)
def test_takes_that_cannot_be_read_become_a_line(part: Part, says: str) -> None:
    assert any(line.startswith(says) for line in sheet_of(part).edit.unreadable)


@pytest.mark.parametrize(
    ("voicing", "says"),
    [
        (Voicing(label="A", frets="5 4 0 0"), "4 entries"),
        (Voicing(label="A", frets="1 0 0 0 0 0", counted="nut"), ""),
        (Voicing(label="A", frets="x x x x x x"), "no string"),
        (Voicing(label="A", frets="5 4 0 0 0 q"), "not a fret"),
        (Voicing(label="A", frets="3 2 0 0 0 3", fingers="1 1 1 1 1 1"), "finger"),
        (Voicing(label="A", frets="3 2 0 0 0 3", avoid="lowest"), "not a string"),
        (Voicing(label="A", frets="3 2 0 0 0 3", ornaments="wiggle 3"), "wiggle"),
    ],
)
def test_a_voicing_that_cannot_be_played_says_why(voicing: Voicing, says: str) -> None:
    shown = sheet_of(replace(GUITAR, voicings=(voicing,), chart=())).chords[0]
    assert says in shown.problem
    assert shown.problem


def test_fingers_that_do_not_fit_cost_only_the_fingers() -> None:
    voicing = Voicing(label="A", frets="3 2 0 0 0 3", fingers="1 1 1 1 1 1")
    shown = sheet_of(replace(GUITAR, voicings=(voicing,), chart=())).chords[0]
    assert shown.notes == ("A2", "C#3", "E3", "A3", "C#4", "A4")


def test_frets_without_a_tuning_are_shown_as_written() -> None:
    part = replace(SECOND, instrument="", tuning="")
    shown = sheet_of(part).chords[0]
    assert (shown.as_written, shown.notes) == ("0 0 0 0 0 0", ())
    assert "no tuning" in shown.problem


def test_a_chord_the_part_does_not_have_is_marked_in_the_chart() -> None:
    part = replace(GUITAR, chart=(ChartEntry(bar=1, voicing="Zz"),))
    assert sheet_of(part).chart[0].rows[0][0].chords[0].concert == "Zz?"


def test_a_version_that_says_nothing_has_a_sheet() -> None:
    log = Log(
        songs=(Song(title="Bare", versions=(Version(name="live", parts=(Part(name="x"),)),)),)
    )
    sheet = player_sheet(log, "Bare")
    assert sheet.versions[0].parts[0].edit.told.startswith("No takes and no comp logged")
    assert player_sheet(Log(songs=(Song(title="Barer"),)), "Barer").versions == ()


@pytest.mark.parametrize(
    "version",
    [
        replace(EP, meters=(MeterChange(bar=1, meter="four"),)),
        replace(EP, tempos=(TempoChange(bar=1, bpm=92.0, unit="beats"),)),
        replace(EP, pickup_beats="some"),
        replace(EP, key="H"),
        replace(EP, form=(FormSection(name="verse", start=-3, bars=4),)),
    ],
)
def test_a_version_that_cannot_be_read_says_so_and_has_its_parts(version: Version) -> None:
    sheet = player_sheet(
        replace(LOG, songs=(replace(FERRY, versions=(version,)),)), "The Ferry Bell"
    )
    assert sheet.versions[0].head.unreadable
    assert len(sheet.versions[0].parts) == 4


def test_string_numbers_are_read_as_people_write_them() -> None:
    assert string_numbers("6, 5 4-3") == (6, 5, 3, 4)
    with pytest.raises(LogbookError, match="not a string"):
        string_numbers("low")


def test_a_share_is_said_as_people_agree_on_it() -> None:
    shares = (
        Share(person="Ina", share=Fraction("0.333")),
        Share(person="Tam", share=Fraction("0.667")),
    )
    song = replace(LOG.songs[0], shares=shares)
    assert written_by(song) == ("Ina 33.3 %", "Tam 66.7 %")
    alone = replace(song, shares=(Share(person="Ina", share=Fraction(1)),))
    assert written_by(alone) == ("Ina",)
