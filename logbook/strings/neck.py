"""The neck a search walks over: what each string can do from each place of the hand."""

from collections.abc import Iterator
from typing import NamedTuple

from logbook.errors import LogbookError
from logbook.strings.capo import Capos, string_stops
from logbook.strings.closeness import SILENT, Measure, RecordedHand
from logbook.strings.frets import Position
from logbook.strings.instruments import KINDS, fret_distance_mm
from logbook.strings.shapes import MUTED, OPEN
from logbook.strings.sounding import unfingered_midi
from logbook.strings.stretch import FINGER_LIMIT, STRETCH_LIMIT_MM
from logbook.strings.tunings import StringTuning

HIGHEST_USUAL_FRET = 15
_SPAN = 4  # four fingers cover five frets at most
_BASS_SPAN = 3  # and on a bass four: a finger a fret


class Limits(NamedTuple):
    """What the player's hand and neck allow.

    `stretch_mm` along the neck, `fingers` without the thumb, `last_fret` from the nut (None:
    the usual one), `scale_mm` the scale length (None: the usual one of the instrument).
    """

    stretch_mm: float = STRETCH_LIMIT_MM
    fingers: int = FINGER_LIMIT
    last_fret: int | None = None
    scale_mm: float | None = None


class Way(NamedTuple):
    """One thing a string can do: its entry in the shape, pitch and the pitch's bits.

    `midi` is SILENT and the bits are 0 where it is left out; `bit` is that of the pitch class,
    `sound` that of the pitch. `cost` is what this string alone adds, as in `closeness`.
    """

    shape: int
    midi: int
    bit: int
    sound: int
    cost: int


class Neck(NamedTuple):
    """The neck that is searched."""

    open_midi: tuple[int, ...]
    stops: tuple[int, ...]
    last_fret: int
    reach: tuple[int, ...]
    distance_mm: tuple[float, ...]
    scale_mm: float


class NeckHand(NamedTuple):
    """One place of the hand.

    `low` is the lowest fingered fret (0: no finger is put down), `ways` what each string can do
    from there; `costs` and `reaches_mm` are what a reach of so many frets costs and measures.
    """

    low: int
    ways: list[list[Way]]
    costs: list[int]
    reaches_mm: list[float]


def neck_of(tuning: StringTuning, capos: Capos, limits: Limits) -> Neck:
    """Return the neck of a tuning with capos on, within the limits.

    Raises LogbookError for limits that nothing fits.
    """
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
    span = _BASS_SPAN if "bass" in kind.name else _SPAN
    mm = tuple(fret_distance_mm(scale_mm, fret) for fret in range(last + 1))
    reach = tuple(
        max(
            fret
            for fret in range(low, min(low + span, last) + 1)
            if mm[fret] - mm[low] <= limits.stretch_mm
        )
        for low in range(last + 1)
    )
    return Neck(unfingered_midi(tuning, stops), stops, last, reach, mm, scale_mm)


def hands(neck: Neck, allowed: int, measure: Measure) -> Iterator[NeckHand]:
    """Yield every place of the hand; only pitch classes in the mask `allowed` may sound."""
    mm = neck.distance_mm

    def way(index: int, shape: int, midi: int) -> Way:
        return Way(shape, midi, 1 << midi % 12, 1 << midi, measure.string(index, midi))

    silent = [Way(MUTED, SILENT, 0, 0, measure.string(n, SILENT)) for n in range(len(neck.stops))]
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
        widths = range(neck.reach[low] - low + 1)
        middles_mm = [(mm[low] + mm[low + width]) / 2 for width in widths]
        reaches_mm = [mm[low + width] - mm[low] for width in widths]
        yield NeckHand(low, ways, measure.hand(low, widths, middles_mm), reaches_mm)
    if min(neck.stops) >= neck.last_fret:
        ways = [[*string, silent[index]] for index, string in enumerate(opened)]
        yield NeckHand(0, ways, [], [])


def recorded_on(near: Position | None, neck: Neck) -> RecordedHand | None:
    """Return what closeness to a position on this neck is measured from, None without one."""
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
    return RecordedHand(notes, sounds, middle)
