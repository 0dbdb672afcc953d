"""Chord names from notes, ranked on principle.

The notes become a mask of twelve pitch classes above the bass. For each possible root the mask is
turned so that the root is bit 0 and looked up in the index of `kinds`: whole chords, chords with
degrees left out, chords with a note added. Each reading costs points for how rare the kind is,
what is left out or added, and what stands in the bass; the key and the chord before then tip the
balance between near equals. Fewest points first. (Judgement throughout; common practice.)

Everything is counted from the bass, so a voicing is named alike in every transposition.
"""

from __future__ import annotations

from collections.abc import Sequence
from operator import itemgetter

from logbook.errors import LogbookError
from logbook.theory.chord_name import PLAUSIBLE_BELOW, ChordName
from logbook.theory.chord_symbol import ChordSymbol
from logbook.theory.context import Context, context_of
from logbook.theory.degrees import degree_fifths, degree_semitones
from logbook.theory.keys import Key
from logbook.theory.kinds import Index, Kind, Reading
from logbook.theory.notes import (
    PLAIN_NAMES,
    fifths_to_name,
    name_to_fifths,
    nearest_fifths,
    plain_root,
)
from logbook.theory.spelling import root_fifths

__all__ = ["ChordName", "name_chord"]

_MOST = 20  # readings given for ordinary chords
_WINDOW = 50  # and none dearer than the best by more than this
_ODD_FROM = 18  # from here on the notes are odd enough to list common kinds on the bass
_ODDER_FROM = 35  # and from here on chords on other roots with two notes added
_FAR = 100  # cost at which those far-fetched readings start
_ROOTLESS_BASS = 8

# No name takes more than a double accidental.
_NAMES = {
    fifths: fifths_to_name(fifths - 12 if fifths > 19 else fifths + 12 if fifths < -15 else fifths)
    for fifths in range(-28, 32)
}
_PLAIN_FIFTHS = (
    tuple(name_to_fifths(plain_root(pc, minor=False)) for pc in range(12)),
    tuple(name_to_fifths(plain_root(pc, minor=True)) for pc in range(12)),
)
_LOW_BITS = [frozenset(n for n in range(6) if half >> n & 1) for half in range(64)]
_HIGH_BITS = [frozenset(n + 6 for n in range(6) if half >> n & 1) for half in range(64)]
_NOTHING: frozenset[int] = frozenset()
_made: list[Index] = []


def _index() -> Index:
    if not _made:
        _made.append(Index())
    return _made[0]


def name_chord(
    midi: Sequence[int],
    *,
    key: str | Key | None = None,
    bass: int | None = None,
    before: str | None = None,
) -> tuple[ChordName, ...]:
    """Names of the chord that these MIDI note numbers make, best first; never empty.

    `key` spells the names and breaks ties; `bass` is the pitch class that another part plays
    below; `before` is the symbol of the chord before. Notes that deserve no name come back first
    as a ChordName with `named` False that lists them. Raises LogbookError when there are no notes,
    for a key that does not exist and for a chord before that cannot be read.
    """
    if not len(midi):
        raise LogbookError("there are no notes to name", "give at least one note number")
    low = (min(midi) if bass is None else bass) % 12
    mask = 1
    for note in midi:
        mask |= 1 << (note - low) % 12
    context = context_of(key, before) if key is not None or before else None
    index = _made[0] if _made else _index()
    found = _readings(mask, index)
    if context:
        found = [
            (cost + context.cost((low + step) % 12, reading[1][2]), step, reading)
            for cost, step, reading in found
        ]
    found.sort(key=_first)
    best = found[0][0] if found else _FAR
    limit = best + _WINDOW
    names = [
        _name(cost, (low + step) % 12, reading[1], reading[2], reading[3], low, context)
        for cost, step, reading in found[:_MOST]
        if cost <= limit
    ]
    if best >= PLAUSIBLE_BELOW:
        names.insert(0, _nameless(mask, low, context))
    if best >= _ODD_FROM:
        names.extend(_far_fetched(mask, low, index, context, names, best >= _ODDER_FROM))
    return tuple(names)


def spelled_before(name: ChordName, after: ChordSymbol) -> ChordName:
    """A name with its root spelled as the chord after it asks: D#dim7 before Em, Ebdim7 before Dm.

    A name that deserves none, or that comes before N.C., stays as it is.
    """
    if not name.named or after.is_no_chord:
        return name
    key = name.context.key if name.context else None
    fifths = root_fifths(name.root, name.degrees, key, name_to_fifths(after.root))
    if _NAMES[fifths] == name.root_name:
        return name
    spelled = _spelled(name.root, fifths, name.suffix, name.degrees, name.bass, name.context)
    return name._replace(symbol=spelled[0], root_name=spelled[1], bass_name=spelled[2])


