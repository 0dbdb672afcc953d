"""The lesson sheet: a part taught chord by chord, in the order the chords come, as plain data.

Everything is worked out here, once. Practice starts at half the record's tempo and comes up to it
in steps (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction
from functools import lru_cache
from itertools import pairwise
from typing import NamedTuple

from logbook.errors import LogbookError
from logbook.records.context import Place, meters_of
from logbook.records.log import Log
from logbook.records.parts import ChartEntry, Part
from logbook.records.songs import Song, Version
from logbook.sheets.blocks import Move
from logbook.sheets.charts import ChartSection, count_text
from logbook.sheets.choosing import chosen
from logbook.sheets.chords import ChordCard
from logbook.sheets.hands_words import (
    fingers_said,
    guide_tones_said,
    move_said,
    muted_said,
    ornaments_said,
    picked_said,
    ringing_said,
)
from logbook.sheets.harmless import harmless
from logbook.sheets.heads import VersionHead, change_said, clock, readable_map, version_head
from logbook.sheets.patterns import PatternCard, Under, pattern_card
from logbook.sheets.player import part_sheet
from logbook.sheets.rigs import Rig
from logbook.strings.frets import CAPO, NUT, count_frets
from logbook.strings.moves import guide_tone_lines, top_line
from logbook.strings.stretch import STRAIN_CAUTION
from logbook.strings.ways import other_ways, ways_to_dicts
from logbook.theory.harmony import roman_numeral
from logbook.timing.bars import BarPoint, bars, ranges_text
from logbook.timing.tempo_map import TempoMap

OTHER_WAYS = 3
PACES = tuple(Fraction(percent, 100) for percent in (50, 60, 70, 80, 90, 100))


class WayLine(NamedTuple):
    """Another way to finger a chord, in both counts; `reach_mm` along the neck."""

    from_nut: str
    from_capo: str
    fingers: str
    notes: tuple[str, ...]
    reach_mm: float


class LessonStep(NamedTuple):
    """One chord to learn.

    `first` is where it first comes ("bar 3, verse"), `bars` every bar it stands in, `numeral` its
    place in the key. The rest says what each hand does, in words; `moves` are the ways to each
    chord that follows it. `pattern` is the one it is first played with, `pattern_is_new` that no
    step before has it.
    """

    number: int
    card: ChordCard
    first: str
    bars: str
    numeral: str
    fingers: tuple[str, ...]
    pick: str
    mute: tuple[str, ...]
    ring: tuple[str, ...]
    guide_tones: str
    ornaments: tuple[str, ...]
    pattern: PatternCard | None
    moves: tuple[Move, ...]
    other_ways: tuple[WayLine, ...]


class SectionMoves(NamedTuple):
    """The chords of a section one after the other: each move once, and the lines that sing."""

    name: str
    bars: str
    chords: tuple[str, ...]
    moves: tuple[Move, ...]
    lines: tuple[tuple[str, str], ...]


class LessonPart(NamedTuple):
    """One part as a lesson."""

    name: str
    player: str
    rig: Rig
    hand: str
    technique: str
    technique_notes: tuple[tuple[str, str], ...]
    said: str
    steps: tuple[LessonStep, ...]
    sections: tuple[SectionMoves, ...]
    chart: tuple[ChartSection, ...]
    unreadable: tuple[str, ...]


class Pace(NamedTuple):
    """One practice tempo: its share of the record's, in words, and what lasts how long."""

    share: str
    tempo: str
    bar: str
    whole: str


class LessonVersion(NamedTuple):
    """One version: its head, the tempos to practise at, and its parts that have chords."""

    head: VersionHead
    paces: tuple[Pace, ...]
    parts: tuple[LessonPart, ...]


class LessonSheet(NamedTuple):
    """A song taught from how it was recorded."""

    song: str
    versions: tuple[LessonVersion, ...]
    caution: str


def lesson_sheet(
    log: Log, title: str, version: str | None = None, part: str | None = None
) -> LessonSheet:
    """Return the lesson sheet of a song; all of its versions and parts, or those named.

    Raises LogbookError where the log has no such song, version or part.
    """
    log = harmless(log)
    song, versions = chosen(log, title, version, part)
    return LessonSheet(
        song.title, tuple(_version(log, song, each, part) for each in versions), STRAIN_CAUTION
    )


def _version(log: Log, song: Song, version: Version, wanted: str | None) -> LessonVersion:
    tempo_map, problem = readable_map(version)
    head = version_head(log, song, version, tempo_map)
    if problem:
        head = head._replace(unreadable=(*head.unreadable, f"tempo and form: {problem}"))
    parts = [
        each
        for each in version.parts
        if each.voicings and (not wanted or each.name.casefold() == wanted.casefold())
    ]
    timed = tempo_map if version.tempos else None
    return LessonVersion(
        head,
        _paces(timed, version) if timed else (),
        tuple(_part(Place(log, song, version, each), tempo_map) for each in parts),
    )


