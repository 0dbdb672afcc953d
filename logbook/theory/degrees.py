"""Degrees of a chord: their names, semitones and places on the line of fifths.

A degree is written as musicians say it against a root: R b3 3 5 b7 9 #11 ... (common practice).
The number gives the letter (3 is the third letter from the root), the sign its alteration.
"""

from __future__ import annotations

from logbook.theory.notes import fifths_to_name, name_to_fifths

_STEP_FIFTHS = {1: 0, 2: 2, 3: 4, 4: -1, 5: 1, 6: 3, 7: 5}

PLAIN_DEGREES = ("R", "b9", "9", "b3", "3", "11", "#11", "5", "b13", "13", "b7", "7")
"""The degree each interval of 0-11 semitones is called where no chord says otherwise."""


def degree_fifths(degree: str) -> int:
    """Offset of a degree on the line of fifths above its root: "R" -> 0, "b7" -> -2, "#11" -> 6."""
    if degree == "R":
        return 0
    number = int(degree.lstrip("b#"))
    alteration = degree.count("#") - degree.count("b")
    return _STEP_FIFTHS[(number - 1) % 7 + 1] + 7 * alteration


def degree_semitones(degree: str) -> int:
    """Semitones of a degree above its root, reduced to 0-11: "b3" -> 3, "13" -> 9."""
    return degree_fifths(degree) * 7 % 12


def degree_note(root: str, degree: str) -> str:
    """Note name of a degree above a named root: ("G#", "3") -> "B#", ("Db", "b7") -> "Cb"."""
    return fifths_to_name(name_to_fifths(root) + degree_fifths(degree))


def degree_in_chord(semitones: int, chord_degrees: tuple[str, ...]) -> str:
    """What an interval above the root is called beside these chord degrees.

    A chord degree keeps its name; any other note is called by the place the chord leaves it: three
    semitones beside a major third are #9, six beside a fifth #11, nine beside a seventh 13.
    """
    semitones %= 12
    for degree in chord_degrees:
        if degree_semitones(degree) == semitones:
            return degree
    held = {degree_semitones(degree) for degree in chord_degrees}
    if semitones == 3:
        return "#9" if 4 in held else "b3"
    if semitones == 6:
        return "#11" if 7 in held or 8 in held else "b5"
    if semitones == 8:
        return "b13" if 7 in held or 6 in held else "#5"
    if semitones == 9:
        return "13" if 10 in held or 11 in held else "6"
    return PLAIN_DEGREES[semitones]


def guide_tones(chord_degrees: tuple[str, ...]) -> tuple[str, ...]:
    """The degrees among these that are guide tones: third and seventh of a chord with a seventh.

    A suspended fourth stands for the third. Empty without a seventh. (Common practice, no source.)
    """
    sevenths = [degree for degree in chord_degrees if degree in ("bb7", "b7", "7")]
    if not sevenths:
        return ()
    thirds = [degree for degree in chord_degrees if degree in ("b3", "3")]
    suspended = [degree for degree in chord_degrees if degree in ("4", "2")]
    return tuple((thirds or suspended)[:1] + sevenths[:1])
