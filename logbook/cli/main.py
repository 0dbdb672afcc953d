"""The command line's entry point: which command lives in which module, and how mistakes end.

Conventions. A command's module is imported when that command is given, not before: `logbook chord`
must not wait for the database. A module holds an `app` (see `logbook.cli.apps.new_app`). A new
command is one new module and one line in `COMMANDS`.

Every mistake ends as one plain sentence on the error output and exit code 2. Exit code 1 belongs
to commands that looked for something wrong and found it (`check`, `files`, `import`).
"""

from __future__ import annotations

import gc
import importlib
import os
import sys
from collections.abc import Sequence
from functools import cache
from time import perf_counter
from typing import Annotated, Any

import typer
from typer.core import TyperGroup

from logbook.cli.addresses import refuse_addresses
from logbook.cli.apps import did_you_mean, examples
from logbook.cli.failing import asks_for_help, fail, usage_sentence
from logbook.cli.log import settings
from logbook.cli.noun_names import NOUN_COMMANDS
from logbook.cli.paging import held
from logbook.cli.printing import shell_word
from logbook.cli.quick import quicken
from logbook.errors import LogbookError
from logbook.plaintext import clean

COMMANDS: dict[str, tuple[str, str, str]] = {
    # name: (module, heading in the help, what it does)
    "here": (
        "here",
        "In the room",
        "Show or set the current session, song, version and part",
    ),
    "note": ("note", "In the room", "Write notebook lines into the log, one fact a line"),
    "take": ("take", "In the room", "Log the next take of the current part"),
    "form": ("form", "In the room", "Put bars and sections in, take them out, move them"),
    "room": ("room", "In the room", "Keep a screen open while recording, or a page on the stand"),
    "copy": ("copy", "In the room", "Copy voicings, charts, patterns and versions"),
    "load": ("load", "In the room", "Apply a session file"),
    "draft": ("draft", "In the room", "Write a session file from the sound of takes nobody logged"),
    "dump": ("load", "In the room", "Write the log, or one song of it, as a session file"),
    "import": ("import_", "In the room", "Attach a folder of audio files to the takes"),
    "files": (
        "files",
        "In the room",
        "List files that are missing, moved, changed or not attached",
    ),
    "check": ("check", "In the room", "Find contradictions"),
    "tour": ("tour", "In the room", "Load the sample session into a scratch log and print a sheet"),
    "sheet": ("sheet", "To read and to hand out", "Print what a player, student or band needs"),
    "at": ("at", "To read and to hand out", "Show everything known about one bar"),
    "takes": ("takes", "To read and to hand out", "Print a song's take list"),
    "search": ("search", "To read and to hand out", "Find words anywhere in the log"),
    "book": ("book", "To read and to hand out", "Write the whole log as pages to browse"),
    "credits": ("credits", "To read and to hand out", "Say who did what"),
    "tag": ("tag", "To read and to hand out", "Write credits into audio files"),
    "chord": ("chord", "To work things out", "Analyse one voicing"),
    "capo": ("capo", "To work things out", "Compare capo positions"),
    "arrange": ("arrange", "To work things out", "Plan a song for the stage or a lesson"),
    "listen": ("listen", "To work things out", "Hear comps, doubles and takes in the audio"),
    "history": ("history", "Nothing lost", "Show who changed what, and when"),
    "undo": ("history", "Nothing lost", "Undo the last commands"),
    "redo": ("history", "Nothing lost", "Redo what the last undo took back"),
    "backup": ("backup", "Nothing lost", "Back up the log"),
    "restore": ("backup", "Nothing lost", "Restore a backup"),
    "export": ("backup", "Nothing lost", "Write the whole log with its history as one file"),
    "import-log": ("backup", "Nothing lost", "Read such a file into an empty log"),
}
"""Commands that are more than a noun; the nouns' own come from `logbook.cli.noun_names`."""

_NOUNS_HEADING = "Entries of the log: add, edit, list, show, remove"
_FOLDER = os.path.dirname(__file__)
# The exit code of a command that somebody stopped, as shells have it.
_STOPPED = 130


class _Commands(TyperGroup):
    """The outermost group: knows every command's name and loads the one that was given."""

    def list_commands(self, ctx: Any) -> list[str]:
        """Return the names of all commands, in the order of the help."""
        return list(command_table())

    def get_command(self, ctx: Any, cmd_name: str) -> Any:
        """Return a command, imported now; None where there is none of this name."""
        return _command(cmd_name) if cmd_name in command_table() else None

    def resolve_command(self, ctx: Any, args: list[str]) -> Any:
        """Find the command that is given; raises LogbookError with the closest otherwise."""
        if args[0] not in command_table():
            raise LogbookError(
                f'there is no command "{args[0]}"', did_you_mean(args[0], command_table())
            )
        if args[0] == "take" and not ctx.resilient_parsing:
            from logbook.cli import take_now

            if take_now.is_plain(args[1:]):
                return "take", _plain_take(), args[1:]
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx: Any, formatter: Any) -> None:
        """List the commands under their headings, without importing any."""
        headings: dict[str, list[tuple[str, str]]] = {}
        for name, (_, heading, help_line) in command_table().items():
            headings.setdefault(heading, []).append((name, help_line))
        for heading, rows in headings.items():
            with formatter.section(heading):
                formatter.write_dl(rows)


