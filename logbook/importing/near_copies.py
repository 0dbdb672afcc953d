"""Files that hold the same sound in other bytes: louder, cut shorter, lossy, at another rate.

Digests differ there. Two files are told to be one where a stretch of the one, moved and made as
loud, leaves next to nothing of the other, at two places: two microphones of one take never do.
At two sample rates what the lower one holds is compared, and between samples too.
Only loose files of a length like another's are decoded; without the extra that decodes, none is.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from logbook.importing.file_index import FileEntry

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    Samples = npt.NDArray[np.float32]

_ALIKE_LENGTH = 0.1  # of the longer file is what may be cut off
_CUT_S = 10.0  # and so much in any case
_USUAL_HZ = 48_000  # where nobody said the rate
_MOST = 6  # files that one is held against
_DECODED = 80  # files that are decoded at most
_LONGEST_S = 600.0
_SHORTEST_S = 0.5
_STEP_S = 0.02
_STRETCH_S = 0.25
_LEFT_DB = -24.0  # of a file, when the other is taken away: a lossy form leaves about that
_CLEAR_DB = 15.0  # how much more must be left beside the place where it fits
_NOTHING = 1e-4  # of a stretch's energy is as good as none
_BETWEEN = 8  # places looked at from one sample to the next, and again between two of those
_MARGIN = 64  # samples around a stretch that is moved by less than one
_BESIDE = 8  # samples that are still the same place
_ENVELOPES_FIT = 0.8
_PLACES, _MOST_PLACES = 2, 8  # where both have to fit clearly, and how many are looked at


@dataclass(frozen=True, kw_only=True)
class NearCopy:
    """What a file is of another one: how much louder in decibels, how much later it begins, s.

    `rates_hz` are its own sample rate and the other's.
    """

    path: str
    gain_db: float
    later_s: float
    rates_hz: tuple[int, int] = (0, 0)

    def __str__(self) -> str:
        words = []
        own, other = self.rates_hz
        if own != other:
            words.append(f"at {own / 1000:g} kHz for {other / 1000:g}")
        if abs(self.gain_db) >= 0.1:
            words.append(f"{abs(self.gain_db):.1f} dB {'louder' if self.gain_db > 0 else 'softer'}")
        if abs(self.later_s) >= 0.001:
            where = "begins later" if self.later_s > 0 else "begins earlier"
            words.append(f"{where} by {abs(self.later_s):.2f} s")
        return " and ".join(words) or "in another form"


class _Fit(NamedTuple):
    fits: bool
    clear: bool
    gain: float
    offset: int


@dataclass(frozen=True)
class _Sound:
    samples: Samples
    envelope: Samples
    rate_hz: int


class NearCopies:
    """Finds files that hold the same sound as another; each is decoded at most once."""

    def __init__(self) -> None:
        self._decoded: dict[str, _Sound | None] = {}

    def find(self, entry: FileEntry, among: Sequence[FileEntry]) -> NearCopy | None:
        """The one of some files that a file is nearly a copy of, None for none."""
        lasts = _seconds(entry)
        reach = max(_ALIKE_LENGTH * lasts, _CUT_S)
        near = [
            other
            for other in among
            if other is not entry and other.place and abs(_seconds(other) - lasts) <= reach
        ]
        near.sort(key=lambda other: abs(_seconds(other) - lasts))
        for other in near[:_MOST]:
            one, two = self._sound(entry.place), self._sound(other.place)
            if one is None:
                return None
            found = _held_against(one, two) if two is not None else None
            if two is not None and found is not None:
                rates = one.rate_hz, two.rate_hz
                return NearCopy(path=other.path, gain_db=found[0], later_s=found[1], rates_hz=rates)
        return None

    def _sound(self, place: str) -> _Sound | None:
        if place not in self._decoded:
            if len(self._decoded) >= _DECODED:
                return None
            self._decoded[place] = _decoded(Path(place))
        return self._decoded[place]


def _seconds(entry: FileEntry) -> float:
    return (entry.frames or 0) / (entry.rate_hz or _USUAL_HZ)


def _decoded(path: Path) -> _Sound | None:
    """The sound of a file, as one channel; None where it cannot be had."""
    try:
        from logbook.errors import LogbookError
        from logbook.listening.decoding import decode
    except ImportError:
        return None
    try:
        heard = decode(path)
    except LogbookError:
        return None
    return _sound_of(heard.samples[: int(_LONGEST_S * heard.rate)], heard.rate)


def _sound_of(samples: Samples, rate: int) -> _Sound | None:
    """Samples with their envelope; None where they are too short or silent."""
    import numpy as np

    if len(samples) < _SHORTEST_S * rate or not float(np.max(np.abs(samples))):
        return None
    step = max(1, int(_STEP_S * rate))
    count = len(samples) // step
    power = np.square(samples[: count * step]).reshape(count, step).mean(axis=1)
    return _Sound(samples, np.log10(power + 1e-9).astype(np.float32), rate)


def _held_against(one: _Sound, two: _Sound) -> tuple[float, float] | None:
    """How much louder the one is than the other, dB, and how much later it begins, s.

    At no place may they differ, and at two at least they have to fit nowhere beside as well.
    """
    import numpy as np

    lag, fit = _lag(one.envelope, two.envelope)
    if fit < _ENVELOPES_FIT:
        return None
    fine = one.rate_hz != two.rate_hz
    if fine:
        same = _at_one_rate(one, two)
        if same is None:
            return None
        one, two = same
    step = max(1, int(_STEP_S * one.rate_hz))
    size = int(_STRETCH_S * one.rate_hz)
    found: list[_Fit] = []
    loud = np.argsort(one.envelope)[::-1]
    for at in _apart(loud, len(one.samples), step, size):
        if not 0 <= at - lag * step <= len(two.samples) - size:
            continue
        exact = _exact(one.samples, two.samples, at, at - lag * step, size, 3 * step, fine)
        if not exact.fits and fine and found:
            # Between samples a steady tone may fit best at another period than the right one.
            if not _fits_there(one.samples, two.samples, at, at + found[0].offset, size):
                return None
        elif not exact.fits:
            return None
        if exact.fits and exact.clear:
            found.append(exact)
    if len(found) < _PLACES or max(e.offset for e in found) - min(e.offset for e in found) > 2:
        return None
    gain = sum(each.gain for each in found) / len(found)
    return 20 * math.log10(gain), found[0].offset / one.rate_hz


def _at_one_rate(one: _Sound, two: _Sound) -> tuple[_Sound, _Sound] | None:
    """Both sounds below the lower of their rates, where a change of rate leaves its mark."""
    from logbook.listening.signals import resampled

    rate = 4 * min(one.rate_hz, two.rate_hz) // 5
    made = [_sound_of(resampled(each.samples, each.rate_hz, rate), rate) for each in (one, two)]
    return (made[0], made[1]) if made[0] and made[1] else None


def _apart(loud: Any, length: int, step: int, size: int) -> list[int]:
    """The loudest places that have room, well away from each other."""
    places: list[int] = []
    for index in loud:
        at = int(index) * step
        if at + size <= length and all(abs(at - other) > size for other in places):
            places.append(at)
            if len(places) == _MOST_PLACES:
                break
    return places


def _lag(one: Samples, two: Samples) -> tuple[int, float]:
    """By how many steps the one's envelope is later than the other's, and how well both fit."""
    import numpy as np

    a, b = one - one.mean(), two - two.mean()
    size = 1 << (len(a) + len(b) - 1).bit_length()
    cross = np.fft.irfft(np.fft.rfft(a, size) * np.conj(np.fft.rfft(b, size)), size)
    best = int(np.argmax(cross))
    lag = best - size if best > size // 2 else best
    start, end = max(0, lag), min(len(a), len(b) + lag)
    if end - start < 10:
        return lag, 0.0
    x, y = a[start:end], b[start - lag : end - lag]
    scale = float(np.sqrt(np.sum(x * x) * np.sum(y * y)))
    return lag, float(np.sum(x * y)) / scale if scale else 1.0


def _exact(
    one: Samples, two: Samples, at: int, near: int, size: int, reach: int, fine: bool
) -> _Fit:
    """How a stretch of the one fits into the other around a place.

    `fine` looks between the samples too: a change of rate may move a sound by less than one.
    A hum or a test tone fits a little beside as well, and is not clear.
    """
    import numpy as np

    start, end = max(0, near - reach), min(len(two), near + size + reach)
    stretch, around = one[at : at + size].astype(np.float64), two[start:end].astype(np.float64)
    own = float(np.dot(stretch, stretch))
    length = 1 << (len(around) + size).bit_length()
    product = np.fft.rfft(around, length) * np.conj(np.fft.rfft(stretch, length))
    cross = np.fft.irfft(product, length)[: len(around) - size + 1]
    sums = np.concatenate(([0.0], np.cumsum(np.square(around))))
    energy = np.maximum(sums[size:] - sums[:-size], 1e-9)
    left = np.maximum(own - np.square(cross) / energy, 0.0)  # of the stretch, at each place
    found: list[tuple[float, float, int]] = []
    for _ in range(2):
        best = int(np.argmin(left))
        told = abs(float(cross[best] / energy[best])), float(left[best])
        found.append((*(_between(stretch, around, best, told) if fine else told), best))
        left[max(0, best - _BESIDE) : best + _BESIDE + 1] = own
    (gain, rest, best), (_, more, _) = sorted(found, key=lambda each: each[1])
    clear = more > rest * 10 ** (_CLEAR_DB / 10) + own * _NOTHING
    return _Fit(rest <= own * 10 ** (_LEFT_DB / 10), clear, gain, start + best - at)


def _fits_there(one: Samples, two: Samples, at: int, there: int, size: int) -> bool:
    """Whether a stretch of the one fits at a place of the other, give or take a sample."""
    import numpy as np

    start, end = there - _MARGIN - 1, there + size + _MARGIN + 1
    if start < 0 or end > len(two):
        return True  # at the very ends nothing is told
    stretch, around = one[at : at + size].astype(np.float64), two[start:end].astype(np.float64)
    own = float(np.dot(stretch, stretch))
    rest = min(_between(stretch, around, _MARGIN + 1 + by, (0.0, own))[1] for by in (-1, 0, 1))
    return rest <= own * 10 ** (_LEFT_DB / 10)


def _between(
    stretch: Any, around: Any, best: int, found: tuple[float, float]
) -> tuple[float, float]:
    """Gain and what is left of a stretch where it fits best less than a sample beside a place."""
    import numpy as np

    start, end = best - _MARGIN, best + len(stretch) + _MARGIN
    if start < 0 or end > len(around):
        return found
    turns = np.fft.rfftfreq(end - start)
    spectrum = np.fft.rfft(around[start:end])
    own = float(np.dot(stretch, stretch))

    def fit(by: float) -> tuple[float, float]:
        moved = np.fft.irfft(spectrum * np.exp(2j * np.pi * turns * by), end - start)
        there = moved[_MARGIN:-_MARGIN]
        energy = max(float(np.dot(there, there)), 1e-9)
        cross = float(np.dot(stretch, there))
        return abs(cross) / energy, own - cross * cross / energy

    at, width = 0.0, 1.0
    for _ in range(2):
        places = [at + width * part / _BETWEEN for part in range(1 - _BETWEEN, _BETWEEN)]
        at = min(places, key=lambda by: fit(by)[1])
        width /= _BETWEEN
    return min(found, fit(at), key=lambda each: each[1])
