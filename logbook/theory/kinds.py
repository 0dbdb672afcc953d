"""The chord kinds a player meets, how common each is, and how players leave notes out of it.

A kind is its degrees and a rarity in tenths of a point: 0 for the plainest names, ten for each
step away from what a chart usually says. Costs are judgement (common practice, no source) and
depend on degrees alone, so a kind is treated alike on every root and every instrument.

`Index` lists, for each set of intervals above a root, every kind it can be heard as: whole, with
degrees left out, or with one note added. It is made once, at the first naming, and is a
vocabulary: nothing about a chord that was named is kept.
"""

from __future__ import annotations

from typing import NamedTuple

from logbook.theory.chord_symbol import suffix_of
from logbook.theory.degrees import PLAIN_DEGREES, degree_fifths, degree_semitones

# Degrees after the root: rarity in tenths of a point.
_RARITY = {
    "3 5": 0, "b3 5": 0, "5": 3,
    "4 5": 8, "2 5": 10, "b3 b5": 8, "3 #5": 8,
    "3 5 b7": 1, "b3 5 b7": 1, "3 5 7": 1, "4 5 b7": 5,
    "3 5 6": 3, "b3 5 6": 4, "3 5 6 9": 6, "b3 5 6 9": 8,
    "3 5 9": 7, "b3 5 9": 9, "3 5 11": 16, "b3 5 11": 16, "3 5 9 11": 24, "b3 5 9 11": 24,
    "b3 b5 b7": 4, "b3 b5 bb7": 4, "b3 5 7": 8, "b3 b5 7": 14,
    "3 5 b7 9": 3, "b3 5 b7 9": 3, "3 5 7 9": 3, "b3 5 7 9": 12,
    "3 5 b7 b9": 6, "3 5 b7 #9": 6, "3 #5 b7": 8, "3 b5 b7": 8, "3 5 b7 #11": 16, "3 5 b7 b13": 14,
    "3 5 7 #11": 9, "3 #5 7": 10, "3 b5 7": 12,
    "3 5 b7 9 11": 8, "b3 5 b7 9 11": 7, "3 5 7 9 11": 9, "b3 5 7 9 11": 14,
    "3 5 b7 9 13": 6, "3 5 7 9 13": 10, "b3 5 b7 9 13": 11, "b3 5 7 9 13": 22,
    "3 5 b7 9 #11": 10, "3 5 7 9 #11": 11, "3 5 b7 9 #11 13": 14, "3 5 7 9 #11 13": 16,
    "3 b5 b7 9": 11, "3 #5 b7 9": 10, "3 #5 b7 b9": 13, "3 #5 b7 #9": 11,
    "3 b5 b7 b9": 15, "3 b5 b7 #9": 15, "3 5 b7 b9 13": 12, "3 5 b7 #9 13": 17,
    "3 5 b7 b9 #11": 16, "3 5 b7 b9 b13": 16, "3 5 b7 9 b13": 17, "3 5 b7 b9 #9": 20,
    "3 5 b7 #9 #11": 19, "3 5 b7 #9 b13": 19, "3 b5 #5 b7 b9 #9": 16,
    "4 5 b7 9": 7, "4 5 b7 9 13": 10, "4 5 b7 b9": 13, "4 5 7": 22, "4 5 7 9": 24, "4 5 9": 13,
    "2 5 b7": 26, "5 b7": 20, "5 7": 24,
    "b3 b5 b7 9": 13, "b3 b5 b7 11": 15, "b3 b5 b7 9 11": 15, "b3 b5 bb7 9": 24, "b3 b5 7 9": 22,
    "3 5 #11": 22, "3 5 9 #11": 22, "3 5 b9": 27, "3 b5": 20, "b3 5 b6": 20, "b3 #5": 30,
    "b3 5 b7 11": 13, "3 5 b7 11": 20, "3 5 b7 13": 18, "3 5 7 13": 20, "b3 5 b7 13": 20,
    "3 5 6 #11": 20, "3 5 6 9 #11": 18, "b3 5 6 11": 22, "b3 5 6 9 11": 22,
    "3 #5 7 9": 17, "b3 #5 b7": 26, "b3 5 b7 b9": 22, "3 #5 9": 22, "3 #5 7 #11": 22,
    "4 5 b7 b9 13": 16, "4 5 b7 b9 b13": 20, "b3 b5 b7 b9": 20, "b3 5 b7 b9 11": 24,
    "3 5 b7 b9 #11 13": 18, "3 5 b7 #9 #11 13": 22, "3 5 b7 b9 #11 b13": 22,
    "3 5 b7 #9 #11 b13": 24, "3 5 b7 9 #11 b13": 20, "3 5 b7 #11 13": 20, "3 5 b7 #11 b13": 20,
    "3 #5 b7 9 #11": 18,
    "3 b5 b7 9 13": 22, "3 5 7 #9": 22, "3 5 7 #9 #11": 26, "3 5 7 b13": 26,
    "b3 5 b7 b13": 24, "b3 5 b7 9 b13": 26, "3 5 6 11": 24, "2 5 7": 28,
}  # fmt: skip

