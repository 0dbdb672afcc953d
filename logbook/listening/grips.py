"""Grips that a hand can hold, made from what each note's odds are.

The hand is tried at every place on the neck. There each string is left out, open, or held within
the hand's reach, and of all combinations the ones with the best sum of odds are kept, string by
string (a beam). A note that two strings share counts once. What is left is weighed by how usual
the grip is: how many strings sound, gaps between them, fingers, reach, what chord it is. Which
combinations are kept is common practice (no source): four frets to a hand below the fifth fret and
five from there on, four fingers, a barre over muted or higher strings.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

from logbook.listening.heard import LAST_FRET
from logbook.strings import fingering
from logbook.theory.kinds import all_kinds

Floats = npt.NDArray[np.float32]
Masks = npt.NDArray[np.uint64]
Frets = npt.NDArray[np.int8]

MUTED = -1
LAST_HELD = 20
MOST_PITCHES = 62
BEAM = 48
KEPT = 64
FINGERS = 4
SAME_NOTE = -0.7
LEAST = np.float32(-9.0)
NEVER = -1e6

MASK_ONE = np.uint64(1)


class Grips(NamedTuple):
    """Grips of one or more stretches: rows of `owner` (which stretch), `frets`, `masks`.

    frets: rows x strings, -1 not played. masks: the sounding pitches, bit n being the n-th of
    the pitches asked. usual: how usual each grip is (a logarithm, see `usualness`).
    """

    owner: npt.NDArray[np.int_]
    frets: Frets
    masks: Masks
    usual: Floats


def pitches_of(open_strings: Sequence[int], capo: int) -> npt.NDArray[np.int_]:
    """The MIDI numbers that can sound, from the lowest open string to the last fret there is."""
    low = min(open_strings) + capo
    high = max(open_strings) + LAST_FRET
    return np.arange(low, min(high, low + MOST_PITCHES - 1) + 1)


def masks_of(frets: Frets, open_strings: Sequence[int], capo: int, low: int) -> Masks:
    """The pitches that sound in each grip, as bits from pitch `low` on."""
    out = np.zeros(len(frets), dtype=np.uint64)
    for string, note in enumerate(open_strings):
        fret = frets[:, string].astype(np.int64)
        place = np.clip(note + np.maximum(capo, fret) - low, 0, MOST_PITCHES)
        bit = np.left_shift(MASK_ONE, place.astype(np.uint64))
        out |= np.where(fret == MUTED, np.uint64(0), bit)
    return out


def likely_grips(odds: Floats, open_strings: Sequence[int], capo: int) -> Grips:
    """The grips with the best odds in every stretch, at most KEPT sets of notes for each.

    odds: spans x pitches, the logarithm of the odds of each of `pitches_of`.
    """
    pitches = pitches_of(open_strings, capo)
    highest = min(max(LAST_HELD, capo + 12), LAST_FRET)
    every: list[tuple[Floats, Masks, Frets]] = []
    for place in range(capo + 1, max(capo + 2, highest - 2)):
        reach = 4 if place - capo < 5 else 5
        held = range(place, min(place + reach, highest + 1))
        every.append(_beam(odds, open_strings, capo, held, int(pitches[0])))
    score = np.concatenate([e[0] for e in every], axis=1)
    masks = np.concatenate([e[1] for e in every], axis=1)
    frets = np.concatenate([e[2] for e in every], axis=1)
    rows = []
    for span in range(len(odds)):
        rows.append(_chosen(span, score[span], masks[span], frets[span], open_strings, capo))
    return Grips(*(np.concatenate(column) for column in zip(*rows, strict=True)))


def _beam(
    odds: Floats, open_strings: Sequence[int], capo: int, held: range, low: int
) -> tuple[Floats, Masks, Frets]:
    """The best combinations of one place of the hand: spans x up to BEAM of each."""
    spans = len(odds)
    score = np.zeros((spans, 1), dtype=np.float32)
    masks = np.zeros((spans, 1), dtype=np.uint64)
    codes = np.zeros((spans, 1, len(open_strings)), dtype=np.int8)
    # Fingers down that may lie over the next string (a bit for each fret), and fingers used.
    down = np.zeros((spans, 1), dtype=np.int16)
    used = np.zeros((spans, 1), dtype=np.int16)
    for string, note in enumerate(open_strings):
        options = [f for f in (0, *held) if note + max(capo, f) - low < odds.shape[1]]
        places = np.array([note + max(capo, f) - low for f in options])
        bits = np.left_shift(MASK_ONE, places.astype(np.uint64))
        gain = np.broadcast_to(
            np.maximum(odds[:, None, places], LEAST), (spans, score.shape[1], places.size)
        )
        gain = np.where((masks[:, :, None] & bits) != 0, np.float32(SAME_NOTE), gain)
        relative = np.array([f - held.start + 1 if f else 0 for f in options], dtype=np.int16)
        finger = np.where(relative > 0, 1 << relative, 0).astype(np.int16)
        over = down[:, :, None] & ((1 << relative) * 2 - 1).astype(np.int16)
        new_used = used[:, :, None] + ((over & finger) != finger)
        gain = np.where(new_used > FINGERS, np.float32(NEVER), gain)
        score = _widened(score, score[:, :, None] + gain)
        masks = _widened(masks, masks[:, :, None] | bits)
        down, used = _widened(down, over | finger), _widened(used, new_used)
        count = min(BEAM, score.shape[1])
        best = np.argpartition(-score, count - 1, axis=1)[:, :count]
        score, masks = (
            np.take_along_axis(score, best, axis=1),
            np.take_along_axis(masks, best, axis=1),
        )
        down, used = (
            np.take_along_axis(down, best, axis=1),
            np.take_along_axis(used, best, axis=1),
        )
        parent, option = best // (places.size + 1), best % (places.size + 1)
        codes = np.take_along_axis(codes, parent[:, :, None], axis=1)
        codes[:, :, string] = np.array([MUTED, *options], dtype=np.int8)[option]
    return score, masks, codes


def _widened(left_out: npt.NDArray[Any], played: npt.NDArray[Any]) -> npt.NDArray[Any]:
    """What a string does to each combination: left out first, then each way to play it."""
    every = np.concatenate([left_out[:, :, None], played], axis=2)
    return every.reshape(len(every), -1)


def _chosen(
    span: int, score: Floats, masks: Masks, frets: Frets, open_strings: Sequence[int], capo: int
) -> tuple[npt.NDArray[np.int_], Frets, Masks, Floats]:
    """Of one stretch's combinations the best, one grip to a set of notes."""
    order = np.argsort(-score, kind="stable")[: 6 * KEPT]
    order = order[(masks[order] != 0) & (score[order] > 0.5 * NEVER)]
    frets, masks, score = frets[order], masks[order], score[order]
    usual = usualness(frets, masks, open_strings, capo)
    order = np.argsort(-(score + usual), kind="stable")
    # Only where every finger is in use has the room of strings more to say than their number.
    full = np.flatnonzero(fingers_needed(frets[order]) == FINGERS)
    cannot = [n for n in full if not _can_hold(frets[order[n]].tolist())]
    order = np.delete(order, cannot)
    _, first = np.unique(masks[order], return_index=True)
    order = order[np.sort(first)[:KEPT]]
    return np.full(order.size, span), frets[order], masks[order], usual[order]


