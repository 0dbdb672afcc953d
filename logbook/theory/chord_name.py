"""The name of a chord as found from its notes: plain data, and why it stands where it does."""

from __future__ import annotations

from typing import NamedTuple

from logbook.theory.context import Context
from logbook.theory.degrees import degree_in_chord, degree_note, degree_semitones, guide_tones
from logbook.theory.spelling import note_beside

PLAUSIBLE_BELOW = 45
"""Readings that cost less than this (tenths of a point) deserve to be called names."""


class ChordName(NamedTuple):
    """One reading of a set of notes.

    `root` and `bass` are pitch classes 0-11. `intervals` are the semitones above the root that the
    name claims (the full chord, 0 included); `omits` those of them that do not sound, `adds` those
    that sound beyond the claim (a slash bass foreign to the chord is in neither). `symbol` is the
    name spelled by the key and claims exactly `intervals` and `bass`; `degrees` are the degrees
    claimed, root first. `cost` orders the readings, lowest first, in tenths of a point. `named` is
    False for notes that deserve no name: the symbol then lists them in brackets and the suffix
    says what they are. `context` is the key and the chord before, where they were given.
    """

    symbol: str
    root: int
    intervals: frozenset[int]
    bass: int
    omits: frozenset[int]
    adds: frozenset[int]
    root_name: str
    bass_name: str
    suffix: str
    degrees: tuple[str, ...]
    cost: int
    context: Context | None = None
    named: bool = True

    @property
    def rootless(self) -> bool:
        """True when the root itself does not sound."""
        return 0 in self.omits

    @property
    def plausible(self) -> bool:
        """True for a reading worth showing; far-fetched ones are listed last."""
        return self.named and self.cost < PLAUSIBLE_BELOW

    @property
    def why(self) -> str:
        """A short sentence on why this reading stands where it does."""
        if not self.named:
            return f"{self.suffix[:1].upper()}{self.suffix[1:]}: {self.symbol[1:-1]}."
        said = self.context.reasons(self.root, self.intervals) if self.context else ()
        sentence = "; ".join((self._bass_ground(), self._notes_ground(), *said))
        return sentence[:1].upper() + sentence[1:] + "."

    def _bass_ground(self) -> str:
        if self.rootless:
            return "the root is left to another part"
        if self.root == self.bass:
            return "the root is in the bass"
        if (self.bass - self.root) % 12 in self.intervals:
            return f"{self.bass_name}, its {self.degree_of(self.bass)}, is in the bass"
        return f"{self.bass_name} in the bass is foreign to the chord"

    def _notes_ground(self) -> str:
        missing = self._listed(self.omits - {0})
        added = self._listed(self.adds)
        if missing and added:
            return f"it leaves out {missing} and adds {added}"
        if missing:
            return f"it leaves out {missing}"
        if added:
            return f"it adds {added}"
        return "its other notes are all there" if self.rootless else "all its notes are there"

    def _listed(self, intervals: frozenset[int]) -> str:
        found = [self.degree_of(self.root + interval) for interval in intervals]
        return ", ".join(sorted(found, key=lambda degree: int(degree.lstrip("b#R") or 1)))

    def degree_of(self, pitch: int) -> str:
        """Degree of a note number or pitch class against this chord's root: "b7", "#11"."""
        return degree_in_chord(pitch - self.root, self.degrees)

    def note_of(self, pitch: int) -> str:
        """Name of a note number or pitch class: the chord's own letter, else the key's name."""
        key = self.context.key if self.context else None
        return note_beside(pitch, self.root_name, self.degrees, key)

    @property
    def notes(self) -> tuple[str, ...]:
        """Names of the notes claimed, root first, spelled from the root."""
        return tuple(degree_note(self.root_name, degree) for degree in self.degrees)

    @property
    def guide_tones(self) -> tuple[int, ...]:
        """Pitch classes of third and seventh, if the name claims a seventh."""
        return tuple(
            (self.root + degree_semitones(degree)) % 12 for degree in guide_tones(self.degrees)
        )
