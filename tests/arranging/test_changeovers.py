from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logbook.arranging.changeovers import ChangeTimes, PlayerRig, SongRigs, gaps_of
from logbook.arranging.setlist import FEWEST, WAITING, reordered, set_sheet
from logbook.records import (
    ArrangedPart,
    Arrangement,
    Instrument,
    Log,
    SetList,
    SetListEntry,
    Song,
)
from logbook.sheets.set_lists import AskedSet, order_said
from tests.arranging.material import BASS, GUITAR, VERSION, VOICE
from tests.sheets.drawing import lines_of

TIMES = ChangeTimes()
STANDARD, DROP_D = (40, 45, 50, 55, 59, 64), (38, 45, 50, 55, 59, 64)


def rig(player: str, instrument: str, capo: str = "0", open_midi: object = STANDARD) -> PlayerRig:
    name = "standard" if open_midi == STANDARD else "drop D"
    return PlayerRig(player, "part", instrument, name, tuple(open_midi), capo)  # type: ignore[arg-type]


def song(title: str, *rigs: PlayerRig, seconds: float | None = 200, sings: str = "") -> SongRigs:
    busy = (*(each.player for each in rigs), *([sings] if sings else []))
    return SongRigs(title, rigs, seconds, busy)


def told(*songs: SongRigs) -> list[list[tuple[str, str, float, str]]]:
    return [
        [(c.player, c.kind, c.seconds, c.during) for c in gap.changes]
        for gap in gaps_of(songs, TIMES)
    ]


def test_a_guitar_is_as_it_was_last_held_however_long_ago() -> None:
    # Orla sits Two out and sings nothing: she has the time to move her capo then.
    two = song("Two", rig("Piet", "bass", "0"))
    one, three = song("One", rig("Orla", "a", "2")), song("Three", rig("Orla", "a", "4"))
    assert told(one, two, three) == [[], [("Orla", "capo", 8, "Two")]]
    assert [gap.seconds for gap in gaps_of((one, two, three), TIMES)] == [0, 0]
    # Where she sings in Two, nobody has, and the audience waits.
    sung = song("Two", rig("Piet", "bass"), sings="Orla")
    assert told(one, sung, three) == [[], [("Orla", "capo", 8, "")]]
    assert [gap.seconds for gap in gaps_of((one, sung, three), TIMES)] == [0, 8]


def test_an_instrument_put_down_stays_as_it_was_until_somebody_has_time() -> None:
    one = song("One", rig("Orla", "a", "2"))
    two = song("Two", rig("Orla", "b"))
    three = song("Three", rig("Orla", "a", "0", DROP_D))
    assert told(one, two, three) == [
        [("Orla", "swap", 20, "")],
        [("Orla", "swap", 20, ""), ("Orla", "retune", 15, ""), ("Orla", "capo", 8, "")],
    ]
    # Piet sits Two out, so he does it then; Two has to be long enough for it.
    with_piet = song("One", rig("Orla", "a", "2"), rig("Piet", "bass"))
    assert told(with_piet, two, three)[1] == [
        ("Orla", "swap", 20, ""), ("Piet", "retune", 15, "Two"), ("Piet", "capo", 8, "Two"),
    ]  # fmt: skip
    assert [gap.seconds for gap in gaps_of((with_piet, two, three), TIMES)] == [20, 20]
    short = two._replace(seconds=22)
    assert [gap.seconds for gap in gaps_of((with_piet, short, three), TIMES)] == [20, 43]


def test_one_guitar_for_two_players_is_handed_over_as_it_is() -> None:
    one = song("One", rig("Orla", "a", "2"))
    two = song("Two", rig("Piet", "a", "4"))
    gap = gaps_of((one, two), TIMES)[0]
    assert [(c.player, c.kind, c.text) for c in gap.changes] == [
        ("Piet", "swap", "takes over a from Orla"), ("Piet", "capo", "capo 2 to 4"),
    ]  # fmt: skip
    assert gap.seconds == 28


def test_whoever_comes_back_after_a_song_has_swapped_in_it() -> None:
    one = song("One", rig("Orla", "a"))
    two, three = song("Two", rig("Piet", "bass")), song("Three", rig("Orla", "b"))
    assert told(one, two, three) == [[], []]
    # What is taken up for the first time was made ready before the show.
    assert told(one, song("Two", rig("Orla", "b", "5", DROP_D))) == [[("Orla", "swap", 20, "")]]


def test_players_change_at_the_same_time_and_their_own_changes_follow_each_other() -> None:
    one = song("One", rig("Orla", "a", "2"), rig("Piet", "b", "1"))
    two = song("Two", rig("Orla", "a", "0", DROP_D), rig("Piet", "b", "0"))
    gap = gaps_of((one, two), TIMES)[0]
    assert [c.seconds for c in gap.changes] == [15, 8, 8]
    assert gap.seconds == 23


# In a set of arranged songs


def log_of(plans: dict[str, Arrangement]) -> Log:
    spare = Instrument(name="spare", kind="guitar", tuning="standard")
    return Log(
        instruments=(GUITAR, BASS, VOICE, spare),
        songs=tuple(
            Song(title=title, versions=(replace(VERSION, arrangements=(each,)),))
            for title, each in plans.items()
        ),
    )


