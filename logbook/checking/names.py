"""Written chord names against the notes that sound, and against the shape's name."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import lru_cache

from logbook.checking.capo_cause import fitting_capo
from logbook.checking.problem import Problem, unreadable
from logbook.editing.words import listed
from logbook.errors import LogbookError
from logbook.names import quoted
from logbook.records.chord_names import claimed_name
from logbook.records.log import Log
from logbook.records.part_view import PartView, parts_of
from logbook.records.parts import Voicing
from logbook.records.songs import Song
from logbook.strings.capo import Capos
from logbook.strings.frets import Position, place_frets, read_frets
from logbook.strings.tunings import StringTuning
from logbook.strings.voicing import judge_position
from logbook.theory.judge import SHAPE_NAME, Verdict

_RULE = "chord name"


def chord_names(log: Log, song: Song) -> Iterator[Problem]:
    """Yield names that contradict what sounds; what the frets themselves do wrong is not said."""
    for place in parts_of(log, song):
        try:
            tuning, capos = place.tuning, place.capos
        except LogbookError:
            continue  # the rule on fret lines says so
        if tuning is None:
            continue
        if (capo := fitting_capo(place)) is not None:
            yield _wrong_capo(place, capo)
            continue
        for voicing in place.part.voicings:
            yield from _voicing(place, voicing, tuning, capos)


def _wrong_capo(place: PartView, capo: str) -> Problem:
    """Tell one cause once: the capo is what is wrong, not the names."""
    now = f"capo {place.part.capo}" if place.part.capo else "no capo"
    with_it = "without a capo" if capo == "0" else f"with capo {capo}"
    return Problem(
        "capo",
        place.title,
        f"with {now} several chords contradict their names; {with_it} every name fits",
        "one capo written down wrong makes every name look wrong",
        f"logbook part edit {quoted(place.part.name)} --capo {capo}, or rename the chords",
    )


def _voicing(
    place: PartView, voicing: Voicing, tuning: StringTuning, capos: Capos
) -> Iterator[Problem]:
    where = f"{place.title}: voicing {voicing.label}"
    written = claimed_name(voicing)
    if not written:
        return
    try:
        line = read_frets(voicing.frets, counted=voicing.counted or place.part.counted)
        position = place_frets(line, tuning, capos)
    except LogbookError:
        return  # the rule on fret lines says so
    if all(at is None for at in position):
        return
    try:
        verdict = _verdict(written, position, tuning, capos, place.version.key)
    except LogbookError as error:
        yield unreadable(_RULE, where, error)
        return
    if verdict.agrees:
        return
    concert = verdict.concert or "what sounds"
    yield Problem(
        _RULE,
        where,
        verdict.sentence,
        "with the capo on, the shape the hands play is not what sounds"
        if verdict.word == SHAPE_NAME
        else f"the name is judged from the notes that sound: {_not_in(verdict.extra)}"
        if verdict.extra
        else "the name is judged from the notes that sound",
        f"write {concert} as its name" if verdict.concert else "check the frets or the name",
    )


def _not_in(degrees: Sequence[str]) -> str:
    return f"{listed(degrees)} {'is' if len(degrees) == 1 else 'are'} not in it"


@lru_cache(maxsize=4096)
def _verdict(
    written: str, position: Position, tuning: StringTuning, capos: Capos, key: str
) -> Verdict:
    """Judge a name; the same shapes come back in song after song."""
    return judge_position(written, position, tuning, capos, key=key or None)
