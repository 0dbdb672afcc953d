"""Notes of parts without frets: out of reach, against their chord's name, written for sounding."""

from __future__ import annotations

from collections.abc import Iterator

from logbook.checking.problem import Problem, unreadable
from logbook.errors import LogbookError
from logbook.names import quoted
from logbook.records.chord_names import claimed_name
from logbook.records.context import kind_of_part, sounding_pitches, transposition_of
from logbook.records.log import Log
from logbook.records.part_view import PartView, parts_of
from logbook.records.parts import Voicing
from logbook.records.songs import Song
from logbook.theory.compass import compass_of, reach_said
from logbook.theory.judge import judge
from logbook.theory.pitch import name_to_midi

_RULE = "notes"


def played_notes(log: Log, song: Song) -> Iterator[Problem]:
    """Yield what the notes of parts without frets contradict."""
    for place in parts_of(log, song):
        for voicing in place.part.voicings:
            if voicing.pitches:
                try:
                    yield from _voicing(place, voicing)
                except LogbookError as error:
                    yield unreadable(_RULE, f"{place.title}: voicing {voicing.label}", error)


def _voicing(place: PartView, voicing: Voicing) -> Iterator[Problem]:
    part = place.part
    where = f"{place.title}: voicing {voicing.label}"
    steps = transposition_of(place.log, part)
    names = sounding_pitches(voicing.pitches, part.pitched, steps)
    other = "sounding" if part.pitched == "written" else "written"
    mixed_up = f"logbook part edit {quoted(part.name)} --pitched {other}"
    compass = compass_of(kind_of_part(place.log, part))
    midi = [name_to_midi(each) for each in names]
    reaches = compass is None or not _outside(compass.midi, midi)
    if compass is not None and not reaches:
        low, high = compass.midi
        out = [name for name, note in zip(names, midi, strict=True) if not low <= note <= high]
        swapped = [name_to_midi(each) for each in sounding_pitches(voicing.pitches, other, steps)]
        yield Problem(
            _RULE,
            where,
            f"{' and '.join(out)} cannot be played: {reach_said(compass)}",
            "the notes are taken as " + (part.pitched or "sounding"),
            f"fix the notes, or if they are {other}: {mixed_up}"
            if steps and not _outside(compass.midi, swapped)
            else "fix the notes, or the part's instrument",
        )
    written = claimed_name(voicing)
    if not written:
        return
    key = place.version.key or None
    verdict = judge(written, midi, key=key)
    if verdict.agrees:
        return
    swapped_names = sounding_pitches(voicing.pitches, other, steps) if steps else ()
    swapped = [name_to_midi(each) for each in swapped_names]
    if swapped and judge(written, swapped, key=key).agrees:
        yield Problem(
            _RULE,
            where,
            f"{written} fits the notes {voicing.pitches} as {other}, not as "
            f"{part.pitched or 'sounding'}",
            f"this part is written {abs(steps)} semitones {'above' if steps > 0 else 'below'} "
            "what sounds, and written notes were taken for sounding ones or the other way round",
            mixed_up,
        )
        return
    yield Problem(
        _RULE,
        where,
        verdict.sentence,
        "the name is judged from the notes that sound",
        f"write {verdict.concert} as its name, or fix the notes"
        if verdict.concert
        else "fix the notes or the name",
    )


def _outside(reach: tuple[int, int], midi: list[int]) -> bool:
    return any(not reach[0] <= note <= reach[1] for note in midi)