def _can_hold(frets: Sequence[int]) -> bool:
    """What the room of strings says of a grip's shape; the beam only counts fingers."""
    low = min((fret for fret in frets if fret > 0), default=1)
    return fingering.fingers_needed(tuple(f - low + 1 if f > 0 else f for f in frets)) <= FINGERS


def fingers_needed(frets: Frets) -> npt.NDArray[np.int_]:
    """The fewest fingers that hold each grip, barres allowed (see strings.fingering.units_of)."""
    held = np.zeros(len(frets), dtype=np.int64)
    used = np.zeros(len(frets), dtype=np.int64)
    lowest = np.where(frets > 0, frets, 99).min(axis=1)
    for string in range(frets.shape[1]):
        fret = frets[:, string].astype(np.int64)
        relative = np.where(fret > 0, np.minimum(fret - lowest + 1, 30), 0)
        played = fret != MUTED
        held = np.where(played, held & ((1 << (relative + 1)) - 1), held)
        new = (fret > 0) & ((held >> relative) & 1 == 0)
        held = np.where(new, held | (1 << relative), held)
        used += new
    return used


# Where a chord's kind stands: rarities (see theory.kinds) up to these, whole; then its fifth left
# out; then none at all.
RARITIES = (0, 5, 10, 20)


@lru_cache(maxsize=1)
def kind_table() -> npt.NDArray[np.int8]:
    """For each set of pitch classes (12 bits): 0 the most usual kinds of chord, 4 no usual one."""
    table = np.full(4096, len(RARITIES), dtype=np.int8)
    for kind in sorted(all_kinds(), key=lambda kind: -kind.rarity):
        rank = sum(kind.rarity > limit for limit in RARITIES)
        without = kind.mask & ~(1 << 7) if "5" in kind.degrees and len(kind.degrees) > 3 else 0
        for mask, place in ((without, max(2, rank + 1)), (kind.mask, rank)):
            for root in range(12 if mask else 0):
                moved = (mask << root | mask >> (12 - root)) & 0xFFF
                table[moved] = min(table[moved], place)
    return table


