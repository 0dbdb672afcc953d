"""A set list worked out: lengths, keys, rigs, the changes between songs and their time.

Conventions. A part that is sung, or has no instrument, needs no change. What has to be changed
follows from where every instrument was left; see `changeovers`.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Sequence
from fractions import Fraction
from typing import NamedTuple

from logbook.arranging.arrange import ArrangedVersion, arrange, find_version
from logbook.arranging.changeovers import (
    EMPTY,
    ChangeTimes,
    Gap,
    PlayerRig,
    SongRigs,
    Stage,
    comparable,
    gaps_of,
    next_song,
    players_of,
)
from logbook.arranging.difference import tempo_text
from logbook.arranging.lengths import lengths_of
from logbook.arranging.orders import Cost, Order, best_order
from logbook.arranging.parts import PartPlan
from logbook.errors import LogbookError
from logbook.records.arrangements import Arrangement, SetList, SetListEntry
from logbook.records.context import by_name
from logbook.records.log import Log
from logbook.strings.capo import write_capos

_SUNG = frozenset({"voice", "vocals", "vocal", "singer"})
WAITING, FEWEST = "waiting", "fewest changes"


class SetSong(NamedTuple):
    """One song of the set; `seconds` is None where no tempo is known.

    `players` are all who play or sing in it, `rigs` what those hold that hold something.
    """

    entry: SetListEntry
    arranged: ArrangedVersion
    seconds: Fraction | None
    vamps: tuple[str, ...]
    key: str
    tempo: str
    rigs: tuple[PlayerRig, ...]
    players: tuple[str, ...]

    @property
    def title(self) -> str:
        """The song as a set list names it, with its arrangement or version."""
        named = self.entry.arrangement or self.entry.version
        return f"{self.entry.song} ({named})" if named else self.entry.song

    @property
    def changing(self) -> SongRigs:
        """The song as far as changes go."""
        seconds = None if self.seconds is None else float(self.seconds)
        return SongRigs(self.entry.song, self.rigs, seconds, self.players)


class SetSheet(NamedTuple):
    """The whole set in an order: `gaps[n]` lies between songs n and n + 1.

    `music_s` leaves out songs of unknown length; `changes_s` is the sum of the gaps.
    """

    setlist: SetList
    songs: tuple[SetSong, ...]
    gaps: tuple[Gap, ...]
    music_s: Fraction
    changes_s: float
    times: ChangeTimes
    remarks: tuple[str, ...]

    @property
    def total_s(self) -> float:
        """Music and changes together."""
        return float(self.music_s) + self.changes_s

    @property
    def change_count(self) -> int:
        """How many changes there are, of all players."""
        return sum(len(gap.changes) for gap in self.gaps)


def set_sheet(log: Log, setlist: SetList, times: ChangeTimes | None = None) -> SetSheet:
    """Work a set list out in the order it has.

    Raises LogbookError for an empty set, or a song, version or arrangement that is not there.
    """
    if not setlist.entries:
        raise LogbookError(f"the set {setlist.name} has no songs", "add the first one")
    return sheet_of(setlist, [_song(log, entry) for entry in setlist.entries], times)


def sheet_of(
    setlist: SetList, songs: Sequence[SetSong], times: ChangeTimes | None = None
) -> SetSheet:
    """Lay songs that were worked out in this order."""
    each = times or ChangeTimes()
    if min(each) < 0:
        raise LogbookError(
            f"a change cannot take {min(each):g} seconds", "give times of 0 seconds or more"
        )
    gaps = gaps_of([song.changing for song in songs], each)
    known = [song.seconds for song in songs if song.seconds is not None]
    return SetSheet(
        setlist,
        tuple(songs),
        gaps,
        sum(known, start=Fraction(0)),
        sum(gap.seconds for gap in gaps),
        each,
        tuple(_remarks(songs)),
    )


def _song(log: Log, entry: SetListEntry) -> SetSong:
    song = next((each for each in log.songs if each.title == entry.song), None)
    if song is None:
        raise LogbookError(f'the set names "{entry.song}", which is not in the log', "add the song")
    version = find_version(song, entry.version)
    arrangement = Arrangement(name="")
    if entry.arrangement:
        found = by_name(version.arrangements, entry.arrangement)
        if found is None:
            names = ", ".join(each.name for each in version.arrangements)
            raise LogbookError(
                f'{song.title} has no arrangement "{entry.arrangement}"',
                f"it has {names}" if names else "it has none yet",
            )
        arrangement = found
    try:
        arranged = arrange(log, song, version, arrangement)
    except LogbookError as error:
        raise LogbookError(f"{song.title}: {error.problem}", error.remedy) from error
    lengths = lengths_of(arranged) if arranged.version.tempos else None
    return SetSong(
        entry,
        arranged,
        lengths.total if lengths else None,
        lengths.vamps if lengths else (),
        arranged.key.name if arranged.key else "",
        tempo_text(arranged.version),
        tuple(_rigs(log, arranged)),
        tuple(
            dict.fromkeys(
                plan.part.player or plan.name for plan in arranged.parts if plan.part is not None
            )
        ),
    )


def _rigs(log: Log, arranged: ArrangedVersion) -> Iterator[PlayerRig]:
    for plan in arranged.parts:
        if plan.part is None:
            continue
        instrument = by_name(log.instruments, plan.part.instrument)
        kind = (instrument.kind if instrument else plan.part.instrument).casefold()
        if plan.after is None and (kind in _SUNG or not plan.part.instrument):
            continue
        yield _rig(plan)


def _rig(plan: PartPlan) -> PlayerRig:
    assert plan.part is not None
    rig = plan.after
    return PlayerRig(
        plan.part.player or plan.name,
        plan.name,
        plan.part.instrument,
        rig.tuning.name if rig else "",
        rig.tuning.open_midi if rig else (),
        write_capos(rig.capos) if rig else "0",
    )


def _remarks(songs: Sequence[SetSong]) -> Iterator[str]:
    for song in songs:
        by_player: dict[str, list[str]] = {}
        for rig in song.rigs:
            by_player.setdefault(rig.player, []).append(rig.part)
        for player, parts in by_player.items():
            if len(parts) > 1:
                yield (
                    f"{song.entry.song}: {player} is down for {' and '.join(parts)} at once; leave "
                    "one out or give it to somebody else (changes are counted for the first)"
                )
        yield from _shared(song)
        if song.seconds is None:
            yield f"{song.entry.song} has no tempo, so its length is not known or counted"


def _shared(song: SetSong) -> Iterator[str]:
    """One instrument in several players' hands at once."""
    by_instrument: dict[str, list[str]] = {}
    for rig in song.rigs:
        holders = by_instrument.setdefault(rig.held, [])
        if rig.player not in holders:
            holders.append(rig.player)
    for instrument, players in by_instrument.items():
        if len(players) > 1:
            yield (
                f"{song.entry.song}: {' and '.join(players)} are down for {instrument} at once; "
                "give one of them another instrument, or leave a part out"
            )


