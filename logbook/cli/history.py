"""`logbook history`, `undo` and `redo`: who changed what, and taking it back."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Annotated

import typer

from logbook.cli.apps import new_app
from logbook.cli.asking import confirm
from logbook.cli.log import opened
from logbook.cli.options import JsonOption, PartOption, VersionOption, YesOption
from logbook.cli.printing import (
    json_text,
    local_time,
    print_json,
    print_json_list,
    say,
    width,
)
from logbook.errors import LogbookError
from logbook.numerals import read_whole

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from logbook.store.finding import FoundRow
    from logbook.store.history import HistoryEntry, RowChange
    from logbook.store.undoing import Undone

_LONGEST = 60
_NAMELESS = frozenset((
    "vote", "recall", "photograph", "deliverable", "input_channel", "hours", "comp_piece",
    "double", "overdub", "reused", "punch_in", "role", "share",
))  # fmt: skip
"""Rows that no name tells: what they say is said of them."""
_SHOWN = 12

AnyoneOption = Annotated[
    bool, typer.Option("--anyone", help="The last ones of anybody, not only your own.")
]

history_app = new_app(
    "Show who changed what and when, the newest first: everything, or what concerns a song, a "
    "part or a take.",
    examples=(
        "logbook history",
        'logbook history "Low Water" --limit 5',
        'logbook history "Low Water" --part guitar --take 3 --wordings',
    ),
    single=True,
)
undo_app = new_app(
    "Take your own last commands back, including a removal or a load. What is taken back stays in "
    "the history, and `logbook redo` brings it back again.",
    examples=(
        "logbook undo",
        "logbook undo 3",
        "logbook undo --anyone",
        "logbook undo --command 17",
    ),
    single=True,
)
redo_app = new_app(
    "Redo what the last undo took back, so that what it took back is there again.",
    examples=("logbook redo",),
    single=True,
)
apps = {"history": history_app, "undo": undo_app, "redo": redo_app}


@history_app.command()
def history(
    song: Annotated[str, typer.Argument(metavar="[SONG]", help="One song only.")] = "",
    number: Annotated[
        str, typer.Argument(metavar="[TAKE]", help="One take of --part, or the only part.")
    ] = "",
    version: VersionOption = "",
    part: PartOption = "",
    take: Annotated[str, typer.Option("--take", metavar="N", help="One take of the part.")] = "",
    session: Annotated[
        str, typer.Option("--session", "-s", metavar="NAME", help="The take's session.")
    ] = "",
    limit: Annotated[
        int, typer.Option("--limit", "-n", min=1, help="How many commands to go back.")
    ] = 20,
    wordings: Annotated[
        bool, typer.Option("--wordings", help="Every wording the notes have had.")
    ] = False,
    as_json: JsonOption = False,
) -> None:
    """Show who changed what, and when."""
    from logbook.store.history import changes_of, commands, first_changes
    from logbook.store.history import wordings as read_wordings

    with opened() as store, store.reading() as connection:
        found = _found(connection, song, version, part, take or number, session)
        if wordings:
            if found is None:
                raise LogbookError(
                    "it is not clear whose notes are meant", "name a song, a part or a take"
                )
            found_wordings = read_wordings(connection, found)
            if as_json:
                print_json([each._asdict() for each in found_wordings])
                return
            for each in found_wordings:
                say(f"{local_time(each.at)}  {each.who}: {each.text or '(nothing)'}")
            if not found_wordings:
                say("no notes were ever written there")
            return
        entries = commands(connection, found, limit=limit)
        if as_json:
            _print_data((each, changes_of(connection, each, found)) for each in entries)
            return
        if not entries:
            say("nothing has been changed yet")
        for entry in entries:
            changes, more = first_changes(connection, entry, _SHOWN, found)
            say("\n".join(_entry_lines(entry, changes, more)))


@undo_app.command()
def undo(
    count: Annotated[
        int, typer.Argument(metavar="[N]", min=1, help="How many commands to take back.")
    ] = 1,
    command: Annotated[
        int | None,
        typer.Option("--command", "-c", metavar="NUMBER", help="One command, by its number."),
    ] = None,
    anyone: AnyoneOption = False,
    yes: YesOption = False,
) -> None:
    """Take your last commands back."""
    from logbook.store.undoing import named, next_undone, undo_command
    from logbook.store.undoing import undo as take_back

    with opened() as store:
        if command is not None:
            _ask_of_others([named(store, command)], yes)
            _say_undone(undo_command(store, command), "took back")
            return
        coming = next_undone(store, count, anyone=anyone)
        if not _just_now(coming[-1].at):
            for each in coming:
                say(f"taking back {_in_words(each)}")
        if anyone:
            whose = ", ".join(dict.fromkeys(each.who for each in coming))
            confirm(f"this takes back {_commands(len(coming))} of {whose}", yes)
        elif count > 10:
            confirm(f"this takes {count} commands back", yes)
        shown = [each.id for each in coming]
        _say_undone(take_back(store, count, anyone=anyone, expected=shown), "took back")


@redo_app.command()
def redo(anyone: AnyoneOption = False, yes: YesOption = False) -> None:
    """Take your last undo back."""
    from logbook.store.undoing import next_redone
    from logbook.store.undoing import redo as bring_back

    with opened() as store:
        coming = next_redone(store, anyone=anyone)
        _ask_of_others([coming], yes)
        _say_undone(bring_back(store, anyone=anyone, expected=coming.id), "took back the undo")


def _ask_of_others(coming: Sequence[Undone], yes: bool) -> None:
    """Ask before what somebody else did is taken back."""
    from logbook.store.store import whoami
    from logbook.store.targets import storable

    others = [each for each in coming if each.who != storable(whoami())]
    if others:
        confirm(f"this takes back what another did, {_in_words(others[0])}", yes)


def _found(
    connection: Connection, song: str, version: str, part: str, take: str, session: str
) -> FoundRow | None:
    """Return what the history is asked of, None for all of it."""
    from logbook.store.finding import LogPlace, find, find_owner, find_take
    from logbook.store.here import read_here

    if not song and (version or part or take):
        here = read_here(connection)
        song, version, part = here.song, version or here.version, part or here.part
    if not song:
        return None
    place = LogPlace(song, version, part, session=session)
    if take:
        if not take.isdecimal():
            raise LogbookError(f'"{take}" is not a take', "write its number")
        return find_take(connection, place._replace(take=read_whole(take)))
    if part:
        return find_owner(connection, "part", place)
    if version:
        return find_owner(connection, "version", place)
    return find(connection, "song", song)


def _say_undone(undone: list[Undone], what: str) -> None:
    for each in undone:
        say(f"{what} {_in_words(each)}")


def _in_words(each: Undone) -> str:
    return f"{each.id}: {each.command} ({each.who}, {local_time(each.at)})"


def _commands(count: int) -> str:
    return f"{count} command{'' if count == 1 else 's'}"


def _just_now(at: str) -> bool:
    """Whether a moment of the history is not a second old."""
    import datetime

    age = datetime.datetime.now(datetime.UTC) - datetime.datetime.fromisoformat(at)
    return datetime.timedelta(0) <= age < datetime.timedelta(seconds=1)


def _entry_lines(entry: HistoryEntry, changes: Sequence[RowChange], more: int) -> list[str]:
    state = ""
    if entry.undone_by is not None:
        state = f" (taken back by {entry.undone_by})"
    lines = [f"{entry.id}  {local_time(entry.at)}  {entry.who}: {entry.command}{state}"]
    for change in changes:
        lines += _change_lines(change)
    if more:
        lines.append(f"   and {more} more row{'' if more == 1 else 's'}")
    return lines


def _change_lines(change: RowChange) -> list[str]:
    from textwrap import wrap

    head = f"{change.action} {change.label}"
    if change.action == "changed":
        fields = [f"{f.name}: {_shown(f.old)} -> {_shown(f.new)}" for f in change.fields]
        head += "; " + "; ".join(fields) if fields else ""
    elif change.kind in _NAMELESS:
        said = [str(f.old if f.new is None else f.new) for f in change.fields]
        head += f": {_shown(', '.join(filter(None, said)))}" if said else ""
    return wrap(head, width(), initial_indent="   ", subsequent_indent="     ")


def _shown(value: object) -> str:
    if value in (None, ""):
        return "nothing"
    text = str(value)
    return text if len(text) <= _LONGEST else text[: _LONGEST - 3] + "..."


def _print_data(entries: Iterable[tuple[HistoryEntry, Iterable[RowChange]]]) -> None:
    """Print commands as JSON, row by row: one command may have touched a million."""
    lead = "["
    for entry, changes in entries:
        print(f"{lead}\n  {{")
        for name, value in entry._asdict().items():
            if name != "changes":
                print(f'    "{name}": {json_text(value)},')
        print('    "changes": ', end="")
        print_json_list(({**c._asdict(), "fields": c.fields_data()} for c in changes), "    ")
        print("  }", end="")
        lead = ","
    print("[]" if lead == "[" else "\n]")
