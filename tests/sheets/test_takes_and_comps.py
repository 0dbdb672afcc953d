"""The take list and the comp's figures as data, against figures worked out by hand."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest

from logbook.errors import LogbookError
from logbook.notebook.read import read_log
from logbook.records import AudioFile, Comp, CompPiece, Measurement, TempoChange
from logbook.records.part_view import PartView, chosen_comp, places
from logbook.sheets.comps import AskedComp, comp_clips, comp_sheet
from logbook.sheets.takes import measured_text, part_takes
from tests.sheets.drawing import lines_of

SAMPLE = Path(__file__).parents[2] / "sample_session"
LOG = read_log((SAMPLE / "session.toml").read_text(encoding="utf-8"), folder=str(SAMPLE))
RATE = 22050


def guitar() -> PartView:
    """The part with a comp of three takes: 12 bars of 4/4 at 112."""
    return next(p for p in places(LOG) if p.title == "Low Tide Ledger, EP, guitar")


def with_files(place: PartView) -> PartView:
    """The same part with a file for each take, a little longer than its bars."""
    takes = tuple(
        replace(
            take,
            files=(AudioFile(path=f"{take.number}.wav", rate_hz=RATE, frames=RATE * 30),),
        )
        if take.bars
        else take
        for take in place.part.takes
    )
    return replace(place, part=replace(place.part, takes=takes))


def test_shares_of_the_finished_part_by_hand() -> None:
    # Take 3: bars 1-2; take 2: 3-6 and 11-12; take 4: 7-8 and again at 9-10.
    sheet = comp_sheet(guitar())
    assert sheet.shares == (
        "take 2: 6 bars, 50 %",
        "take 3: 2 bars, 16.7 %",
        "take 4: 4 bars, 33.3 %",
    )
    assert sheet.reused == (
        "7-8 from bars 7-8 of take 4, also heard at 9-10",
        "9-10 from bars 7-8 of take 4, also heard at 7-8",
    )
    assert "bar 7 of take 4: twice, at 7, 9" in sheet.used_bars
    assert sheet.gaps == ()
    assert sheet.overlaps == ()
    assert sheet.length_bars == "12"
    assert sheet.length_s == pytest.approx(12 * 4 * 60 / 112)
    assert not sheet.untouched_pass


def test_clips_point_at_the_exact_frames_of_each_take() -> None:
    clips = comp_clips(with_files(guitar()))
    bar = Fraction(4 * 60, 112) * RATE
    # The repeated chorus: bars 9-10 are bars 7-8 of take 4, whose file starts at bar 7.
    again = clips[3]
    assert again.audio.path == "4.wav"
    assert again.first_frame == 0
    assert again.at_frame == round(8 * bar)
    assert again.frames == round(10 * bar) - round(8 * bar)


def test_a_file_that_is_not_there_stops_a_timeline() -> None:
    with pytest.raises(LogbookError, match="no audio file"):
        comp_clips(guitar())


def test_which_comp_is_meant() -> None:
    place = guitar()
    rough = Comp(name="rough", final=False, pieces=(CompPiece(bars="1-12", take=2, source=""),))
    both = replace(place, part=replace(place.part, comps=(*place.part.comps, rough)))
    assert chosen_comp(both).name == "comp"
    assert chosen_comp(both, "ro") == rough
    sheet = comp_sheet(both, "rough")
    assert sheet.untouched_pass
    assert sheet.told.startswith("take 2")
    with pytest.raises(LogbookError, match="no one comp"):
        chosen_comp(both, "smooth")
    neither = replace(both.part, comps=tuple(replace(c, final=False) for c in both.part.comps))
    with pytest.raises(LogbookError, match="final"):
        chosen_comp(replace(both, part=neither))


def test_lines_fit_eighty_columns_and_read_without_colour() -> None:
    lines = lines_of("comp", AskedComp(guitar()))
    assert max(map(len, lines)) <= 80
    assert not any("\x1b" in line for line in lines)


def test_a_take_says_its_length_and_the_tempo_that_implies() -> None:
    place = with_files(guitar())
    two = next(line for line in part_takes(place).takes if line.number == 2)
    assert two.length_s == 30.0
    assert two.tempo_bpm == pytest.approx(12 * 4 * 60 / 30, abs=0.01)
    assert two.share == "1/2"
    timeless = replace(place, version=replace(place.version, tempos=()))
    assert part_takes(timeless).takes[1].tempo_bpm is None
    faster = replace(place.version, tempos=(TempoChange(bar=1, bpm=60.0, unit="1/4"),))
    assert part_takes(replace(place, version=faster)).takes[1].tempo_bpm == pytest.approx(96.0)


def test_what_was_measured_in_a_line() -> None:
    found = Measurement(
        tempo_bpm=112.04,
        tempo_drift_percent=-0.31,
        tuning_cents=4.2,
        loudness_lufs=-31.25,
        true_peak_dbtp=-13.9,
        clipped_samples=0,
    )
    said = measured_text(AudioFile(path="a.wav", measurement=found))
    assert said == "tempo 112.0, drift -0.3 %, tuning +4 cents, -31.2 LUFS, peak -13.9 dBTP"
    assert measured_text(AudioFile(path="a.wav")) == ""
    rare = Measurement(
        tempo_bpm=56.0,
        tempo_reading="half",
        clipped_samples=1,
        silence_start_s=1.5,
        silence_end_s=0.25,
    )
    assert measured_text(AudioFile(path="a.wav", measurement=rare)) == (
        "tempo 56.0 (heard as half of it), 1 clipped sample, silence 1.50 s before and 0.25 s after"
    )


def test_a_copy_of_a_file_hung_twice_counts_once() -> None:
    place = with_files(guitar())
    doubled = tuple(
        replace(
            take,
            files=tuple(
                replace(file, path=path, digest=f"sound {take.number}")
                for file in take.files
                for path in (file.path, f"copy of {file.path}")
            ),
        )
        for take in place.part.takes
    )
    twice = replace(place, part=replace(place.part, takes=doubled))
    assert [c.audio.path for c in comp_clips(twice)] == [c.audio.path for c in comp_clips(place)]


def test_a_comp_says_which_crossfades_lack_material() -> None:
    # Take 4's file begins at bar 7, where the crossfade to it lies.
    sheet = comp_sheet(with_files(guitar()))
    late = [line for line in sheet.handles if line.startswith("7: take 4 has 0.0 of ")]
    assert late
    assert all("ms before the join" in line for line in late)
    assert any(
        line.startswith("Too short") for line in lines_of("comp", AskedComp(with_files(guitar())))
    )


def test_what_many_takes_leave_unused_is_told_together() -> None:
    from logbook.sheets.comps import _alike_as_one

    many = [f"take {n}: 1-32" for n in range(1, 59) if n != 7] + ["take 59: 1-8, 21-32"]
    assert _alike_as_one(many) == ("takes 1-6, 8-58: 1-32", "take 59: 1-8, 21-32")
    assert _alike_as_one(many[:4]) == tuple(many[:4])
