from __future__ import annotations

from collections.abc import Hashable
from dataclasses import replace
from itertools import pairwise, permutations
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logbook.arranging.changeovers import ChangeTimes, PlayerRig
from logbook.arranging.orders import EXACT_UP_TO, Step, best_order
from logbook.arranging.setlist import FEWEST, reordered, set_sheet
from logbook.errors import LogbookError
from logbook.records import (
    ArrangedPart,
    ArrangedSection,
    Arrangement,
    Log,
    SetList,
    SetListEntry,
    Song,
)
from logbook.sheets.set_lists import AskedSet, order_said, set_data
from tests.arranging.material import BASS, GUITAR, VERSION, VOICE
from tests.sheets.drawing import lines_of


def log_of(songs: dict[str, Arrangement]) -> Log:
    """Songs with one arrangement each, all from the same version."""
    return Log(
        instruments=(GUITAR, BASS, VOICE),
        songs=tuple(
            Song(title=title, versions=(replace(VERSION, arrangements=(each,)),))
            for title, each in songs.items()
        ),
    )


def capo(fret: str, **fields: object) -> Arrangement:
    return Arrangement(
        name="live",
        parts=(ArrangedPart(part="guitar", capo=fret),),
        **fields,
    )


LOG = log_of(
    {
        "One": Arrangement(name="live"),
        "Two": capo("4"),
        "Three": Arrangement(
            name="live", parts=(ArrangedPart(part="guitar", tuning="drop D", capo="4"),)
        ),
        "Four": capo("", bpm=60),
    }
)


def entries(*titles: str, **fields: object) -> tuple[SetListEntry, ...]:
    return tuple(
        SetListEntry(song=title, version="album", arrangement="live", **fields) for title in titles
    )


def setlist(*given: SetListEntry) -> SetList:
    return SetList(name="fair", entries=given)


def test_lengths_keys_rigs_and_changes() -> None:
    sheet = set_sheet(LOG, setlist(*entries("One", "Two", "Three", "Four")))
    assert [float(song.seconds or 0) for song in sheet.songs] == [16, 16, 16, 32]
    assert [song.key for song in sheet.songs] == ["D major"] * 4
    assert sheet.songs[0].rigs == (
        PlayerRig("Orla", "guitar", "willow guitar", "standard", (40, 45, 50, 55, 59, 64), "2"),
        PlayerRig("Piet", "bass", "oak bass", "bass", (28, 33, 38, 43), "0"),
    )
    told = [[(c.player, c.kind, c.text, c.seconds) for c in gap.changes] for gap in sheet.gaps]
    assert told == [
        [("Orla", "capo", "capo 2 to 4", 8.0)],
        [("Orla", "retune", "standard to drop D, 1 string", 15.0)],
        [
            ("Orla", "retune", "drop D to standard, 1 string", 15.0),
            ("Orla", "capo", "capo off", 8.0),
        ],
    ]
    assert [gap.seconds for gap in sheet.gaps] == [8, 15, 23]
    assert (float(sheet.music_s), sheet.changes_s, sheet.total_s) == (80, 46, 126)
    assert sheet.change_count == 4


def test_times_can_be_said_otherwise() -> None:
    sheet = set_sheet(LOG, setlist(*entries("One", "Two", "Three")), ChangeTimes(1, 2, 3))
    assert [gap.seconds for gap in sheet.gaps] == [2, 1]
    with pytest.raises(LogbookError, match="a change cannot take -1 seconds"):
        set_sheet(LOG, setlist(*entries("One")), ChangeTimes(-1))


def test_changes_of_different_players_happen_at_the_same_time() -> None:
    both = Arrangement(
        name="live",
        parts=(
            ArrangedPart(part="guitar", capo="4"),
            ArrangedPart(part="bass", tuning="bass drop D"),
        ),
    )
    log = log_of({"One": Arrangement(name="live"), "Two": both})
    (gap,) = set_sheet(log, setlist(*entries("One", "Two"))).gaps
    assert sorted((c.player, c.seconds) for c in gap.changes) == [("Orla", 8.0), ("Piet", 15.0)]
    assert gap.seconds == 15


def test_a_player_with_two_parts_at_once_is_remarked_on() -> None:
    both = Arrangement(name="live", parts=(ArrangedPart(part="bass", player="Orla"),))
    sheet = set_sheet(log_of({"One": both}), setlist(*entries("One")))
    assert "Orla is down for guitar and bass at once" in sheet.remarks[0]


