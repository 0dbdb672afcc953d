"""How a set of notes can be read, and what each reading costs: the order of chord names.

For each possible root the mask of notes is turned so that the root is bit 0 and looked up in the
index of `kinds`: whole chords, chords with degrees left out, chords with a note added. Each reading
costs points for how rare the kind is, what is left out or added, and what stands in the bass. Then
the register is heard: what lies directly above the bass, and what lies on top. (Judgement
throughout; common practice, no source.)

What a mask can be heard as does not depend on pitch, so there are some thousands of answers; they
are kept.
"""

from __future__ import annotations

from functools import lru_cache
from operator import itemgetter
from typing import NamedTuple

from logbook.theory.kinds import Index, SuffixReading

COUNTS, HANDS, NO_BASS = 0, 1, 2
"""What the lowest note is: the bass; what the first string would be on the usual strings, where
the hand knows it as the bass; nothing, on re-entrant strings."""

_ROOTLESS_BASS = 8
_FAR = 100  # cost at which far-fetched readings start
_UPPER = (("R", "3", "5"), ("R", "b3", "5"), ("R", "4", "5"), ("R", "3", "5", "b7"))
_SPEAKS_FOR_BASS, _FOURTH_ABOVE, _TURNED_POWER, _ALONE_BELOW, _NO_FLAT_FIFTH = 4, 2, 13, 9, 2
TURNED_POWER = 99  # the fourth above the bass, and directly above that the bass again
_MAJOR_SEVENTH, _OVER_ITS_NINTH = ("R", "3", "5", "7"), 9  # Bbmaj7/C, the suspended sound
_TENSION_IN_BASS, _HOLLOW_OVER_TENSION = 20, 6  # a ninth in the bass, and something missing too
_INVERTED = 2  # a root that is not lowest, where the lowest note is no bass
INCOMPLETE = 12  # something left out, where the lowest note is no bass

Found = tuple[int, int, SuffixReading]
"""Cost in tenths of a point, the root's semitones above the bass, and how the notes are read."""


class HeardNotes(NamedTuple):
    """Notes as they are heard.

    `mask` has bit n set for each note n semitones above the bass, octaves apart; `role` says what
    the bass is. `second` is how many semitones above it the next different note lies, or
    TURNED_POWER; 13 for all beyond the octave, and 0 where it tells nothing. `top` is 6 where a
    major third lies next and the highest note is a sharp fourth more than an octave up, else 0.
    """

    mask: int
    role: int
    second: int
    top: int


@lru_cache(maxsize=1)
def _index() -> Index:
    return Index()


_first = itemgetter(0)


@lru_cache(maxsize=16384)
def heard_in(heard: HeardNotes) -> tuple[Found, ...]:
    """Every reading of the notes, the cheapest first."""
    if heard.role == NO_BASS:
        return _without_bass(heard.mask)
    hollow = INCOMPLETE if heard.role == HANDS else 0
    found = [
        (cost + _register(heard, step, reading) + (hollow if reading[2] else 0), step, reading)
        for cost, step, reading in _over_bass(heard.mask)
    ]
    found.sort(key=_first)
    return tuple(found)


def hollow_in(heard: HeardNotes) -> tuple[int, ...]:
    """Places of the readings on the bass whose fifth is only implied, in sixths and elevenths."""
    return tuple(
        place
        for place, (_, step, reading) in enumerate(heard_in(heard))
        if step == 0 and 7 in reading[2] and ("6" in reading[1][1] or "11" in reading[1][1])
    )


