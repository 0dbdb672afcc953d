"""Parts played on strings whose every pitch is known, and sounds that have no tuning.

A string has a little stiffness, so that its overtones run sharp, and dies away sooner the higher
the partial. Each is as far out as it is told; a note may tremble or be bent. Drums are made of
membranes, metal and noise at frequencies of no scale. Everything follows from the seed.
"""

from __future__ import annotations

import random
from collections.abc import Sequence

import numpy as np

from logbook.listening.signals import Samples

RATE = 11_025
STANDARD = (40, 45, 50, 55, 59, 64)
GRIPS = ("320003", "x32010", "xx0232", "022000", "x02210", "xx3211", "x24432")


def played(
    seed: int,
    *,
    seconds: float = 16.0,
    strings: Sequence[int] = STANDARD,
    capo: int = 0,
    out: Sequence[float] = (0.0,) * 6,
    slide: tuple[float, float] = (0.0, 0.0),
    vibrato: float = 0.0,
    bends: float = 0.0,
    picked: bool = False,
    a4: float = 440.0,
) -> Samples:
    """A part in open grips, strummed or picked, in half a second each.

    out: cents of each string. slide: cents of all at the beginning and at the end. vibrato: cents
    to each side. bends: part of the notes that are bent up by one or two semitones.
    """
    rng = random.Random(seed)
    sound = np.zeros(int((seconds + 1.5) * RATE))
    for step in range(int(2 * seconds)):
        grip = GRIPS[(step // 4 + seed) % len(GRIPS)]
        at = 0.3 + step / 2 + rng.gauss(0, 0.006)
        fretted = [(s, int(f)) for s, f in enumerate(grip) if f != "x"]
        hit = [rng.choice(fretted), rng.choice(fretted)] if picked else fretted
        for order, (string, fret) in enumerate(hit):
            when = at + order * (0.25 if picked else 0.008)
            cents = out[string] + slide[0] + (slide[1] - slide[0]) * when / seconds
            bent = rng.choice((100.0, 200.0)) if rng.random() < bends else 0.0
            pitch = strings[string] + capo + fret + cents / 100.0
            _add(sound, when, a4 * 2 ** ((pitch - 69) / 12), rng, vibrato, bent)
    sound += 2e-4 * np.random.default_rng(seed).normal(size=sound.size)
    return np.asarray(0.1 * sound, dtype=np.float32)


def _add(
    sound: Samples, when: float, hertz: float, rng: random.Random, vibrato: float, bent: float
) -> None:
    first = round(when * RATE)
    t = np.arange(max(0, min(round(1.4 * RATE), sound.size - first))) / RATE
    cents = vibrato * np.sin(2 * np.pi * 5.3 * t) * np.clip((t - 0.1) / 0.2, 0, 1)
    cents = cents + bent * np.clip((t - 0.12) / 0.15, 0, 1)
    turns = np.cumsum(hertz * 2 ** (cents / 1200)) / RATE
    pluck = rng.uniform(0.15, 0.35)
    for k in range(1, 14):
        if k * hertz > 0.45 * RATE:
            break
        stiff = np.sqrt(1 + 5e-5 * k * k)
        level = np.sin(np.pi * k * pluck) / k * np.exp(-t * (1.2 + 0.5 * k))
        sound[first : first + t.size] += level * np.sin(2 * np.pi * k * stiff * turns + k)


def drums(seed: int, seconds: float = 16.0) -> Samples:
    """A kit: kick, snare, up to four toms, a bell of metal, hats, some of them ringing long."""
    rng, noise = random.Random(seed), np.random.default_rng(seed)
    sound = np.zeros(int((seconds + 1.0) * RATE))
    t = np.arange(int(0.9 * RATE)) / RATE
    kinds = []
    for _ in range(rng.randint(2, 5)):
        low = rng.uniform(55, 260)
        modes = (1.0, 1.59, 2.14, 2.30, 2.65, 2.92)  # of a round membrane
        die, bend = rng.uniform(4, 14), rng.uniform(0.0, 0.08)
        turns = np.cumsum(1 + bend * np.exp(-25 * t)) / RATE
        kinds.append(
            sum(
                (
                    np.sin(2 * np.pi * low * mode * turns) * np.exp(-(die + 3 * n) * t) / (n + 1)
                    for n, mode in enumerate(modes)
                ),
                np.zeros(t.size),
            )
        )
    metal = [rng.uniform(300, 3000) for _ in range(7)]
    ringing = (np.sin(2 * np.pi * hertz * t) * np.exp(-5 * t) for hertz in metal)
    kinds.append(sum(ringing, np.zeros(t.size)) / 5)
    kinds.append(noise.normal(size=t.size) * np.exp(-22 * t))
    kinds.append(np.diff(noise.normal(size=t.size), prepend=0.0) * np.exp(-50 * t))
    for step in range(int(4 * seconds)):
        hit = rng.choice(kinds) * rng.uniform(0.5, 1.0)
        first = int(step / 4 * RATE)
        sound[first : first + hit.size] += hit[: sound.size - first]
    return np.asarray(0.2 * sound, dtype=np.float32)


def noise(seed: int, seconds: float = 16.0, colour: float = 0.0) -> Samples:
    """Noise whose amplitude falls with the frequency to the power of `colour`."""
    white = np.fft.rfft(np.random.default_rng(seed).normal(size=int(seconds * RATE)))
    white *= (1.0 + np.arange(white.size)) ** -colour
    out = np.fft.irfft(white)
    return np.asarray(0.1 * out / np.std(out), dtype=np.float32)
