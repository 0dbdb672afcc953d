"""The log written as a session file that reads back as the same log.

Conventions. A record is written as a line where the line reads back as the same record, else as a
table. A table that today's readers would refuse or change (a fret that came to lie behind a capo
moved later) is marked `as_logged`, and then read back word for word.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from functools import lru_cache
from typing import Any

from logbook.errors import LogbookError
from logbook.notebook.declare import Collection, Context, Field, Noun, Record, Value
from logbook.notebook.fields_takes import USUAL_COMP
from logbook.notebook.nouns import LOG, NOUNS
from logbook.notebook.read import AS_LOGGED, blank
from logbook.notebook.toml_text import (
    Flow,
    Tables,
    document_pieces,
    table_text,
    write_document,
)
from logbook.notebook.working_copy import LogKnown
from logbook.records import Comp, Log, Song

_SONG = "song"


def write_log(log: Log, *, folder: str | None = None) -> str:
    """Return a session file that says all of a log, or all of a slice of it.

    folder: where paths of files count from; None has each file say its own.
    """
    context = Context(known=LogKnown(log), folder=folder)
    document: dict[str, Value] = {}
    for collection in LOG.collections:
        _add(document, collection, getattr(log, collection.attribute), context)
    return write_document(document)


def write_pieces(log: Log, songs: Iterable[str], titles: Iterable[Song]) -> Iterator[str]:
    """Yield a session file piece by piece: all of a log but its songs, and the texts of those.

    `titles` are the songs by their names alone, with versions and arrangements, which is what
    projects and set lists name.
    """
    known = LogKnown(replace(log, songs=tuple(titles)))
    context = Context(known=known, folder=None)
    document: dict[str, Any] = {}
    for collection in LOG.collections:
        if collection.noun == "song":
            document[_SONG] = Flow(songs)
        else:
            _add(document, collection, getattr(log, collection.attribute), context)
    return document_pieces(document)


def song_text(song: Song, known: LogKnown) -> str:
    """Return a song as it stands in a session file, after what `known` says of the rest."""
    table = table_of(NOUNS["song"], song, Context(known=known, folder=None))
    return table_text({_SONG: Tables([table])})


def table_of(
    noun: Noun,
    record: Record,
    context: Context,
    wanted: Callable[[Collection], bool] = lambda collection: True,
) -> dict[str, Value]:
    """Return a record as a table, with all that stands inside it, or only what is wanted."""
    table = fields_table(noun, record, context)
    inside = context.inside(record)
    for collection in noun.collections:
        records = getattr(record, collection.attribute)
        if records and wanted(collection):
            _add(table, collection, records, inside)
    return table


def fields_table(noun: Noun, record: Record, context: Context) -> dict[str, Value]:
    """Return a record's plain fields as a table, marked where they do not read back."""
    table: dict[str, Value] = {}
    held = record.__dict__
    key_fields = noun.key_fields
    for each, name, usual in noun.usual:
        if name:
            value = held[name]
            if value == usual:
                if each.key not in key_fields:
                    continue  # Most of what could be said of most records is not.
            elif each.write is None and value is not None:
                table[each.key] = value
                continue
        value = each.value_of(record)
        if value is None and each.key in noun.key_fields and each.key not in table:
            value = getattr(record, each.attributes[0])
        if value is not None:
            table[each.key] = value
    return table if _reads_back(noun, record, table, context) else {AS_LOGGED: True, **table}


def _reads_back(noun: Noun, record: Record, table: dict[str, Value], context: Context) -> bool:
    inside = context.inside(record)
    held = record.__dict__
    for key, said in table.items():
        each = noun.by_key[key]
        names = each.attributes
        try:
            value = _read(each, said, inside)
        except LogbookError:
            return False
        if len(names) == 1:
            if held[names[0]] != value:
                return False
        elif tuple([held[name] for name in names]) != tuple(value):
            return False
    return True


_SHORT = 40
"""Texts of so many characters at most are worth remembering."""
_asking: set[Field] = set()
"""Fields whose readers ask where a value stands."""


def _read(each: Field, said: Value, context: Context) -> Any:
    """What a field's reader makes of a value. Raises LogbookError."""
    kind = type(said)
    if each not in _asking and (kind is int or (kind is str and len(said) <= _SHORT)):
        try:
            return _read_alone(each, said)
        except _AskedError:
            _asking.add(each)
    return each.read(said, context)


class _AskedError(Exception):
    """A reader wants to know where its value stands."""


