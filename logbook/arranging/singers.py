"""Keys that suit a singer: where the melody's range lies within the comfortable one.

Conventions. Ranges are the lowest and highest note with octave ("A3", "D5"). Room is in semitones
between the singer's end and the melody's: 2 below means the melody's lowest note lies a tone
above the singer's. Of the twelve keys each is moved by the fewest semitones with which it fits;
the band moves by the shorter way there, and the singer may sing octaves away from that. Where
nothing fits, the keys nearest to it are given with how far the melody lies outside. A comfortable
note is the singer's own to say.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from logbook.errors import LogbookError
from logbook.records.people import Person
from logbook.records.songs import Version
from logbook.theory.keys import Key, parse_key
from logbook.theory.pitch import midi_to_name, name_to_midi

VOICE_CAUTION = (
    "A key fits on paper only: sing it through, stop where it strains, and ask a teacher, or a "
    "doctor if hoarseness lasts."
)


class Range(NamedTuple):
    """A lowest and a highest note, as MIDI notes."""

    low: int
    high: int

    @property
    def width(self) -> int:
        """Semitones from the lowest to the highest."""
        return self.high - self.low


class SingersKey(NamedTuple):
    """One key: how far it is from the record, where the melody lies, and the room around it.

    `steps` are semitones of the melody, negative downward; `band_steps` those of the key, -6 to 5,
    and `octaves` how many octaves the melody lies from where the band has moved it. A room below 0
    is how far the melody lies outside.
    """

    key: Key
    steps: int
    low: str
    high: str
    room_below: int
    room_above: int

    @property
    def fits(self) -> bool:
        """Whether the whole melody is comfortable."""
        return self.room_below >= 0 and self.room_above >= 0

    @property
    def band_steps(self) -> int:
        """How far the key lies from the record's, the shorter way: -6 to 5 semitones."""
        return (self.steps + 6) % 12 - 6

    @property
    def octaves(self) -> int:
        """Octaves between the melody and where the band has moved it, negative downward."""
        return (self.steps - self.band_steps) // 12

    @property
    def name(self) -> str:
        """The key, and the octave it is sung in where that is another: "D, an octave lower"."""
        if not self.octaves:
            return self.key.name
        count = {1: "an octave", 2: "two octaves"}.get(
            abs(self.octaves), f"{abs(self.octaves)} octaves"
        )
        return f"{self.key.name}, {count} {'lower' if self.octaves < 0 else 'higher'}"

    @property
    def outside(self) -> str:
        """How far the melody lies outside: "2 semitones too low, 1 too high"; empty if it fits."""
        said: list[str] = []
        for room, word in ((self.room_below, "low"), (self.room_above, "high")):
            if room < 0:
                unit = " semitone" if room == -1 else " semitones"
                said.append(f"{-room}{unit if not said else ''} too {word}")
        return ", ".join(said)


def read_range(low: str, high: str, whose: str) -> Range:
    """Read a range. Raises LogbookError where an end is missing, unreadable, or upside down."""
    if not low or not high:
        raise LogbookError(
            f"{whose} is not known", "say the lowest and the highest note, such as A3 and D5"
        )
    found = Range(name_to_midi(low), name_to_midi(high))
    if found.width < 0:
        raise LogbookError(
            f"{whose} ends at {high}, below where it starts at {low}", f"write {high} to {low}"
        )
    return found


def singers_keys(singer: Range, melody: Range, key: Key) -> tuple[SingersKey, ...]:
    """Return the keys that fit, the nearest to the record first; empty where none does.

    Of two as near, the one that leaves the more even room comes first.
    """
    best: dict[int, SingersKey] = {}
    for steps in range(singer.low - melody.low, singer.high - melody.high + 1):
        known = best.get(steps % 12)
        if known is None or _nearness(steps) < _nearness(known.steps):
            best[steps % 12] = at_steps(singer, melody, key, steps)
    return tuple(sorted(best.values(), key=_rank))


def _nearness(steps: int) -> tuple[int, int]:
    return abs(steps), steps


