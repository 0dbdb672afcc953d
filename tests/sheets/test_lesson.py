"""The lesson sheet: what is said of each chord, worked out by hand from how it was played."""

from __future__ import annotations

import re
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from logbook.notebook.read import read_log
from logbook.records import (
    ChartEntry,
    FormSection,
    Log,
    Part,
    Pattern,
    Song,
    TempoChange,
    Version,
    Voicing,
)
from logbook.sheets.blocks import Facts, Patterns, Study
from logbook.sheets.catalog import draw_sheet, make_sheet
from logbook.sheets.hands_words import strings_said
from logbook.sheets.lesson import LessonPart, LessonStep, lesson_sheet
from logbook.sheets.lesson_paces import MARKS
from logbook.sheets.looks import Look, Wanted
from logbook.strings.stretch import STRAIN_CAUTION

sys.path.insert(0, str(Path(__file__).parent))
from material import LOG

SAMPLE = Path(__file__).parents[2] / "sample_session" / "session.toml"
SAMPLE_LOG = read_log(SAMPLE.read_text(encoding="utf-8"))


def guitar_lesson() -> LessonPart:
    (version,) = lesson_sheet(SAMPLE_LOG, "Low Tide Ledger", part="guitar").versions
    (part,) = version.parts
    return part


def step(name: str) -> LessonStep:
    (found,) = [each for each in guitar_lesson().steps if each.card.concert == name]
    return found


def one_step(voicing: Voicing, **more: str) -> LessonStep:
    key = more.pop("key", "C")
    part = Part(
        name="guitar",
        tuning="standard",
        voicings=(voicing,),
        chart=(ChartEntry(bar=1, voicing=voicing.label),),
        **more,
    )
    song = Song(title="One", versions=(Version(name="demo", key=key, parts=(part,)),))
    (version,) = lesson_sheet(Log(songs=(song,)), "One").versions
    return version.parts[0].steps[0]


def test_chords_come_in_the_order_of_the_chart() -> None:
    part = guitar_lesson()
    assert [each.card.concert for each in part.steps] == ["A", "Dadd9", "E/G#", "F#m7", "Esus4"]
    assert [each.card.shape for each in part.steps] == ["G", "Cadd9", "D/F#", "Em7", "Dsus4"]
    assert [each.first for each in part.steps][1:4] == [
        "bar 2, intro", "bar 4, verse", "bar 5, verse",
    ]  # fmt: skip
    assert step("Esus4").first == "bar 7, beat 3, chorus"
    assert step("A").bars == "1, 3, 8, 12"
    assert [each.numeral for each in part.steps][:2] == ["I in A", "IVadd9 in A"]


def test_a_voicing_that_no_bar_uses_comes_last() -> None:
    part = replace(
        SAMPLE_LOG.songs[0].versions[0].parts[0],
        chart=(ChartEntry(bar=1, voicing="Esus4"),),
    )
    song = replace(
        SAMPLE_LOG.songs[0],
        versions=(replace(SAMPLE_LOG.songs[0].versions[0], parts=(part,)),),
    )
    (version,) = lesson_sheet(replace(SAMPLE_LOG, songs=(song,)), song.title).versions
    steps = version.parts[0].steps
    assert steps[0].card.concert == "Esus4"
    assert steps[1].first == "not in the chart"
    assert steps[1].pattern is None
    assert len(steps) == 5


def test_fingers_are_said_in_the_count_of_the_part_and_on_the_neck() -> None:
    assert step("A").fingers == (
        "1 index: string 5, fret 2 (neck 4)",
        "2 middle: string 6, fret 3 (neck 5)",
        "3 ring: string 1, fret 3 (neck 5)",
    )
    nut = one_step(Voicing(label="D", frets="x x 4 6 7 6", fingers="- - 1 2 4 3"), capo="2")
    assert nut.fingers[0] == "1 index: string 4, fret 4 (capo + 2)"
    barre = one_step(Voicing(label="F", frets="1 3 3 2 1 1", fingers="1 3 4 2 1 1"))
    assert barre.fingers[0] == "1 index: lies across strings 6, 2 and 1, fret 1"
    assert one_step(Voicing(label="G6", frets="x x 0 0 0 0")).fingers == (
        "none: every string that sounds is open",
    )
    proposed = one_step(Voicing(label="C", frets="x 3 2 0 1 0"))
    assert proposed.fingers[-1] == "(suggested fingering)"


