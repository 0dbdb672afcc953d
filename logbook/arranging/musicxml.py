"""An arrangement as MusicXML 4.0: each part's chart with chord symbols and chord frames.

Conventions
-----------
* A part is written for its player: key, chord symbols and transposition at written pitch. Guitars
  and basses have a clef with an octave, as they are written an octave above what sounds.
* A fretted part has its notes as performed, and tablature below (`xml_notes`); one whose voicings
  are said in notes has these on one staff, at its written pitch, keys on two where they go to both
  sides of middle C. A melody stands over the chords it is played with, or on a line of its own over
  a fretted part; a drum part has its strokes on a percussion staff. Others have slashes
  on their beats (rests under a slash style); a section the part does not play in is whole bars of
  rest. Divisions are as fine as the chart and the meters ask for.
* A chord symbol has the MusicXML kind that claims the most of its degrees, and the rest as
  degrees; the text is the suffix as charts write it.
* A whole capo is stated with the staff's tuning, and frames and tablature count from it.
* Tempo and section marks stand in the first part, and what the road map says in words. A tempo
  that moves evenly has a sound for each beat, which lasts as long as that beat does. The last bar
  of a song that rings out has a fermata.

Source: MusicXML 4.0 (W3C Music Notation Community Group), elements and kind values from memory.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from math import lcm
from typing import NamedTuple
from xml.etree import ElementTree

from logbook.arranging.arrange import ArrangedVersion
from logbook.arranging.difference import rounded_tempo
from logbook.arranging.drumming import Stroke, drum
from logbook.arranging.lengths import last_bar
from logbook.arranging.parts import PartPlan
from logbook.arranging.pitched import has_notes
from logbook.arranging.road_words import passage_words
from logbook.arranging.transposing import (
    Interval,
    chords_of,
    part_interval,
    written_key,
    written_names,
)
from logbook.arranging.words import words_at
from logbook.arranging.xml_beams import write_beams
from logbook.arranging.xml_chords import harmony_of
from logbook.arranging.xml_frames import frames_of
from logbook.arranging.xml_head import Score, Voice, add_text, write_attributes
from logbook.arranging.xml_kit import list_pieces, write_drums
from logbook.arranging.xml_notes import (
    LOWER,
    TABLATURE,
    Played,
    cuts,
    fineness,
    is_silent,
    melody_played,
    on_two_staves,
    played,
    played_without_frets,
    typed,
    write_bar_of_rest,
    write_stretch,
)
from logbook.arranging.xml_repeats import fold_repeats
from logbook.arranging.xml_words import Words, write_words
from logbook.errors import LogbookError
from logbook.records.context import is_sung, kind_of_part, meters_of, tempo_map_of
from logbook.records.kits import plays_kit
from logbook.records.parts import ChartEntry
from logbook.theory.compass import is_keyed
from logbook.timing.bars import BarPoint
from logbook.timing.meter import Meter
from logbook.timing.tempo import Tempo
from logbook.timing.tempo_map import TempoMap, constant_tempo

Element = ElementTree.Element
_sub = ElementTree.SubElement

_HEAD = '<?xml version="1.0" encoding="UTF-8"?>\n'


def musicxml_text(arranged: ArrangedVersion, *, notes: bool = True, repeats: bool = True) -> str:
    """Return the arrangement as the text of a MusicXML file.

    With `notes` fretted parts have what they play, and tablature; else every part has slashes.
    With `repeats` a section that is played several times alike is written once (`xml_repeats`).
    Raises LogbookError where a tuning, a voicing or a beat cannot be read.
    """
    body = ElementTree.tostring(
        musicxml_tree(arranged, notes=notes, repeats=repeats), encoding="unicode"
    )
    return f"{_HEAD}{body}\n"


def musicxml_tree(
    arranged: ArrangedVersion, *, notes: bool = True, repeats: bool = True
) -> Element:
    """Return the score as an element tree, indented. Raises as `musicxml_text` does."""
    score = _score(arranged, notes=notes)
    plans = [plan for plan in arranged.parts if plan.part is not None]
    root = Element("score-partwise", version="4.0")
    work = _sub(root, "work")
    add_text(work, "work-title", arranged.song.title)
    add_text(root, "movement-title", arranged.version.name)
    listed = _sub(root, "part-list")
    lines = [line for plan in plans for line in _lines_of(plan, notes=notes)] or [_Line(None)]
    for number, line in enumerate(lines, start=1):
        part = _sub(listed, "score-part", id=f"P{number}")
        add_text(part, "part-name", line.name)
        if notes and line.plan is not None and line.plan.part is not None:
            list_pieces(part, f"P{number}", line.plan.part)
    sung = [
        plan for plan in plans if plan.part is not None and is_sung(arranged.log, plan.part)
    ] or plans[:1]
    for number, line in enumerate(lines, start=1):
        part = _sub(root, "part", id=f"P{number}")
        voice = _voice(arranged, line, is_first=number == 1, notes=notes)
        voice = voice._replace(number=number)
        words = _words(score) if line.plan is None or line.plan in sung else {}
        _write_part(part, score, voice, words)
    if repeats:
        fold_repeats(root, arranged.form)
    ElementTree.indent(root)
    return root


class _Line(NamedTuple):
    """A part as one line of the score, or (`tune`) the melody of one with a neck on its own."""

    plan: PartPlan | None
    tune: bool = False

    @property
    def name(self) -> str:
        """What stands in front of it."""
        if self.plan is None:
            return "chart"
        beside = self.tune and self.plan.part is not None and self.plan.part.chart
        return f"{self.plan.name}, melody" if beside else self.plan.name


def _lines_of(plan: PartPlan, *, notes: bool) -> list[_Line]:
    """A part's lines: frets and a melody over them are written as two."""
    if not notes or plan.part is None or not plan.part.melody or plan.after is None:
        return [_Line(plan)]
    return [*([_Line(plan)] if plan.part.chart else []), _Line(plan, tune=True)]


