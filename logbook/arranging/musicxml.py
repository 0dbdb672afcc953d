"""An arrangement as MusicXML 4.0: each part's chart with chord symbols and chord frames.

Conventions
-----------
* A part is written for its player: key, chord symbols and transposition at written pitch.
* Beats are slashes (rests under a slash style); a section the part does not play in is whole
  bars of rest. Divisions are as fine as the chart and the meters ask for.
* A chord symbol has the MusicXML kind that claims the most of its degrees, and the rest as
  degrees; the text is the suffix as charts write it.
* A whole capo is stated with the staff's tuning, and the frames count from it.
* Tempo and section marks stand in the first part, and what the road map says in words. A last
  chord that rings has a fermata.

Source: MusicXML 4.0 (W3C Music Notation Community Group), elements and kind values from memory.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from itertools import pairwise
from math import lcm
from typing import NamedTuple
from xml.etree import ElementTree

from logbook.arranging.arrange import ArrangedVersion
from logbook.arranging.difference import rounded_tempo
from logbook.arranging.lengths import last_bar
from logbook.arranging.parts import PartPlan
from logbook.arranging.transposing import (
    Interval,
    chords_of,
    part_interval,
    written_key,
    written_names,
)
from logbook.arranging.xml_chords import harmony_of
from logbook.arranging.xml_frames import frames_of
from logbook.records.context import meters_of, tempo_map_of
from logbook.records.parts import ChartEntry
from logbook.strings.capo import whole_capo
from logbook.theory.keys import Key
from logbook.theory.notes import read_note
from logbook.timing.bars import BarPoint
from logbook.timing.meter import Meter
from logbook.timing.tempo import Tempo
from logbook.timing.tempo_map import TempoMap, constant_tempo

Element = ElementTree.Element
_sub = ElementTree.SubElement

_HEAD = '<?xml version="1.0" encoding="UTF-8"?>\n'
_TYPES = {
    Fraction(2): "breve", Fraction(1): "whole", Fraction(1, 2): "half", Fraction(1, 4): "quarter",
    Fraction(1, 8): "eighth", Fraction(1, 16): "16th", Fraction(1, 32): "32nd",
    Fraction(1, 64): "64th", Fraction(1, 128): "128th",
}  # fmt: skip


class _Score(NamedTuple):
    """What all parts share: bars in order, the tempo map, divisions of a quarter."""

    arranged: ArrangedVersion
    bars: TempoMap
    numbers: range
    divisions: int
    has_tempo: bool

    def ticks(self, wholes: Fraction) -> int:
        """A length in divisions; it is whole by the choice of divisions."""
        return int(wholes * 4 * self.divisions)


class _Voice(NamedTuple):
    """One part while it is written."""

    plan: PartPlan | None
    interval: Interval
    key: Key | None
    frames: dict[str, Element]
    names: dict[str, str]
    is_first: bool


def musicxml_text(arranged: ArrangedVersion) -> str:
    """Return the arrangement as the text of a MusicXML file.

    Raises LogbookError where a tuning, a voicing or a beat cannot be read.
    """
    body = ElementTree.tostring(musicxml_tree(arranged), encoding="unicode")
    return f"{_HEAD}{body}\n"


def musicxml_tree(arranged: ArrangedVersion) -> Element:
    """Return the score as an element tree, indented. Raises as `musicxml_text` does."""
    score = _score(arranged)
    plans = [plan for plan in arranged.parts if plan.part is not None]
    root = Element("score-partwise", version="4.0")
    work = _sub(root, "work")
    _text(work, "work-title", arranged.song.title)
    _text(root, "movement-title", arranged.version.name)
    listed = _sub(root, "part-list")
    for number, plan in enumerate(plans or [None], start=1):
        part = _sub(listed, "score-part", id=f"P{number}")
        _text(part, "part-name", plan.name if plan else "chart")
    for number, plan in enumerate(plans or [None], start=1):
        part = _sub(root, "part", id=f"P{number}")
        _write_part(part, score, _voice(arranged, plan, is_first=number == 1))
    ElementTree.indent(root)
    return root


def _score(arranged: ArrangedVersion) -> _Score:
    known = tempo_map_of(arranged.version)
    bars = known or _without_tempo(arranged)
    numbers = range(bars.first_bar, last_bar(arranged) + 1)
    fine = [Fraction(bars.bar_length(bar)) for bar in numbers]
    fine += [bars.meter_at(bar).beat_length for bar in numbers]
    for part in filter(None, (*arranged.version.parts, arranged.charted)):
        for entry in part.chart:
            if entry.bar in numbers:
                fine.append(bars.wholes_at(_point(entry)) - bars.bar_start(entry.bar))
    for change in bars.tempos:
        if change.start.bar in numbers:
            fine.append(bars.wholes_at(change.start) - bars.bar_start(change.start.bar))
    return _Score(
        arranged, bars, numbers, lcm(*((each * 4).denominator for each in fine)), known is not None
    )


def _without_tempo(arranged: ArrangedVersion) -> TempoMap:
    plain = constant_tempo(Tempo(Fraction(120)), meters_of(arranged.version)[0].meter)
    return TempoMap(meters=meters_of(arranged.version), tempos=plain.tempos)


def _point(entry: ChartEntry) -> BarPoint:
    return BarPoint(entry.bar, Fraction(entry.beat))


def _voice(arranged: ArrangedVersion, plan: PartPlan | None, *, is_first: bool) -> _Voice:
    if plan is None or plan.part is None:
        return _Voice(None, Interval(0, ""), arranged.key, {}, {}, is_first)
    interval = part_interval(arranged, plan)
    key = written_key(arranged.key, interval) if arranged.key else None
    names = written_names(arranged, plan)
    return _Voice(plan, interval, key, frames_of(plan), names, is_first)


# Measures


def _write_part(part: Element, score: _Score, voice: _Voice) -> None:
    entries: dict[int, list[ChartEntry]] = {}
    if voice.plan is not None and voice.plan.part is not None:
        for entry in chords_of(score.arranged, voice.plan).chart:
            entries.setdefault(entry.bar, []).append(entry)
    playing = slashes = False
    for bar in score.numbers:
        attributes = {"number": str(bar)}
        if bar == 0:
            attributes["implicit"] = "yes"
        measure = _sub(part, "measure", attributes)
        here = sorted(entries.get(bar, ()), key=_point)
        held = playing and not (here and _point(here[0]).beat == 1)
        sounds = held or any(entry.voicing for entry in here)
        _write_attributes(measure, score, voice, bar, changed=sounds != slashes, slashes=sounds)
        slashes = sounds
        if voice.is_first:
            _write_marks(measure, score, bar)
        _write_bar(measure, score, voice, bar, here, sounds=sounds)
        if here:
            playing = bool(here[-1].voicing)
    barline = _sub(part[-1], "barline", location="right")
    _text(barline, "bar-style", "light-heavy")


def _write_attributes(
    measure: Element, score: _Score, voice: _Voice, bar: int, *, changed: bool, slashes: bool
) -> None:
    first = bar == score.numbers[0]
    meter = score.bars.meter_at(bar)
    new_meter = first or meter != score.bars.meter_at(bar - 1)
    if not (first or new_meter or changed):
        return
    attributes = _sub(measure, "attributes")
    if first:
        _text(attributes, "divisions", str(score.divisions))
        if voice.key is not None:
            key = _sub(attributes, "key")
            _text(key, "fifths", str(voice.key.fifths))
            _text(key, "mode", voice.key.mode)
    if new_meter:
        time = _sub(attributes, "time")
        _text(time, "beats", str(meter.beats))
        _text(time, "beat-type", str(meter.unit))
    if first:
        _write_clef(attributes, voice)
    if changed:
        style = _sub(attributes, "measure-style")
        _sub(style, "slash", {"type": "start" if slashes else "stop", "use-stems": "no"})


def _write_clef(attributes: Element, voice: _Voice) -> None:
    rig = voice.plan.after if voice.plan else None
    low = rig is not None and "bass" in rig.tuning.kind
    clef = _sub(attributes, "clef")
    _text(clef, "sign", "F" if low else "G")
    _text(clef, "line", "4" if low else "2")
    if rig is not None:
        details = _sub(attributes, "staff-details")
        for line, string in enumerate(rig.tuning.strings, start=1):
            tuned = _sub(details, "staff-tuning", line=str(line))
            _write_pitch(tuned, string.name, "tuning-")
        capo = whole_capo(rig.tuning, rig.capos)
        if capo:
            _text(details, "capo", str(capo))
    _write_transpose(attributes, voice)


def _write_pitch(parent: Element, name: str, prefix: str) -> None:
    note = read_note(name)
    assert note is not None
    alter = name[1 : note.end].count("#") - name[1 : note.end].count("b")
    _text(parent, f"{prefix}step", name[0].upper())
    if alter:
        _text(parent, f"{prefix}alter", str(alter))
    _text(parent, f"{prefix}octave", name[note.end :])


def _write_transpose(attributes: Element, voice: _Voice) -> None:
    """What leads from written to sounding pitch."""
    semitones = -voice.interval.semitones
    if not semitones:
        return
    octaves, chromatic = int(semitones / 12), semitones - 12 * int(semitones / 12)
    transpose = _sub(attributes, "transpose")
    _text(transpose, "diatonic", str(_letters(chromatic)))
    _text(transpose, "chromatic", str(chromatic))
    if octaves:
        _text(transpose, "octave-change", str(octaves))


def _letters(semitones: int) -> int:
    """Steps of the staff for an interval, as it is usually spelled: a fifth is four."""
    steps = (0, 1, 1, 2, 2, 3, 3, 4, 5, 5, 6, 6)
    return steps[abs(semitones)] * (1 if semitones > 0 else -1)


def _write_marks(measure: Element, score: _Score, bar: int) -> None:
    for passage in score.arranged.form.passages:
        if passage.start != bar:
            continue
        mark = passage.name
        if passage.times > 1:
            mark += f" ({passage.number} of {passage.times})"
        _text(_direction(measure), "rehearsal", mark)
        if passage.vamp:
            cue = passage.said.cue if passage.said else ""
            _text(_direction(measure), "words", f"vamp until cue{f': {cue}' if cue else ''}")
    if not score.has_tempo:
        return
    start = score.bars.bar_start(bar)
    for change in score.bars.tempos:
        if _stands_in(change.start, bar, score):
            # A first tempo at bar 1 holds under the pick-up too.
            early = bar == score.numbers[0] and change.start <= BarPoint(1)
            wholes = Fraction(0) if early else score.bars.wholes_at(change.start) - start
            offset = score.ticks(wholes)
            _write_tempo(measure, change.tempo, offset)
            if change.ramp and change.ramp.tempo.wholes_a_second != change.tempo.wholes_a_second:
                faster = change.ramp.tempo.wholes_a_second > change.tempo.wholes_a_second
                words = "accel." if faster else "rit."
                _text(
                    _direction(measure, offset),
                    "words",
                    f"{words} to {rounded_tempo(str(change.ramp.tempo))}",
                )
        ramp = change.ramp
        if ramp and ramp.end.bar == bar and not _begins(score.bars, ramp.end):
            _write_tempo(measure, ramp.tempo, score.ticks(score.bars.wholes_at(ramp.end) - start))


def _stands_in(start: BarPoint, bar: int, score: _Score) -> bool:
    """Whether a tempo is written in a bar; the first one stands where the music begins."""
    first = score.numbers[0]
    if start == score.bars.tempos[0].start:
        return bar == first
    return start.bar == bar


def _begins(bars: TempoMap, point: BarPoint) -> bool:
    return any(change.start == point for change in bars.tempos)


def _direction(measure: Element, offset: int = 0) -> Element:
    direction = _sub(measure, "direction", placement="above")
    kind = _sub(direction, "direction-type")
    if offset:
        _text(direction, "offset", str(offset))
    return kind


def _write_tempo(measure: Element, tempo: Tempo, offset: int) -> None:
    unit, dots = _typed(tempo.unit)
    told = tempo if unit else tempo.in_unit(Fraction(1, 4))
    metronome = _sub(_direction(measure, offset), "metronome")
    _text(metronome, "beat-unit", unit or "quarter")
    for _ in range(dots):
        _sub(metronome, "beat-unit-dot")
    _text(metronome, "per-minute", f"{float(told.bpm):.6g}")
    _sub(measure[-1], "sound", tempo=f"{float(tempo.quarter_bpm):.9g}")


def _typed(wholes: Fraction) -> tuple[str, int]:
    """The note type of a length and its dots; empty where no plain note is as long."""
    for dots, factor in enumerate((Fraction(1), Fraction(3, 2), Fraction(7, 4))):
        if wholes / factor in _TYPES:
            return _TYPES[wholes / factor], dots
    return "", 0


def _write_bar(
    measure: Element,
    score: _Score,
    voice: _Voice,
    bar: int,
    entries: list[ChartEntry],
    *,
    sounds: bool,
) -> None:
    start, length = score.bars.bar_start(bar), score.bars.bar_length(bar)
    if not sounds and bar > 0:
        note = _sub(measure, "note")
        _sub(note, "rest", measure="yes")
        _text(note, "duration", str(score.ticks(length)))
        return
    at = {score.bars.wholes_at(_point(entry)) - start: entry for entry in entries}
    for place, until in _steps(length, score.bars.meter_at(bar), set(at), bar == 0):
        if place in at:
            _write_harmony(measure, voice, at[place])
        _write_rest(measure, score, until - place)


def _steps(
    length: Fraction, meter: Meter, onsets: set[Fraction], is_pickup: bool
) -> Iterator[tuple[Fraction, Fraction]]:
    """The beats of a bar, divided where a chord comes between them."""
    beat = meter.felt_beat_length
    lead = (length % beat) if is_pickup else Fraction(0)
    places = {Fraction(0), length, *onsets}
    places |= {lead + n * beat for n in range(int((length - lead) / beat) + 1)}
    ordered = sorted(place for place in places if 0 <= place <= length)
    return pairwise(ordered)


def _write_rest(measure: Element, score: _Score, wholes: Fraction) -> None:
    note = _sub(measure, "note")
    _sub(note, "rest")
    _text(note, "duration", str(score.ticks(wholes)))
    kind, dots = _typed(wholes)
    triplet = not kind
    if triplet:
        kind, dots = _typed(wholes * 3 / 2)
    if not kind:
        return
    _text(note, "type", kind)
    for _ in range(dots):
        _sub(note, "dot")
    if triplet:
        change = _sub(note, "time-modification")
        _text(change, "actual-notes", "3")
        _text(change, "normal-notes", "2")


def _write_harmony(measure: Element, voice: _Voice, entry: ChartEntry) -> None:
    if not entry.voicing:
        measure.append(harmony_of("N.C.", None))
        return
    name = voice.names.get(entry.voicing, entry.voicing)
    measure.append(harmony_of(name, voice.frames.get(entry.voicing)))


def _text(parent: Element, tag: str, text: str) -> Element:
    child = _sub(parent, tag)
    child.text = "".join(each for each in text if each.isprintable())
    return child
