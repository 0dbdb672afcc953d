"""Lines of the words as stretches of bars, and votes that name them."""

from __future__ import annotations

import pytest

from logbook.errors import LogbookError
from logbook.notebook.read import read_log
from logbook.records.lyric_lines import is_sung, lyric_lines
from logbook.records.part_view import places
from logbook.records.voted import lines_of

SONG = """
[[song]]
title = "Low Water"

[[song.version]]
name = "album"
meter = "4/4"
form = ["verse 1-4", "chorus 5-8", "solo 9-12", "chorus 13-16"]
lyrics = [
  { bar = 1, text = "the tide comes in" },
  { bar = 3, text = "and the boats go out" },
  { bar = 4, beat = "3", text = "low water" },
  { bar = 13, text = "low water" },
]

[[song.version.part]]
name = "lead vocal"
takes = ["1 complete 1-16", "2 complete 1-16"]
votes = [
"""


def logged(*votes: str) -> str:
    return SONG + "".join(f'  "{vote}",\n' for vote in votes) + "]\n"


def test_a_line_lasts_until_the_next_one_but_not_into_the_solo() -> None:
    (song,) = read_log(logged()).songs
    found = [(str(each.bars), each.text) for each in lyric_lines(song.versions[0])]
    assert found == [
        ("1-2", "the tide comes in"),
        ("3-4.3", "and the boats go out"),
        ("4.3-8", "low water"),
        ("13-16", "low water"),
    ]


def test_votes_name_lines_by_their_beginning_or_number() -> None:
    log = read_log(logged("the tide take 2", "line 4 take 1 good", "verse take 1 fair"))
    (place,) = places(log)
    assert [(each.bars, each.phrase) for each in place.part.votes] == [
        ("1-2", "the tide comes in"),
        ("13-16", "low water"),
        ("1-4", "verse"),
    ]
    # What nobody voted on is a line too: the words where they are sung, else the section.
    assert [(str(each.bars), each.phrase) for each in lines_of(place)] == [
        ("1-4", "verse"),
        ("1-2", "the tide comes in"),
        ("4.3-8", "low water"),
        ("9-12", "solo"),
        ("13-16", "low water"),
    ]


@pytest.mark.parametrize(
    ("vote", "said"),
    [
        ("low water take 2", "say which: line 3 or line 4"),
        ("line 9 take 2", "the words have 4 lines"),
        ("nothing sung take 2", "no section is called"),
    ],
)
def test_what_is_not_clear_is_told(vote: str, said: str) -> None:
    with pytest.raises(LogbookError, match=said):
        read_log(logged(vote))


def test_which_parts_are_sung() -> None:
    assert is_sung("lead vocal", "")
    assert is_sung("Ada", "voice")
    assert not is_sung("guitar", "parlour guitar")
