"""Findings as text and back, and a name for the rules that made them.

What a check found in a song may be kept until the song changes; it counts only while the rules
are the same. The name of the rules is made from the size and date of every module that a rule
may call, so that another version of the program, or a rule mended in place, looks again.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterable
from hashlib import sha256
from pathlib import Path

from logbook.checking.problem import Problem

ROOMS = ("arranging", "checking", "crediting", "editing", "records", "strings", "theory", "timing")


def to_text(problems: Iterable[Problem]) -> str:
    """The problems as JSON, empty for none."""
    held = [list(problem) for problem in problems]
    return json.dumps(held, ensure_ascii=False) if held else ""


def from_text(text: str) -> tuple[Problem, ...]:
    """The problems that `to_text` wrote."""
    return tuple(Problem(*fields) for fields in json.loads(text)) if text else ()


def rules_name() -> str:
    """A name that changes with every module that a rule may call."""
    digest = sha256()
    package = Path(__file__).parents[1]
    for room in ROOMS:
        with os.scandir(package / room) as entries:
            modules = sorted((e.name, e) for e in entries if e.name.endswith(".py"))
        for name, entry in modules:
            seen = entry.stat()
            digest.update(f"{room}/{name} {seen.st_size} {seen.st_mtime_ns}\n".encode())
    return digest.hexdigest()
