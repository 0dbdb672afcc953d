"""One voicing, all that there is to say about it, as plain data.

The fret line is placed on the neck, and everything else follows from there: both fret counts,
what sounds, what the shape is called and what the room hears, degrees, guide tones, what may
ring, fingers, reach. Strings stand low to high; numbers of strings count from the high side.
Strings that only may ring do not take part in the naming.
"""

from dataclasses import dataclass
from typing import NamedTuple

from logbook.strings.capo import Capos, check_capos, string_stops, whole_capo
from logbook.strings.fingering import Barre, barres_of, propose_fingers
from logbook.strings.frets import (
    CAPO,
    NUT,
    Fingers,
    FretError,
    FretLine,
    Position,
    check_fingers,
    count_frets,
    place_frets,
    read_fingers,
    read_frets,
)
from logbook.strings.instruments import KINDS
from logbook.strings.ring import RingNote, judge_ring
from logbook.strings.sounding import (
    course_midi,
    hand_shape_midi,
    shape_midi,
    sounding_midi,
    unfingered_midi,
)
from logbook.strings.stretch import REACH_MM, STRAIN_CAUTION, WIDE_MM, fingered_frets, stretch_mm
from logbook.strings.tunings import StringTuning, bass_counts_on
from logbook.theory.chord_name import ChordName
from logbook.theory.degrees import degree_in_chord, guide_tones
from logbook.theory.judge import SHAPE_NAME, Verdict, judge
from logbook.theory.keys import Key, as_key
from logbook.theory.names import name_chord
from logbook.theory.pitch import midi_to_name, spelled
from logbook.theory.symbols import read_symbol


class StringView(NamedTuple):
    """What one string does in a voicing.

    `number` is the players' (1 is the high side), `open_note` its pitch with no capo, `state`
    one of "fretted", "open", "may ring", "harmonic" and "not played"; the rest is None where the
    string is not played. `course` names every string of a course that has several.
    """

    number: int
    open_note: str
    state: str
    from_nut: int | None
    from_capo: int | None
    midi: int | None
    note: str | None
    degree: str | None
    finger: str | None
    course: tuple[str, ...] = ()


class GuideTone(NamedTuple):
    """A third or seventh that sounds: its string, note with octave and degree."""

    string: int
    note: str
    degree: str


@dataclass(frozen=True, kw_only=True, slots=True)
class SoundingVoicing:
    """One voicing as plain data.

    `line` is the fret line as written, `from_nut` and `from_capo` the same in both counts.
    `concert` and `shape` are the readings of what sounds and of the shape, best first; `chord`
    the symbol that degrees are given against: the written name where the notes bear it out, the
    best reading otherwise. `verdict` judges the written name (None where there is none).
    `shape_key` is the key the hands think in, where a whole capo is on and the key is known.
    """

    line: FretLine
    position: Position
    tuning: StringTuning
    capos: Capos
    key: Key | None
    shape_key: Key | None
    name: str
    from_nut: str
    from_capo: str
    strings: tuple[StringView, ...]
    concert: tuple[ChordName, ...]
    shape: tuple[ChordName, ...]
    chord: str
    verdict: Verdict | None
    guide_tones: tuple[GuideTone, ...]
    ring: tuple[RingNote, ...]
    fingers: Fingers | None
    fingers_proposed: bool
    barres: tuple[Barre, ...]
    scale_mm: float
    stretch_mm: float
    bass: str | None = None

    @property
    def midi(self) -> tuple[int, ...]:
        """MIDI notes played on purpose, in the order of the strings."""
        return tuple(
            view.midi for view in self.strings if view.midi is not None and view.state != "may ring"
        )

    @property
    def notes(self) -> tuple[str, ...]:
        """Notes with octave played on purpose, in the order of the strings."""
        return tuple(
            view.note for view in self.strings if view.note is not None and view.state != "may ring"
        )

    @property
    def shape_name(self) -> str:
        """What the hands call the chord: under a whole capo the same reading as `chord`.

        Empty under a partial one: no player has a name for such a shape.
        """
        whole = whole_capo(self.tuning, self.capos)
        if whole is None:
            return ""
        borne_out = self.verdict is not None and self.verdict.agrees
        if not (borne_out or self.concert[0].named):
            return self.shape[0].symbol
        if whole == 0:
            return self.chord
        return read_symbol(self.chord).transpose(-whole, self.shape_key, old=self.key).symbol

    @property
    def not_played(self) -> tuple[int, ...]:
        """Players' numbers of the strings left out, high side first."""
        return tuple(view.number for view in reversed(self.strings) if view.state == "not played")

    @property
    def caution(self) -> str:
        """The caution about strain, where the reach is wide or the fingering only proposed."""
        return STRAIN_CAUTION if self.stretch_mm >= WIDE_MM or self.fingers_proposed else ""


