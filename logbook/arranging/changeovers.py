"""What has to be changed between the songs of a set, by whom, and when.

Conventions. Each instrument is in the tuning and under the capo it was last held in, whoever held
it and however many songs ago; before the show every instrument is made ready for the first song it
is in. A player who takes up another instrument swaps; an instrument that goes from hand to hand
is handed over, which takes as long. An instrument that has lain aside for a song is retuned, and
its capo moved, in that song by somebody of the set who sits it out and has the time (the one who
plays it next, if possible); with nobody free, its next player does it while the audience waits. A
player's own changes follow each other, those of different players happen at the same time. The
times for a change are common practice (no source) and can be said otherwise.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Sequence
from typing import NamedTuple

RETUNE, CAPO, SWAP = "retune", "capo", "swap"
_NO_LIMIT = 1e9


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

    @property
    def held(self) -> str:
        """What tells the instrument from others; one without a name is the player's own."""
        return self.instrument or f"{self.player}'s {self.part}"


class SongRigs(NamedTuple):
    """A song as far as changes go: its name, what is held in it, how long it is (None: unknown).

    `busy` names everybody who plays or sings in it.
    """

    title: str
    rigs: tuple[PlayerRig, ...]
    seconds: float | None
    busy: tuple[str, ...]

    def held(self) -> dict[str, PlayerRig]:
        """What each player holds; the first of several parts, which is remarked on elsewhere."""
        held: dict[str, PlayerRig] = {}
        for rig in self.rigs:
            held.setdefault(rig.player, rig)
        return held


class Changeover(NamedTuple):
    """One thing that has to be done: `kind` is "retune", "capo" or "swap".

    `player` does it, and it takes `seconds`. `during` names the song in which it is done by
    somebody who sits that one out; it is empty where the audience waits. `instrument` is what is
    made ready, `next_player` who plays it next.
    """

    player: str
    kind: str
    text: str
    seconds: float
    instrument: str = ""
    during: str = ""
    next_player: str = ""


class Gap(NamedTuple):
    """What happens before a song; `seconds` is how long the audience waits for it."""

    changes: tuple[Changeover, ...]
    seconds: float


class _Free(NamedTuple):
    """Somebody who sat a song out while an instrument lay aside, and how long the song was."""

    player: str
    song: str
    seconds: float


class _Instrument(NamedTuple):
    """Where an instrument is: as it was last held, by whom it is held, who has been free since.

    `holder` is empty once it is put down.
    """

    rig: PlayerRig
    holder: str
    free: tuple[_Free, ...] = ()


class Stage(NamedTuple):
    """The stage after some songs: instruments by what tells them, what each player had last.

    `had` holds, for each player, the instrument last held, and whether the last song kept
    them busy.
    """

    instruments: tuple[tuple[str, _Instrument], ...]
    had: tuple[tuple[str, str, bool], ...]


EMPTY = Stage((), ())


def next_song(
    stage: Stage, song: SongRigs, everybody: Sequence[str], times: ChangeTimes
) -> tuple[Gap, Stage]:
    """Return what has to be changed before a song, and the stage once it has been played.

    `everybody` are the players of the set. In the stage a free player is known by name and song,
    so that changes can say who makes them; see `comparable` for a stage without that.
    """
    instruments = dict(stage.instruments)
    had = {player: (what, now) for player, what, now in stage.had}
    changes = [
        change
        for player, rig in song.held().items()
        for change in _changes(rig, instruments.get(rig.held), had.get(player), times)
    ]
    waits: dict[str, float] = {}
    for change in changes:
        if not change.during:
            waits[change.player] = waits.get(change.player, 0.0) + change.seconds
    gap = Gap(tuple(changes), max(waits.values(), default=0.0))
    return gap, _after(instruments, had, song, everybody)


