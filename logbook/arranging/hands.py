"""A part's voicings under other capos, in another tuning, in another key.

Conventions. A position is kept fret for fret when every string it sounds is fretted as far above
its capo (or nut) as before and all of its notes have moved alike, to the new key in some octave.
A shape without open strings that moves along the neck is the same shape at other frets. Anything
else is a new shape: the grip that is taught, where the recorded one is taught too; else, of the
voicings with the same notes of the chord over the same bass, if there are any, one that is easy
and close to the recorded one, closeness weighing half as much.
"""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple

from logbook.errors import LogbookError
from logbook.records.context import by_name
from logbook.records.part_view import PartView
from logbook.records.parts import Part
from logbook.records.parts import Voicing as VoicingRecord
from logbook.records.places import Instrument
from logbook.strings.capo import Capos, string_stops
from logbook.strings.capo_table import keep
from logbook.strings.finder import (
    HIGHEST_USUAL_FRET,
    Fingering,
    Limits,
    find_same_notes,
    find_voicings,
)
from logbook.strings.frets import Position, Stopped, place_frets, read_frets
from logbook.strings.grips import common_grips
from logbook.strings.instruments import KINDS, InstrumentKind
from logbook.strings.sounding import played_midi, sounding_midi
from logbook.strings.tunings import StringTuning
from logbook.strings.voicing import describe
from logbook.theory.keys import Key
from logbook.theory.symbols import ChordSymbol, read_symbol

KEPT, MOVED, NEW, UNPLAYABLE = "kept", "moved along the neck", "new", "not playable"
_CLOSE = 0.5  # what closeness to the recorded voicing weighs against ease (common sense)


class Setup(NamedTuple):
    """What the hands meet: tuning, capos, and the measures of the neck.

    `frets` is how many there are, `clear_frets` the last one a capo can be put at, `scale_mm` the
    scale length.
    """

    tuning: StringTuning
    capos: Capos
    frets: int
    clear_frets: int
    scale_mm: float

    def limits(self) -> Limits:
        """What the finder may use on this neck."""
        stops = string_stops(self.tuning, self.capos)
        last = min(self.frets, HIGHEST_USUAL_FRET + min(stops))
        return Limits(last_fret=last, scale_mm=self.scale_mm)


class Recorded(NamedTuple):
    """A voicing as recorded: `chord` None where its notes make no chord with a name."""

    label: str
    position: Position
    chord: ChordSymbol | None


class Hand(NamedTuple):
    """A voicing in one way: `state` is how it got there, `position` None where it cannot be."""

    label: str
    state: str
    position: Position | None
    why: str = ""


def kind_of(instrument: Instrument | None, tuning: StringTuning) -> InstrumentKind:
    """The usual measures of the instrument, by its kind if that is known, else by its tuning."""
    name = instrument.kind.strip().lower() if instrument else ""
    tuned = KINDS.get(tuning.kind, KINDS["guitar"])
    # A tuning tells more than "guitar" does, say of a twelve-string.
    return tuned if name not in KINDS or name == "guitar" else KINDS[name]


def rig_of(place: PartView) -> Setup | None:
    """A part's rig as recorded; None where nobody said a tuning.

    Raises LogbookError where tuning or capo cannot be read.
    """
    tuning = place.tuning
    if tuning is None:
        return None
    return build_rig(tuning, place.capos, by_name(place.log.instruments, place.part.instrument))


def build_rig(tuning: StringTuning, capos: Capos, instrument: Instrument | None) -> Setup:
    """A rig of this tuning and these capos on an instrument (None: a usual one)."""
    kind = kind_of(instrument, tuning)
    return Setup(
        tuning,
        capos,
        (instrument.frets if instrument else None) or kind.frets,
        kind.clear_frets,
        (instrument.scale_mm if instrument else None) or kind.scale_mm,
    )


_voicing = lru_cache(maxsize=4096)(describe)


