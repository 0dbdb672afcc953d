"""The live sheet: what a band reads on stage, with every figure worked out by hand."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from logbook.errors import LogbookError
from logbook.notebook.read import read_log
from logbook.records import ArrangedPart, ArrangedSection, Arrangement, Log
from logbook.sheets.blocks import Facts, RoadMap
from logbook.sheets.catalog import draw_sheet, make_sheet
from logbook.sheets.live import AS_RECORDED, LivePlan, live_sheet
from logbook.sheets.looks import Look, Wanted
from logbook.sheets.play_stage import stage_of

SAMPLE = Path(__file__).parents[2] / "sample_session" / "session.toml"
LOG = read_log(SAMPLE.read_text(encoding="utf-8"))


def arranged(title: str, *arrangements: Arrangement) -> Log:
    """The sample's log with these arrangements of a song, and no others."""
    songs = []
    for song in LOG.songs:
        if song.title == title:
            (version,) = song.versions
            song = replace(song, versions=(replace(version, arrangements=arrangements),))
        songs.append(song)
    return replace(LOG, songs=tuple(songs))


def plan(title: str, *arrangements: Arrangement) -> LivePlan:
    (found,) = live_sheet(arranged(title, *arrangements), title).plans
    return found


def test_the_kept_arrangement_is_shown_at_its_tempo_and_in_its_key() -> None:
    (found,) = live_sheet(LOG, "Low Tide Ledger").plans
    assert (found.version, found.arrangement) == ("EP", "harbour stage")
    assert (found.key, found.tempos, found.meters) == ("G major", ("quarter = 100",), ("4/4",))
    # 12 bars of four beats at 100: 48 * 0.6 s = 28.8 s.
    assert found.length == "28.8 s"
    assert found.count_in == "1 bar: 1 2 3 4"
    about = {each.about: (each.recorded, each.now) for each in found.differences}
    assert about["key"] == ("A major", "G major, 2 semitones down")
    assert about["guitar: capo"] == ("2", "0")


def test_every_player_gets_shapes_and_concert_chords() -> None:
    (found,) = live_sheet(LOG, "Low Tide Ledger").plans
    guitar = found.parts[0]
    assert (guitar.capo_now, guitar.tuning_now) == ("no capo", "standard")
    # The shapes of the record with the capo off: A's shape G now sounds G.
    assert [card.concert for card in guitar.chords] == ["G", "D/F#", "Em7", "Cadd9", "Dsus4"]
    assert guitar.chords[0].from_nut == "3 2 0 0 0 3"
    assert [part.name for part in found.parts] == ["guitar", "bass", "voice"]


def test_without_a_kept_arrangement_it_is_played_as_recorded() -> None:
    found = plan("Lantern on the Slip")
    assert found.arrangement == AS_RECORDED
    assert found.differences == ()
    assert found.parts[0].capo_now == "capo 5"
    text = draw_sheet(make_sheet("live", LOG, Wanted("Lantern on the Slip")), "text", Look())
    assert isinstance(text, str)
    assert text.splitlines()[2] == "EP, as recorded"
    assert "Changes from the recording" not in text  # there are none


def test_the_count_in_leaves_room_for_the_pick_up() -> None:
    # Two eighths before bar one: four of the six are counted, the pick-up fills the rest.
    assert plan("Lantern on the Slip").count_in == "1 bar: 1 2 3 4, then the pick-up"
    two = plan("Low Tide Ledger", Arrangement(name="a", count_in_bars=2))
    assert two.count_in == "2 bars: 1 2 3 4 1 2 3 4"
    assert plan("Low Tide Ledger", Arrangement(name="a", count_in_bars=0)).count_in == "none"


ROAD = Arrangement(
    name="long",
    sections=(
        ArrangedSection(name="intro", times=2),
        ArrangedSection(name="verse", cue="when the light comes up"),
        ArrangedSection(name="chorus", vamp=True, cue="Tam's nod", notes="quieter each time"),
        ArrangedSection(name="outro", bpm=60.0),
    ),
)


def test_the_form_is_a_road_map_with_repeats_vamps_cues_and_tempos() -> None:
    found = plan("Low Tide Ledger", ROAD)
    road = {stop.name: stop for stop in found.road}
    assert list(road) == ["intro", "verse", "chorus", "outro"]
    assert (road["intro"].how, road["intro"].bars) == ("x2", "bars 1-4")
    assert road["verse"].said == "cue: when the light comes up"
    assert road["chorus"].how == "vamp till cue"
    assert road["chorus"].said == "cue: Tam's nod; quieter each time"
    assert road["outro"].how == "quarter = 60"
    # Four bars of intro and four of verse at 112: 32 * 60 / 112 = 17.1 s.
    assert road["chorus"].starts_at == "0:17"
    assert found.cues == (
        "verse (bars 5-8): when the light comes up",
        "chorus: vamp till Tam's nod, then outro",
    )
    assert found.length.endswith("plus the vamp (chorus)")


