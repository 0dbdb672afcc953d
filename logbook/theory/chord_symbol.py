"""What a chord symbol says: root, degrees, bass, and the normalised way to print it.

Extensions stack in thirds: 9 holds a seventh, 11 holds seventh and ninth, 13 holds seventh and
ninth but no eleventh (players leave it out; so do the fingerings in tests/data). `alt` holds both
altered ninths and both altered fifths. (Common practice, no source.)
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

from logbook.errors import LogbookError
from logbook.theory.degrees import degree_note, guide_tones
from logbook.theory.keys import Key, as_key
from logbook.theory.notes import (
    fifths_to_name,
    fifths_to_pitch_class,
    name_to_fifths,
)
from logbook.theory.spelling import moved_root, plain_move, spell_root
from logbook.theory.written import in_solfege

NO_CHORD = "N.C."


class ChordSymbolError(LogbookError):
    """A chord symbol cannot be read; `position` is the index of the character that stops it.

    The remedy proposes the nearest symbol that reads, found when it is asked for.
    """

    def __init__(self, text: str, position: int, remedy: str) -> None:
        self.position = position
        self.text = text
        self.propose: Callable[[str], str] | None = None
        self._way_out = remedy
        char = text[position : position + 1]
        where = (
            f"nothing fits {char!r} at character {position + 1}" if char else "it stops too soon"
        )
        super().__init__(f"{text!r} cannot be read as a chord: {where}", remedy)

    @property
    def nearest(self) -> str:
        """The nearest symbol that reads; empty where the reader proposes none."""
        return self.propose(self.text) if self.propose else ""

    @property
    def remedy(self) -> str:
        """What would be right: the nearest symbol that reads, and the rule."""
        near = self.nearest
        if not near:
            return self._way_out
        if self.text.strip()[:1] in ("H", "h"):
            return f"H is B here: write {near} (chord and capo read it with --spelling german)"
        if named := in_solfege(self.text):
            read_with = "chord and capo read it with --spelling solfege"
            return f"{named} is {near[:1]} here: write {near} ({read_with})"
        return f"the nearest that reads is {near}: {self._way_out}"

    @remedy.setter
    def remedy(self, remedy: str) -> None:
        self._way_out = remedy

    def __str__(self) -> str:
        return f"{self.problem}; {self.remedy}"


class ChordSymbol(NamedTuple):
    """A chord symbol as read.

    `degrees` are the degrees claimed, root first; `intervals` the same in semitones above the root
    (0-11). `bass` is the slash bass as a name, or None; `bass_pc` is the lowest pitch class either
    way. `suffix` is the normalised part after the root. For N.C. the root is "", the pitch classes
    None and everything else empty.
    """

    root: str
    root_pc: int | None
    degrees: tuple[str, ...]
    intervals: frozenset[int]
    bass: str | None
    bass_pc: int | None
    suffix: str

    @property
    def symbol(self) -> str:
        """The normalised symbol: "CMA7/e" is "Cmaj7/E"."""
        if not self.root:
            return NO_CHORD
        return self.root + self.suffix + (f"/{self.bass}" if self.bass else "")

    @property
    def is_no_chord(self) -> bool:
        """True for N.C."""
        return not self.root

    @property
    def notes(self) -> tuple[str, ...]:
        """Note names from the root up, spelled from the root."""
        return tuple(degree_note(self.root, degree) for degree in self.degrees)

    @property
    def pitch_classes(self) -> frozenset[int]:
        """Pitch classes claimed, the bass with them."""
        if self.root_pc is None or self.bass_pc is None:
            return frozenset()
        return frozenset((self.root_pc + n) % 12 for n in self.intervals) | {self.bass_pc}

    @property
    def guide_tones(self) -> tuple[str, ...]:
        """Note names of third and seventh, if the chord has a seventh."""
        return tuple(degree_note(self.root, degree) for degree in guide_tones(self.degrees))

    def transpose(
        self, semitones: int, key: str | Key | None = None, *, old: str | Key | None = None
    ) -> ChordSymbol:
        """The same chord `semitones` higher; `key` is the key it arrives in.

        Where nothing moves the root is kept as it was written; else it moves by fifths as the key
        does (C#dim7 in C is Bdim7 in B flat). `old` is the key it leaves, else the one as far
        below `key`. Without a key the root takes its plain name.
        """
        if self.root_pc is None:
            return self
        if key is None:
            if semitones % 12 == 0:
                return self
            return self._with_root(plain_move(self.root, self.degrees, semitones))
        new = as_key(key)
        left = new.transpose(-semitones) if old is None else as_key(old)
        if semitones % 12 == 0 and left.tonic_fifths == new.tonic_fifths:
            return self
        return self._with_root(moved_root(self.root, self.degrees, left, new))

    def respell(self, key: str | Key, after: ChordSymbol | None = None) -> ChordSymbol:
        """The same chord with the root a key gives it, before the chord `after` if it is known."""
        if self.root_pc is None:
            return self
        follows = None if after is None or after.is_no_chord else after.root
        return self._with_root(spell_root(self.root_pc, self.degrees, as_key(key), follows))

    def _with_root(self, root: str) -> ChordSymbol:
        moved = name_to_fifths(root) - name_to_fifths(self.root)
        bass = None
        if self.bass is not None:
            place = name_to_fifths(self.bass) + moved
            bass = fifths_to_name(place - 12 if place > 12 else place + 12 if place < -8 else place)
        bass_pc = fifths_to_pitch_class(name_to_fifths(bass or root))
        return self._replace(
            root=root,
            root_pc=fifths_to_pitch_class(name_to_fifths(root)),
            bass=bass,
            bass_pc=bass_pc,
        )


_ALTERED_DOMINANT = frozenset(("R", "3", "b5", "#5", "b7", "b9", "#9"))
_ALTERATIONS = ("b5", "#5", "b6", "b9", "#9", "#11", "b13")


def suffix_of(degrees: frozenset[str]) -> str:
    """The normalised suffix that claims exactly these degrees: {R b3 b5 b7} -> "m7b5".

    The reader in `symbols` is its inverse.
    """
    if degrees == _ALTERED_DOMINANT:
        return "7alt"
    if degrees == {"R", "5"}:
        return "5"
    diminished = "b3" in degrees and "b5" in degrees and not degrees & {"b7", "#5", "5"}
    augmented = degrees >= {"3", "#5"} and not degrees & {"5", "b5", "b7", "7", "6", "bb7"}
    quality = "dim" if diminished else "m" if "b3" in degrees else "aug" if augmented else ""
    extension, used = _extension(degrees)
    if "7" in degrees:
        extension = f"(maj{extension})" if quality else f"maj{extension}"
    suffix = quality + extension
    used |= {"R", "b3", "3", "5", "b7", "7", "bb7"}
    if diminished:
        used.add("b5")
    if augmented:
        used.add("#5")
    suspended = [degree for degree in ("2", "4") if degree in degrees]
    suffix += "".join(f"sus{degree}" for degree in suspended)
    for degree in _ALTERATIONS:
        if degree in degrees and degree not in used:
            open_to_misreading = not suffix[-1:].isdigit() and suffix[-1:] != ")"
            suffix += f"({degree})" if open_to_misreading else degree
    for degree in ("6", "9", "11", "13"):
        if degree in degrees and degree not in used:
            suffix += f"add{degree}"
    if not degrees & {"b3", "3", "2", "4"}:
        suffix += "no3"
    if not degrees & {"b5", "5", "#5"}:
        suffix += "no5"
    return suffix if "R" in degrees else suffix + "noroot"


def _extension(degrees: frozenset[str]) -> tuple[str, set[str]]:
    """The number after the quality, and the degrees above the triad it accounts for."""
    altered_ninth = degrees & {"b9", "#9"}
    plain_ninth = "9" in degrees and not altered_ninth
    if degrees & {"b7", "7", "bb7"}:
        if "9" in degrees and altered_ninth:
            return "7", set()
        ninth = plain_ninth or altered_ninth
        if ninth and "13" in degrees and not degrees & {"b13", "11"}:
            return "13", {"9", "13"}
        if ninth and "11" in degrees and "#11" not in degrees:
            return "11", {"9", "11"}
        return ("9", {"9"}) if plain_ninth else ("7", set())
    if "6" in degrees:
        return ("69", {"6", "9"}) if "9" in degrees else ("6", {"6"})
    return "", set()