def _part(place: Place, tempo_map: TempoMap | None) -> LessonPart:
    sheet = part_sheet(place, tempo_map)
    cards = {card.label: card for card in sheet.chords}
    order = _in_order(place.part, cards)
    return LessonPart(
        name=sheet.name,
        player=sheet.player,
        rig=sheet.rig,
        hand=sheet.hand,
        technique=sheet.technique,
        technique_notes=sheet.technique_notes,
        said=sheet.said,
        steps=_steps(place, cards, order),
        sections=_sections(place.version, cards, order),
        chart=sheet.chart,
        unreadable=sheet.unreadable,
    )


# The chords in their order


class Played(NamedTuple):
    """A chord of the chart where it starts."""

    label: str
    bar: int
    beat: Fraction
    pattern: str


def _in_order(part: Part, cards: dict[str, ChordCard]) -> tuple[Played, ...]:
    """The chart's chords in order of time, with the pattern in force; nothing for rests."""
    try:
        entries = sorted(part.chart, key=lambda each: (each.bar, Fraction(each.beat)))
    except (ValueError, ZeroDivisionError):
        return ()
    found, pattern = [], ""
    for entry in entries:
        pattern = entry.pattern or pattern
        if entry.voicing in cards:
            found.append(Played(entry.voicing, entry.bar, Fraction(entry.beat), pattern))
    return tuple(found)


def _steps(
    place: Place, cards: dict[str, ChordCard], order: Sequence[Played]
) -> tuple[LessonStep, ...]:
    """One step for each voicing: those of the chart in the order they come, then the others."""
    labels = dict.fromkeys([each.label for each in order] + list(cards))
    return tuple(
        _step(number, cards[label], place, cards, order)
        for number, label in enumerate(labels, start=1)
    )


def _step(
    number: int,
    card: ChordCard,
    place: Place,
    cards: dict[str, ChordCard],
    order: Sequence[Played],
) -> LessonStep:
    stands = [each for each in order if each.label == card.label]
    voicing = card.drawn
    return LessonStep(
        number=number,
        card=card,
        first=_where(stands[0], place.version) if stands else "not in the chart",
        bars=ranges_text(sorted({bars(each.bar, each.bar) for each in stands})) if stands else "",
        numeral=_numeral(card, place.version.key),
        fingers=fingers_said(card),
        pick=picked_said(voicing) if voicing else "",
        mute=muted_said(card),
        ring=ringing_said(card),
        guide_tones=guide_tones_said(card),
        ornaments=ornaments_said(card),
        pattern=_pattern(place, card, stands),
        moves=_moves_from(card, cards, order),
        other_ways=_other_ways(card),
    )


def _where(played: Played, version: Version) -> str:
    section = next((s.name for s in version.form if s.start <= played.bar < s.start + s.bars), "")
    beat = "" if played.beat == 1 else f", beat {count_text(played.beat)}"
    return ", ".join(filter(None, (f"bar {played.bar}{beat}", section)))


def _numeral(card: ChordCard, key: str) -> str:
    """The chord's place in the key, empty where one of them has no name."""
    if not key or card.drawn is None or len({note % 12 for note in card.drawn.midi}) < 2:
        return ""
    try:
        return f"{roman_numeral(card.concert, key)} in {key}"
    except LogbookError:
        return ""


def _pattern(place: Place, card: ChordCard, stands: Sequence[Played]) -> PatternCard | None:
    """The pattern a chord is first played with, and which of its strings each stroke meets."""
    label = stands[0].pattern if stands else ""
    record = next((each for each in place.part.patterns if each.label == label), None)
    if record is None:
        return None
    try:
        meters = meters_of(place.version)
    except LogbookError:
        meters = ()
    under = None
    if card.drawn is not None:
        sounding = [
            view.number
            for view in card.drawn.strings
            if view.state not in ("not played", "may ring")
        ]
        under = Under(tuple(sounding), len(card.drawn.strings))
    starts = (ChartEntry(bar=stands[0].bar, pattern=label),)
    return pattern_card(record, starts, meters, under)


def _moves_from(
    card: ChordCard, cards: dict[str, ChordCard], order: Sequence[Played]
) -> tuple[Move, ...]:
    """The way to each chord that follows this one somewhere, in the order they first do."""
    found: dict[str, list[Played]] = {}
    for before, after in pairwise(order):
        if before.label == card.label != after.label:
            found.setdefault(after.label, []).append(after)
    return tuple(
        _move(card, cards[label], into)
        for label, into in found.items()
        if card.drawn is not None and cards[label].drawn is not None
    )