# Costs in tenths of a point.
_NEVER = 99
_COMMON = 14  # kinds up to this rarity are common
_LIMIT = 75  # readings dearer than this are not kept
_ADDED_TENSION, _ADDED_OTHER, _ADDED_ELEVENTH_TO_THIRTEENTH = 26, 34, 10
_IN_BASS = {"R": 0, "5": 10, "b5": 11, "#5": 11, "3": 11, "b3": 11, "b7": 14, "bb7": 14, "7": 15}
_OTHER_IN_BASS = 20
_ALTERED = {"#11", "b13"}
_FOREIGN_TRIAD, _FOREIGN_SEVENTH = 20, 30
# An eleventh without fifth and ninth is a seventh with an eleventh added.
_HOLLOW, _HOLLOW_MINOR, _HOLLOW_MAJOR = frozenset((2, 7)), 5, 9
_NOTHING: frozenset[int] = frozenset()
_PLAIN_FIFTHS = tuple(degree_fifths(degree) for degree in PLAIN_DEGREES)


class ChordKind(NamedTuple):
    """One chord kind.

    `mask` has bit n set for each interval of n semitones above the root; `intervals` are the same
    as a set. `fifths_above` gives the place on the line of fifths, above the root, of each
    interval 0-11 as this kind spells it. `minor` is True with a minor third.
    """

    suffix: str
    degrees: tuple[str, ...]
    mask: int
    intervals: frozenset[int]
    rarity: int
    fifths_above: tuple[int, ...]
    minor: bool


class SuffixReading(NamedTuple):
    """A kind heard in a set of intervals, what is left out and added, and what that costs.

    `bass_costs` is the further cost of each interval 0-11 above the root standing in the bass;
    `mask` holds the intervals that sound, bit 0 the root.
    """

    cost: int
    kind: ChordKind
    omits: frozenset[int]
    adds: frozenset[int]
    bass_costs: tuple[int, ...]
    mask: int


def all_kinds() -> tuple[ChordKind, ...]:
    """Every kind, built from the table above."""
    kinds = []
    for text, rarity in _RARITY.items():
        degrees = ("R", *text.split())
        fifths_above = list(_PLAIN_FIFTHS)
        mask = 0
        for degree in degrees:
            interval = degree_semitones(degree)
            mask |= 1 << interval
            fifths_above[interval] = degree_fifths(degree)
        suffix, minor = suffix_of(frozenset(degrees)), "b3" in degrees
        intervals = frozenset(n for n in range(12) if mask >> n & 1)
        kinds.append(
            ChordKind(suffix, degrees, mask, intervals, rarity, tuple(fifths_above), minor)
        )
    return tuple(kinds)


def omission_cost(degree: str, degrees: tuple[str, ...]) -> int:
    """What it costs to leave this degree out of a kind with these degrees, in tenths.

    The perfect fifth goes first, cheaply where a seventh makes the chord and less so where the
    rest could be another triad; then the ninth, which an eleventh (raised or not) or a thirteenth
    implies; a root or a third only where a seventh still tells the chord.
    """
    seventh = "b7" in degrees or "7" in degrees or "bb7" in degrees
    if degree == "5":
        if len(degrees) == 3 and seventh:
            return _NEVER
        if "4" in degrees or "2" in degrees:  # what is left is a triad over another bass
            return 18
        if "6" in degrees:
            return 6 if "9" in degrees else 16
        return 4 if seventh else 6 if "9" in degrees else 10
    if degree == "9" and ("13" in degrees or "11" in degrees or "#11" in degrees):
        return 5
    if degree == "11" and "9" in degrees:
        return 22
    if degree == "b3" and degrees == ("R", "b3", "b5"):
        return 25  # a root and its flat fifth imply it
    if degree in ("3", "b3"):
        return 25 if seventh else 22 if {"6", "9"} <= set(degrees) else _NEVER
    if degree in ("b7", "7"):
        return 30 if "9" in degrees else _NEVER
    if degree == "R":
        return 22 if seventh else 26 if {"6", "9"} <= set(degrees) else _NEVER
    return _NEVER


