"""One reader for tables and lines, which notes every mistake with its place and reads on.

It knows no noun by itself: what a record is made of it takes from the declarations.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from typing import Any

from logbook.errors import LogbookError
from logbook.names import closest, quoted
from logbook.notebook import values
from logbook.notebook.blanks import blank, default_of_blank, joined_with, with_values
from logbook.notebook.declare import (
    Collection,
    Context,
    Field,
    Noun,
    Record,
    Value,
    default_of,
    type_of,
)
from logbook.notebook.locate import Path, nearest_line
from logbook.notebook.nouns import NOUNS
from logbook.notebook.problems import Mistake
from logbook.notebook.working_copy import WorkingCopy, found_by
from logbook.records.chord_names import with_symbols

AS_LOGGED = "as_logged"
"""The key that has a table's words taken as they are: `dump` writes it where it must."""

_PLAIN = {
    "str": values.text,
    "str | None": values.maybe(values.text),
    "int": values.whole(),
    "int | None": values.maybe(values.whole()),
    "float": values.number(),
    "float | None": values.maybe(values.number()),
}


@dataclass(frozen=True, kw_only=True)
class Mention:
    """A record that a file speaks of: `place` are the names from the song down to its own."""

    noun: str
    place: tuple[str, ...]
    old: Record | None
    new: Record


@dataclass(frozen=True, kw_only=True)
class Item:
    """One item of a collection as it was written."""

    value: Value
    path: Path
    label: str | None = None
    group: str | None = None


