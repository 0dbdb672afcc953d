"""The voices of a score: which lines a part is written in, and what each of them plays."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import replace
from fractions import Fraction
from typing import NamedTuple

from logbook.arranging.arrange import ArrangedVersion
from logbook.arranging.drumming import DrumStroke, drum
from logbook.arranging.parts import PartPlan
from logbook.arranging.pitched import has_notes
from logbook.arranging.transposing import (
    Interval,
    part_interval,
    written_key,
    written_names,
)
from logbook.arranging.xml_frames import frames_of
from logbook.arranging.xml_head import Voice
from logbook.arranging.xml_notes import (
    PlayedPart,
    melody_played,
    on_two_staves,
    played,
    played_without_frets,
)
from logbook.errors import LogbookError
from logbook.records.context import kind_of_part, meters_of, tempo_map_of
from logbook.records.kits import plays_kit
from logbook.theory.compass import is_keyed
from logbook.timing.tempo import Tempo
from logbook.timing.tempo_map import TempoMap, constant_tempo


class ScoreLine(NamedTuple):
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


def lines_of(plan: PartPlan, *, notes: bool) -> list[ScoreLine]:
    """A part's lines: frets and a melody over them are written as two."""
    if not notes or plan.part is None or not plan.part.melody or plan.after is None:
        return [ScoreLine(plan)]
    return [*([ScoreLine(plan)] if plan.part.chart else []), ScoreLine(plan, tune=True)]


def voice_of(arranged: ArrangedVersion, line: ScoreLine, *, is_first: bool, notes: bool) -> Voice:
    """What is written of a line: its names, its frames, and where it is asked for its notes."""
    plan = line.plan
    if plan is None or plan.part is None:
        return Voice(None, Interval(0, ""), arranged.key, {}, {}, is_first)
    interval = part_interval(arranged, plan)
    key = written_key(arranged.key, interval) if arranged.key else None
    names = written_names(arranged, plan)
    frames = {} if line.tune else frames_of(plan)
    if notes and plays_kit(plan.part):
        strokes = strokes_of(arranged, plan)
        plan = plan._replace(after=None)
        return Voice(plan, interval, None, {}, names, is_first, strokes=strokes)
    performed = line_played(arranged, line) if notes else None
    if line.tune:
        plan = plan._replace(after=None)
    return Voice(plan, interval, key, frames, names, is_first, performed)


def strokes_of(arranged: ArrangedVersion, plan: PartPlan) -> tuple[DrumStroke, ...] | None:
    """What a drummer plays, straight: a swing is said in words."""
    assert plan.part is not None
    straight = tuple(replace(each, feel="straight") for each in plan.part.patterns)
    place = arranged.place(replace(plan.part, patterns=straight))
    bars = tempo_map_of(arranged.version) or without_tempo(arranged)
    with suppress(LogbookError):
        return drum(place, bars)
    return None


def line_played(arranged: ArrangedVersion, line: ScoreLine) -> PlayedPart | None:
    """What a line plays; None where it has neither chart nor melody, or reads at another pitch."""
    plan = line.plan
    if plan is None or plan.part is None or plays_kit(plan.part):
        return None
    bars = tempo_map_of(arranged.version) or without_tempo(arranged)
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


def _melody(arranged: ArrangedVersion, plan: PartPlan, bars: TempoMap) -> PlayedPart | None:
    """A part's melody as its player reads it; None where there is none, or it cannot be read."""
    if plan.part is None or not plan.part.melody:
        return None
    interval = part_interval(arranged, plan)
    key = written_key(arranged.key, interval) if arranged.key else None
    with suppress(LogbookError):
        return melody_played(arranged.place(plan.part), bars, key, interval.semitones)
    return None


def _without_frets(arranged: ArrangedVersion, plan: PartPlan, bars: TempoMap) -> PlayedPart | None:
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


def without_tempo(arranged: ArrangedVersion) -> TempoMap:
    """A map for music whose tempo nobody said."""
    plain = constant_tempo(Tempo(Fraction(120)), meters_of(arranged.version)[0].meter)
    return TempoMap(meters=meters_of(arranged.version), tempos=plain.tempos)