# Commands are made once in a process: whoever gives several (a screen that stays open, a test)
# waits for Typer to look at each function's signature the first time alone.


@cache
def _command(name: str) -> Any:
    """Make a command that there is, importing its module."""
    module_name = command_table()[name][0]
    module = importlib.import_module(f"logbook.cli.{module_name}")
    if module_name == "nouns":
        app = module.noun_app(NOUN_COMMANDS[name][0])
    else:
        app = getattr(module, "apps", {}).get(name) or module.app
    command = typer.main.get_command(app)
    command.name = name
    if not hasattr(command, "commands"):
        # A command alone in its module: what the module says of it is its help.
        command.help = app.info.help or command.help
        command.epilog = command.epilog or app.info.epilog
    for each in getattr(command, "commands", {}).values():
        each.epilog = each.epilog or app.info.epilog
    return quicken(command)


@cache
def _plain_take() -> Any:
    """Make the command of a plain `take`, which waits for no more than it needs."""
    from logbook.cli import take_now

    command = quicken(typer.main.get_command(take_now.app))
    command.name = "take"
    return command


@cache
def _whole() -> Any:
    """Make the outermost group."""
    return quicken(typer.main.get_command(app))


@cache
def command_table() -> dict[str, tuple[str, str, str]]:
    """Return every command: its module, heading and help line."""
    files = frozenset(os.listdir(_FOLDER))
    there = {name: row for name, row in COMMANDS.items() if f"{row[0]}.py" in files}
    nouns = {
        name: (
            _module_of(name, files),
            "Entries of the log: add, edit, list, show, remove",
            help_line,
        )
        for name, (_, help_line) in NOUN_COMMANDS.items()
        if name not in there
    }
    return there | nouns


def _module_of(name: str, files: frozenset[str]) -> str:
    """Return a noun's own module, where it has one, or the one that makes all nouns' commands."""
    own = name.replace("-", "_")
    return own if f"{own}.py" in files else "nouns"


app = typer.Typer(
    cls=_Commands,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    invoke_without_command=True,
    help=(
        "A recording-session logbook: how a part was played, taken and edited, kept exactly.\n\n"
        'Names may be cut short where that is clear: "low" finds Low Water.'
    ),
    epilog=examples(
        "logbook load sample_session", 'logbook sheet "Low Water"', 'logbook chord "x 0 2 2 1 0"'
    ),
)


@app.callback()
def _everywhere(
    context: typer.Context,
    db: Annotated[
        str,
        typer.Option(
            "--db",
            metavar="PATH_OR_URL",
            envvar="LOGBOOK_DB",
            help="The log: a file, or a database URL. May stand after the command too.",
        ),
    ] = "",
    verbose: Annotated[
        bool,
        typer.Option("--verbose", help="Say on the error output how long a slow command took."),
    ] = False,
    plain: Annotated[
        bool,
        typer.Option("--ascii", help="Draw sheets with plain signs: # and b, - in ranges."),
    ] = False,
    _no_pager: Annotated[
        bool, typer.Option("--no-pager", help="Print long answers without the pager.")
    ] = False,
    version: Annotated[
        bool, typer.Option("--version", help="Print the version and stop.", is_eager=True)
    ] = False,
) -> None:
    if version:
        from logbook import __version__

        typer.echo(f"logbook {__version__}")
        raise typer.Exit
    settings.db = db
    settings.verbose = verbose
    settings.ascii = plain
    if context.invoked_subcommand is None:
        typer.echo(context.get_help())


def main(arguments: Sequence[str] | None = None) -> None:
    """Run the command line and leave with its exit code.

    This is a process's beginning and end. The collector of garbage waits until there is some: a
    quick command makes next to none, and going through its modules again and again, last of all
    on the way out, took a fifth of its time. What runs for long is still cleaned up after.
    """
    gc.set_threshold(_MADE_BEFORE_CLEANING, *gc.get_threshold()[1:])
    code = run(sys.argv[1:] if arguments is None else arguments)
    gc.freeze()
    raise SystemExit(code)


_MADE_BEFORE_CLEANING = 100_000
"""How many more objects there are than at the last cleaning before the next one is due."""


_ANYWHERE = ("--ascii", "--verbose", "--no-pager")
"""Switches of the whole program that may stand after the command too."""

_SLOW = 1.0
"""Seconds from which on `--verbose` says how long a command took."""


def run(arguments: Sequence[str]) -> int:
    """Run one command and return its exit code; whatever goes wrong is told in plain words."""
    settings.verbose = settings.ascii = False
    # Help is printed before any other option is read.
    settings.pager = "--no-pager" not in arguments
    start = perf_counter()
    code = _run(arguments)
    took = perf_counter() - start
    if settings.verbose and took > _SLOW:
        _report(f"{settings.command}: {took:.1f} s, exit code {code}")
    return code