@dataclass(kw_only=True)
class TableReader:
    """Reads a file's tables: `desk` is what it knows, `lines` where each key stands in the file.

    `problems` gathers every mistake, `mentions` every record spoken of, and `where` is the place
    in the log that is being read.
    """

    copy: WorkingCopy
    lines: dict[Path, int] | None
    problems: list[Mistake] = field(default_factory=list)
    mentions: list[Mention] = field(default_factory=list)
    where: tuple[str, ...] = ()

    def fail(self, error: LogbookError, path: Path, *where: str) -> None:
        """Note a mistake and where it is."""
        line = None if self.lines is None else nearest_line(self.lines, path)
        self.problems.append(
            Mistake(
                problem=error.problem, remedy=error.remedy, where=(*self.where, *where), line=line
            )
        )

    # Collections

    def items(self, collection: Collection, table: dict[str, Value], path: Path) -> list[Item]:
        """Gather what a table says of a collection, under whichever key and in whichever form."""
        found: list[Item] = []
        for key in collection.keys:
            if key in table:
                value = table[key]
                if collection.unpack:
                    value = collection.unpack(value)
                    self._keep_lines(table[key], value, (*path, key))
                found += self._spread(collection, value, (*path, key))
        return found

    def _keep_lines(self, written: Value, unpacked: Value, path: Path) -> None:
        """Let what a list was unpacked into have the lines of the list's own items."""
        if self.lines is None or written is unpacked or not isinstance(written, list):
            return
        (whole,) = unpacked
        held = next(key for key, value in whole.items() if value is written)
        for index in range(len(written)):
            self.lines[(*path, 0, held, index)] = nearest_line(self.lines, (*path, index))

    def _spread(self, collection: Collection, value: Value, path: Path) -> list[Item]:
        noun = NOUNS[collection.noun]
        if isinstance(value, list):
            return [Item(value=each, path=(*path, index)) for index, each in enumerate(value)]
        if isinstance(value, dict):
            own = {each.key for name in noun.key for each in (noun.field_of(name),)}
            if own & set(value):
                return [Item(value=value, path=path)]
            if collection.labelled:
                return [
                    Item(value=each, path=(*path, label), label=label)
                    for label, each in value.items()
                ]
            if collection.grouped:
                return [
                    Item(value=each, path=(*path, group, index), group=group)
                    for group, several in value.items()
                    for index, each in enumerate(
                        several if isinstance(several, list) else [several]
                    )
                ]
        return [Item(value=value, path=path)]

    def collection(
        self,
        collection: Collection,
        items: list[Item],
        find: Callable[[tuple[Any, ...]], Record | None],
        siblings: Sequence[Record],
        context: Context,
    ) -> list[Record]:
        """Read the items of a collection; those that could not be read are left out."""
        noun = NOUNS[collection.noun]
        if collection.read_all is not None:
            return self._all_at_once(collection, noun, items, context)
        seen: dict[tuple[Any, ...], Item] = {}
        records: list[Record] = []
        for item in items:
            existing = (lambda key: None) if collection.whole else find
            record = self.item(noun, collection, item, existing, siblings, context)
            if record is None:
                continue
            key = noun.key_of(record) if noun.key else (len(records),)
            if key in seen:
                self._twice(noun, record, item)
                continue
            seen[key] = item
            records.append(record)
        if collection.settle is not None:
            tables = {key: item.value for key, item in seen.items()}
            records = collection.settle(records, tables, siblings, noun)
        return records

    def _twice(self, noun: Noun, record: Record, item: Item) -> None:
        name = noun.title_of(record)
        error = LogbookError(
            f"{noun.word} {quoted(name)} is written twice", "leave one of them out"
        )
        self.fail(error, item.path)

    def _all_at_once(
        self, collection: Collection, noun: Noun, items: list[Item], context: Context
    ) -> list[Record]:
        assert collection.read_all is not None
        ready: list[Value] = []
        paths: list[Path] = []
        for item in items:
            value = item.value
            if isinstance(value, dict):
                value = self.item(noun, collection, item, lambda key: None, (), context)
                if value is None:
                    continue
            elif isinstance(value, bool) or not isinstance(value, str | int | float):
                error = LogbookError("this cannot be read", f"write lines of text or {noun.a_word}")
                self.fail(error, item.path, collection.keys[0])
                continue
            ready.append(str(value) if isinstance(value, int | float) else value)
            paths.append(item.path)
        read = collection.read_all(ready, context)
        for index, error in read.errors:
            self.fail(error, paths[index], collection.keys[0])
        seen = set()
        for record in read.records:
            key = noun.key_of(record)
            if key in seen:
                named = " ".join(f"{name} {part}" for name, part in zip(noun.key, key, strict=True))
                twice = LogbookError(f"there are two at {named}", "leave one of them out")
                self.fail(twice, items[0].path[:-1] or items[0].path, collection.keys[0])
            seen.add(key)
        return read.records

    # Items

    def item(
        self,
        noun: Noun,
        collection: Collection,
        item: Item,
        find: Callable[[tuple[Any, ...]], Record | None],
        siblings: Sequence[Record],
        context: Context,
    ) -> Record | None:
        """Read one record from its table or line, on top of the one it updates."""
        failed = len(self.problems)
        outside = self.where
        given: dict[str, Any] = {}
        if item.label is not None:
            given[noun.key[0]] = self.value(
                noun, noun.field_of(noun.key[0]), item.label, context, item.path
            )
        if item.group is not None and collection.grouped:
            given[collection.grouped] = self.value(
                noun, noun.field_of(collection.grouped), item.group, context, item.path
            )
        table = item.value if isinstance(item.value, dict) else None
        if table is not None:
            for name in noun.key:
                each = noun.field_of(name)
                if each.key in table:
                    at = (*item.path, each.key)
                    so_far = context.inside(with_values(blank(noun), given))
                    given[name] = self.value(
                        noun, each, table[each.key], so_far, at, _is_lax(table)
                    )
        elif isinstance(item.value, str | int | float) and not isinstance(item.value, bool):
            label = given.get(noun.key[0]) if noun.key else None
            base = find((label,)) if item.label is not None else None
            self.where = (*outside, *([str(label)] if label else []))
            given |= self._line(noun, str(item.value), context.inside(base or blank(noun)), item)
        else:
            self.fail(LogbookError(f"this is not {noun.a_word}", _table_form(noun)), item.path)
        if len(self.problems) > failed and (table is None or not set(noun.key) <= set(given)):
            self.where = outside
            return None
        if collection.implied is not None:
            given = self._implied(collection, given, siblings, context, item.path)
        key = tuple(given.get(name, default_of(noun.record, name)) for name in noun.key)
        old = find(key)
        if old is not None:
            # In another spelling it is the same name, and stays as it was logged.
            given |= dict(zip(noun.key, noun.key_of(old), strict=True))
        record = with_values(old if old is not None else blank(noun), joined_with(noun, old, given))
        self.where = (*outside, noun.title_of(record).strip() or noun.word)
        mention = len(self.mentions)
        if table is not None:
            record = self.table(noun, record, table, given, old, context, item.path)
        elif old is None:
            self._missing(noun, given, item.path)
        if not collection.whole:
            one = Mention(noun=noun.word, place=self.where, old=old, new=record)
            self.mentions.insert(mention, one)
        self.where = outside
        # Also with a mistake in it, so that what refers to it is not taken for one more.
        return record

    def value(
        self,
        noun: Noun,
        each: Field,
        value: Value,
        context: Context,
        path: Path,
        lax: bool = False,
    ) -> Any:
        """Read one field that tells records apart; something stands in for a mistake."""
        try:
            return _read(noun.record, each, value, context, lax)[each.attributes[0]]
        except LogbookError as error:
            self.fail(error, path, each.key)
            return default_of_blank(each)

    def _implied(
        self,
        collection: Collection,
        given: dict[str, Any],
        siblings: Sequence[Record],
        context: Context,
        path: Path,
    ) -> dict[str, Any]:
        assert collection.implied is not None
        try:
            return given | collection.implied(given, siblings, context)
        except LogbookError as error:
            self.fail(error, path)
            return given

    def _line(self, noun: Noun, line: str, context: Context, item: Item) -> dict[str, Any]:
        if noun.line is None:
            self.fail(
                LogbookError(f"{quoted(line)} is not {noun.a_word}", _table_form(noun)), item.path
            )
            return {}
        try:
            return noun.line.read(line, context)
        except LogbookError as error:
            shown = () if item.label is not None else (noun.word,)
            self.fail(error, item.path, *shown)
            return {}

    def table(
        self,
        noun: Noun,
        record: Record,
        table: dict[str, Value],
        given: dict[str, Any],
        old: Record | None,
        context: Context,
        path: Path,
    ) -> Record:
        """Read all that a table says onto a record."""
        known = noun.keys()
        lax = _is_lax(table)
        for key in table:
            if key not in known and key != AS_LOGGED:
                near = closest(key, known)
                hint = (
                    f"did you mean {' or '.join(near)}?"
                    if near
                    else f"it may say {', '.join(known)}"
                )
                self.fail(LogbookError(f"{noun.a_word} has no {quoted(key)}", hint), (*path, key))
        if noun.word == "version":
            context = replace(context, coming=_part_names(table))
        filled = dict(given)
        for member in noun.members:
            if isinstance(member, Collection):
                record = self._members(member, record, table, context, path)
                if any(key in table for key in member.keys):
                    filled[member.attribute] = True
            elif member.key in table and not set(member.attributes) & set(noun.key):
                try:
                    read = _read(
                        noun.record, member, table[member.key], context.inside(record), lax
                    )
                except LogbookError as error:
                    self.fail(error, (*path, member.key), member.key)
                    read = {}
                record = with_values(record, read)
                filled |= dict.fromkeys(member.attributes, True)
        if old is None:
            self._missing(noun, filled, path)
        return record

    def _members(
        self,
        member: Collection,
        record: Record,
        table: dict[str, Value],
        context: Context,
        path: Path,
    ) -> Record:
        if not any(key in table for key in member.keys):
            return record
        items = self.items(member, table, path)
        noun = NOUNS[member.noun]
        siblings = getattr(record, member.attribute)
        by_key = {noun.key_of(each): each for each in siblings}
        find = partial(found_by, by_key)
        read = self.collection(member, items, find, siblings, context.inside(record))
        if member.whole:
            record = with_values(record, {member.attribute: tuple(read)})
            return with_symbols(record) if member.noun == "chart-entry" else record
        merged = by_key | {noun.key_of(each): each for each in read}
        return with_values(record, {member.attribute: tuple(merged.values())})

    def _missing(self, noun: Noun, filled: dict[str, Any], path: Path) -> None:
        for name in noun.needed:
            if name not in filled:
                each = noun.field_of(name)
                self.fail(
                    LogbookError(
                        f"{each.key} is missing", f'write {each.key} = "{each.example}" or the like'
                    ),
                    path,
                )


def _is_lax(table: dict[str, Value]) -> bool:
    return table.get(AS_LOGGED) is True


def _read(record: type, each: Field, value: Value, context: Context, lax: bool) -> dict[str, Any]:
    """Read a field, or take it word for word where it was logged so."""
    name = each.attributes[0]
    plain = _PLAIN.get(type_of(record, name)) if lax and not each.strict else None
    if plain is not None:
        return {name: plain(value, context)}
    return each.values_of(value, context)


def _part_names(table: dict[str, Value]) -> tuple[str, ...]:
    parts = [each for key in ("part", "parts") for each in _listed(table.get(key, []))]
    return tuple(
        each["name"]
        for each in parts
        if isinstance(each, dict) and isinstance(each.get("name"), str)
    )


def _listed(value: Value) -> list[Value]:
    return value if isinstance(value, list) else [value]


def _table_form(noun: Noun) -> str:
    keys = [noun.field_of(name) for name in noun.needed] or list(noun.fields[:2])
    inside = ", ".join(f'{each.key} = "{each.example}"' for each in keys)
    line = f', or the line "{noun.line.example}"' if noun.line else ""
    return f"write a table, {{ {inside} }}{line}"