def recorded_voicings(
    part: Part, rig: Setup, key: Key | None
) -> tuple[tuple[Recorded, ...], tuple[str, ...]]:
    """The part's voicings as they lie on the neck, and what could not be read of them."""
    found, problems = [], []
    for voicing in part.voicings:
        try:
            found.append(_recorded(voicing, part, rig, key))
        except LogbookError as error:
            problems.append(f"{part.name}, voicing {voicing.label}: {error}")
    return tuple(found), tuple(problems)


def _recorded(voicing: VoicingRecord, part: Part, rig: Setup, key: Key | None) -> Recorded:
    counted = voicing.counted or part.counted
    line = read_frets(voicing.frets, counted=counted)
    position = place_frets(line, rig.tuning, rig.capos)
    if not played_midi(position, rig.tuning):
        return Recorded(voicing.label, position, None)
    view = _voicing(
        voicing.frets,
        rig.tuning,
        rig.capos,
        counted=counted,
        key=key,
        name=_chord_name(voicing),
        scale_mm=rig.scale_mm,
        clear_frets=max([rig.clear_frets, *(capo.fret for capo in rig.capos)]),
    )
    named = view.concert[0].named or (view.verdict is not None and view.verdict.agrees)
    return Recorded(voicing.label, position, read_symbol(view.chord) if named else None)


def _chord_name(voicing: VoicingRecord) -> str:
    for text in (voicing.name, voicing.label):
        if text:
            try:
                return "" if read_symbol(text).is_no_chord else text
            except LogbookError:
                continue
    return ""


def same_hand(recorded: Recorded, old: Setup, new: Setup, steps: int) -> Hand:
    """The voicing with the same frets above the capo, where that sounds in the new key."""
    if len(old.tuning) != len(new.tuning):
        return Hand(recorded.label, UNPLAYABLE, None, "the instrument has other strings")
    stops = string_stops(new.tuning, new.capos)
    moved = tuple(
        None if at is None else Stopped(stop + at.fret - at.stop, stop, at.may_ring, at.harmonic)
        for at, stop in zip(recorded.position, stops, strict=True)
    )
    before = sounding_midi(recorded.position, old.tuning)
    after = sounding_midi(moved, new.tuning)
    ways = {
        new_note - old_note
        for old_note, new_note in zip(before, after, strict=True)
        if old_note is not None and new_note is not None
    }
    if len(ways) > 1:
        return Hand(recorded.label, UNPLAYABLE, None, "its strings would not all move alike")
    if any((way - steps) % 12 for way in ways):
        return Hand(recorded.label, UNPLAYABLE, None, "it would sound in another key")
    highest = max((at.fret for at in moved if at is not None and at.fingered), default=0)
    if highest > new.frets:
        why = f"it would need fret {highest}, and there are {new.frets}"
        return Hand(recorded.label, UNPLAYABLE, None, why)
    return Hand(recorded.label, KEPT, moved)


def new_hand(recorded: Recorded, old: Setup, new: Setup, steps: int, key: Key | None) -> Hand:
    """The voicing of the same chord in the new key that is closest to the recorded one."""
    label = recorded.label
    if not any(recorded.position):
        return Hand(label, KEPT, (None,) * len(new.tuning))
    same_strings = old.tuning.open_midi == new.tuning.open_midi
    if same_strings and _is_movable(recorded.position):
        moved = keep(recorded.position, new.tuning, new.capos, steps, limits=_roomy(old, new))
        if moved is not None:
            return Hand(label, KEPT if moved == recorded.position else MOVED, moved)
    known = _taught(recorded, old, new, steps, key)
    if known is not None:
        alike = _above_stops(known) == _above_stops(recorded.position)
        return Hand(label, KEPT if alike else NEW, known)
    # Closeness can only be measured on as many strings.
    near = recorded.position if len(old.tuning) == len(new.tuning) else None
    midi = played_midi(recorded.position, old.tuning)
    wanted = {(note + steps) % 12 for note in midi}
    if recorded.chord is None or len(wanted) < 3:
        found = _same_notes(midi, new, near, steps)
    else:
        symbol = recorded.chord.transpose(steps, key)
        found = _best(_chords(symbol, new, near), wanted, (min(midi) + steps) % 12)
    if found is None:
        return Hand(label, UNPLAYABLE, None, "no hand can hold it here")
    alike = _above_stops(found.position) == _above_stops(recorded.position)
    return Hand(label, KEPT if alike else NEW, found.position)