def _score(arranged: ArrangedVersion, *, notes: bool) -> Score:
    known = tempo_map_of(arranged.version)
    bars = known or _without_tempo(arranged)
    numbers = range(bars.first_bar, last_bar(arranged) + 1)
    fine = [Fraction(bars.bar_length(bar)) for bar in numbers]
    fine += [bars.meter_at(bar).beat_length for bar in numbers]
    for part in filter(None, (*arranged.version.parts, arranged.charted)):
        for entry in part.chart:
            if entry.bar in numbers:
                fine.append(bars.wholes_at(_point(entry)) - bars.bar_start(entry.bar))
    fine += [at for at, _ in words_at(arranged.version.lyrics, bars)]
    for change in bars.tempos:
        if change.start.bar in numbers:
            fine.append(bars.wholes_at(change.start) - bars.bar_start(change.start.bar))
    for line in (line for plan in arranged.parts for line in _lines_of(plan, notes=notes)):
        if notes and line.plan is not None and line.plan.part is not None:
            drummed = _drummed(arranged, line.plan) if plays_kit(line.plan.part) else None
            fine += [each.start % 1 for each in drummed or ()]
            fine += [each.length for each in drummed or ()]
        performed = _played(arranged, line) if notes else None
        if performed is not None:
            fine += fineness(performed, bars, numbers)
    return Score(
        arranged, bars, numbers, lcm(*((each * 4).denominator for each in fine)), known is not None
    )


def _without_tempo(arranged: ArrangedVersion) -> TempoMap:
    plain = constant_tempo(Tempo(Fraction(120)), meters_of(arranged.version)[0].meter)
    return TempoMap(meters=meters_of(arranged.version), tempos=plain.tempos)


def _point(entry: ChartEntry) -> BarPoint:
    return BarPoint(entry.bar, Fraction(entry.beat))


def _voice(arranged: ArrangedVersion, line: _Line, *, is_first: bool, notes: bool) -> Voice:
    plan = line.plan
    if plan is None or plan.part is None:
        return Voice(None, Interval(0, ""), arranged.key, {}, {}, is_first)
    interval = part_interval(arranged, plan)
    key = written_key(arranged.key, interval) if arranged.key else None
    names = written_names(arranged, plan)
    frames = {} if line.tune else frames_of(plan)
    if notes and plays_kit(plan.part):
        strokes = _drummed(arranged, plan)
        plan = plan._replace(after=None)
        return Voice(plan, interval, None, {}, names, is_first, strokes=strokes)
    performed = _played(arranged, line) if notes else None
    if line.tune:
        plan = plan._replace(after=None)
    return Voice(plan, interval, key, frames, names, is_first, performed)


