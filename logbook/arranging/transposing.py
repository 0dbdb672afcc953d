"""Written pitch for transposing instruments, on their own charts.

Conventions. An interval is how many semitones the written note lies above the sounding one:
B-flat instruments are written a major second higher (trumpet, clarinet), E-flat instruments a
major sixth (alto saxophone), instruments in F a fifth (horn), octave instruments an octave
(guitar, bass). The figures are in common practice; a logged instrument that says its own
transposition goes before them (a tenor saxophone is 14, an E-flat clarinet -3).
"""

from __future__ import annotations

from contextlib import suppress
from typing import NamedTuple

from logbook.arranging.arrange import ArrangedVersion
from logbook.arranging.charts import move_name
from logbook.arranging.hands import Setup, rig_of
from logbook.arranging.parts import PartPlan
from logbook.arranging.performance import readable_positions
from logbook.arranging.pitched import notes_of
from logbook.errors import LogbookError
from logbook.records.context import by_name, transposition_of
from logbook.records.log import Log
from logbook.records.parts import Part
from logbook.records.places import Instrument
from logbook.strings.sounding import played_midi
from logbook.theory.keys import Key, parse_key
from logbook.theory.pitch import midi_to_name, spelled
from logbook.theory.symbols import read_symbol, reads

WRITTEN_FOR = {"Bb": 2, "Eb": 9, "F": 7, "octave": 12}
_OCTAVE_KINDS = frozenset(
    (
        "guitar", "acoustic guitar", "classical guitar", "electric guitar", "twelve-string",
        "seven-string", "eight-string", "baritone", "tenor guitar", "bass", "short-scale bass",
    )
)  # fmt: skip


class Interval(NamedTuple):
    """What a part is written in: `semitones` above what sounds, and what to call it."""

    semitones: int
    name: str


class WrittenChord(NamedTuple):
    """A chord of the chart as written: where, its name, and the notes of its voicing."""

    bar: int
    beat: str
    chord: str
    notes: tuple[str, ...]


class WrittenChart(NamedTuple):
    """A part's chart at written pitch; `key` is empty where none is known.

    `chords_of` names the part whose chords they are: its own, or another's for an instrument
    that has none and reads at another pitch.
    """

    part: str
    chords_of: str
    interval: Interval
    sounding_key: str
    key: str
    chords: tuple[WrittenChord, ...]


def read_written_for(text: str) -> str:
    """Return "Bb", "Eb", "F", "octave" or "" for concert pitch, as records keep it.

    Raises LogbookError for any other instrument.
    """
    plain = text.strip().replace("-flat", "b").replace(" flat", "b").replace("♭", "b")
    for known in (*WRITTEN_FOR, ""):
        if plain.casefold() == known.casefold():
            return known
    if plain.casefold() in ("concert", "c"):
        return ""
    raise LogbookError(
        f'"{text}" is not a transposition',
        "write Bb, Eb, F, octave, or concert",
    )


def interval_of(
    plan: PartPlan, instrument: Instrument | None, rig: Setup | None = None, kind_up: int = 0
) -> Interval:
    """What a part is written in: as the arrangement says, else as its instrument usually is.

    `kind_up` is how many semitones above what sounds its kind is written, as far as is known.
    """
    said = plan.said.written_for
    own = instrument.transposition if instrument else None
    if own is None and rig is None and kind_up:
        own = kind_up
    if said:
        usual = WRITTEN_FOR[read_written_for(said)]
        # A tenor saxophone is in B-flat too, an octave lower.
        semitones = own if own is not None and (own - usual) % 12 == 0 else usual
        name = "an octave above" if said == "octave" else f"for {_flat(said)} instruments"
        return Interval(semitones, name)
    if own is not None:
        return Interval(own, "for its instrument" if own else "concert pitch")
    if rig is not None and rig.tuning.kind in _OCTAVE_KINDS:
        return Interval(12, "an octave above what sounds")
    return Interval(0, "concert pitch")


