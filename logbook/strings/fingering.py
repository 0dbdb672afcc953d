"""Which finger goes where: a proposed fingering, and whether a hand can hold a shape at all.

Fingers are 1 (index) to 4 (little finger), T is the thumb over the top of the neck. The rules
are common practice (no source):

- a finger holds one string, or several at one fret as a barre; under a barre no string may ring
  open or be fretted lower;
- fingers stand in the order of the frets, and at one fret in the order of the strings from the
  bass side;
- a fret is left between fingers where the hand has a finger to spare for it, and one or two
  fingers beside open strings, from the second fret up, are those of their frets;
- the little finger lies over two strings at most;
- two fingers reach no further than their pair can (`stretch`);
- fewest fingers win, a barre being dearer than a finger, and dearer still where it is not the
  index finger's, where it lies over muted or higher strings, or where the string beside it on
  the treble side must ring.

The choice depends on the shape alone, not on its place on the neck, so it is remembered. A shape
that is taught has its fingers from the table of grips; the rules above are for all others.
"""

from functools import lru_cache
from itertools import combinations
from typing import NamedTuple

from logbook.strings.frets import Fingers, Position, read_fingers
from logbook.strings.grips import taught_fingers
from logbook.strings.instruments import fret_distance_mm
from logbook.strings.shapes import MUTED, OPEN, Shape, height_of, shape_of
from logbook.strings.stretch import (
    FINGER_LIMIT,
    LITTLE_FINGER_STRINGS,
    STRETCH_LIMIT_MM,
    fingered_frets,
    pair_limit_mm,
    stretch_mm,
)

__all__ = [
    "MUTED",
    "OPEN",
    "Barre",
    "Grip",
    "Shape",
    "Unit",
    "barres_of",
    "best_grip",
    "can_hold",
    "fingers_needed",
    "is_playable",
    "propose_fingers",
    "shape_of",
    "units_of",
]

_FINGERS_BEYOND = {count: set("1234"[count:]) for count in range(FINGER_LIMIT + 1)}
_BARRE = 0.6
_OTHER_BARRE = 1.4
_RINGS_BESIDE = 1.5
_HIGHER_UNDER = 0.6
_MUTED_UNDER = 0.5
_LIFTS_BESIDE = 0.7
_THUMB = 1.2


class Unit(NamedTuple):
    """One finger's work: the strings it holds (places low to high from 0) at a relative fret."""

    fret: int
    strings: tuple[int, ...]

    @property
    def is_barre(self) -> bool:
        """Whether the finger holds more than one string."""
        return len(self.strings) > 1


class Grip(NamedTuple):
    """A way to hold a shape: each finger with its unit, low fret first, and what it costs.

    `cost` counts fingers, barres dearer; lower is easier.
    """

    fingers: tuple[tuple[str, Unit], ...]
    cost: float

    @property
    def barres(self) -> tuple[tuple[str, Unit], ...]:
        """The fingers that hold several strings, with their units."""
        return tuple(pair for pair in self.fingers if pair[1].is_barre)


class Barre(NamedTuple):
    """A finger laid over several strings: players' string numbers `low` >= `high`, neck fret."""

    finger: str
    fret: int
    low: int
    high: int


def propose_fingers(position: Position, *, fingers: int = FINGER_LIMIT) -> Fingers | None:
    """Return a finger for every string that needs one, or None where no hand can hold it.

    As it is taught where the table of grips has the shape, else by the rules. `fingers` says how
    many may be used, from the index finger on. The thumb is only used where they cannot do it
    alone, or where it is taught so.
    """
    shape, height = shape_of(position), height_of(position)
    taught = taught_fingers(shape, height)
    if taught and not set(taught) & _FINGERS_BEYOND[fingers]:
        return read_fingers(taught)
    grip = best_grip(shape, fingers=fingers) or best_grip(shape, fingers=fingers, thumb=True)
    if grip is None:
        return None
    if height == 2 and OPEN in shape and len(grip.fingers) <= 2 < fingers and not grip.barres:
        grip = grip._replace(fingers=_number_by_frets(grip))
    return _fingers(grip, len(position))


