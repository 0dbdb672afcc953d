"""Files that name several parts of a song at once, as a room microphone's does: `drums + bass`.

Parts are named together where a plus, an ampersand or the word for it stands between them, in a
file's name. In a proposal they stand so in the place of the part, the one it hangs on first, and
where the channels of a file are different parts, so do their microphones, in the same order.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import PurePosixPath

from logbook.importing.matching import names_of
from logbook.importing.path_words import path_words, runs_of, word_spans
from logbook.names import matches
from logbook.store.file_rows import Outline, PartLine

JOINED = " + "
_BETWEEN = re.compile(r"[\s_.\-]*(?:\+|&|\band\b)[\s_.\-]*", re.IGNORECASE)


def parts_beside(files: Sequence[str], part: PartLine, outline: Outline) -> list[str]:
    """The other parts of a part's version that every one of these files names together with it."""
    others = [p for p in outline.parts.values() if p.version_id == part.version_id and p != part]
    found = [_named_with(PurePosixPath(file).stem, part, others) for file in files]
    return [each.name for each in others if found and all(each.id in names for names in found)]


def _named_with(stem: str, part: PartLine, others: Sequence[PartLine]) -> set[int]:
    step, spans = path_words(stem + ".wav")[0], word_spans(stem)
    places: list[tuple[int, int, int]] = []
    for each in (part, *others):
        for name in names_of(each):
            places += [(spans[run.start][0], spans[run.end - 1][1], each.id)
                       for run in runs_of(name, (step,))]  # fmt: skip
    linked = {part.id}
    for _ in range(len(places)):
        for start, end, one in places:
            for begins, ends, other in places:
                first, last = (end, begins) if end <= begins else (ends, start)
                if one in linked and first <= last and _BETWEEN.fullmatch(stem[first:last]):
                    linked.add(other)
    return linked - {part.id}


def parts_meant(said: str, known: Sequence[str]) -> list[str]:
    """The parts that a proposal names: one, or several with a plus between."""
    if JOINED not in said or matches(said, known):
        return [said]
    return [each.strip() for each in said.split(JOINED) if each.strip()]


def microphones_meant(said: str, parts: int) -> list[str]:
    """The microphone of each part of a file: as said for each, else the first's for all."""
    each = [word.strip() for word in said.split(JOINED)]
    return each if len(each) == parts else [said, *[""] * (parts - 1)]
