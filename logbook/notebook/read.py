"""A session file read into records, on top of what the log already says.

Conventions. A table speaks of one record; it is found among its siblings by its natural key, and
what it does not mention stays as it is. Every mistake is noted with its place and reading goes
on, so that all are reported in one go; with any mistake nothing is returned.

Commands go through the same reader with a table made from their options.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

from logbook.errors import LogbookError
from logbook.names import closest, quoted
from logbook.notebook.blanks import blank
from logbook.notebook.declare import Collection, Context, Known, Noun, Record, Value
from logbook.notebook.locate import Path, locate
from logbook.notebook.nouns import LOG, NOUNS
from logbook.notebook.problems import Mistake, NotebookError
from logbook.notebook.reader import AS_LOGGED, Item, Mention, TableReader
from logbook.notebook.working_copy import LogKnown, WorkingCopy, found_by
from logbook.records import Log

__all__ = [
    "AS_LOGGED",
    "FileReading",
    "Mention",
    "blank",
    "parse",
    "read_document",
    "read_fields",
    "read_lines",
    "read_log",
    "read_text",
]


@dataclass(frozen=True, kw_only=True)
class FileReading:
    """What a file says: the records it speaks of, top ones by noun, and every mention."""

    copy: WorkingCopy
    mentions: tuple[Mention, ...]

    def records(self, noun: str) -> tuple[Record, ...]:
        """Return the top records of a noun that the file speaks of, as they shall be."""
        return self.copy.records(noun)


def read_document(
    document: dict[str, Value],
    known: Known,
    *,
    folder: str = "",
    lines: dict[Path, int] | None = None,
    file: str = "",
    session: str | None = None,
) -> FileReading:
    """Read a session file's tables on top of what is known.

    `folder` is where relative file paths count from, `lines` the line of each key if there is a
    file, `session` the session of takes that name none (else the file's only one).
    Raises NotebookError with every mistake.
    """
    reader = TableReader(copy=WorkingCopy(known), lines=lines)
    top = LOG.keys()
    for key in document:
        if key not in top:
            near = closest(key, top)
            hint = (
                f"did you mean {' or '.join(near)}?"
                if near
                else "its top level may say " + ", ".join(each.noun for each in LOG.collections)
            )
            reader.fail(LogbookError(f"a session file has no {quoted(key)}", hint), (key,))
    for each in LOG.collections:
        items = reader.items(each, document, ())
        if each.noun == "session" and session is None:
            session = _only_session(items, reader)
        context = Context(known=reader.copy, folder=folder, session=_default(session))
        noun = NOUNS[each.noun]

        def find(key: tuple[Any, ...], noun: Noun = noun) -> Record | None:
            return reader.copy.find(noun.word, key[0] if len(key) == 1 else key)

        for record in reader.collection(each, items, find, (), context):
            reader.copy.put(each.noun, record)
    if reader.problems:
        problems = sorted(reader.problems, key=lambda each: each.line or 0)
        raise NotebookError(problems, file)
    return FileReading(copy=reader.copy, mentions=tuple(reader.mentions))


SEVERAL = "\0several"
"""For the session of takes that name none: the file has several, so that each take has to say."""


def _only_session(items: list[Item], reader: TableReader) -> str:
    """Return the file's only session; "" where there is none and SEVERAL where there are more."""
    if len(items) > 1:
        return SEVERAL
    names = [
        item.value.get("name") if isinstance(item.value, dict) else item.value for item in items
    ]
    return names[0] if names and isinstance(names[0], str) else ""


def _default(session: str | None) -> str | None:
    return None if session == SEVERAL else session or ""


def read_fields(
    noun: Noun, table: dict[str, Value], context: Context, base: Record | None = None
) -> Record:
    """Read a table of plain fields and whole lists onto one record, its key included.

    Without `base` it is a new one, and what it needs must be said. Raises NotebookError.
    """
    reader = TableReader(copy=WorkingCopy(context.known), lines=None)
    record = base if base is not None else blank(noun)
    filled: dict[str, Any] = {}
    for key in noun.key:
        each = noun.field_of(key)
        if each.key in table:
            so_far = context.inside(replace(record, **filled))
            filled[key] = reader.value(noun, each, table[each.key], so_far, ())
    if not reader.problems:
        record = replace(record, **filled)
        record = reader.table(noun, record, table, filled, base, context, ())
    if reader.problems:
        raise NotebookError(reader.problems)
    for noun_word, implied in reader.copy.implied:
        context.known.add(noun_word, implied)
    return record


def read_lines(
    collection: Collection, values: Sequence[Value], siblings: Sequence[Record], context: Context
) -> list[Record]:
    """Read lines or tables of a collection on top of its present items. Raises NotebookError."""
    noun = NOUNS[collection.noun]
    reader = TableReader(copy=WorkingCopy(context.known), lines=None)
    items = [Item(value=value, path=()) for value in values]
    by_key = {noun.key_of(each): each for each in siblings}
    find = partial(found_by, by_key)
    records = reader.collection(collection, items, find, siblings, context)
    if reader.problems:
        raise NotebookError(reader.problems)
    for noun_word, implied in reader.copy.implied:
        context.known.add(noun_word, implied)
    return records


def read_text(
    text: str, known: Known, *, folder: str = "", file: str = "session file"
) -> FileReading:
    """Read a session file's text on top of what is known.

    Raises NotebookError with every mistake and its line.
    """
    return read_located(parse(text, file), text, known, folder=folder, file=file)


def read_located(
    document: dict[str, Value],
    text: str,
    known: Known,
    *,
    folder: str,
    file: str,
    session: str | None = None,
) -> FileReading:
    """Read a text's document as `read_document` does; every mistake has its line in the text."""
    try:
        try:
            return read_document(document, known, folder=folder, file=file, session=session)
        except NotebookError:
            # Only now is it worth while to find out where each key stands.
            lines = locate(text)
            return read_document(
                document, known, folder=folder, lines=lines, file=file, session=session
            )
    except RecursionError as error:
        raise NotebookError([_TOO_DEEP], file) from error


def parse(text: str, file: str = "session file") -> dict[str, Value]:
    """Read TOML; raises NotebookError naming the line that is not TOML."""
    import tomllib  # Commands come past here too, and only files are TOML.

    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise NotebookError([_syntax(str(error), text)], file) from error
    except RecursionError as error:
        raise NotebookError([_TOO_DEEP], file) from error


_TOO_DEEP = Mistake(
    problem="it is nested too deeply", remedy="nest fewer tables in one another", line=1
)


def _syntax(message: str, text: str) -> Mistake:
    what, _, place = message.partition(" (at ")
    words = place.rstrip(")").split()
    if words[:1] == ["line"] and words[1].rstrip(",").isdecimal():
        line = int(words[1].rstrip(","))
    else:
        line = text.count("\n") + 1
    return Mistake(
        problem=f"this is not TOML: {what[:1].lower()}{what[1:]}",
        remedy='a line is  key = "text"  or a heading in brackets, [[song]]',
        line=line,
    )


def read_log(text: str, *, folder: str = "", file: str = "session file") -> Log:
    """Read a session file by itself, as into an empty log."""
    reading = read_text(text, LogKnown(Log()), folder=folder, file=file)
    return Log(**{each.attribute: reading.records(each.noun) for each in LOG.collections})
