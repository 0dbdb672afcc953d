"""Chord names from notes, ranked on principle.

The notes become a mask of twelve pitch classes. For each possible root the mask is turned so that
the root is bit 0 and looked up among the chord kinds, whole or with degrees left out that players
leave out. Each reading costs points: how rare the kind is, what is left out or added, whether the
root is in the bass, how well it fits the key and follows the chord before. Fewest points first.
"""

from __future__ import annotations

from collections.abc import Sequence

from logbook.errors import LogbookError
from logbook.theory.chord_name import ChordName
from logbook.theory.degrees import degree_in_chord, degree_note, degree_semitones
from logbook.theory.keys import Key, as_key
from logbook.theory.kinds import Kind, all_kinds
from logbook.theory.notes import PLAIN_NAMES, plain_root

__all__ = ["ChordName", "name_chord"]

# What leaving a degree out costs, beside how common the name is.
_OMIT = {"5": 0.5, "9": 0.6, "11": 2.0, "R": 3.0, "3": 3.0, "b3": 3.0}
_ADDED = 3.0
_INVERSION = 1.5
_FOREIGN_BASS = 2.5
_OUT_OF_KEY = 0.3


class _Pattern:
    """A kind with some of its degrees left out."""

    __slots__ = ("cost", "intervals", "kind", "omits")

    def __init__(self, kind: Kind, omitted: tuple[str, ...], cost: float) -> None:
        self.kind = kind
        self.omits = frozenset(degree_semitones(d) for d in omitted)
        self.intervals = frozenset(degree_semitones(d) for d in kind.degrees)
        self.cost = cost


def _build_index() -> dict[int, list[_Pattern]]:
    index: dict[int, list[_Pattern]] = {}
    for kind in all_kinds():
        optional = [d for d in kind.degrees if d in _OMIT]
        for choice in range(1 << len(optional)):
            omitted = tuple(d for n, d in enumerate(optional) if choice >> n & 1)
            left = len(kind.degrees) - len(omitted)
            if left < 2 or len(omitted) > 3:
                continue
            mask, cost = kind.mask, kind.rarity
            for degree in omitted:
                mask &= ~(1 << degree_semitones(degree))
                cost += _OMIT[degree]
            index.setdefault(mask, []).append(_Pattern(kind, omitted, cost))
    return index


_index: dict[int, list[_Pattern]] = {}


def name_chord(
    midi: Sequence[int],
    *,
    key: str | None = None,
    bass: int | None = None,
    before: str | None = None,
) -> tuple[ChordName, ...]:
    """Names of the chord that these MIDI note numbers make, best first; never empty.

    `key` spells the names and breaks ties; `bass` is the pitch class that another part plays
    below; `before` is the symbol of the chord before. Raises LogbookError when there are no notes.
    """
    if not midi:
        raise LogbookError("there are no notes to name", "give at least one note number")
    if not _index:
        _index.update(_build_index())
    home = as_key(key) if key is not None else None
    low = min(midi) % 12 if bass is None else bass % 12
    mask = 1 << low
    for note in midi:
        mask |= 1 << note % 12
    found = _readings(mask, low)
    if not found:
        return (_nameless(mask, low, home),)
    found.sort(key=lambda item: item[0])
    return tuple(_name(cost, root, pattern, adds, low, home) for cost, root, pattern, adds in found)


def _readings(mask: int, low: int) -> list[tuple[float, int, _Pattern, frozenset[int]]]:
    found = []
    none: frozenset[int] = frozenset()
    for root in range(12):
        turned = (mask >> root | mask << (12 - root)) & 0xFFF
        low_above = (low - root) % 12
        inversion = _INVERSION if low_above else 0.0
        for pattern in _index.get(turned, ()):
            found.append((pattern.cost + inversion, root, pattern, none))
        if low_above:
            for pattern in _index.get(turned & ~(1 << low_above), ()):
                if low_above not in pattern.intervals:
                    found.append((pattern.cost + _FOREIGN_BASS, root, pattern, none))
        if turned & 1:
            for extra in range(1, 12):
                if turned >> extra & 1:
                    for pattern in _index.get(turned & ~(1 << extra), ()):
                        if extra not in pattern.intervals:
                            cost = pattern.cost + inversion + _ADDED
                            found.append((cost, root, pattern, frozenset((extra,))))
    return found


def _name(
    cost: float, root: int, pattern: _Pattern, adds: frozenset[int], low: int, home: Key | None
) -> ChordName:
    kind = pattern.kind
    root_name = home.spell(root) if home else plain_root(root, "b3" in kind.degrees)
    symbol = root_name + kind.suffix
    bass_name = root_name
    if low != root:
        bass_name = degree_note(root_name, degree_in_chord(low - root, kind.degrees))
        symbol += "/" + bass_name
    return ChordName(
        symbol, root, pattern.intervals, low, pattern.omits, adds, root_name, bass_name,
        kind.suffix, kind.degrees, cost, (),
    )  # fmt: skip


def _nameless(mask: int, low: int, home: Key | None) -> ChordName:
    order = [(low + n) % 12 for n in range(12) if mask >> (low + n) % 12 & 1]
    names = [home.spell(pc) if home else PLAIN_NAMES[pc] for pc in order]
    listed = " ".join(names)
    intervals = frozenset((pc - low) % 12 for pc in order)
    reason = "one note, no chord" if len(order) == 1 else "a cluster that deserves no name"
    return ChordName(
        f"({listed})", low, intervals, low, frozenset(), frozenset(), names[0], names[0], "", (),
        0.0, (f"{reason}: {listed}",), False,
    )  # fmt: skip
