"""The player's sheet: how every part of a song was played and edited, as plain data.

Everything is worked out here, once; whatever in the log cannot be read becomes a line of the
sheet. The records are tuples of named fields (a sheet is worked out at every call of a command,
and such types cost a fifth of a dataclass to set up).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

from logbook.errors import LogbookError
from logbook.names import alike
from logbook.records.context import is_sung, meters_of, transposition_of
from logbook.records.log import Log
from logbook.records.part_view import PartView
from logbook.records.parts import ChartEntry, Part
from logbook.records.silence import silent_bars
from logbook.records.songs import Song, Version
from logbook.sheets.bar_facts import facts_of, with_melody, with_words
from logbook.sheets.charts import BarFacts, ChartSection, chart_sections
from logbook.sheets.choosing import chosen
from logbook.sheets.chords import ChordCard, chord_card, written_name
from logbook.sheets.edits import Edit, edit_of
from logbook.sheets.heads import VersionHead, people_said, readable_map, version_head, written_by
from logbook.sheets.melodies import MelodyBar, melody_said, tunes_by_bar
from logbook.sheets.once import once
from logbook.sheets.patterns import PatternCard, pattern_card
from logbook.sheets.recalls import recall_said
from logbook.sheets.rigs import Rig, rig_of
from logbook.theory.symbols import reads
from logbook.timing.tempo_map import TempoMap

if TYPE_CHECKING:
    from logbook.checking import Problem


class PartSheet(NamedTuple):
    """One part: who played what on what, how it was fingered, picked, charted and edited."""

    name: str
    player: str
    heard: bool | None
    rig: Rig
    hand: str
    technique: str
    technique_notes: tuple[tuple[str, str], ...]
    chain: str
    recall: tuple[str, ...]
    pan: str
    people: tuple[str, ...]
    tacet: str
    said: str
    chords: tuple[ChordCard, ...]
    patterns: tuple[PatternCard, ...]
    chart: tuple[ChartSection, ...]
    melody: tuple[MelodyBar, ...]
    edit: Edit
    unreadable: tuple[str, ...]


class VersionSheet(NamedTuple):
    """One version: its head and its parts."""

    head: VersionHead
    parts: tuple[PartSheet, ...]


class PlayerSheet(NamedTuple):
    """How a song was recorded: its versions, and what the checks found."""

    song: str
    iswc: str
    writers: tuple[str, ...]
    said: str
    versions: tuple[VersionSheet, ...]
    checks: tuple[Problem, ...]


def player_sheet(
    log: Log,
    title: str,
    version: str | None = None,
    part: str | None = None,
    *,
    checks: bool = True,
) -> PlayerSheet:
    """Return the player's sheet of a song; all of its versions and parts, or those named.

    Without `checks` nothing is checked.

    Raises LogbookError where the log has no such song, version or part.
    """
    song, versions = chosen(log, title, version, part)
    return PlayerSheet(
        song=song.title,
        iswc=song.iswc,
        writers=written_by(song),
        said=song.notes,
        versions=tuple(_version_sheet(log, song, each, part) for each in versions),
        checks=_checks(log, song, version, part) if checks else (),
    )


def _version_sheet(log: Log, song: Song, version: Version, part: str | None) -> VersionSheet:
    tempo_map, problem = readable_map(version)
    head = version_head(log, song, version, tempo_map)
    if problem:
        head = head._replace(unreadable=(*head.unreadable, f"tempo and form: {problem}"))
    parts = [each for each in version.parts if not part or alike(each.name, part)]
    return VersionSheet(
        head, tuple(part_sheet(PartView(log, song, version, each), tempo_map) for each in parts)
    )


def part_sheet(place: PartView, tempo_map: TempoMap | None) -> PartSheet:
    """Return the sheet of one part where it stands; `tempo_map` None where it cannot be read."""
    return _part_sheet(place.log, place.song, place.version, place.part, tempo_map)


@once(32)
def _part_sheet(
    log: Log, song: Song, version: Version, part: Part, tempo_map: TempoMap | None
) -> PartSheet:
    """The player's sheet, the lesson and the live one of a part begin with the same."""
    place = PartView(log, song, version, part)
    rig = rig_of(place)
    chords = tuple(chord_card(place, each, rig.tuned, rig.capos) for each in part.voicings)
    unreadable = list(rig.unreadable)
    melody = melody_said(place, unreadable)
    tunes = tunes_by_bar(melody)
    chart: tuple[ChartSection, ...] = ()
    try:
        chart = _chart(place, chords, tempo_map, tunes) or _lent(place, tempo_map, tunes)
    except LogbookError as error:
        unreadable.append(f"chart: {error}")
    return PartSheet(
        name=part.name,
        player=part.player,
        heard=part.heard,
        rig=rig,
        hand=part.picked,
        technique=part.technique,
        technique_notes=tuple((each.bars, each.text) for each in part.technique_notes),
        chain=part.chain,
        recall=tuple(map(recall_said, part.recall)),
        pan=part.pan,
        people=people_said(part.roles),
        tacet=part.tacet,
        said=part.notes,
        chords=chords,
        patterns=_patterns(place),
        chart=chart,
        melody=melody,
        edit=edit_of(place, timed=tempo_map is not None),
        unreadable=tuple(unreadable),
    )