def _report(line: str) -> None:
    """Send a line to whoever listens to our log: the error output, if nobody has asked for it."""
    import logging

    logger = logging.getLogger("logbook")
    if not logger.hasHandlers():
        handler = logging.StreamHandler()
        handler.setFormatter(logging.Formatter("%(name)s: %(message)s"))
        logger.addHandler(handler)
        logger.setLevel(logging.INFO)
    logger.info("%s", clean(line))


def _run(arguments: Sequence[str]) -> int:
    _let_print()
    settings.command = as_kept(arguments)
    settings.written = False
    try:
        refuse_addresses(arguments)
        with held(pager=settings.pager):
            code = _whole().main(
                args=db_first(list(arguments)), prog_name="logbook", standalone_mode=False
            )
        sys.stdout.flush()
        if code == _STOPPED:
            return _stopped()
        return code if isinstance(code, int) else 0
    except LogbookError as error:
        # A session file may hold several mistakes; each of them is one line.
        return fail(*getattr(error, "sentences", (str(error),)), *_written_before())
    except typer.TyperException as error:
        if asks_for_help(error):
            return 2
        return fail(usage_sentence(error))
    except (typer.Abort, KeyboardInterrupt):
        return _stopped()
    except SystemExit as error:
        # Typer's own end where a pipe was closed; shell completion ends so too.
        gone = type(sys.stdout).__name__ == "PacifyFlushWrapper"
        return 141 if gone else int(error.code or 0)
    except BrokenPipeError:
        # Whoever read our output has had enough; nothing is left to be told.
        _print_nowhere()
        return 141
    except UnicodeEncodeError:
        return fail(
            "this computer's language setting has no room for a character that was given; set "
            "PYTHONUTF8=1 and try again"
        )
    except ValueError as error:
        if "integer string conversion" not in str(error):
            return _fault(error)
        return fail("a number in what was given has thousands of digits; write a shorter one")
    except OverflowError:
        return fail("a number in what was given is too large; write a smaller one")
    except OSError as error:
        about = error.filename or "what was to be printed"
        try:
            sys.stdout.flush()
        except OSError:
            # Python would try it again on its way out, and complain in words of its own.
            _print_nowhere()
        return fail(f"the computer says of {about}: {error.strerror or error}", *_written_before())
    except RecursionError:
        return fail("what was given is nested too deeply to be read")
    except Exception as error:
        return _fault(error)


def _print_nowhere() -> None:
    """Let what is still to be printed go nowhere, since its place takes nothing more."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _let_print() -> None:
    """Let output go on whatever stands behind it.

    A stream that was closed becomes an empty one; a character the terminal does not know is
    printed by its number, for what was done by then must not look like a failure.
    """
    for name, mode in (("stdin", "r"), ("stdout", "w"), ("stderr", "w")):
        stream = getattr(sys, name)
        if stream is None:
            setattr(sys, name, os.fdopen(os.open(os.devnull, os.O_RDWR), mode, encoding="utf-8"))
        elif name != "stdin" and hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="backslashreplace")


def _fault(error: Exception) -> int:
    """Own up to a mistake of the program's; with LOGBOOK_DEBUG it is shown where."""
    if os.environ.get("LOGBOOK_DEBUG"):
        raise error
    from logbook.store.targets import without_addresses

    became = (
        "what was asked for was written all the same"
        if settings.written
        else ("nothing was changed")
    )
    return fail(
        f"a bug in this program, not a mistake of yours: {type(error).__name__}:"
        f" {without_addresses(str(error))}; {became}; LOGBOOK_DEBUG=1 shows where it happened",
        code=70,
    )


def _written_before() -> tuple[str, ...]:
    """What to add to an error that came after the log was changed."""
    return ("what was asked for was written in the log all the same",) if settings.written else ()


def _stopped() -> int:
    became = "what was written by then stays" if settings.written else "nothing was changed"
    return fail(f"stopped; {became}", code=_STOPPED)


def as_kept(arguments: Sequence[str]) -> str:
    """Return a command as the history keeps it: without which log it was given for."""
    words = list(arguments)
    end = words.index("--") if "--" in words else len(words)
    kept, skip = [], False
    for index, each in enumerate(words):
        if skip:
            skip = False
        elif index < end and each == "--db":
            skip = True
        elif index < end and each in _ANYWHERE:
            continue
        elif index >= end or not each.startswith("--db="):
            kept.append(shell_word(each))
    return " ".join(kept)


def db_first(arguments: list[str]) -> list[str]:
    """Move the options that may stand anywhere to the front: `--db`, `--ascii` and the like."""
    end = arguments.index("--") if "--" in arguments else len(arguments)
    for flag in _ANYWHERE:
        if flag in arguments[:end]:
            arguments.remove(flag)
            return [flag, *db_first(arguments)]
    for index, each in enumerate(arguments):
        if each == "--":
            break
        if each.startswith("--db="):
            return [each, *arguments[:index], *arguments[index + 1 :]]
        if each == "--db" and index + 1 < len(arguments):
            return [each, arguments[index + 1], *arguments[:index], *arguments[index + 2 :]]
    return arguments
