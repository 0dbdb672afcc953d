"""From a part of the log to a comp in bars: where files begin, and what is held against the log.

The pieces are made by hand: one song of 12 bars of 4/4 at 120, two seconds a bar.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from logbook.editing.comp import comp_lines
from logbook.editing.takes import TakeId
from logbook.errors import LogbookError
from logbook.listening import Piece
from logbook.listening.beginnings import music_at
from logbook.listening.part import (
    HeardComp,
    TakeFile,
    bounce_file,
    hear_comp,
    meant_comp,
    records_of,
    take_files,
)
from logbook.records import (
    AudioFile,
    Comp,
    CompPiece,
    FormSection,
    Log,
    Part,
    Song,
    Take,
    TempoChange,
    Version,
)
from logbook.records.context import tempo_map_of
from logbook.records.part_view import PartView
from logbook.timing.bars import parse_range

LOGGED = Comp(
    pieces=(
        CompPiece(bars="1-6", take=1, source="1-6", crossfade_ms=10.0, notes="calm"),
        CompPiece(bars="7-12", take=2, source="7-12"),
    )
)
PART = Part(
    name="guitar",
    takes=(
        Take(number=1, session="day one", bars="1-12"),
        Take(number=2, session="day one", bars="7-12"),
        Take(number=3, session="day two"),
    ),
    comps=(LOGGED,),
)
VERSION = Version(
    name="EP",
    bar_one_at="10:00:00",
    sample_rate_hz=48000,
    tempos=(TempoChange(bar=1, bpm=120.0, unit="1/4"),),
    form=(FormSection(name="verse", start=1, bars=12),),
    parts=(PART,),
)
SONG = Song(title="Low Tide Ledger", versions=(VERSION,))


def place(part: Part = PART, version: Version = VERSION) -> PartView:
    return PartView(Log(songs=(SONG,)), SONG, version, part)


def file(number: int, bars: str = "1-12", record: AudioFile | None = None) -> TakeFile:
    return TakeFile(
        take=TakeId(number),
        bars=parse_range(bars) if bars else None,
        path=Path(f"{number}.wav"),
        record=record,
    )


def piece(start: float, end: float, take: int | None, source: float = 0.0) -> Piece:
    return Piece(start=start, end=end, source=source, take=take, gain_db=0.0, confidence=1.0)


def heard(pieces: list[Piece], files: list[TakeFile], **options: float) -> HeardComp:
    return hear_comp(place(), pieces, files, logged=LOGGED, bounce_at_s=options.get("bounce_at"))


IN_PLACE = [piece(0.0, 12.0, 0, 0.0), piece(12.0, 24.2, 1, 0.0)]
FILES = [file(1), file(2, "7-12")]


def test_a_take_begins_where_its_bars_do_and_the_log_agrees() -> None:
    found = heard(IN_PLACE, FILES)
    assert comp_lines(found.pieces) == ["1-6 take 1", "7-12 take 2"]
    assert found.differences == ()
    # What is logged already keeps its crossfade and its note.
    assert records_of(found.pieces, LOGGED)[0].notes == "calm"


def test_a_take_that_began_before_its_bars_is_placed_by_the_sound() -> None:
    pieces = [piece(0.0, 12.0, 0, 0.73), piece(12.0, 24.0, 1, 3.31)]
    found = heard(pieces, FILES)
    assert comp_lines(found.pieces) == ["1-6 take 1", "7-12 take 2"]


def test_a_take_with_a_clock_is_placed_by_it() -> None:
    # Stamped 2.5 s before bar 1, so its source lies that much later.
    stamp = AudioFile(path="1.wav", rate_hz=48000, time_reference=48000 * 36000 - 120_000)
    tempo_map = tempo_map_of(VERSION)
    assert tempo_map is not None
    assert music_at(place(), stamp, tempo_map) == pytest.approx(2.5)
    moved = [piece(0.0, 4.0, 0, 2.5), piece(4.0, 24.0, 0, 2.5)]
    found = heard(moved, [file(1, record=stamp)])
    assert comp_lines(found.pieces) == ["1-2 take 1", "3-12 take 1 @ 1-10"]
    never_set = replace(stamp, time_reference=0)
    assert music_at(place(), never_set, tempo_map) is None


def test_silence_before_the_bounce_is_found_by_its_edits() -> None:
    pieces = [
        piece(0.0, 0.8, None),
        piece(0.8, 12.8, 0, 0.0),
        piece(12.8, 24.8, 1, 0.0),
    ]
    assert comp_lines(heard(pieces, FILES).pieces) == ["1-6 take 1", "7-12 take 2"]
    assert comp_lines(heard(pieces, FILES, bounce_at=0.8).pieces) == ["1-6 take 1", "7-12 take 2"]


def test_a_bounce_of_a_part_that_enters_later() -> None:
    found = heard([piece(0.0, 12.0, 0, 0.0)], [file(2, "7-12")])
    assert comp_lines(found.pieces) == ["7-12 take 2"]


def test_a_bounce_that_stops_early_does_not_claim_the_rest_of_the_form() -> None:
    found = heard([piece(0.0, 8.1, 0, 0.0)], FILES)
    assert comp_lines(found.pieces) == ["1-4 take 1"]
    assert [str(each.bars) for each in found.differences] == ["5-6", "7-12"]


def test_two_microphones_of_a_take_are_one_take() -> None:
    pieces = [piece(0.0, 6.0, 0, 0.0), piece(6.0, 24.0, 1, 6.0)]
    assert comp_lines(heard(pieces, [file(1), file(1)]).pieces) == ["1-12 take 1"]


def test_unknown_is_never_logged_unless_the_log_knows_a_take_that_is_not_there() -> None:
    pieces = [piece(0.0, 12.0, 0, 0.0), piece(12.0, 24.0, None)]
    without = heard(pieces, [file(1)])
    assert [str(bars) for bars in without.unknown] == ["7-12"]
    assert comp_lines(without.kept) == ["7-12 take 2"]
    assert without.differences == ()
    listened = heard(pieces, FILES)
    assert listened.kept == ()
    assert comp_lines(listened.pieces) == ["1-6 take 1"]
    assert [str(each.bars) for each in listened.differences] == ["7-12"]


def test_which_comp_is_meant() -> None:
    assert meant_comp(place(), "") == ("comp", LOGGED)
    assert meant_comp(place(), "other") == ("other", None)
    assert meant_comp(place(replace(PART, comps=())), "") == ("comp", None)
    two = (replace(LOGGED, name="a", final=False), replace(LOGGED, name="b", final=False))
    with pytest.raises(LogbookError, match=r"no comp of .* is the final one"):
        meant_comp(place(replace(PART, comps=two)), "")


def test_what_is_not_there_is_said(tmp_path: Path) -> None:
    with pytest.raises(LogbookError, match="has no take yet"):
        take_files(place(replace(PART, takes=())))
    with pytest.raises(LogbookError, match=r"no take of .* has an audio file"):
        take_files(place())
    gone = AudioFile(path="gone.wav", folder=str(tmp_path))
    with pytest.raises(LogbookError, match=r"take 1: gone\.wav is not where .*--relink"):
        take_files(place(replace(PART, takes=(Take(number=1, files=(gone,)),))))
    with pytest.raises(LogbookError, match=r"gone\.wav is not where the log says.*--relink"):
        bounce_file(place(replace(PART, files=(gone,))))
    with pytest.raises(LogbookError, match="no finished file"):
        bounce_file(place())
    (tmp_path / "a.wav").touch()
    with pytest.raises(LogbookError, match="has no take 9; its takes are 1, 2, 3"):
        take_files(place(), [(TakeId(9), tmp_path / "a.wav")])
    files, _ = take_files(place(), [(TakeId(2), tmp_path / "a.wav")])
    assert [(each.take, str(each.bars)) for each in files] == [(TakeId(2), "7-12")]
    with pytest.raises(LogbookError, match="no tempo"):
        hear_comp(place(version=replace(VERSION, tempos=())), IN_PLACE, FILES)
