"""The notes of a single line on the version's grid: which bar and beat each begins at.

Which parts are single lines without strings is told here too. A bar's notes are laid on the
coarsest division of its felt beats that fits them: whole beats, halves, quarters or thirds of a
beat (in compound meters thirds, sixths or halves). A note sung a little before the bar is the
bar's first.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import zip_longest
from math import sqrt

from logbook.listening.following import LaidBar
from logbook.listening.heard import HeardNote
from logbook.records.part_view import PartView

# Kinds that sound several notes at once, or have strings whose tuning is only not said yet.
_NO_LINE = frozenset(
    [
        *("guitar", "mandolin", "mandola", "ukulele", "uke", "banjo", "bouzouki", "lute", "oud"),
        *("sitar", "zither", "dulcimer", "harp", "resonator", "choir"),
        *("piano", "keys", "keyboard", "keyboards", "organ", "synth", "synthesizer", "harmonium"),
        *("accordion", "celesta", "marimba", "vibraphone", "glockenspiel"),
        *("drum", "drums", "percussion", "cajon", "tambourine", "shaker"),
    ]
)
_VOICE = frozenset(["voice", "voices", "vocal", "vocals", "vox", "singer", "singing", "sung"])
_RANGE = frozenset(["soprano", "mezzo", "alto", "tenor", "baritone"])
_SIMPLE, _COMPOUND = {1: 0.0, 2: 0.4, 4: 1.2, 3: 1.6}, {1: 0.0, 3: 0.4, 6: 1.2, 2: 1.6}
AWAY_S = 0.045  # how far a sung note begins from its place, usually
CROWDED = 8.0  # two notes at one place cost so much
REST_BEATS = 0.8  # felt beats of silence that are a rest


@dataclass(frozen=True, kw_only=True, slots=True)
class PlacedNote:
    """A note and where it begins: bar, and beat of its meter from 1.

    rest_after: bar and beat at which it ends, where a rest follows.
    """

    bar: int
    beat: Fraction
    note: HeardNote
    rest_after: tuple[int, Fraction] | None = None


def plays_line(place: PartView) -> bool:
    """Whether the part is a single line without strings: a voice, a wind instrument, a bow.

    A part without an instrument is one when its name says that it is sung.
    """
    instrument = place.instrument
    said = (instrument.kind or instrument.name) if instrument else place.part.name
    words = re.findall(r"[^\W\d_]+", said.casefold())
    if not words or not _NO_LINE.isdisjoint(words) or words[-1] == "bass":
        return False
    if not _VOICE.isdisjoint(words) or _RANGE.issuperset(words):
        return True
    return instrument is not None and bool(instrument.kind) and place.tuning is None


def place_notes(notes: Sequence[HeardNote], bars: Sequence[LaidBar]) -> tuple[PlacedNote, ...]:
    """The notes that begin within the bars, each at its place; no two at one."""
    if not bars:
        return ()
    by_bar: dict[int, list[HeardNote]] = {}
    for note in notes:
        number = _bar_at(note.start, bars)
        if number is not None:
            by_bar.setdefault(number, []).append(note)
    out: list[PlacedNote] = []
    for number in sorted(by_bar):
        bar = bars[number]
        division = _division(by_bar[number], bar)
        for note in by_bar[number]:
            at = round(_felt_place(note.start, bar) * division)
            place = _point(bars, number, Fraction(at, division))
            if place is None:
                continue
            if out and place <= (out[-1].bar, out[-1].beat):
                place = _point(bars, number, Fraction(at, division) + Fraction(1, 2 * division))
                if place is None or place <= (out[-1].bar, out[-1].beat):
                    continue
            out.append(PlacedNote(bar=place[0], beat=place[1], note=note))
    return _with_rests(out, bars)


def _with_rests(notes: list[PlacedNote], bars: Sequence[LaidBar]) -> tuple[PlacedNote, ...]:
    """The notes with the places where rests follow them."""
    out = []
    ends = bars[-1].end
    for one, following in zip_longest(notes, notes[1:]):
        after = ends if following is None else following.note.start
        number = _bar_at(one.note.end, bars)
        rest = None
        if number is not None and after - one.note.end >= REST_BEATS * _felt(bars[number]):
            at = Fraction(round(_felt_place(one.note.end, bars[number]) * 2), 2)
            rest = _point(bars, number, at)
            if rest is not None and (
                rest <= (one.bar, one.beat)
                or (following is not None and rest >= (following.bar, following.beat))
            ):
                rest = None
        out.append(PlacedNote(bar=one.bar, beat=one.beat, note=one.note, rest_after=rest))
    return tuple(out)


def _bar_at(seconds: float, bars: Sequence[LaidBar]) -> int | None:
    """The place in `bars` of the bar that sounds then; a little before the first is the first."""
    for number, bar in enumerate(bars):
        early = _felt(bar) / 4 if number == 0 else 0.0
        if bar.start - early <= seconds < bar.end:
            return number
    return None


def _beats(bar: LaidBar) -> Fraction:
    return bar.meter.bar_length / bar.meter.felt_beat_length


def _felt(bar: LaidBar) -> float:
    """Seconds of a felt beat."""
    return (bar.end - bar.start) / float(_beats(bar))


def _felt_place(seconds: float, bar: LaidBar) -> float:
    """Felt beats from the bar's beginning; slightly below 0 for what is early."""
    return (seconds - bar.start) / _felt(bar)


def _point(bars: Sequence[LaidBar], number: int, felt: Fraction) -> tuple[int, Fraction] | None:
    """Bar and beat of a place in felt beats; that of the next bar at this one's end."""
    bar = bars[number]
    if felt >= _beats(bar):
        return (bars[number + 1].bar, Fraction(1)) if number + 1 < len(bars) else None
    beats = max(Fraction(0), felt) * bar.meter.felt_beat_length / bar.meter.beat_length
    return bar.bar, 1 + beats


def _division(notes: Sequence[HeardNote], bar: LaidBar) -> int:
    """Into how many parts the felt beat is divided for these notes."""
    ways = _COMPOUND if bar.meter.is_compound else _SIMPLE
    places = [_felt_place(note.start, bar) for note in notes]

    def cost(division: int) -> float:
        steps = [round(place * division) for place in places]
        away = [(p - s / division) * _felt(bar) for p, s in zip(places, steps, strict=True)]
        crowded = len(steps) - len(set(steps))
        return (
            sum(min(9.0, each * each / AWAY_S**2) for each in away)
            + ways[division] * sqrt(len(places))
            + CROWDED * crowded
        )

    return min(ways, key=cost)
