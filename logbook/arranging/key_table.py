"""Every key a song could be played in: where the melody lies, and what each part would have to do.

Conventions. Each of the twelve keys is reached the shorter way, -6 to 5 semitones. A part's way
there is the best of those it has. Keys in which the whole melody is comfortable come before the
others; of these the best is the one whose parts cost the least to learn and to set up, then the
nearest to the record. A part without voicings costs nothing.
"""

from __future__ import annotations

from typing import NamedTuple

from logbook.arranging.adaptations import Adaptation, ways_to_key
from logbook.arranging.arrange import moved_key
from logbook.arranging.hands import Recorded, Setup, recorded_voicings, rig_of
from logbook.arranging.singers import Range, SingersKey, at_steps, read_range
from logbook.errors import LogbookError
from logbook.records.context import by_name
from logbook.records.log import Log
from logbook.records.part_view import PartView
from logbook.records.people import Person
from logbook.records.songs import Song, Version
from logbook.theory.keys import Key

_SUNG = frozenset({"voice", "vocals", "vocal", "singer"})
_NEVER = 1_000.0


class KeyRow(NamedTuple):
    """One key: how far it is, where the melody lies (None: not known), each part's best way.

    `ways` has None for a part that has nothing to change or cannot be read; `cost` is what all
    parts have to learn and set up.
    """

    key: Key
    steps: int
    melody: SingersKey | None
    ways: tuple[Adaptation | None, ...]
    cost: float


class KeyTable(NamedTuple):
    """All keys from low to high, the parts that have ways to them, and which key is the best.

    `singer` is empty where nobody's range or no melody is known, and `why` then says what to log.
    """

    song: str
    version: str
    singer: str
    why: str
    parts: tuple[str, ...]
    rows: tuple[KeyRow, ...]
    best: int


def key_table(log: Log, song: Song, version: Version, singer: Person | None = None) -> KeyTable:
    """Work out every key of a version; `singer` is who sings, else the player of a sung part.

    Raises LogbookError where the version's key is not known.
    """
    old, _ = moved_key(version, "")
    if old is None:
        raise LogbookError(f"the key of {version.name} is not known", "set it first")
    singer = singer or _singer(log, version)
    melody, why = _ranges(singer, version)
    fretted = [
        (part.name, found)
        for part in version.parts
        if (found := _fretted(PartView(log, song, version, part), old)) is not None
    ]
    rows = []
    for steps in range(-6, 6):
        key = old.transpose(steps) if steps else old
        ways = tuple(
            ways_to_key(recorded, rig, steps, key, thorough=False)[0] if steps else None
            for _, (recorded, rig) in fretted
        )
        cost = sum(way.cost if way.possible else _NEVER for way in ways if way is not None)
        lies = None
        if melody is not None:
            # The octave in which the melody lies best.
            lies = min(
                (at_steps(*melody, old, steps + 12 * octave) for octave in range(-2, 3)),
                key=lambda each: (max(-each.room_below, 0) + max(-each.room_above, 0),
                                  abs(each.steps)),
            )  # fmt: skip
        rows.append(KeyRow(key, steps, lies, ways, cost))
    best = min(range(len(rows)), key=lambda place: _rank(rows[place]))
    known = singer.name if singer is not None and melody is not None else ""
    return KeyTable(
        song.title, version.name, known, why, tuple(name for name, _ in fretted), tuple(rows), best
    )


def _rank(row: KeyRow) -> tuple[int, float, int, int]:
    outside = 0
    if row.melody is not None:
        outside = max(-row.melody.room_below, 0) + max(-row.melody.room_above, 0)
    return outside, round(row.cost, 6), abs(row.steps), row.steps


def _singer(log: Log, version: Version) -> Person | None:
    """Who plays the first sung part."""
    for part in version.parts:
        instrument = by_name(log.instruments, part.instrument)
        kind = (instrument.kind if instrument else part.instrument).casefold()
        if kind in _SUNG or part.name.casefold() in _SUNG:
            return by_name(log.people, part.player)
    return None


def _ranges(singer: Person | None, version: Version) -> tuple[tuple[Range, Range] | None, str]:
    """The singer's and the melody's range, or why one is not known."""
    if singer is None:
        return None, "nobody is down for a sung part; --keys-for says whose range counts"
    try:
        return (
            read_range(singer.low, singer.high, f"the range of {singer.name}"),
            read_range(version.melody_low, version.melody_high, "the range of the melody"),
        ), ""
    except LogbookError as error:
        return None, str(error)


def _fretted(place: PartView, key: Key) -> tuple[tuple[Recorded, ...], Setup] | None:
    """A part's voicings and rig, None where it has none or they cannot be read."""
    try:
        rig = rig_of(place)
        if rig is None:
            return None
        recorded, problems = recorded_voicings(place.part, rig, key)
    except LogbookError:
        return None
    return (recorded, rig) if recorded and not problems else None
