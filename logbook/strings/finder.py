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
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from logbook.errors import LogbookError
from logbook.strings.capo import Capos, string_stops
from logbook.strings.chord_tones import ChordTones, tones_of
from logbook.strings.closeness import SILENT, Measure, Recorded
from logbook.strings.fingering import MUTED, OPEN, Shape, fingers_needed
from logbook.strings.frets import Position, Stopped
from logbook.strings.instruments import KINDS, fret_distance_mm
from logbook.strings.sounding import unfingered_midi
from logbook.strings.stretch import FINGER_LIMIT, STRAIN_CAUTION, STRETCH_LIMIT_MM
from logbook.strings.tunings import Tuning
from logbook.theory.symbols import ChordSymbol, read_symbol

__all__ = ["STRAIN_CAUTION", "Found", "Limits", "find_same_notes", "find_voicings"]

HIGHEST_USUAL_FRET = 15
_MOST_LEFT_OUT = 2
_MOST_STRINGS = 6
_CLOSED = -1  # the one gap between sounding strings is behind us
_ENDED = -2  # no string may sound any more
_LOW = 64
_SPAN = 4  # four fingers cover five frets at most
_Notes = tuple[int, ...]
_Raw = tuple[Shape, _Notes, int, int, int, bool, int]
"""A voicing as the walk leaves it: shape, notes, fingers, pitch-class bits, pitch bits, whether
a finger presses several strings, and what its strings cost."""


class Limits(NamedTuple):
    """What the player's hand and neck allow.

    `stretch_mm` along the neck, `fingers` without the thumb, `last_fret` from the nut (None:
    the usual one), `scale_mm` the scale length (None: the usual one of the instrument).
    """

    stretch_mm: float = STRETCH_LIMIT_MM
    fingers: int = FINGER_LIMIT
    last_fret: int | None = None
    scale_mm: float | None = None


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


class _Way(NamedTuple):
    """One thing a string can do: its entry in the shape, pitch and the pitch's bits.

    `midi` is SILENT and the bits are 0 where it is left out; `bit` is that of the pitch class,
    `sound` that of the pitch. `cost` is what this string alone adds, as in `closeness`.
    """

    shape: int
    midi: int
    bit: int
    sound: int
    cost: int


class _Neck(NamedTuple):
    """The neck that is searched."""

    open_midi: tuple[int, ...]
    stops: tuple[int, ...]
    last_fret: int
    reach: tuple[int, ...]
    distance_mm: tuple[float, ...]
    scale_mm: float


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
    neck = _neck(tuning, capos, limits)
    measure = Measure(bass, tones.claimed, _recorded(near, neck))
    hands = (
        (low, _walk(ways, tones, limits.fingers, measure))
        for low, ways in _hands(neck, tones.allowed, measure)
    )
    return _ranked(hands, neck, measure)


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
    neck = _neck(tuning, capos, limits)
    wanted = Counter(midi)
    allowed = 0
    for note in wanted:
        allowed |= 1 << note % 12
    measure = Measure(None, 0, _recorded(near, neck))
    hands = (
        (low, _assign(ways, wanted, len(midi), limits.fingers, measure))
        for low, ways in _hands(neck, allowed, measure)
    )
    return _ranked(hands, neck, measure)


def _neck(tuning: Tuning, capos: Capos, limits: Limits) -> _Neck:
    kind = KINDS.get(tuning.kind, KINDS["guitar"])
    scale_mm = limits.scale_mm or kind.scale_mm
    if limits.stretch_mm < 0 or limits.fingers < 1:
        raise LogbookError(
            f"no hand has {limits.fingers} fingers and reaches {limits.stretch_mm:g} mm",
            "give one finger or more, and a reach in mm of 0 or more",
        )
    stops = string_stops(tuning, capos)
    last = limits.last_fret
    if last is None:
        last = min(kind.frets, HIGHEST_USUAL_FRET + min(stops))
    if last < 0:
        raise LogbookError(f"there is no fret {last}", "give the last fret, such as 15")
    mm = tuple(fret_distance_mm(scale_mm, fret) for fret in range(last + 1))
    reach = tuple(
        max(
            fret
            for fret in range(low, min(low + _SPAN, last) + 1)
            if mm[fret] - mm[low] <= limits.stretch_mm
        )
        for low in range(last + 1)
    )
    return _Neck(unfingered_midi(tuning, stops), stops, last, reach, mm, scale_mm)


