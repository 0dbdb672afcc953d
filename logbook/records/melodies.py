"""What a part sings or plays note by note: its melody, phrase by phrase, over the chart.

Conventions. A phrase begins at a bar and beat and lasts as long as its notes; where the next one
begins earlier, it stops there. Its notes are said as the part says notes, written or sounding.
A place before the pick-up begins is where it begins.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import NamedTuple

from logbook.errors import LogbookError
from logbook.records.fields import needed, noted, written
from logbook.theory.tunes import TuneNote, bar_lines, read_tune, tune_text
from logbook.timing.bars import BarPoint
from logbook.timing.tempo_map import TempoMap


@dataclass(frozen=True, kw_only=True)
class Melody:
    """A phrase of a part's melody: its first note falls on `beat` (from 1, "5/2") of `bar`."""

    bar: int = field(metadata=needed("the bar it begins in", "9", "_melody_bar"))
    beat: str = written("1", "which beat of it", "3", "_melody_beat")
    tune: str = field(
        metadata=needed(
            "its notes: /8 is an eighth and holds until another length, r a rest, | a bar line",
            "E4/8 F#4 G4/4 A4/2 | B4",
            "_tune",
        )
    )
    notes: str = noted()


class Sounded(NamedTuple):
    """A note of a melody: when it begins and ends in whole notes, and its name as it is said."""

    start: Fraction
    end: Fraction
    name: str


def in_order(melody: Iterable[Melody]) -> tuple[Melody, ...]:
    """Return phrases in the order of their places."""
    return tuple(sorted(melody, key=lambda each: (each.bar, Fraction(each.beat))))


def begins_at(phrase: Melody, bars: TempoMap) -> Fraction:
    """Where a phrase begins, in whole notes from the start of the music.

    Raises LogbookError where there is no such bar or beat.
    """
    start = bars.bar_start(max(phrase.bar, bars.first_bar))
    if phrase.bar < 1 and Fraction(phrase.beat) == 1:
        return start
    return bars.wholes_at(BarPoint(phrase.bar, Fraction(phrase.beat)))


def sounded(melody: Iterable[Melody], bars: TempoMap) -> tuple[Sounded, ...]:
    """Return the notes of a melody in order; those held into the next are one.

    Raises LogbookError, naming the bar, where a phrase cannot be read.
    """
    phrases = in_order(melody)
    starts = []
    for each in phrases:
        try:
            starts.append(begins_at(each, bars))
        except LogbookError as error:
            raise LogbookError(
                f"the melody at bar {each.bar}: {error.problem}", error.remedy
            ) from error
    found: list[Sounded] = []
    tied = False
    for number, (phrase, at) in enumerate(zip(phrases, starts, strict=True)):
        until = min((start for start in starts[number + 1 :] if start > at), default=None)
        for note in read_tune(phrase.tune):
            end = at + note.length
            if until is not None:
                end = min(end, until)
            if note.name and not note.is_bar_line and at < end:
                if tied and found and found[-1].end == at and found[-1].name == note.name:
                    found[-1] = found[-1]._replace(end=end)
                else:
                    found.append(Sounded(at, end, note.name))
                tied = note.tied
            elif not note.is_bar_line:
                tied = False
            at += note.length
    return tuple(found)


def bar_line_off(phrase: Melody, bars: TempoMap) -> tuple[str, BarPoint] | None:
    """The first bar line that stands where none is: the note before it, and where that ends."""
    start = begins_at(phrase, bars)
    for at, before in bar_lines(read_tune(phrase.tune)):
        point = bars.point_at(start + at)
        if point.beat != 1:
            return before, point
    return None


# In bars


class MelodyPiece(NamedTuple):
    """What a bar holds of a melody: how far into it, in whole notes, and the note."""

    at: Fraction
    note: TuneNote


def by_bar(melody: Iterable[Melody], bars: TempoMap) -> dict[int, tuple[MelodyPiece, ...]]:
    """Return what each bar holds of a melody; a note over a bar line is divided and tied.

    Raises LogbookError as `sounded` does.
    """
    found: dict[int, list[MelodyPiece]] = {}
    for note in sounded(melody, bars):
        at = note.start
        while at < note.end:
            bar = bars.point_at(at).bar
            begin = bars.bar_start(bar)
            end = min(note.end, begin + bars.bar_length(bar))
            piece = TuneNote(note.name, end - at, end < note.end)
            found.setdefault(bar, []).append(MelodyPiece(at - begin, piece))
            at = end
    return {bar: tuple(pieces) for bar, pieces in found.items()}


def phrase_of(bar: int, pieces: Iterable[MelodyPiece], bars: TempoMap) -> Melody | None:
    """Return pieces as a phrase of a bar, without what lies beyond its end; None for nothing."""
    length = bars.bar_length(bar)
    notes: list[TuneNote] = []
    first: Fraction | None = None
    at = Fraction(0)
    for piece in pieces:
        if piece.at >= length:
            break
        if first is None:
            first = at = piece.at
        if piece.at > at:
            notes.append(TuneNote("", piece.at - at))
        end = min(piece.at + piece.note.length, length)
        whole = end == piece.at + piece.note.length
        notes.append(piece.note._replace(length=end - piece.at, tied=piece.note.tied and whole))
        at = end
    if first is None:
        return None
    point = bars.point_at(bars.bar_start(bar) + first)
    return Melody(bar=bar, beat=str(point.beat), tune=tune_text(_untied(notes)))


def _untied(notes: list[TuneNote]) -> list[TuneNote]:
    """The notes without ties that lead nowhere inside; the last one may go on in the next bar."""
    after = [*notes[1:], None]
    return [
        one._replace(tied=one.tied and (then is None or then.midi == one.midi))
        for one, then in zip(notes, after, strict=True)
    ]


def moved_melody(
    melody: Iterable[Melody], bars: TempoMap, place: Callable[[int], int | None], told: list[str]
) -> tuple[Melody, ...]:
    """Return phrases in the bars they are in now; `place` gives an old bar's new one, None if gone.

    `bars` are the old ones. A phrase whose bars stay together stays whole, another is divided at
    its bar lines. What went with its bars is added to `told`, a sentence each.
    """
    moved: list[Melody] = []
    for phrase in in_order(melody):
        held = by_bar([phrase], bars)
        if not held:
            continue
        now = {bar: place(bar) for bar in held}
        steps = {None if new is None else new - bar for bar, new in now.items()}
        if None not in steps and len(steps) == 1:
            moved.append(replace(phrase, bar=now[min(now)] or phrase.bar))
            continue
        for bar, pieces in held.items():
            new = now[bar]
            if new is None:
                told.append(f"the melody of bar {bar} went with it")
                continue
            cut = phrase_of(bar, pieces, bars)
            if cut is not None:
                moved.append(replace(cut, bar=new, notes=phrase.notes))
    return in_order(moved)
