"""What the nouns' commands tell: lists, one record, and what became of it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import Any

from logbook.cli.log import opened
from logbook.cli.noun_owners import is_option
from logbook.cli.noun_place import Owner, find_place, find_record
from logbook.cli.printing import print_json, print_json_list, print_table, print_wide_table, say
from logbook.notebook.applying import StoreKnown, kind_of
from logbook.notebook.declare import Context, Noun, Record, Value
from logbook.notebook.nouns import NOUNS
from logbook.notebook.write import table_of
from logbook.plaintext import clean


def own_table(noun: Noun, record: Record, context: Context) -> dict[str, Value]:
    """A record's table as far as one edit can change it: its fields and its stated lists."""
    return table_of(noun, record, context, is_option)


def list_all(noun: Noun, whose: Mapping[str, str], *, as_json: bool = False) -> None:
    """Print all records of a noun in their owner."""
    from logbook.store.layout import SHAPES
    from logbook.store.reading import each_record

    with opened() as store, store.reading() as connection:
        owner = find_place(connection, noun.word, whose)
        if not owner.records:
            kind = kind_of(noun.word)
            held = {child.field for child in SHAPES[kind].children}
            shown = {attribute for each in noun.fields for attribute in each.attributes}
            # A table of thousands of songs does not read what stands in each of them.
            shallow = not as_json and not held & shown
            _list_top(noun, lambda: each_record(connection, kind, shallow=shallow), as_json=as_json)
            return
        records = list(owner.siblings)
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
        _print_rows(noun, lambda: records)


def _list_top(noun: Noun, read: Callable[[], Iterable[Record]], *, as_json: bool) -> None:
    """Print what hangs on nothing, which may be more than fits into memory."""
    if as_json:
        print_json_list(read())
    elif next(iter(read()), None) is None:
        say(f"no {noun.plural} yet")
    else:
        _print_rows(noun, read)


def detail_lines(
    noun: Noun, owner: Owner, records: Sequence[Record], context: Context
) -> list[str] | None:
    """The lines of a session file, for what reads best that way."""
    write_all = owner.collection.write_all
    if write_all is None or not records:
        return None
    lines = write_all(tuple(records), context)
    return [str(each) for each in lines] if all(isinstance(each, str) for each in lines) else None


def _print_rows(noun: Noun, read: Callable[[], Iterable[Record]]) -> None:
    """Print records as a table. They are read twice, since all say how wide a column is."""
    lengths = dict.fromkeys([*([] if noun.key else [""]), *(e.key for e in noun.fields)], 0)
    said: set[str] = set()
    for number, record in enumerate(read(), 1):
        for key, cell, plain in _cells(noun, record, number):
            if cell and not plain:
                said.add(key)
            lengths[key] = max(lengths[key], len(clean(cell)))
    used = [key for key in lengths if key in said]
    key_fields = [noun.field_of(name).key for name in noun.key]
    order = [key for key in used if key in key_fields] + [k for k in used if k not in key_fields]
    shown = order[:6]
    # The longest text comes last, where it may run on to another line.
    longest = max(shown, key=lengths.__getitem__, default="")
    if shown and lengths[longest] > 24:
        shown = [key for key in shown if key != longest] + [longest]

    wanted = frozenset(shown)

    def rows() -> Iterator[list[str]]:
        for number, record in enumerate(read(), 1):
            cells = {key: cell for key, cell, _ in _cells(noun, record, number, wanted)}
            yield [cells.get(key, "") for key in shown]

    headings = [key.replace("_", " ") for key in shown]
    print_wide_table(headings, rows(), [lengths[key] for key in shown])


def _cells(
    noun: Noun, record: Record, number: int, wanted: frozenset[str] | None = None
) -> Iterator[tuple[str, str, bool]]:
    """Yield what a record says: key, cell, and whether it is a yes or no that goes without saying.

    Yes and no stand beside each other where any record says one that does not. `wanted` are the
    keys of which anything is asked, None for all.
    """
    if not noun.key:
        yield "", str(number), False
    held = record.__dict__
    for each, name, usual in noun.usual:
        if wanted is not None and each.key not in wanted:
            continue
        if name:
            value = held[name]
            if value == usual:
                if each.key not in noun.key_fields:
                    if isinstance(usual, bool):
                        yield each.key, _cell(usual), True
                    continue
            elif each.write is None and type(value) in _PLAIN:
                # Most of what is said at all, in a log of hundreds of thousands of files.
                yield each.key, str(value), False
                continue
        value = each.value_of(record)
        if value is None and each.key in noun.key_fields:
            value = getattr(record, each.attributes[0])
        if value is not None:
            yield each.key, _cell(value), False
        elif isinstance(plain := getattr(record, each.attributes[0], None), bool):
            yield each.key, _cell(plain), True


_PLAIN = frozenset({str, int})


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