def test_the_road_map_is_drawn_in_every_form() -> None:
    sheet = make_sheet("live", arranged("Low Tide Ledger", ROAD), Wanted("Low Tide Ledger"))
    assert any(isinstance(block, RoadMap) for block in sheet.blocks)
    for form in ("text", "markdown", "html", "json"):
        drawn = draw_sheet(sheet, form, Look())
        assert isinstance(drawn, str)
        for word in ("x2", "vamp till cue", "quieter each time"):
            assert word in drawn, form


def test_what_is_read_from_the_floor_is_in_large_type_on_top() -> None:
    sheet = make_sheet("live", LOG, Wanted("Varnish"))
    (top, *_) = [block for block in sheet.blocks if isinstance(block, Facts)]
    assert top.large
    rows = dict(top.rows)
    assert rows["key"] == "E♭ major" or rows["key"] == "Eb major"
    assert rows["tempo"] == "quarter = 120"
    assert rows["count-in"] == "1 bar: 1 2 3 4"
    assert (rows["capo"], rows["tuning"]) == ("3", "standard")
    high = [block for block in sheet.blocks if isinstance(block, Facts) and block.large][1]
    assert dict(high.rows)["tuning"] == "high-strung"


def test_a_transposing_player_reads_the_chart_at_written_pitch() -> None:
    found = plan(
        "Low Tide Ledger",
        Arrangement(name="horns", parts=(ArrangedPart(part="guitar", written_for="Bb"),)),
    )
    guitar = found.parts[0]
    # A sounds; a B-flat instrument reads it a whole step up, as B.
    assert guitar.written == "written for B-flat instruments, in B major"
    first = guitar.chart[0].rows[0][0].chords[0]
    assert (first.concert, first.shape) == ("A", "B")


def test_a_transposing_player_without_a_chart_reads_the_chords_of_another_part() -> None:
    found = plan(
        "Low Tide Ledger",
        Arrangement(name="horns", parts=(ArrangedPart(part="voice", written_for="Eb"),)),
    )
    (voice,) = (each for each in found.parts if each.name == "voice")
    assert voice.written == "written for E-flat instruments, in F# major: the chords of guitar"
    bar = voice.chart[0].rows[0][0]
    # A sounds; an E-flat instrument reads it a major sixth up, and has no strings to strum.
    assert (bar.chords[0].concert, bar.chords[0].shape, bar.pattern) == ("A", "F#", "")


def test_a_part_that_is_left_out_is_named_as_such() -> None:
    found = plan(
        "Low Tide Ledger",
        Arrangement(name="duo", parts=(ArrangedPart(part="bass", left_out=True),)),
    )
    assert found.left_out == ("bass",)
    assert [part.name for part in found.parts] == ["guitar", "voice"]


def test_the_arrangement_for_the_stage_is_chosen_and_another_can_be_named() -> None:
    lesson = Arrangement(name="slow", purpose="lesson", bpm=60.0)
    stage = Arrangement(name="stage", bpm=100.0)
    assert plan("Low Tide Ledger", lesson, stage).arrangement == "stage"
    assert plan("Low Tide Ledger", lesson).arrangement == "slow"
    log = arranged("Low Tide Ledger", lesson, stage)
    (named,) = live_sheet(log, "Low Tide Ledger", arrangement="SLOW").plans
    assert named.tempos == ("quarter = 60",)
    with pytest.raises(LogbookError, match=r"no arrangement called 'x'.*slow, stage"):
        live_sheet(log, "Low Tide Ledger", arrangement="x")
    with pytest.raises(LogbookError, match="keep one with"):
        live_sheet(LOG, "Varnish", arrangement="x")


def test_one_player_gets_only_what_concerns_them() -> None:
    (found,) = live_sheet(LOG, "Low Tide Ledger", part="guitar").plans
    assert [part.name for part in found.parts] == ["guitar"]
    assert not any(each.about.startswith("bass") for each in found.differences)
    assert any(each.about == "guitar: capo" for each in found.differences)


def test_an_arrangement_that_cannot_be_says_why() -> None:
    with pytest.raises(LogbookError, match="bridge"):
        plan(
            "Low Tide Ledger",
            Arrangement(name="a", sections=(ArrangedSection(name="bridge"),)),
        )


def test_a_pick_up_stands_before_bar_one_on_the_stage_page() -> None:
    found = plan("Lantern on the Slip").parts[0]
    verse, refrain = stage_of(found, None)["sections"]
    assert [[bar[0] for bar in row] for row in verse["rows"]] == [[0, 1, 2, 3, 4]]
    assert [[bar[0] for bar in row] for row in refrain["rows"]] == [[5, 6, 7, 8]]
