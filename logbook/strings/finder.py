"""Other ways to finger it: every playable voicing of a chord, or of the exact same notes.

The search walks the neck. For each lowest fingered fret it tries, string by string, what lies
within the reach from there, the open string, and leaving the string out; a branch is dropped as
soon as the strings left cannot bring the notes still missing. What remains is kept if a hand
can hold it (`fingering`). The weights of the order are common sense (no source): see `_ease`
and `_distance`.

By default a voicing has at most two strings left out between those that sound, and those side
by side, sounds six strings at most, spans five frets at most and stays below fret 16.
"""

from collections import Counter
from collections.abc import Iterator, Sequence
from operator import itemgetter, ne
from typing import NamedTuple

from logbook.errors import LogbookError
from logbook.strings.capo import Capos, string_stops
from logbook.strings.chord_tones import ChordTones, tones_of
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
_SILENT = -1
_LEFT_OUT = 1.5
_LOW = 64
_SPAN = 4  # four fingers cover five frets at most
_Notes = tuple[int, ...]


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
    """One thing a string can do: its entry in the shape, pitch (-1 none) and pitch-class bit."""

    shape: int
    midi: int
    bit: int


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
    root = symbol.root_pc
    neck = _neck(tuning, capos, limits)
    found: dict[tuple[int, Shape], tuple[_Notes, int, int]] = {}
    for low, ways in _hands(neck, tones.allowed):
        for shape, midi, used, have in _walk(ways, tones, limits.fingers):
            left_out = (tones.claimed & ~have).bit_count()
            found[low if used else 0, shape] = midi, used, left_out
    return _ranked(found, neck, limits, near, tones.bass if tones.bass is not None else root)


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
    found: dict[tuple[int, Shape], tuple[_Notes, int, int]] = {}
    wanted = Counter(midi)
    allowed = 0
    for note in wanted:
        allowed |= 1 << note % 12
    for low, ways in _hands(neck, allowed):
        kept = [[way for way in string if way.bit == 0 or way.midi in wanted] for string in ways]
        for shape, notes in _assign(kept, wanted, len(midi)):
            used = fingers_needed(shape)
            if used <= limits.fingers:
                found[low if used else 0, shape] = notes, used, 0
    return _ranked(found, neck, limits, near, min(midi) % 12)


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


def _hands(neck: _Neck, allowed: int) -> Iterator[tuple[int, list[list[_Way]]]]:
    """Yield each lowest fingered fret with what every string can do from there."""
    silent = _Way(MUTED, _SILENT, 0)
    opened = [
        [_Way(OPEN, midi, 1 << midi % 12)] if allowed >> midi % 12 & 1 else []
        for midi in neck.open_midi
    ]
    for low in range(min(neck.stops) + 1, neck.last_fret + 1):
        ways = []
        for index, (midi, stop) in enumerate(zip(neck.open_midi, neck.stops, strict=True)):
            fretted = [
                _Way(fret - low + 1, midi + fret - stop, 1 << (midi + fret - stop) % 12)
                for fret in range(max(low, stop + 1), neck.reach[low] + 1)
                if allowed >> (midi + fret - stop) % 12 & 1
            ]
            ways.append([*fretted, *opened[index], silent])
        yield low, ways
    if min(neck.stops) >= neck.last_fret:
        yield 0, [[*string, silent] for string in opened]