def _drummed(arranged: ArrangedVersion, plan: PartPlan) -> tuple[Stroke, ...] | None:
    """What a drummer plays, straight: a swing is said in words."""
    assert plan.part is not None
    straight = tuple(replace(each, feel="straight") for each in plan.part.patterns)
    place = arranged.place(replace(plan.part, patterns=straight))
    bars = tempo_map_of(arranged.version) or _without_tempo(arranged)
    with suppress(LogbookError):
        return drum(place, bars)
    return None


def _played(arranged: ArrangedVersion, line: _Line) -> Played | None:
    """What a line plays; None where it has neither chart nor melody, or reads at another pitch."""
    plan = line.plan
    if plan is None or plan.part is None or plays_kit(plan.part):
        return None
    bars = tempo_map_of(arranged.version) or _without_tempo(arranged)
    if line.tune:
        return _melody(arranged, plan, bars)
    rig = plan.after
    if rig is None:
        return _without_frets(arranged, plan, bars)
    if not plan.part.chart:
        return None
    if part_interval(arranged, plan).semitones not in (0, 12) or plan.said.written_for:
        return None
    with suppress(LogbookError):
        return played(arranged.place(plan.part), rig.tuning, rig.capos, bars, arranged.key)
    return None


def _melody(arranged: ArrangedVersion, plan: PartPlan, bars: TempoMap) -> Played | None:
    """A part's melody as its player reads it; None where there is none, or it cannot be read."""
    if plan.part is None or not plan.part.melody:
        return None
    interval = part_interval(arranged, plan)
    key = written_key(arranged.key, interval) if arranged.key else None
    with suppress(LogbookError):
        return melody_played(arranged.place(plan.part), bars, key, interval.semitones)
    return None


def _without_frets(arranged: ArrangedVersion, plan: PartPlan, bars: TempoMap) -> Played | None:
    """What a part plays that is said in notes, as its player reads it: melody over chords.

    Keys have two staves where they go to both sides of middle C.
    """
    melody = _melody(arranged, plan, bars)
    if plan.part is None or not has_notes(plan.part):
        return melody
    interval = part_interval(arranged, plan)
    key = written_key(arranged.key, interval) if arranged.key else None
    names = written_names(arranged, plan)
    place = arranged.place(plan.part)
    chords = None
    with suppress(LogbookError):
        chords = played_without_frets(place, bars, key, interval.semitones, names)
    if melody is not None and chords is not None:
        return melody._replace(lower=chords)
    if chords is not None and is_keyed(kind_of_part(arranged.log, plan.part)):
        return on_two_staves(chords)
    return chords or melody


# Measures


def _words(score: Score) -> Words:
    words: Words = {}
    for at, text in words_at(score.arranged.version.lyrics, score.bars):
        bar = max((each for each in score.numbers if score.bars.bar_start(each) <= at), default=0)
        if bar in score.numbers:
            words.setdefault(bar, []).append((at - score.bars.bar_start(bar), text))
    return words


def _write_part(part: Element, score: Score, voice: Voice, words: Words) -> None:
    entries: dict[int, list[ChartEntry]] = {}
    if voice.plan is not None and voice.plan.part is not None:
        for entry in chords_of(score.arranged, voice.plan).chart:
            entries.setdefault(entry.bar, []).append(entry)
    playing = slashes = False
    fades = _fade_start(score)
    for bar in score.numbers:
        attributes = {"number": str(bar)}
        if bar == 0:
            attributes["implicit"] = "yes"
        measure = _sub(part, "measure", attributes)
        here = sorted(entries.get(bar, ()), key=_point)
        held = playing and not (here and _point(here[0]).beat == 1)
        sounds = held or any(entry.voicing for entry in here)
        write_attributes(measure, score, voice, bar, changed=sounds != slashes, slashes=sounds)
        slashes = sounds
        if voice.is_first:
            _write_marks(measure, score, bar)
        if bar == fades:
            _sub(_direction(measure), "wedge", type="diminuendo", number="1")
        if voice.strokes is not None:
            start, length = score.bars.bar_start(bar), score.bars.bar_length(bar)
            beat = score.bars.meter_at(bar).felt_beat_length
            lead = length % beat if bar == 0 else Fraction(0)
            span = (start, length, beat, lead)
            write_drums(measure, f"P{voice.number}", voice.strokes, span, score)
            write_beams(measure, score.divisions, beat, lead)
        elif voice.played is not None:
            _write_played(measure, score, voice, voice.played, bar, here)
        else:
            starts = {at for at, _ in words.get(bar, ())}
            _write_bar(measure, score, voice, bar, here, starts, sounds=sounds)
        write_words(measure, score, words.get(bar, ()))
        if voice.played is not None and voice.played.tuning is None:
            beat = score.bars.meter_at(bar).felt_beat_length
            lead = score.bars.bar_length(bar) % beat if bar == 0 else Fraction(0)
            write_beams(measure, score.divisions, beat, lead)
        if here:
            playing = bool(here[-1].voicing)
    if _ending(score) == "ring":
        for note in _last_notes(part[-1]):
            notations = note.find("notations")
            _sub(_sub(note, "notations") if notations is None else notations, "fermata")
    if fades is not None:
        _sub(_direction(part[-1]), "wedge", type="stop", number="1")
    barline = _sub(part[-1], "barline", location="right")
    add_text(barline, "bar-style", "light-heavy")


