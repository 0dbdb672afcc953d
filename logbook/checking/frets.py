"""Fret lines against the instrument: the capo, the last fret, the fingers, the strings named."""

from __future__ import annotations

from collections.abc import Iterator

from logbook.checking.capo_cause import fitting_capo
from logbook.checking.problem import Problem, unreadable
from logbook.errors import LogbookError
from logbook.records.log import Log
from logbook.records.part_view import PartView, parts_of
from logbook.records.parts import Voicing
from logbook.records.songs import Song
from logbook.strings.capo import Capos, check_capos
from logbook.strings.frets import check_fingers, place_frets, read_fingers, read_frets
from logbook.strings.instruments import KINDS
from logbook.strings.ornaments import read_ornaments
from logbook.strings.tunings import StringTuning


def fret_lines(log: Log, song: Song) -> Iterator[Problem]:
    """Yield capos and fret lines that cannot be played on the part's instrument."""
    for place in parts_of(log, song):
        try:
            tuning = place.tuning
        except LogbookError as error:
            yield unreadable("tuning", place.title, error)
            continue
        if tuning is None:
            if any(voicing.frets for voicing in place.part.voicings):
                yield Problem(
                    "tuning",
                    place.title,
                    "there are voicings, but no tuning is said",
                    "frets mean nothing without the open strings",
                    "say the part's tuning, or its instrument's usual one",
                )
            continue
        try:
            capos = check_capos(place.capos, tuning)
        except LogbookError as error:
            yield Problem(
                "capo", place.title, error.problem, f"the tuning is {tuning.name}", error.remedy
            )
            continue
        if fitting_capo(place) is not None:
            continue  # the rule on chord names tells it once
        for voicing in (each for each in place.part.voicings if each.frets):
            yield from _voicing(place, voicing, tuning, capos)


def _voicing(
    place: PartView, voicing: Voicing, tuning: StringTuning, capos: Capos
) -> Iterator[Problem]:
    where = f"{place.title}: voicing {voicing.label}"
    counted = voicing.counted or place.part.counted
    try:
        line = read_frets(voicing.frets, counted=counted)
        position = place_frets(line, tuning, capos, last_fret=_last_fret(place, tuning))
    except LogbookError as error:
        why = f"frets are counted from the {counted}, capo {place.part.capo or 'none'}"
        yield Problem("frets", where, error.problem, why, error.remedy)
        return
    try:
        if voicing.fingers:
            check_fingers(read_fingers(voicing.fingers, strings=len(tuning)), position)
        read_ornaments(voicing.ornaments, strings=len(tuning))
    except LogbookError as error:
        yield Problem("fingers", where, error.problem, f"the frets are {line.text}", error.remedy)


def _last_fret(place: PartView, tuning: StringTuning) -> int:
    instrument = place.instrument
    if instrument is not None and instrument.frets is not None:
        return instrument.frets
    kind = KINDS.get(instrument.kind if instrument else "") or KINDS.get(tuning.kind)
    return kind.frets if kind is not None else KINDS["guitar"].frets
