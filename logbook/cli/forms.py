"""In which form a command answers, and where to: the screen, a file, or a program that opens it.

`--as` names the form, else the ending of `--out` does, else it is text. A form that a command
cannot write is refused before anything is read, and so is an ending that says another form than
`--as`.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, NamedTuple

import typer

from logbook.cli.log import settings
from logbook.cli.printing import colourful, say, width
from logbook.errors import LogbookError

if TYPE_CHECKING:
    from logbook.sheets.looks import Sheet

EVERY_SHEET = ("text", "markdown", "html", "pdf", "json")
PAPERS = ("A4", "letter")
SESSION_FILE = ("session file", "text")

ENDINGS = {
    "text": (".txt",),
    "markdown": (".md", ".markdown"),
    "html": (".html", ".htm"),
    "pdf": (".pdf",),
    "json": (".json",),
    "csv": (".csv",),
    "svg": (".svg",),
    "timeline": (".otio",),
    "midi": (".mid", ".midi"),
    "click": (".wav",),
    "musicxml": (".musicxml", ".xml"),
    "session file": (".toml",),
}
_BY_ENDING = {ending: form for form, endings in ENDINGS.items() for ending in endings}
_NOT_FOR_THE_SCREEN = frozenset({"pdf", "timeline", "midi", "click"})
_FILE_WIDTH = 80
_SIGNS = "│▀═●·┄▬◇…“”♯♭–→"

OutOption = Annotated[
    Path | None,
    typer.Option(
        "--out", "-o", metavar="FILE", help="Write it to a file; its ending sets the format."
    ),
]
OpenOption = Annotated[
    bool, typer.Option("--open", help="Open it with what this computer opens such files with.")
]
LeftHandedOption = Annotated[
    bool, typer.Option("--left-handed", help="Left-handed diagrams, the bass on the right.")
]
PaperOption = Annotated[
    str, typer.Option("--paper", metavar="|".join(PAPERS), help="What a PDF is printed on.")
]


BigOption = Annotated[
    str,
    typer.Option(
        "--big", metavar="sounds|shapes", help="Which names of a chart are the larger ones."
    ),
]


def form_of(
    what: str,
    able: Sequence[str],
    form: str = "",
    out: Path | None = None,
    *,
    as_json: bool = False,
) -> str:
    """Return which of the forms `able` is meant; `what` names the thing, as in "a comp".

    Raises LogbookError where that cannot be written, or two things said do not go together.
    """
    if as_json:
        if form not in ("", "json"):
            raise LogbookError(f"--json and --as {form} were both given", "give one of them")
        form = "json"
    if form and form not in able:
        raise LogbookError(f"{what} cannot be written as {form}", f"use {', '.join(able)}")
    ending = out.suffix.lower() if out is not None else ""
    said = _BY_ENDING.get(ending, "")
    if said and form and said != form:
        raise LogbookError(
            f"--as {form} and a file that ends in {ending} disagree", "leave one of them out"
        )
    if form or not ending:
        return form or "text"
    if said not in able:
        endings = ", ".join(ENDINGS[each][0] for each in able)
        raise LogbookError(f"{what} cannot be written as {ending}", f"end the file in {endings}")
    return said


def refuse_other_forms(what: str, file: Path, able: Sequence[str]) -> None:
    """Raise LogbookError where a file's ending says another form than what is written into it.

    `able` are the endings that say it, the first of them the usual one; any ending that says no
    form is free.
    """
    ending = file.suffix.lower()
    if ending in _BY_ENDING and ending not in able:
        raise LogbookError(f"{what} cannot be written as {ending}", f"end the file in {able[0]}")


def hand_out(
    sheet: Sheet,
    form: str,
    out: Path | None = None,
    *,
    open_it: bool = False,
    left_handed: bool = False,
    paper: str = "A4",
    big: str = "sounds",
    plays: str = "",
) -> None:
    """Print a sheet in a form, or write it to a file and say that.

    Raises LogbookError where the form is only for files, or the file cannot be written or opened.
    """
    from logbook.sheets.catalog import draw_sheet
    from logbook.sheets.looks import Look

    look = Look(width(), settings.ascii, left_handed, paper_of(paper), _big(big))
    look = look._replace(plays=plays, sounds=True)
    if out is None and not open_it:
        if form == "text":
            print_text(sheet, left_handed=left_handed, big=look.big)
        else:
            print_drawn(draw_sheet(sheet, form, look), form)
        return
    if not os.environ.get("COLUMNS"):
        look = look._replace(width=_FILE_WIDTH)
    write_drawn(draw_sheet(sheet, form, look), form, out, sheet.title, open_it=open_it)


class Goal(NamedTuple):
    """Where an answer goes, in which form, and how it is drawn."""

    form: str
    out: Path | None = None
    open_it: bool = False
    paper: str = "A4"
    left_handed: bool = False
    big: str = "sounds"
    plays: str = ""

    def hand_out(self, sheet: Sheet) -> None:
        """Print or write a sheet. Raises as `hand_out` does."""
        hand_out(
            sheet,
            self.form,
            self.out,
            open_it=self.open_it,
            left_handed=self.left_handed,
            paper=self.paper,
            big=self.big,
            plays=self.plays,
        )


def paper_of(name: str) -> str:
    """Return the paper that is meant by its beginning. Raises LogbookError for none."""
    found = [each for each in PAPERS if name and each.casefold().startswith(name.casefold())]
    if len(found) != 1:
        raise LogbookError(f"'{name}' is not a paper size", f"use {' or '.join(PAPERS)}")
    return found[0]


def _big(name: str) -> str:
    found = [each for each in ("sounds", "shapes") if name and each.startswith(name.casefold())]
    if len(found) != 1:
        raise LogbookError(f"--big cannot be '{name}'", "use sounds or shapes")
    return found[0]


def print_text(sheet: Sheet, *, left_handed: bool = False, big: str = "sounds") -> None:
    """Print a sheet as text, with weight and colour where the terminal has them."""
    from logbook.sheets import text
    from logbook.sheets.looks import Look

    look = Look(width(), settings.ascii or not _can_show(_SIGNS), left_handed, big=big)
    draw = text.draw_coloured if colourful() else text.draw
    sys.stdout.write(draw(sheet, look))


def _can_show(signs: str) -> bool:
    """Whether the output's encoding has the drawing characters."""
    try:
        signs.encode(sys.stdout.encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return False
    return True


def print_drawn(drawn: str | bytes, form: str) -> None:
    """Put a form out as it is; no terminal is filled with what only a reader of files can show.

    Raises LogbookError for such a form on a terminal.
    """
    if form in _NOT_FOR_THE_SCREEN and sys.stdout.isatty():
        name = {"pdf": "a PDF", "midi": "a MIDI file"}.get(form, f"a {form} file")
        raise LogbookError(f"{name} cannot be shown on a terminal", "add --out FILE")
    if isinstance(drawn, bytes):
        sys.stdout.buffer.write(drawn)
    else:
        sys.stdout.write(drawn)


def write_drawn(
    drawn: str | bytes, form: str, out: Path | None, title: str, *, open_it: bool = False
) -> None:
    """Write what was drawn to its file (one of its own where none is named), and open it."""
    from logbook.cli.answering import write_file

    if out is None:
        import tempfile

        name = "".join(each if each.isalnum() else "-" for each in title)[:60]
        folder = Path(tempfile.mkdtemp(prefix="logbook-"))
        out = folder / f"{name or 'sheet'}{ENDINGS[form][0]}"
    write_file(out, drawn)
    say(f"wrote {out}")
    if open_it:
        import webbrowser

        if not webbrowser.open(out.resolve().as_uri()):
            raise LogbookError(f"nothing on this computer opens {out}", "open the file by hand")


def form_option(*forms: str) -> object:
    """Return the option that names the form, for a command that can write these."""
    return typer.Option("--as", metavar="|".join(forms), help="The format; text if not given.")
