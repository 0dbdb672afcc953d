from __future__ import annotations

from dataclasses import replace

import pytest

from logbook.arranging.adaptations import ways_to_key
from logbook.arranging.hands import recorded_voicings, rig_of
from logbook.arranging.key_table import key_table
from logbook.errors import LogbookError
from logbook.records import Person
from logbook.records.part_view import PartView
from logbook.theory.keys import parse_key
from tests.arranging.material import VERSION, log_of
from tests.sheets.drawing import lines_of


def test_every_key_has_the_melody_and_each_parts_best_way() -> None:
    log, song = log_of()
    table = key_table(log, song, VERSION)
    assert table.singer == "Orla"
    assert table.parts == ("guitar", "bass")
    assert [row.steps for row in table.rows] == list(range(-6, 6))
    assert [row.key.name for row in table.rows][4:8] == [
        "C major",
        "Db major",
        "D major",
        "Eb major",
    ]
    # G3-C5 against A3-B4: by hand, from two semitones down to one up; further down an octave up.
    rooms = {row.steps: (row.melody.room_below, row.melody.room_above)
             for row in table.rows if row.melody}  # fmt: skip
    assert rooms[0] == (2, 1)
    assert rooms[1] == (3, 0)
    assert rooms[-2] == (0, 3)
    assert rooms[2] == (4, -1)
    assert table.rows[table.best].steps == 0
    rig = rig_of(PartView(log, song, VERSION, VERSION.parts[0]))
    assert rig is not None
    recorded, _ = recorded_voicings(VERSION.parts[0], rig, parse_key("D"))
    way = table.rows[8].ways[0]
    assert way is not None
    assert way.text == ways_to_key(recorded, rig, 2, parse_key("E"))[0].text


def test_the_best_key_fits_the_singer_before_it_suits_the_hands() -> None:
    log, song = log_of()
    high = Person(name="Ida", low="C4", high="D5")  # the melody has to go up three semitones
    table = key_table(log, song, VERSION, high)
    assert (table.singer, table.rows[table.best].steps) == ("Ida", 3)
    text = "\n".join(lines_of("arrangement answer", table))
    assert "> F major" in " ".join(text.split())
    assert "Best: F major; the melody is comfortable throughout" in text


def test_without_a_singer_the_hands_decide_and_it_is_said() -> None:
    log, song = log_of()
    version = replace(VERSION, melody_low="")
    table = key_table(log, song, version)
    assert table.singer == ""
    assert "the range of the melody is not known" in table.why
    assert table.rows[table.best].steps == 0
    with pytest.raises(LogbookError, match="the key of album is not known"):
        key_table(log, song, replace(VERSION, key=""))