def _hands(neck: _Neck, allowed: int, measure: Measure) -> Iterator[tuple[int, list[list[_Way]]]]:
    """Yield each lowest fingered fret with what every string can do from there."""

    def way(index: int, shape: int, midi: int) -> _Way:
        return _Way(shape, midi, 1 << midi % 12, 1 << midi, measure.string(index, midi))

    silent = [_Way(MUTED, SILENT, 0, 0, measure.string(n, SILENT)) for n in range(len(neck.stops))]
    opened = [
        [way(index, OPEN, midi)] if allowed >> midi % 12 & 1 else []
        for index, midi in enumerate(neck.open_midi)
    ]
    for low in range(min(neck.stops) + 1, neck.last_fret + 1):
        ways = []
        for index, (midi, stop) in enumerate(zip(neck.open_midi, neck.stops, strict=True)):
            fretted = [
                way(index, fret - low + 1, midi + fret - stop)
                for fret in range(max(low, stop + 1), neck.reach[low] + 1)
                if allowed >> (midi + fret - stop) % 12 & 1
            ]
            ways.append([*fretted, *opened[index], silent[index]])
        yield low, ways
    if min(neck.stops) >= neck.last_fret:
        yield 0, [[*string, silent[index]] for index, string in enumerate(opened)]


def _walk(ways: list[list[_Way]], tones: ChordTones, fingers: int, measure: Measure) -> list[_Raw]:
    """Return the shapes that have every needed note, the lowest finger at relative fret 1.

    Shapes of open strings alone are returned as well.
    """
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
    found: list[_Raw] = []
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
            found.append((tuple(shape), tuple(midi), used, have, sounds, pressed > used, cost))

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
    return found


def _assign(
    ways: list[list[_Way]], wanted: Counter[int], total: int, fingers: int, measure: Measure
) -> list[_Raw]:
    """Return the shapes that sound exactly the wanted notes, the lowest finger at fret 1."""
    kept = [[way for way in string if not way.bit or way.midi in wanted] for string in ways]
    count = len(kept)
    found: list[_Raw] = []
    chosen: list[_Way] = []
    left = dict(wanted)

    def visit(index: int, missing: int) -> None:
        if missing > count - index:
            return
        if index == count:
            shape = tuple(way.shape for way in chosen)
            used = fingers_needed(shape)
            if used <= fingers and (not used or 1 in shape):
                found.append(_raw(chosen, shape, used, measure))
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
    return found


def _raw(chosen: list[_Way], shape: Shape, used: int, measure: Measure) -> _Raw:
    played = [index for index, way in enumerate(chosen) if way.bit]
    between = played[-1] + 1 - played[0] - len(played)
    cost = sum(way.cost for way in chosen) + played[0] * measure.low_out
    cost += (len(chosen) - played[0] - len(played)) * measure.high_out + between * measure.between
    sounds = 0
    for way in chosen:
        sounds |= way.sound
    pressed = sum(fret > OPEN for fret in shape)
    midi = tuple(way.midi for way in chosen)
    return shape, midi, used, 0, sounds, pressed > used, cost


def _ranked(
    hands: Iterator[tuple[int, list[_Raw]]], neck: _Neck, measure: Measure
) -> tuple[Found, ...]:
    """Weigh what was found, the best first; shapes that need no finger are the same everywhere."""
    ranked = []
    rest = measure.rest
    free: set[Shape] = set()
    mm, stops = neck.distance_mm, neck.stops
    for low, raws in hands:
        widths = range(neck.reach[low] - low + 1)
        middles = [(mm[low] + mm[low + width]) / 2 for width in widths]
        by_width = measure.hand(low, widths, middles)
        for shape, midi, used, have, sounds, barred, cost in raws:
            width = max(shape) - 1
            cost += rest(used, barred, sounds, have)
            if used:
                at, reach_mm = low, mm[low + width] - mm[low]
                cost += by_width[width]
            elif shape in free:
                continue
            else:
                free.add(shape)
                at, reach_mm = 0, 0.0
            ranked.append((cost, at, shape, midi, used, reach_mm))
    ranked.sort()
    return tuple(
        [
            Found(shape, low, stops, midi, used, reach_mm, cost / 1000)
            for cost, low, shape, midi, used, reach_mm in ranked
        ]
    )


def _recorded(near: Position | None, neck: _Neck) -> Recorded | None:
    if near is None:
        return None
    if len(near) != len(neck.stops):
        raise LogbookError(
            f"the recorded voicing has {len(near)} strings, the tuning {len(neck.stops)}",
            "give one that was played in this tuning",
        )
    notes = tuple(
        SILENT if at is None else alone + max(at.fret - stop, 0)
        for at, alone, stop in zip(near, neck.open_midi, neck.stops, strict=True)
    )
    sounds = 0
    for note in notes:
        sounds |= 1 << note if note != SILENT else 0
    frets = [
        at.fret
        for at, stop in zip(near, neck.stops, strict=True)
        if at is not None and at.fret > stop
    ]
    middle = None
    if frets:
        ends = (fret_distance_mm(neck.scale_mm, fret) for fret in (min(frets), max(frets)))
        middle = sum(ends) / 2.0
    return Recorded(notes, sounds, middle)