# Order


class Reordered(NamedTuple):
    """The set in a better order, and the order by place in the list; `wish` says better in what."""

    sheet: SetSheet
    order: Order
    wish: str


def reordered(
    log: Log, setlist: SetList, times: ChangeTimes | None = None, wish: str = WAITING
) -> Reordered:
    """Return the set in the order in which the audience waits least, or with the fewest changes.

    Of orders as good in that, the one that is better in the other comes first. Opener, closer and
    songs that stay with the next one keep their places. Of orders that are as good the list's own
    is kept. Raises LogbookError as `set_sheet` does, and where places contradict each other.
    """
    sheet = set_sheet(log, setlist, times)
    songs = sheet.songs
    rigs = [song.changing for song in songs]
    everybody = players_of(rigs)
    stages: dict[Hashable, Stage] = {None: EMPTY}

    def step(before: Hashable, song: int) -> tuple[Cost, Hashable]:
        gap, stage = next_song(stages[before], rigs[song], everybody, sheet.times)
        after = comparable(stage)
        stages.setdefault(after, stage)
        cost = (round(gap.seconds * 1000), len(gap.changes))
        return cost if wish == WAITING else (cost[1], cost[0]), after

    order = best_order(
        len(songs),
        step,
        openers=[n for n, song in enumerate(songs) if song.entry.place == "opener"],
        closers=[n for n, song in enumerate(songs) if song.entry.place == "closer"],
        with_next=[n for n, song in enumerate(songs) if song.entry.with_next],
        names=[song.entry.song for song in songs],
    )
    made = sheet_of(setlist, [songs[n] for n in order.places], sheet.times)
    return Reordered(made, order, wish)
