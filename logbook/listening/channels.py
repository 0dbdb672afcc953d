"""Which channel of a bounce goes with which channel of its takes, where their means do not agree.

A bounce may hold one side of its takes, or a middle and a side in place of left and right. Its
blocks then line up with one channel of the takes much better than with the mean of them. Looked at
only where the files have channels that differ and the means left something unexplained.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import Executor
from functools import partial

import numpy as np

from logbook.listening import searching
from logbook.listening.candidates import Work
from logbook.listening.decoding import LEFT, RIGHT, SIDE, DecodedSound, Mix, decode
from logbook.listening.shelving import Shelf
from logbook.listening.signals import Samples

BLOCK_SECONDS = 4.0
MOST_BLOCKS = 6
# Peaks over their surroundings, squared, are as signal over noise: a channel that is a third
# better than the mean is another sound than the mean, not a chance.
CLEARLY = 1.33


def other_channels(
    sounds: Sequence[DecodedSound],
    work: Work,
    prepare: Callable[[Sequence[DecodedSound], Executor], Work],
    pool: Executor,
    shelf: Shelf,
) -> tuple[list[DecodedSound], Work] | None:
    """Bounce and takes in the channels that agree best, and their work; None for the means.

    sounds: the bounce and the takes as means, work: made of them by `prepare`.
    """
    bounce, *takes = sounds
    whole: list[Mix | None] = [None]
    for_bounce = [*whole, LEFT, RIGHT] if bounce.wide else whole
    for_takes = [*whole, LEFT, RIGHT, SIDE] if any(take.wide for take in takes) else whole
    best, height = None, CLEARLY * _agreement(work, pool)
    for take_mix in for_takes:
        mixed = takes if take_mix is None else _mixed(takes, take_mix, pool, shelf)
        for bounce_mix in for_bounce:
            if take_mix is None and bounce_mix is None:
                continue
            one = bounce if bounce_mix is None else decode(bounce.path, bounce_mix, shelf)
            if not (_sounds(one) and any(_sounds(take) for take in mixed)):
                continue
            these = [one, *mixed]
            made = prepare(these, pool)
            found = _agreement(made, pool)
            if found > height:
                best, height = (these, made), found
    return best


def _mixed(
    takes: Sequence[DecodedSound], mix: Mix, pool: Executor, shelf: Shelf
) -> list[DecodedSound]:
    def one(take: DecodedSound) -> DecodedSound:
        return decode(take.path, mix, shelf) if take.wide else take

    return list(pool.map(one, takes))


def _sounds(sound: DecodedSound) -> bool:
    return float(np.vdot(sound.samples, sound.samples)) > 1e-8 * sound.samples.size


def _agreement(work: Work, pool: Executor) -> float:
    """How far the loudest blocks of a bounce stand out of the takes: mean squared peak ratio."""
    half: Samples = work.low_bounce[::2].copy()
    block = round(BLOCK_SECONDS * work.low_rate / 2)
    starts = np.arange(0, max(1, half.size - block // 2), block)
    energy = [float(np.vdot(part, part)) for part in (half[at : at + block] for at in starts)]
    loud = np.flatnonzero(np.array(energy) > 0.25 * np.median(energy))
    chosen = starts[loud[np.linspace(0, loud.size - 1, min(MOST_BLOCKS, loud.size)).astype(int)]]
    index = partial(searching.TakeIndex, block=block)
    indexes = list(pool.map(index, [take[::2] for take in work.low_takes]))
    look_up = partial(searching.search_block, half, indexes)
    places = list(pool.map(look_up, [int(at) for at in chosen]))
    return float(np.mean([found[0].ratio ** 2 if found else 0.0 for found in places]))