@lru_cache(maxsize=4096)
def _over_bass(mask: int) -> tuple[Found, ...]:
    """Readings over the bass, before the register is heard."""
    found: list[Found] = []
    index = _index()
    twice = mask | mask << 12
    upper = (mask & 0xFFE) * 0x1001
    readings, over_bass = index.readings(mask.bit_count()), index.over_bass
    for step in range(12):
        above = -step % 12
        for reading in readings.get(twice >> step & 0xFFF, ()):
            if above in reading[3] and reading[1][2] in over_bass and not reading[2]:
                continue  # comes up below, as a whole chord over a foreign bass
            bass_cost = _ROOTLESS_BASS if 0 in reading[2] else reading[4][above]
            if reading[2] and bass_cost >= _TENSION_IN_BASS:
                bass_cost += _HOLLOW_OVER_TENSION
            found.append((reading[0] + bass_cost, step, reading))
        above_foreign = over_bass.get(upper >> step & 0xFFF)
        if above_foreign:
            over_ninth = above == 2 and above_foreign[1].degrees == _MAJOR_SEVENTH
            cost = above_foreign[0] - (_OVER_ITS_NINTH if over_ninth else 0)
            found.append((cost, step, above_foreign))
    return tuple(found)


@lru_cache(maxsize=4096)
def _without_bass(mask: int) -> tuple[Found, ...]:
    """Readings where no note is the bass: inversions nearly free, whole chords first."""
    found: list[Found] = []
    twice = mask | mask << 12
    readings = _index().readings(mask.bit_count())
    for step in range(12):
        for reading in readings.get(twice >> step & 0xFFF, ()):
            cost = reading[0] + (_INVERTED if step else 0) + (INCOMPLETE if reading[2] else 0)
            found.append((cost, step, reading))
    found.sort(key=_first)
    return tuple(found)


def _register(heard: HeardNotes, step: int, reading: SuffixReading) -> int:
    """What the register adds to a reading's cost, or takes from it.

    A fourth directly above the bass makes the upper note a likely root, and surely so where the
    bass comes again directly above that, a power chord turned over. A flat third or seventh there
    speaks for the bass, in a full dominant its third too, and so does a bass that lies more than an
    octave below the rest. A sharp fourth on top, more than an octave up, is an eleventh.
    """
    degrees, second = reading[1].degrees, heard.second
    if step == 0:
        if second == 4 and "b7" in degrees and "3" in degrees and _is_full(heard.mask):
            return -_SPEAKS_FOR_BASS
        if reading[2] and ("11" in degrees or "6" in degrees):
            if (second == 3 and "b3" in degrees and "5" in degrees) or (
                second == 10 and "b7" in degrees
            ):
                return -_SPEAKS_FOR_BASS
            if second > 12 and second != TURNED_POWER and "6" in degrees:
                return -_ALONE_BELOW
        elif heard.top == 6 and second == 4 and {"3", "b5", "7"} <= set(degrees):
            return _NO_FLAT_FIFTH
    elif step == 5:
        if second == TURNED_POWER and "5" in degrees:
            return -_TURNED_POWER
        if second == 5 and degrees in _UPPER:
            return -_FOURTH_ABOVE
    return 0


def _is_full(mask: int) -> bool:
    return mask.bit_count() > 4


@lru_cache(maxsize=4096)
def far_fetched(mask: int, other_roots: bool) -> tuple[Found, ...]:
    """The other common kinds on the bass note; on other roots, whole chords with two notes added.

    Odd notes under a name somebody insists on: what that name would leave out and add.
    """
    found: list[Found] = []
    for step in range(12) if other_roots else (0,):
        turned = (mask * 0x1001) >> step & 0xFFF
        for kind in _index().common:
            missing, extra = kind.mask & ~turned, turned & ~kind.mask
            if step and (missing or extra.bit_count() > 2):
                continue
            cost = _FAR + kind.rarity + 10 * (missing | extra).bit_count()
            reading = SuffixReading(
                cost, kind, intervals_of(missing), intervals_of(extra), (), turned
            )
            found.append((cost, step, reading))
    found.sort(key=_first)
    return tuple(found)


@lru_cache(maxsize=4096)
def intervals_of(mask: int) -> frozenset[int]:
    """The intervals whose bits a mask has set."""
    return frozenset(n for n in range(12) if mask >> n & 1)