def test_which_strings_to_pick_mute_and_let_ring_and_why() -> None:
    assert step("A").pick == "strings 6 to 1, all of them"
    assert step("E/G#").pick == "strings 6, 4, 3, 2 and 1"
    assert step("Dadd9").mute == (
        "string 6: F#2 is the third of the chord, but below the bass: an inversion; the tip of "
        "finger 2 can lean against it",
    )
    assert step("E/G#").mute == (
        "string 5: B2 is the fifth of the chord; lay finger 1 a little flatter, so that it "
        "touches it",
    )
    assert step("Esus4").mute[1].endswith("the thumb can touch it over the top of the neck")
    assert step("A").ring == (
        "string 1: A4, as the player noted",
        "string 2: C#4 is the third of the chord, as the player noted",
    )


@pytest.mark.parametrize(
    ("name", "frets", "wanted"),
    [
        (
            "Am7", "x 0 2 0 1 0",
            "the minor third C4 on string 2 and the flat seventh G3 on string 3; with A in the "
            "bass these two alone say Am7",
        ),
        (
            "Cmaj7", "x 3 2 0 0 0",
            "the third E3 on string 4 and E4 on string 1 and the major seventh B3 on string 2; "
            "with C in the bass these two alone say Cmaj7",
        ),
        ("C", "x 3 2 0 1 0", "no seventh here, so the third alone tells the kind: E3 on string 4 "
         "and E4 on string 1 makes it major"),
        ("Am", "x 0 2 2 1 0", "no seventh here, so the third alone tells the kind: C4 on string 2 "
         "makes it minor"),
        ("Dsus4", "x x 0 2 3 3", "no third and no seventh: the fourth G4 on string 1 stands in "
         "for the third and wants to move to F#"),
        ("A5", "x 0 2 2 x x", "no third and no seventh: neither major nor minor"),
    ],
)  # fmt: skip
def test_guide_tones_are_explained_on_the_very_chord(name: str, frets: str, wanted: str) -> None:
    assert one_step(Voicing(label=name, frets=frets)).guide_tones == wanted


def test_a_note_alone_has_no_guide_tones() -> None:
    alone = one_step(Voicing(label="A", frets="x 0 x x x x"))
    assert alone.guide_tones.startswith("one note alone")
    assert alone.other_ways == ()
    assert alone.numeral == ""


def test_an_ornament_says_how_it_is_played() -> None:
    assert step("Dadd9").ornaments == (
        "hammer-on: strike string 4 open, then drop a finger on fret 2 (neck 4) without striking "
        "again",
    )


def test_the_pattern_says_which_strings_of_this_chord_it_meets() -> None:
    pattern = step("Dadd9").pattern
    assert pattern is not None
    (bar,) = pattern.bars
    struck = dict(zip(bar.counts, bar.strings, strict=True))
    assert struck["1"] == "5-1"
    assert bar.strings[6] == "1-5"
    assert bar.strings[1] == ""
    fingers = one_step(Voicing(label="C", frets="x 3 2 0 1 0"))
    assert fingers.pattern is None


def test_thumb_and_fingers_meet_the_strings_that_sound() -> None:
    part = Part(
        name="guitar",
        tuning="standard",
        voicings=(Voicing(label="C", frets="x 3 2 0 1 0"), Voicing(label="G", frets="3 2 0 0 0 3")),
        patterns=(Pattern(label="roll", grid="1/8", line="p i m a [pm] . . ."),),
        chart=(ChartEntry(bar=1, voicing="C", pattern="roll"), ChartEntry(bar=2, voicing="G")),
    )
    song = Song(title="One", versions=(Version(name="demo", parts=(part,)),))
    (version,) = lesson_sheet(Log(songs=(song,)), "One").versions
    met = []
    for each in version.parts[0].steps:
        assert each.pattern is not None
        met.append(each.pattern.bars[0].strings[:5])
    assert met == [("5", "3", "2", "1", "52"), ("6", "3", "2", "1", "62")]


