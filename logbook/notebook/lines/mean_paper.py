"""What lines in the words of the session file come to: melody, silence, votes, hours, inputs.

The nouns' own lines read them, so that a notebook and a session file understand the same.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from logbook.notebook.declare import Context, Noun
from logbook.notebook.fields_melodies import MELODY
from logbook.notebook.fields_paper import HOURS, INPUT
from logbook.notebook.fields_parts import read_tacet
from logbook.notebook.fields_votes import VOTE
from logbook.notebook.lines.facts import EntrySaid
from logbook.notebook.lines.page import Page
from logbook.notebook.lines.words import words_start
from logbook.records import Session

_VOTER = re.compile(r"(?P<who>[^\d;:]*[^\d;:\s]):\s")
_WORKER = re.compile(r"(?P<who>[^\d;:]*[^\d;:\s]):?\s+(?=\d)")


class _OfPage:
    """The log as far as a page knows it."""

    def __init__(self, page: Page) -> None:
        self._page = page

    def names(self, noun: str) -> Sequence[str]:
        """The people, or the sessions, that the page knows."""
        where = self._page.where
        return {"person": where.people, "session": where.sessions}.get(noun, ())

    def find(self, noun: str, name: str) -> Any:
        """Nothing: these lines look up names alone."""
        del noun, name

    def add(self, noun: str, record: Any) -> None:
        """Nothing is implied by these lines."""


def mean_entry(said: EntrySaid, page: Page) -> None:
    """Keep what a line says, in the part or in the session of the day."""
    match said.noun:
        case "tacet":
            _silent(said.text, page)
        case "melody":
            _sung(said.text, page)
        case "vote":
            if who := _VOTER.match(said.text):
                page.person(who["who"].strip())
            _in_part(VOTE, "votes", said.text, page)
        case "hours":
            if who := _WORKER.match(said.text):
                page.person(who["who"].strip())
            _in_session(HOURS, "hours", said.text, page)
        case "input":
            _in_session(INPUT, "inputs", said.text, page)
        case _:
            raise AssertionError(f"no meaning for {said.noun}")


def _silent(text: str, page: Page) -> None:
    part = page.part()
    owners = (page.song(), page.version(), part)
    places = [each for each in (part.tacet, text) if each]
    tacet = read_tacet(", ".join(places), Context(known=_OfPage(page), owners=owners))
    if tacet != part.tacet:
        page.change_part(tacet=tacet)
    page.told.append(f"{part.name} does not play in {tacet}")


def _sung(text: str, page: Page) -> None:
    place, _, tune = text.partition(":")
    at = words_start(place.strip(), page.where)
    _in_part(MELODY, "melody", f"{at}:{tune}", page)


def _in_part(noun: Noun, name: str, line: str, page: Page) -> None:
    part = page.part()
    context = Context(known=_OfPage(page), owners=(page.song(), page.version(), part))
    new = _read(noun, line, context)
    page.change_part(**{name: _merged(noun, getattr(part, name), new, page)})
    page.told.append(f"{part.name}, {noun.word} {_said(noun, new, context)}")


def _in_session(noun: Noun, name: str, line: str, page: Page) -> None:
    session = page.session()
    context = Context(known=_OfPage(page), owners=(session,))
    new = _read(noun, line, context)
    listed = _merged(noun, getattr(session, name), new, page)
    changed: dict[str, Any] = {name: listed}
    page.write(replace(Session(name=session.name), **changed), (), name)
    page.where = replace(page.where, session=replace(session, **changed))
    page.told.append(f"{session.name}, {noun.word} {_said(noun, new, context)}")


def _read(noun: Noun, line: str, context: Context) -> Any:
    assert noun.line is not None, "these nouns have lines"
    return noun.record(**noun.line.read(line, context))


def _said(noun: Noun, record: Any, context: Context) -> str:
    """A record as its own line says it, else what it is called."""
    line = noun.line.write(record, context) if noun.line is not None else None
    return line or noun.title_of(record)


def _merged(noun: Noun, old: tuple[Any, ...], new: Any, page: Page) -> tuple[Any, ...]:
    """The records with the new one in the place of that of its key, else at the end."""
    key = noun.key_of(new)
    same = [each for each in old if noun.key_of(each) == key]
    if same and same[0] != new:
        page.warnings.append(f"it replaces: {noun.title_of(same[0])}")
    if same:
        return tuple(new if noun.key_of(each) == key else each for each in old)
    return (*old, new)
