"""A capo moved: the fret line of a chord whose shape, or whose sound, is to stay.

Conventions. With its shape kept a chord is held as far above the capo as before, and sounds higher
or lower. With its sound kept every string is stopped at the same fret of the neck: what rang open
at the old capo is fingered there, and cannot be where the new capo is higher.
"""

from __future__ import annotations

from logbook.strings.capo import Capos, string_stops
from logbook.strings.frets import FretError, Stopped, count_frets, place_frets, read_frets
from logbook.strings.tunings import StringTuning, string_number

SHAPES = "shapes"
SOUND = "sound"


def recapo(
    frets: str, counted: str, tuning: StringTuning, old: Capos, new: Capos, keep: str
) -> str:
    """Return a fret line, counted as before, after the capos moved from `old` to `new`.

    `keep` is "shapes" or "sound". Raises FretError naming the string where it cannot be.
    """
    if keep not in (SHAPES, SOUND):
        raise FretError(f"a capo cannot be moved with {keep} kept", "keep shapes or sound")
    position = place_frets(read_frets(frets, counted=counted), tuning, old)
    moved: list[Stopped | None] = []
    for index, (at, stop) in enumerate(zip(position, string_stops(tuning, new), strict=True)):
        if at is None:
            moved.append(None)
            continue
        fret = at.fret - at.stop + stop if keep == SHAPES else at.fret
        if fret < stop:
            raise FretError(
                f"string {string_number(index, len(tuning))} was stopped at fret {at.fret}, which"
                f" is behind the capo at {stop}",
                "keep the shapes instead, or refinger the chord",
            )
        moved.append(at._replace(fret=fret, stop=stop))
    return count_frets(tuple(moved), counted).text
