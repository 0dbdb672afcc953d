"""`logbook load` and `logbook dump`: the session file in and out."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, BinaryIO, NamedTuple

import typer

from logbook.cli.answering import write_pieces
from logbook.cli.apps import new_app
from logbook.cli.log import opened, settings
from logbook.cli.looking import contradictions
from logbook.cli.options import JsonOption, SongArgument
from logbook.cli.printing import print_json, remark, say
from logbook.errors import LogbookError

if TYPE_CHECKING:
    from logbook.notebook.report import Report, Reports

SESSION_FILE = "session.toml"

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
    from logbook.notebook.large_files import LARGE

    with session_file(file) as source:
        loaded: Report | Reports
        if source.size > LARGE:
            loaded, came = _load_large(source, dry_run=dry_run, as_json=as_json)
        else:
            loaded, came = _load(source, dry_run=dry_run)
    if as_json:
        print_json(loaded.data())
    else:
        say("\n".join(loaded.lines()))
        if dry_run:
            remark("dry run: nothing written")
        elif came:
            counted = "1 contradiction" if came == 1 else f"{came} contradictions"
            say(f"{counted} came in with it; logbook check says which")


def _load(source: Source, *, dry_run: bool) -> tuple[Report, int]:
    """Apply a file; return what became of it, and how many contradictions came in with it."""
    from logbook.notebook.applying import apply_text, read_on_log
    from logbook.notebook.report import report

    text = _decoded(source.stream.read(), source.name)
    if dry_run:
        with opened() as store, store.reading() as connection:
            reading = read_on_log(connection, text, folder=source.folder, file=source.name)
        return report(reading.mentions), 0
    with opened() as store:
        before = contradictions(store)
        with store.change(settings.command) as change:
            reading = apply_text(change, text, folder=source.folder, file=source.name)
        return report(reading.mentions), (contradictions(store) - before).total()


def _load_large(source: Source, *, dry_run: bool, as_json: bool) -> tuple[Reports, int]:
    """The same for a file that is read piece by piece."""
    from logbook.cli.asking import progress
    from logbook.notebook.large_files import apply_large
    from logbook.notebook.report import Reports, report

    loaded = Reports(with_data=as_json)
    with opened() as store:
        before = None if dry_run else contradictions(store)
        with (
            suppress(_DryRunError),
            progress(source.size, "loading") as advance,
            store.change(settings.command) as change,
        ):
            done = apply_large(change, source.stream, folder=source.folder, name=source.name)
            for piece in done:
                loaded.take_in(report(piece.mentions))
                advance(piece.size)
            if dry_run:
                # Later pieces are read on top of the earlier ones, so these were put and go again.
                raise _DryRunError
        came = 0 if before is None else (contradictions(store) - before).total()
    return loaded, came


class _DryRunError(Exception):
    """Ends a transaction that shall leave nothing."""


class Source(NamedTuple):
    """A session file: its bytes from the beginning, how many, the folder its paths count from,
    and its name in sentences."""

    stream: BinaryIO
    size: int
    folder: str
    name: str


@contextmanager
def session_file(file: str) -> Iterator[Source]:
    """Open a session file, one in a folder, or what comes by standard input.

    Raises LogbookError where it cannot be read.
    """
    if file == "-":
        with _seekable(sys.stdin.buffer) as stream:
            yield Source(stream, _size(stream), str(Path.cwd()), "-")
        return
    path = Path(file)
    if path.is_dir():
        path = path / SESSION_FILE
        if not path.exists():
            raise LogbookError(f"there is no {SESSION_FILE} in {file}", "name the file itself")
    with ExitStack() as opened_files:
        try:
            stream = opened_files.enter_context(path.open("rb"))
            stream = opened_files.enter_context(_seekable(stream))
            size = _size(stream)
        except (OSError, ValueError) as error:
            why = error.strerror if isinstance(error, OSError) else str(error)
            raise LogbookError(
                f"{file} cannot be read ({why})", "name a session file, a folder with one, or -"
            ) from error
        yield Source(stream, size, str(path.resolve().parent), path.name)


@contextmanager
def _seekable(stream: BinaryIO) -> Iterator[BinaryIO]:
    """What can be read several times: the stream itself, or a copy where it is a pipe."""
    if stream.seekable():
        yield stream
        return
    import shutil
    import tempfile

    with tempfile.TemporaryFile() as copy:
        shutil.copyfileobj(stream, copy)
        copy.seek(0)
        yield copy


def _size(stream: BinaryIO) -> int:
    size = stream.seek(0, 2)
    stream.seek(0)
    return size


def _decoded(data: bytes, name: str) -> str:
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
            write_pieces(Path(out), pieces, private=True)
            remark(f"wrote {out}")