def _spelled(
    root: int,
    fifths: int,
    suffix: str,
    degrees: tuple[str, ...],
    low: int,
    context: Context | None,
) -> tuple[str, str, str]:
    """Symbol, root name and bass name of a chord whose root is spelled so."""
    root_name = _NAMES[fifths]
    if root == low:
        return root_name + suffix, root_name, root_name
    above = (low - root) % 12
    own = next((degree for degree in degrees if degree_semitones(degree) == above), None)
    if own is None:  # foreign to the chord: spelled by the key, or near the root
        bass = context.fifths[low] if context else nearest_fifths(low, fifths / 2)
    else:
        bass = fifths + degree_fifths(own)
        if not -8 <= bass <= 12 and not (context and context.double == bass):
            bass += 12 if bass < 0 else -12  # read as its plain neighbour
    return f"{root_name}{suffix}/{_NAMES[bass]}", root_name, _NAMES[bass]


_first = itemgetter(0)


def _readings(mask: int, index: Index) -> list[tuple[int, int, Reading]]:
    """Every reading of a mask above the bass: (cost, root above the bass in semitones, reading)."""
    found: list[tuple[int, int, Reading]] = []
    twice = mask | mask << 12
    upper = (mask & 0xFFE) * 0x1001
    readings, over_bass = index.readings(mask.bit_count()), index.over_bass
    for step in range(12):
        above = -step % 12
        for reading in readings.get(twice >> step & 0xFFF, ()):
            if above in reading[3] and reading[1][2] in over_bass and not reading[2]:
                continue  # comes up below, as a whole chord over a foreign bass
            bass_cost = _ROOTLESS_BASS if 0 in reading[2] else reading[4][above]
            found.append((reading[0] + bass_cost, step, reading))
        above_foreign = over_bass.get(upper >> step & 0xFFF)
        if above_foreign:
            found.append((above_foreign[0], step, above_foreign))
    return found


def _name(
    cost: int,
    root: int,
    kind: Kind,
    omits: frozenset[int],
    adds: frozenset[int],
    low: int,
    context: Context | None,
) -> ChordName:
    suffix, degrees, _, intervals, _, fifths_above, minor = kind
    fifths = context.root_fifths(root, suffix, degrees) if context else _PLAIN_FIFTHS[minor][root]
    root_name = _NAMES[fifths]
    if root == low:
        bass_name = root_name
        symbol = root_name + suffix
    else:
        above = (low - root) % 12
        if above in adds:
            adds = adds - {above}  # the slash says it
        if above in intervals:
            bass_fifths = fifths + fifths_above[above]
            if not -8 <= bass_fifths <= 12 and not (
                context and context.double == bass_fifths
            ):  # a double accidental that the key does not ask for is read as its plain neighbour
                bass_fifths += 12 if bass_fifths < 0 else -12
        else:  # foreign to the chord: spelled by the key, or near the root and few accidentals
            bass_fifths = context.fifths[low] if context else nearest_fifths(low, fifths / 2)
        bass_name = _NAMES[bass_fifths]
        symbol = f"{root_name}{suffix}/{bass_name}"
    return ChordName(
        symbol, root, intervals, low, omits, adds, root_name, bass_name, suffix, degrees, cost,
        context,
    )  # fmt: skip


def _far_fetched(
    mask: int,
    low: int,
    index: Index,
    context: Context | None,
    names: list[ChordName],
    other_roots: bool,
) -> list[ChordName]:
    """The other common kinds on the bass note; on other roots, whole chords with two notes added.

    Odd notes under a name somebody insists on: what that name would leave out and add.
    """
    held = {(name.root, name.suffix) for name in names}
    found: list[tuple[int, int, Kind, int, int]] = []
    for step in range(12) if other_roots else (0,):
        root = (low + step) % 12
        turned = (mask * 0x1001) >> step & 0xFFF
        for kind in index.common:
            kind_mask = kind[2]
            missing, extra = kind_mask & ~turned, turned & ~kind_mask
            if (step and (missing or extra.bit_count() > 2)) or (root, kind[0]) in held:
                continue
            cost = _FAR + kind[4] + 10 * (missing | extra).bit_count()
            found.append((cost, root, kind, missing, extra))
    found.sort(key=_first)
    return [
        _name(
            cost,
            root,
            kind,
            _LOW_BITS[missing & 63] | _HIGH_BITS[missing >> 6],
            _LOW_BITS[extra & 63] | _HIGH_BITS[extra >> 6],
            low,
            context,
        )
        for cost, root, kind, missing, extra in found
    ]


def _bits(mask: int) -> frozenset[int]:
    return _LOW_BITS[mask & 63] | _HIGH_BITS[mask >> 6]


def _nameless(mask: int, low: int, context: Context | None) -> ChordName:
    intervals = _bits(mask)
    order = [(low + n) % 12 for n in sorted(intervals)]
    names = [_NAMES[context.fifths[pc]] if context else PLAIN_NAMES[pc] for pc in order]
    listed = " ".join(names)
    what = {1: "one note makes no chord", 2: "two notes with no chord name"}.get(
        len(order), "a cluster that deserves no name"
    )
    return ChordName(
        f"({listed})", low, intervals, low, _NOTHING, _NOTHING, names[0], names[0], what, (), 0,
        context, False,
    )  # fmt: skip
