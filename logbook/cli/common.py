"""What every command shares: opening the log, finding things in it, asking, and printing.

Conventions. What a command says goes to standard output, remarks and mistakes to the error
output. Every name from the log or the command line is made harmless before it is printed. Colour
only on a terminal and never with NO_COLOR; lines are made for 80 columns and for more.

Heavy libraries are imported where they are used, so that a quick command stays quick.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any

import typer
from typer.core import TyperGroup

from logbook.errors import LogbookError
from logbook.plaintext import clean

if TYPE_CHECKING:
    from rich.console import Console

    from logbook.store.changing import Change
    from logbook.store.finding import Place
    from logbook.store.here import Here
    from logbook.store.opening import Store


@dataclass
class Settings:
    """What was said before any command: which log, and the command as it was given."""

    db: str = ""
    command: str = ""


settings = Settings()


# Making commands


def new_app(
    help: str, *, examples: Sequence[str] = (), default: str | None = None, single: bool = False
) -> typer.Typer:
    """Return an app for one command or a group of them, plain and without tracebacks.

    With `default` a group runs this subcommand where none is named: `logbook takes SONG` is then
    `logbook takes list SONG`. `examples` are printed below the help.
    """
    return typer.Typer(
        cls=_with_default(default),
        rich_markup_mode=None,
        pretty_exceptions_enable=False,
        add_completion=False,
        no_args_is_help=default is None and not single,
        help=help,
        epilog=examples_text(examples),
    )


def _with_default(default: str | None) -> type[TyperGroup]:
    class Group(TyperGroup):
        """A group that runs its default where no subcommand is named."""

        def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
            # Nor where the shell asks what might follow.
            as_it_is = args[:1] == ["--help"] or (ctx.resilient_parsing and not args)
            if default and not as_it_is and (not args or args[0] not in self.commands):
                if args and not args[0].startswith("-") and not _takes_words(self, default):
                    self.resolve_command(ctx, args)
                args = [default, *args]
            return super().parse_args(ctx, args)

        def resolve_command(self, ctx: Any, args: list[str]) -> Any:
            if args[0] not in self.commands:
                raise LogbookError(
                    f'there is no command "{ctx.command_path} {args[0]}"',
                    did_you_mean(args[0], self.commands),
                )
            return super().resolve_command(ctx, args)

    return Group


def _takes_words(group: TyperGroup, name: str) -> bool:
    """Whether a command of the group takes more than options."""
    return any(each.param_type_name == "argument" for each in group.commands[name].params)


def examples(*lines: str) -> str:
    """Return the examples below a command's help, a line each."""
    return examples_text(lines)


def examples_text(lines: Sequence[str]) -> str:
    """Return the examples below a command's help, a line each."""
    if not lines:
        return ""
    heading = "Example:" if len(lines) == 1 else "Examples:"
    return "\n".join(["\b", heading, *(f"  {line}" for line in lines)])


def complete_song(incomplete: str) -> list[str]:
    """Return the titles that begin so, for the shell to complete."""
    from logbook.store.finding import names_in

    try:
        with opened(create=False) as store, store.reading() as connection:
            titles = names_in(connection, "song")
    except LogbookError:
        return []
    return [title for title in titles if title.startswith(incomplete)]


SongArgument = Annotated[
    str,
    typer.Argument(
        metavar="[SONG]",
        help="A song, by the beginning of its title.",
        autocompletion=complete_song,
    ),
]
VersionOption = Annotated[
    str, typer.Option("--version", "-v", metavar="NAME", help="Which version of the song.")
]
PartOption = Annotated[
    str, typer.Option("--part", "-p", metavar="NAME", help="Which part of the version.")
]
JsonOption = Annotated[bool, typer.Option("--json", help="Print the same as data.")]
YesOption = Annotated[bool, typer.Option("--yes", "-y", help="Do not ask.")]


# The log


@contextmanager
def opened(*, create: bool = True) -> Iterator[Store]:
    """Open the log that `--db` or LOGBOOK_DB names, or the usual one."""
    from logbook.store.opening import open_log

    with open_log(settings.db or None, create=create, notice=remark) as store:
        yield store


@contextmanager
def changing() -> Iterator[tuple[Store, Change]]:
    """Open the log for one transaction, recorded in its history under the command as given."""
    with opened() as store, store.change(settings.command) as change:
        yield store, change


def place_of(
    here: Here, song: str = "", version: str = "", part: str = "", session: str = ""
) -> Place:
    """Return the place that is meant: what is said, and `here` for what is not.

    Another song than the current one has nothing of the current one below it.
    """
    from logbook.store.finding import Place

    if song and song != here.song:
        return Place(song, version, part, session=session or here.session)
    if version and version != here.version:
        return Place(here.song, version, part, session=session or here.session)
    return Place(
        here.song, version or here.version, part or here.part, session=session or here.session
    )


# Saying things


def say(text: str = "") -> None:
    """Print a line, with anything in it that a terminal would obey made visible."""
    print(clean(text, keep_newlines=True))


def remark(text: str) -> None:
    """Print a line on the error output."""
    print(clean(text, keep_newlines=True), file=sys.stderr)


_LONGEST_SENTENCE = 1200


def fail(*sentences: str, code: int = 2) -> int:
    """Print what went wrong on the error output, a line each, and return the exit code.

    A sentence that quotes pages of text is printed without its middle.
    """
    with suppress(OSError):
        remark("logbook: " + "\n".join(_without_middle(clean(each)) for each in sentences))
    return code


def _without_middle(sentence: str) -> str:
    half = _LONGEST_SENTENCE // 2
    if len(sentence) <= _LONGEST_SENTENCE:
        return sentence
    return f"{sentence[:half]} [...] {sentence[-half:]}"


