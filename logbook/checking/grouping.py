"""Findings put together so that many of them can be read: by song and rule, and alike as one."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from logbook.checking.problem import Problem
from logbook.names import fold


class OfRule(NamedTuple):
    """The findings of one rule in one song; `total` counts those put together singly."""

    rule: str
    total: int
    problems: tuple[Problem, ...]


class OfSong(NamedTuple):
    """The findings in one song, rule by rule; the title is empty for what is of no song."""

    title: str
    total: int
    rules: tuple[OfRule, ...]


def together(problems: Iterable[Problem]) -> list[Problem]:
    """The findings, those that say the same of several files of one place as one.

    Five microphones of a take that all stop early are one finding: `take 3, kick.wav and 4 more`.
    """
    kept: dict[tuple[str, ...], list[str]] = {}
    for problem in problems:
        place, colon, tail = problem.where.rpartition(": ")
        # Of a take's file, the take stays with the place; what is of a whole part is no file's.
        take, comma, file = tail.rpartition(", ")
        if not place and "." not in file:
            take, comma, file = problem.where, "", ""
        key = (problem.rule, f"{place}{colon}{take}{comma}", *problem[2:])
        kept.setdefault(key, []).append(file)
    found = []
    for (rule, head, *rest), files in kept.items():
        more = f" and {len(files) - 1} more" if len(files) > 1 else ""
        found.append(Problem(rule, f"{head}{files[0]}{more}", *rest))
    return found


def by_song(problems: Sequence[Problem], titles: Iterable[str]) -> list[OfSong]:
    """The findings by the song they are about and the rule that found them, in order."""
    known = sorted(titles, key=len, reverse=True)
    sorted_: dict[str, dict[str, list[Problem]]] = {}
    for problem in problems:
        title = next((each for each in known if _is_about(problem.where, each)), "")
        place = problem.where.removeprefix(title).lstrip(",: ") or title
        held = sorted_.setdefault(title, {}).setdefault(problem.rule, [])
        held.append(problem._replace(where=place))
    return [
        OfSong(
            title,
            sum(map(len, rules.values())),
            tuple(OfRule(rule, len(held), tuple(together(held))) for rule, held in rules.items()),
        )
        for title, rules in sorted_.items()
    ]


def _is_about(where: str, title: str) -> bool:
    return where == title or where.startswith((f"{title}, ", f"{title}: "))


def chosen(problems: Iterable[Problem], rules: Sequence[str], words: str) -> list[Problem]:
    """The findings of some rules (all where none is said) whose place or text has all words."""
    wanted = fold(words).split()
    return [
        problem
        for problem in problems
        if (not rules or problem.rule in rules)
        and all(word in fold(f"{problem.where} {problem.what}") for word in wanted)
    ]
