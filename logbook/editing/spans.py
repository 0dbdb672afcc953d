"""Arithmetic on half-open spans of musical time, each (start, end) in whole notes."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

Span = tuple[Fraction, Fraction]


def merged(spans: Iterable[Span]) -> list[Span]:
    """The union of spans, in order, with touching ones joined; empty spans vanish."""
    union: list[Span] = []
    for start, end in sorted(span for span in spans if span[0] < span[1]):
        if union and start <= union[-1][1]:
            union[-1] = (union[-1][0], max(union[-1][1], end))
        else:
            union.append((start, end))
    return union


def without(spans: Iterable[Span], removed: Iterable[Span]) -> list[Span]:
    """What of the first spans no span of the others covers, in order and merged."""
    holes = merged(removed)
    left: list[Span] = []
    for start, end in merged(spans):
        for hole_start, hole_end in holes:
            if hole_end <= start:
                continue
            if hole_start >= end:
                break
            if start < hole_start:
                left.append((start, hole_start))
            start = hole_end
        if start < end:
            left.append((start, end))
    return left


def common(first: Span, second: Span) -> Span | None:
    """The span two spans share, or None."""
    start = first[0] if first[0] >= second[0] else second[0]
    end = first[1] if first[1] <= second[1] else second[1]
    return (start, end) if start < end else None


def total(spans: Iterable[Span]) -> Fraction:
    """The length of all spans together; what lies in two counts twice."""
    return sum((end - start for start, end in spans), Fraction(0))
