"""Keys: the thirty major and minor ones, and the church modes; signatures, scales, spelling.

A key is its tonic's place on the line of fifths and a mode; a minor key's signature is three
fifths below its tonic, D dorian's and G mixolydian's are those of C major. The notes of the scale
keep their names; any other pitch class is spelled by the harmonic chromatic scale on the tonic
(flat second, third, sixth and seventh, sharp fourth; common practice): five places below the
tonic to six above it. A note outside the scale that would take a double accidental takes its plain
neighbour's name instead, since nobody reads Ebb in five flats; the raised sixth and seventh of a
minor key keep their letters (F## in G# minor).

Degrees are counted on the major scale, or where the tonic chord is minor on the natural minor one,
in a church mode too: C in D mixolydian is b7, F in E phrygian b2.
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
# How many fifths above its parent major key's tonic the tonic of each mode lies.
_ABOVE_PARENT = {
    MAJOR: 0, MINOR: 3, "lydian": -1, "mixolydian": 1, "dorian": 2, "phrygian": 4, "locrian": 5,
}  # fmt: skip
CHURCH_MODES = ("dorian", "phrygian", "lydian", "mixolydian", "locrian")
_MODE_WORDS |= {mode: mode for mode in CHURCH_MODES} | {
    "dor": "dorian", "phryg": "phrygian", "phr": "phrygian", "lyd": "lydian",
    "mixo": "mixolydian", "mix": "mixolydian", "mixolyd": "mixolydian", "loc": "locrian",
}  # fmt: skip
_SHORT_MODES = {MAJOR: "", MINOR: "m"}
_MAJOR_STEPS = (0, 2, 4, -1, 1, 3, 5)  # scale degrees 1 ... 7 in fifths above the tonic
_MINOR_STEPS = (0, 2, -3, -1, 1, -4, -2)


class Key(NamedTuple):
    """A key: `tonic_fifths` on the line of fifths (C = 0) and `mode`.

    `mode` is "major", "minor" or a church mode: dorian, phrygian, lydian, mixolydian, locrian.
    """

    tonic_fifths: int
    mode: str

    @classmethod
    def parse(cls, text: str) -> Key:
        """Read "Db", "Db major", "Bbm", "F# minor", "c minor", "B♭ min", "D mixolydian".

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
        """Short name as a chord would be written: "Db", "Bbm"; a church mode in full."""
        return self.tonic + _SHORT_MODES.get(self.mode, f" {self.mode}")

    @property
    def is_minor(self) -> bool:
        """True where the tonic has a minor third: minor, dorian, phrygian, locrian."""
        return _ABOVE_PARENT[self.mode] > 1

    @property
    def fifths(self) -> int:
        """Sharps (positive) or flats (negative) in the signature, -7 to 7."""
        return self.tonic_fifths - _ABOVE_PARENT[self.mode]

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
        letters = [(self.tonic_fifths + step + 1) % 7 for step in _MAJOR_STEPS]
        return tuple(fifths_to_name(self.fifths - 1 + (at - self.fifths) % 7) for at in letters)

    @property
    def pitch_classes(self) -> frozenset[int]:
        """Pitch classes of the scale (natural minor for a minor key)."""
        return frozenset((self.fifths - 1 + n) * 7 % 12 for n in range(7))

    @property
    def relative(self) -> Key:
        """The key with the same signature in the other mode; of a church mode its major key."""
        if self.mode == MAJOR:
            return Key(self.tonic_fifths + 3, MINOR)
        return Key(self.fifths, MAJOR)

    def spell_fifths(self, pitch_class: int) -> int:
        """Place on the line of fifths of a pitch class in this key."""
        place = nearest_fifths(pitch_class, self.fifths + 2.0)
        if self.holds(place):
            return place
        place = nearest_fifths(pitch_class, self.tonic_fifths + 0.5)
        raised = self.is_minor and place - self.tonic_fifths in (3, 5)
        if raised or -8 <= place <= 12:
            return place
        return place + 12 if place < 0 else place - 12

    @property
    def signature_key(self) -> Key:
        """The major or minor key with this signature, minor where the tonic chord is: what files
        that know no church modes are told."""
        return Key(self.fifths + 3, MINOR) if self.is_minor else Key(self.fifths, MAJOR)

    def holds(self, fifths: int) -> bool:
        """Whether the scale has the note at this place on the line of fifths."""
        return -1 <= fifths - self.fifths <= 5

    @property
    def raised_seventh(self) -> int | None:
        """Place of a minor key's leading note, None in a key whose scale has it or is major."""
        return self.tonic_fifths + 5 if self.is_minor else None

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
        candidates = [key for key in keys_of(self.mode) if key.pitch_class == wanted]
        side = 1 if self.fifths > 0 else -1
        return min(candidates, key=lambda key: (abs(key.fifths), -side * key.fifths))

    def __str__(self) -> str:
        return self.name