def _taught(
    recorded: Recorded, old: Setup, new: Setup, steps: int, key: Key | None
) -> Position | None:
    """The grip that is taught for the chord in the new key, where the recorded one is taught too.

    None where it is not, or where the new one has not the same bass.
    """
    if recorded.chord is None:
        return None
    if recorded.position not in common_grips(recorded.chord, old.tuning, old.capos):
        return None
    bass = (min(played_midi(recorded.position, old.tuning)) + steps) % 12
    root = recorded.chord.root_pc
    plain = root is not None and (root + steps) % 12 == bass
    grips = common_grips(
        recorded.chord.transpose(steps, key),
        new.tuning,
        new.capos,
        last_fret=new.limits().last_fret,
    )
    for grip in grips:
        if not plain or min(played_midi(grip, new.tuning)) % 12 == bass:
            return grip
    return None


def _above_stops(position: Position) -> tuple[int | None, ...]:
    return tuple(None if at is None else at.fret - at.stop for at in position)


def _is_movable(position: Position) -> bool:
    return all(at is None or (at.fingered and not at.harmonic) for at in position)


def _roomy(old: Setup, new: Setup) -> Limits:
    """Limits that what was recorded stays within: a shape that was held can be held again."""
    return Limits(stretch_mm=1000.0, last_fret=new.frets, scale_mm=new.scale_mm)


def _same_notes(
    midi: tuple[int, ...], rig: Setup, near: Position | None, steps: int
) -> Fingering | None:
    """The exact notes, in the octave and the place that are easy and close."""
    found: list[tuple[float, Fingering]] = []
    for way in (steps, steps - 12, steps + 12):
        notes = [note + way for note in midi]
        if min(notes) >= 0 and max(notes) <= 127:
            easy = find_same_notes(notes, rig.tuning, rig.capos, limits=rig.limits())
            close = find_same_notes(notes, rig.tuning, rig.capos, near=near, limits=rig.limits())
            found += _balanced(easy, close, near)
    return min(found, key=lambda each: each[0])[1] if found else None


def _chords(chord: ChordSymbol, rig: Setup, near: Position | None) -> list[Fingering]:
    """Every voicing of a chord, the best first: easy to hold, and close to the recorded one."""
    easy = find_voicings(chord, rig.tuning, rig.capos, limits=rig.limits())
    if near is None:
        return list(easy)
    close = find_voicings(chord, rig.tuning, rig.capos, near=near, limits=rig.limits())
    return [found for _, found in sorted(_balanced(easy, close, near), key=lambda each: each[0])]


def _balanced(
    easy: tuple[Fingering, ...], close: tuple[Fingering, ...], near: Position | None
) -> list[tuple[float, Fingering]]:
    """The same voicings, each with what ease and closeness together make of it."""
    if near is None:
        return [(each.distance, each) for each in easy]
    way = {(each.low, each.shape): each.distance for each in close}
    return [(each.distance + _CLOSE * way[each.low, each.shape], each) for each in easy]


def _best(found: list[Fingering], wanted: set[int], bass: int) -> Fingering | None:
    """The first with the same notes over the same bass, or what comes nearest to that."""

    def notes(each: Fingering) -> set[int]:
        return {note % 12 for note in each.notes if note >= 0}

    def low(each: Fingering) -> int:
        return min(note for note in each.notes if note >= 0) % 12

    over_bass = [each for each in found if low(each) == bass]
    for choice in (
        [each for each in over_bass if notes(each) == wanted],
        [each for each in over_bass if notes(each) >= wanted],
        [each for each in found if notes(each) >= wanted],
        over_bass,
        found,
    ):
        if choice:
            return choice[0]
    return None
