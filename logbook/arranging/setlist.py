"""A set list worked out: lengths, keys, rigs, the changes between neighbours and their time.

Conventions. A player's changes are looked at from one song to the next: strings retuned, the capo
moved, one instrument put down for another. An instrument that is put down is made ready meanwhile,
so a swap is all it costs. One player's changes follow each other, different players' happen at
the same time. A part without an instrument, or sung, needs no change. The times for a change are
common practice (no source) and can be said otherwise.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import pairwise
from typing import NamedTuple

from logbook.arranging.arrange import ArrangedVersion, arrange, find_version
from logbook.arranging.difference import tempo_text
from logbook.arranging.lengths import lengths_of
from logbook.arranging.orders import Order, best_order
from logbook.arranging.parts import PartPlan
from logbook.errors import LogbookError
from logbook.records.arrangements import Arrangement, SetList, SetListEntry
from logbook.records.context import by_name
from logbook.records.log import Log
from logbook.strings.capo import write_capos

RETUNE, CAPO, SWAP = "retune", "capo", "swap"
_SUNG = frozenset({"voice", "vocals", "vocal", "singer"})


class ChangeTimes(NamedTuple):
    """How long changes take, in seconds: a string retuned, a capo moved, an instrument swapped."""

    string_s: float = 15.0
    capo_s: float = 8.0
    swap_s: float = 20.0


class PlayerRig(NamedTuple):
    """What a player holds in one song; `open_midi` is empty where there are no tuned strings."""

    player: str
    part: str
    instrument: str
    tuning: str
    open_midi: tuple[int, ...]
    capo: str


class Change(NamedTuple):
    """One thing a player has to do: `kind` is "retune", "capo" or "swap"."""

    player: str
    kind: str
    text: str
    seconds: float


class Gap(NamedTuple):
    """What happens between two songs; `seconds` is that of the player who takes longest."""

    changes: tuple[Change, ...]
    seconds: float


class SetSong(NamedTuple):
    """One song of the set; `seconds` is None where no tempo is known."""

    entry: SetListEntry
    arranged: ArrangedVersion
    seconds: Fraction | None
    vamps: tuple[str, ...]
    key: str
    tempo: str
    rigs: tuple[PlayerRig, ...]

    @property
    def title(self) -> str:
        """The song as a set list names it, with its arrangement or version."""
        named = self.entry.arrangement or self.entry.version
        return f"{self.entry.song} ({named})" if named else self.entry.song


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
    gaps = tuple(gap_between(before, after, each) for before, after in pairwise(songs))
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


# Changes


def gap_between(before: SetSong, after: SetSong, times: ChangeTimes) -> Gap:
    """What has to be changed from one song to the next."""
    was, now = _held(before), _held(after)
    changes = tuple(
        change
        for player, rig in now.items()
        if player in was
        for change in changes_between(was[player], rig, times)
    )
    taken: dict[str, float] = {}
    for change in changes:
        taken[change.player] = taken.get(change.player, 0.0) + change.seconds
    return Gap(changes, max(taken.values(), default=0.0))


def _held(song: SetSong) -> dict[str, PlayerRig]:
    """What each player holds; the first of several parts, which is remarked on elsewhere."""
    held: dict[str, PlayerRig] = {}
    for rig in song.rigs:
        held.setdefault(rig.player, rig)
    return held


def changes_between(was: PlayerRig, now: PlayerRig, times: ChangeTimes) -> Iterator[Change]:
    """Yield what a player has to do from one rig to the next."""
    player = now.player
    if was.instrument != now.instrument:
        text = f"{was.instrument or was.part} to {now.instrument or now.part}"
        yield Change(player, SWAP, text, times.swap_s)
        return
    strings = _retuned(was.open_midi, now.open_midi)
    if strings:
        word = "string" if strings == 1 else "strings"
        text = f"{was.tuning} to {now.tuning}, {strings} {word}"
        yield Change(player, RETUNE, text, strings * times.string_s)
    if was.capo != now.capo:
        yield Change(player, CAPO, _capo_text(was.capo, now.capo), times.capo_s)


def _retuned(was: tuple[int, ...], now: tuple[int, ...]) -> int:
    if len(was) != len(now):
        return max(len(was), len(now))
    return sum(before != after for before, after in zip(was, now, strict=True))


def _capo_text(was: str, now: str) -> str:
    if now == "0":
        return "capo off"
    return f"capo on {now}" if was == "0" else f"capo {was} to {now}"


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
        if song.seconds is None:
            yield f"{song.entry.song} has no tempo, so its length is not known or counted"


# Order


class Reordered(NamedTuple):
    """The set in the order that needs the fewest changes, and the order by place in the list."""

    sheet: SetSheet
    order: Order


def fewest_changes(log: Log, setlist: SetList, times: ChangeTimes | None = None) -> Reordered:
    """Return the set in the order with the fewest changes, then the least time for them.

    Opener, closer and songs that stay with the next one keep their places. Of orders that are as
    good the list's own is kept. Raises LogbookError as `set_sheet` does, and where places
    contradict each other.
    """
    sheet = set_sheet(log, setlist, times)
    songs = sheet.songs
    costs = []
    for before in songs:
        row = []
        for after in songs:
            gap = gap_between(before, after, sheet.times)
            row.append((len(gap.changes), gap.seconds))
        costs.append(row)
    order = best_order(
        costs,
        openers=[n for n, song in enumerate(songs) if song.entry.place == "opener"],
        closers=[n for n, song in enumerate(songs) if song.entry.place == "closer"],
        with_next=[n for n, song in enumerate(songs) if song.entry.with_next],
        names=[song.entry.song for song in songs],
    )
    return Reordered(sheet_of(setlist, [songs[n] for n in order.places], sheet.times), order)
