"""The thirty major and minor keys: signatures, scales, spelling, transposition.

A key is its tonic's place on the line of fifths and a mode; a minor key's signature is three
fifths below its tonic. Pitch classes are spelled by the harmonic chromatic scale on the tonic
(flat second, third, sixth and seventh, sharp fourth; common practice): five places below the
tonic to six above it. A note outside the scale that would take a double accidental takes its plain
neighbour's name instead, since nobody reads Ebb in five flats; the raised sixth and seventh of a
minor key keep their letters (F## in G# minor).
"""

from __future__ import annotations

from typing import NamedTuple

from logbook.errors import LogbookError
from logbook.theory.notes import (
    fifths_to_name,
    name_to_fifths,
    nearest_fifths,
    read_note,
)

MAJOR, MINOR = "major", "minor"
_MODE_WORDS = {
    "": MAJOR, "M": MAJOR, "maj": MAJOR, "major": MAJOR, "dur": MAJOR, "ionian": MAJOR,
    "m": MINOR, "min": MINOR, "minor": MINOR, "moll": MINOR, "-": MINOR, "aeolian": MINOR,
}  # fmt: skip
# How many fifths above its parent major key's tonic the final of each church mode lies.
_CHURCH_MODES = {"lydian": -1, "mixolydian": 1, "dorian": 2, "phrygian": 4, "locrian": 5}
_MAJOR_STEPS = (0, 2, 4, -1, 1, 3, 5)  # scale degrees 1 ... 7 in fifths above the tonic
_MINOR_STEPS = (0, 2, -3, -1, 1, -4, -2)


class Key(NamedTuple):
    """One of the thirty keys: `tonic_fifths` on the line of fifths (C = 0) and `mode`."""

    tonic_fifths: int
    mode: str

    @classmethod
    def parse(cls, text: str) -> Key:
        """Read "Db", "Db major", "Bbm", "F# minor", "c minor", "B♭ min".

        Raises LogbookError naming the nearest key that exists.
        """
        return parse_key(text)

    @property
    def tonic(self) -> str:
        """Name of the tonic: "Db"."""
        return fifths_to_name(self.tonic_fifths)

    @property
    def pitch_class(self) -> int:
        """Pitch class of the tonic, 0-11."""
        return self.tonic_fifths * 7 % 12

    @property
    def name(self) -> str:
        """Full name: "Db major"."""
        return f"{self.tonic} {self.mode}"

    @property
    def short(self) -> str:
        """Short name as a chord would be written: "Db", "Bbm"."""
        return self.tonic + ("m" if self.mode == MINOR else "")

    @property
    def is_minor(self) -> bool:
        """True for a minor key."""
        return self.mode == MINOR

    @property
    def fifths(self) -> int:
        """Sharps (positive) or flats (negative) in the signature, -7 to 7."""
        return self.tonic_fifths - (3 if self.mode == MINOR else 0)

    @property
    def signature(self) -> tuple[str, ...]:
        """Altered notes of the signature in their written order: ("Bb", "Eb", ...)."""
        count = self.fifths
        if count >= 0:
            return tuple(fifths_to_name(6 + n) for n in range(count))
        return tuple(fifths_to_name(-2 - n) for n in range(-count))

    @property
    def scale(self) -> tuple[str, ...]:
        """The seven notes from the tonic (natural minor for a minor key), spelled."""
        steps = _MINOR_STEPS if self.mode == MINOR else _MAJOR_STEPS
        return tuple(fifths_to_name(self.tonic_fifths + step) for step in steps)

    @property
    def pitch_classes(self) -> frozenset[int]:
        """Pitch classes of the scale (natural minor for a minor key)."""
        return frozenset((self.fifths - 1 + n) * 7 % 12 for n in range(7))

    @property
    def relative(self) -> Key:
        """The key with the same signature in the other mode."""
        if self.mode == MINOR:
            return Key(self.tonic_fifths - 3, MAJOR)
        return Key(self.tonic_fifths + 3, MINOR)

    def spell_fifths(self, pitch_class: int) -> int:
        """Place on the line of fifths of a pitch class in this key."""
        place = nearest_fifths(pitch_class, self.tonic_fifths + 0.5)
        in_key = -1 <= place - self.fifths <= 5
        raised = self.mode == MINOR and place - self.tonic_fifths in (3, 5)
        if in_key or raised or -8 <= place <= 12:
            return place
        return place + 12 if place < 0 else place - 12

    def spell(self, pitch_class: int) -> str:
        """Name of a pitch class in this key: 1 in Db major -> "Db", 7 in G# minor -> "F##"."""
        return fifths_to_name(self.spell_fifths(pitch_class))

    def transpose(self, semitones: int) -> Key:
        """The conventional key this many semitones away: fewest accidentals.

        F#/Gb major and D#/Eb minor keep to the side of the key they come from; from no sharps
        or flats they are Gb and Eb minor. Zero semitones is the same key.
        """
        if semitones % 12 == 0:
            return self
        wanted = (self.pitch_class + semitones) % 12
        candidates = [key for key in ALL_KEYS if key.mode == self.mode]
        candidates = [key for key in candidates if key.pitch_class == wanted]
        side = 1 if self.fifths > 0 else -1
        return min(candidates, key=lambda key: (abs(key.fifths), -side * key.fifths))

    def __str__(self) -> str:
        return self.name