def test_vamps_and_songs_as_recorded() -> None:
    log = log_of({"One": Arrangement(name="live", sections=(
        ArrangedSection(name="verse", vamp=True),
    ))})  # fmt: skip
    recorded = SetListEntry(song="One", version="album")
    sheet = set_sheet(log, setlist(*entries("One"), recorded))
    assert [song.vamps for song in sheet.songs] == [("verse",), ()]
    assert [float(song.seconds or 0) for song in sheet.songs] == [4, 16]
    text = " ".join(lines_of("set list", AskedSet(sheet)))
    assert "4.0 s plus the vamp (verse)" in text
    assert "plus the vamps of One" in text


def test_a_song_without_a_tempo_is_remarked_on_and_not_counted() -> None:
    log = Log(
        instruments=(GUITAR, BASS),
        songs=(Song(title="One", versions=(replace(VERSION, tempos=()),)),),
    )
    sheet = set_sheet(log, setlist(SetListEntry(song="One", version="album")))
    assert sheet.music_s == 0
    assert "One has no tempo" in sheet.remarks[0]


@pytest.mark.parametrize(
    ("given", "says"),
    [
        ((), "the set fair has no songs; add the first one"),
        ((SetListEntry(song="Nine", version="album"),), 'the set names "Nine"'),
        ((SetListEntry(song="One", version="demo"),), 'One has no version "demo"'),
        (
            (SetListEntry(song="One", version="album", arrangement="barn"),),
            'One has no arrangement "barn"; it has live',
        ),
    ],
)
def test_what_is_not_there(given: tuple[SetListEntry, ...], says: str) -> None:
    with pytest.raises(LogbookError, match=says):
        set_sheet(LOG, setlist(*given))


def test_a_song_that_cannot_be_played_is_named() -> None:
    with pytest.raises(LogbookError, match="Two: guitar: a capo at fret 18 is past the body"):
        set_sheet(log_of({"Two": capo("18")}), setlist(*entries("Two")))


def test_the_order_with_the_fewest_changes() -> None:
    found = reordered(LOG, setlist(*entries("One", "Three", "Two", "Four")), wish=FEWEST)
    # capo 2, capo 4 in drop D, capo 4, no capo: One next to Two or Four, Three next to Two.
    assert found.order.exact
    assert found.sheet.change_count == 3
    titles = [song.entry.song for song in found.sheet.songs]
    assert titles in (["Four", "One", "Two", "Three"], ["One", "Four", "Two", "Three"],
                      ["Three", "Two", "One", "Four"], ["Three", "Two", "Four", "One"])  # fmt: skip


def test_opener_closer_and_pairs_keep_their_places() -> None:
    given = (
        replace(entries("Three")[0], place="opener"),
        replace(entries("One")[0], with_next=True),
        replace(entries("Four")[0]),
        replace(entries("Two")[0], place="closer"),
    )
    found = reordered(LOG, setlist(*given))
    assert [song.entry.song for song in found.sheet.songs] == ["Three", "One", "Four", "Two"]


def test_the_lists_own_order_is_kept_where_none_is_better() -> None:
    same = log_of({name: Arrangement(name="live") for name in "ABCDE"})
    found = reordered(same, setlist(*entries(*"CADBE")))
    assert [song.entry.song for song in found.sheet.songs] == list("CADBE")
    said = order_said(found, found.sheet)
    assert "as it stands is the best: 0.0 s of waiting, 0 changes" in said


Costs = list[list[tuple[int, int]]]


def pairwise_step(costs: Costs) -> Step:
    """Songs that cost by the one before alone; the first costs nothing."""

    def step(before: Hashable, song: int) -> tuple[tuple[int, int], Hashable]:
        return (0, 0) if before is None else costs[int(str(before))][song], song

    return step


def brute_force(costs: Costs, first: int | None, last: int | None, pairs: list[int]) -> int:
    """The least first figure of all orders that are allowed."""
    best = None
    for order in permutations(range(len(costs))):
        if (first is not None and order[0] != first) or (last is not None and order[-1] != last):
            continue
        if any((a + 1) not in order[i + 1 : i + 2] for a in pairs for i in [order.index(a)]):
            continue
        total = sum(costs[a][b][0] for a, b in pairwise(order))
        best = total if best is None else min(best, total)
    assert best is not None
    return best