def _fade_start(score: Score) -> int | None:
    """The bar a fade at the end begins in, None where the song ends otherwise."""
    passages = score.arranged.form.passages
    if not passages or passages[-1].moves.ending != "fade":
        return None
    return max(passages[-1].end - passages[-1].moves.fade_bars, score.numbers[0])


def _ending(score: Score) -> str:
    passages = score.arranged.form.passages
    return passages[-1].moves.ending if passages else ""


def _last_notes(measure: Element) -> list[Element]:
    """The last note of each staff."""
    last: dict[str, Element] = {}
    for note in measure.findall("note"):
        if note.find("chord") is None:
            last[note.findtext("staff", "1")] = note
    return list(last.values())


def _write_played(
    measure: Element,
    score: Score,
    voice: Voice,
    performed: Played,
    bar: int,
    entries: list[ChartEntry],
) -> None:
    """A bar of notes with the chord symbols above, and once more as tablature."""
    start, length = score.bars.bar_start(bar), score.bars.bar_length(bar)
    at = {score.bars.wholes_at(_point(entry)) - start: entry for entry in entries}
    if (
        bar > 0
        and not any(entry.voicing for entry in entries)
        and (is_silent(performed, start, length))
    ):
        for entry in entries[:1]:
            _write_harmony(measure, voice, entry)
        for staff in performed.staves:
            if staff in (TABLATURE, LOWER):
                add_text(_sub(measure, "backup"), "duration", str(score.ticks(length)))
            write_bar_of_rest(measure, score.ticks(length), staff)
        return
    for staff in performed.staves:
        below = staff in (TABLATURE, LOWER)
        if below:
            add_text(_sub(measure, "backup"), "duration", str(score.ticks(length)))
        here = performed.on(staff)
        if below and staff == LOWER and is_silent(here, start, length):
            write_bar_of_rest(measure, score.ticks(length), staff)
            continue
        for stretch in pairwise(cuts(here, start, length, [] if staff == LOWER else list(at))):
            if not below and stretch[0] in at:
                _write_harmony(measure, voice, at[stretch[0]])
            ticks = 4 * score.divisions
            write_stretch(measure, here, start, stretch, ticks, staff)


def _write_marks(measure: Element, score: Score, bar: int) -> None:
    for passage in score.arranged.form.passages:
        if passage.start != bar:
            continue
        mark = passage.name
        if passage.times > 1:
            mark += f" ({passage.number} of {passage.times})"
        add_text(_direction(measure), "rehearsal", mark)
        if passage.vamp:
            cue = passage.said.cue if passage.said else ""
            add_text(_direction(measure), "words", f"vamp till cue{f': {cue}' if cue else ''}")
        road = passage_words(passage) if passage.number == 1 else ()
        if road:
            add_text(_direction(measure), "words", "; ".join(road))
    if not score.has_tempo:
        return
    start = score.bars.bar_start(bar)
    for change in score.bars.tempos:
        if _stands_in(change.start, bar, score):
            # A first tempo at bar 1 holds under the pick-up too.
            early = bar == score.numbers[0] and change.start <= BarPoint(1)
            wholes = Fraction(0) if early else score.bars.wholes_at(change.start) - start
            offset = score.ticks(wholes)
            if change.free is not None:
                _write_free(measure, score.bars.tempo_at(change.start), offset)
                continue
            _write_tempo(measure, change.tempo, offset)
            if change.ramp and change.ramp.tempo.wholes_a_second != change.tempo.wholes_a_second:
                faster = change.ramp.tempo.wholes_a_second > change.tempo.wholes_a_second
                words = "accel." if faster else "rit."
                add_text(
                    _direction(measure, offset),
                    "words",
                    f"{words} to {rounded_tempo(str(change.ramp.tempo))}",
                )
        ramp = change.ramp
        if ramp is not None:
            _write_steps(measure, score, change.start, ramp.end, bar)
        if ramp and ramp.end.bar == bar and not _begins(score.bars, ramp.end):
            _write_tempo(measure, ramp.tempo, score.ticks(score.bars.wholes_at(ramp.end) - start))


