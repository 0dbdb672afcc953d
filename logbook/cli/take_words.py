"""What was typed after `take`: result, bars, punch-ins and a note, in any order."""

from __future__ import annotations

from typing import Any


def read_words(
    words: list[str], owners: tuple[Any, ...]
) -> tuple[dict[str, Any], list[str], list[str]]:
    """Part what was typed, in any order, into result, bars and note; then punch-ins, and remarks.

    A section of the form is as good as its bars; of several of its name the first is meant.
    Raises LogbookError for a word alone that is none of them.
    """
    from logbook.editing.takes import parse_result
    from logbook.notebook.lines.read_takes import take_of
    from logbook.notebook.lines.where import Where
    from logbook.notebook.lines.words import first_meant, plain_line, ranges_of

    song, version, part = owners
    where = Where(song=song, version=version.name, part=part.name)
    said = take_of(0, plain_line(" ".join(words)), where)
    remarks = []
    bars = ""
    if said.bars:
        ranges = ranges_of(said.bars, where)
        bars = str(ranges[0])
        if len(ranges) > 1:
            remarks.append(first_meant(said.bars, ranges))
    if not (said.result or bars or said.punches or said.files) and len(said.note.split()) == 1:
        # One word that is nothing else is more likely a slip than a note.
        parse_result(said.note)
    punched = [f"{ranges_of(each.bars, where)[0]} {each.why}".strip() for each in said.punches]
    table = {"result": said.result, "bars": bars, "notes": said.note}
    return table, punched, remarks
