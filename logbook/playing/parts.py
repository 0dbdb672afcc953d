"""A part played as it is logged, a take of it by a hand that is never quite exact, its chords."""

from __future__ import annotations

import zlib
from collections.abc import Iterable
from typing import NamedTuple

import numpy as np

from logbook.arranging.performance import Note, perform, readable_positions
from logbook.errors import LogbookError
from logbook.playing.plucked import Samples, add_at, faded, levelled, pluck, thud
from logbook.records.part_view import PartView
from logbook.records.parts import Take
from logbook.strings.sounding import course_midi
from logbook.strings.tunings import StringTuning, sounding_hz
from logbook.timing.bars import BarRange, parse_range
from logbook.timing.tempo_map import TempoMap

PEAK = 0.2  # -14 dBFS: quiet
TAIL_S = 0.4
CHORD_S = 2.5
_SPREAD_S = 0.012
_CHORD_SPREAD_S = 0.03
_LONGEST_S = 8.0  # a string has died away by then
_PLAIN, _ACCENT = 0.5, 0.75
_SOFTER = (1.0, 0.6, 0.35)


class PlayedChord(NamedTuple):
    """A voicing in the sound of all chords: its label, and from when to when, in seconds."""

    label: str
    start_s: float
    end_s: float


def play_part(place: PartView, bars: TempoMap, rate_hz: int) -> Samples:
    """Return the whole part exactly as it is logged, from the music's start, with a short tail.

    The same part always sounds alike. Raises LogbookError where it has no tuning, or something in
    it cannot be read.
    """
    tuning = place.tuning
    notes = perform(place, bars)
    if tuning is None or not notes:
        raise LogbookError(f"{place.title} has nothing to play", "log its chart and its voicings")
    strings = _Strings(tuning, rate_hz)
    ends = max(max(float(bars.seconds_at_wholes(note.end)) for note in notes), 0.0)
    ends = max(ends, float(bars.seconds_at_wholes(notes[-1].start)))
    out = np.zeros(int((ends + TAIL_S) * rate_hz))
    for note in notes:
        begins = float(bars.seconds_at_wholes(note.start))
        lasts = float(bars.seconds_at_wholes(note.end)) - begins
        at = round((begins + note.order * _SPREAD_S) * rate_hz)
        for midi in note.midi or (0,):
            sound = strings.hit() if note.muted else strings.sound(midi, lasts, _strength(note))
            add_at(out, sound * _strength(note), at)
    return levelled(out, PEAK)


def _strength(note: Note) -> float:
    return (_ACCENT if note.accent else _PLAIN) * _SOFTER[min(note.soft, 2)]


def chord_places(place: PartView) -> tuple[PlayedChord, ...]:
    """Return where each voicing that can be played stands in the sound of all of them.

    Raises LogbookError where the tuning cannot be read.
    """
    tuning = place.tuning
    labels = readable_positions(place.part, tuning) if tuning else {}
    step = CHORD_S + TAIL_S
    return tuple(
        PlayedChord(label, number * step, number * step + CHORD_S)
        for number, label in enumerate(labels)
    )


def play_chords(place: PartView, rate_hz: int) -> Samples:
    """Return the part's voicings one after another, each strummed once and left to ring.

    They stand where `chord_places` says. Raises LogbookError where none of them can be played.
    """
    tuning = place.tuning
    positions = readable_positions(place.part, tuning) if tuning else {}
    if tuning is None or not positions:
        raise LogbookError(f"{place.title} has no chord that could be played", "log its voicings")
    strings = _Strings(tuning, rate_hz)
    out = np.zeros(int(len(positions) * (CHORD_S + TAIL_S) * rate_hz))
    for played in chord_places(place):
        order = 0
        position = positions[played.label]
        # Strings that may ring are not fingered on purpose, so they are left out.
        for at, courses in zip(position, course_midi(position, tuning), strict=True):
            if at is None or at.may_ring:
                continue
            late_s = order * _CHORD_SPREAD_S
            for midi in courses:
                sound = strings.sound(midi, CHORD_S - late_s, _PLAIN)
                add_at(out, sound, round((played.start_s + late_s) * rate_hz))
            order += 1
    return levelled(out, PEAK)


class _Strings:
    """The strings of a tuning, each pluck worked out once: notes come back many times."""

    def __init__(self, tuning: StringTuning, rate_hz: int) -> None:
        self._tuning, self._rate = tuning, rate_hz
        self._plucked: dict[tuple[int, float], Samples] = {}
        self._hit = thud(rate_hz, np.random.default_rng(0))

    def sound(self, midi: int, seconds: float, strength: float) -> Samples:
        """A note of so many seconds."""
        wanted = min(max(seconds, 0.0) + 0.05, _LONGEST_S)
        key = (midi, strength)
        known = self._plucked.get(key)
        if known is None or len(known) < int(wanted * self._rate):
            long = min(max(wanted, 1.0) * 1.5, _LONGEST_S)
            hz = sounding_hz(self._tuning, midi)
            rng = np.random.default_rng(midi)
            known = self._plucked[key] = pluck(hz, long, self._rate, strength, rng)
        return faded(known[: int(wanted * self._rate)], 0.05, self._rate)

    def hit(self) -> Samples:
        """A hit on stopped strings."""
        return self._hit


def play_take(
    place: PartView, tuning: StringTuning, take: Take, bars: TempoMap, rate_hz: int
) -> Samples:
    """Return one take, from the first sample of its bars to a short tail after the last.

    It is played with a timing, touch and strum of its own: the same take always comes out alike,
    and no two takes do. Raises LogbookError as `perform` does.
    """
    seed = zlib.crc32(f"{place.title}, {take.session}, take {take.number}".encode())
    rng = np.random.default_rng(seed)
    timing_s, spread_s = rng.uniform(0.004, 0.011), rng.uniform(0.006, 0.014)
    covered = parse_range(take.bars)
    first, last = bars.samples_of(covered, rate_hz)
    out = np.zeros(last - first + int(TAIL_S * rate_hz))
    late_s = 0.0
    for note in _within(perform(place, bars), covered, bars):
        if note.order == 0:
            late_s = 0.6 * late_s + rng.normal(0.0, timing_s)
        sounds_s = float(bars.seconds_at_wholes(note.end) - bars.seconds_at_wholes(note.start))
        begin_s = float(bars.seconds_at_wholes(note.start)) + late_s + note.order * spread_s
        at = max(round(begin_s * rate_hz) - first, 0)
        strength = float(np.clip(rng.normal(0.75 if note.accent else 0.5, 0.12), 0.2, 1.0))
        for midi in note.midi or (0,):
            if note.muted:
                sound = thud(rate_hz, rng)
            else:
                hz = sounding_hz(tuning, midi)
                sound = faded(pluck(hz, sounds_s + 0.05, rate_hz, strength, rng), 0.05, rate_hz)
            add_at(out, sound * strength, at)
    return out


def _within(notes: Iterable[Note], covered: BarRange, bars: TempoMap) -> Iterable[Note]:
    start, end = bars.span_of(covered)
    return (note for note in notes if start <= note.start < end)
