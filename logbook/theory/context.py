"""What the key and the chord before say about a chord's name.

They only tip the balance between near equals: a chord of the key costs a little less than one
outside it, and a root that the chord before leads to (down a fifth) a little less than another.
(Common practice, no source.)
"""

from __future__ import annotations

from logbook.theory.keys import Key, as_key
from logbook.theory.kinds import SuffixReading
from logbook.theory.notes import nearest_fifths
from logbook.theory.spelling import plain_in_key, root_fifths
from logbook.theory.symbols import read_symbol

_DIATONIC, _OUTSIDE_ROOT = -3, 3
_TONIC = -5
_DOWN_A_FIFTH = -4
_SIXTH_WANTED, _NINTH_IN_KEY = -12, -6
MOST_GAINED = -(_DIATONIC + _TONIC + _DOWN_A_FIFTH)
MOST_LOST = _OUTSIDE_ROOT
"""What a chord can at most cost less and more in a context; hollow chords apart (`implied`)."""
PLACE_BITS = 10
"""How far costs are shifted to the left, to make room for the place of a reading below them."""
_FIFTH, _FIFTH_AND_NINTH = frozenset((7,)), frozenset((2, 7))


class _Costs(dict[int, int]):
    """The costs of chords in a context, `PLACE_BITS` to the left, worked out when first asked for.

    They are found by `root << 12 | mask`; the root is a pitch class, or twelve more.
    """

    def __init__(self, context: ChordContext) -> None:
        super().__init__()
        self.context = context

    def __missing__(self, asked: int) -> int:
        root, mask = (asked >> 12) % 12, asked & 0xFFF
        cost = self.context.cost(root, mask) << PLACE_BITS
        self[root << 12 | mask] = self[root + 12 << 12 | mask] = cost
        return cost


class ChordContext:
    """A key and a chord before, made ready: spelling, scale and expected root."""

    __slots__ = (
        "_before",
        "_expected",
        "_last",
        "_outside",
        "_roots",
        "_tonic",
        "costs",
        "double",
        "fifths",
        "key",
    )

    def __init__(self, key: Key | None, before: str | None) -> None:
        symbol = read_symbol(before) if before else None
        self.key = key
        self.double = 0  # the one double sharp that the key has, F## in G# minor
        self.costs = _Costs(self)
        self._roots: dict[tuple[int, str], int] = {}
        self._before = symbol.symbol if symbol else ""
        self._expected = (
            -1 if symbol is None or symbol.root_pc is None else (symbol.root_pc + 5) % 12
        )
        self._last = -1 if symbol is None or symbol.bass_pc is None else symbol.bass_pc
        self._outside = 0
        if key is not None:
            self.fifths = tuple(plain_in_key(pc, key) for pc in range(12))
            self.double = key.raised_seventh or 0
            inside = set(key.pitch_classes)
            if key.is_minor:
                inside.add((key.pitch_class + 11) % 12)
            self._outside = sum(1 << pc for pc in range(12) if pc not in inside)
            self._tonic = key.pitch_class
        else:
            self.fifths = tuple(nearest_fifths(pc, 0.0) for pc in range(12))

    def root_fifths(self, pitch_class: int, suffix: str, degrees: tuple[str, ...]) -> int:
        """Place on the line of fifths of a root under a kind of chord, as the key spells it."""
        asked = (pitch_class, suffix)
        place = self._roots.get(asked)
        if place is None:
            place = root_fifths(pitch_class, degrees, self.key)
            self._roots[asked] = place
        return place

    def cost(self, root: int, mask: int) -> int:
        """What a chord costs here, in tenths of a point; negative where it fits.

        `root` is its pitch class, `mask` its intervals above the root, bit 0 the root.
        """
        cost = _DOWN_A_FIFTH if root == self._expected else 0
        if self.key is not None:
            if not (mask << root | mask >> (12 - root)) & self._outside:
                cost += _DIATONIC
            elif self._outside >> root & 1:
                cost += _OUTSIDE_ROOT
            if root == self._tonic:
                cost += _TONIC
        return cost

    def implied(self, root: int, reading: SuffixReading) -> int:
        """What a chord on its bass gains from what is not played and yet heard.

        A sixth chord without its fifth, where key or neighbour want that bass: the tonic, or a
        step from the chord before. The ninth under a minor eleventh, where the key has it.
        """
        degrees, omits = reading[1].degrees, reading[2]
        if "6" in degrees and omits == _FIFTH:
            return _SIXTH_WANTED if self._wants(root) else 0
        if "11" in degrees and "b3" in degrees and omits == _FIFTH_AND_NINTH:
            ninth = self.key is not None and not self._outside >> (root + 2) % 12 & 1
            return _NINTH_IN_KEY if ninth else 0
        return 0

    def _wants(self, bass: int) -> bool:
        """Whether a bass is where the key is at home or the chord before steps to."""
        if self._last >= 0:
            return (bass - self._last) % 12 in (1, 2, 5, 10, 11)
        return self.key is not None and bass == self._tonic

    def reasons(self, root: int, intervals: frozenset[int]) -> tuple[str, ...]:
        """The same in words, for the reader."""
        said = []
        if self.key is not None:
            if not any(self._outside >> (root + n) % 12 & 1 for n in intervals):
                said.append(f"all of it lies in {self.key.name}")
            elif self._outside >> root & 1:
                said.append(f"its root lies outside {self.key.name}")
        if root == self._expected:
            said.append(f"{self._before} before it leads there")
        return tuple(said)


_contexts: dict[tuple[str | Key | None, str | None], ChordContext] = {}


def context_of(key: str | Key | None, before: str | None) -> ChordContext:
    """The context of a key and a chord before; kept, since a song has few."""
    kept = _contexts.get((key, before))
    if kept is None:
        if len(_contexts) > 500:
            _contexts.clear()
        kept = ChordContext(None if key is None else as_key(key), before)
        _contexts[key, before] = kept
    return kept
