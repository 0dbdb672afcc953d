"""Input lists: their order, channels that are taken twice, and carrying one to the next day."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import Any

from logbook.names import fold
from logbook.records.paper import InputChannel

_PAIR = re.compile(r"(\D*)(\d{1,4})\s*[-+/\u2013]\s*(\d{1,4})")
_FIGURES = re.compile(r"(\d+)")
_LONGEST_RUN = 64


def in_order(inputs: Iterable[InputChannel]) -> tuple[InputChannel, ...]:
    """Return inputs in the order of their channels, 2 before 10."""
    return tuple(sorted(inputs, key=lambda each: _sorting(each.channel)))


def _sorting(channel: str) -> list[tuple[int, int, str]]:
    pieces = _FIGURES.split(fold(channel))
    return [(0, int(each), "") if each.isdecimal() else (1, 0, each) for each in pieces if each]


def channels_of(each: InputChannel) -> tuple[str, ...]:
    """Return the single channels that an input takes: "1-2" is 1 and 2."""
    body = fold(each.channel)
    found = _PAIR.fullmatch(body)
    if found is None:
        return (body,)
    first, last = int(found[2]), int(found[3])
    if not first <= last < first + _LONGEST_RUN:
        return (body,)
    return tuple(f"{found[1]}{number}" for number in range(first, last + 1))


def taken_twice(
    inputs: Sequence[InputChannel],
) -> list[tuple[InputChannel, InputChannel, str]]:
    """Return pairs of inputs that take the same channel, and which one."""
    seen: dict[str, InputChannel] = {}
    found = []
    for each in inputs:
        for channel in channels_of(each):
            if channel in seen:
                found.append((seen[channel], each, channel))
                break
        for channel in channels_of(each):
            seen.setdefault(channel, each)
    return found


def recorded_twice(
    inputs: Sequence[InputChannel],
) -> list[tuple[InputChannel, InputChannel]]:
    """Return pairs of inputs that go to the same track."""
    seen: dict[str, InputChannel] = {}
    found = []
    for each in inputs:
        track = fold(each.track)
        if track and track in seen:
            found.append((seen[track], each))
        elif track:
            seen[track] = each
    return found


def carried(
    before: Sequence[InputChannel], now: Sequence[InputChannel]
) -> tuple[tuple[InputChannel, ...], tuple[InputChannel, ...]]:
    """Return a session's input list with another's carried over, and the inputs that came so.

    What the session says of a channel stays; only channels of which it says nothing are taken.
    """
    taken = {channel for each in now for channel in channels_of(each)}
    new = tuple(each for each in before if not taken & set(channels_of(each)))
    return in_order((*now, *new)), new


def input_row(each: InputChannel) -> dict[str, Any]:
    """Return an input as data, under the names of the session file."""
    return {
        "channel": each.channel,
        "source": each.source,
        "microphone": each.microphone,
        "preamp": each.preamp,
        "pad": each.pad,
        "position": each.placed,
        "track": each.track,
        "notes": each.notes,
    }
