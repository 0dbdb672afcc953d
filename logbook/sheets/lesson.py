"""The lesson sheet: a part taught chord by chord, in the order the chords come, as plain data.

Everything is worked out here, once, with the words of `hands_words`, the order and moves of
`lesson_moves` and the tempos of `lesson_paces`.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import NamedTuple

from logbook.errors import LogbookError
from logbook.names import alike
from logbook.records.context import meters_of
from logbook.records.log import Log
from logbook.records.part_view import PartView
from logbook.records.parts import ChartEntry
from logbook.records.songs import Song, Version
from logbook.sheets.blocks import HandMove
from logbook.sheets.charts import ChartSection, count_text
from logbook.sheets.choosing import chosen
from logbook.sheets.chords import ChordCard
from logbook.sheets.finger_ways import ways_to_dicts
from logbook.sheets.hands_words import (
    fingers_said,
    guide_tones_said,
    muted_said,
    ornaments_said,
    picked_said,
    ringing_said,
)
from logbook.sheets.heads import VersionHead, readable_map, version_head
from logbook.sheets.lesson_moves import (
    ChartedChord,
    SectionMoves,
    in_order,
    moves_from,
    sections_of,
)
from logbook.sheets.lesson_paces import Pace, paces_of
from logbook.sheets.patterns import PatternCard, Under, pattern_card
from logbook.sheets.player import part_sheet
from logbook.sheets.rigs import Rig
from logbook.strings.alternatives import other_ways
from logbook.strings.finder import Limits
from logbook.strings.frets import CAPO, NUT, count_frets
from logbook.strings.stretch import STRAIN_CAUTION
from logbook.strings.voicing import SoundingVoicing
from logbook.theory.harmony import roman_numeral
from logbook.timing.bars import bars, ranges_text
from logbook.timing.tempo_map import TempoMap

OTHER_WAYS = 3
_FRETS_ABOVE = 4


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
    moves: tuple[HandMove, ...]
    other_ways: tuple[WayLine, ...]


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
        each for each in version.parts if each.voicings and (not wanted or alike(each.name, wanted))
    ]
    timed = tempo_map if version.tempos else None
    return LessonVersion(
        head,
        paces_of(timed, version) if timed else (),
        tuple(_part(PartView(log, song, version, each), tempo_map) for each in parts),
    )


def _part(place: PartView, tempo_map: TempoMap | None) -> LessonPart:
    sheet = part_sheet(place, tempo_map)
    cards = {card.label: card for card in sheet.chords}
    order = in_order(place.part, cards)
    return LessonPart(
        name=sheet.name,
        player=sheet.player,
        rig=sheet.rig,
        hand=sheet.hand,
        technique=sheet.technique,
        technique_notes=sheet.technique_notes,
        said=sheet.said,
        steps=_steps(place, cards, order),
        sections=sections_of(place.version, cards, order),
        chart=sheet.chart,
        unreadable=sheet.unreadable,
    )


def _steps(
    place: PartView, cards: dict[str, ChordCard], order: Sequence[ChartedChord]
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
    place: PartView,
    cards: dict[str, ChordCard],
    order: Sequence[ChartedChord],
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
        moves=moves_from(card, cards, order),
        other_ways=_other_ways(voicing) if voicing else (),
    )


def _where(played: ChartedChord, version: Version) -> str:
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


def _pattern(
    place: PartView, card: ChordCard, stands: Sequence[ChartedChord]
) -> PatternCard | None:
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


@lru_cache(maxsize=4096)
def _other_ways(voicing: SoundingVoicing) -> tuple[WayLine, ...]:
    if len({note % 12 for note in voicing.midi}) < 2:
        return ()
    try:
        ways = other_ways(voicing, limits=_near(voicing), most=OTHER_WAYS)
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


def _near(voicing: SoundingVoicing) -> Limits:
    """Where another way is still near this one: a few frets up the neck at most."""
    highest = max(at.fret for at in voicing.position if at is not None)
    return Limits(last_fret=highest + _FRETS_ABOVE, scale_mm=voicing.scale_mm)