def usage_sentence(error: typer.TyperException) -> str:
    """Return what is wrong with how a command was given, and where its help is."""
    message = " ".join(error.format_message().split()).rstrip(".")
    context = getattr(error, "ctx", None)
    path = context.command_path if context is not None else "logbook"
    return f"{message[:1].lower()}{message[1:]}; {path} --help says how"


def asks_for_help(error: typer.TyperException) -> bool:
    """Whether a group was given without a subcommand; then its help has been printed."""
    context = getattr(error, "ctx", None)
    if type(error).__name__ != "NoArgsIsHelpError" or context is None:
        return False
    remark(context.get_help())
    return True


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """Return a remedy that names the closest known words."""
    from difflib import get_close_matches

    names = list(known)
    close = get_close_matches(word[:100], names, n=3, cutoff=0.5)
    close += [name for name in names if word and name.startswith(word) and name not in close]
    if close:
        return f"did you mean {' or '.join(close[:4])}?"
    if len(names) <= 8:
        return f"there is {', '.join(names)}"
    return "logbook --help lists them all"


def shell_word(word: str) -> str:
    """Return a word as it would be typed in a shell."""
    if word and all(each.isalnum() or each in "-_./:=,@%+" for each in word):
        return word
    return "'" + word.replace("'", "'\\''") + "'"


def width() -> int:
    """Return how many columns there are: the terminal's, COLUMNS, or 80."""
    import shutil

    return max(40, shutil.get_terminal_size((80, 24)).columns) if _sized() else 80


def _sized() -> bool:
    return sys.stdout.isatty() or bool(os.environ.get("COLUMNS"))


def colourful() -> bool:
    """Return whether colour may be used: on a terminal, and not with NO_COLOR."""
    return (
        sys.stdout.isatty() and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"
    )


def console() -> Console:
    """Return a rich console that keeps to `width` and `colourful`, and marks nothing up."""
    from rich.console import Console

    return Console(
        width=width(),
        no_color=not colourful(),
        force_terminal=None if colourful() else False,
        highlight=False,
        markup=False,
        emoji=False,
        soft_wrap=False,
    )


def print_json(data: Any) -> None:
    """Print data as JSON: records as objects, fractions as text, nothing a terminal would obey."""
    import json

    text = json.dumps(data, ensure_ascii=False, indent=2, default=plain)
    print("".join(each if each.isprintable() or each == "\n" else _escaped(each) for each in text))


def plain(value: Any) -> Any:
    """Return what JSON has no word for as something it has: records, sets, fractions."""
    import dataclasses

    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {each.name: getattr(value, each.name) for each in dataclasses.fields(value)}
    if isinstance(value, set | frozenset):
        return sorted(value)
    return str(value)


def _escaped(character: str) -> str:
    code = ord(character)
    if code > 0xFFFF:
        high, low = divmod(code - 0x10000, 0x400)
        return f"\\u{0xD800 + high:04x}\\u{0xDC00 + low:04x}"
    return f"\\u{code:04x}"


def print_table(headings: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
    """Print rows under their headings in columns, the last one wrapped to fit the width."""
    for line in table_lines(headings, rows, width()):
        print(line)


def table_lines(
    headings: Sequence[str], rows: Sequence[Sequence[str]], total: int = 80
) -> list[str]:
    """Return rows under their headings in columns; cells are cut, the last column is wrapped."""
    from textwrap import wrap

    shown = [headings, *rows] if any(headings) else list(rows)
    if not shown:
        return []
    cells = [[clean(str(cell)) for cell in row] for row in shown]
    widths = [min(max(map(len, column)), 32) for column in zip(*cells, strict=True)]
    room = max(total - sum(each + 2 for each in widths[:-1]), 20)
    lines = []
    for row in cells:
        front = "  ".join(
            _cut(cell, size).ljust(size) for cell, size in zip(row[:-1], widths, strict=False)
        )
        gap = "  " if front else ""
        for index, piece in enumerate(wrap(row[-1], room) or [""]):
            lead = front if index == 0 else " " * len(front)
            lines.append(f"{lead}{gap}{piece}".rstrip())
    return lines


def _cut(text: str, size: int) -> str:
    return text if len(text) <= size else text[: size - 3] + "..."


# Asking


def confirm(question: str, yes: bool, otherwise: str = "add --yes") -> None:
    """Go on if `yes`, or if a person at the terminal says so.

    Raises LogbookError where nobody can be asked, or the answer is no.
    """
    if yes:
        return
    if not sys.stdin.isatty():
        raise LogbookError(question.rstrip(" ?"), f"if that is meant, {otherwise}")
    remark(f"{question.rstrip(' ?')}? Type yes to go on.")
    if input().strip().casefold() not in {"y", "yes"}:
        raise LogbookError("nothing was changed", "")


@contextmanager
def progress(total: int, what: str) -> Iterator[Callable[[int], None]]:
    """Show a bar on the error output while work goes on; silent where that is no terminal.

    Yields a function that is told how much more has been done.
    """
    if not sys.stderr.isatty() or total <= 0:
        yield lambda done: None
        return
    from rich.console import Console
    from rich.progress import (
        BarColumn,
        MofNCompleteColumn,
        Progress,
        TextColumn,
        TimeRemainingColumn,
    )

    with Progress(
        TextColumn("{task.description}"),
        BarColumn(),
        MofNCompleteColumn(),
        TimeRemainingColumn(),
        console=Console(stderr=True, no_color=not colourful()),
        transient=True,
    ) as bar:
        task = bar.add_task(what, total=total)
        yield lambda done: bar.advance(task, done)


def as_data(values: Mapping[str, Any]) -> dict[str, Any]:
    """Return a mapping without what is not said (empty text, None, empty lists)."""
    return {key: value for key, value in values.items() if value not in ("", None, (), [])}