def _write_steps(measure: Element, score: Score, start: BarPoint, end: BarPoint, bar: int) -> None:
    """A sound for each beat of a bar in which the tempo moves, as long as the beat lasts."""
    bars = score.bars
    begin, until = bars.bar_start(bar), bars.bar_start(bar + 1)
    first, last = max(bars.wholes_at(start), begin), min(bars.wholes_at(end), until)
    beat = bars.meter_at(bar).felt_beat_length
    at = first
    while at < last:
        after = min(begin + ((at - begin) // beat + 1) * beat, last)
        seconds = bars.seconds_at_wholes(after) - bars.seconds_at_wholes(at)
        quarters = (after - at) * 4 / seconds * 60
        sound = _sub(measure, "sound", tempo=f"{float(quarters):.9g}")
        if at > begin:
            add_text(sound, "offset", str(score.ticks(at - begin)))
        at = after


def _stands_in(start: BarPoint, bar: int, score: Score) -> bool:
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
        add_text(direction, "offset", str(offset))
    return kind


def _write_free(measure: Element, goes_by: Tempo, offset: int) -> None:
    """Free time in words, and the tempo at which it goes by for whoever plays the file."""
    add_text(_direction(measure, offset), "words", "free time")
    _sub(measure[-1], "sound", tempo=f"{float(goes_by.quarter_bpm):.9g}")


def _write_tempo(measure: Element, tempo: Tempo, offset: int) -> None:
    unit, dots = typed(tempo.unit)
    told = tempo if unit else tempo.in_unit(Fraction(1, 4))
    metronome = _sub(_direction(measure, offset), "metronome")
    add_text(metronome, "beat-unit", unit or "quarter")
    for _ in range(dots):
        _sub(metronome, "beat-unit-dot")
    add_text(metronome, "per-minute", f"{float(told.bpm):.6g}")
    _sub(measure[-1], "sound", tempo=f"{float(tempo.quarter_bpm):.9g}")


def _write_bar(
    measure: Element,
    score: Score,
    voice: Voice,
    bar: int,
    entries: list[ChartEntry],
    words: set[Fraction],
    *,
    sounds: bool,
) -> None:
    start, length = score.bars.bar_start(bar), score.bars.bar_length(bar)
    if not sounds and bar > 0 and not words - {Fraction(0)}:
        note = _sub(measure, "note")
        _sub(note, "rest", measure="yes")
        add_text(note, "duration", str(score.ticks(length)))
        return
    at = {score.bars.wholes_at(_point(entry)) - start: entry for entry in entries}
    for place, until in _steps(length, score.bars.meter_at(bar), set(at) | words, bar == 0):
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


def _write_rest(measure: Element, score: Score, wholes: Fraction) -> None:
    note = _sub(measure, "note")
    _sub(note, "rest")
    add_text(note, "duration", str(score.ticks(wholes)))
    kind, dots = typed(wholes)
    triplet = not kind
    if triplet:
        kind, dots = typed(wholes * 3 / 2)
    if not kind:
        return
    add_text(note, "type", kind)
    for _ in range(dots):
        _sub(note, "dot")
    if triplet:
        change = _sub(note, "time-modification")
        add_text(change, "actual-notes", "3")
        add_text(change, "normal-notes", "2")


def _write_harmony(measure: Element, voice: Voice, entry: ChartEntry) -> None:
    if not entry.voicing:
        measure.append(harmony_of("N.C.", None))
        return
    name = voice.names.get(entry.voicing, entry.voicing)
    measure.append(harmony_of(name, voice.frames.get(entry.voicing)))