FEATURES = 17


def features(frets: Frets, masks: Masks, open_strings: Sequence[int], capo: int) -> Floats:
    """What is told of each grip, rows x FEATURES (see `usualness`)."""
    strings = frets.shape[1]
    played = frets != MUTED
    held = frets > 0
    count = played.sum(axis=1)
    first = np.argmax(played, axis=1)
    last = strings - 1 - np.argmax(played[:, ::-1], axis=1)
    gaps = last - first + 1 - count
    low = np.where(held, frets, 99).min(axis=1)
    high = np.where(held, frets, 0).max(axis=1)
    reach = np.where(held.any(axis=1), high - low, 0)
    fingers = fingers_needed(frets)
    notes = np.bitwise_count(masks).astype(int)
    lowest = min(open_strings) + capo
    classes = np.zeros(len(frets), dtype=np.int64)
    for step in range(MOST_PITCHES):
        there = (masks >> np.uint64(step)) & MASK_ONE != 0
        classes |= np.where(there, 1 << (lowest + step) % 12, 0)
    kind = kind_table()[classes]
    open_ones = (frets == 0).sum(axis=1)
    out = np.zeros((len(frets), FEATURES), dtype=np.float32)
    out[:, 0] = notes
    out[:, 1] = count - notes
    out[:, 2] = gaps
    out[:, 3] = fingers
    out[:, 4] = np.maximum(reach - 2, 0)
    out[:, 5] = open_ones
    out[:, 6] = open_ones * (low > capo + 4) * held.any(axis=1)
    for rank in range(len(RARITIES)):
        out[:, 7 + rank] = kind == rank
    out[:, 11] = last == strings - 1
    out[:, 12] = first
    out[:, 13] = notes <= 3
    out[:, 14] = notes == 1
    out[:, 15] = held.any(axis=1) * np.maximum(low - capo, 0) / 10.0
    out[:, 16] = gaps >= 2
    return out


USUAL = np.array(
    (
        *(0.34, -1.57, -1.22, -0.61, -0.81, 0.05, -0.69, 0.33, -0.1, 0.81, -0.76, 0.8),
        *(-0.1, -1.8, 0.0, 0.48, -0.52),
    ),
    dtype=np.float32,
)


def usualness(frets: Frets, masks: Masks, open_strings: Sequence[int], capo: int) -> Floats:
    """Logarithm of how usual each grip is, up to a constant; fitted by fit_hearing.py."""
    return np.asarray(features(frets, masks, open_strings, capo) @ USUAL, dtype=np.float32)