def test_moves_say_which_fingers_stay_slide_and_lift() -> None:
    moves = {move.after.concert: move for move in step("E/G#").moves}
    assert list(moves) == ["F#m7"]
    assert moves["F#m7"].said == (
        "finger 4 stays down; finger 1 goes to string 5, fret 2 (neck 4); finger 2 goes to string "
        "4, fret 2 (neck 4); finger 3 lifts; string 2 can ring on"
    )
    assert moves["F#m7"].at == "into bar 5"
    from_a = {move.after.concert: move for move in step("A").moves}
    assert list(from_a) == ["Dadd9", "E/G#"]
    assert from_a["Dadd9"].at == "into bars 2, 9"
    assert "finger 3 slides along string 1 to fret 2 (neck 4)" in from_a["E/G#"].said


def test_other_ways_sound_the_same_chord() -> None:
    ways = step("F#m7").other_ways
    assert ways
    # F#m7 is F# A C# E.
    allowed = {"F#", "A", "C#", "E"}
    for way in ways:
        assert {note.rstrip("0123456789") for note in way.notes} <= allowed
        assert len(way.from_nut.split()) == len(way.from_capo.split()) == 6
        assert way.from_nut != step("F#m7").card.from_nut


def test_practice_goes_from_half_the_tempo_to_the_record() -> None:
    (version,) = lesson_sheet(SAMPLE_LOG, "Low Tide Ledger").versions
    paces = version.paces
    assert [pace.share for pace in paces] == ["50%", "60%", "70%", "80%", "90%", "full tempo"]
    # 12 bars of four quarters at 112 last 48 * 60 / 112 = 25.7 s; at 56 twice that.
    assert (paces[0].tempo, paces[0].whole) == ("quarter = 56", "0:51")
    assert (paces[-1].tempo, paces[-1].bar, paces[-1].whole) == ("quarter = 112", "2.1 s", "0:26")
    assert all("." not in pace.tempo for pace in paces)


def test_a_tempo_change_is_practised_too() -> None:
    (version,) = lesson_sheet(SAMPLE_LOG, "Varnish").versions
    # Half of 120 and of 104, where it changes at bar 7.
    assert version.paces[0].tempo == "quarter = 60; from bar 7 quarter = 52"


def test_every_practice_tempo_is_one_that_a_metronome_has() -> None:
    glide = TempoChange(bar=3, bpm=99.0, ramp_bpm=71.0, ramp_end="5")
    tempos = (TempoChange(bar=1, bpm=112.0), glide, TempoChange(bar=9, bpm=133.0, unit="1/8"))
    version = replace(SAMPLE_LOG.songs[0].versions[0], tempos=tempos)
    log = replace(SAMPLE_LOG, songs=(replace(SAMPLE_LOG.songs[0], versions=(version,)),))
    *slower, record = lesson_sheet(log, "Low Tide Ledger").versions[0].paces
    figures = {int(each) for pace in slower for each in re.findall(r"(?:=|to) (\d+)", pace.tempo)}
    assert figures - set(MARKS) <= {36}  # half of 71, slower than any metronome
    assert not any("." in pace.tempo for pace in slower)
    assert "eighth = 133" in record.tempo


def test_without_a_tempo_there_is_nothing_to_practise_by() -> None:
    version = replace(SAMPLE_LOG.songs[0].versions[0], tempos=())
    log = replace(SAMPLE_LOG, songs=(replace(SAMPLE_LOG.songs[0], versions=(version,)),))
    assert lesson_sheet(log, "Low Tide Ledger").versions[0].paces == ()
    slow = replace(version, tempos=(TempoChange(bar=1, bpm=1.0),))
    log = replace(SAMPLE_LOG, songs=(replace(SAMPLE_LOG.songs[0], versions=(slow,)),))
    assert lesson_sheet(log, "Low Tide Ledger").versions[0].paces[0].tempo == "quarter = 1"


