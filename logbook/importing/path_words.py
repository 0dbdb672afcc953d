"""The words that a file's path is made of, and where names of the log stand among them.

Conventions. A path is taken apart into steps (its folders, then its name without the extension)
and each step into words: at anything that is no letter or digit, where a small letter meets a
capital, and between letters and digits. A name of the log stands in a step where its words do, in
one run, joined or parted in any way, with leading zeros or without; a word of the trade may be
written as it usually is (`Gtr`, `Vln`, `OH`). The table of such words is ours (common practice,
no source).
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache
from itertools import product
from pathlib import PurePath
from typing import NamedTuple

from logbook.importing.trade_words import SHORT
from logbook.names import bare

_MOST_HUMPS = 3  # of one short form: E Gtr, Ac G
_LONGEST = 1024  # characters of a text that are looked at
_RUN = re.compile(r"[^\W\d_]+|\d+")
_HUMP = re.compile(r"(?<=[a-z])(?=[A-Z])|(?<=[A-Z])(?=[A-Z][a-z])")


class Word(NamedTuple):
    """One word of a path: plain for comparing, as it is written, and where it stands.

    `step` counts from the file's name (0) up; `at` is its place in the step.
    """

    plain: str
    written: str
    step: int
    at: int


class Run(NamedTuple):
    """A name found: in which step, from which word to before which, and how well (0 to 1)."""

    step: int
    start: int
    end: int
    share: float


def path_words(path: PurePath | str) -> tuple[tuple[Word, ...], ...]:
    """The words of each step, the file's name first, then its folders from the inmost out."""
    path = PurePath(path)
    steps = (path.stem, *reversed(path.parts[:-1]))
    return tuple(tuple(_words(step, number)) for number, step in enumerate(steps))


def word_spans(step: str) -> list[tuple[int, int]]:
    """Where each of a step's words stands in it, as characters from and to."""
    spans = []
    for run in _RUN.finditer(step):
        at = run.start()
        for written in _HUMP.split(run.group()):
            spans.append((at, at + len(written)))
            at += len(written)
    return spans


def text_words(texts: Iterable[str], first: int) -> tuple[tuple[Word, ...], ...]:
    """The words of texts that are no path, as steps numbered from `first` on."""
    return tuple(tuple(_words(text[:_LONGEST], first + at)) for at, text in enumerate(texts))


def _words(step: str, number: int) -> Iterator[Word]:
    place = 0
    for run in _RUN.findall(step):
        for written in _HUMP.split(run):
            yield Word(_plain(written), written, number, place)
            place += 1


def _plain(written: str) -> str:
    return written.lstrip("0") or "0" if written.isdecimal() else bare(written)


@lru_cache(maxsize=4096)
def name_words(name: str) -> tuple[str, ...]:
    """The words that a name of the log is made of, plain."""
    return tuple(word.plain for word in _words(name, 0))


def runs_of(name: str, steps: Sequence[Sequence[Word]]) -> list[Run]:
    """Where a whole name stands in a path."""
    words = name_words(name)
    if not words:
        return []
    found = []
    for step in steps:
        for start, word in enumerate(step):
            run = _run_at(words, step, start)
            if run is not None:
                found.append(Run(word.step, start, run[0], run[1]))
    return found


@lru_cache(maxsize=4096)
def _compact(words: tuple[str, ...]) -> dict[str, float]:
    """A name of several words as one: each in full, cut short, or by its first letter."""
    if not 2 <= len(words) <= 3:
        return {}
    options = [
        [(word, 1.0), *((short, 0.85) for short in SHORT.get(word, ())), (word[0], 0.7)]
        for word in words
    ]
    found: dict[str, float] = {}
    for chosen in product(*options):
        text = "".join(part for part, _ in chosen)
        share = sum(each for _, each in chosen) / len(chosen)
        if len(text) >= 2:
            found[text] = max(found.get(text, 0.0), share)
    return found


def _run_at(words: Sequence[str], step: Sequence[Word], start: int) -> tuple[int, float] | None:
    """Where a name that begins at a word ends, and how fully it is written there."""
    joined = "".join(words)
    text = ""
    for end in range(start, len(step)):
        text += step[end].plain
        if text == joined:
            return end + 1, 1.0
        if not joined.startswith(text):
            break
    compact = _compact(tuple(words))
    text = ""
    for end in range(start, min(start + _MOST_HUMPS, len(step))):
        text += step[end].plain
        if text in compact:
            return end + 1, compact[text]
    # Word by word, each in full, cut short as usual, or by its beginning.
    share, at = 0.0, start
    for word in words:
        if at >= len(step):
            return None
        fit = _fit(word, step[at].plain)
        if not fit:
            return None
        share += fit
        at += 1
    return at, share / len(words)


def _fit(word: str, written: str) -> float:
    if written == word:
        return 1.0
    if written in SHORT.get(word, ()):
        return 0.85
    if len(written) >= 3 and word.startswith(written) and not written.isdecimal():
        return 0.7
    if word == f"{written}s" or written == f"{word}s":
        return 0.9
    return 0.0


def initials_of(name: str) -> str:
    """The first letters of a name of three words or more; empty for a shorter one."""
    words = [word for word in name_words(name) if not word.isdecimal()]
    return "".join(word[0] for word in words) if len(words) >= 3 else ""


def cells_of(run: Run) -> set[tuple[int, int]]:
    """The words of a run, each as its step and its place."""
    return {(run.step, at) for at in range(run.start, run.end)}
