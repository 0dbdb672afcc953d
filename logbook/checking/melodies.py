"""Melodies and silence: notes past the form, out of reach or off the bars, and tacet that plays."""

from __future__ import annotations

from collections.abc import Iterator

from logbook.checking.problem import Problem, unreadable
from logbook.errors import LogbookError
from logbook.names import quoted
from logbook.records.context import (
    final_comp,
    kind_of_part,
    pieces_of,
    sections_of,
    sounding_pitches,
    transposition_of,
)
from logbook.records.log import Log
from logbook.records.melodies import bar_line_off, by_bar, sounded
from logbook.records.part_view import PartView, parts_of
from logbook.records.silence import places_of, silent_ranges
from logbook.records.songs import Song
from logbook.theory.compass import compass_of, reach_said
from logbook.theory.pitch import name_to_midi
from logbook.timing.bars import BarRange, bars
from logbook.timing.tempo_map import TempoMap

_MELODY, _TACET = "melody", "tacet"


def melodies(log: Log, song: Song) -> Iterator[Problem]:
    """Yield what the melodies of parts contradict: the meter, the form, the instrument."""
    for place in parts_of(log, song):
        if not place.part.melody:
            continue
        try:
            yield from _melody(place, place.bars)
        except LogbookError as error:
            yield unreadable(_MELODY, place.title, error)


def _melody(place: PartView, tempo_map: TempoMap) -> Iterator[Problem]:
    for phrase in place.part.melody:
        off = bar_line_off(phrase, tempo_map)
        if off is not None:
            before, at = off
            yield Problem(
                _MELODY,
                f"{place.title}: melody at bar {phrase.bar}",
                f"its bar line after {before} stands at beat {at.beat} of bar {at.bar}",
                "no bar begins there in this meter",
                "check the note lengths before it",
            )
    notes = sounded(place.part.melody, tempo_map)
    sections = sections_of(place.version)
    if sections and notes:
        end = max(section.bars.end.bar for section in sections)
        past = sorted(bar for bar in by_bar(place.part.melody, tempo_map) if bar >= end)
        if past:
            yield Problem(
                _MELODY,
                f"{place.title}: melody",
                f"it goes on in {_bars(past[0], past[-1])}, past the end of the form",
                f"the form ends with bar {end - 1}",
                "shorten it, or make the form longer: logbook form insert",
            )
    compass = compass_of(kind_of_part(place.log, place.part))
    if compass is None or not notes:
        return
    steps = transposition_of(place.log, place.part)
    said = " ".join(each.name for each in notes)
    names = sounding_pitches(said, place.part.pitched, steps)
    low, high = compass.midi
    out = list(dict.fromkeys(e for e in names if not low <= name_to_midi(e) <= high))
    if out:
        other = "sounding" if place.part.pitched == "written" else "written"
        swapped = sounding_pitches(said, other, steps)
        fits = steps and all(low <= name_to_midi(each) <= high for each in swapped)
        yield Problem(
            _MELODY,
            f"{place.title}: melody",
            f"{' and '.join(out[:4])} cannot be played: {reach_said(compass)}",
            f"the notes are taken as {place.part.pitched or 'sounding'}",
            f"fix the notes, or if they are {other}: logbook part edit "
            f"{quoted(place.part.name)} --pitched {other}"
            if fits
            else "fix the notes, or the part's instrument",
        )


def silence(log: Log, song: Song) -> Iterator[Problem]:
    """Yield where a part plays, or is heard, in bars that it says it is silent in."""
    for place in parts_of(log, song):
        for said in places_of(place.part):
            try:
                ranges = silent_ranges(said, place.version.form)
            except LogbookError as error:
                yield unreadable(_TACET, f"{place.title}: tacet", error)
                continue
            for each in ranges:
                yield from _played(place, said, each)


def _played(place: PartView, said: str, silent: BarRange) -> Iterator[Problem]:
    inside = frozenset(silent.bars)
    what: list[str] = []
    chords = sorted({e.bar for e in place.part.chart if e.voicing and e.bar in inside})
    if chords:
        what.append(f"its chart has a chord in {_bars(chords[0], chords[-1])}")
    try:
        sung = sorted(inside & set(by_bar(place.part.melody, place.bars)))
        if sung:
            what.append(f"its melody has notes in {_bars(sung[0], sung[-1])}")
        comp = final_comp(place.part)
        heard: set[int] = set()
        for piece in pieces_of(comp) if comp else ():
            if silent.start <= piece.bars.start and piece.bars.end <= silent.end:
                heard.update(piece.bars.bars)
        if heard:
            what.append(f"the comp has a piece in {_bars(min(heard), max(heard))}")
    except LogbookError:
        pass  # what cannot be read is told by its own rule
    for each in what:
        yield Problem(
            _TACET,
            f"{place.title}: {said}",
            each,
            "the part says that it does not play there",
            f"take it out, or say where it is silent: logbook part edit "
            f"{quoted(place.part.name)} --tacet",
        )


def _bars(first: int, last: int) -> str:
    return f"bar {first}" if first == last else f"bars {bars(first, last)}"
