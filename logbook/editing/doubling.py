"""Doubling: whether a second performance of a part sounds together with it, and why.

A part is doubled, not doubled or unknown. What it says is held against the parts and takes logged.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import NamedTuple

from logbook.editing.words import listed
from logbook.errors import LogbookError
from logbook.names import fold


class DoublingState(StrEnum):
    """Whether a part was doubled."""

    DOUBLED = "doubled"
    NOT_DOUBLED = "not doubled"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True, kw_only=True)
class Doubling:
    """What was noted: doubled `by` which parts; or not; and `why`.

    `panned` says where each of `by` was panned, in the same order, "" where nobody said.
    """

    state: DoublingState = DoublingState.UNKNOWN
    by: tuple[str, ...] = ()
    panned: tuple[str, ...] = ()
    why: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class LoggedPart:
    """A part of the version as far as doubling goes.

    `usable_takes` counts its takes that are neither rejected nor false starts; `doubles` names
    the parts it was recorded to double, if any.
    """

    name: str
    doubling: Doubling
    usable_takes: int
    doubles: tuple[str, ...] = ()


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


def check_doubling(parts: Sequence[LoggedPart]) -> tuple[DoublingFinding, ...]:
    """Hold what every part of a version says about doubling against the parts and takes logged."""
    by_name = {fold(part.name): part for part in parts}
    doubled_by: dict[str, list[str]] = {}
    for part in parts:
        for name in part.doubles:
            doubled_by.setdefault(fold(name), []).append(part.name)
    findings: list[DoublingFinding] = []
    for part in parts:
        doubles = doubled_by.get(fold(part.name), [])
        findings.extend(_check_said(part, by_name, doubles))
        for name in part.doubles:
            findings.extend(_check_double(part, name, by_name.get(fold(name))))
    return tuple(findings)


def _check_said(
    part: LoggedPart, by_name: dict[str, LoggedPart], doubles: Sequence[str]
) -> list[DoublingFinding]:
    """What a part says about itself, against the parts that say they double it."""
    said, named = part.doubling, listed(doubles)
    if said.state is not DoublingState.DOUBLED:
        found = []
        if doubles:
            found.append(
                DoublingFinding(
                    part.name,
                    f"{part.name} is said to be {said.state}, but {named} is logged as its double"
                    if said.state is DoublingState.NOT_DOUBLED
                    else f"nobody noted whether {part.name} was doubled, but {named} is logged "
                    "as its double",
                    f"note {part.name} as doubled by {named}, or say what {named} is instead",
                )
            )
        met = {fold(name) for name in doubles}
        if said.state is DoublingState.NOT_DOUBLED and any(
            fold(name) not in met for name in said.by
        ):
            found.append(
                DoublingFinding(
                    part.name,
                    f"{part.name} is said to be not doubled, and yet doubled by {listed(said.by)}",
                    "keep one of the two",
                )
            )
        return found
    if not said.by:
        if doubles:
            return []
        return [
            DoublingFinding(
                part.name,
                f"{part.name} is said to be doubled, but no part is logged as its double",
                "log the double and its takes, or name the part that doubles it",
            )
        ]
    return [
        finding for name in said.by for finding in _check_by(part, name, by_name.get(fold(name)))
    ]


def _check_by(part: LoggedPart, name: str, double: LoggedPart | None) -> list[DoublingFinding]:
    """One of the parts that a part says it is doubled by."""
    if double is None:
        return [
            DoublingFinding(
                part.name,
                f"{part.name} is said to be doubled by {name}, but there is no such part",
                f"log {name} and its takes, or name the part that doubles it",
            )
        ]
    if double is part:
        return [
            DoublingFinding(
                part.name,
                f"{part.name} is said to be doubled by itself",
                "name the part with the second performance",
            )
        ]
    found = []
    if not double.usable_takes:
        found.append(
            DoublingFinding(
                part.name,
                f"{part.name} is said to be doubled by {double.name}, which has no usable take",
                f"log the take {double.name} was made from, or note {part.name} as not doubled",
            )
        )
    originals = {fold(each) for each in double.doubles}
    if originals and fold(part.name) not in originals:
        found.append(
            DoublingFinding(
                part.name,
                f"{part.name} is said to be doubled by {double.name}, "
                f"which is logged as the double of {listed(double.doubles)}",
                "correct one of the two",
            )
        )
    return found


def _check_double(
    part: LoggedPart, name: str, original: LoggedPart | None
) -> list[DoublingFinding]:
    """The part that says it doubles another, against that other part."""
    if original is None:
        return [
            DoublingFinding(
                part.name,
                f"{part.name} is logged as the double of {name}, but there is no such part",
                "name the part it doubles",
            )
        ]
    if original is part:
        return [
            DoublingFinding(
                part.name,
                f"{part.name} is logged as the double of itself",
                "name the part it doubles",
            )
        ]
    by = [fold(each) for each in original.doubling.by]
    if original.doubling.state is DoublingState.DOUBLED and by and fold(part.name) not in by:
        return [
            DoublingFinding(
                part.name,
                f"{part.name} is logged as the double of {original.name}, "
                f"which is said to be doubled by {listed(original.doubling.by)}",
                "correct one of the two",
            )
        ]
    return []
