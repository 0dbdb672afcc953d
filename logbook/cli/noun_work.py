"""What the nouns' commands do: read what was said, put it into the log, and tell."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from logbook.cli.asking import confirm
from logbook.cli.first_needed import see_to_place
from logbook.cli.log import changing, opened, settings
from logbook.cli.noun_form import chart_namesakes, put_chart_line, restate_form, state_list
from logbook.cli.noun_place import Owner, find_place, find_record
from logbook.cli.noun_show import called, change_data, detail_lines, own_table
from logbook.cli.printing import print_json, remark, say, shell_word
from logbook.cli.same_again import capo_kept, part_begun_like, song_begun_like
from logbook.errors import LogbookError
from logbook.names import quoted
from logbook.notebook.applying import StoreKnown
from logbook.notebook.declare import AllRead, Context, Noun, Record, Value
from logbook.notebook.read import blank, read_fields
from logbook.notebook.report import field_changes
from logbook.notebook.working_copy import found_by
from logbook.notebook.write import fields_table
from logbook.records import ChartEntry

if TYPE_CHECKING:
    from logbook.store.changing import Change
    from logbook.store.finding import FoundRow


# Adding


def add(
    noun: Noun,
    words: Sequence[str],
    options: Mapping[str, Any],
    whose: Mapping[str, str],
    folder: str,
    *,
    as_json: bool = False,
    like: str = "",
    only: Sequence[str] = (),
) -> None:
    """Add one record, or as many as a line says; a song or part may be begun `like` another."""
    with changing() as (_, change):
        see_to_place(change, noun.word, whose)
        owner = find_place(change.connection, noun.word, whose)
        known = StoreKnown(change.connection)
        context = owner.context(known, folder)
        if noun.word == "chart-entry" and words and not options:
            put_chart_line(change, owner, " ".join(words), context, as_json=as_json)
            return
        said = _several_voicings(words) if noun.word == "voicing" and not options else [words]
        records = [
            each for one in said for each in _read_records(noun, owner, one, options, context)
        ]
        for each in records:
            _not_there_yet(noun, owner, each, known)
        if noun.word == "photograph":
            records = list(map(_looked_at, records))
        put_all(change, owner, noun, records, known)
        if like and noun.word == "song":
            song_begun_like(change, records[0], like)
        elif like:
            part_begun_like(change, owner, records[0], like, only)
        elif only:
            raise LogbookError("--only says where a part --like another plays", "add --like PART")
    if as_json:
        print_json([change_data(noun, owner, "added", each) for each in records])
        return
    lines = detail_lines(noun, owner, records, context)
    final = next((each.name for each in owner.siblings if getattr(each, "final", False)), "")
    for text in lines if lines is not None else [called(noun, owner, each) for each in records]:
        say(f"added {text}")
    if noun.word == "comp" and final and not records[0].final:
        say(
            f"{final} is still the final comp; to have {records[0].name} heard:"
            f" logbook comp edit {shell_word(records[0].name)} --final"
        )


def _looked_at(photograph: Record) -> Record:
    """Take in the file of a new photograph, where it is there."""
    from logbook.importing.photographs import taken_in

    try:
        return photograph if photograph.digest else taken_in(photograph)
    except LogbookError as error:
        remark(f"{error.problem}; once it is there: logbook photograph read")
        return photograph


def _several_voicings(words: Sequence[str]) -> list[Sequence[str]]:
    """Part several voicings with commas between: "Bm7 x24232, Gmaj7 3x443x"."""
    pieces = [each.split() for each in " ".join(words).split(", ")]
    if len(pieces) > 1 and all(len(each) > 1 for each in pieces):
        return list(pieces)
    return [words]


def _read_records(
    noun: Noun,
    owner: Owner,
    words: Sequence[str],
    options: Mapping[str, Any],
    context: Context,
) -> list[Record]:
    """Read what was said into records: from a line, from a name and options, or from both."""
    table: dict[str, Value] = dict(options)
    labelled = owner.collection.labelled
    named = len(noun.key) == 1 and noun.key[0] in ("name", "title", "label")
    key = noun.field_of(noun.key[0]).key if noun.key else ""
    body = " ".join(words)
    if labelled or named:
        if words:
            table[key] = words[0] if labelled else body
        line = " ".join(words[1:]) if labelled else ""
    else:
        line = body
    if line and noun.word == "section" and {"start", "length"} & set(table):
        # What is no range is its name: section add verse --start 5 --length 8.
        table, line = {"name": line, **table}, ""
    if line and owner.collection.read_all is not None:
        return _with_options(noun, _new_lines(owner, line, context), table, context)
    base = None
    if line:
        if noun.line is None:
            raise LogbookError(f"{quoted(line)} cannot be read", "use options")
        given = noun.line.read(line, context.inside(blank(noun)))
        base = replace(blank(noun), **given)
    if "session" not in table and noun.word == "take":
        table["session"] = owner.here.session
    if noun.word == "comp" and "final" not in table:
        # A second comp does not become the one that is heard unasked.
        table["final"] = not any(each.final for each in owner.siblings)
    return [read_fields(noun, table, context, base)]


def _with_options(
    noun: Noun, records: list[Record], table: dict[str, Value], context: Context
) -> list[Record]:
    return [read_fields(noun, table, context, each) for each in records] if table else records


def _new_lines(owner: Owner, line: str, context: Context) -> list[Record]:
    """Read a line among what already exists; return what it brings."""
    assert owner.collection.read_all is not None
    read: AllRead = owner.collection.read_all([*owner.siblings, line], context)
    if read.errors:
        raise read.errors[0][1]
    left = list(owner.siblings)
    new = []
    for each in read.records:
        if each in left:
            left.remove(each)
        else:
            new.append(each)
    if not new:
        raise LogbookError(f"{quoted(line)} adds nothing new", "it is in the log already")
    return new


def _not_there_yet(noun: Noun, owner: Owner, record: Record, known: StoreKnown) -> None:
    if not noun.key:
        return
    key = noun.key_of(record)
    namesake = found_by({noun.key_of(each): each for each in owner.siblings}, key)
    there = namesake is not None and not _only_rests(namesake)
    if not owner.records:
        there = known.find(noun.word, key[0] if len(key) == 1 else key) is not None
    if there:
        name = noun.title_of(record)
        raise LogbookError(
            f"{noun.word} {quoted(name)} already exists",
            "give it another name, or change the one that is there with edit",
        )


def _only_rests(record: Record) -> bool:
    """Whether a record is a plain rest of a chart, which gives way to what is played there."""
    return isinstance(record, ChartEntry) and not record.voicing and not record.pattern


def put_all(
    change: Change, owner: Owner, noun: Noun, records: Sequence[Record], known: StoreKnown
) -> None:
    """Put new records where they belong, with the usual tunings they named."""
    from logbook.store.writing import put

    for implied in known.implied:
        put(change, implied)
    if owner.listed:
        keys = [noun.key_of(each) for each in records] if noun.key else []
        kept = [each for each in owner.siblings if not noun.key or noun.key_of(each) not in keys]
        state_list(change, owner, [*kept, *records])
        if noun.word == "section":
            chart_namesakes(change, owner, (*kept, *records), records)
        return
    for each in records:
        put(change, each, owner.place)


# Editing


def edit(
    noun: Noun,
    name: str,
    options: Mapping[str, Any],
    whose: Mapping[str, str],
    folder: str,
    revision: int | None = None,
    *,
    as_json: bool = False,
    keep: str = "",
) -> None:
    """Change one record by options, or in the person's editor where there are none."""
    if keep and "capo" not in options:
        raise LogbookError("--keep says what stays when the capo moves", "add --capo 2")
    if options:
        _change(noun, name, dict(options), whose, folder, revision, as_json=as_json, keep=keep)
        return
    from logbook.cli.noun_editor import edited

    with opened() as store, store.reading() as connection:
        owner = find_place(connection, noun.word, whose)
        record, found = find_record(connection, noun, owner, name)
        before = own_table(noun, record, owner.context(StoreKnown(connection), folder))
    settings.command += " (in the editor)"
    with edited(noun, before, f"{noun.word} {noun.title_of(record)}") as table:
        if table == before:
            say("nothing was changed")
            return
        if revision is None and found is not None:
            revision = found.revision
        table = _with_emptied(noun, before, table)
        _change(noun, name, table, whose, folder, revision, as_json=as_json)


