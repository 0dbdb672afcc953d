"""The melody of a part in an arrangement: moved to its bars and its key, and as it is played.

Conventions. A phrase goes where its bars go, and where they are parted it is divided at the bar
lines. Every note moves as far as the key does, its letter by fifths as the keys do. Where the
instrument does not reach, the whole melody goes an octave up or down if that helps, else the
notes that lie outside do; whoever played beyond the usual range can do so again.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from logbook.arranging.form import ArrangedForm
from logbook.arranging.moved import Moved
from logbook.arranging.performance import Note
from logbook.arranging.pitched import octave_words, placed_within, spelled_as_keys_move
from logbook.errors import LogbookError
from logbook.records.context import (
    bars_map,
    kind_of_part,
    sounding_pitches,
    transposition_of,
)
from logbook.records.log import Log
from logbook.records.melodies import Melody, Sounded, by_bar, in_order, phrase_of, sounded
from logbook.records.part_view import PartView
from logbook.records.parts import Part
from logbook.records.songs import MeterChange, Version
from logbook.theory.compass import compass_of, moved_note
from logbook.theory.pitch import name_to_midi
from logbook.theory.tunes import moved_names, read_tune, tune_text
from logbook.timing.meter import parse_meter
from logbook.timing.tempo_map import TempoMap


def sounding_melody(place: PartView, bars: TempoMap) -> tuple[Sounded, ...]:
    """Return a part's melody as it sounds, note by note, in order of time.

    Raises LogbookError where a phrase cannot be read.
    """
    said = sounded(place.part.melody, bars)
    up = transposition_of(place.log, place.part)
    names = sounding_names(place.part, [each.name for each in said], up)
    return tuple(each._replace(name=name) for each, name in zip(said, names, strict=True))


def sounding_names(part: Part, names: list[str], transposition: int) -> tuple[str, ...]:
    """Notes as they sound, from how the part says them."""
    if not names:
        return ()
    return sounding_pitches(" ".join(names), part.pitched, transposition)


def melody_notes(place: PartView, bars: TempoMap, end: Fraction | None = None) -> tuple[Note, ...]:
    """Return a part's melody as notes that are played, up to `end` (whole notes; None: all)."""
    return tuple(
        Note(each.start, each.end if end is None else min(each.end, end), (midi,), 0, 0)
        for each in sounding_melody(place, bars)
        if end is None or each.start < end
        for midi in (name_to_midi(each.name),)
    )


# Moved


def move_melody(place: PartView, candidate: Part, moved: Moved, remarks: list[str]) -> Part:
    """`candidate` with the melody of the recorded part in the arrangement's bars and key.

    What goes to another octave, or cannot be read, is added to `remarks`.
    """
    part = place.part
    if not part.melody:
        return candidate
    try:
        in_bars = _in_form(place.version, part, moved.form)
        melody = _in_key(place.log, part, candidate, in_bars, moved, remarks)
    except LogbookError as error:
        remarks.append(f"{candidate.name}: {error}; its melody is left out")
        return replace(candidate, melody=())
    return replace(candidate, melody=melody)


def _in_form(version: Version, part: Part, form: ArrangedForm) -> tuple[Melody, ...]:
    if form.is_recorded:
        return in_order(part.melody)
    recorded = bars_map(version)
    held = by_bar(part.melody, recorded)
    notes = {each.bar: each.notes for each in part.melody}
    now = _bars_of(version, form, recorded)
    found = []
    for bar, origin in sorted(form.origins.items()):
        pieces = held.get(origin, ()) if origin is not None else ()
        if pieces and (phrase := phrase_of(bar, pieces, now)) is not None:
            found.append(replace(phrase, notes=notes.get(origin or 0, "")))
    return in_order(found)


def _bars_of(version: Version, form: ArrangedForm, recorded: TempoMap) -> TempoMap:
    """The bars of the arranged form, each in its own meter; a cut one is shorter."""
    meters, last = [], ""
    now = recorded.meter_at(1)
    for bar in sorted(form.origins):
        origin = form.origins[bar]
        if bar in form.meters:
            now = parse_meter(form.meters[bar])
        elif origin is not None:
            now = recorded.meter_at(origin)
        meter = f"{form.beats[bar]}/{now.unit}" if bar in form.beats else str(now)
        if meter != last and bar > 0:
            meters.append(MeterChange(bar=bar, meter=meter))
            last = meter
    pickup = version.pickup_beats if 0 in form.origins else ""
    plain = meters or list(version.meters)
    return bars_map(replace(version, meters=tuple(plain), tempos=(), pickup_beats=pickup))


def _in_key(
    log: Log,
    part: Part,
    candidate: Part,
    melody: tuple[Melody, ...],
    moved: Moved,
    remarks: list[str],
) -> tuple[Melody, ...]:
    before, after = transposition_of(log, part), transposition_of(log, candidate)
    same_way = part.pitched != "written" or before == after
    compass = compass_of(kind_of_part(log, candidate))
    as_before = same_way and compass == compass_of(kind_of_part(log, part))
    if as_before and not moved.changes_names:
        return melody
    tunes = [read_tune(each.tune) for each in melody]
    said = [each.name for tune in tunes for each in tune if each.midi is not None]
    sounding = sounding_names(part, said, before)
    if not sounding:
        return melody
    recorded = [name_to_midi(each) for each in sounding]
    goals = [midi + moved.steps for midi in recorded]
    reach = (0, 127)
    if compass is not None:
        low, high = compass.midi
        reach = (low, high)
        if as_before:
            reach = (min(low, *recorded), max(high, *recorded))
    placed = placed_within({at: [goal] for at, goal in enumerate(goals)}, reach)
    up = after if candidate.pitched == "written" else 0
    names = []
    for at, name in enumerate(sounding):
        new = spelled_as_keys_move(name, placed[at][0], moved)
        names.append(moved_note(new, up) if up else new)
    ways = {placed[at][0] - goal for at, goal in enumerate(goals)} - {0}
    if ways:
        whole = all(placed[at][0] != goal for at, goal in enumerate(goals)) and len(ways) == 1
        what = "its melody goes" if whole else "part of its melody goes"
        remarks.append(f"{candidate.name}: {what} {octave_words(min(ways), compass)}")
    new_names = iter(names)
    return tuple(
        replace(phrase, tune=tune_text(moved_names(tune, new_names)))
        for phrase, tune in zip(melody, tunes, strict=True)
    )
