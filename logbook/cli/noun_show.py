"""What the nouns' commands tell: lists, one record, and what became of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from logbook.cli.log import opened
from logbook.cli.noun_owners import is_option
from logbook.cli.noun_place import Owner, find_place, find_record
from logbook.cli.printing import print_json, print_table, say
from logbook.notebook.applying import StoreKnown, kind_of
from logbook.notebook.declare import Context, Noun, Record, Value
from logbook.notebook.nouns import NOUNS
from logbook.notebook.write import table_of


def own_table(noun: Noun, record: Record, context: Context) -> dict[str, Value]:
    """A record's table as far as one edit can change it: its fields and its stated lists."""
    return table_of(noun, record, context, is_option)


def list_all(noun: Noun, whose: Mapping[str, str], *, as_json: bool = False) -> None:
    """Print all records of a noun in their owner."""
    from logbook.store.layout import SHAPES
    from logbook.store.reading import read_list, read_rows

    with opened() as store, store.reading() as connection:
        owner = find_place(connection, noun.word, whose)
        if owner.records:
            records = list(owner.siblings)
        else:
            kind = kind_of(noun.word)
            held = {child.field for child in SHAPES[kind].children}
            shown = {attribute for each in noun.fields for attribute in each.attributes}
            # A table of thousands of songs does not read what stands in each of them.
            read = read_rows if as_json or held & shown else read_list
            records = [row.record for row in read(connection, kind)]
        if as_json:
            print_json(records)
            return
        context = owner.context(StoreKnown(connection))
        lines = detail_lines(noun, owner, records, context)
    heading = " / ".join(owner.titles)
    if heading:
        say(heading)
    if not records:
        say(f"no {noun.plural} yet")
    elif lines is not None:
        for line in lines:
            say(f"  {line}")
    else:
        _print_rows(noun, records)


def detail_lines(
    noun: Noun, owner: Owner, records: Sequence[Record], context: Context
) -> list[str] | None:
    """The lines of a session file, for what reads best that way."""
    write_all = owner.collection.write_all
    if write_all is None or not records:
        return None
    lines = write_all(tuple(records), context)
    return [str(each) for each in lines] if all(isinstance(each, str) for each in lines) else None


def _print_rows(noun: Noun, records: Sequence[Record]) -> None:
    rows = []
    for number, record in enumerate(records, 1):
        row = {} if noun.key else {"": str(number)}
        for each in noun.fields:
            value = each.value_of(record)
            if value is None and set(each.attributes) & set(noun.key):
                value = getattr(record, each.attributes[0])
            row[each.key] = _cell(value)
        rows.append(row)
    used = [key for key in rows[0] if any(row[key] for row in rows)]
    for each in noun.fields:
        if each.key in used:  # yes and no stand beside each other, though one goes without saying
            for row, record in zip(rows, records, strict=True):
                plain = getattr(record, each.attributes[0], None)
                if not row[each.key] and isinstance(plain, bool):
                    row[each.key] = _cell(plain)
    key_fields = [noun.field_of(name).key for name in noun.key]
    order = [key for key in used if key in key_fields] + [k for k in used if k not in key_fields]
    shown = order[:6]
    # The longest text comes last, where it may run on to another line.
    longest = max(shown, key=lambda key: max(len(row[key]) for row in rows), default="")
    if shown and max(len(row[longest]) for row in rows) > 24:
        shown = [key for key in shown if key != longest] + [longest]
    print_table(
        [key.replace("_", " ") for key in shown], [[row[key] for key in shown] for row in rows]
    )


def _cell(value: Value) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        return ", ".join(map(str, value))
    return str(value)


def show(noun: Noun, name: str, whose: Mapping[str, str], *, as_json: bool = False) -> None:
    """Print all that is logged of one record, and how much stands in it."""
    with opened() as store, store.reading() as connection:
        owner = find_place(connection, noun.word, whose)
        record, found = find_record(connection, noun, owner, name)
        context = owner.context(StoreKnown(connection))
        table = own_table(noun, record, context)
    if as_json:
        print_json({"revision": found.revision if found else None, "record": record})
        return
    say(called(noun, owner, record))
    rows = []
    for key, value in table.items():
        items = value if isinstance(value, list) else [value]
        for index, each in enumerate(items):
            rows.append([key.replace("_", " ") if index == 0 else "", _cell(each)])
    for each in noun.collections:
        held = getattr(record, each.attribute)
        if held and each.keys[0] not in table:
            inner = NOUNS[each.noun]
            names = ", ".join(inner.title_of(one) for one in held)
            rows.append([inner.plural, names])
    if found:
        rows.append(["revision", str(found.revision)])
    print_table(["", ""], rows)


def called(noun: Noun, owner: Owner, record: Record) -> str:
    """Return what a record is called, with where it stands."""
    name = noun.title_of(record)
    word = noun.word.replace("-", " ")
    own = name if name.startswith(f"{word} ") else f"{word} {name}"
    above = " / ".join(owner.titles)
    return f"{own} ({above})" if above else own


def change_data(noun: Noun, owner: Owner, action: str, record: Record) -> dict[str, Any]:
    """Return what became of a record as data."""
    place = [*owner.titles, noun.title_of(record)]
    return {"action": action, "noun": noun.word, "place": place, "record": record}


def names_for_completion(noun: Noun) -> list[str]:
    """Return what a noun's records are called, for the shell to complete; none in doubt."""
    from logbook.errors import LogbookError
    from logbook.store.finding import names_in

    try:
        with opened(create=False) as store, store.reading() as connection:
            owner = find_place(connection, noun.word, {})
            if not owner.records:
                return names_in(connection, kind_of(noun.word))
            return [noun.title_of(each) for each in owner.siblings]
    except LogbookError:
        return []