@settings(max_examples=60, deadline=None)
@given(st.integers(1, 6), st.randoms(use_true_random=False), st.booleans(), st.booleans())
def test_the_exact_order_is_the_best_of_all(
    count: int, random: Random, opener: bool, closer: bool
) -> None:
    costs = [[(random.randint(0, 4), 0) for _ in range(count)] for _ in range(count)]
    pairs = [2] if count >= 5 else []
    first = 0 if opener else None
    last = count - 1 if closer and count > 1 else None
    found = best_order(
        count,
        pairwise_step(costs),
        openers=[0] if opener else [],
        closers=[] if last is None else [last],
        with_next=pairs,
    )
    assert sorted(found.places) == list(range(count))
    assert found.cost[0] == brute_force(costs, first, last, pairs)
    assert found.cost[0] == sum(costs[a][b][0] for a, b in pairwise(found.places))


def test_the_second_figure_decides_between_orders_that_are_as_good_in_the_first() -> None:
    costs: Costs = [[(1, 5)] * 3 for _ in range(3)]
    costs[0][2] = costs[2][1] = (1, 1)
    assert best_order(3, pairwise_step(costs)).places == (0, 2, 1)


def test_fourteen_songs_are_exact_and_fifteen_are_not() -> None:
    # Songs on a line: neighbours cost one change, so the best order is the line itself.
    for count in (EXACT_UP_TO, EXACT_UP_TO + 1):
        shuffled = list(range(count))
        Random(3).shuffle(shuffled)
        costs = [[(abs(a - b), 0) for b in shuffled] for a in shuffled]
        found = best_order(count, pairwise_step(costs))
        assert found.exact == (count <= EXACT_UP_TO)
        assert found.cost[0] == count - 1


def test_many_songs_keep_opener_closer_and_pairs() -> None:
    random = Random(5)
    costs = [[(random.randint(0, 3), 0) for _ in range(25)] for _ in range(25)]
    found = best_order(25, pairwise_step(costs), openers=[7], closers=[20], with_next=[3, 4, 11])
    assert not found.exact
    assert sorted(found.places) == list(range(25))
    assert (found.places[0], found.places[-1]) == (7, 20)
    for song in (3, 4, 11):
        assert found.places[found.places.index(song) + 1] == song + 1


@pytest.mark.parametrize(
    ("given", "says"),
    [
        ({"openers": [0, 1]}, "the set has 2 openers, a and b"),
        ({"openers": [0], "closers": [0]}, "a is both opener and closer"),
        ({"with_next": [2]}, "c is to stay with the next song, and there is none"),
        ({"openers": [1], "with_next": [0]}, "b cannot be the opener and stand inside a pair"),
        ({"closers": [0], "with_next": [0]}, "a cannot be the closer and stand inside a pair"),
        (
            {"openers": [0], "closers": [1], "with_next": [0]},
            "opener and closer are tied together",
        ),
    ],
)
def test_places_that_contradict(given: dict[str, list[int]], says: str) -> None:
    costs: Costs = [[(0, 0)] * 3 for _ in range(3)]
    with pytest.raises(LogbookError, match=says):
        best_order(3, pairwise_step(costs), names=["a", "b", "c"], **given)


def test_an_order_of_nothing() -> None:
    with pytest.raises(LogbookError, match="there are no songs to put in order"):
        best_order(0, pairwise_step([]))


def test_lines_fit_the_page_and_say_how_it_was_counted() -> None:
    found = reordered(LOG, setlist(*entries("One", "Three", "Two", "Four")), wish=FEWEST)
    lines = lines_of("set list", AskedSet(set_sheet(LOG, setlist(*entries("One"))), found))
    assert max(map(len, lines)) <= 80
    text = " ".join(" ".join(lines).split())
    assert (
        "15 s a string retuned, 8 s a capo moved, 20 s an instrument swapped or handed over" in text
    )
    assert "It is exact: no other order needs fewer changes." in text
    data = set_data(found.sheet, found)
    assert data["order_is_exact"] is True
    assert data["changes"] == 3
    assert [song["song"] for song in data["songs"]] == [s.entry.song for s in found.sheet.songs]