def describe(
    frets: str,
    tuning: StringTuning,
    capos: Capos = (),
    *,
    counted: str = NUT,
    key: str | Key | None = None,
    name: str = "",
    bass: int | None = None,
    before: str | None = None,
    after: str | None = None,
    fingers: str = "",
    scale_mm: float | None = None,
    last_fret: int | None = None,
    clear_frets: int | None = None,
) -> SoundingVoicing:
    """Return everything there is to say about one voicing.

    `counted` says which way `frets` counts; `key` is the concert key, `name` the name the player
    gave, `bass` a pitch class another part plays below, `before` and `after` the chords around it:
    the one before ranks the names, the one after spells the root. Without
    `scale_mm` the usual scale length of the instrument counts. Raises a LogbookError for
    anything that cannot be read or played as it is written.
    """
    line = read_frets(frets, counted=counted, strings=len(tuning))
    check_capos(capos, tuning, clear_frets=clear_frets)
    position = place_frets(line, tuning, capos, last_fret=last_fret)
    if all(at is None for at in position):
        raise FretError("no string is played", "give at least one string a fret")
    home = None if key is None else as_key(key)
    whole = whole_capo(tuning, capos)
    shape_home = home.transpose(-whole) if home is not None and whole else home
    played = _on_purpose(position, sounding_midi(position, tuning))
    shaped = _on_purpose(position, shape_midi(position, tuning))
    counts = bass_counts_on(tuning)
    concert = name_chord(played, key=home, bass=bass, before=before, bass_counts=counts)
    shape = concert
    if capos:
        down = whole or 0
        shape = name_chord(
            shaped,
            key=shape_home,
            bass_counts=counts,
            bass=None if bass is None else (bass - down) % 12,
            before=None if before is None else read_symbol(before).transpose(-down).symbol,
        )
    if after is not None:
        follows = read_symbol(after)
        concert = tuple(each.before(follows) for each in concert)
        shape = tuple(each.before(follows.transpose(-(whole or 0))) for each in shape)
    verdict = judge_position(name, position, tuning, capos, key=home) if name else None
    root_name, degrees = _reference(concert[0], name, verdict)
    given = check_fingers(read_fingers(fingers, strings=len(tuning)), position) if fingers else None
    scale = scale_mm or KINDS.get(tuning.kind, KINDS["guitar"]).scale_mm
    reach_mm = stretch_mm(fingered_frets(position), scale)
    held = given or (propose_fingers(position) if reach_mm <= REACH_MM else None)
    spell = _Speller(home, root_name, degrees)
    strings = _views(position, tuning, held, spell)
    return SoundingVoicing(
        line=line,
        position=position,
        tuning=tuning,
        capos=capos,
        key=home,
        shape_key=shape_home if capos and whole else None,
        name=name,
        from_nut=count_frets(position, NUT).text,
        from_capo=count_frets(position, CAPO).text,
        strings=strings,
        concert=concert,
        shape=shape,
        chord=name if verdict is not None and verdict.agrees else concert[0].symbol,
        verdict=verdict,
        guide_tones=_guide_tones(strings, degrees),
        ring=_ring_map(position, tuning, capos, None if bass is not None else min(played), spell),
        fingers=held,
        fingers_proposed=given is None and held is not None and any(held),
        barres=barres_of(held, position) if held else (),
        scale_mm=scale,
        stretch_mm=reach_mm,
        bass=None if bass is None else concert[0].bass_name,
    )


def _on_purpose(position: Position, midi: tuple[int | None, ...]) -> tuple[int, ...]:
    """Return the notes that are not only let ring; all of them where there are no others."""
    every = [
        (note, at.may_ring)
        for note, at in zip(midi, position, strict=True)
        if note is not None and at is not None
    ]
    played = tuple(note for note, may_ring in every if not may_ring)
    return played or tuple(note for note, _ in every)


