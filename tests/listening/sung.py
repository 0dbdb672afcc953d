"""Sung-like lines made from partials, with the truth of every note.

A note slides in from the one before, trembles after a moment (vibrato of 5.5 Hz, 40 cents to each
side: figures common for singers, from memory), has partials under vowel-like humps, breath noise
round it, and now and then a breath or a consonant before it. Everything follows from the seed.
"""

from __future__ import annotations

import random
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy import signal

Audio = npt.NDArray[np.float32]
Wave = npt.NDArray[np.float64]

VOWELS = ((700, 1200, 2600), (400, 2000, 2600), (350, 800, 2500), (500, 1700, 2500))


@dataclass(frozen=True, kw_only=True, slots=True)
class SungNote:
    """A note as it is meant: seconds and MIDI number."""

    start: float
    end: float
    midi: int


def melody(
    seed: int, *, count: int = 24, bpm: float = 96.0, low: int = 52, high: int = 72
) -> list[SungNote]:
    """A line of quarters, eighths and halves that moves mostly by step, with rests."""
    rng = random.Random(seed)
    beat, place, midi = 60.0 / bpm, 0.0, (low + high) // 2
    out = []
    for _ in range(count):
        beats = rng.choice([0.5, 0.5, 1.0, 1.0, 1.5, 2.0])
        out.append(SungNote(start=place * beat, end=(place + beats) * beat, midi=midi))
        place += beats
        if rng.random() < 0.15:
            place += 0.5
        step = rng.choice([-7, -5, -4, -2, -2, -1, 0, 1, 2, 2, 3, 4, 5])
        midi = midi + step if low <= midi + step <= high else midi - step
    return out


def sing(
    notes: list[SungNote],
    *,
    seed: int = 0,
    rate: int = 22_050,
    cents: float = 0.0,
    vibrato: float = 40.0,
    glide: float = 0.08,
    breath: float = 0.03,
    ahead: float = 0.0,
) -> Audio:
    """The sound of a line. glide: seconds that lead from note to note, half before it begins."""
    rng = np.random.default_rng(seed)
    seconds = notes[-1].end + ahead + 0.4
    times = np.arange(int(seconds * rate)) / rate - ahead
    pitch = np.full(times.size, float(notes[0].midi))
    level = np.zeros(times.size)
    hump = np.zeros((3, times.size))
    for number, note in enumerate(notes):
        joined = number > 0 and note.start - notes[number - 1].end < 0.01
        again = joined and notes[number - 1].midi == note.midi
        start = note.start + (0.05 if again else 0.0)
        first = max(0, int((note.start - glide + ahead) * rate) - 1)
        near = slice(first, int((note.end + 0.3 + ahead) * rate) + 2)
        t, here = times[near], pitch[near]
        here[(t >= note.start) & (t < note.end + 0.3)] = note.midi
        if joined and glide and not again:
            part = np.abs(t - note.start) < glide / 2
            way = (t[part] - note.start) / glide + 0.5
            here[part] = notes[number - 1].midi + way * (note.midi - notes[number - 1].midi)
        rise = np.clip((t - start) / (0.03 if again or not joined else 0.002), 0, 1)
        fall = np.clip((note.end - t) / 0.04, 0, 1)
        following = notes[number + 1] if number + 1 < len(notes) else None
        if following is not None and following.start - note.end < 0.01:
            fall = np.where(t < note.end, 1.0, 0.0)
        level[near] = np.maximum(level[near], np.minimum(rise, fall) * (t >= start))
        wave = np.sin(2 * np.pi * 5.5 * (t - note.start)) * vibrato / 100.0
        depth = np.clip((t - note.start - 0.15) / 0.2, 0, 1)
        inside = (t >= note.start) & (t < note.end)
        here[inside] += (wave * depth)[inside]
        hump[:, near][:, inside] = np.array(VOWELS[rng.integers(len(VOWELS))])[:, None]
    hz = 440.0 * 2 ** ((pitch - 69 + cents / 100.0) / 12)
    sound = _voiced(hz, hump, rate)
    smooth = signal.lfilter([0.02], [1, -0.98], level)
    air = signal.lfilter([1, -0.9], [1], rng.standard_normal(times.size))
    sound = sound / np.max(np.abs(sound)) * smooth + breath * air * (0.3 + smooth)
    return np.asarray(0.5 * sound / np.max(np.abs(sound)), dtype=np.float32)


def _voiced(hz: Wave, humps: Wave, rate: int) -> Wave:
    """Fifteen partials of `hz`, each as loud as the humps (hertz, 250 wide) make it there.

    Sine and bell of a partial follow from those of the one below it, by
    sin((n + 1) p) = 2 cos(p) sin(n p) - sin((n - 1) p) and by the ratio of two bells.
    """
    phase = 2 * np.pi * np.cumsum(hz) / rate
    below, sine, turn = np.zeros(hz.size), np.sin(phase), 2 * np.cos(phase)
    bell = np.exp(-0.5 * ((hz - humps) / 250) ** 2)
    narrowing = np.exp(-((hz / 250) ** 2))
    ratio = np.exp((humps - 1.5 * hz) * hz / 250**2)
    sound = np.zeros(hz.size)
    for n in range(1, 16):
        loud = np.where(n * hz < 0.45 * rate, (0.15 + bell.sum(axis=0)) / n, 0.0)
        sound += loud * sine
        below, sine = sine, turn * sine - below
        bell *= ratio
        ratio *= narrowing
    return sound
