"""What stands above the bars of a score: meters, tempos, changes of them, free time."""

from __future__ import annotations

from fractions import Fraction
from xml.etree import ElementTree

from logbook.arranging.difference import rounded_tempo
from logbook.arranging.road_words import passage_words
from logbook.arranging.xml_head import Element, Score, add_text
from logbook.arranging.xml_notes import (
    typed,
)
from logbook.timing.bars import BarPoint
from logbook.timing.tempo import Tempo
from logbook.timing.tempo_map import TempoMap

_sub = ElementTree.SubElement


def write_marks(measure: Element, score: Score, bar: int) -> None:
    """Write what changes at a bar above it."""
    for passage in score.arranged.form.passages:
        if passage.start != bar:
            continue
        mark = passage.name
        if passage.times > 1:
            mark += f" ({passage.number} of {passage.times})"
        add_text(direction(measure), "rehearsal", mark)
        if passage.vamp:
            cue = passage.said.cue if passage.said else ""
            add_text(direction(measure), "words", f"vamp till cue{f': {cue}' if cue else ''}")
        road = passage_words(passage) if passage.number == 1 else ()
        if road:
            add_text(direction(measure), "words", "; ".join(road))
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
                    direction(measure, offset),
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


def direction(measure: Element, offset: int = 0) -> Element:
    """Add a direction to a measure, so many divisions into it."""
    direction = _sub(measure, "direction", placement="above")
    kind = _sub(direction, "direction-type")
    if offset:
        add_text(direction, "offset", str(offset))
    return kind


def _write_free(measure: Element, goes_by: Tempo, offset: int) -> None:
    """Free time in words, and the tempo at which it goes by for whoever plays the file."""
    add_text(direction(measure, offset), "words", "free time")
    _sub(measure[-1], "sound", tempo=f"{float(goes_by.quarter_bpm):.9g}")


def _write_tempo(measure: Element, tempo: Tempo, offset: int) -> None:
    unit, dots = typed(tempo.unit)
    told = tempo if unit else tempo.in_unit(Fraction(1, 4))
    metronome = _sub(direction(measure, offset), "metronome")
    add_text(metronome, "beat-unit", unit or "quarter")
    for _ in range(dots):
        _sub(metronome, "beat-unit-dot")
    add_text(metronome, "per-minute", f"{float(told.bpm):.6g}")
    _sub(measure[-1], "sound", tempo=f"{float(tempo.quarter_bpm):.9g}")