def addition_cost(interval: int, kind: ChordKind) -> int:
    """What it costs to hear one more note as added to a kind, in tenths."""
    if interval == 5 and "13" in kind.degrees:
        return _ADDED_ELEVENTH_TO_THIRTEENTH
    return _ADDED_TENSION if interval in (2, 5, 6, 9) else _ADDED_OTHER


class Index:
    """What `names` looks up: readings by mask, kinds that stand over a foreign bass, common kinds.

    `readings(count)` gives, by mask of intervals above a root, every reading of `count` notes; it
    is filled the first time a chord of that many notes is named. `over_bass` holds the whole
    triads and sevenths by mask; `common` the kinds listed for odd notes.
    """

    __slots__ = ("_by_count", "_patterns", "common", "over_bass")

    def __init__(self) -> None:
        kinds = all_kinds()
        self.common = tuple(kind for kind in kinds if kind.rarity <= _COMMON)
        self.over_bass = {
            kind.mask: _over_bass(kind)
            for kind in kinds
            if kind.rarity < 20 and len(kind.degrees) in (3, 4)
        }
        self._patterns = [
            SuffixReading(cost, kind, omits, _NOTHING, costs, mask)
            for kind in kinds
            for costs in (_bass_costs(kind),)
            for mask, omits, cost in _with_omissions(kind)
        ]
        self._by_count: dict[int, dict[int, list[SuffixReading]]] = {}

    def readings(self, count: int) -> dict[int, list[SuffixReading]]:
        """Readings of `count` different notes, by mask above a root (bit 0, sounding or not)."""
        if count not in self._by_count:
            self._by_count[count] = self._readings(count)
        return self._by_count[count]

    def _readings(self, count: int) -> dict[int, list[SuffixReading]]:
        found: dict[int, list[SuffixReading]] = {}
        for pattern in self._patterns:
            notes = pattern.mask.bit_count()
            if notes == count:
                found.setdefault(pattern.mask, []).append(pattern)
            elif notes == count - 1 and pattern.mask & 1:
                for reading in _with_addition(pattern):
                    found.setdefault(reading.mask, []).append(reading)
        return found


def _over_bass(kind: ChordKind) -> SuffixReading:
    """A whole triad or seventh chord over a bass foreign to it."""
    foreign = _FOREIGN_TRIAD if len(kind.degrees) == 3 else _FOREIGN_SEVENTH
    return SuffixReading(kind.rarity + foreign, kind, _NOTHING, _NOTHING, (0,) * 12, kind.mask)


def _with_addition(pattern: SuffixReading) -> list[SuffixReading]:
    """A pattern with each note that its kind does not claim added in turn."""
    _, kind, omits, _, bass_costs, mask = pattern
    found = []
    for extra in range(1, 12):
        if not kind.mask >> extra & 1:
            cost = pattern.cost + addition_cost(extra, kind)
            if cost <= _LIMIT:
                added = frozenset((extra,))
                found.append(SuffixReading(cost, kind, omits, added, bass_costs, mask | 1 << extra))
    return found


def _bass_costs(kind: ChordKind) -> tuple[int, ...]:
    """What each interval 0-11 costs in the bass; an altered chord is heard from its root."""
    altered = 10 if _ALTERED & set(kind.degrees) else 0
    costs = [_OTHER_IN_BASS + altered] * 12
    for degree in kind.degrees:
        costs[degree_semitones(degree)] = _IN_BASS.get(degree, _OTHER_IN_BASS) + altered
    costs[0] = 0
    return tuple(costs)


def _with_omissions(kind: ChordKind) -> list[tuple[int, frozenset[int], int]]:
    """Masks of a kind with degrees left out, two notes at least: (mask, omitted, cost)."""
    out = [(kind.mask, _NOTHING, kind.rarity)]
    for degree in kind.degrees:
        price = omission_cost(degree, kind.degrees)
        if price == _NEVER:
            continue
        interval = degree_semitones(degree)
        for mask, omits, cost in tuple(out):
            smaller = mask & ~(1 << interval)
            dearer = cost + price
            if omits | {interval} >= _HOLLOW and "11" in kind.degrees:
                dearer += _HOLLOW_MAJOR if "3" in kind.degrees else _HOLLOW_MINOR
            if dearer <= _LIMIT and smaller & (smaller - 1):
                out.append((smaller, omits | {interval}, dearer))
    return out
