"""Which strings that no finger holds may ring under a voicing, and why.

Common practice (no source). A string whose note belongs to the chord is a chord tone. Any other
note is an avoid note where it rubs: a semitone above a note of the chord, the other third or the
other seventh, a third against a suspension, or below the bass, where it would rename the chord.
Over a dominant seventh the altered tensions b9, #9 and b13 are heard as such, unless their
natural neighbour is in the chord; the plain fifth rubs against a raised one. What is left is a
tension, called by its degree.
"""

from typing import NamedTuple

from logbook.theory.degrees import degree_in_chord, degree_semitones

CHORD_TONE = "chord tone"
TENSION = "tension"
AVOID = "avoid"

_ALTERED = {1: "9", 3: "9", 8: "13"}


class RingNote(NamedTuple):
    """One string that no finger holds.

    `string` is the players' number, `played` whether the fret line has it sounding ("open",
    "may ring" or "not played"), `kind` "chord tone", "tension" or "avoid", `degree` its degree
    against the chord, and `why` a short reason.
    """

    string: int
    midi: int
    note: str
    played: str
    kind: str
    degree: str
    why: str


def judge_ring(
    midi: int, root: int, degrees: tuple[str, ...], chord_bass_midi: int | None
) -> tuple[str, str, str]:
    """Return kind, degree and reason of a ringing note against a chord.

    `root` is the chord's root as a pitch class, `degrees` its degrees, `chord_bass_midi` the
    lowest note that sounds (None where nothing does).
    """
    above = (midi - root) % 12
    degree = degree_in_chord(above, degrees)
    held = {degree_semitones(name): name for name in degrees}
    below = chord_bass_midi is not None and midi < chord_bass_midi
    if above in held:
        why = f"the {ordinal(degree)} of the chord"
        if below:
            why += ", but below the bass" + ("" if degree == "R" else ": an inversion")
        return CHORD_TONE, degree, why
    if below:
        return AVOID, degree, "it would be the lowest note and rename the chord"
    if above in _ALTERED and "3" in degrees and "b7" in degrees and _ALTERED[above] not in degrees:
        return TENSION, degree, f"the {ordinal(degree)}, an altered tension of a dominant"
    under = held.get((above - 1) % 12)
    if under is not None:
        return AVOID, degree, f"a semitone above the {ordinal(under)}"
    rival = _rival(above, degrees)
    if rival is not None:
        return AVOID, degree, f"it rubs against the {ordinal(rival)}"
    return TENSION, degree, f"the {ordinal(degree)}, which colours the chord"


def _rival(above: int, degrees: tuple[str, ...]) -> str | None:
    """Return the degree of the chord that this note contradicts, if there is one."""
    pairs = {3: ("3", "4"), 4: ("b3", "4", "2"), 7: ("#5",), 10: ("7",), 11: ("b7",)}
    return next((degree for degree in pairs.get(above, ()) if degree in degrees), None)


_ORDINALS = {
    "2": "second", "3": "third", "4": "fourth", "5": "fifth", "6": "sixth", "7": "seventh",
    "9": "ninth", "11": "eleventh", "13": "thirteenth",
}  # fmt: skip
_SIGNS = {"": "", "b": "flat ", "#": "sharp ", "bb": "double-flat "}


def ordinal(degree: str) -> str:
    """Say a degree in words: R is the root, b3 the minor third, b7 the flat seventh."""
    if degree == "R":
        return "root"
    number = degree.lstrip("b#")
    sign = degree[: len(degree) - len(number)]
    words = {"b3": "minor third", "7": "major seventh", "b7": "flat seventh"}
    return words.get(degree, _SIGNS[sign] + _ORDINALS[number])