def plan(*parts: ArrangedPart) -> Arrangement:
    return Arrangement(name="live", parts=parts)


def the_set(log: Log) -> SetList:
    return SetList(
        name="fair",
        entries=tuple(
            SetListEntry(song=each.title, version="album", arrangement="live") for each in log.songs
        ),
    )


def guitar(**said: str) -> ArrangedPart:
    return ArrangedPart(part="guitar", **said)  # type: ignore[arg-type]


def test_the_sheet_says_who_makes_an_instrument_ready_and_when() -> None:
    out = ArrangedPart(part="voice", left_out=True)
    log = log_of(
        {
            "One": plan(guitar(capo="2"), out),
            "Two": plan(ArrangedPart(part="guitar", left_out=True), out),
            "Three": plan(guitar(tuning="drop D", capo="0"), out),
        }
    )
    sheet = set_sheet(log, the_set(log))
    assert [gap.seconds for gap in sheet.gaps] == [0, 23]  # Two is 16 s long, too short for it
    log = log_of({**{each.title: each.versions[0].arrangements[0] for each in log.songs},
                  "Two": replace(log.songs[1].versions[0].arrangements[0], bpm=30)})  # fmt: skip
    text = " ".join(" ".join(lines_of("set list", AskedSet(set_sheet(log, the_set(log))))).split())
    assert "no wait Orla, who sits out Two, makes willow guitar ready then" in text
    assert "retune standard to drop D, 1 string (15 s)" in text


def test_two_players_on_one_instrument_at_once_are_remarked_on() -> None:
    log = log_of({"One": plan(ArrangedPart(part="bass", instrument="willow guitar"))})
    (remark,) = set_sheet(log, the_set(log)).remarks
    assert remark.startswith("One: Orla and Piet are down for willow guitar at once")


LIST = ("2", "4", "0", "2 on strings 1-5")
TUNED = ("standard", "drop D", "DADGAD")


@st.composite
def sets(draw: st.DrawFn) -> Log:
    count = draw(st.integers(2, 5))
    plans = {}
    for number in range(count):
        parts = [
            ArrangedPart(part="guitar", left_out=True)
            if draw(st.integers(0, 3)) == 0
            else guitar(
                capo=draw(st.sampled_from(LIST[:3])),
                tuning=draw(st.sampled_from(TUNED[:2])),
                instrument=draw(st.sampled_from(("willow guitar", "spare"))),
            ),
            ArrangedPart(part="voice", left_out=draw(st.booleans())),
            ArrangedPart(part="bass", left_out=draw(st.booleans())),
        ]
        tempo = draw(st.sampled_from((None, 20.0)))
        plans[f"song {number}"] = replace(plan(*parts), bpm=tempo)
    return log_of(plans)


@settings(max_examples=25, deadline=None)
@given(sets(), st.sampled_from((WAITING, FEWEST)))
def test_no_order_of_all_is_better(log: Log, wish: str) -> None:
    setlist = the_set(log)
    found = reordered(log, setlist, wish=wish)
    songs = [each.changing for each in set_sheet(log, setlist).songs]

    def figures(order: Sequence[SongRigs]) -> tuple[float, float]:
        gaps = gaps_of(order, TIMES)
        both = sum(gap.seconds for gap in gaps), float(sum(len(gap.changes) for gap in gaps))
        return both if wish == WAITING else (both[1], both[0])

    assert found.order.exact
    best = min(figures(order) for order in permutations(songs))
    assert figures([each.changing for each in found.sheet.songs]) == best


def test_less_waiting_is_not_fewer_changes() -> None:
    """By hand: drop D, DADGAD and standard are 2, 1 and 3 strings apart.

    Fewest: drop D, DADGAD under capo 2 (30 s), capo off (8 s), standard (45 s). Least waiting:
    DADGAD without and under the capo (8 s), drop D (30 s), standard without the capo (23 s).
    """
    log = log_of(
        {
            "One": plan(guitar(capo="2", tuning="DADGAD")),
            "Two": plan(guitar(capo="2", tuning="drop D")),
            "Three": plan(guitar(capo="0", tuning="standard")),
            "Four": plan(guitar(capo="0", tuning="DADGAD")),
        }
    )
    waiting = reordered(log, the_set(log), wish=WAITING)
    fewest = reordered(log, the_set(log), wish=FEWEST)
    assert (waiting.sheet.changes_s, waiting.sheet.change_count) == (61, 4)
    assert (fewest.sheet.changes_s, fewest.sheet.change_count) == (83, 3)
    before = set_sheet(log, the_set(log))
    said = order_said(waiting, before)
    assert "This order: 1:01 of waiting, 4 changes; as the list stands: 1:38 of waiting" in said


@pytest.mark.parametrize("seconds", [None, 30.0])
def test_a_song_of_unknown_length_is_long_enough(seconds: float | None) -> None:
    one, three = song("One", rig("Orla", "a", "2")), song("Three", rig("Orla", "a", "4"))
    two = song("Two", rig("Piet", "bass"), seconds=seconds)
    assert told(one, two, three)[1] == [("Orla", "capo", 8, "Two")]
