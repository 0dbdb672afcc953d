"""Lines in clauses: a head, then after each semicolon a word and what it says, at last a note.

    3 snare top; mic small dynamic; preamp rack 3; track 3; note swap after lunch

A note goes on to the end of the line, semicolons and all.
"""

from __future__ import annotations

from collections.abc import Mapping

from logbook.errors import LogbookError
from logbook.notebook import values


def read_clauses(line: str, words: Mapping[str, str], form: str) -> tuple[str, dict[str, str]]:
    """Return the head of a line, and what its clauses say by the attribute they set.

    `words` maps each word that may begin a clause to its attribute; a clause of an attribute that
    may come again is joined by a comma. Raises LogbookError, with `form` as the remedy, for a
    clause that begins with none of them.
    """
    head, *rest = _split(line)
    said: dict[str, str] = {}
    for clause in rest:
        if not clause.strip():
            continue
        word, _, text = clause.strip().partition(" ")
        attribute = words.get(word.casefold().rstrip(":"))
        if attribute is None or not text.strip():
            raise LogbookError(f"{values.shown(clause.strip())} cannot be read", form)
        before = f"{said[attribute]}, " if attribute in said else ""
        said[attribute] = before + text.strip()
    return head.strip(), said


def _split(line: str) -> list[str]:
    clauses: list[str] = []
    rest, more = line, True
    while more:
        clause, separator, rest = rest.partition(";")
        more = bool(separator)
        if clauses and clause.lstrip().casefold().startswith("note "):
            clauses.append(clause + separator + rest)
            break
        clauses.append(clause)
    return clauses


def write_clauses(head: str, said: Mapping[str, str]) -> str:
    """Return the line that `read_clauses` reads; `said` maps the words to what they say."""
    return "; ".join([head, *(f"{word} {text}" for word, text in said.items() if text)])
