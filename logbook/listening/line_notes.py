"""The notes of a single line, from its pitch track: where each begins and ends, and how sure.

The recording's own tuning is taken off first, as the middle of how far the pitches lie from the
semitones. Then each frame is given the note it stands for, at the least cost (Viterbi): frames far
from their note cost, and so does every change, so that vibrato stays within its note and a slide
between two notes is cut in its middle. A note that is struck or sung again is told by the level,
which dips and rises. Seconds count from the beginning of the sound.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from logbook.listening.heard import HeardNote
from logbook.listening.pitch_track import HOP, RATE, Floats, PitchTrack

FRAME_S = HOP / RATE
LOWEST, HIGHEST = 23, 96  # MIDI
AWAY = 0.45  # semitones a frame lies usually from its note, with vibrato
MOST_AWAY = 4.0  # what a frame can cost at most: a glide passes, a cracked note too
CHANGE = 7.0
UNPITCHED = 1.2  # what a frame costs that has a pitch and is given to no note
SHORTEST_S = 0.07
PASSED_S, SLIDE = 0.13, 5.0  # a shorter run that moves more semitones a second is a slide
RISE_DB = 6.0  # by which the level rises where a note begins again
LEAST_CLEAR = 0.05  # how far the pitches must agree for their tuning to be taken off


@dataclass(frozen=True, slots=True)
class _NoteRun:
    first: int
    last: int  # exclusive
    note: int


def line_notes(track: PitchTrack) -> tuple[HeardNote, ...]:
    """The notes of a track, in order."""
    cents = line_cents(track)
    pitch = track.midi - cents / 100.0
    runs = [part for run in _runs(pitch) for part in _struck_again(run, track.level)]
    runs = _long_enough(runs, pitch)
    return tuple(_told(run, pitch, track.depth) for run in runs)


def line_cents(track: PitchTrack) -> float:
    """How far a single line is from A4 = 440 Hz, in cents, -50 to 50; 0 where it cannot be told."""
    pitch = track.midi
    held = np.isfinite(pitch)
    # Frames within a glide say nothing of the tuning.
    slope = np.abs(np.gradient(np.where(held, pitch, 0.0)))
    held &= slope < 0.12
    if np.count_nonzero(held) < 20:
        return 0.0
    turned = np.mean(np.exp(2j * np.pi * pitch[held]))
    return float(np.angle(turned) / (2 * np.pi) * 100.0) if abs(turned) > LEAST_CLEAR else 0.0


def _runs(pitch: Floats) -> list[_NoteRun]:
    """Stretches of one note each, by the cheapest way through all notes and none."""
    count = pitch.size
    notes = np.arange(LOWEST, HIGHEST + 1)
    none = notes.size
    sounds = np.isfinite(pitch)
    near = 0.5 * ((np.where(sounds, pitch, 0.0)[:, None] - notes) / AWAY) ** 2
    cost = np.where(sounds[:, None], np.minimum(near, MOST_AWAY), MOST_AWAY)
    cost = np.concatenate([cost, np.where(sounds, UNPITCHED, 0.0)[:, None]], axis=1)
    came = np.empty((count, none + 1), dtype=np.int_)
    states = np.arange(none + 1)
    total = cost[0].copy()
    for n in range(1, count):
        best = int(np.argmin(total))
        change = total[best] + CHANGE
        stay = total <= change
        came[n] = np.where(stay, states, best)
        total = np.where(stay, total, change) + cost[n]
        total -= total.min()
    path = np.empty(count, dtype=np.int_)
    path[-1] = int(np.argmin(total))
    for n in range(count - 1, 0, -1):
        path[n - 1] = came[n, path[n]]
    edges = [0, *(np.flatnonzero(np.diff(path)) + 1).tolist(), count]
    return [_NoteRun(a, b, int(notes[path[a]])) for a, b in pairwise(edges) if path[a] != none]


def _struck_again(run: _NoteRun, level: Floats) -> list[_NoteRun]:
    """A note cut where the level says that it begins again."""
    part = level[run.first : run.last]
    least = round(SHORTEST_S / FRAME_S)
    if part.size < 2 * least:
        return [run]
    rise = np.zeros(part.size)
    for n in range(least, part.size - 3):
        rise[n] = np.max(part[n : n + 6]) - np.min(part[max(0, n - 8) : n + 1])
        # From where it was before the dip: a swell has no dip and is no new note.
        before = np.max(part[max(0, n - 20) : n + 1])
        dipped = before - np.min(part[max(0, n - 8) : n + 1])
        if dipped < 3.0:
            rise[n] = 0.0
    cuts: list[int] = []
    n = least
    while n < part.size - least:
        if rise[n] >= RISE_DB:
            window = part[max(0, n - 8) : n + 6]
            at = max(0, n - 8) + int(np.argmin(window))
            # It begins after the lowest place, where the level climbs most.
            climb = np.diff(part[at : at + 8])
            at += int(np.argmax(climb)) if climb.size else 0
            if at >= least and part.size - at >= least:
                cuts.append(at)
                n = at + 12
                continue
        n += 1
    edges = [run.first, *(run.first + cut for cut in cuts), run.last]
    return [_NoteRun(a, b, run.note) for a, b in pairwise(edges)]


def _slides(run: _NoteRun, pitch: Floats) -> bool:
    """Whether a short run is only passed through: its pitch does not stay."""
    length = run.last - run.first
    if length * FRAME_S > PASSED_S:
        return False
    fifth = max(1, length // 5)
    part = pitch[run.first + fifth : run.last - fifth]
    part = part[np.isfinite(part)]
    if part.size < 3:
        return length * FRAME_S < SHORTEST_S
    slope = np.polyfit(np.arange(part.size) * FRAME_S, part, 1)[0]
    return bool(abs(slope) > SLIDE)


def _long_enough(runs: list[_NoteRun], pitch: Floats) -> list[_NoteRun]:
    """Runs without scraps: one between two notes goes half to each, one within a note joins it."""
    least = round(SHORTEST_S / FRAME_S)
    out: list[_NoteRun] = []
    pending: _NoteRun | None = None
    for run in runs:
        if run.last - run.first < least or _slides(run, pitch):
            joined = pending is not None and pending.last == run.first
            first = pending.first if pending is not None and joined else run.first
            pending = _NoteRun(first, run.last, run.note)
            continue
        first = run.first
        if pending is not None and pending.last == run.first and out:
            middle = (pending.first + pending.last) // 2
            before = out[-1]
            if before.last == pending.first:
                if before.note == run.note:
                    out[-1] = _NoteRun(before.first, run.last, run.note)
                    pending = None
                    continue
                out[-1] = _NoteRun(before.first, middle, before.note)
                first = middle
        pending = None
        out.append(_NoteRun(first, run.last, run.note))
    return out


def _told(run: _NoteRun, pitch: Floats, depth: Floats) -> HeardNote:
    part = pitch[run.first : run.last]
    sounds = np.isfinite(part)
    clear = 1.0 - float(np.mean(depth[run.first : run.last]))
    away = float(np.median(part[sounds])) - run.note if np.any(sounds) else 0.0
    inside = float(np.mean(np.abs(part[sounds] - run.note) < 0.7)) if np.any(sounds) else 0.0
    seconds = (run.last - run.first) * FRAME_S
    lasting = 1.0 - float(np.exp(-seconds / 0.05))
    near = float(np.exp(-0.5 * (away / 0.3) ** 4))
    sure = 0.99 * np.sqrt(max(0.0, clear)) * near * lasting * (0.3 + 0.7 * inside)
    return HeardNote(
        start=round(run.first * FRAME_S, 4),
        end=round(run.last * FRAME_S, 4),
        midi=run.note,
        cents=round(100.0 * away, 1),
        confidence=round(float(np.clip(sure, 0.0, 0.99)), 3),
    )
