"""A capo that was written down wrong: one cause, where several chords seem to have wrong names.

Conventions. Where two or more chords of a part contradict their names (or lie behind the capo as
they are written), the same frets are judged with the capo at every other fret, the nearest first.
If there every name fits, the capo is what is wrong, and it is told once.
"""

from __future__ import annotations

from functools import lru_cache

from logbook.errors import LogbookError
from logbook.records.chord_names import claimed_name
from logbook.records.part_view import PartView
from logbook.records.parts import Voicing
from logbook.strings.capo import Capo, Capos, write_capos
from logbook.strings.frets import place_frets, read_frets
from logbook.strings.tunings import StringTuning
from logbook.strings.voicing import judge_position

HIGHEST = 9
"""As far up as capos are usually put (common practice, no source)."""


def fitting_capo(place: PartView) -> str | None:
    """Return the capo with which every name of a part fits ("0" for none), as it is written.

    None where fewer than two chords are wrong, or no capo makes all of them right.
    """
    try:
        tuning, capos = place.tuning, place.capos
    except LogbookError:
        return None
    if tuning is None or any(capo.strings is not None for capo in capos) or len(capos) > 1:
        return None
    named = tuple(v for v in place.part.voicings if v.frets and claimed_name(v))
    return _fitting(named, place.part.counted, tuning, capos, place.version.key)


@lru_cache(maxsize=512)
def _fitting(
    named: tuple[Voicing, ...], counted: str, tuning: StringTuning, capos: Capos, key: str
) -> str | None:
    def wrong(capo: Capos) -> int:
        return sum(not _fits(each, counted, tuning, capo, key) for each in named)

    if wrong(capos) < 2:
        return None
    now = capos[0].fret if capos else 0
    for fret in sorted(set(range(HIGHEST + 1)) - {now}, key=lambda each: abs(each - now)):
        other = (Capo(fret),) if fret else ()
        if wrong(other) == 0:
            return write_capos(other) if other else "0"
    return None


def _fits(voicing: Voicing, counted: str, tuning: StringTuning, capos: Capos, key: str) -> bool:
    try:
        line = read_frets(voicing.frets, counted=voicing.counted or counted)
        position = place_frets(line, tuning, capos)
        if all(at is None for at in position):
            return True
        return judge_position(
            claimed_name(voicing), position, tuning, capos, key=key or None
        ).agrees
    except LogbookError:
        return False