def test_sections_show_every_move_once_and_the_lines_that_sing() -> None:
    sections = {each.name: each for each in guitar_lesson().sections}
    assert list(sections) == ["intro", "verse", "chorus", "outro"]
    chorus = sections["chorus"]
    assert [(m.before.concert, m.after.concert) for m in chorus.moves] == [
        ("Dadd9", "Esus4"), ("Esus4", "A"), ("A", "Dadd9"), ("Esus4", "F#m7"),
    ]  # fmt: skip
    assert chorus.moves[0].at == "into bars 7, 9"
    assert dict(sections["verse"].lines)["top notes"] == "A4 G#4 F#4 F#4"


def test_a_section_that_repeats_another_is_drawn_once_and_starts_with_what_is_held() -> None:
    part = Part(
        name="guitar",
        tuning="standard",
        voicings=(
            Voicing(label="C", frets="x 3 2 0 1 0"),
            Voicing(label="Am", frets="x 0 2 2 1 0"),
        ),
        chart=tuple(
            ChartEntry(bar=bar, voicing="C" if bar % 2 else "Am") for bar in (1, 2, 3, 4, 7)
        ),
    )
    form = (
        FormSection(name="verse", start=1, bars=2),
        FormSection(name="verse", start=3, bars=2),
        FormSection(name="tag", start=5, bars=3),
    )
    song = Song(title="One", versions=(Version(name="demo", form=form, parts=(part,)),))
    (version,) = lesson_sheet(Log(songs=(song,)), "One").versions
    sections = version.parts[0].sections
    assert [(each.name, each.bars) for each in sections] == [("verse", "1-2"), ("tag", "5-7")]
    assert sections[1].chords == ("Am", "C")


def test_the_sheet_carries_the_caution_and_beside_each_chord_what_there_is_to_say() -> None:
    sheet = make_sheet("lesson", SAMPLE_LOG, Wanted("Low Tide Ledger", part="guitar"))
    studies = [block for block in sheet.blocks if isinstance(block, Study)]
    assert [study.title for study in studies] == [
        "1. A", "2. Dadd9", "3. E/G#", "4. F#m7", "5. Esus4",
    ]  # fmt: skip
    assert {type(block) for study in studies for block in study.beside} == {Facts, Patterns}
    text = draw_sheet(sheet, "text", Look())
    assert isinstance(text, str)
    assert " ".join(STRAIN_CAUTION.split()) in " ".join(text.split())
    assert "bars 11–12" in text
    assert "palm on the bridge" in text


@pytest.mark.parametrize("width", [40, 60, 80, 120])
@pytest.mark.parametrize("left_handed", [False, True])
def test_no_line_is_wider_than_the_page(width: int, left_handed: bool) -> None:
    for log, title in ((SAMPLE_LOG, "Rowan Gate"), (LOG, "The Ferry Bell")):
        text = draw_sheet(
            make_sheet("lesson", log, Wanted(title)), "text", Look(width, left_handed=left_handed)
        )
        assert isinstance(text, str)
        assert max(map(len, text.splitlines())) <= width


def test_a_left_hand_sees_the_diagram_turned_round() -> None:
    sheet = make_sheet("lesson", SAMPLE_LOG, Wanted("Low Tide Ledger", part="guitar"))
    text = draw_sheet(sheet, "text", Look(left_handed=True))
    assert isinstance(text, str)
    assert "   4 │ │ │ │ 1 │ 2" in text
    assert "   5 3 │ │ │ │ 2 3" in text


def test_a_song_without_chords_says_so() -> None:
    log = Log(songs=(Song(title="Air", versions=(Version(name="demo"),)),))
    text = draw_sheet(make_sheet("lesson", log, Wanted("Air")), "text", Look())
    assert isinstance(text, str)
    assert "No part of this song has chords logged" in text


@pytest.mark.parametrize(
    ("numbers", "said"),
    [
        ((4,), "string 4"),
        ((5, 3), "strings 5 and 3"),
        ((2, 1), "strings 2 and 1"),
        ((1, 2, 3), "strings 3 to 1"),
        ((6, 4, 3), "strings 6, 4 and 3"),
    ],
)
def test_strings_are_said_as_players_do(numbers: tuple[int, ...], said: str) -> None:
    assert strings_said(numbers) == said