def _change(
    noun: Noun,
    name: str,
    table: dict[str, Value],
    whose: Mapping[str, str],
    folder: str,
    revision: int | None,
    *,
    as_json: bool,
    keep: str = "",
) -> None:
    with changing() as (_, change):
        owner = find_place(change.connection, noun.word, whose)
        record, found = find_record(change.connection, noun, owner, name)
        known = StoreKnown(change.connection)
        new = read_fields(noun, table, owner.context(known, folder), record)
        if keep:
            capo_kept(change, owner, record, new, keep)
        _replace(change, owner, noun, record, new, found, revision, known, table)
    changes = field_changes(noun, record, new)
    if as_json:
        print_json(change_data(noun, owner, "changed" if changes else "left", new))
        return
    what = "; ".join(f"{each.field} {each.old} -> {each.new}" for each in changes)
    if changes:
        say(f"changed {called(noun, owner, record)}: {what}")
    else:
        say(f"left {called(noun, owner, record)} as it was")


def _with_emptied(
    noun: Noun, before: dict[str, Value], after: dict[str, Value]
) -> dict[str, Value]:
    """What was taken out of the text in the editor is meant to be empty."""
    usual = fields_table(noun, blank(noun), Context(known=_Nothing()))
    emptied: dict[str, Value] = {}
    for key in before:
        if key not in after:
            collection = next((each for each in noun.collections if key in each.keys), None)
            emptied[key] = [] if collection else usual.get(key, _default(noun, key))
    return {**after, **emptied}


