"""What a bar of MusicXML begins with: key, meter, clefs, strings, transposition.

Source: MusicXML 4.0 (W3C Music Notation Community Group), elements from memory; the tests hold
every file against its schema.
"""

from __future__ import annotations

from fractions import Fraction
from typing import NamedTuple
from xml.etree import ElementTree

from logbook.arranging.arrange import ArrangedVersion
from logbook.arranging.drumming import DrumStroke
from logbook.arranging.parts import PartPlan
from logbook.arranging.sections import section_keys
from logbook.arranging.transposing import Interval, written_key
from logbook.arranging.xml_notes import PlayedPart
from logbook.strings.capo import whole_capo
from logbook.theory.keys import Key
from logbook.theory.notes import read_note
from logbook.timing.tempo_map import TempoMap

Element = ElementTree.Element
_MIDDLE_C = 60
_sub = ElementTree.SubElement


class Score(NamedTuple):
    """What all parts share: bars in order, the tempo map, divisions of a quarter."""

    arranged: ArrangedVersion
    bars: TempoMap
    numbers: range
    divisions: int
    has_tempo: bool

    def ticks(self, wholes: Fraction) -> int:
        """A length in divisions; it is whole by the choice of divisions."""
        return int(wholes * 4 * self.divisions)


class Voice(NamedTuple):
    """One part while it is written."""

    plan: PartPlan | None
    interval: Interval
    key: Key | None
    frames: dict[str, Element]
    names: dict[str, str]
    is_first: bool
    played: PlayedPart | None = None
    strokes: tuple[DrumStroke, ...] | None = None
    number: int = 1


def write_attributes(
    measure: Element, score: Score, voice: Voice, bar: int, *, changed: bool, slashes: bool
) -> None:
    """Write what changes as a bar begins; in the first bar everything."""
    first = bar == score.numbers[0]
    meter = score.bars.meter_at(bar)
    new_meter = first or meter != score.bars.meter_at(bar - 1)
    changed = changed and voice.played is None and voice.strokes is None
    key_here = (
        dict(section_keys(score.arranged.form, score.arranged.key)).get(bar)
        if (score.arranged.key is not None)
        else None
    )
    if not (first or new_meter or changed or key_here):
        return
    attributes = _sub(measure, "attributes")
    if first:
        add_text(attributes, "divisions", str(score.divisions))
        if voice.key is not None:
            key = _sub(attributes, "key")
            add_text(key, "fifths", str(voice.key.fifths))
            add_text(key, "mode", voice.key.mode)
    elif key_here is not None:
        key = _sub(attributes, "key")
        written = written_key(key_here, voice.interval)
        add_text(key, "fifths", str(written.fifths))
        add_text(key, "mode", written.mode)
    if new_meter:
        time = _sub(attributes, "time")
        add_text(time, "beats", "+".join(map(str, meter.groups)) or str(meter.beats))
        add_text(time, "beat-type", str(meter.unit))
    if first:
        _write_clef(attributes, voice)
    if changed:
        style = _sub(attributes, "measure-style")
        _sub(style, "slash", {"type": "start" if slashes else "stop", "use-stems": "no"})


def _write_clef(attributes: Element, voice: Voice) -> None:
    if voice.strokes is not None:
        add_text(_sub(attributes, "clef"), "sign", "percussion")
        return
    rig = voice.plan.after if voice.plan else None
    low = rig is not None and "bass" in rig.tuning.kind
    tablature = voice.played is not None and voice.played.tuning is not None
    if voice.played is not None and not tablature and voice.interval.semitones % 12 == 0:
        low = voice.played.middle < _MIDDLE_C
    octave = tablature and voice.interval.semitones == 12
    lower = voice.played.lower if voice.played is not None else None
    if lower is not None:
        low = False
    if tablature or lower is not None:
        add_text(attributes, "staves", "2")
    clef = _sub(attributes, "clef", {"number": "1"} if tablature or lower is not None else {})
    add_text(clef, "sign", "F" if low else "G")
    add_text(clef, "line", "4" if low else "2")
    if octave:
        add_text(clef, "clef-octave-change", "-1")
    if lower is not None:
        below = _sub(attributes, "clef", number="2")
        add_text(below, "sign", "F" if lower.middle < _MIDDLE_C else "G")
        add_text(below, "line", "4" if lower.middle < _MIDDLE_C else "2")
    if rig is not None:
        if tablature:
            tab = _sub(attributes, "clef", number="2")
            add_text(tab, "sign", "TAB")
            add_text(tab, "line", str(max(len(rig.tuning) - 1, 1)))
        details = _sub(attributes, "staff-details", {"number": "2"} if tablature else {})
        if tablature:
            add_text(details, "staff-lines", str(len(rig.tuning)))
        for line, string in enumerate(rig.tuning.strings, start=1):
            tuned = _sub(details, "staff-tuning", line=str(line))
            _write_pitch(tuned, string.name, "tuning-")
        capo = whole_capo(rig.tuning, rig.capos)
        if capo:
            add_text(details, "capo", str(capo))
    if not octave:
        _write_transpose(attributes, voice)


def _write_pitch(parent: Element, name: str, prefix: str) -> None:
    note = read_note(name)
    assert note is not None
    alter = name[1 : note.end].count("#") - name[1 : note.end].count("b")
    add_text(parent, f"{prefix}step", name[0].upper())
    if alter:
        add_text(parent, f"{prefix}alter", str(alter))
    add_text(parent, f"{prefix}octave", name[note.end :])


def _write_transpose(attributes: Element, voice: Voice) -> None:
    """What leads from written to sounding pitch."""
    semitones = -voice.interval.semitones
    if not semitones:
        return
    octaves, chromatic = int(semitones / 12), semitones - 12 * int(semitones / 12)
    transpose = _sub(attributes, "transpose")
    add_text(transpose, "diatonic", str(_letters(chromatic)))
    add_text(transpose, "chromatic", str(chromatic))
    if octaves:
        add_text(transpose, "octave-change", str(octaves))


def _letters(semitones: int) -> int:
    """Steps of the staff for an interval, as it is usually spelled: a fifth is four."""
    steps = (0, 1, 1, 2, 2, 3, 3, 4, 5, 5, 6, 6)
    return steps[abs(semitones)] * (1 if semitones > 0 else -1)


def add_text(parent: Element, tag: str, text: str) -> Element:
    """Add a child with a text, without what cannot be printed."""
    child = _sub(parent, tag)
    child.text = "".join(each for each in text if each.isprintable())
    return child