ALL_KEYS: tuple[Key, ...] = tuple(
    [Key(n, MAJOR) for n in range(-7, 8)] + [Key(n + 3, MINOR) for n in range(-7, 8)]
)
"""All thirty keys, from seven flats to seven sharps, major then minor."""


def as_key(key: str | Key) -> Key:
    """Give back a Key unchanged, read a text as one."""
    return key if isinstance(key, Key) else parse_key(key)


def parse_key(text: str) -> Key:
    """Read a key: "Db", "Db major", "Bbm", "F# minor", "c minor".

    A letter alone is major, in either case. Raises LogbookError naming the nearest right thing
    for a key that does not exist (G# major is Ab major) and for the church modes.
    """
    stripped = text.strip()
    read = read_note(stripped)
    if read is None:
        raise LogbookError(
            f"{text!r} is not a key", "write tonic and mode, as in Db, Bbm or F# minor"
        )
    words = stripped[read.end :].strip(" -_") if stripped[read.end :] != "-" else "-"
    for word, sign in (("flat", "b"), ("sharp", "#")):
        if words.lower().startswith(word):  # B flat minor
            return parse_key(f"{stripped[: read.end]}{sign} {words[len(word) :].strip(' -')}")
    mode = _MODE_WORDS.get(words) or _MODE_WORDS.get(words.lower())
    if mode is None:
        raise _unknown_mode(stripped, read.fifths, words)
    key = Key(read.fifths, mode)
    if not -7 <= key.fifths <= 7:
        real = Key(read.fifths - 12 if key.fifths > 0 else read.fifths + 12, mode)
        raise LogbookError(f"there is no key of {key.name}", f"write {_real(real).name}")
    return key


def _real(key: Key) -> Key:
    """The key among the thirty with the same pitch class and mode and the fewest accidentals."""
    same = [k for k in ALL_KEYS if k.mode == key.mode and k.pitch_class == key.pitch_class]
    return min(same, key=lambda k: abs(k.fifths))


def _unknown_mode(text: str, fifths: int, word: str) -> LogbookError:
    steps = _CHURCH_MODES.get(word.lower())
    if steps is None:
        nearest = f"write {fifths_to_name(fifths)} major or {fifths_to_name(fifths)} minor"
        return LogbookError(f"{text!r} is not a key: {word!r} is not a mode kept here", nearest)
    parent = _real(Key(fifths - steps, MAJOR))
    return LogbookError(
        f"{text!r} is a mode, and keys here are major or minor",
        f"write {parent.name}, which has the same notes",
    )


def scale_degree(note: str, key: str | Key) -> str:
    """Degree of a note name in a key's scale as a plain number: ("Gb", "C") -> "b5"."""
    home = as_key(key)
    return degree_above_tonic(name_to_fifths(note) - home.tonic_fifths, home)


def degree_above_tonic(fifths: int, key: Key) -> str:
    """Degree in a key's scale of the note so many fifths above its tonic: (-6, C) -> "b5"."""
    steps = _MINOR_STEPS if key.mode == MINOR else _MAJOR_STEPS
    for degree, step in enumerate(steps, start=1):
        alteration, rest = divmod(fifths - step, 7)
        if rest == 0:
            return ("#" * alteration if alteration > 0 else "b" * -alteration) + str(degree)
    raise AssertionError("every note has a letter of the scale")