def _after(
    instruments: dict[str, _Instrument],
    had: dict[str, tuple[str, bool]],
    song: SongRigs,
    everybody: Sequence[str],
) -> Stage:
    held = song.held()
    length = _NO_LIMIT if song.seconds is None else song.seconds
    idle = tuple(_Free(each, song.title, length) for each in everybody if each not in song.busy)
    for what, each in instruments.items():
        instruments[what] = each._replace(holder="", free=each.free + idle)
    for player, rig in held.items():
        instruments[rig.held] = _Instrument(rig, player)
    for player, (what, _) in had.items():
        had[player] = (what, player in song.busy)
    had.update({player: (rig.held, True) for player, rig in held.items()})
    return Stage(
        tuple(sorted(instruments.items())),
        tuple((player, what, now) for player, (what, now) in sorted(had.items())),
    )


def comparable(stage: Stage) -> Hashable:
    """What of a stage decides the cost of what follows: how long somebody was free, not who."""
    return (
        tuple(
            (
                what,
                each.rig.open_midi,
                each.rig.capo,
                each.holder,
                max((free.seconds for free in each.free), default=0.0),
            )
            for what, each in stage.instruments
        ),
        stage.had,
    )


def _changes(
    now: PlayerRig, known: _Instrument | None, had: tuple[str, bool] | None, times: ChangeTimes
) -> Iterator[Changeover]:
    """Yield what has to be done before a player has this rig in hand."""
    player = now.player
    just_played = had is not None and had[1]
    handed_over = known is not None and known.holder not in ("", player)
    other = had is not None and had[0] != now.held
    if handed_over or (other and just_played):
        was = had[0] if had is not None and other else ""
        text = f"{was} to {now.held}" if was else f"takes over {now.held}"
        if handed_over and known is not None:
            text += f" from {known.holder}"
        yield Changeover(player, SWAP, text, times.swap_s, now.held, "", player)
    if known is None:
        return  # made ready before the show
    jobs = list(_jobs(known.rig, now, times))
    needed = sum(each.seconds for each in jobs)
    who, during = _free(known, player, needed) if jobs else ("", "")
    for job in jobs:
        yield job._replace(player=who or player, during=during)


def _free(known: _Instrument, player: str, needed_s: float) -> tuple[str, str]:
    """Who has had the time while an instrument lay aside, and in which song; its player first."""
    long_enough = [each for each in known.free if each.seconds >= needed_s]
    own = [each for each in long_enough if each.player == player]
    return next(((each.player, each.song) for each in own or long_enough), ("", ""))


def _jobs(was: PlayerRig, now: PlayerRig, times: ChangeTimes) -> Iterator[Changeover]:
    player = now.player
    strings = _retuned(was.open_midi, now.open_midi)
    if strings:
        word = "string" if strings == 1 else "strings"
        text = f"{was.tuning} to {now.tuning}, {strings} {word}"
        yield Changeover(player, RETUNE, text, strings * times.string_s, now.held, "", player)
    if was.capo != now.capo:
        text = _capo_text(was.capo, now.capo)
        yield Changeover(player, CAPO, text, times.capo_s, now.held, "", player)


def _retuned(was: tuple[int, ...], now: tuple[int, ...]) -> int:
    if len(was) != len(now):
        return max(len(was), len(now))
    return sum(before != after for before, after in zip(was, now, strict=True))


def _capo_text(was: str, now: str) -> str:
    if now == "0":
        return "capo off"
    return f"capo on {now}" if was == "0" else f"capo {was} to {now}"


def gaps_of(songs: Sequence[SongRigs], times: ChangeTimes) -> tuple[Gap, ...]:
    """Return what has to be changed between songs in this order; gap n lies before song n + 1."""
    everybody = players_of(songs)
    stage, gaps = EMPTY, []
    for song in songs:
        gap, stage = next_song(stage, song, everybody, times)
        gaps.append(gap)
    return tuple(gaps[1:])


def players_of(songs: Sequence[SongRigs]) -> tuple[str, ...]:
    """Everybody who plays in the set, in the order they come in."""
    return tuple(dict.fromkeys(rig.player for song in songs for rig in song.rigs))
