"""Other ways to finger it: every playable voicing of a chord, or of the exact same notes.

The search walks the neck. For each lowest fingered fret it tries, string by string, what lies
within the reach from there, the open string, and leaving the string out; a branch is dropped as
soon as the strings left cannot bring the notes still missing. What remains is kept if a hand
can hold it (`fingering`). What comes first is weighed in `closeness`.

By default a voicing has at most two strings left out between those that sound, and those side
by side, lies on six neighbouring strings at most, spans five frets at most and stays below
fret 16.
"""

from collections import Counter
from collections.abc import Sequence
from operator import attrgetter
from typing import NamedTuple

from logbook.errors import LogbookError
from logbook.strings.capo import Capos
from logbook.strings.chord_tones import ChordTones, tones_of
from logbook.strings.closeness import SILENT, Measure
from logbook.strings.fingering import MUTED, OPEN, Shape, fingers_needed
from logbook.strings.frets import Position, Stopped
from logbook.strings.neck import (
    HIGHEST_USUAL_FRET,
    Hand,
    Limits,
    Neck,
    Way,
    hands,
    neck_of,
    recorded_on,
)
from logbook.strings.stretch import STRAIN_CAUTION
from logbook.strings.tunings import Tuning
from logbook.theory.symbols import ChordSymbol, read_symbol

__all__ = [
    "HIGHEST_USUAL_FRET",
    "STRAIN_CAUTION",
    "Found",
    "Limits",
    "find_same_notes",
    "find_voicings",
]

_MOST_LEFT_OUT = 2
_MOST_STRINGS = 6
_CLOSED = -1  # the one gap between sounding strings is behind us
_ENDED = -2  # no string may sound any more
_LOW = 64
_Notes = tuple[int, ...]
_Weighed = tuple[int, int, Shape, _Notes, int, float]
"""A voicing as found: cost, lowest fret (0 without fingers), shape, notes, fingers, reach in mm."""


class Found(NamedTuple):
    """One voicing found.

    `shape` is each string low to high: -1 not played, 0 open, else frets counted from the lowest
    fingered fret `low` as 1 (`low` is 0 where no finger is needed); `stops` where each string is
    stopped unfingered; `notes` the MIDI note of each string, -1 where not played. `fingers` is
    how many it takes, `stretch_mm` the reach, `distance` how far it is from the recorded voicing
    where one was given, else from easy; the lowest comes first.
    """

    shape: Shape
    low: int
    stops: tuple[int, ...]
    notes: tuple[int, ...]
    fingers: int
    stretch_mm: float
    distance: float

    @property
    def position(self) -> Position:
        """Where each string is stopped on the neck."""
        return tuple(
            None if fret == MUTED else Stopped(stop if fret == OPEN else self.low + fret - 1, stop)
            for fret, stop in zip(self.shape, self.stops, strict=True)
        )

    @property
    def midi(self) -> tuple[int | None, ...]:
        """The MIDI note of each string, None where it is not played."""
        return tuple(None if note < 0 else note for note in self.notes)


def find_voicings(
    chord: str | ChordSymbol,
    tuning: Tuning,
    capos: Capos = (),
    *,
    near: Position | None = None,
    limits: Limits | None = None,
) -> tuple[Found, ...]:
    """Return every playable voicing of a chord, the closest to `near` first (or the easiest).

    Raises LogbookError for a chord that cannot be read or limits that nothing fits.
    """
    limits = limits or Limits()
    symbol = read_symbol(chord) if isinstance(chord, str) else chord
    tones = tones_of(symbol)
    bass = symbol.root_pc if tones.bass is None else tones.bass
    neck = neck_of(tuning, capos, limits)
    measure = Measure(
        bass,
        tones.claimed,
        recorded_on(near, neck),
        lowest_open=min(string.midi for string in tuning.strings),
    )
    found: list[_Weighed] = []
    for hand in hands(neck, tones.allowed, measure):
        _walk(hand, tones, limits.fingers, measure, found)
    return _ranked(found, neck)


def find_same_notes(
    midi: Sequence[int],
    tuning: Tuning,
    capos: Capos = (),
    *,
    near: Position | None = None,
    limits: Limits | None = None,
) -> tuple[Found, ...]:
    """Return every playable voicing that sounds exactly these MIDI notes, each as often as given.

    Raises LogbookError where no note is given or limits are given that nothing fits.
    """
    if not midi:
        raise LogbookError("there are no notes to finger", "give a voicing that sounds")
    limits = limits or Limits()
    neck = neck_of(tuning, capos, limits)
    wanted = Counter(midi)
    allowed = 0
    for note in wanted:
        allowed |= 1 << note % 12
    measure = Measure(None, 0, recorded_on(near, neck))
    found: list[_Weighed] = []
    for hand in hands(neck, allowed, measure):
        _assign(hand, wanted, len(midi), limits.fingers, measure, found)
    return _ranked(found, neck)


