"""`logbook load` and `logbook dump`: the session file in and out."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from logbook.cli.answering import write_pieces
from logbook.cli.apps import new_app
from logbook.cli.log import opened, settings
from logbook.cli.looking import contradictions
from logbook.cli.options import JsonOption, SongArgument
from logbook.cli.printing import print_json, remark, say
from logbook.errors import LogbookError

SESSION_FILE = "session.toml"
_LARGEST = 64 * 2**20

app = new_app(
    "Apply a session file: all of it, or nothing where there is a mistake in it. What it does not "
    "mention stays as it is, and applying it again changes nothing.",
    examples=("logbook load session.toml", "logbook load sample_session", "logbook load -"),
    single=True,
)
dump_app = new_app(
    "Write the log, or one song of it, as a session file that loads into an empty log.",
    examples=("logbook dump > log.toml", 'logbook dump "Low Water" --out low-water.toml'),
    single=True,
)
apps = {"load": app, "dump": dump_app}


@app.command()
def load(
    file: Annotated[
        str,
        typer.Argument(
            metavar="FILE", help="A session file, a folder with a session.toml in it, or -."
        ),
    ],
    dry_run: Annotated[
        bool, typer.Option("--dry-run", help="Only say what would be added and changed.")
    ] = False,
    as_json: JsonOption = False,
) -> None:
    """Apply a session file."""
    text, folder, name = read_session_file(file)
    from logbook.notebook.applying import apply_text, read_on_log
    from logbook.notebook.report import report

    if dry_run:
        with opened() as store, store.reading() as connection:
            reading = read_on_log(connection, text, folder=folder, file=name)
    else:
        with opened() as store:
            before = contradictions(store)
            with store.change(settings.command) as change:
                reading = apply_text(change, text, folder=folder, file=name)
            came = (contradictions(store) - before).total()
    loaded = report(reading.mentions)
    if as_json:
        print_json(loaded.data())
    else:
        say("\n".join(loaded.lines()))
        if dry_run:
            remark("dry run: nothing written")
        elif came:
            counted = "1 contradiction" if came == 1 else f"{came} contradictions"
            say(f"{counted} came in with it; logbook check says which")


def read_session_file(file: str) -> tuple[str, str, str]:
    """Return a session file's text, the folder its paths count from, and its name in sentences.

    Raises LogbookError where it cannot be read.
    """
    if file == "-":
        return _decoded(sys.stdin.buffer.read(_LARGEST + 1), "-"), str(Path.cwd()), "-"
    path = Path(file)
    if path.is_dir():
        path = path / SESSION_FILE
        if not path.exists():
            raise LogbookError(f"there is no {SESSION_FILE} in {file}", "name the file itself")
    try:
        with path.open("rb") as stream:
            data = stream.read(_LARGEST + 1)
    except (OSError, ValueError) as error:
        why = error.strerror if isinstance(error, OSError) else str(error)
        raise LogbookError(
            f"{file} cannot be read ({why})", "name a session file, a folder with one, or -"
        ) from error
    return _decoded(data, path.name), str(path.resolve().parent), path.name


def _decoded(data: bytes, name: str) -> str:
    if len(data) > _LARGEST:
        raise LogbookError(f"{name} is larger than {_LARGEST >> 20} MB", "split it into several")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise LogbookError(
            f"{name}, line {line}: this is not UTF-8 text", "save the file as UTF-8"
        ) from error


@dump_app.command()
def dump(
    song: SongArgument = "",
    out: Annotated[
        str, typer.Option("--out", "-o", metavar="FILE", help="Write it there instead.")
    ] = "",
) -> None:
    """Write the log as a session file."""
    from logbook.cli.forms import SESSION_FILE, form_of
    from logbook.notebook.dumping import dump_pieces
    from logbook.notebook.write import write_log
    from logbook.records import Log
    from logbook.store.finding import find
    from logbook.store.reading import read_log

    form_of("a session file", SESSION_FILE, out=Path(out) if out else None)
    with opened() as store, store.reading() as connection:
        if song:
            log = read_log(connection, [find(connection, "song", song).id])
            # Projects and set lists name other songs, which are not in this file.
            log = Log(
                people=log.people,
                tunings=log.tunings,
                instruments=log.instruments,
                sessions=log.sessions,
                songs=log.songs,
            )
            pieces = iter([write_log(log)])
        else:
            pieces = dump_pieces(store, connection)
        if not out and sys.stdout.isatty():
            for piece in pieces:
                sys.stdout.write(piece)
        elif not out:
            # A session file is UTF-8, whatever the terminal speaks.
            sys.stdout.flush()
            for piece in pieces:
                sys.stdout.buffer.write(piece.encode())
        else:
            write_pieces(Path(out), pieces)
            remark(f"wrote {out}")
