"""Many findings put together so that they can be read."""

from __future__ import annotations

from logbook.checking.grouping import by_song, chosen, together
from logbook.checking.problem import Problem


def short(file: str, take: int = 3, song: str = "Salt, Road") -> Problem:
    return Problem(
        "file length",
        f"{song}, album, drums: take {take}, {file}",
        "the file lasts 3.00 s, and bars 1-8 last 16.00 s",
        "at the version's tempo",
        "find the whole file",
    )


MICS = [short(f"drums/{mic}.wav") for mic in ("kick", "snare", "OH L", "OH R", "room")]
NAME = Problem("chord name", "Salt, album, guitar: voicing Am7", "it is Cm7", "", "write Cm7")


def test_five_microphones_of_a_take_are_one_line() -> None:
    found = together([*MICS, short("x.wav", take=4), NAME])
    assert [each.where for each in found] == [
        "Salt, Road, album, drums: take 3, drums/kick.wav and 4 more",
        "Salt, Road, album, drums: take 4, x.wav",
        "Salt, album, guitar: voicing Am7",
    ]


def test_by_song_and_rule_with_counts() -> None:
    found = by_song([*MICS, NAME, NAME._replace(rule="session", where="day one")],
                    ["Salt", "Salt, Road"])  # fmt: skip
    assert [
        (song.title, song.total, [(r.rule, r.total) for r in song.rules]) for song in found
    ] == [
        ("Salt, Road", 5, [("file length", 5)]),
        ("Salt", 1, [("chord name", 1)]),
        ("", 1, [("session", 1)]),
    ]
    assert found[1].rules[0].problems[0].where == "album, guitar: voicing Am7"
    assert len(found[0].rules[0].problems) == 1


def test_only_what_is_asked_for() -> None:
    assert chosen([*MICS, NAME], ["chord name"], "") == [NAME]
    assert chosen([*MICS, NAME], [], "drums OH") == MICS[2:4]


def test_what_is_of_a_whole_part_is_named_as_it_is() -> None:
    whole = [NAME._replace(where=where) for where in ("Song, EP, guitar", "Song, EP, bass")]
    assert [each.where for each in together(whole)] == ["Song, EP, guitar", "Song, EP, bass"]
