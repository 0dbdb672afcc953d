"""The name of a chord as found from its notes: plain data."""

from __future__ import annotations

from typing import NamedTuple

from logbook.theory.degrees import degree_in_chord, degree_note, degree_semitones, guide_tones


class ChordName(NamedTuple):
    """One reading of a set of notes.

    `root` and `bass` are pitch classes 0-11. `intervals` are the semitones above the root that the
    name claims (the full chord, 0 included); `omits` those of them that do not sound, `adds` those
    that sound beyond the claim (a slash bass foreign to the chord is in neither). `symbol` is the
    name spelled by the key; `degrees` are the degrees claimed, root first. `rank_cost` orders the
    readings, lowest first. `named` is False for notes that deserve no name: the symbol then lists
    them. `reasons` are the short grounds that `why` joins.
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
    rank_cost: float
    reasons: tuple[str, ...]
    named: bool = True

    @property
    def rootless(self) -> bool:
        """True when the root itself does not sound."""
        return 0 in self.omits

    @property
    def why(self) -> str:
        """A short sentence on why this reading stands where it does."""
        sentence = ", ".join((*self._parts(), *self.reasons))
        return sentence[:1].upper() + sentence[1:] + "."

    def _parts(self) -> tuple[str, ...]:
        parts = []
        if self.omits:
            left_out = ", ".join(self.degree_of(self.root + n) for n in sorted(self.omits))
            parts.append(f"leaves out {left_out}")
        if self.adds:
            added = ", ".join(self.degree_of(self.root + n) for n in sorted(self.adds))
            parts.append(f"with {added} added")
        return tuple(parts)

    def degree_of(self, pitch: int) -> str:
        """Degree of a note number or pitch class against this chord's root: "b7", "#11"."""
        return degree_in_chord(pitch - self.root, self.degrees)

    def note_of(self, pitch: int) -> str:
        """Name of a note number or pitch class, spelled from this chord's root."""
        return degree_note(self.root_name, self.degree_of(pitch))

    @property
    def guide_tones(self) -> tuple[int, ...]:
        """Pitch classes of third and seventh, if the name claims a seventh."""
        return tuple(
            (self.root + degree_semitones(degree)) % 12 for degree in guide_tones(self.degrees)
        )