def _patterns(place: PartView) -> tuple[PatternCard, ...]:
    try:
        meters = meters_of(place.version)
    except LogbookError:
        meters = ()
    return tuple(pattern_card(each, place.part.chart, meters) for each in place.part.patterns)


def _chart(
    place: PartView,
    chords: Iterable[ChordCard] | Mapping[str, ChordCard],
    tempo_map: TempoMap | None,
    tunes: Mapping[int, str],
) -> tuple[ChartSection, ...]:
    cards = chords if isinstance(chords, Mapping) else {card.label: card for card in chords}
    bars = {entry.bar for entry in place.part.chart}
    for section in place.version.form:
        bars.update(range(section.start, section.start + section.bars))
    bars.update(line.bar for line in place.version.lyrics)
    facts: dict[int, BarFacts] = {}
    if tempo_map is not None:
        facts = facts_of(bars, tempo_map, place.part, timed=bool(place.version.tempos))
    facts = with_melody(with_words(facts, bars, place.version.lyrics), tunes)
    silent = silent_bars(place.version, place.part)
    return chart_sections(place.part.chart, cards, place.version.form, facts, silent)


def _lent(
    place: PartView, tempo_map: TempoMap | None, tunes: Mapping[int, str]
) -> tuple[ChartSection, ...]:
    """A chart where none is logged: words and melody go with the chords of another part."""
    sung = bool(place.version.lyrics) and is_sung(place.log, place.part)
    if not sung and not place.part.melody:
        return ()
    other = next((each for each in place.version.parts if each.chart), None)
    if other is None:
        form = place.version.form
        if not form:
            return ()
        # Without a chord anywhere the words still have their bars.
        silent = replace(place, part=replace(place.part, chart=(ChartEntry(bar=form[0].start),)))
        return _chart(silent, (), tempo_map, tunes)
    own = place.part
    borrowed = replace(other, patterns=(), technique_notes=(), melody=own.melody, tacet=own.tacet)
    lender = replace(place, part=borrowed)
    rig = rig_of(lender)
    cards = tuple(chord_card(lender, each, rig.tuned, rig.capos) for each in other.voicings)
    up = transposition_of(place.log, own)
    plain = tuple(
        each._replace(shape=_read_at(each.concert, up, place.version.key), label=each.concert)
        for each in cards
    )
    named = {card.label: new for card, new in zip(cards, plain, strict=True)}
    bars = tuple(replace(each, pattern="") for each in other.chart)
    return _chart(replace(lender, part=replace(lender.part, chart=bars)), named, tempo_map, tunes)


def _read_at(concert: str, transposition: int, key: str) -> str:
    """What a player of another pitch reads for a chord; "" where that is the same."""
    if transposition % 12 == 0 or not reads(concert):
        return ""
    return written_name(concert, transposition, key)


def _checks(log: Log, song: Song, version: str | None, part: str | None) -> tuple[Problem, ...]:
    """What the checks found, of the versions and parts that are on the sheet."""
    # Here, for a sheet is checked only where that is asked for.
    from logbook.checking import Problem, check_song

    try:
        found = check_song(log, song)
    except ValueError as error:  # of which LogbookError is one, and a number that is none another
        return (Problem("checks", song.title, str(error), "the checks stop here", ""),)
    if not version and not part:
        return found
    return tuple(each for each in found if _concerns(each, song, version, part))


def _concerns(problem: Problem, song: Song, version: str | None, part: str | None) -> bool:
    """Whether a finding is about the song as a whole, or about what is on the sheet."""
    where = problem.where.casefold()
    others = [
        f"{song.title}, {each.name}, {one.name}".casefold()
        for each in song.versions
        for one in each.parts
        if (version and not alike(each.name, version)) or (part and not alike(one.name, part))
    ]
    return not any(where.startswith(other) for other in others)
