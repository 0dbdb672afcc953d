"""What a voicing is called in the room: one answer for everything that is handed out.

Conventions. A name the player gave stands as long as the notes bear it out (it may leave notes
out, or have more of them). A shape name, or a name the notes contradict, gives way to the best
name of what sounds; so does a label that is not a chord symbol. Notes that deserve no name keep the
player's word.
"""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

from logbook.errors import LogbookError
from logbook.records.parts import Part, Voicing
from logbook.strings.capo import Capos
from logbook.strings.frets import place_frets, read_frets
from logbook.strings.kit import is_kit
from logbook.strings.tunings import StringTuning
from logbook.strings.voicing import describe, judge_position
from logbook.theory.chord_symbol import ChordSymbolError
from logbook.theory.symbols import read_symbol, reads


def claimed_name(voicing: Voicing) -> str:
    """Return the concert name a voicing claims: its written one, else a label that reads as one."""
    if voicing.name:
        return voicing.name
    try:
        read_symbol(voicing.label)
    except ChordSymbolError:
        return ""
    return voicing.label


def sounding_name(
    voicing: Voicing, part: Part, tuning: StringTuning | None, capos: Capos, key: str = ""
) -> str:
    """Return the name of what sounds when a voicing of a part is played.

    `key` is the concert key, which spells a name that has to be found. Frets that cannot be read,
    and a part without a tuning, leave the name the player wrote (or the label).
    """
    counted = voicing.counted or part.counted
    return _sounding(
        voicing.label, claimed_name(voicing), voicing.frets, counted, tuning, capos, key
    )


@lru_cache(maxsize=4096)
def _sounding(
    label: str,
    claimed: str,
    frets: str,
    counted: str,
    tuning: StringTuning | None,
    capos: Capos,
    key: str,
) -> str:
    written = claimed or label
    if tuning is None:
        return written
    try:
        if claimed:
            position = place_frets(read_frets(frets, counted=counted), tuning, capos)
            if judge_position(claimed, position, tuning, capos, key=key or None).agrees:
                return claimed
        best = describe(frets, tuning, capos, counted=counted, key=key or None).concert[0]
    except LogbookError:
        return written
    return best.symbol if best.named else written


def stands_alone(label: str, part: Part) -> bool:
    """Whether a chart may name a chord by its symbol alone: no chord of the part has frets.

    A pattern of the kit is named so too.
    """
    if any(each.label == label and is_kit(each.line) for each in part.patterns):
        return True
    return reads(label) and not any(each.frets for each in part.voicings)


def with_symbols(part: Part) -> Part:
    """A part with a voicing, fingered by nobody yet, for each chord its chart only names."""
    known = {each.label for each in part.voicings}
    named = dict.fromkeys(each.voicing for each in part.chart if each.voicing)
    new = tuple(Voicing(label=label) for label in named if label not in known)
    return replace(part, voicings=(*part.voicings, *new)) if new else part
