"""The name of a chord as found from its notes: plain data, and why it stands where it does.

A naming gives some twenty names and mostly the first is looked at, so a name holds how the notes
were read, and spells itself when it is asked.
"""

from __future__ import annotations

from functools import cached_property
from typing import NamedTuple

from logbook.theory.chord_symbol import ChordSymbol
from logbook.theory.context import ChordContext
from logbook.theory.degrees import degree_in_chord, degree_note, degree_semitones, guide_tones
from logbook.theory.kinds import SuffixReading
from logbook.theory.notes import (
    PLAIN_NAMES,
    fifths_to_name,
    name_to_fifths,
    nearest_fifths,
    plain_root,
)
from logbook.theory.spelling import note_beside, root_fifths

PLAUSIBLE_BELOW = 45
"""Readings that cost less than this (tenths of a point) deserve to be called names."""

# No name takes more than a double accidental.
_NAMES = {
    fifths: fifths_to_name(fifths - 12 if fifths > 19 else fifths + 12 if fifths < -15 else fifths)
    for fifths in range(-28, 32)
}
_PLAIN_FIFTHS = (
    tuple(name_to_fifths(plain_root(pc, minor=False)) for pc in range(12)),
    tuple(name_to_fifths(plain_root(pc, minor=True)) for pc in range(12)),
)


class _Spelled(NamedTuple):
    symbol: str
    root: str
    bass: str


class _Parts(NamedTuple):
    """What a naming settles of a name.

    `low` is the pitch class of the lowest note; `root_fifths` the root's place on the line of
    fifths where the chord after it says so, else None.
    """

    cost: int
    root: int
    reading: SuffixReading
    low: int
    bass_counts: bool
    context: ChordContext | None
    root_fifths: int | None


class ChordName(_Parts):
    """One reading of a set of notes.

    `root` and `bass` are pitch classes 0-11. `intervals` are the semitones above the root that the
    name claims (the full chord, 0 included); `omits` those of them that do not sound, `adds` those
    that sound beyond the claim (a slash bass foreign to the chord is in neither). `symbol` is the
    name spelled by the key and claims exactly `intervals` and `bass`; `degrees` are the degrees
    claimed, root first. `cost` orders the readings, lowest first, in tenths of a point. `named` is
    False for notes that deserve no name: the symbol then lists them in brackets and the suffix
    says what they are. `context` is the key and the chord before, where they were given.
    `bass_counts` is False where the lowest note is no bass: a name without a slash then has its
    root as `bass`.
    """

    @property
    def named(self) -> bool:
        """False for notes that deserve no name."""
        return bool(self.reading[1].degrees)

    @property
    def intervals(self) -> frozenset[int]:
        """Semitones above the root that the name claims."""
        return self.reading[1].intervals

    @property
    def degrees(self) -> tuple[str, ...]:
        """Degrees claimed, root first."""
        return self.reading[1].degrees

    @property
    def suffix(self) -> str:
        """What follows the root in the symbol; for notes without a name, what they are."""
        return self.reading[1].suffix

    @property
    def omits(self) -> frozenset[int]:
        """Intervals claimed that do not sound."""
        return self.reading[2]

    @property
    def adds(self) -> frozenset[int]:
        """Intervals that sound beyond the claim."""
        adds = self.reading[3]
        return adds - {(self.low - self.root) % 12} if adds and self._has_slash else adds

    @property
    def bass(self) -> int:
        """Pitch class of the bass that the name gives: the slash, else the root."""
        return self.low if self._has_slash else self.root

    @property
    def _has_slash(self) -> bool:
        if self.root == self.low:
            return False
        above = (self.low - self.root) % 12
        return self.bass_counts or not (above in self.intervals or above in self.reading[3])

    @cached_property
    def _spelled(self) -> _Spelled:
        _, root, reading, low, _, context, fifths = self
        kind = reading[1]
        if not kind.degrees:
            order = [(low + n) % 12 for n in sorted(kind.intervals)]
            names = [_NAMES[context.fifths[pc]] if context else PLAIN_NAMES[pc] for pc in order]
            return _Spelled(f"({' '.join(names)})", names[0], names[0])
        if fifths is None:
            fifths = (
                context.root_fifths(root, kind.suffix, kind.degrees)
                if context
                else _PLAIN_FIFTHS[kind.minor][root]
            )
        name = _NAMES[fifths]
        if not self._has_slash:
            return _Spelled(name + kind.suffix, name, name)
        above = (low - root) % 12
        if above in kind.intervals:
            place = fifths + kind.fifths_above[above]
            if not -8 <= place <= 12 and not (context and context.double == place):
                # A double accidental that the key does not ask for is read as its plain neighbour.
                place += 12 if place < 0 else -12
        else:  # foreign to the chord: spelled by the key, or near the root and few accidentals
            place = context.fifths[low] if context else nearest_fifths(low, fifths / 2)
        return _Spelled(f"{name}{kind.suffix}/{_NAMES[place]}", name, _NAMES[place])

    @property
    def symbol(self) -> str:
        """The name as a chart writes it."""
        return self._spelled.symbol

    @property
    def root_name(self) -> str:
        """Name of the root."""
        return self._spelled.root

    @property
    def bass_name(self) -> str:
        """Name of the bass."""
        return self._spelled.bass

    def before(self, after: ChordSymbol) -> ChordName:
        """The same name with its root spelled as the chord after it asks.

        D#dim7 before Em and Ebdim7 before Dm; before N.C. it stays as it is.
        """
        if not self.named or after.is_no_chord:
            return self
        key = self.context.key if self.context else None
        place = root_fifths(self.root, self.degrees, key, name_to_fifths(after.root))
        return self._replace(root_fifths=place)

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
        if not self.bass_counts:
            return "the lowest note is no bass on these strings"
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
