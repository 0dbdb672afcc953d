"""The same again: a song, a version or a part begun like another, and parts of parts copied.

Conventions. What was decided comes along (who plays what, on which instrument in which tuning, how
frets are counted, the chords and the chart); what happened (takes, comps, files, dates, codes)
does not.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import replace
from fractions import Fraction

from logbook.errors import LogbookError
from logbook.records.parts import ChartEntry, Part, Pattern, Voicing
from logbook.records.songs import FormSection, Song, Version
from logbook.strings.capo import read_capos
from logbook.strings.recapo import recapo
from logbook.strings.tunings import StringTuning

RIG = (
    "player", "instrument", "tuning", "capo", "counted", "pitched", "picked", "technique",
    "chain", "pan", "roles",
)  # fmt: skip
"""What a part of another song takes along."""


def version_of_new_song(old: Version) -> Version:
    """A version of a new song with the people, instruments and rigs of an old one."""
    parts = tuple(
        Part(name=part.name, **{name: getattr(part, name) for name in RIG}) for part in old.parts
    )
    return Version(
        name=old.name,
        sample_rate_hz=old.sample_rate_hz,
        a4_hz=old.a4_hz,
        roles=old.roles,
        parts=parts,
    )


def copy_of_version(old: Version, name: str) -> Version:
    """Another version of the same music: everything but what happened in the room."""
    parts = tuple(
        replace(
            part, takes=(), comps=(), votes=(), files=(), reused=(), overdubs=(), doubles=(),
            heard=None, doubled="unknown", doubled_why="",
        )
        for part in old.parts
    )  # fmt: skip
    return replace(
        old,
        name=name,
        parts=parts,
        isrc="",
        date="",
        bar_one_at="",
        files=(),
        deliverables=(),
        arrangements=(),
    )


def part_like(part: Part, source: Part, form: Iterable[FormSection], only: Collection[str]) -> Part:
    """A part with the chords and chart of another, and its rig where nothing else is said.

    With `only` it plays in the sections of these names alone, and rests in the others.
    """
    usual = Part(name=part.name)
    rig = {
        name: getattr(source, name)
        for name in ("instrument", "tuning", "capo", "counted", "picked")
        if getattr(part, name) == getattr(usual, name)
    }
    if part.instrument or part.tuning:
        rig.pop("tuning", None)
        rig.pop("instrument", None)
    chart = chart_of(source, form, only)
    patterns = source.patterns if not only else _used_patterns(source, chart)
    return replace(part, **rig, voicings=source.voicings, patterns=patterns, chart=chart)


def chart_of(
    source: Part, form: Iterable[FormSection], only: Collection[str]
) -> tuple[ChartEntry, ...]:
    """A part's chart, or what of it stands in some sections, with rests in the others."""
    if not only:
        return source.chart
    inside: set[int] = set()
    rests = []
    names = {each.name.casefold() for each in form}
    missing = [name for name in only if name.casefold() not in names]
    if missing:
        raise LogbookError(f"no section is called {missing[0]}", "name one of the form")
    for section in form:
        if section.name.casefold() in {name.casefold() for name in only}:
            inside |= set(range(section.start, section.start + section.bars))
        else:
            rests.append(ChartEntry(bar=section.start))
    kept = [each for each in source.chart if each.bar in inside]
    return tuple(sorted([*kept, *rests], key=lambda each: (each.bar, Fraction(each.beat))))


def _used_patterns(source: Part, chart: Iterable[ChartEntry]) -> tuple[Pattern, ...]:
    used = {each.pattern for each in chart} | {each.voicing for each in chart}
    return tuple(each for each in source.patterns if each.label in used)


def named_by(
    chart: Iterable[ChartEntry], source: Part, target: Part
) -> tuple[tuple[Voicing, ...], tuple[Pattern, ...]]:
    """The voicings and patterns that a chart names and the part it goes to has not yet."""
    entries = list(chart)
    labels, patterns = {e.voicing for e in entries}, {e.pattern for e in entries}
    has = {each.label for each in target.voicings}
    knows = {each.label for each in target.patterns}
    return (
        tuple(v for v in source.voicings if v.label in labels - has),
        tuple(p for p in source.patterns if p.label in (patterns | labels) - knows),
    )


def recapoed(part: Part, capo: str, tuning: StringTuning, keep: str) -> tuple[Voicing, ...]:
    """A part's voicings after its capo moved, with their shapes or their sound kept.

    Raises LogbookError naming the chord that cannot be held so.
    """
    old, new = read_capos(part.capo), read_capos(capo)
    moved = []
    for voicing in part.voicings:
        if not voicing.frets:
            moved.append(voicing)
            continue
        counted = voicing.counted or part.counted
        try:
            frets = recapo(voicing.frets, counted, tuning, old, new, keep)
        except LogbookError as error:
            raise LogbookError(f"{voicing.label}: {error.problem}", error.remedy) from error
        fingers = voicing.fingers if keep == "shapes" else ""
        moved.append(replace(voicing, frets=frets, fingers=fingers))
    return tuple(moved)


def song_like(title: str, old: Song, version: Version) -> Song:
    """A new song with the rigs of a version of an old one."""
    return Song(title=title, roles=old.roles, versions=(version_of_new_song(version),))
