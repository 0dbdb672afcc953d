"""What contradicts what in a log: pure rules over plain records.

A rule is a function from a log and one of its songs to problems. A new rule is one new module
in this folder, and one line in `RULES`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from logbook.checking import (
    arrangements,
    comps,
    credits,
    deliverables,
    doubling,
    drums,
    files,
    form,
    frets,
    heard,
    heard_chords,
    keys,
    melodies,
    names,
    pitches,
    shared_files,
    takes,
    votes,
)
from logbook.checking.problem import CONTRADICTS, MISSING, Problem
from logbook.records.log import Log
from logbook.records.songs import Song

__all__ = ["CONTRADICTS", "MISSING", "RULES", "Problem", "check_log", "check_song"]

RULES: tuple[Callable[[Log, Song], Iterator[Problem]], ...] = (
    names.chord_names,
    pitches.played_notes,
    melodies.melodies,
    melodies.silence,
    drums.drum_patterns,
    frets.fret_lines,
    keys.key_and_capo,
    form.form_overlaps,
    form.chart_in_form,
    takes.bars_in_form,
    takes.keepers,
    votes.votes,
    comps.comp_edits,
    comps.remembered_reuse,
    doubling.doubled_or_not,
    heard.heard_doubles,
    heard_chords.heard_chords,
    files.file_lengths,
    files.sample_rates,
    files.file_tags,
    shared_files.shared_files,
    credits.shares,
    credits.identifiers,
    credits.players,
    deliverables.deliverables,
    arrangements.arrangements,
)


def check_song(log: Log, song: Song) -> tuple[Problem, ...]:
    """Return everything the rules find in one song of the log, rule by rule."""
    return tuple(problem for rule in RULES for problem in rule(log, song))


def check_log(log: Log) -> tuple[Problem, ...]:
    """Return everything the rules find in the log, song by song."""
    return tuple(problem for song in log.songs for problem in check_song(log, song))
