"""What the picking hand does: strokes on the grid of the bar, and what kind each is.

* Grid and swing: the grid with the fewest steps whose places the onsets keep to. A swung grid's
  off-beats come late all alike; how late gives the ratio of the pair (see `GRIDS`).
* A muted hit is gone before a string would be: after `DECAY_SECONDS` it has fallen further, the
  strings ring less than before it, and its spectrum is flat as that of noise is.
* The strings of a stroke are those of the chord's notes whose first partials rise there.
* The strings' order is the time at which each rises, in a band about one of its partials that no
  other string's come near; a line through them that is steep for its scatter gives the direction.
* An accent is louder than the part's own strokes of its kind.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

import numpy as np
from scipy import fft

from logbook.listening.decoding import DecodedSound
from logbook.listening.following import HeardBeats, LaidBar
from logbook.listening.onsets import Floats
from logbook.listening.signals import Samples, resampled

AUDIO_RATE = 11_025
GRIDS = tuple(
    (Fraction(1, steps), swung)
    for steps, swung in ((4, False), (8, False), (8, True), (12, False), (16, False), (16, True))
)
SWING_LEAST, SWING_MOST = 1.2, 3.2
SCATTER_S = 0.014  # of strokes about their place
STEP_COST = 0.30  # of each doubling of the grid
OFF_GRID = 9.0  # the most one onset may cost
CLEAR, LOUD, FAINT = 0.12, 0.5, 0.02  # weights of onsets, about 1 for a usual stroke
SELDOM, OFTEN = 0.3, 0.45  # share of the bars that have a stroke on a step
NEAR_TIMES = 3.0  # the scatter within which an onset is a step's own
DECAY_SECONDS = 0.09
DEAD = 1.0  # how much like a muted hit a stroke must be; see _Listener.stroke
ACCENT_DB = 3.0
STRUCK_SHARE, ALONE_SHARE = 0.10, 0.55  # of the strongest string's rise, of a strum and else
MANY = 2.2  # strings that share the rise of a strum
ORDER_WINDOW_S = 0.030


@dataclass(frozen=True, kw_only=True, slots=True)
class HeardStroke:
    """One stroke of the hand.

    bar and step (from 0) on the grid; at: seconds in the file; off_ms: how late it is. kind: one
    of "strum", "strings" (one or two of them), "muted". strings: places in the chord's notes that
    were struck, 0 the lowest, where a chord is known. direction: "down", "up", or "" where the
    order is not heard. level_db: how loud it is, against the part's other strokes of its kind.
    """

    bar: int
    step: int
    at: float
    off_ms: float
    kind: str
    strings: tuple[int, ...]
    direction: str
    level_db: float


@dataclass(frozen=True, kw_only=True, slots=True)
class HeardHand:
    """What the picking hand does over some bars.

    grid: a step as a fraction of a whole note; swing: first over second of two steps, 1.0 for
    straight. strokes in order of time. on_grid: share of the onsets that keep to the grid.
    """

    grid: Fraction
    swing: float
    strokes: tuple[HeardStroke, ...]
    on_grid: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Sounding:
    """The notes (MIDI, low to high) that the hand has under it from `start` to `end` seconds."""

    start: float
    end: float
    notes: tuple[int, ...]


def hear_strokes(
    sound: DecodedSound,
    heard: HeardBeats,
    bars: Sequence[LaidBar],
    *,
    chords: Sequence[Sounding] = (),
    grid: Fraction | None = None,
    cents: float = 0.0,
) -> HeardHand:
    """Hear the strokes of some bars.

    chords: what sounds when, as far as it is known. grid: a fraction of a whole note, None to
    find it. cents: the recording's tuning against A4 = 440 Hz.
    """
    where = _in_bars(heard.times, bars)
    inside = [n for n, (row, _) in enumerate(where) if row >= 0]
    if not inside:
        return HeardHand(grid=grid or Fraction(1, 8), swing=1.0, strokes=(), on_grid=0.0)
    times, weights = heard.times[inside], heard.weights[inside]
    rows = [where[n][0] for n in inside]
    places = np.array([where[n][1] for n in inside])
    seconds_a_whole = float(
        np.median([(bar.end - bar.start) / float(bar.meter.bar_length) for bar in bars])
    )
    clear = weights > CLEAR
    step, swing = _grid_of(places[clear], weights[clear], seconds_a_whole, grid)
    slots: dict[tuple[int, int], int] = {}
    kept = 0
    for n in np.argsort(-weights):
        row, place = rows[n], float(places[n])
        index, off = _slot(place, float(step), swing)
        steps = round(float(bars[row].meter.bar_length / step))
        if index >= steps:
            row, index = row + 1, index - steps
        near = abs(off) * seconds_a_whole < NEAR_TIMES * SCATTER_S
        if row >= len(bars) or not (near or weights[n] > LOUD):
            continue
        kept += near and bool(clear[n])
        slots.setdefault((row, index), int(n))
    slots = _believed(slots, weights, len(bars))
    listener = _Listener(sound, cents)
    raw = []
    order = sorted(slots.items(), key=lambda item: times[item[1]])
    for number, ((row, index), n) in enumerate(order):
        after = times[order[number + 1][1]] if number + 1 < len(order) else times[n] + 1.0
        _, off = _slot(float(places[n]), float(step), swing)
        notes = _notes_at(chords, float(times[n]))
        said = listener.stroke(bars[row].bar, index, float(times[n]), float(after), notes)
        raw.append((*said, 1000.0 * off * seconds_a_whole))
    return HeardHand(
        grid=step, swing=swing, strokes=_levelled(raw), on_grid=kept / max(1, int(np.sum(clear)))
    )


def _believed(
    slots: dict[tuple[int, int], int], weights: Floats, bars: int
) -> dict[tuple[int, int], int]:
    """The strokes that are clear, or that stand where most bars have one."""
    shares: dict[int, float] = {}
    for (_, index), n in slots.items():
        shares[index] = shares.get(index, 0.0) + (weights[n] > CLEAR) / bars
    return {
        (row, index): n
        for (row, index), n in slots.items()
        if (weights[n] > CLEAR and (shares[index] >= SELDOM or weights[n] > LOUD))
        or (weights[n] > FAINT and shares[index] >= OFTEN)
    }


def _in_bars(times: Floats, bars: Sequence[LaidBar]) -> list[tuple[int, float]]:
    """For each time the row of its bar (-1: none) and its place there, in whole notes."""
    out = []
    for time in times:
        found = (-1, 0.0)
        for row, bar in enumerate(bars):
            early = 0.06 * (bar.end - bar.start) / max(1.0, 4 * float(bar.meter.bar_length))
            if bar.start - (early if row == 0 else 0.0) <= time < bar.end:
                length = float(bar.meter.bar_length)
                found = (row, (time - bar.start) / (bar.end - bar.start) * length)
                break
        out.append(found)
    return out


def _grid_of(
    places: Floats, strengths: Floats, seconds_a_whole: float, given: Fraction | None
) -> tuple[Fraction, float]:
    """The grid and swing the places keep to best."""
    best: tuple[float, Fraction, float] | None = None
    weight = np.minimum(strengths, 1.0) ** 1.5
    for step, swung in GRIDS:
        if given is not None and step != given:
            continue
        swing = _swing_of(places, weight, float(step), seconds_a_whole) if swung else 1.0
        if swung and not SWING_LEAST <= swing <= SWING_MOST:
            continue
        away = np.array([_slot(float(p), float(step), swing)[1] for p in places])
        costs = np.minimum(OFF_GRID, (away * seconds_a_whole / SCATTER_S) ** 2)
        cost = float(np.average(costs, weights=weight))
        cost += STEP_COST * float(np.log2(4 / float(step))) * 2 + (0.3 if swung else 0.0)
        cost += 0.5 if step.denominator % 3 == 0 else 0.0
        if best is None or cost < best[0]:
            best = (cost, step, swing)
    if best is None:
        return given or Fraction(1, 8), 1.0
    return best[1], best[2]


def _swing_of(places: Floats, weight: Floats, step: float, seconds_a_whole: float) -> float:
    """First over second of a pair of steps, from where the second ones fall."""
    share = (places % (2 * step)) / (2 * step)
    off = (share > 0.42) & (share < 0.8)
    if np.sum(off) < 3:
        return 1.0
    late = float(np.median(share[off]))
    scatter = float(np.median(np.abs(share[off] - late))) * 2 * step * seconds_a_whole
    if scatter > 2 * SCATTER_S:
        return 1.0
    return late / (1.0 - late)


def _slot(place: float, step: float, swing: float) -> tuple[int, float]:
    """The step nearest to a place in the bar, and how far after it the place is."""
    pair = int(place // (2 * step))
    offbeat = 2 * step * swing / (1.0 + swing)
    around = [
        (2 * p + odd, 2 * p * step + odd * offbeat) for p in (pair, pair + 1) for odd in (0, 1)
    ]
    index, start = min(around, key=lambda one: abs(one[1] - place))
    return index, place - start


def _notes_at(chords: Sequence[Sounding], time: float) -> tuple[int, ...]:
    # A chord struck a touch early is the coming one.
    for chord in chords:
        if chord.start - 0.05 <= time < chord.end - 0.05:
            return chord.notes
    return ()


class _Listener:
    """Hears single strokes of one recording."""

    def __init__(self, sound: DecodedSound, cents: float) -> None:
        self.samples: Samples = resampled(sound.samples, sound.rate, AUDIO_RATE)
        self.tune = 2 ** (cents / 1200)

    def power(self, start: float, length: float) -> float:
        first = max(0, round(start * AUDIO_RATE))
        part = self.samples[first : first + max(8, round(length * AUDIO_RATE))]
        return float(np.mean(part.astype(np.float64) ** 2)) if part.size else 0.0

    def stroke(
        self, bar: int, step: int, at: float, after: float, notes: tuple[int, ...]
    ) -> tuple[int, int, float, str, tuple[int, ...], str, float]:
        """Bar, step, time, kind, strings, direction and level of a stroke."""
        before = self.power(at - 0.040, 0.032)
        peak = max(self.power(at + s, 0.02) for s in (0.002, 0.012, 0.022, 0.032))
        room = min(DECAY_SECONDS, max(0.045, after - at - 0.02))
        tail = self.power(at + room - 0.01, 0.03)
        level = 10 * np.log10(max(peak - 0.5 * before, 1e-12))
        fall = 10 * np.log10((peak + 1e-12) / (tail + 1e-12))
        gain = 10 * np.log10((tail + 1e-12) / (before + 1e-12))
        dead = (fall - 2.5) / 3.0 + (self.flatness(at) - 0.18) / 0.1
        dead += float(np.clip((-gain - 1.0) / 3.0, -1.0, 2.0))
        if dead > DEAD:
            return bar, step, at, "muted", (), "", level
        rises = self.rises(at, after, notes)
        pitched = float(np.max(rises, initial=0.0))
        if notes:
            # How many strings share the rise: the square of the sum over the sum of squares.
            many = float(np.sum(rises)) ** 2 / (float(np.sum(rises**2)) + 1e-20)
            strummed = len(notes) > 2 and many > min(MANY, 0.7 * len(notes))
            kind = "strum" if strummed else "strings"
            least = STRUCK_SHARE if kind == "strum" else ALONE_SHARE
            struck = tuple(int(n) for n in np.flatnonzero(rises > least * pitched))
        else:
            struck = ()
            kind = "strum" if self.spread(at) > 0.5 else "strings"
        direction = self.direction(at, notes, struck) if kind == "strum" else ""
        return bar, step, at, kind, struck, direction, level

    def spectrum(self, start: float, length: float, size: int = 4096) -> Floats:
        count = round(length * AUDIO_RATE)
        first = round(start * AUDIO_RATE)
        part = self.samples[max(0, first) : max(0, first) + count]
        if part.size < 16:
            return np.zeros(size // 2 + 1)
        return np.asarray(np.abs(fft.rfft(part * np.hanning(part.size), size)) / part.size)

    def flatness(self, at: float) -> float:
        """0 for a tone, towards 1 for noise, of the first moment of a stroke up to 3 kHz."""
        power = self.spectrum(at, 0.06, 1024)[3:280] ** 2 + 1e-16
        return float(np.exp(np.mean(np.log(power))) / np.mean(power))

    def rises(self, at: float, after: float, notes: tuple[int, ...]) -> Floats:
        """How much the first partials of each note rise at a stroke, least squares shared out."""
        if not notes:
            return np.zeros(0)
        length = float(np.clip(after - at - 0.005, 0.06, 0.11))
        new = self.spectrum(at + 0.012, length)
        old = self.spectrum(at - 0.004 - length, length)
        rise = np.maximum(new - 0.9 * old, 0.0)
        hz = 440.0 * self.tune * 2 ** ((np.array(notes) - 69) / 12)
        width = AUDIO_RATE / 4096
        columns = np.zeros((rise.size, len(notes)))
        spread = max(1.0, 1.6 / length / width / 2)
        bins = np.arange(rise.size)
        for n, base in enumerate(hz):
            for partial in range(1, 7):
                centre = base * partial / width
                if centre > rise.size - 4:
                    break
                shape = np.exp(-0.5 * ((bins - centre) / spread) ** 2)
                columns[:, n] += shape / partial**0.7
        top = round(2400 / width)
        low = round(0.8 * hz[0] / width)
        from scipy.optimize import nnls

        found, _ = nnls(columns[low:top], rise[low:top])
        return np.asarray(found, dtype=np.float64)

    def spread(self, at: float) -> float:
        """How widely a stroke's rise lies over the bands of an octave, 0 to 1."""
        rise = np.maximum(self.spectrum(at + 0.01, 0.1) - self.spectrum(at - 0.11, 0.1), 0.0)
        edges = np.round(80.0 * 2.0 ** np.arange(6) / (AUDIO_RATE / 4096)).astype(int)
        power = np.array([np.sum(rise[a:b] ** 2) for a, b in pairwise(edges)])
        share = power / (np.sum(power) + 1e-16)
        return float(-np.sum(share * np.log(share + 1e-12)) / np.log(share.size))

    def direction(self, at: float, notes: tuple[int, ...], struck: tuple[int, ...]) -> str:
        """Down or up, where the strings are heard to rise one after the other."""
        rows = [(n, rise) for n in struck if (rise := self._rise_time(at, notes, n)) is not None]
        if len(rows) < 3:
            return ""
        place = np.array([row[0] for row in rows], dtype=float)
        when = np.array([row[1] for row in rows])
        slope, start = np.polyfit(place, when, 1)
        left = when - start - slope * place
        scatter = float(np.sqrt(np.mean(left**2))) / np.sqrt(np.sum((place - place.mean()) ** 2))
        whole = abs(slope) * float(np.ptp(place))
        if whole < 0.004 or abs(slope) < 3.0 * scatter:
            return ""
        return "down" if slope > 0 else "up"

    def _rise_time(self, at: float, notes: tuple[int, ...], which: int) -> float | None:
        """When one string rises, seconds after `at`; None where no partial of it stands free."""
        hz = 440.0 * self.tune * 2 ** ((np.array(notes) - 69) / 12)
        own = np.arange(1, 9) * hz[which]
        others = np.outer(np.delete(hz, which), np.arange(1, 40)).ravel()
        apart = np.min(np.abs(own[:, None] - others), axis=1, initial=np.inf)
        apart[(own <= 250) | (own >= 4000)] = 0.0
        partial = int(np.argmax(apart)) + 1
        room = float(apart[partial - 1])
        if room < 30.0:
            return None
        first = round((at - 0.06) * AUDIO_RATE)
        count = round(0.16 * AUDIO_RATE)
        if first < 0 or first + count > self.samples.size:
            return None
        part = self.samples[first : first + count].astype(np.float64)
        turn = np.exp(-2j * np.pi * partial * hz[which] * np.arange(count) / AUDIO_RATE)
        size = round(float(np.clip(1.6 / room, 0.014, ORDER_WINDOW_S)) * AUDIO_RATE) | 1
        window = np.hanning(size)
        band = np.abs(np.convolve(part * turn, window / window.sum(), mode="same"))
        middle = round(0.06 * AUDIO_RATE)
        base = float(np.median(band[size // 2 : middle - size // 2]))
        reach = band[middle - round(0.02 * AUDIO_RATE) : middle + round(0.075 * AUDIO_RATE)]
        top = float(np.max(reach))
        if top < 2.0 * base:
            return None
        half = base + 0.5 * (top - base)
        above = int(np.argmax(reach > half))
        return (above - round(0.02 * AUDIO_RATE)) / AUDIO_RATE


def _levelled(
    raw: Sequence[tuple[int, int, float, str, tuple[int, ...], str, float, float]],
) -> tuple[HeardStroke, ...]:
    """The strokes, each one's level against the middle of its kind."""
    middle = {
        kind: float(np.median([one[6] for one in raw if one[3] == kind]))
        for kind in {one[3] for one in raw}
    }
    return tuple(
        HeardStroke(
            bar=bar,
            step=step,
            at=at,
            off_ms=off,
            kind=kind,
            strings=strings,
            direction=direction,
            level_db=float(level) - middle[kind],
        )
        for bar, step, at, kind, strings, direction, level, off in raw
    )