def _rank(each: SingersKey) -> tuple[int, int, int]:
    return abs(each.steps), abs(each.room_below - each.room_above), each.steps


def at_steps(singer: Range, melody: Range, key: Key, steps: int) -> SingersKey:
    """Where the melody lies for the singer when it is moved by so many semitones."""
    new = key.transpose(steps)
    return SingersKey(
        new,
        steps,
        midi_to_name(melody.low + steps, new),
        midi_to_name(melody.high + steps, new),
        melody.low + steps - singer.low,
        singer.high - melody.high - steps,
    )


def nearest_keys(singer: Range, melody: Range, key: Key, count: int = 3) -> tuple[SingersKey, ...]:
    """Return the keys in which the least of a melody that fits nowhere lies outside.

    Of those as good, the one with the smaller excess at either end, then the nearest to the record.
    """
    found: dict[int, SingersKey] = {}
    lowest, highest = singer.low - melody.high, singer.high - melody.low
    for steps in range(lowest, highest + 1):
        each = at_steps(singer, melody, key, steps)
        known = found.get(steps % 12)
        if known is None or _excess(each) < _excess(known):
            found[steps % 12] = each
    return tuple(sorted(found.values(), key=_excess)[:count])


def _excess(each: SingersKey) -> tuple[int, int, int, int]:
    below, above = max(-each.room_below, 0), max(-each.room_above, 0)
    return below + above, max(below, above), abs(each.steps), each.steps


class SingersAnswer(NamedTuple):
    """What keys there are for a singer: those that fit, and the record's key whether or not.

    `recorded` is the record's key where the melody fits it best, in whichever octave. Where no
    key fits, `nothing` says why and `nearest` are the best of them.
    """

    singer: str
    comfortable: tuple[str, str]
    melody: tuple[str, str]
    keys: tuple[SingersKey, ...]
    recorded: SingersKey
    nothing: str
    nearest: tuple[SingersKey, ...] = ()


def keys_for(singer: Person, version: Version) -> SingersAnswer:
    """Return the keys in which a version's melody fits a singer, in whichever octave.

    Raises LogbookError where a range or the key is not known.
    """
    voice = read_range(singer.low, singer.high, f"the range of {singer.name}")
    melody = read_range(
        version.melody_low, version.melody_high, f"the range of the melody of {version.name}"
    )
    if not version.key:
        raise LogbookError(f"the key of {version.name} is not known", "set it first")
    key = parse_key(version.key)
    keys = singers_keys(voice, melody, key)
    nothing = ""
    if not keys:
        wider = melody.width - voice.width
        nothing = (
            f"no key fits: the melody spans {melody.width} semitones, which is {wider} more than "
            f"the range of {singer.name}"
        )
    return SingersAnswer(
        singer.name,
        (singer.low, singer.high),
        (version.melody_low, version.melody_high),
        keys,
        min((at_steps(voice, melody, key, 12 * octaves) for octaves in range(-3, 4)), key=_excess),
        nothing,
        nearest_keys(voice, melody, key) if nothing else (),
    )


def melody_said(version: Version, people: Sequence[Person], key: str) -> str:
    """Say where the melody lies in a key, and whom of the singers in the log it suits.

    Empty where the melody's range or the version's key is not known.
    """
    if not (version.melody_low and version.melody_high and version.key and key):
        return ""
    melody = read_range(version.melody_low, version.melody_high, "the range of the melody")
    old, new = parse_key(version.key), parse_key(key)
    steps = (new.pitch_class - old.pitch_class + 6) % 12 - 6
    low, high = (midi_to_name(note + steps, new) for note in melody)
    said = f"in {new.name} the melody goes from {low} to {high}"
    for singer in people:
        if singer.low and singer.high:
            at = at_steps(read_range(singer.low, singer.high, singer.name), melody, old, steps)
            within = "within" if at.fits else "beyond"
            said += f"; {within} the range of {singer.name} ({singer.low} to {singer.high})"
    return said