class _Nowhere:
    """No place at all, for readers that do not ask."""

    def __getattr__(self, name: str) -> Any:
        raise _AskedError


@lru_cache(8192)
def _read_alone(each: Field, said: Any) -> Any:
    """The same wherever the value stands: most readers do not ask, and the same comes often.

    Raises _AskedError for a reader that asks, LogbookError for what cannot be read.
    """
    return each.read(said, _Nowhere())  # type: ignore[arg-type]


def line_of(
    noun: Noun, record: Record, context: Context, implied: tuple[str, ...] = ()
) -> str | None:
    """Return a record as a line, None where a line does not say all of it.

    `implied` are attributes that the place of the line says already.
    """
    if noun.line is None:
        return None
    try:
        line = noun.line.write(record, context)
        if line is None:
            return None
        given = noun.line.read(line, context.inside(blank(noun)))
    except LogbookError:
        return None
    for name, usual in noun.defaults:
        if name not in implied and getattr(record, name) != given.get(name, usual):
            return None
    return line


def _add(
    table: dict[str, Value],
    collection: Collection,
    records: tuple[Record, ...],
    context: Context,
) -> None:
    """Put a collection into its owner's table, in the tersest form that says all of it."""
    if not records:
        return
    noun = NOUNS[collection.noun]
    key = collection.keys[0]
    if collection.write_all is not None:
        table[key] = _together(collection, noun, records, context)
    elif collection.labelled and (labels := _labels(noun, records, context)) is not None:
        table[key] = labels
    elif collection.grouped and (groups := _groups(collection, noun, records, context)):
        table[key] = groups
    elif _is_usual_comp(records):
        table[key] = _items(NOUNS["piece"], records[0].pieces, context.inside(records[0]))
    elif collection.grouped or noun.collections or not context.owners:
        lines = [line_of(noun, each, context) for each in records]
        if all(lines) and not collection.grouped:
            table[key] = lines
        else:
            heading = noun.word if noun.word in collection.keys else collection.keys[-1]
            table[heading] = Tables(table_of(noun, each, context) for each in records)
    else:
        table[key] = _items(noun, records, context)


def _items(noun: Noun, records: tuple[Record, ...], context: Context) -> list[Value]:
    return [line_of(noun, each, context) or table_of(noun, each, context) for each in records]


def _together(
    collection: Collection, noun: Noun, records: tuple[Record, ...], context: Context
) -> Value:
    """Lines that make sense only together, if they read back; tables otherwise."""
    assert collection.read_all is not None
    assert collection.write_all is not None
    try:
        items = collection.write_all(records, context)
        read = collection.read_all(items, context)
        same = not read.errors and tuple(read.records) == records
    except LogbookError:
        same = False
    if not same:
        items = list(records)
    values = [
        each if isinstance(each, str) else fields_table(noun, each, context) for each in items
    ]
    return values[0] if len(values) == 1 and isinstance(values[0], str) else values


def _labels(noun: Noun, records: tuple[Record, ...], context: Context) -> dict[str, Value] | None:
    """Records by their label; None where a label could be taken for one of the noun's keys."""
    label = noun.key[0]
    names = [getattr(each, label) for each in records]
    if noun.field_of(label).key in names:
        return None
    values: dict[str, Value] = {}
    for name, each in zip(names, records, strict=True):
        line = line_of(noun, each, context, implied=(label,))
        if line is None:
            table = fields_table(noun, each, context)
            del table[noun.field_of(label).key]
            values[name] = table
        else:
            values[name] = line
    return values


def _groups(
    collection: Collection, noun: Noun, records: tuple[Record, ...], context: Context
) -> dict[str, list[Value]] | None:
    """Lists of lines by what groups them; None where that would lose something or the order."""
    implied = (collection.grouped,)
    groups: dict[str, list[Value]] = {}
    last = None
    for each in records:
        group = getattr(each, collection.grouped)
        line = line_of(noun, each, context, implied=implied)
        if line is None or (group in groups and group != last):
            return None
        groups.setdefault(group, []).append(line)
        last = group
    own = {noun.field_of(name).key for name in noun.key}
    return None if own & set(groups) else groups


def _is_usual_comp(records: tuple[Any, ...]) -> bool:
    return (
        len(records) == 1
        and isinstance(records[0], Comp)
        and bool(records[0].pieces)
        and records[0] == Comp(name=USUAL_COMP, pieces=records[0].pieces)
    )
