"""`logbook backup`, `restore`, `export` and `import-log`: the log, put aside and carried over."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from logbook.cli.apps import new_app
from logbook.cli.asking import confirm
from logbook.cli.forms import refuse_other_forms
from logbook.cli.log import opened, settings, written
from logbook.cli.options import YesOption
from logbook.cli.printing import remark, say

backup_app = new_app(
    "Put a verified copy of the log aside, while others go on writing. Without a file it goes "
    "into the folder backups beside the log, where it stays until you remove it.",
    examples=("logbook backup", "logbook backup ~/copies/spring.db", "logbook backup --list"),
    single=True,
)
restore_app = new_app(
    "Bring the log back to what a copy holds. The log as it is now is put aside first; a damaged "
    "copy, or one from a newer program, is refused.",
    examples=("logbook restore ~/copies/spring.db --yes",),
    single=True,
)
export_app = new_app(
    "Write the whole log with its history as one file of JSON lines, which any kind of database "
    "can read back.",
    examples=("logbook export log.jsonl", "logbook export - | gzip > log.jsonl.gz"),
    single=True,
)
import_app = new_app(
    "Read an exported log into an empty one, or with --replace into this one.",
    examples=("logbook --db other.db import-log log.jsonl",),
    single=True,
)
apps = {
    "backup": backup_app,
    "restore": restore_app,
    "export": export_app,
    "import-log": import_app,
}

FileArgument = Annotated[Path, typer.Argument(metavar="FILE", help="The file.")]


@backup_app.command()
def backup(
    file: Annotated[
        Path | None, typer.Argument(metavar="[FILE]", help="Where the copy goes.")
    ] = None,
    listed: Annotated[
        bool, typer.Option("--list", help="List the copies beside the log, the newest first.")
    ] = False,
    yes: YesOption = False,
) -> None:
    """Put a verified copy of the log aside."""
    from logbook.store.backup import backup as put_aside
    from logbook.store.copies import kept

    with opened() as store:
        if listed:
            for path in kept(store):
                say(f"{path}  {path.stat().st_size / 1e6:.1f} MB")
            return
        if file is not None:
            refuse_other_forms("a backup", file, (".db",))
        if file is not None and not (store.path and file.resolve() == store.path.resolve()):
            _ask_to_replace(file, yes)
        say(f"backed up to {put_aside(store, file)}; the copy has been checked")


@restore_app.command()
def restore(file: FileArgument, yes: YesOption = False) -> None:
    """Bring the log back to what a copy holds."""
    from logbook.store.lifecycle import restore_log

    confirm(f"this replaces the log with {file}", yes)
    aside = restore_log(settings.db or None, file, notice=remark, on_commit=written)
    say(f"restored from {file}; the previous log is in {aside}")


@export_app.command()
def export(
    file: Annotated[
        str, typer.Argument(metavar="[FILE|-]", help="Where it goes; - is standard output.")
    ] = "-",
    yes: YesOption = False,
) -> None:
    """Write the whole log with its history as one file."""
    from logbook.store.log_file import export_log

    with opened() as store:
        if file != "-":
            refuse_other_forms("an exported log", Path(file), (".jsonl", ".json"))
            _ask_to_replace(Path(file), yes)
            rows = export_log(store, Path(file))
            say(f"wrote {file}: {sum(rows.values())} rows")
            return
        import shutil
        import sys

        from logbook.store.outlets import scratch_file

        with scratch_file("exported.jsonl") as path:
            export_log(store, path)
            with path.open("rb") as written:
                shutil.copyfileobj(written, sys.stdout.buffer)


@import_app.command()
def import_log(
    file: Annotated[str, typer.Argument(metavar="FILE|-", help="An exported log.")],
    replace: Annotated[
        bool, typer.Option("--replace", help="Replace what the log holds; it is put aside.")
    ] = False,
    yes: YesOption = False,
) -> None:
    """Read an exported log into an empty one."""
    from logbook.notebook.rows import row_reader
    from logbook.store.exchange import import_log as read_in
    from logbook.store.exchange import replace_log

    if replace:
        confirm(f"this replaces everything in the log with {file}", yes)
    path = Path("/dev/stdin" if file == "-" else file)
    with opened() as store:
        if replace:
            rows, aside = replace_log(store, path, "before-replace", row_reader())
            say(f"the previous log is in {aside}")
        else:
            rows = read_in(store, path, row_reader())
    from logbook.cli.looking import look_ahead

    look_ahead()
    say(f"read {sum(rows.values())} rows from {file}")


def _ask_to_replace(file: Path, yes: bool) -> None:
    if file.name and file.is_file():
        confirm(f"{file} already exists, and this would replace it", yes)
