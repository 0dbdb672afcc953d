"""The ways a part can get to a key: same shapes with another capo, retuned, or new shapes.

Conventions. Every capo moves by the same frets, a whole one being put on where there was none;
retuned means all strings alike, with the capo on or off. How far strings can be retuned, which
capo is awkward, and the weights by which ways are ranked are common practice and common sense (no
source): a way costs what is to be learnt anew (a shape moved along the neck is soon learnt) and
what is to be set up.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import NamedTuple

from logbook.arranging.hands import (
    KEPT,
    MOVED,
    UNPLAYABLE,
    Hand,
    Recorded,
    Setup,
    new_hand,
    same_hand,
)
from logbook.errors import LogbookError
from logbook.strings.capo import Capo, Capos, write_capos
from logbook.strings.capo_table import has_barre, open_strings
from logbook.strings.frets import Position
from logbook.strings.stretch import fingered_frets, stretch_mm
from logbook.strings.tunings import OpenString, StringTuning, usual_tunings
from logbook.theory.keys import Key
from logbook.theory.pitch import midi_to_name

SAME_SHAPES, RETUNED, NEW_SHAPES = "same shapes", "retuned", "new shapes"
SLACK_BELOW, BREAKS_ABOVE = 4, 2
FAR_RETUNED = 2  # beyond so many semitones strings hang slack or break: never the first way
_SLACK = "strings hang slack and buzz so far down: fit heavier ones, or take another way"
_BREAKS = "strings can break so far up: fit lighter ones, or take another way"
AWKWARD_CAPO = 7
_LAST_LISTED_CAPO = 9  # beyond it only where there is no other

_MOVED_COST, _NEW_COST, _LEARNING = 0.25, 1.0, 4.0
_CAPO_COST, _RETUNING_COST, _SEMITONE_COST = 0.5, 1.5, 0.25
_NEVER = 100.0
_BARRE_COST, _HIGH_COST, _HIGH_FRET, _CAPO_FRET_COST = 1.0, 1.5, 12, 0.05
_AWKWARD_COST, _POINTLESS_COST, _LOST_OPEN_COST = 3.0, 2.0, 1.0


class Adaptation(NamedTuple):
    """One way to a key.

    `kind` is "same shapes", "retuned" or "new shapes"; `retuned` how many semitones all strings
    move, `steps` how far the part sounds from the record (0 where it cannot be said). `kept` of
    the `hands` stay fret for fret; `open_strings` ring open over one of each voicing; the reach
    is in mm, the highest fret from the nut. `why` says why it is impossible, or what to mind.
    `shape_key` is the key the hands are in ("" where the concert key is not known), `barres` how
    many of the hands want one.
    """

    kind: str
    rig: Setup
    retuned: int
    steps: int
    possible: bool
    hands: tuple[Hand, ...]
    kept: int
    open_strings: int
    stretch_mm: float
    highest_fret: int
    cost: float
    why: str = ""
    shape_key: str = ""
    barres: int = 0

    @property
    def is_far_retuned(self) -> bool:
        """Whether strings are retuned so far that they hang slack or may break."""
        return abs(self.retuned) > FAR_RETUNED

    @property
    def capo(self) -> str:
        """The capos as a person types them; 0 is none."""
        return write_capos(self.rig.capos)

    @property
    def text(self) -> str:
        """The way in a few words: "same shapes, capo 5"."""
        words = [self.kind]
        if self.retuned:
            side = "up" if self.retuned > 0 else "down"
            words = [f"same shapes, all strings {side} {abs(self.retuned)}"]
        words.append(f"capo {self.capo}" if self.rig.capos else "no capo")
        return ", ".join(words)


def signed_steps(steps: int) -> int:
    """The shorter way to a key, -6 to 5 semitones: down where both are as long."""
    return (steps + 6) % 12 - 6


def ways_to_key(
    recorded: tuple[Recorded, ...],
    rig: Setup,
    steps: int,
    key: Key | None,
    *,
    thorough: bool = True,
) -> tuple[Adaptation, ...]:
    """Return the ways to a key `steps` semitones away, the best first, impossible ones last.

    `rig` is the part's as recorded, and `key` the key it arrives in, to spell by. Unless
    `thorough`, new shapes are only looked for where they could be the best way.
    """
    near = signed_steps(steps)
    found = [*_other_capos(recorded, rig, near), *_retunings(recorded, rig, near)]
    cheapest = min(
        (way.cost for way in found if way.possible and not way.is_far_retuned), default=_NEVER
    )
    if thorough or cheapest > _LEARNING * _MOVED_COST:
        found += _new_shapes(recorded, rig, near, key, thorough=thorough)
    found = [_with_shape_key(way, key) for way in found]
    return tuple(
        sorted(found, key=lambda way: (not way.possible, way.is_far_retuned, round(way.cost, 6)))
    )


def _with_shape_key(way: Adaptation, key: Key | None) -> Adaptation:
    """Say the key the hands are in: the capo and the retuning taken off."""
    if key is None:
        return way
    return way._replace(shape_key=key.transpose(-_whole(way.rig) - way.retuned).name)


def way_under(
    recorded: tuple[Recorded, ...], rig: Setup, new: Setup, steps: int, key: Key | None
) -> Adaptation:
    """Return the way to a key with a rig that is given: same shapes where they sound right."""
    hands = []
    for each in recorded:
        hand = same_hand(each, rig, new, steps)
        hands.append(hand if hand.position else new_hand(each, rig, new, signed_steps(steps), key))
    moved = _uniform(rig.tuning, new.tuning)
    kept = all(hand.state == KEPT for hand in hands)
    kind = NEW_SHAPES if not kept else RETUNED if moved else SAME_SHAPES
    return _way(kind, recorded, rig, new, hands, signed_steps(steps))


# Same shapes with another capo


def _other_capos(recorded: tuple[Recorded, ...], rig: Setup, near: int) -> Iterator[Adaptation]:
    base = max((capo.fret for capo in rig.capos if capo.strings is None), default=0)
    tried = sorted((near, near + 12, near - 12), key=lambda steps: (abs(steps), steps))
    why = ""
    possible = False
    for steps in tried:
        fret = base + steps
        if fret < 0:
            if steps == near:
                why = f"the capo would have to sit {-fret} behind the nut"
            continue
        capos = _shifted(rig.capos, steps)
        highest = max((capo.fret for capo in capos), default=0)
        if highest > rig.clear_frets:
            if steps > 0 and not possible:
                why += (" and the one an octave higher" if why else "the capo") + (
                    f" at fret {highest} is past the body, clear up to fret {rig.clear_frets}"
                )
            continue
        new = rig._replace(capos=capos)
        hands = [same_hand(each, rig, new, steps) for each in recorded]
        if not possible or highest <= _LAST_LISTED_CAPO:
            yield _way(SAME_SHAPES, recorded, rig, new, hands, steps)
        possible = True
    if not possible:
        yield _impossible(SAME_SHAPES, rig, near, why)


def _shifted(capos: Capos, steps: int) -> Capos:
    """All capos moved alike; where there is no whole one it comes on, or goes at the nut."""
    moved = [Capo(capo.fret + steps, capo.strings) for capo in capos]
    if steps > 0 and not any(capo.strings is None for capo in capos):
        moved.append(Capo(steps))
    return tuple(sorted((c for c in moved if c.fret > 0), key=lambda c: (c.fret, c.strings or ())))


# Retuned


def _retunings(recorded: tuple[Recorded, ...], rig: Setup, near: int) -> Iterator[Adaptation]:
    if near == 0:
        return
    base = _whole(rig)
    possible = False
    # With the capo on, and with it off: the strings then go less far down.
    for off in dict.fromkeys((0, base)):
        by = near + off
        if by and -SLACK_BELOW <= by <= BREAKS_ABOVE:
            target = rig._replace(capos=_shifted(rig.capos, -off)) if off else rig
            yield _retuned(recorded, rig, target, by)
            possible = True
    if possible:
        return
    limit = (
        f"up {near}: strings break beyond {BREAKS_ABOVE} up"
        if near > 0
        else f"down {-near}: strings hang slack beyond {SLACK_BELOW} down"
    )
    yield _impossible(RETUNED, rig, near, f"all strings would go {limit}")


def _retuned(recorded: tuple[Recorded, ...], rig: Setup, target: Setup, by: int) -> Adaptation:
    new = target._replace(tuning=retune(rig.tuning, by))
    steps = by + _whole(target) - _whole(rig)
    hands = [same_hand(each, rig, new, steps) for each in recorded]
    way = _way(RETUNED, recorded, rig, new, hands, steps)
    mind = "check string gauge: strings pull harder" if by > 0 else ""
    if abs(by) > FAR_RETUNED:
        mind = _SLACK if by < 0 else _BREAKS
    return way._replace(why="; ".join(filter(None, (way.why, mind))))


def _whole(rig: Setup) -> int:
    return max((capo.fret for capo in rig.capos if capo.strings is None), default=0)


def retune(tuning: StringTuning, by: int) -> StringTuning:
    """All strings moved alike by `by` semitones; under its usual name where it has one."""
    strings = tuple(_moved_string(string, by) for string in tuning.strings)
    for usual in usual_tunings():
        same = [(each.course_midi, each.start) for each in usual.strings]
        if same == [(each.course_midi, each.start) for each in strings]:
            return replace(usual, a4_hz=tuning.a4_hz, offset_cents=tuning.offset_cents)
    side = "up" if by > 0 else "down"
    return replace(tuning, name=f"{tuning.name}, all {side} {abs(by)}", strings=strings)


def _moved_string(string: OpenString, by: int) -> OpenString:
    course = tuple(midi_to_name(midi + by) for midi in string.course_midi)
    lowest = min(range(len(course)), key=string.course_midi.__getitem__)
    return OpenString(course[lowest], string.midi + by, course, string.start)


def _uniform(old: StringTuning, new: StringTuning) -> int:
    """By how much all strings were moved alike; 0 where they were not."""
    moved = {after - before for before, after in zip(old.open_midi, new.open_midi, strict=False)}
    return moved.pop() if len(moved) == 1 and len(old) == len(new) else 0


# New shapes


def _new_shapes(
    recorded: tuple[Recorded, ...], rig: Setup, near: int, key: Key | None, *, thorough: bool
) -> Iterator[Adaptation]:
    """Yield new shapes with the capo as it is, with none, and at every fret where it is usual.

    Where every hand stays as it is, they are no new shapes.
    """
    tried: list[Capos] = [rig.capos, ()]
    plain = all(capo.strings is None for capo in rig.capos)
    if thorough and near and plain and "bass" not in rig.tuning.kind:
        last = min(_LAST_LISTED_CAPO, rig.clear_frets)
        tried += [(Capo(fret),) for fret in range(1, last + 1)]
    for capos in dict.fromkeys(tried):
        if near == 0 and capos == rig.capos:
            continue
        new = rig._replace(capos=capos)
        hands = [new_hand(each, rig, new, near, key) for each in recorded]
        if not hands or any(hand.state != KEPT for hand in hands):
            yield _way(NEW_SHAPES, recorded, rig, new, hands, near)


# Figures and ranking


def _way(
    kind: str,
    recorded: tuple[Recorded, ...],
    old: Setup,
    new: Setup,
    hands: Iterable[Hand],
    steps: int,
) -> Adaptation:
    held = tuple(hands)
    positions = [hand.position for hand in held if hand.position is not None]
    unplayable = [hand for hand in held if hand.state == UNPLAYABLE]
    retuned = _uniform(old.tuning, new.tuning)
    way = Adaptation(
        kind,
        new,
        retuned,
        steps,
        not unplayable,
        held,
        sum(hand.state == KEPT for hand in held),
        sum(map(open_strings, positions)),
        max((_reach(position, new) for position in positions), default=0.0),
        max((fret for each in positions for fret in fingered_frets(each)), default=0),
        0.0,
        _reason(unplayable),
    )
    way = way._replace(barres=sum(map(has_barre, positions)))
    return way._replace(cost=_cost(way, recorded, old))


def _reach(position: Position, rig: Setup) -> float:
    return stretch_mm(fingered_frets(position), rig.scale_mm)


def _reason(unplayable: list[Hand]) -> str:
    if not unplayable:
        return ""
    labels = ", ".join(hand.label for hand in unplayable[:4])
    more = f" and {len(unplayable) - 4} more" if len(unplayable) > 4 else ""
    return f"{labels}{more}: {unplayable[0].why}"


def _impossible(kind: str, rig: Setup, steps: int, why: str) -> Adaptation:
    return Adaptation(kind, rig, 0, steps, False, (), 0, 0, 0.0, 0, _NEVER, why)


def _cost(way: Adaptation, recorded: tuple[Recorded, ...], old: Setup) -> float:
    """What a way costs the player; see the module."""
    count = max(len(way.hands), 1)
    cost = _LEARNING * sum(map(_learning, way.hands)) / count
    if way.rig.tuning.open_midi != old.tuning.open_midi:
        cost += _RETUNING_COST + _SEMITONE_COST * abs(way.retuned)
    if way.rig.capos != old.capos and way.rig.capos:
        cost += _CAPO_COST
    if way.kind == NEW_SHAPES:
        cost += _BARRE_COST * way.barres / count
        cost += _CAPO_FRET_COST * _whole(way.rig)
        cost += _HIGH_COST if way.highest_fret > _HIGH_FRET else 0.0
    cost += _awkward(way, recorded, old) + 0.02 * max(abs(way.steps) - 6, 0)
    before = sum(_open_in_chord(each.position) for each in recorded)
    after = sum(_open_in_chord(hand.position) for hand in way.hands if hand.position)
    if before and way.hands:
        cost += _LOST_OPEN_COST * max(before - after, 0) / before
    return cost


def _learning(hand: Hand) -> float:
    """What a hand costs to learn; a single note is found at once."""
    if hand.state == KEPT:
        return 0.0
    alone = hand.position is not None and _sounding(hand.position) == 1
    return _MOVED_COST if hand.state == MOVED or alone else _NEW_COST


def _sounding(position: Position) -> int:
    return sum(at is not None for at in position)


def _open_in_chord(position: Position) -> int:
    """Open strings that ring with others; a single open note is as good fretted."""
    return open_strings(position) if _sounding(position) > 1 else 0


def _awkward(way: Adaptation, recorded: tuple[Recorded, ...], old: Setup) -> float:
    """A capo far up the neck or on a bass is awkward, and one that no open string needs idle."""
    highest = max((capo.fret for capo in way.rig.capos), default=0)
    if not highest or way.rig.capos == old.capos:
        return 0.0
    if highest > AWKWARD_CAPO or "bass" in way.rig.tuning.kind:
        return _AWKWARD_COST
    return 0.0 if any(open_strings(each.position) for each in recorded) else _POINTLESS_COST


def choose_way(ways: tuple[Adaptation, ...], kind: str, part: str, key: str) -> Adaptation:
    """Return the best possible way, of this kind if one is wanted.

    Raises LogbookError where there is none, with the reason.
    """
    wanted = [way for way in ways if kind in ("", way.kind)]
    for way in wanted:
        if way.possible:
            return way
    if not wanted:
        raise LogbookError(
            f"{part} is in {key} as it is, and {kind or 'another way'} would change nothing",
            "say no way, or another key, capo or tuning",
        )
    reason = next((way.why for way in wanted if way.why), "")
    others = dict.fromkeys(way.kind for way in ways if way.possible)
    raise LogbookError(
        f"{part} cannot get to {key} with {kind or 'any shapes'}"
        + (f": {reason}" if reason else ""),
        f"use {' or '.join(others)}" if others else "choose another key, capo or tuning",
    )
