"""How likely a place is: one likelihood ratio against how many were tried.

A take explains a stretch the better the less of it is left when it is taken away. How much that
proves depends on how many independent samples the stretch has: a held note is a few partials, and
some lag of another note's fits those by chance; a second of brushes is thousands. So a place is
worth its log likelihood ratio against sound of no relation, less the logarithm of how many lags
and takes were tried, and one number says how seldom a place may be none.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
from scipy import fft

from logbook.listening.likeliest import likeliest_states
from logbook.listening.signals import Samples

Floats = npt.NDArray[np.floating]

FALSE_PLACES = 1e-4  # of all that are believed, at most
LEAST_HOLE = 8  # frames: a join is placed more closely than that in any case
MOST_AGAINST = 3.0  # 13 dB louder
BROADER = 1.5  # a Hann window spreads a line over so many cells
LEAST_SAMPLES, PART = 16, 1 << 16


def likelihood_ratio(left: Floats, freedom: Floats | float) -> Floats:
    """Log likelihood ratios of sound of which `left` (0 to 1) remains when a take is taken away.

    Against sound of no relation to the take, at a free gain. freedom: independent samples.
    """
    return np.asarray(-0.5 * freedom * np.log(left))


def independent_samples(sound: Samples) -> float:
    """How many independent samples a stretch has: twice its bandwidth times its duration.

    The bandwidth is the effective one, (sum of power)^2 / sum of squared power, so that partials
    count and what lies between them does not.
    """
    return sum(_of_part(sound[at : at + PART]) for at in range(0, sound.size, PART))


def _of_part(sound: Samples) -> float:
    if sound.size < LEAST_SAMPLES:
        return 0.0
    spectrum = fft.rfft(sound * np.hanning(sound.size).astype(np.float32))
    power = spectrum.real**2 + spectrum.imag**2
    total = float(np.sum(power))
    return 2.0 * total**2 / (BROADER * float(np.sum(power**2)) + 1e-30) if total > 0.0 else 0.0


def price(tried: float) -> float:
    """What a place must be worth that was found among so many."""
    return float(np.log(max(1.0, tried) / FALSE_PLACES))


def worth(better: Floats, weight: Floats, freedom: float) -> Floats:
    """What each frame of a stretch says for its place, log likelihood ratios.

    better: logarithms of how much less its take leaves over than what nothing known is held to
    leave, frame by frame; weight: how far each frame counts; freedom: of the whole stretch.
    Where a take leaves more than that, it speaks against the place as loudly as a sound does that
    is so much louder than what should be left.
    """
    each = freedom * weight / (float(np.sum(weight)) + 1e-9)
    against = 0.5 * each * (1.0 - np.exp(np.minimum(-better, MOST_AGAINST)))
    return np.where(better > 0.0, likelihood_ratio(np.exp(-better), each), against)


def holes(gained: Floats) -> list[tuple[int, int]]:
    """The frames (first, exclusive last) of a stretch in which its place is likelier none.

    gained: what each frame says for the place. Any two frames may be where one begins and ends.
    """
    entry = np.array([0.0, 2.0 * float(np.log(max(2, gained.size)))])
    path = likeliest_states(np.column_stack([gained, np.zeros_like(gained)]), entry)
    edges = np.flatnonzero(np.diff(np.concatenate([[0], (path == 1).astype(np.int8), [0]])))
    return [
        (int(a), int(b))
        for a, b in zip(edges[::2], edges[1::2], strict=True)
        if b - a >= LEAST_HOLE
    ]


def standing(places: Sequence[int], gained: Sequence[float], tried: float) -> list[bool]:
    """Which stretches are believed: their places by all that is found there, each by its own.

    places: a number for each stretch, the same where the place is. tried: takes times lags. Where
    its place is believed a stretch pays only for where in the bounce it might have been.
    """
    total: dict[int, float] = {}
    for place, each in zip(places, gained, strict=True):
        total[place] = total.get(place, 0.0) + max(0.0, each)
    return [
        total[place] > price(tried) and each > price(1.0)
        for place, each in zip(places, gained, strict=True)
    ]
