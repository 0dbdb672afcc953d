"""Other ways to finger it: every playable voicing of a chord, or of the exact same notes.

The search walks the neck. For each lowest fingered fret it tries, string by string, what lies
within the reach from there, the open string, and leaving the string out; a branch is dropped as
soon as the strings left cannot bring the notes still missing. What remains is kept if a hand
can hold it (`fingering`). What comes first is weighed in `closeness`, and of the voicings of a
chord the grips that are taught (`grips`) come before all others, in the order of their table.

By default a voicing has at most two strings left out between those that sound, and those side
by side, lies on six neighbouring strings at most, spans five frets at most and stays below
fret 16.
"""

from collections import Counter
from collections.abc import Sequence
from functools import lru_cache
from operator import attrgetter
from typing import NamedTuple

from logbook.errors import LogbookError
from logbook.strings.capo import Capos
from logbook.strings.chord_tones import ChordTones, tones_of
from logbook.strings.closeness import SILENT, Measure
from logbook.strings.fingering import can_hold, fingers_needed, units_of
from logbook.strings.frets import Position, Stopped
from logbook.strings.grips import common_grips
from logbook.strings.neck import (
    HIGHEST_USUAL_FRET,
    Limits,
    Neck,
    NeckHand,
    Way,
    hands,
    neck_of,
    recorded_on,
)
from logbook.strings.shapes import MUTED, OPEN, Shape, shape_of
from logbook.strings.stretch import (
    LITTLE_FINGER_STRINGS,
    STRAIN_CAUTION,
    fingered_frets,
)
from logbook.strings.tunings import StringTuning
from logbook.theory.symbols import ChordSymbol, read_symbol

__all__ = [
    "HIGHEST_USUAL_FRET",
    "STRAIN_CAUTION",
    "Fingering",
    "Limits",
    "find_same_notes",
    "find_voicings",
]

_MOST_LEFT_OUT = 2
_MOST_STRINGS = 6
_CLOSED = -1  # the one gap between sounding strings is behind us
_ENDED = -2  # no string may sound any more
_LOW, _BY_FRET = 64, 128
_NOT_TAUGHT = 4000  # what a voicing that no teacher teaches costs more, in thousandths of a finger
_NEXT_TAUGHT = 100  # what each place down its table costs a grip
_new = tuple.__new__  # thousands are made for a rich chord
_Notes = tuple[int, ...]
_Weighed = tuple[int, int, Shape, _Notes, int, float]
"""A voicing as found: cost, lowest fret (0 without fingers), shape, notes, fingers, reach in mm."""