def judge_position(
    name: str,
    position: Position,
    tuning: StringTuning,
    capos: Capos = (),
    *,
    key: str | Key | None = None,
) -> Verdict:
    """Judge a written concert name against what sounds, and against the shape's name.

    Under a partial capo the shape is also taken as the hand feels it. Strings that only may ring
    have no say. Raises a LogbookError where name or key cannot be read.
    """
    home = None if key is None else as_key(key)
    counts = bass_counts_on(tuning)
    played = _on_purpose(position, sounding_midi(position, tuning))
    shaped = _on_purpose(position, shape_midi(position, tuning))
    under_capo = shaped if capos else None
    verdict = judge(name, played, shape_midi=under_capo, key=home, bass_counts=counts)
    if verdict.agrees or verdict.word == SHAPE_NAME:
        return verdict
    for capo in capos:
        felt = _on_purpose(position, hand_shape_midi(position, tuning, capo.fret))
        if felt != shaped:
            second = judge(name, played, shape_midi=felt, key=home, bass_counts=counts)
            if second.word == SHAPE_NAME:
                return second
    return verdict


def _reference(best: ChordName, name: str, verdict: Verdict | None) -> tuple[str, tuple[str, ...]]:
    """Return root name and degrees of the chord that degrees are counted against.

    Notes that deserve no name have no degrees, and an empty root.
    """
    if verdict is not None and verdict.agrees:
        symbol = read_symbol(name)
        return symbol.root, symbol.degrees
    return (best.root_name, best.degrees) if best.named else ("", ())


class _Speller:
    """Names notes by the chord, and by the key those that it does not claim."""

    def __init__(self, home: Key | None, root: str, degrees: tuple[str, ...]) -> None:
        self.home = home
        self.root = root
        self.degrees = degrees
        self.root_pc = read_symbol(root).root_pc if root else None

    def degree(self, midi: int) -> str | None:
        """The degree of a note against the chord, None where there is no chord."""
        if self.root_pc is None:
            return None
        return degree_in_chord(midi - self.root_pc, self.degrees)

    def note(self, midi: int) -> str:
        """The name of a note with its octave."""
        if self.root_pc is None:
            return midi_to_name(midi, self.home)
        return spelled(midi, self.root, self.degrees, self.home)


def _views(
    position: Position, tuning: StringTuning, fingers: Fingers | None, spell: _Speller
) -> tuple[StringView, ...]:
    count = len(tuning)
    views = []
    rows = zip(
        position,
        tuning.strings,
        sounding_midi(position, tuning),
        course_midi(position, tuning),
        fingers or (None,) * count,
        strict=True,
    )
    for index, (at, string, midi, course, finger) in enumerate(rows):
        if at is None or midi is None:
            views.append(
                StringView(
                    count - index, string.name, "not played", None, None, None, None, None, None
                )
            )
            continue
        state = "harmonic" if at.harmonic else "fretted" if at.fingered else "open"
        views.append(
            StringView(
                count - index,
                string.name,
                "may ring" if at.may_ring else state,
                at.fret if at.fingered else 0,
                at.fret - at.stop,
                midi,
                spell.note(midi),
                spell.degree(midi),
                finger,
                tuple(map(spell.note, course)) if len(course) > 1 else (),
            )
        )
    return tuple(views)


def _guide_tones(
    strings: tuple[StringView, ...], degrees: tuple[str, ...]
) -> tuple[GuideTone, ...]:
    wanted = guide_tones(degrees)
    return tuple(
        GuideTone(view.number, view.note, view.degree)
        for view in strings
        if view.note is not None and view.degree is not None and view.degree in wanted
    )


def _ring_map(
    position: Position,
    tuning: StringTuning,
    capos: Capos,
    lowest: int | None,
    spell: _Speller,
) -> tuple[RingNote, ...]:
    """Return every string that no finger holds, high side first.

    `lowest` is the MIDI note of the chord's bass, None where another part plays it.
    """
    if spell.root_pc is None:
        return ()
    count = len(tuning)
    ring = []
    alone = unfingered_midi(tuning, string_stops(tuning, capos))
    for index, (at, midi) in enumerate(zip(position, alone, strict=True)):
        if at is not None and at.fingered:
            continue
        played_as = "not played" if at is None else "may ring" if at.may_ring else "open"
        kind, degree, why = judge_ring(midi, spell.root_pc, spell.degrees, lowest)
        ring.append(RingNote(count - index, midi, spell.note(midi), played_as, kind, degree, why))
    return tuple(reversed(ring))
