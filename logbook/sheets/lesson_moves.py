"""The chords of a lesson in the order they come, and the moves between them by section."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction
from itertools import pairwise
from typing import NamedTuple

from logbook.editing.words import number_word
from logbook.records.parts import Part
from logbook.records.songs import Version
from logbook.sheets.blocks import HandMove
from logbook.sheets.charts import count_text
from logbook.sheets.chords import ChordCard
from logbook.sheets.hands_words import move_said
from logbook.sheets.signs import bars_label
from logbook.strings.moves import guide_tone_lines, moves_between, top_line
from logbook.timing.bars import bars, ranges_text

_FINGER_MM = 15


class ChartedChord(NamedTuple):
    """A chord of the chart where it starts."""

    label: str
    bar: int
    beat: Fraction
    pattern: str


def in_order(part: Part, cards: dict[str, ChordCard]) -> tuple[ChartedChord, ...]:
    """The chart's chords in order of time, with the pattern in force; nothing for rests."""
    try:
        entries = sorted(part.chart, key=lambda each: (each.bar, Fraction(each.beat)))
    except (ValueError, ZeroDivisionError):
        return ()
    found, pattern = [], ""
    for entry in entries:
        pattern = entry.pattern or pattern
        if entry.voicing in cards:
            found.append(ChartedChord(entry.voicing, entry.bar, Fraction(entry.beat), pattern))
    return tuple(found)


class SectionMoves(NamedTuple):
    """The chords of a section one after the other: each move once, and the lines that sing."""

    name: str
    bars: str
    chords: tuple[str, ...]
    moves: tuple[HandMove, ...]
    lines: tuple[tuple[str, str], ...]


def moves_from(
    card: ChordCard, cards: dict[str, ChordCard], order: Sequence[ChartedChord]
) -> tuple[HandMove, ...]:
    """The way to each chord that follows this one somewhere, in the order they first do."""
    found: dict[str, list[ChartedChord]] = {}
    for before, after in pairwise(order):
        if before.label == card.label != after.label:
            found.setdefault(after.label, []).append(after)
    return tuple(
        _move(card, cards[label], into)
        for label, into in found.items()
        if card.drawn is not None and cards[label].drawn is not None
    )


class Loop(NamedTuple):
    """A change worth a loop of its own, where it stands, and why."""

    move: HandMove
    why: str


def changes_of(sections: Sequence[SectionMoves]) -> tuple[HandMove, ...]:
    """Every change of a part once, in the order they come."""
    found: dict[tuple[str, str], HandMove] = {}
    for section in sections:
        for move in section.moves:
            found.setdefault((move.before.label, move.after.label), move)
    return tuple(found.values())


def hardest(changes: Sequence[HandMove], most: int = 2) -> tuple[Loop, ...]:
    """The changes that ask most of the hand: fingers that move, and how far it goes.

    What a finger's move weighs against millimetres is a rule of thumb (from memory).
    """
    weighed = []
    for place, move in enumerate(changes):
        if move.before.drawn is None or move.after.drawn is None:
            continue
        change = moves_between(move.before.drawn, move.after.drawn)
        moved = [each for each in change.moves if each.after not in (None, 0)]
        cost = len(moved) * _FINGER_MM + abs(change.hand_mm)
        why = f"{number_word(len(moved))} {'string' if len(moved) == 1 else 'strings'} refingered"
        if change.hand_frets:
            why += f", the hand moves {abs(change.hand_mm):.0f} mm"
        weighed.append((-cost, place, Loop(move, why)))
    found: list[Loop] = []
    back: list[Loop] = []  # the way back is in the loop of the way there, so it comes last
    for *_, loop in sorted(weighed, key=lambda each: each[:2]):
        known = [{each.move.before.label, each.move.after.label} for each in found]
        pair = {loop.move.before.label, loop.move.after.label}
        (back if pair in known else found).append(loop)
    return tuple([*found, *back][:most])


def _move(before: ChordCard, after: ChordCard, into: Sequence[ChartedChord]) -> HandMove:
    where = ranges_text(sorted({bars(each.bar, each.bar) for each in into}))
    first = into[0]
    crosses = first.beat == 1 and first.bar > 1
    loop = f"{first.bar - 1}-{first.bar}" if crosses else str(first.bar)
    said = move_said(before, after)
    return HandMove(before, after, f"into {bars_label(where)}", said, loop, count_text(first.beat))


def sections_of(
    version: Version, cards: dict[str, ChordCard], order: Sequence[ChartedChord]
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


def _without_repeats(played: Iterable[ChartedChord]) -> list[ChartedChord]:
    kept: list[ChartedChord] = []
    for each in played:
        if not kept or kept[-1].label != each.label:
            kept.append(each)
    return kept


def _section_moves(
    cards: dict[str, ChordCard], inside: Sequence[ChartedChord]
) -> tuple[HandMove, ...]:
    found: dict[tuple[str, str], list[ChartedChord]] = {}
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