def _flat(name: str) -> str:
    return name.replace("b", "-flat")


def written_key(key: Key, interval: Interval) -> Key:
    """The key a part is written in: concert D-flat is E-flat for B-flat instruments."""
    return key.transpose(interval.semitones)


def written_note(midi: int, key: Key | None, interval: Interval, chord: str = "") -> str:
    """A sounding MIDI note as it is written, spelled by its written chord, else by the key.

    `chord` is what the chord is called at written pitch; a name that is no symbol spells nothing.
    """
    new = written_key(key, interval) if key else None
    symbol = read_symbol(chord) if chord and reads(chord) else None
    if symbol is None or symbol.is_no_chord:
        return midi_to_name(midi + interval.semitones, new)
    return spelled(midi + interval.semitones, symbol.root, symbol.degrees, new)


def written_name(name: str, key: Key | None, interval: Interval) -> str:
    """A concert chord name as it is written; an octave leaves it as it is."""
    if interval.semitones % 12 == 0:
        return name
    return move_name(name, interval.semitones, written_key(key, interval) if key else None, key)


def part_interval(arranged: ArrangedVersion, plan: PartPlan) -> Interval:
    """What a part of the arrangement is written in."""
    part = plan.part or plan.recorded
    instrument = by_name(arranged.log.instruments, part.instrument)
    return interval_of(plan, instrument, plan.after, usual_up(arranged.log, part))


def usual_up(log: Log, part: Part) -> int:
    """How far a part's kind of instrument is written above what sounds, as far as that is clear.

    A part that names no instrument and says no notes may be anything ("horn").
    """
    clear = part.instrument or any(each.pitches for each in part.voicings)
    return transposition_of(log, part) if clear else 0


def chords_of(arranged: ArrangedVersion, plan: PartPlan) -> Part:
    """The part whose chords stand on the chart of a part that is played.

    Its own where it has a chart; a transposing instrument without one reads those of the first
    part that has, and so does a melody.
    """
    assert plan.part is not None
    same = part_interval(arranged, plan).semitones % 12 == 0
    if plan.part.chart or (same and not plan.part.melody):
        return plan.part
    return arranged.charted or plan.part


def written_names(arranged: ArrangedVersion, plan: PartPlan) -> dict[str, str]:
    """What the voicings on a part's chart are called at its written pitch, by label."""
    interval = part_interval(arranged, plan)
    return {
        each.label: written_name(each.name or each.label, arranged.key, interval)
        for each in chords_of(arranged, plan).voicings
    }


def written_chart(arranged: ArrangedVersion, plan: PartPlan) -> WrittenChart:
    """Return the chart of a part as its player reads it.

    Raises LogbookError for a part that is left out.
    """
    if plan.part is None:
        raise LogbookError(f"{plan.name} is left out", "name a part that is played")
    interval = part_interval(arranged, plan)
    key = parse_key(arranged.version.key) if arranged.version.key else None
    notes = _notes(arranged, plan)
    source = chords_of(arranged, plan)
    names = written_names(arranged, plan)
    chords = tuple(
        WrittenChord(
            entry.bar,
            entry.beat,
            names.get(entry.voicing, entry.voicing),
            tuple(
                written_note(midi, key, interval, names.get(entry.voicing, entry.voicing))
                for midi in notes.get(entry.voicing, ())
            ),
        )
        for entry in source.chart
    )
    return WrittenChart(
        plan.name,
        source.name,
        interval,
        key.name if key else "",
        written_key(key, interval).name if key else "",
        chords,
    )


def _notes(arranged: ArrangedVersion, plan: PartPlan) -> dict[str, tuple[int, ...]]:
    assert plan.part is not None
    rig = plan.after or rig_of(arranged.place(plan.part))
    if rig is None:
        with suppress(LogbookError):
            return notes_of(arranged.place(plan.part))
        return {}
    positions = readable_positions(plan.part, rig.tuning)
    return {label: played_midi(at, rig.tuning) for label, at in positions.items()}
