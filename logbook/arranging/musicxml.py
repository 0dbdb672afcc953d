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
from fractions import Fraction
from itertools import pairwise
from math import lcm
from xml.etree import ElementTree

from logbook.arranging.arrange import ArrangedVersion
from logbook.arranging.lengths import last_bar
from logbook.arranging.transposing import (
    chords_of,
)
from logbook.arranging.words import words_at
from logbook.arranging.xml_beams import write_beams
from logbook.arranging.xml_chords import harmony_of
from logbook.arranging.xml_head import Score, Voice, add_text, write_attributes
from logbook.arranging.xml_kit import list_pieces, write_drums
from logbook.arranging.xml_marks import direction, write_marks
from logbook.arranging.xml_notes import (
    LOWER,
    TABLATURE,
    PlayedPart,
    cuts,
    fineness,
    is_silent,
    write_bar_of_rest,
    write_stretch,
    write_value,
)
from logbook.arranging.xml_repeats import fold_repeats
from logbook.arranging.xml_voices import (
    ScoreLine,
    line_played,
    lines_of,
    strokes_of,
    voice_of,
    without_tempo,
)
from logbook.arranging.xml_words import Words, write_words
from logbook.records.context import is_sung, tempo_map_of
from logbook.records.kits import plays_kit
from logbook.records.parts import ChartEntry
from logbook.timing.bars import BarPoint
from logbook.timing.meter import Meter

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
    lines = [line for plan in plans for line in lines_of(plan, notes=notes)] or [ScoreLine(None)]
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
        voice = voice_of(arranged, line, is_first=number == 1, notes=notes)
        voice = voice._replace(number=number)
        # Frets and a melody of one player are two lines; who sings reads the melody.
        chart_of_two = not line.tune and line._replace(tune=True) in lines
        sings = line.plan is None or (line.plan in sung and not chart_of_two)
        words = _words(score) if sings else {}
        _write_part(part, score, voice, words)
        write_words(part, score, words, melody=_is_melody(line))
    if repeats:
        fold_repeats(root, arranged.form)
    ElementTree.indent(root)
    return root


def _is_melody(line: ScoreLine) -> bool:
    part = line.plan.part if line.plan else None
    return line.tune or (part is not None and bool(part.melody))


def _score(arranged: ArrangedVersion, *, notes: bool) -> Score:
    known = tempo_map_of(arranged.version)
    bars = known or without_tempo(arranged)
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
    for line in (line for plan in arranged.parts for line in lines_of(plan, notes=notes)):
        if notes and line.plan is not None and line.plan.part is not None:
            drummed = strokes_of(arranged, line.plan) if plays_kit(line.plan.part) else None
            fine += [each.start % 1 for each in drummed or ()]
            fine += [each.length for each in drummed or ()]
        performed = line_played(arranged, line) if notes else None
        if performed is not None:
            fine += fineness(performed, bars, numbers)
    return Score(
        arranged, bars, numbers, lcm(*((each * 4).denominator for each in fine)), known is not None
    )


def _point(entry: ChartEntry) -> BarPoint:
    return BarPoint(entry.bar, Fraction(entry.beat))


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
            write_marks(measure, score, bar)
        if bar == fades:
            _sub(direction(measure), "wedge", type="diminuendo", number="1")
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
        _sub(direction(part[-1]), "wedge", type="stop", number="1")
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
    performed: PlayedPart,
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
    write_value(note, wholes)


def _write_harmony(measure: Element, voice: Voice, entry: ChartEntry) -> None:
    if not entry.voicing:
        measure.append(harmony_of("N.C.", None))
        return
    name = voice.names.get(entry.voicing, entry.voicing)
    measure.append(harmony_of(name, voice.frames.get(entry.voicing)))