def keys_of(mode: str) -> tuple[Key, ...]:
    """The fifteen keys of a mode, from seven flats to seven sharps."""
    return tuple(Key(n + _ABOVE_PARENT[mode], mode) for n in range(-7, 8))


ALL_KEYS: tuple[Key, ...] = keys_of(MAJOR) + keys_of(MINOR)
"""All thirty keys, from seven flats to seven sharps, major then minor."""


def as_key(key: str | Key) -> Key:
    """Give back a Key unchanged, read a text as one."""
    return key if isinstance(key, Key) else parse_key(key)


def parse_key(text: str) -> Key:
    """Read a key: "Db", "Db major", "Bbm", "F# minor", "c minor", "D mixolydian", "A dorian".

    A letter alone is major, in either case. Raises LogbookError naming the nearest right thing
    for a key that does not exist (G# major is Ab major).
    """
    stripped = text.strip()
    read = read_note(stripped)
    if read is None:
        raise LogbookError(f"{text!r} is not a key", _remedy(stripped))
    words = stripped[read.end :].strip(" -_") if stripped[read.end :] != "-" else "-"
    for word, sign in (("flat", "b"), ("sharp", "#")):
        if words.lower().startswith(word):  # B flat minor
            return parse_key(f"{stripped[: read.end]}{sign} {words[len(word) :].strip(' -')}")
    mode = _MODE_WORDS.get(words) or _MODE_WORDS.get(words.lower())
    if mode is None:
        tonic = fifths_to_name(read.fifths)
        raise LogbookError(
            f"{text!r} is not a key: {words!r} is not a mode kept here",
            f"write {tonic} major or {tonic} minor, or a church mode such as {tonic} dorian",
        )
    key = Key(read.fifths, mode)
    if not -7 <= key.fifths <= 7:
        same = [each for each in keys_of(mode) if each.pitch_class == key.pitch_class]
        real = min(same, key=lambda each: abs(each.fifths))
        raise LogbookError(f"there is no key of {key.name}", f"write {real.name}")
    return key


def _remedy(text: str) -> str:
    """What to write instead of a text that starts with no note letter."""
    if text[:1] in ("H", "h"):
        rest = text[1:].strip()
        return f"H is B here: write {('B ' + rest) if rest not in ('m', '') else 'B' + rest}"
    return "write tonic and mode, as in Db, Bbm, F# minor or D dorian"


def scale_degree(note: str, key: str | Key) -> str:
    """Degree of a note name in a key's scale as a plain number: ("Gb", "C") -> "b5"."""
    home = as_key(key)
    return degree_above_tonic(name_to_fifths(note) - home.tonic_fifths, home)


def degree_above_tonic(fifths: int, key: Key) -> str:
    """Degree in a key's scale of the note so many fifths above its tonic: (-6, C) -> "b5"."""
    steps = _MINOR_STEPS if key.is_minor else _MAJOR_STEPS
    for degree, step in enumerate(steps, start=1):
        alteration, rest = divmod(fifths - step, 7)
        if rest == 0:
            return ("#" * alteration if alteration > 0 else "b" * -alteration) + str(degree)
    raise AssertionError("every note has a letter of the scale")