def _walk(
    hand: Hand, tones: ChordTones, fingers: int, measure: Measure, found: list[_Weighed]
) -> None:
    """Find the shapes that have every needed note, the lowest finger at the hand's lowest fret.

    Shapes of open strings alone are found as well.
    """
    low, ways, by_width, reaches_mm = hand
    count = len(ways)
    can = [0] * (count + 1)  # what the strings from here on can still bring
    can_low = [False] * (count + 1)  # whether one of them can be at the lowest fret
    for index in range(count - 1, -1, -1):
        can[index] = can[index + 1]
        for way in ways[index]:
            can[index] |= way.bit
        can_low[index] = can_low[index + 1] or any(way.shape == 1 for way in ways[index])
    needed, one_of, fewest, bass = tones.needed, tones.one_of, tones.fewest, tones.bass
    low_out, high_out, between = measure.low_out, measure.high_out, measure.between
    rest = measure.rest
    shape = [MUTED] * count
    midi = [SILENT] * count

    def keep(have: int, sounds: int, cost: int, pressed: int, used: int) -> None:
        if have.bit_count() < fewest or (used and used < _LOW):
            return
        for either in one_of:
            if not have & either:
                return
        if bass is None or ((sounds & -sounds).bit_length() - 1) % 12 == bass:
            used %= _LOW
            cost += rest(used, pressed > used, sounds, have)
            if used:
                width = max(shape) - 1
                cost += by_width[width]
                reach_mm = reaches_mm[width]
                found.append((cost, low, tuple(shape), tuple(midi), used, reach_mm))
            else:
                found.append((cost, 0, tuple(shape), tuple(midi), 0, 0.0))

    def visit(
        index: int, have: int, sounds: int, cost: int, first: int, pressed: int,
        held: int, used: int, gap: int,
    ) -> None:  # fmt: skip
        # first: the string that sounds first, -1 as long as none does; pressed: strings that a
        # finger presses; held: bit n is set while a finger at relative fret n may be laid over
        # the next string; used: fingers so far, with `_LOW` added once one is at the lowest fret.
        if 0 < used < _LOW and not can_low[index]:
            return
        after = index + 1
        is_last = after == count
        missing = needed & ~(have | can[after])
        may_sound = (
            gap <= _MOST_LEFT_OUT and gap != _ENDED and (first < 0 or index - first < _MOST_STRINGS)
        )
        for fret, note, bit, sound, extra in ways[index]:
            if missing & ~bit:
                continue
            shape[index] = fret
            midi[index] = note
            now = cost + extra
            if not bit:
                if first < 0:
                    if count - after >= fewest:
                        visit(after, 0, 0, now + low_out, -1, 0, 0, 0, 0)
                elif is_last:
                    keep(have, sounds, now + high_out, pressed, used)
                else:
                    left_out = gap + 1 if gap >= 0 else _ENDED
                    now += high_out
                    visit(after, have, sounds, now, first, pressed, held, used, left_out)
                continue
            if not may_sound:
                continue
            now_held, now_used = held & ((2 << fret) - 1) if fret else 0, used
            if fret and not now_held >> fret & 1:
                now_held |= 1 << fret
                now_used += 1 if fret > 1 or used >= _LOW else 1 + _LOW
                if now_used % _LOW > fingers:
                    continue
            now_gap = gap
            if gap > 0:
                now += gap * between
                now_gap = _CLOSED
            now_pressed = pressed + 1 if fret else pressed
            if is_last:
                keep(have | bit, sounds | sound, now, now_pressed, now_used)
            else:
                visit(
                    after, have | bit, sounds | sound, now, index if first < 0 else first,
                    now_pressed, now_held, now_used, now_gap,
                )  # fmt: skip

    visit(0, 0, 0, 0, -1, 0, 0, 0, 0)


def _assign(
    hand: Hand,
    wanted: Counter[int],
    total: int,
    fingers: int,
    measure: Measure,
    found: list[_Weighed],
) -> None:
    """Find the shapes that sound exactly the wanted notes, the lowest finger at the lowest fret."""
    kept = [[way for way in string if not way.bit or way.midi in wanted] for string in hand.ways]
    count = len(kept)
    chosen: list[Way] = []
    left = dict(wanted)

    def visit(index: int, missing: int) -> None:
        if missing > count - index:
            return
        if index == count:
            shape = tuple(way.shape for way in chosen)
            used = fingers_needed(shape)
            if used <= fingers and (not used or 1 in shape):
                found.append(_weighed(hand, chosen, shape, used, measure))
            return
        for way in kept[index]:
            chosen.append(way)
            if not way.bit:
                visit(index + 1, missing)
            elif left[way.midi]:
                left[way.midi] -= 1
                visit(index + 1, missing - 1)
                left[way.midi] += 1
            chosen.pop()

    visit(0, total)


def _weighed(hand: Hand, chosen: list[Way], shape: Shape, used: int, measure: Measure) -> _Weighed:
    played = [index for index, way in enumerate(chosen) if way.bit]
    between = played[-1] + 1 - played[0] - len(played)
    cost = sum(way.cost for way in chosen) + played[0] * measure.low_out
    cost += (len(chosen) - played[0] - len(played)) * measure.high_out + between * measure.between
    sounds = 0
    for way in chosen:
        sounds |= way.sound
    cost += measure.rest(used, sum(fret > OPEN for fret in shape) > used, sounds, 0)
    midi = tuple(way.midi for way in chosen)
    if not used:
        return cost, 0, shape, midi, 0, 0.0
    width = max(shape) - 1
    return cost + hand.costs[width], hand.low, shape, midi, used, hand.reaches_mm[width]


def _ranked(found: list[_Weighed], neck: Neck) -> tuple[Found, ...]:
    """Return what was found, the best first; what needs no finger was found at every fret."""
    found.sort()
    stops = neck.stops
    ranked = [
        Found(shape, low, stops, midi, used, reach_mm, cost / 1000)
        for cost, low, shape, midi, used, reach_mm in found
        if used
    ]
    free = [
        Found(shape, 0, stops, midi, 0, 0.0, cost / 1000)
        for cost, shape, midi in sorted({(raw[0], raw[2], raw[3]) for raw in found if not raw[4]})
    ]
    if free:
        ranked = sorted([*free, *ranked], key=attrgetter("distance", "low", "shape"))
    return tuple(ranked)