class Fingering(NamedTuple):
    """One voicing found.

    `shape` is each string low to high: -1 not played, 0 open, else frets counted from the lowest
    fingered fret `low` as 1 (`low` is 0 where no finger is needed); `stops` where each string is
    stopped unfingered; `notes` the MIDI note of each string, -1 where not played. `fingers` is
    how many it takes, `stretch_mm` the reach, `distance` how far it is from the recorded voicing
    where one was given, else from easy; the lowest comes first. `taught` says that it is one of
    the grips every teacher teaches.
    """

    shape: Shape
    low: int
    stops: tuple[int, ...]
    notes: tuple[int, ...]
    fingers: int
    stretch_mm: float
    distance: float
    taught: bool = False

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
    tuning: StringTuning,
    capos: Capos = (),
    *,
    near: Position | None = None,
    limits: Limits | None = None,
) -> tuple[Fingering, ...]:
    """Return every playable voicing of a chord, the closest to `near` first.

    Without `near` the grips that are taught come first, then the easiest.

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
        _walk(hand, tones, limits, measure, found)
    positions = common_grips(symbol, tuning, capos, last_fret=neck.last_fret)
    taught = [
        each
        for position in positions
        if (each := _weigh(position, neck, measure))[4] <= limits.fingers
        and round(each[5]) <= limits.stretch_mm
    ]
    if near is None:
        taught = [(place * _NEXT_TAUGHT, *each[1:]) for place, each in enumerate(taught)]
    return _ranked(found, neck, taught, _NOT_TAUGHT if taught and near is None else 0)


def find_same_notes(
    midi: Sequence[int],
    tuning: StringTuning,
    capos: Capos = (),
    *,
    near: Position | None = None,
    limits: Limits | None = None,
) -> tuple[Fingering, ...]:
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
        _assign(hand, wanted, len(midi), limits, measure, found)
    return _ranked(found, neck)


def _walk(
    hand: NeckHand, tones: ChordTones, limits: Limits, measure: Measure, found: list[_Weighed]
) -> None:
    """Find the shapes that have every needed note, the lowest finger at the hand's lowest fret.

    Shapes of open strings alone are found as well.
    """
    low, ways, by_width, reaches_mm = hand
    reach_mm, stretch_mm, fingers = tuple(reaches_mm), limits.stretch_mm, limits.fingers
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
    holds: dict[int, bool] = {}  # whether so many fingers at each fret are within reach

    def keep(have: int, sounds: int, cost: int, pressed: int, used: int) -> None:
        for either in one_of:
            if not have & either:
                return
        if bass is None or ((sounds & -sounds).bit_length() - 1) % 12 == bass:
            width = (used.bit_length() - 8) // 3  # of the highest fret that has its three bits
            used %= _LOW
            held = tuple(shape)
            if (
                used > 2
                and held.count(width + 1) > LITTLE_FINGER_STRINGS
                and not can_hold(units_of(held), reach_mm, stretch_mm, fingers)
            ):
                return
            cost += rest(used, pressed > used, sounds, have)
            if used:
                cost += by_width[width]
                found.append((cost, low, held, tuple(midi), used, reaches_mm[width]))
            else:
                found.append((cost, 0, held, tuple(midi), 0, 0.0))

    def visit(
        index: int, have: int, sounds: int, cost: int, first: int, pressed: int,
        held: int, used: int, gap: int,
    ) -> None:  # fmt: skip
        # first: the string that sounds first, -1 as long as none does; pressed: strings that a
        # finger presses; held: bit n is set while a finger at relative fret n may be laid over
        # the next string; used: fingers so far, with `_LOW` added once one is at the lowest fret,
        # and from `_BY_FRET` on how many are at each fret.
        if used and not used & _LOW and not can_low[index]:
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
                    if have.bit_count() >= fewest and (used & _LOW or not used):
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
                now_used += 1 + (_BY_FRET << 3 * fret - 3)
                if fret == 1:
                    now_used |= _LOW
                fits = holds.get(now_used)
                if fits is None:
                    fits = _can_reach(now_used // _BY_FRET, reach_mm, stretch_mm, fingers)
                    holds[now_used] = fits
                if not fits:
                    continue
            now_gap = gap
            if gap > 0:
                now += gap * between
                now_gap = _CLOSED
            now_pressed = pressed + 1 if fret else pressed
            if is_last:
                if (have | bit).bit_count() >= fewest and (now_used & _LOW or not now_used):
                    keep(have | bit, sounds | sound, now, now_pressed, now_used)
            else:
                visit(
                    after, have | bit, sounds | sound, now, index if first < 0 else first,
                    now_pressed, now_held, now_used, now_gap,
                )  # fmt: skip

    visit(0, 0, 0, 0, -1, 0, 0, 0, 0)


@lru_cache(maxsize=16384)
def _can_reach(by_fret: int, reach_mm: tuple[float, ...], stretch_mm: float, fingers: int) -> bool:
    """Say whether so many fingers at each fret, three bits for each, are within reach."""
    units = []
    fret = 1
    while by_fret:
        units += [(fret, 1)] * (by_fret & 7)
        by_fret >>= 3
        fret += 1
    return can_hold(tuple(units), reach_mm, stretch_mm, fingers)


def _assign(
    hand: NeckHand,
    wanted: Counter[int],
    total: int,
    limits: Limits,
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
            units = units_of(shape)
            used = len(units)
            if (not used or 1 in shape) and can_hold(
                units, tuple(hand.reaches_mm), limits.stretch_mm, limits.fingers
            ):
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


def _weighed(
    hand: NeckHand, chosen: list[Way], shape: Shape, used: int, measure: Measure
) -> _Weighed:
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


def _weigh(position: Position, neck: Neck, measure: Measure) -> _Weighed:
    """Weigh a position that was not found by walking the neck."""
    shape, mm = shape_of(position), neck.distance_mm
    notes = tuple(
        SILENT if at is None else alone + at.fret - stop
        for at, alone, stop in zip(position, neck.open_midi, neck.stops, strict=True)
    )
    played = [index for index, note in enumerate(notes) if note != SILENT]
    sounds = have = 0
    for index in played:
        sounds |= 1 << notes[index]
        have |= 1 << notes[index] % 12
    cost = sum(measure.string(index, note) for index, note in enumerate(notes))
    cost += played[0] * measure.low_out + (len(notes) - played[0] - len(played)) * measure.high_out
    cost += (played[-1] + 1 - played[0] - len(played)) * measure.between
    used = fingers_needed(shape)
    cost += measure.rest(used, sum(fret > OPEN for fret in shape) > used, sounds, have)
    if not used:
        return cost, 0, shape, notes, 0, 0.0
    frets = fingered_frets(position)
    low, high = min(frets), max(frets)
    cost += measure.hand(low, [high - low], [(mm[low] + mm[high]) / 2])[0]
    return cost, low, shape, notes, used, mm[high] - mm[low]


def _ranked(
    found: list[_Weighed],
    neck: Neck,
    taught: Sequence[_Weighed] = (),
    more: int = 0,
) -> tuple[Fingering, ...]:
    """Return what was found, the best first.

    `taught` stand in the place of the same voicings found; the others cost `more`. What needs no
    finger was found at every fret.
    """
    known = {(each[2], each[3]) for each in taught}
    stops = neck.stops
    first = [
        Fingering(shape, low, stops, notes, used, reach_mm, cost / 1000, taught=True)
        for cost, low, shape, notes, used, reach_mm in taught
    ]
    ranked = []
    last: Shape = ()
    found.sort()
    for cost, low, shape, notes, used, reach_mm in found:
        if known and (shape, notes) in known:
            continue
        if not used:
            if shape == last:
                continue
            last = shape
        parts = (shape, low, stops, notes, used, reach_mm, (cost + more) / 1000, False)
        ranked.append(_new(Fingering, parts))
    if first and not more:
        return tuple(sorted([*first, *ranked], key=attrgetter("distance", "low", "shape")))
    return (*first, *ranked)