def _move(before: ChordCard, after: ChordCard, into: Sequence[Played]) -> Move:
    where = ranges_text(sorted({bars(each.bar, each.bar) for each in into}))
    word = "bar" if where.isdecimal() else "bars"
    return Move(before, after, f"into {word} {where}", move_said(before, after))


@lru_cache(maxsize=4096)
def _other_ways(card: ChordCard) -> tuple[WayLine, ...]:
    voicing = card.drawn
    if voicing is None or len({note % 12 for note in voicing.midi}) < 2:
        return ()
    try:
        ways = other_ways(voicing, most=OTHER_WAYS)
        found = ways_to_dicts(ways, voicing.chord, voicing.key)
    except LogbookError:
        return ()
    return tuple(
        WayLine(
            count_frets(way.position, NUT).text,
            count_frets(way.position, CAPO).text if voicing.capos else "",
            said["fingers"],
            tuple(said["notes"]),
            said["stretch_mm"],
        )
        for way, said in zip(ways, found, strict=True)
    )


# Section by section


def _sections(
    version: Version, cards: dict[str, ChordCard], order: Sequence[Played]
) -> tuple[SectionMoves, ...]:
    """The moves of each section of the form; one that only repeats another is left out."""
    sections: list[SectionMoves] = []
    for section in sorted(version.form, key=lambda each: each.start):
        last = section.start + section.bars - 1
        inside = [each for each in order if section.start <= each.bar <= last]
        held = [each for each in order if each.bar < section.start][-1:]
        starts_itself = inside and inside[0].bar == section.start and inside[0].beat == 1
        if held and not starts_itself:
            inside = [*held, *inside]
        chords = [cards[each.label] for each in _without_repeats(inside)]
        moves = _section_moves(cards, inside)
        known = any(each.chords == tuple(c.concert for c in chords) for each in sections)
        if moves and not known:
            sections.append(
                SectionMoves(
                    section.name,
                    str(bars(section.start, last)),
                    tuple(card.concert for card in chords),
                    moves,
                    _lines(chords),
                )
            )
    return tuple(sections)


def _without_repeats(played: Iterable[Played]) -> list[Played]:
    kept: list[Played] = []
    for each in played:
        if not kept or kept[-1].label != each.label:
            kept.append(each)
    return kept


def _section_moves(cards: dict[str, ChordCard], inside: Sequence[Played]) -> tuple[Move, ...]:
    found: dict[tuple[str, str], list[Played]] = {}
    for before, after in pairwise(inside):
        if before.label != after.label:
            found.setdefault((before.label, after.label), []).append(after)
    return tuple(
        _move(cards[before], cards[after], into)
        for (before, after), into in found.items()
        if cards[before].drawn is not None and cards[after].drawn is not None
    )


def _lines(chords: Sequence[ChordCard]) -> tuple[tuple[str, str], ...]:
    """The top notes and the two lines of guide tones through a section."""
    voicings = [card.drawn for card in chords if card.drawn is not None]
    if len(voicings) != len(chords) or len(voicings) < 2:
        return ()
    said = [("chords", " > ".join(card.concert for card in chords))]
    said.append(("top notes", " ".join(note.note for note in top_line(voicings))))
    for line in guide_tone_lines(voicings):
        if sum(note is not None for note in line) > 1:
            notes = ["-" if note is None else f"{note.note} ({note.degree})" for note in line]
            said.append(("guide tones", " ".join(notes)))
    return tuple(said)


# Practice


def _paces(tempo_map: TempoMap, version: Version) -> tuple[Pace, ...]:
    """The ladder of tempos, each with how long a bar and the whole form last at it."""
    last = max((each.start + each.bars for each in version.form), default=0)
    record = tempo_map.tempos[0].tempo.bpm
    paces = []
    for share in PACES:
        # A metronome is set to a whole number.
        ratio = share if share == 1 else max(round(record * share), 1) / record
        paces.append(_pace(share, tempo_map.scaled(ratio), last))
    return tuple(paces)


def _pace(share: Fraction, scaled: TempoMap, last: int) -> Pace:
    bar_s = scaled.seconds_at(BarPoint(2)) - scaled.seconds_at(BarPoint(1))
    whole_s = scaled.seconds_at(BarPoint(last)) if last else Fraction(0)
    name = "as on the record" if share == 1 else f"{float(share):.0%}"
    return Pace(
        name,
        "; ".join(change_said(change) for change in scaled.tempos),
        f"{float(bar_s):.1f} s",
        clock(whole_s) if last else "",
    )
