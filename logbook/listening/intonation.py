"""How a take is tuned, and how sure that is: as a whole, sliding, or one string beside the others.

The peaks of a recording's spectra (see tuning) vote note by note. Whether there is a tuning at all
is one likelihood ratio: every semitone in which peaks lie has one vote, however often it is struck,
for lying where the others lie on the circle of 100 cents, against lying anywhere. Drums and noise
have frequencies too, but these do not agree.

How sure the offset is comes from leaving out stretches of the take, and notes, one at a time (the
jackknife). A slide is a straight line through each note's own deviations, so that a string that is
out and comes in late is none. What is left of the steady notes then says whether they lie apart.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from logbook.listening.onsets import Floats
from logbook.listening.signals import Samples
from logbook.listening.tuning import Peaks, spectral_peaks, tuning_of

Whole = npt.NDArray[np.intp]

LOWEST_HZ = 38.0  # a bass without its lowest partials would be heard by its fifth ones
ODD_PARTIALS = (5, 7, 10, 11, 13)  # more than four cents from equal temperament
PARTIAL_CENTS = 9.0
FIFTH_CENTS, FIFTH_NEAR_CENTS = -13.7, 6.0
HIGHEST_NOTE = 7  # from A4: what lies higher is mostly overtones
ELSEWHERE = 0.15  # part of a tuned recording's peaks that lie anywhere
WIDTHS_CENTS = (4.0, 10.0)
FULL_VOTE = 0.05  # of the strongest semitone's strength
LEAST_EVIDENCE = 6.0
MAINS_HZ, MAINS_NEAR_HZ, MAINS_SHARE = (50.0, 60.0), 0.4, 0.8
NEAR_CENTS = 30.0
BLOCK_SECONDS = 2.0
LEAST_ERROR_CENTS = 0.4  # what the peaks' own places and a string's stiffness are good for
UNCLEAR = 1.5  # power of the share that is clear by which the rest blurs the mean
SLIDE_CENTS, SLIDE_TIMES = 4.0, 4.0  # least slide, and against its standard error
STEADY_CENTS = 6.0  # how far a note's peaks may scatter for it to say where its string stands
LEAST_PEAKS, LEAST_NOTES, LEAST_GROUP = 6, 5, 0.06
CLEAR_ENOUGH = 0.7
MOSTLY = 0.6  # of what sounds must be such notes
APART_CENTS, MOST_APART_CENTS = (
    6.5,
    25.0,
)  # strings that were tuned together and frets lie within that
TOGETHER = 0.3  # of the distance of two groups: how far each may spread
FRETS_OF_A_STRING = 4


@dataclass(frozen=True, kw_only=True, slots=True)
class Intonation:
    """Where a recording stands from an A4.

    cents: of the whole, -50 to 50; error_cents: its standard error. from_cents, to_cents: at its
    beginning and end where it slides, else None. apart_cents: how far notes lie from the others
    where some do (positive: they are sharp), else 0; apart_notes: their MIDI numbers;
    apart_string: index of the one string that explains them, None where none was known or does.
    clear: 0 to 1, as in `TuningReading`.
    """

    cents: float
    error_cents: float
    a4_hz: float
    clear: float
    from_cents: float | None = None
    to_cents: float | None = None
    apart_cents: float = 0.0
    apart_notes: tuple[int, ...] = ()
    apart_string: int | None = None

    @property
    def slides(self) -> bool:
        """Whether the tuning moves through the take."""
        return self.from_cents is not None


def read_intonation(
    samples: Samples,
    rate: int,
    a4_hz: float = 440.0,
    *,
    open_strings: Sequence[int] = (),
    capo: int = 0,
) -> Intonation | None:
    """The tuning of a recording at `rate` hertz; None where it has none: drums, noise, hum.

    open_strings: MIDI numbers, low to high, where they are known; then a string that is out is
    named where one alone explains what lies apart.
    """
    peaks = spectral_peaks(samples, rate, LOWEST_HZ)
    read = tuning_of(peaks, a4_hz)
    if read is None or _is_hum(peaks) or evidence(peaks, a4_hz) < LEAST_EVIDENCE:
        return None
    kept = _without_odd_partials(peaks)
    cents = 1200.0 * np.log2(kept.hertz / a4_hz) - read.cents
    note = np.round(cents / 100.0).astype(np.intp)
    away = cents - 100.0 * note
    near = np.abs(away) < NEAR_CENTS
    if np.sum(near) < LEAST_PEAKS:
        return None
    note, away = note[near], away[near]
    times, weights = kept.seconds[near], kept.strengths[near]
    slope, slope_error = _slope(times, away, weights, note)
    middle = 0.5 * float(times.min() + times.max())
    whole = float(np.ptp(times))
    change = slope * whole
    slides = abs(change) > max(SLIDE_CENTS, SLIDE_TIMES * slope_error * whole)
    if not slides:
        slope = 0.0
    flat = away - slope * (times - middle)
    use = np.abs(flat - _middle(flat, weights)) < 0.5 * NEAR_CENTS
    blocks = np.floor(times / BLOCK_SECONDS).astype(np.intp)
    apart, notes = 0.0, np.empty(0, dtype=np.intp)
    if read.clear >= CLEAR_ENOUGH:
        apart, notes = _apart(flat, weights, note)
    midi = tuple(int(number) + 69 for number in notes)
    # The strings that agree are the take's tuning, not their mean with the one that is out.
    use &= ~np.isin(note, notes)
    centre = float(np.average(flat[use], weights=weights[use]))
    error = max(
        _jackknife(flat[use], weights[use], blocks[use]),
        _jackknife(flat[use], weights[use], note[use]),
    )
    error = max(error / max(read.clear, 0.1) ** UNCLEAR, LEAST_ERROR_CENTS)
    at = _on_circle(read.cents + centre)
    return Intonation(
        cents=at,
        error_cents=error,
        a4_hz=a4_hz * 2 ** (at / 1200.0),
        clear=read.clear,
        from_cents=at - 0.5 * change if slides else None,
        to_cents=at + 0.5 * change if slides else None,
        apart_cents=apart,
        apart_notes=midi,
        apart_string=_string_of(midi, note + 69, weights, open_strings, capo) if apart else None,
    )


def evidence(peaks: Peaks, a4_hz: float) -> float:
    """Logarithm of how much likelier peaks are those of a tuned sound than of any other."""
    if peaks.hertz.size < LEAST_PEAKS:
        return 0.0
    kept = _without_odd_partials(peaks)
    cents = 1200.0 * np.log2(kept.hertz / a4_hz)
    best = -np.inf
    for width in WIDTHS_CENTS:
        highest = 100.0 / (width * np.sqrt(2 * np.pi))
        for centre in np.arange(-50.0, 50.0, 2.0):
            note = np.round((cents - centre) / 100.0).astype(np.intp)
            away = cents - centre - 100.0 * note
            ratio = (1 - ELSEWHERE) * highest * np.exp(-0.5 * (away / width) ** 2) + ELSEWHERE
            place = note - note.min()
            strength = np.bincount(place, kept.strengths)
            mean = np.bincount(place, kept.strengths * ratio)[strength > 0]
            strength = strength[strength > 0]
            vote = np.minimum(1.0, strength / (FULL_VOTE * np.max(strength)))
            best = max(best, float(vote @ np.log(mean / strength)) - np.log(100.0 / width))
    return best


def _is_hum(peaks: Peaks) -> bool:
    """Whether nearly all that sounds is the mains and its overtones."""
    total = float(np.sum(peaks.strengths)) + 1e-20
    for mains in MAINS_HZ:
        away = np.abs(peaks.hertz - mains * np.round(peaks.hertz / mains))
        if float(np.sum(peaks.strengths[away < MAINS_NEAR_HZ])) > MAINS_SHARE * total:
            return True
    return False


def _without_odd_partials(peaks: Peaks) -> Peaks:
    """Peaks without those that are a fifth, seventh ... partial of a lower one of their window."""
    keep = np.ones(peaks.hertz.size, dtype=np.bool_)
    edges = np.flatnonzero(np.diff(peaks.seconds, prepend=-1.0, append=np.inf))
    for first, last in pairwise(edges):
        hertz = peaks.hertz[first:last]
        above = 1200.0 * np.log2(hertz[:, None] / hertz[None, :])
        for times in ODD_PARTIALS:
            hit = np.abs(above - 1200.0 * np.log2(times)) < PARTIAL_CENTS
            keep[first:last] &= ~np.any(hit, axis=1)
    return Peaks(*(each[keep] for each in peaks))


def _slope(times: Floats, away: Floats, weights: Floats, note: Whole) -> tuple[float, float]:
    """Cents a second within the notes, and its standard error, by leaving out blocks."""
    place = note - note.min()
    total = np.bincount(place, weights) + 1e-20
    x = times - (np.bincount(place, weights * times) / total)[place]
    y = away - (np.bincount(place, weights * away) / total)[place]
    blocks = np.floor(times / BLOCK_SECONDS).astype(np.intp)
    up, down = np.bincount(blocks, weights * x * y), np.bincount(blocks, weights * x * x)
    if np.sum(down) <= 0.0 or np.count_nonzero(down) < 4:
        return 0.0, np.inf
    slope = float(np.sum(up) / np.sum(down))
    without = (np.sum(up) - up[down > 0]) / np.maximum(np.sum(down) - down[down > 0], 1e-20)
    count = without.size
    return slope, float(np.sqrt((count - 1) / count * np.sum((without - np.mean(without)) ** 2)))


def _jackknife(values: Floats, weights: Floats, groups: Whole) -> float:
    """Standard error of a weighted mean, by leaving out one group at a time; 0 for one group."""
    place = groups - groups.min()
    total, up = np.bincount(place, weights), np.bincount(place, weights * values)
    up, total = up[total > 0], total[total > 0]
    if total.size < 2:
        return 0.0
    without = (np.sum(up) - up) / (np.sum(total) - total)
    count = total.size
    return float(np.sqrt((count - 1) / count * np.sum((without - np.mean(without)) ** 2)))


def _apart(flat: Floats, weights: Floats, note: Whole) -> tuple[float, Whole]:
    """How far the smaller of two groups of steady notes lies from the larger, and its notes."""
    found: list[tuple[int, float, float]] = []
    for number in np.unique(note):
        mine = note == number
        middle = _middle(flat[mine], weights[mine])
        scatter = 1.5 * _middle(np.abs(flat[mine] - middle), weights[mine])
        if np.sum(mine) < LEAST_PEAKS or scatter > STEADY_CENTS:
            continue
        found.append((int(number), middle, float(np.sum(weights[mine]))))
    none = 0.0, np.empty(0, dtype=np.intp)
    steady = sum(each[2] for each in found)
    if len(found) < LEAST_NOTES or steady < MOSTLY * float(np.sum(weights)):
        return none
    lowest = {each[0] for each in found}
    found = [
        each
        for each in found
        if each[0] <= HIGHEST_NOTE and not _is_fifth_partial(each[0], each[1], lowest)
    ]
    if len(found) < LEAST_NOTES:
        return none
    found.sort(key=lambda each: each[1])
    numbers = np.array([each[0] for each in found], dtype=np.intp)
    middles = np.array([each[1] for each in found])
    loud = np.array([each[2] for each in found])
    best, least = none, np.inf
    for cut in range(1, middles.size):
        groups = slice(0, cut), slice(cut, middles.size)
        means = [float(np.average(middles[g], weights=loud[g])) for g in groups]
        left = sum(
            float(loud[g] @ (middles[g] - mean) ** 2) for g, mean in zip(groups, means, strict=True)
        )
        shares = [float(np.sum(loud[g]) / np.sum(loud)) for g in groups]
        distance = means[1] - means[0]
        spread = np.sqrt(left / np.sum(loud))
        if left >= least or min(shares) < LEAST_GROUP:
            continue
        if min(cut, middles.size - cut) < 2 and min(shares) < 2 * LEAST_GROUP:
            continue
        best, least = none, left
        if APART_CENTS <= distance <= MOST_APART_CENTS and spread < TOGETHER * distance:
            smaller = 0 if shares[0] < shares[1] else 1
            best = (-distance, numbers[:cut]) if smaller == 0 else (distance, numbers[cut:])
    return best


def _is_fifth_partial(number: int, away: float, others: set[int]) -> bool:
    """Whether a note is the fifth partial of a lower one, whose fundamental is heard elsewhere."""
    return abs(away - FIFTH_CENTS) < FIFTH_NEAR_CENTS and number - 28 in others


def _string_of(
    apart: Sequence[int], note: Whole, weights: Floats, open_strings: Sequence[int], capo: int
) -> int | None:
    """The string on which all that lies apart can be played near the nut, and little else."""
    opens = [number + capo for number in open_strings]
    if not opens:
        return None
    votes = np.zeros(len(opens))
    for number in np.unique(note):
        strings = [s for s, low in enumerate(opens) if low <= number <= low + FRETS_OF_A_STRING]
        if strings:
            heard = float(np.sum(weights[note == number]))
            votes[max(strings)] += heard if number in apart else -heard
    best = int(np.argmax(votes))
    return best if votes[best] > 0 and np.sum(votes > 0) == 1 else None


def _middle(values: Floats, weights: Floats) -> float:
    """The weighted median."""
    order = np.argsort(values)
    total = np.cumsum(weights[order])
    return float(values[order][int(np.searchsorted(total, 0.5 * total[-1]))])


def _on_circle(cents: float) -> float:
    return (cents + 50.0) % 100.0 - 50.0
