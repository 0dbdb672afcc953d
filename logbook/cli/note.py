"""`logbook note`: notebook lines, one fact a line, as they were scribbled in the room."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from logbook.cli.apps import new_app
from logbook.cli.log import opened
from logbook.cli.options import JsonOption
from logbook.cli.printing import print_json, say, width
from logbook.errors import LogbookError

if TYPE_CHECKING:
    from logbook.notebook.lines.log_lines import LineAnswer

_LARGEST = 8 * 2**20

app = new_app(
    "Write notebook lines into the log, one fact a line. Each is answered with what sounds, what "
    "it was understood as and what contradicts it, and `logbook undo` takes back a line at a time."
    " A line that cannot be read stays as a remark (`logbook remark`), and the command then ends "
    "with 1. The grammar is in docs/notebook.md.",
    examples=(
        "logbook note today.txt",
        "logbook note 'Fmaj7 x87900'",
        "logbook note t3 keeper 1-16",
        "logbook note - < today.txt",
    ),
    single=True,
)


@app.command()
def note(
    line: Annotated[
        list[str],
        typer.Argument(
            metavar="FILE|-|LINE...",
            help="A file of notebook lines, - for the standard input, or one line as it is.",
        ),
    ],
    as_json: JsonOption = False,
) -> None:
    """Write notebook lines into the log."""
    from logbook.notebook.lines.log_lines import apply_lines

    lines, whole = _lines(line)
    answers = []
    with opened() as store:
        for answer in apply_lines(store, lines):
            answers.append(answer)
            if not as_json:
                say("\n".join(answer_lines(answer, numbered=whole, width=width())))
    left = [each for each in answers if not each.read]
    if as_json:
        print_json(answers)
    elif whole:
        read = len(answers) - len(left)
        said = f"{read} line{'s' * (read != 1)} read"
        if left:
            names = ", ".join(each.remark for each in left[:12])
            said += (
                f", {len(left)} left as remarks ({names}): logbook remark settle {left[0].remark}"
            )
        say(said)
    if left:
        raise typer.Exit(1)


def _lines(words: list[str]) -> tuple[list[str], bool]:
    """The lines that are meant, and whether they are a page of them rather than one."""
    only = words[0] if len(words) == 1 else ""
    if only == "-":
        return _text(sys.stdin.buffer.read(_LARGEST + 1), "-").splitlines(), True
    path = Path(only) if only and len(only) < 1000 and "\n" not in only else None
    try:
        there = path is not None and path.is_file()
    except (OSError, ValueError):
        there = False
    if there and path is not None:
        try:
            return _text(path.read_bytes(), only).splitlines(), True
        except OSError as error:
            raise LogbookError(
                f"{only} cannot be read: {error.strerror}", "look at the file"
            ) from error
    if path is not None and " " not in only and path.suffix in (".txt", ".md", ".note", ".text"):
        raise LogbookError(f"there is no file {only}", "name a file of notebook lines, or - ")
    lines = " ".join(words).splitlines()
    return lines, len([each for each in lines if each.strip()]) > 1


def _text(data: bytes, name: str) -> str:
    if len(data) > _LARGEST:
        raise LogbookError(f"{name} is larger than a notebook can be", "give it in pieces")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise LogbookError(f"{name} is not text in UTF-8", "save it as UTF-8") from error


def answer_lines(answer: LineAnswer, *, numbered: bool, width: int) -> list[str]:
    """An answer as it is printed: what was understood, then what sounds, is new or contradicts."""
    from textwrap import wrap

    front = f"{answer.number:3}  " if numbered else ""
    gap = " " * len(front)
    if not answer.read:
        body = [f'remark {answer.remark}: "{answer.line}" stays as it is; {answer.why}']
        body += [answer.remedy] if answer.remedy else []
    else:
        body = [answer.understood]
        body += [f"sounds {answer.sounds}"] if answer.sounds else []
        body += [f"new: {each}" for each in answer.made]
        body += [f"but: {each}" for each in answer.contradictions]
    lines: list[str] = []
    for at, text in enumerate(body):
        hang = gap + "  " * (at > 0)
        first = front if at == 0 else hang
        lines += wrap(text, width, initial_indent=first, subsequent_indent=hang + "  ") or [first]
    return lines