def _number_by_frets(grip: Grip) -> tuple[tuple[str, Unit], ...]:
    """Number one or two fingers by the frets they are at, the lowest being fret 2."""
    numbered: list[tuple[str, Unit]] = []
    before = 0
    for _, unit in grip.fingers:
        before = min(max(before + 1, unit.fret + 1), FINGER_LIMIT)
        numbered.append((str(before), unit))
    return tuple(numbered)


def _fingers(grip: Grip, count: int) -> Fingers:
    names: list[str | None] = [None] * count
    for finger, unit in grip.fingers:
        for string in unit.strings:
            names[string] = finger
    return tuple(names)


def barres_of(fingers: Fingers, position: Position) -> tuple[Barre, ...]:
    """Return the barres in a given fingering: one finger on several strings at one fret."""
    count = len(position)
    held: dict[tuple[str, int], list[int]] = {}
    for index, (finger, at) in enumerate(zip(fingers, position, strict=True)):
        if finger is not None and at is not None and not at.harmonic:
            held.setdefault((finger, at.fret), []).append(count - index)
    return tuple(
        Barre(finger, fret, numbers[0], numbers[-1])
        for (finger, fret), numbers in sorted(held.items(), key=lambda item: item[0][1])
        if len(numbers) > 1
    )


def is_playable(
    position: Position,
    scale_mm: float,
    *,
    limit_mm: float = STRETCH_LIMIT_MM,
    finger_limit: int = FINGER_LIMIT,
) -> bool:
    """Say whether a position is within the reach in mm and the number of fingers (no thumb).

    `limit_mm` is that of index and little finger; the other pairs reach their share of it.
    """
    frets = fingered_frets(position)
    if stretch_mm(frets, scale_mm) > limit_mm:
        return False
    lowest = min(frets, default=0)
    places_mm = tuple(
        fret_distance_mm(scale_mm, fret) for fret in range(lowest, max(frets, default=0) + 1)
    )
    return can_hold(units_of(shape_of(position)), places_mm, limit_mm, finger_limit)


def fingers_needed(shape: Shape) -> int:
    """Return the fewest fingers that hold a shape, barres allowed; the thumb stays behind.

    One more than a hand has where the little finger would have to lie over three strings.
    """
    units = units_of(shape)
    over = len(units) == FINGER_LIMIT and units[-1][1] > LITTLE_FINGER_STRINGS
    return len(units) + over


@lru_cache(maxsize=16384)
def units_of(shape: Shape) -> tuple[tuple[int, int], ...]:
    """Return the fewest fingers that hold a shape: the relative fret and how many strings of each.

    In the order of the frets, and at one fret in that of the strings.
    """
    held: dict[int, list[int]] = {}  # by relative fret, what may be laid over the next string
    units: list[list[int]] = []
    for fret in shape:
        if fret == MUTED:
            continue
        held = {other: unit for other, unit in held.items() if other <= fret}
        if fret > OPEN and fret not in held:
            units.append([fret, 0])
            held[fret] = units[-1]
        if fret > OPEN:
            held[fret][1] += 1
    return tuple((fret, strings) for fret, strings in sorted(units, key=lambda unit: unit[0]))


@lru_cache(maxsize=16384)
def can_hold(
    units: tuple[tuple[int, int], ...],
    places_mm: tuple[float, ...],
    limit_mm: float = STRETCH_LIMIT_MM,
    fingers: int = FINGER_LIMIT,
) -> bool:
    """Say whether fingers can be chosen for the units so that each pair of them can reach.

    `places_mm` is where the relative frets 1, 2 ... lie; `limit_mm` the reach of index and
    little finger.
    """
    if len(units) > fingers:
        return False
    for chosen in combinations(range(1, fingers + 1), len(units)):
        if chosen and chosen[-1] == FINGER_LIMIT and units[-1][1] > LITTLE_FINGER_STRINGS:
            continue
        if all(
            places_mm[above[0] - 1] - places_mm[below[0] - 1] <= pair_limit_mm(*pair, limit_mm)
            for pair, (below, above) in zip(
                combinations(chosen, 2), combinations(units, 2), strict=True
            )
        ):
            return True
    return False


