"""Sections of a form found by repetition: blocks of bars that come again.

A block repeats another where at least `ALIKE` of its bars have the same chords. All lengths that
sections usually have, and all places to begin, are tried; the one that explains most bars as
repeats with the fewest different blocks is taken. Blocks that always follow each other are one
section. What repeats gets a letter, in the order in which it first comes: what a section is for
cannot be heard.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from itertools import pairwise

LENGTHS = (8, 4, 16, 12, 6, 2)
ALIKE = 0.75
BLOCK_COST = 1.2  # bars that a block which comes once more must explain
LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


@dataclass(frozen=True, kw_only=True, slots=True)
class HeardSection:
    """A section: its letter, first bar, how many bars, and how sure (0 to 1)."""

    name: str
    start: int
    bars: int
    sure: float


def find_sections(bars: Sequence[Hashable], first: int = 1) -> tuple[HeardSection, ...]:
    """Sections of a row of bars, each told by what it plays; `first` is the first bar's number.

    Bars without any repetition are one section.
    """
    if not bars:
        return ()
    best: tuple[float, list[tuple[int, int, int]]] | None = None
    for length in LENGTHS:
        if length * 2 > len(bars):
            continue
        for begin in range(min(length, len(bars) - 2 * length + 1)):
            blocks = _blocks(bars, begin, length)
            worth = _worth(blocks, bars, length)
            if best is None or worth > best[0] + 1e-9:
                best = (worth, blocks)
    if best is None or best[0] <= 0.0:
        return (HeardSection(name="A", start=first, bars=len(bars), sure=0.3),)
    return _named(_joined(best[1]), bars, first)


def _blocks(bars: Sequence[Hashable], begin: int, length: int) -> list[tuple[int, int, int]]:
    """Start, length and kind of every block; a shorter one before them is a kind of its own."""
    kinds: list[tuple[Hashable, ...]] = []
    out: list[tuple[int, int, int]] = []
    if begin:
        out.append((0, begin, -1))
    at = begin
    while at < len(bars):
        block = tuple(bars[at : at + length])
        kind = next((n for n, known in enumerate(kinds) if _alike(known, block)), None)
        if kind is None:
            kind = len(kinds)
            kinds.append(block)
        out.append((at, len(block), kind))
        at += length
    return out


def _alike(one: tuple[Hashable, ...], other: tuple[Hashable, ...]) -> bool:
    if len(one) != len(other):
        return False
    return sum(a == b for a, b in zip(one, other, strict=True)) >= ALIKE * len(one)


def _worth(blocks: Sequence[tuple[int, int, int]], bars: Sequence[Hashable], length: int) -> float:
    """Bars explained as repeats, less what the different blocks cost.

    A block that repeats with bars of its own counts for much less than one that repeats exactly.
    """
    seen: dict[int, tuple[Hashable, ...]] = {}
    worth = 0.0
    for start, count, kind in blocks:
        block = tuple(bars[start : start + count])
        if kind in seen:
            same = sum(a == b for a, b in zip(seen[kind], block, strict=True)) / count
            worth += count * same**3
        seen.setdefault(kind, block)
    if worth == 0.0:
        return 0.0
    return worth - BLOCK_COST * len(seen) - (2.0 if length == 2 else 0.0)


def _joined(blocks: Sequence[tuple[int, int, int]]) -> list[tuple[int, int, int]]:
    """Blocks that always follow each other, made one."""
    out = list(blocks)
    while True:
        after: dict[int, set[int]] = {}
        before: dict[int, set[int]] = {}
        for (_, _, kind), (_, _, coming) in pairwise(out):
            after.setdefault(kind, set()).add(coming)
            before.setdefault(coming, set()).add(kind)
        after.setdefault(out[-1][2], set()).add(-9)
        before.setdefault(out[0][2], set()).add(-9)
        counts = [kind for _, _, kind in out]
        pair = next(
            (
                (kind, next(iter(coming)))
                for kind, coming in after.items()
                if len(coming) == 1
                and -9 not in coming
                and before.get(next(iter(coming))) == {kind}
                and next(iter(coming)) != kind
                and counts.count(kind) > 1
                and -1 not in (kind, next(iter(coming)))
            ),
            None,
        )
        if pair is None:
            return out
        merged: list[tuple[int, int, int]] = []
        for start, bars, kind in out:
            if merged and kind == pair[1] and merged[-1][2] == pair[0]:
                merged[-1] = (merged[-1][0], merged[-1][1] + bars, pair[0])
            else:
                merged.append((start, bars, kind))
        out = merged


def _named(
    blocks: Sequence[tuple[int, int, int]], bars: Sequence[Hashable], first: int
) -> tuple[HeardSection, ...]:
    names: dict[tuple[int, int], str] = {}
    firsts: dict[int, tuple[Hashable, ...]] = {}
    out = []
    for start, length, kind in blocks:
        key = (kind, length)
        if key not in names:
            number = len(names)
            times, letter = divmod(number, len(LETTERS))
            names[key] = LETTERS[letter] + (str(times + 1) if times else "")
        block = tuple(bars[start : start + length])
        known = firsts.setdefault(kind, block)
        count = sum(other[2] == kind for other in blocks)
        same = sum(a == b for a, b in zip(known, block, strict=False)) / max(1, len(block))
        sure = 0.4 if count == 1 else 0.5 + 0.4 * same
        out.append(
            HeardSection(name=names[key], start=first + start, bars=length, sure=round(sure, 2))
        )
    return tuple(out)
