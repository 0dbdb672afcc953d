"""All sounds brought to one rate, and to a low one with a flat spectrum, to be listened to."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from concurrent.futures import Executor

import numpy as np

from logbook.listening.candidates import COARSER, Work
from logbook.listening.decoding import DecodedSound
from logbook.listening.extra import ListeningError
from logbook.listening.shelving import Pile, Shelf
from logbook.listening.signals import (
    Samples,
    convolved,
    cut,
    lowered,
    resampled,
    smoothed_power,
    whitened,
    whitening,
)

HIGHEST_RATE = 50_000
LOW_RATE = 11_025
BAND = 0.5  # of the low rate's Nyquist frequency
LEAST_SECONDS = 1.0
SILENT = 1e-4  # peak, full scale 1.0
PART, AROUND = 1 << 22, 8  # samples that are read at once, and lowered ones either side of them
OFFSET_SHARE = 0.02  # of the level: a smaller constant offset does no harm


def check_sounds(sounds: Sequence[DecodedSound]) -> None:
    """Raise ListeningError for a bounce (the first) or takes that cannot be listened to."""
    bounce, *takes = sounds
    if bounce.seconds < LEAST_SECONDS:
        raise ListeningError(
            f"{bounce.path.name} is only {bounce.seconds:.2f} s long",
            "give a bounce of at least a bar",
        )
    for sound, what in ((bounce, "bounce"), *((take, "take") for take in takes)):
        if sound.rate < 4000:
            raise ListeningError(
                f"{sound.path.name} has a sample rate of {sound.rate} Hz",
                f"give a {what} of 8000 Hz or more",
            )
    if _silent(bounce):
        raise ListeningError(f"{bounce.path.name} is silent", "give a bounce with sound in it")
    if all(_silent(take) for take in takes):
        raise ListeningError("all the takes are silent", "give takes with sound in them")


def _silent(sound: DecodedSound) -> bool:
    samples = sound.samples
    parts = (samples[at : at + PART] for at in range(0, samples.size, PART))
    return all(max(float(np.max(part)), -float(np.min(part))) < SILENT for part in parts)


def prepare(sounds: Sequence[DecodedSound], pool: Executor, shelf: Shelf | None = None) -> Work:
    """Bring all sounds to one rate, the takes' (halved above 50 kHz), and to a low one.

    shelf: where long sound is kept.
    """
    where = shelf or Shelf()
    rate = Counter(sound.rate for sound in sounds[1:]).most_common(1)[0][0]
    while rate > HIGHEST_RATE:
        rate //= 2
    factor = max(1, round(rate / LOW_RATE))

    def low(sound: DecodedSound) -> tuple[Samples, Samples]:
        full = resampled(without_offset(sound.samples, where), sound.rate, rate)
        if full is not sound.samples:
            full = where.keep(full)
        low = _lowered(full, factor, where)
        where.let_go()
        return full, low

    full, lows = zip(*pool.map(low, sounds), strict=True)
    powers = list(pool.map(smoothed_power, lows))
    # One filter for all takes: what is alike in them must stay so.
    shared = np.sum(np.stack([p / (np.sum(p) + 1e-20) for p in powers[1:]]), axis=0)

    def flat(low: Samples, power: Samples) -> Samples:
        return _whitened(low, power, where)

    white = list(pool.map(flat, lows, [powers[0], *[shared] * len(powers[1:])]))
    coarse = list(pool.map(lambda low: _lowered(low, COARSER, where), white[1:]))
    where.let_go()
    return Work(
        rate=rate,
        factor=factor,
        bounce=full[0],
        takes=full[1:],
        low_bounce=white[0],
        low_takes=white[1:],
        coarse_takes=coarse,
        let_go=where.let_go,
    )


def _lowered(samples: Samples, factor: int, shelf: Shelf) -> Samples:
    """The samples at a lower rate; those on a shelf part by part, each let go when it is read."""
    if not shelf.on:
        return lowered(samples, factor)
    around, step = AROUND * factor, PART // factor * factor
    pile = Pile(shelf)
    for at in range(0, samples.size, step):
        count = min(step, samples.size - at)
        part = lowered(cut(samples, at - around, count + 2 * around), factor)
        pile.add(part[AROUND : AROUND - (-count // factor)])
        shelf.let_go()
    return pile.done()


def _whitened(low: Samples, power: Samples, shelf: Shelf) -> Samples:
    """The samples with a flat spectrum; those on a shelf part by part."""
    if not shelf.on:
        return whitened(low, power, upper=BAND)
    taps, pile, energy = whitening(power, upper=BAND), Pile(shelf), 0.0
    for at in range(0, low.size, PART):
        part = convolved(low, taps, taps.size // 2, at, min(PART, low.size - at))
        energy += float(np.vdot(part, part))
        pile.add(part)
        shelf.let_go()
    out = pile.done()
    for at in range(0, out.size if energy > 0.0 else 0, PART):
        out[at : at + PART] /= np.float32(np.sqrt(energy / out.size))
        shelf.let_go()
    return out


def without_offset(samples: Samples, shelf: Shelf | None = None) -> Samples:
    """The samples about zero: a converter's constant offset is no sound."""
    total = energy = 0.0
    for at in range(0, samples.size, PART):
        part = samples[at : at + PART]
        total += _sum(part)
        energy += float(np.vdot(part, part))
        if shelf is not None:
            shelf.let_go()
    offset, level = total / samples.size, float(np.sqrt(energy / samples.size))
    return samples - np.float32(offset) if abs(offset) > OFFSET_SHARE * level else samples


def _sum(samples: Samples) -> float:
    """The sum, made in parts so that nothing is lost of many samples."""
    whole = samples.size // 4096 * 4096
    parts = samples[:whole].reshape(-1, 4096) @ np.ones(4096, dtype=np.float32)
    return float(np.sum(parts, dtype=np.float64) + np.sum(samples[whole:], dtype=np.float64))
