"""`logbook sheet`: what a player needs of a song, printed or written in another form.

The form is `--as`, else what the ending of `--out` says, else text. Text goes to the terminal as
wide as it is; piped or in a file it is plain, and 80 columns unless COLUMNS says otherwise.
"""

from __future__ import annotations

import gc
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Annotated

import typer

from logbook.cli.answering import write_file
from logbook.cli.apps import new_app
from logbook.cli.log import opened
from logbook.cli.options import JsonOption, PartOption, SongArgument, VersionOption
from logbook.cli.printing import colourful, console, say, width
from logbook.cli.song_log import SongLog, read_song
from logbook.errors import LogbookError
from logbook.sheets.catalog import FORMS, SHEETS, draw_sheet, make_sheet, suffix_of
from logbook.sheets.looks import Look, Sheet, Wanted

app = new_app(
    "Print how a song was played and edited (player), how to learn it (lesson), how it is played "
    "on stage (live), or who gets named (credits).",
    examples=(
        'logbook sheet "low tide"',
        "logbook sheet low --for lesson --part guitar --out lesson.html",
        'logbook sheet low --for live --arrangement "harbour stage" --as pdf --open',
    ),
    single=True,
)

_SIGNS = "│▀═●·┄▬◇…“”"


@app.command()
def sheet(
    song: SongArgument = "",
    version: VersionOption = "",
    part: PartOption = "",
    kind: Annotated[
        str, typer.Option("--for", metavar="|".join(SHEETS), help="Whom the sheet is for.")
    ] = "player",
    form: Annotated[
        str, typer.Option("--as", metavar="|".join(FORMS), help="The form; text if not said.")
    ] = "",
    as_json: JsonOption = False,
    out: Annotated[
        Path | None, typer.Option("--out", "-o", metavar="FILE", help="Write it to a file.")
    ] = None,
    open_it: Annotated[
        bool, typer.Option("--open", help="Open it with what this computer opens such files with.")
    ] = False,
    left_handed: Annotated[
        bool, typer.Option("--left-handed", help="Turn diagrams round, the bass on the right.")
    ] = False,
    arrangement: Annotated[
        str,
        typer.Option("--arrangement", metavar="NAME", help="Which kept one the live sheet is of."),
    ] = "",
) -> None:
    """Print what a player, a student, a band or a label needs of a song."""
    with _unswept():
        chosen = _form(form, as_json, out)
        with opened() as store:
            found = read_song(store, song, version, part)
        made = song_sheet(found, kind, arrangement)
        look = Look(width=width(), left_handed=left_handed)
        if out is not None or open_it:
            _write(made, chosen, look, out, open_it)
        elif chosen == "text":
            print_text(made, left_handed=left_handed)
        else:
            _print(_drawn(made, chosen, look), chosen)


@contextmanager
def _unswept() -> Iterator[None]:
    """Look for no garbage in cycles meanwhile: with so many imports that costs more than a sheet.

    (A tenth of the whole command, by tests/benchmarks/bench_start.py.)
    """
    sweeping = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if sweeping:
            gc.enable()


def song_sheet(found: SongLog, kind: str = "player", arrangement: str = "") -> Sheet:
    """Work a sheet of a song out. Raises LogbookError for a kind there is not."""
    if arrangement and kind != "live":
        raise LogbookError(f"an arrangement is for the live sheet, not the {kind} sheet",
                           "add --for live")  # fmt: skip
    wanted = Wanted(found.song.title, found.version, found.part, arrangement)
    return make_sheet(kind, found.log, wanted)


def print_text(made: Sheet, *, left_handed: bool = False) -> None:
    """Print a sheet as text, with weight and colour where the terminal has them."""
    from logbook.sheets import text

    look = Look(width(), ascii=not _can_show(_SIGNS), left_handed=left_handed)
    if colourful():
        text.show(made, console(), look)
    else:
        sys.stdout.write(text.draw(made, look))


def _can_show(signs: str) -> bool:
    """Whether the output's encoding has the drawing characters."""
    try:
        signs.encode(sys.stdout.encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return False
    return True


def _form(form: str, as_json: bool, out: Path | None) -> str:
    """Return which form is meant. Raises LogbookError where two things said do not go together."""
    if as_json:
        if form not in ("", "json"):
            raise LogbookError(f"--json and --as {form} were both given", "give one of them")
        return "json"
    if form or out is None or not out.suffix:
        return form or "text"
    by_suffix = {suffix_of(each): each for each in FORMS}
    return by_suffix.get(out.suffix.lower(), "text")


def _drawn(made: Sheet, form: str, look: Look) -> bytes:
    drawn = draw_sheet(made, form, look)
    return drawn.encode() if isinstance(drawn, str) else drawn


def _print(data: bytes, form: str) -> None:
    """Put a form out as it is; no terminal is filled with what only a reader of files can show.

    Raises LogbookError for a PDF on a terminal.
    """
    if form == "pdf":
        if sys.stdout.isatty():
            raise LogbookError("a PDF says nothing on a terminal", "add --out FILE or --open")
        sys.stdout.buffer.write(data)
    else:
        sys.stdout.write(data.decode())


def _write(made: Sheet, form: str, look: Look, out: Path | None, open_it: bool) -> None:
    """Write a sheet to its file, and open it if that was asked for."""
    data = _drawn(made, form, look)
    if out is None:
        import tempfile

        name = "".join(each if each.isalnum() else "-" for each in made.title)[:60]
        out = Path(tempfile.mkdtemp(prefix="logbook-")) / f"{name or 'sheet'}{suffix_of(form)}"
    write_file(out, data)
    say(f"wrote {out}")
    if open_it:
        import webbrowser

        if not webbrowser.open(out.resolve().as_uri()):
            raise LogbookError(f"nothing on this computer opens {out}", "open the file by hand")
