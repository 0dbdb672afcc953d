"""Notebook lines in the words of the session file: melody, silence, votes, hours, input list."""

from __future__ import annotations

import re

from logbook.errors import LogbookError
from logbook.notebook.lines.facts import EntrySaid
from logbook.notebook.lines.where import Where
from logbook.notebook.lines.words import words_place
from logbook.theory.tunes import read_tune, tune_text

_MELODY = re.compile(r"(?:melody|tune)\s+(?P<place>[^:]*[^:\s])\s*:\s*(?P<tune>.+)", re.I)
_TACET = re.compile(r"tacet\s+(?:in\s+|at\s+)?(?P<text>\S.*)", re.I)
_VOTE = re.compile(r"votes?\s+(?P<text>\S.*\b(?:take\s+|t(?=\d)).*)", re.I)
_HOURS = re.compile(r"hours\s+(?P<text>\S.*\d.*)", re.I)
_INPUT = re.compile(r"inputs?\s+(?P<text>\d.*)", re.I)


def read_entry(line: str, where: Where) -> EntrySaid | None:
    """Read a line that begins with the noun it is of; None for anything else."""
    if found := _MELODY.fullmatch(line):
        place = words_place(found["place"], where)
        if not place:
            raise LogbookError(
                "it is not clear where this melody begins",
                "say the section or bar it begins in, as in melody B: E4/8 F#4 G4/4",
            )
        return EntrySaid(noun="melody", text=f"{place}: {tune_text(read_tune(found['tune']))}")
    for noun, form in (("tacet", _TACET), ("vote", _VOTE), ("hours", _HOURS), ("input", _INPUT)):
        if found := form.fullmatch(line):
            return EntrySaid(noun=noun, text=found["text"])
    return None