def _default(noun: Noun, key: str) -> Value:
    from logbook.notebook.declare import default_of

    field = next((each for each in noun.fields if each.key == key), None)
    value = default_of(noun.record, field.attributes[0]) if field else ""
    return "" if value is None or not isinstance(value, str | int | float | bool) else value


class _Nothing:
    """An empty log to look things up in."""

    def names(self, noun: str) -> Sequence[str]:
        """Return nothing."""
        return ()

    def find(self, noun: str, name: str) -> Record | None:
        """Return nothing."""
        return None

    def add(self, noun: str, record: Record) -> None:
        """Take nothing in."""


def _replace(
    change: Change,
    owner: Owner,
    noun: Noun,
    old: Record,
    new: Record,
    found: FoundRow | None,
    revision: int | None,
    known: StoreKnown,
    table: Mapping[str, Value],
) -> None:
    from logbook.store.editing import edit as edit_row
    from logbook.store.writing import put

    for implied in known.implied:
        put(change, implied)
    if found is None:
        if revision is not None:
            raise LogbookError(
                f"a {noun.word} has no revision of its own", "leave --if-revision out"
            )
        replaced = [new if each is old or each == old else each for each in owner.siblings]
        state_list(change, owner, replaced)
        return
    if noun.word == "version" and old.form and {"form", "section"} & set(table):
        new = restate_form(change, owner, old, new)
        table = {key: value for key, value in table.items() if key not in ("form", "section")}
    attributes = [name for each in noun.fields if each.key in table for name in each.attributes] + [
        each.attribute for each in noun.collections if set(each.keys) & set(table)
    ]
    edit_row(change, found, {name: getattr(new, name) for name in attributes}, revision)


# Removing


def remove(noun: Noun, name: str, whose: Mapping[str, str], *, yes: bool) -> None:
    """Take one record out, once somebody has heard what goes with it and said yes."""
    from logbook.store.errors import HangsOnError
    from logbook.store.removing import hanging, listed
    from logbook.store.removing import remove as remove_row

    with opened() as store:
        with store.change(settings.command) as change:
            owner = find_place(change.connection, noun.word, whose)
            record, found = find_record(change.connection, noun, owner, name)
            hung = hanging(change, found) if found else None
        who = called(noun, owner, record)
        if hung is not None and hung.uses:
            raise HangsOnError(
                f"{who} is used by {hung.used_by}",
                "change those first; nothing was removed",
                hung.counts,
                hung.uses,
            )
        with_it = f", and with it {listed(hung.counts)}" if hung and hung.counts else ""
        confirm(f"this removes {who}{with_it}", yes)
        with store.change(settings.command) as change:
            owner = find_place(change.connection, noun.word, whose)
            record, found = find_record(change.connection, noun, owner, name)
            if found is not None:
                remove_row(change, found, confirmed=True)
            else:
                state_list(change, owner, [each for each in owner.siblings if each != record])
    say(f"removed {who}{with_it}; logbook undo brings it back")
