"""Taking commands back, as new history.

Conventions
-----------
The inverse of every row's change is applied, the last one first: what came goes, what changed
changes back, what went comes back with its number. Nothing is forced: when a later command has
touched the same rows, undo says which and changes nothing. `undo` takes back one's own commands
and skips those already taken back and the undos themselves; `redo` takes one's own last undo
back. Somebody else's are taken back only where that is asked for.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from itertools import groupby
from typing import Any, NamedTuple

from sqlalchemy import select
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from logbook.errors import LogbookError
from logbook.store.changing import Change, columns_of
from logbook.store.models import MODELS
from logbook.store.models.history import ChangeRow, CommandRow
from logbook.store.removing import listed, pointing_at, rows_pointing
from logbook.store.store import Store, whoami
from logbook.store.targets import storable


class Undone(NamedTuple):
    """A command that was taken back."""

    id: int
    at: str
    who: str
    command: str


def undo(
    store: Store,
    count: int = 1,
    *,
    who: str | None = None,
    anyone: bool = False,
    expected: Sequence[int] | None = None,
) -> list[Undone]:
    """Take back the last `count` commands, the newest first, in one transaction.

    They are those of `who` (as for `Store.change`) unless `anyone` is meant. `expected` are the
    numbers of the commands that a person was shown. Raises LogbookError, changing nothing, if
    there are fewer, if others have come meanwhile, or if a later change is in the way.
    """
    if count < 1:
        raise LogbookError("nothing to take back", "say how many commands, 1 or more")
    with store.change(f"undo {count}" if count > 1 else "undo", who=who) as change:
        commands = _last(change.session, count, None if anyone else change.who)
        if expected is not None and [command.id for command in commands] != list(expected):
            raise LogbookError(
                "another command has come meanwhile", "look again; nothing was changed"
            )
        return _take_back(change, commands)


def next_undone(
    store: Store, count: int = 1, *, who: str | None = None, anyone: bool = False
) -> list[Undone]:
    """What `undo` would take back now; raises LogbookError where it would find too few."""
    with store.reading() as connection, Session(connection) as session:
        by = None if anyone else storable(who or whoami())
        return [_undone(command) for command in _last(session, count, by)]


def _last(session: Session, count: int, who: str | None) -> list[CommandRow]:
    """The last commands that stand, of one person or (None) of anybody."""
    standing = select(CommandRow).where(CommandRow.undoes == "", CommandRow.undone_by.is_(None))
    own = standing if who is None else standing.where(CommandRow.who == who)
    commands = list(session.scalars(own.order_by(CommandRow.id.desc()).limit(count)))
    left = len(commands)
    if left == count:
        return commands
    problem = (
        f"there {'is' if left == 1 else 'are'} {f'only {left}' if left else 'no'}"
        f" command{'' if left == 1 else 's'}{'' if who is None else f' of {who}'} to take back"
    )
    other = session.scalars(standing.order_by(CommandRow.id.desc()).limit(1)).first()
    if left:
        raise LogbookError(problem, f"give `undo {left}`")
    if who is not None and other is not None:
        raise LogbookError(
            problem,
            f"the last one is {other.who}'s ({other.command}); `undo --anyone` takes that back",
        )
    raise LogbookError(problem, "nothing was changed")


def redo(
    store: Store, *, who: str | None = None, anyone: bool = False, expected: int | None = None
) -> list[Undone]:
    """Take back the last undo that stands, so that what it took back is there again.

    It is the last one of `who` unless `anyone` is meant. `expected` is the number of the undo
    that a person was shown. Raises LogbookError, changing nothing, where there is none, or if
    another has come meanwhile.
    """
    with store.change("redo", who=who) as change:
        last = _last_undo(change.session, None if anyone else change.who)
        if expected not in (None, last.id):
            raise LogbookError(
                "another command has come meanwhile", "look again; nothing was changed"
            )
        return _take_back(change, [last])


def next_redone(store: Store, *, who: str | None = None, anyone: bool = False) -> Undone:
    """The undo that `redo` would take back now; raises LogbookError where there is none."""
    with store.reading() as connection, Session(connection) as session:
        return _undone(_last_undo(session, None if anyone else storable(who or whoami())))


def _last_undo(session: Session, who: str | None) -> CommandRow:
    statement = select(CommandRow).where(
        CommandRow.undoes == "undo", CommandRow.undone_by.is_(None)
    )
    if who is not None:
        statement = statement.where(CommandRow.who == who)
    last = session.scalars(statement.order_by(CommandRow.id.desc()).limit(1)).first()
    if last is None:
        whose = "" if who is None else f" of {who}"
        raise LogbookError(f"there is no undo{whose} to take back", "nothing was changed")
    return last


def named(store: Store, command_id: int) -> Undone:
    """A command of the history by its number; raises LogbookError where there is none."""
    with store.reading() as connection, Session(connection) as session:
        return _undone(_by_number(session, command_id))


def _by_number(session: Session, command_id: int) -> CommandRow:
    command = session.get(CommandRow, command_id)
    if command is None:
        raise LogbookError(
            f"there is no command {command_id} in the history", "`logbook history` lists them"
        )
    return command


def undo_command(store: Store, command_id: int, *, who: str | None = None) -> list[Undone]:
    """Take back one command by its number in the history, also an undo."""
    with store.change(f"undo --command {command_id}", who=who) as change:
        command = _by_number(change.session, command_id)
        if command.undone_by is not None:
            raise LogbookError(
                f"command {command_id} was already taken back by {command.undone_by}",
                f"take {command.undone_by} back to have it again",
            )
        if command.undoes == "redo":
            raise LogbookError(
                f"command {command_id} brought other commands back",
                "take those back by their own numbers",
            )
        return _take_back(change, [command])


def _take_back(change: Change, commands: list[CommandRow]) -> list[Undone]:
    for command in commands:
        statement = select(ChangeRow).where(ChangeRow.command_id == command.id)
        changes = list(change.session.scalars(statement.order_by(ChangeRow.id.desc())))
        try:
            # Rows of one kind go out together; the order between kinds matters.
            for (kind, action), group in groupby(changes, lambda each: (each.kind, each.action)):
                together = list(group)
                if action == "added":
                    _nothing_below(change, command, kind, together)
                for each in together:
                    _invert(change, command, each)
                    if action == "changed":
                        change.session.flush()
                change.session.flush()
        except IntegrityError as error:
            raise LogbookError(
                f"command {command.id} ({command.command}) cannot be taken back: a later change"
                " is in the way",
                "take that one back first; nothing was changed",
            ) from error
    for command in commands:
        _mark(change, command)
    return [_undone(each) for each in commands]


def _undone(command: CommandRow) -> Undone:
    return Undone(command.id, command.at, command.who, command.command)


def _nothing_below(
    change: Change, command: CommandRow, kind: str, changes: list[ChangeRow]
) -> None:
    """See that nothing was hung since on rows that are about to go."""
    ids = {each.row_id for each in changes}
    for table, key in pointing_at(kind):
        hung = rows_pointing(change, table, key, ids)
        if hung:
            raise _in_the_way(
                command,
                changes[0],
                listed({table.name: len(hung)})
                + (" belongs to it" if len(hung) == 1 else " belong to it"),
            )


def _mark(change: Change, command: CommandRow) -> None:
    """Say in the history which command took which back."""
    undoing = change.open_command(undoes="redo" if command.undoes else "undo")
    command.undone_by = undoing.id
    if command.undoes:
        # An undo that is taken back no longer stands between its commands and the next undo.
        taken = select(CommandRow).where(CommandRow.undone_by == command.id)
        for each in change.session.scalars(taken):
            each.undone_by = None
    change.session.flush()


def _invert(change: Change, command: CommandRow, each: ChangeRow) -> None:
    model: Any = MODELS[each.kind]
    row: Any = change.session.get(model, each.row_id)
    before = json.loads(each.before) if each.before else {}
    after = json.loads(each.after) if each.after else {}
    if each.action == "removed":
        if row is not None:
            raise _in_the_way(command, each, "something else has its number")
        if "revision" in before:
            before["revision"] += 1
        change.session.add(model(id=each.row_id, **before))
        return
    if row is None:
        raise _in_the_way(command, each, "it was removed since")
    now = columns_of(row)
    after.pop("revision", None)
    differing = sorted(name for name, value in after.items() if now.get(name) != value)
    if each.action == "added":
        # What the history does not say of a new row was empty.
        later = (name for name, value in now.items() if value not in (None, ""))
        differing += sorted(name for name in later if name not in after and name != "revision")
    if differing:
        raise _in_the_way(command, each, f"its {differing[0].removesuffix('_id')} changed since")
    if each.action == "added":
        change.session.delete(row)
    else:
        for name, value in before.items():
            setattr(row, name, value)


def _in_the_way(command: CommandRow, each: ChangeRow, why: str) -> LogbookError:
    return LogbookError(
        f"command {command.id} ({command.command}) cannot be taken back: a later change is in the"
        f" way of {each.label}: {why}",
        "take that one back first; nothing was changed",
    )
