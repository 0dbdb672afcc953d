"""Doubling: whether a second performance of a part sounds together with it, and why.

A part is doubled, not doubled or unknown. What it says is held against the parts and takes logged.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import NamedTuple

from logbook.errors import LogbookError


class DoublingState(StrEnum):
    """Whether a part was doubled."""

    DOUBLED = "doubled"
    NOT_DOUBLED = "not doubled"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True, kw_only=True)
class Doubling:
    """What was noted: doubled `by` which part and how `panned`; or not; and `why`."""

    state: DoublingState = DoublingState.UNKNOWN
    by: str = ""
    panned: str = ""
    why: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class LoggedPart:
    """A part of the version as far as doubling goes.

    `usable_takes` counts its takes that are neither rejected nor false starts; `doubles` names
    the part it was recorded to double, if any.
    """

    name: str
    doubling: Doubling
    usable_takes: int
    doubles: str = ""


class DoublingFinding(NamedTuple):
    """What contradicts what about a part, and what would mend it."""

    part: str
    problem: str
    remedy: str


def parse_doubling_state(text: str) -> DoublingState:
    """Read a state by its beginning: "d", "not", "unk"; "yes" and "no" are understood.

    Raises LogbookError when it is none.
    """
    body = " ".join(text.lower().split())
    body = {"yes": "doubled", "y": "doubled", "no": "not doubled", "n": "not doubled"}.get(
        body, body
    )
    found = [state for state in DoublingState if body and state.value.startswith(body)]
    if len(found) == 1:
        return found[0]
    raise LogbookError(
        f'"{text}" does not say whether the part was doubled',
        "say doubled, not doubled or unknown",
    )
