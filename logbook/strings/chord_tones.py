"""Which notes a voicing of a chord must have, and which a player may leave out.

Common practice (no source): the fifth goes first where it is plain and the chord has four notes
or more; the ninth under an eleventh or a thirteenth; the root where five notes or more are
called for (another part has it); the third of a dominant eleventh, which rubs against it. Of an
altered chord's tensions one is enough, and with its flat fifth even the seventh may go. A
thirteenth may carry the eleventh. However much goes, four different notes of a ninth or more
stay.
"""

from typing import NamedTuple

from logbook.errors import LogbookError
from logbook.theory.degrees import degree_semitones
from logbook.theory.symbols import ChordSymbol

_ALTERED = ("b5", "#5", "b9", "#9")


class ChordTones(NamedTuple):
    """Pitch classes of a chord, as bit masks (bit 0 is C).

    `needed` must all sound, at least one of each mask in `one_of` must, nothing outside
    `allowed` may; `claimed` is what the name says. `fewest` different notes must sound. `bass`
    is the pitch class that must be lowest, None for any.
    """

    needed: int
    one_of: tuple[int, ...]
    allowed: int
    claimed: int
    fewest: int
    bass: int | None


def mask_of(pitch_classes: frozenset[int] | set[int]) -> int:
    """Return the bit mask of pitch classes."""
    mask = 0
    for pitch_class in pitch_classes:
        mask |= 1 << pitch_class
    return mask


def tones_of(chord: ChordSymbol) -> ChordTones:
    """Return what a voicing of a chord symbol needs and may have.

    Raises LogbookError for N.C., which has no notes.
    """
    if chord.root_pc is None:
        raise LogbookError("N.C. has no notes to finger", "give a chord such as Am7")
    degrees = chord.degrees
    spare = _spare(degrees)
    altered = [degree for degree in degrees if degree in _ALTERED]
    one_of: list[list[str]] = []
    if len(altered) == len(_ALTERED):
        one_of = [altered, ["b5", "b7"]]
        spare.update((*altered, "b7"))
        spare.discard("R")
    allowed = set(degrees)
    if "13" in degrees:
        allowed.add("11")
    needed = [degree for degree in degrees if degree not in spare]
    bass = None if chord.bass is None else chord.bass_pc
    mask = _mask(chord.root_pc, needed)
    wide = _mask(chord.root_pc, allowed)
    if bass is not None:
        mask |= 1 << bass
        wide |= 1 << bass
    clauses = tuple(_mask(chord.root_pc, either) for either in one_of)
    fewest = 4 if len(degrees) >= 5 and not clauses else min(3, mask.bit_count())
    return ChordTones(mask, clauses, wide, mask_of(chord.pitch_classes), fewest, bass)


def _spare(degrees: tuple[str, ...]) -> set[str]:
    spare: set[str] = set()
    if "5" in degrees and len(degrees) >= 4:
        spare.add("5")
    if "R" in degrees and len(degrees) >= 5:
        spare.add("R")
    if "9" in degrees and ("11" in degrees or "#11" in degrees or "13" in degrees):
        spare.add("9")
    if "11" in degrees and "3" in degrees and "b7" in degrees:
        spare.add("3")
    return spare


def _mask(root: int, degrees: list[str] | set[str]) -> int:
    return mask_of({(root + degree_semitones(degree)) % 12 for degree in degrees})