def _walk(
    ways: list[list[_Way]], tones: ChordTones, fingers: int
) -> list[tuple[Shape, _Notes, int, int]]:
    """Return the shapes that have every needed note, the lowest finger at relative fret 1.

    Each comes with its pitches, the number of fingers it takes and the mask of what sounds. A
    shape of open strings alone is returned as well.
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
    found: list[tuple[Shape, _Notes, int, int]] = []
    shape = [MUTED] * count
    midi = [_SILENT] * count

    def visit(index: int, have: int, played: int, held: int, used: int, gap: int) -> None:
        # held: bit n is set while a finger at relative fret n may be laid over the next string;
        # used: fingers so far, with `_LOW` added once one is at the lowest fret.
        if 0 < used < _LOW and not can_low[index]:
            return
        if index == count:
            if have.bit_count() < fewest or not all(have & either for either in one_of):
                return
            if bass is None or min(note for note in midi if note >= 0) % 12 == bass:
                found.append((tuple(shape), tuple(midi), used % _LOW, have))
            return
        after = index + 1
        missing = needed & ~(have | can[after])
        for fret, note, bit in ways[index]:
            if missing & ~bit:
                continue
            if not bit:
                if played + count - after < fewest:
                    continue
                shape[index] = fret
                midi[index] = note
                now = 0 if not played else gap + 1 if gap >= 0 else _ENDED
                visit(after, have, played, held, used, now)
                continue
            if gap > _MOST_LEFT_OUT or gap == _ENDED or played == _MOST_STRINGS:
                continue
            now_held = held & ((2 << fret) - 1) if fret else 0
            now_used = used
            if fret and not now_held >> fret & 1:
                now_held |= 1 << fret
                now_used += 1 if fret > 1 or used >= _LOW else 1 + _LOW
                if now_used % _LOW > fingers:
                    continue
            shape[index] = fret
            midi[index] = note
            visit(after, have | bit, played + 1, now_held, now_used, _CLOSED if gap > 0 else gap)

    visit(0, 0, 0, 0, 0, 0)
    return found


def _assign(ways: list[list[_Way]], wanted: Counter[int], total: int) -> list[tuple[Shape, _Notes]]:
    """Return the shapes that sound exactly the wanted notes, the lowest finger at fret 1."""
    count = len(ways)
    found: list[tuple[Shape, _Notes]] = []
    shape = [MUTED] * count
    midi = [_SILENT] * count
    left = dict(wanted)

    def visit(index: int, missing: int) -> None:
        if missing > count - index:
            return
        if index == count:
            if 1 in shape or max(shape) <= OPEN:
                found.append((tuple(shape), tuple(midi)))
            return
        for fret, note, bit in ways[index]:
            shape[index] = fret
            midi[index] = note
            if not bit:
                visit(index + 1, missing)
            elif left[note]:
                left[note] -= 1
                visit(index + 1, missing - 1)
                left[note] += 1

    visit(0, total)
    return found


def _ranked(
    found: dict[tuple[int, Shape], tuple[_Notes, int, int]],
    neck: _Neck,
    limits: Limits,
    near: Position | None,
    bass: int | None,
) -> tuple[Found, ...]:
    """Keep what a hand can hold, the best first."""
    recorded = None if near is None else _recorded(near, neck)
    ranked = []
    for (low, shape), (midi, used, left_out) in found.items():
        high = low + max(shape) - 1 if low else 0
        ease = _ease(used, shape, midi, low, bass) + _LEFT_OUT * left_out
        distance = ease if recorded is None else _distance(recorded, midi, low, high, neck)
        if recorded is not None:
            distance += 0.1 * ease
        reach_mm = neck.distance_mm[high] - neck.distance_mm[low]
        ranked.append((shape, low, neck.stops, midi, used, reach_mm, round(distance, 3)))
    ranked.sort(key=itemgetter(6, 1, 0))
    return tuple(map(Found._make, ranked))


def _ease(used: int, shape: Shape, midi: _Notes, low: int, bass: int | None) -> float:
    """How far from easy a voicing is: fingers and barres, height, strings left out, bass.

    A string left out on the bass side is cheap, on the treble side dearer, in between dearest.
    """
    silent = shape.count(MUTED)
    first = last = 0
    if silent:
        while shape[first] == MUTED:
            first += 1
        while shape[-1 - last] == MUTED:
            last += 1
    barred = len(shape) - silent - shape.count(OPEN) > used
    cost = used + 0.6 * barred + 0.25 * low + 2.5 * silent - 1.8 * first - 1.0 * last
    high = max(shape)
    if high > 3:
        cost += 0.3 * (high - 3)
    lowest = min(midi) if not silent else min(note for note in midi if note >= 0)
    return cost if bass is None or lowest % 12 == bass else cost + 3.0


class _Recorded(NamedTuple):
    """The voicing that closeness is measured from; `notes` string by string, -1 not played."""

    notes: tuple[int, ...]
    pitches: frozenset[int]
    top: int
    bottom: int
    middle_mm: float | None


def _recorded(near: Position, neck: _Neck) -> _Recorded:
    if len(near) != len(neck.stops):
        raise LogbookError(
            f"the recorded voicing has {len(near)} strings, the tuning {len(neck.stops)}",
            "give one that was played in this tuning",
        )
    notes = tuple(
        _SILENT if at is None else alone + max(at.fret - stop, 0)
        for at, alone, stop in zip(near, neck.open_midi, neck.stops, strict=True)
    )
    pitches = frozenset(note for note in notes if note >= 0)
    frets = [
        at.fret
        for at, stop in zip(near, neck.stops, strict=True)
        if at is not None and at.fret > stop
    ]
    middle = None
    if frets:
        ends = (fret_distance_mm(neck.scale_mm, fret) for fret in (min(frets), max(frets)))
        middle = sum(ends) / 2.0
    return _Recorded(notes, pitches, max(pitches, default=0), min(pitches, default=0), middle)


def _distance(recorded: _Recorded, midi: _Notes, low: int, high: int, neck: _Neck) -> float:
    """How far a voicing is from the recorded one: the hand's way, strings, notes, outer voices."""
    pitches = set(midi)
    pitches.discard(_SILENT)
    way_mm = 0.0
    if low and recorded.middle_mm is not None:
        way_mm = abs((neck.distance_mm[low] + neck.distance_mm[high]) / 2 - recorded.middle_mm)
    strings = sum(map(ne, midi, recorded.notes))
    outer = abs(max(pitches) - recorded.top) + abs(min(pitches) - recorded.bottom)
    notes = len(recorded.pitches ^ pitches)
    return float(way_mm / 30.0 + strings + 0.5 * notes + 0.25 * outer)
