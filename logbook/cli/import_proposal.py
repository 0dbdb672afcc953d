"""What `logbook import` could not tell: proposed, edited, confirmed by one key, and hung."""

from __future__ import annotations

import os
import shlex
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from logbook.cli.log import settings
from logbook.cli.paging import let_through
from logbook.cli.printing import remark, say
from logbook.errors import LogbookError

if TYPE_CHECKING:
    from logbook.importing.matching import ImportOptions
    from logbook.importing.proposal_text import FileGroup
    from logbook.importing.proposing import Proposal
    from logbook.store.store import Store

HEADING = """\
# What is in {folder} and is not attached to anything yet, surest first. Change what is
# wrong, take out what is to stay detached (or put a # before it), save, and close; the rest is
# attached as one change.
# song | version | part | session | take | microphone = file ; file
# Of several parts: drums + bass. Of a whole session: | | | session | | file
"""


def settle(
    store: Store,
    folder: Path,
    asked: ImportOptions,
    *,
    show: bool,
    edit: bool,
    file: str,
    yes: bool,
    sure: float,
) -> None:
    """Show the proposal, let it be edited, take an edited one, or all guesses that are sure."""
    from logbook.importing.proposal_text import read_groups
    from logbook.importing.proposing import propose

    if file:
        text = sys.stdin.read() if file == "-" else Path(file).read_text(encoding="utf-8")
        _hang(store, folder, read_groups(text))
        return
    proposal = propose(store, folder, asked)
    if show:
        say(proposal_text(proposal, folder))
    elif edit:
        _edit(store, folder, proposal)
    elif yes:
        _hang(store, folder, _sure_groups(proposal, sure))
    elif proposal.groups:
        _offer(store, folder, proposal, sure)


def proposal_text(proposal: Proposal, folder: Path) -> str:
    """The proposal as the text that is edited."""
    from logbook.importing.proposal_text import write_group

    lines = [HEADING.format(folder=folder).rstrip()]
    lines += [write_group(each.group) for each in proposal.groups]
    lines += [
        f"# nearly {other}, {how}: {name}" if how else f"# copy of {other}: {name}"
        for name, other, how in proposal.copies
    ]
    if proposal.untold:
        lines.append("# Nothing tells what these are:")
        lines += [f"# song | version | part | session | take | {name}" for name in proposal.untold]
    return "\n".join(lines)


def _sure_groups(proposal: Proposal, sure: float) -> list[FileGroup]:
    return [each.group for each in proposal.groups if each.sure >= sure]


def _hang(store: Store, folder: Path, groups: Sequence[FileGroup]) -> None:
    from logbook.importing.proposing import hang_groups

    if not groups:
        say("no file was attached")
        return
    with store.change(settings.command or "import") as change:
        count = hang_groups(change, folder, groups)
    takes = f"{len(groups)} take{'' if len(groups) == 1 else 's'}"
    say(f"{count} file{'' if count == 1 else 's'} attached to {takes}; logbook undo takes it back")


def _offer(store: Store, folder: Path, proposal: Proposal, sure: float) -> None:
    """Let one key confirm, or say how where there is no terminal."""
    groups = _sure_groups(proposal, sure)
    files = sum(len(group.files) for group in groups)
    whole = sum(len(each.group.files) for each in proposal.groups)
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        remark(
            f"{whole} more can be proposed: logbook import {folder} --propose shows them, --edit"
            f" lets you change them, --yes attaches the {files} that are at least {sure:.0%} sure"
        )
        return
    say()
    say(proposal_text(proposal, folder))
    import typer

    let_through()
    remark(f"y attaches the {files} at least {sure:.0%} sure, e edits, any other key leaves them")
    key = typer.getchar().casefold()
    if key == "y":
        _hang(store, folder, groups)
    elif key == "e":
        _edit(store, folder, proposal)


def _edit(store: Store, folder: Path, proposal: Proposal) -> None:
    """Let the proposal be edited, and hang what it says then; a wrong one stays in its file."""
    from logbook.importing.proposal_text import read_groups

    editor = os.environ.get("VISUAL") or os.environ.get("EDITOR") or "vi"
    handle, name = tempfile.mkstemp(prefix="logbook-", suffix=".txt")
    with os.fdopen(handle, "w", encoding="utf-8") as stream:
        stream.write(proposal_text(proposal, folder) + "\n")
    let_through()
    try:
        done = subprocess.run([*shlex.split(editor), name], check=False)
    except (OSError, ValueError) as error:
        raise LogbookError(
            f"the editor {editor} cannot be started ({error})", f"the proposal is in {name}"
        ) from error
    if done.returncode:
        raise LogbookError(
            "the editor ended with an error; nothing was attached", f"the proposal is in {name}"
        )
    try:
        _hang(store, folder, read_groups(Path(name).read_text(encoding="utf-8")))
    except LogbookError:
        remark(f"what you wrote is kept in {name}: --proposal {name} takes it when it is fixed")
        raise
    Path(name).unlink(missing_ok=True)