@lru_cache(maxsize=16384)
def best_grip(shape: Shape, *, fingers: int = FINGER_LIMIT, thumb: bool = False) -> Grip | None:
    """Return the cheapest grip that holds a shape with so many fingers, None where none does.

    With `thumb` the lowest string that is fingered goes to the thumb.
    """
    places = [index for index, fret in enumerate(shape) if fret > 0]
    if thumb:
        if not places or places[0] > 1 or len(places) < 2:
            return None
        over = places[0]
        fret = shape[over]
        rest = tuple(OPEN if index == over else at for index, at in enumerate(shape))
        others = best_grip(rest, fingers=fingers)
        if others is None or fret > 1 + min(unit.fret for _, unit in others.fingers):
            return None
        return Grip((("T", Unit(fret, (over,))), *others.fingers), others.cost + _THUMB)
    best: tuple[float, tuple[tuple[str, Unit], ...]] | None = None
    frets = sorted({shape[index] for index in places})
    groups = [_partitions(shape, fret, fingers) for fret in frets]
    for units, cost in _combine(groups, fingers):
        if best is None or cost < best[0]:
            numbered = _number(units, fingers)
            if numbered is not None:
                best = (cost, numbered)
    return None if best is None else Grip(best[1], best[0])


def _partitions(shape: Shape, fret: int, fingers: int) -> list[tuple[tuple[Unit, ...], float]]:
    """Return every way to hold one fret's strings, each with its cost."""
    places = [index for index, at in enumerate(shape) if at == fret]
    found = []
    for cuts in range(1 << (len(places) - 1)):
        if cuts.bit_count() >= fingers:
            continue
        units: list[Unit] = []
        held = [places[0]]
        for number, place in enumerate(places[1:]):
            if cuts >> number & 1:
                units.append(Unit(fret, tuple(held)))
                held = []
            held.append(place)
        units.append(Unit(fret, tuple(held)))
        if all(_can_lie(shape, unit) for unit in units):
            found.append((tuple(units), sum(_cost(shape, unit) for unit in units)))
    return found


def _can_lie(shape: Shape, unit: Unit) -> bool:
    """Say whether no string under the finger rings open or is fretted lower."""
    under = shape[unit.strings[0] : unit.strings[-1] + 1]
    return all(at == MUTED or at >= unit.fret for at in under)


def _cost(shape: Shape, unit: Unit) -> float:
    if not unit.is_barre:
        return 1.0
    cost = 1.0 + _BARRE + (_OTHER_BARRE if unit.fret > 1 else 0.0)
    under = shape[unit.strings[0] : unit.strings[-1] + 1]
    if max(under) > unit.fret:
        cost += _HIGHER_UNDER
    if MUTED in under:
        cost += _MUTED_UNDER
    beside = shape[unit.strings[-1] + 1 :][:1]
    if beside and beside[0] == OPEN:
        cost += _RINGS_BESIDE
    elif beside and 0 < beside[0] <= unit.fret:
        cost += _LIFTS_BESIDE
    return cost


def _combine(
    groups: list[list[tuple[tuple[Unit, ...], float]]], fingers: int
) -> list[tuple[tuple[Unit, ...], float]]:
    """Return every choice of one partition a fret that needs no more fingers than there are."""
    found: list[tuple[tuple[Unit, ...], float]] = [((), 0.0)]
    for group in groups:
        found = [
            (units + more, cost + extra)
            for units, cost in found
            for more, extra in group
            if len(units) + len(more) <= fingers
        ]
    return found


def _number(units: tuple[Unit, ...], fingers: int) -> tuple[tuple[str, Unit], ...] | None:
    """Give the units their fingers: a finger a fret where the hand has one to spare.

    None where the little finger would have to lie over too many strings.
    """
    numbered = []
    before = 0
    for index, unit in enumerate(units):
        left = len(units) - index - 1
        finger = min(max(before + 1, unit.fret), fingers - left)
        if finger == FINGER_LIMIT and len(unit.strings) > LITTLE_FINGER_STRINGS:
            finger -= 1
            if finger == before:
                return None
        numbered.append((str(finger), unit))
        before = finger
    return tuple(numbered)
