"""`logbook tour`: the sample session loaded into a scratch log, and a player's sheet of it.

It types what a person would type, and shows it. The scratch log is a file of its own that each
tour makes anew; nobody's log is touched.
"""

from __future__ import annotations

import io
from contextlib import redirect_stderr, redirect_stdout
from pathlib import Path
from typing import Annotated

import typer

from logbook.cli.apps import new_app
from logbook.cli.printing import remark, say, shell_word
from logbook.errors import LogbookError

SONG = "Low Tide Ledger"

app = new_app(
    "Load the sample session into a scratch log, print a player's sheet, and say what to try "
    "next. Your own log is not touched.",
    examples=("logbook tour", "logbook tour --folder my-tour"),
    single=True,
)


@app.command()
def tour(
    folder: Annotated[
        Path | None,
        typer.Option("--folder", metavar="FOLDER", help="Where the scratch log goes."),
    ] = None,
) -> None:
    """Load the sample session into a scratch log and print a sheet."""
    sample = sample_folder()
    scratch = _scratch(folder)
    say("$ logbook load sample_session")
    say(f"  {_added(_run_quietly(scratch, ['load', str(sample)]))}")
    say("$ logbook import sample_session")
    imported = _run_quietly(scratch, ["import", str(sample)])
    say(f"  {next((line for line in imported if line[:1].isdecimal()), '')}")
    say(f"$ logbook sheet {shell_word(SONG)} --part guitar")
    say()
    from logbook.cli.main import run

    code = run(["--db", str(scratch), "sheet", SONG, "--part", "guitar"])
    if code:
        raise typer.Exit(code)
    say()
    say("That was one part of one song. The scratch log stays where it is; try on it:")
    say()
    say(f"  export LOGBOOK_DB={shell_word(str(scratch))}")
    for line in (
        "logbook check                       # one slip is hidden in it",
        "logbook sheet varnish               # a doubled part, a tempo change",
        "logbook takes low guitar            # what each take was used for",
        'logbook chord "x 0 2 2 1 0" --capo 2 --from capo',
    ):
        say(f"  {line.replace('logbook', _program(), 1)}")
    say()
    say("Without LOGBOOK_DB, commands work on your own log.")


def sample_folder() -> Path:
    """Return the sample session: beside the package in a checkout, inside it when installed.

    Raises LogbookError where it was left out.
    """
    import logbook

    package = Path(logbook.__file__).parent
    for folder in (package / "sample_session", package.parent / "sample_session"):
        if (folder / "session.toml").exists():
            return folder
    raise LogbookError("the sample session is missing", "install the program again")


def _program() -> str:
    """Return how the program is called from here: by its path where no shell would find it."""
    import shutil
    import sys

    return "logbook" if shutil.which("logbook") else shell_word(sys.argv[0])


def _scratch(folder: Path | None) -> Path:
    """Return the path of a scratch log that is not there yet; an earlier tour's goes."""
    if folder is None:
        from platformdirs import user_cache_path

        folder = user_cache_path("session-logbook") / "tour"
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    path = folder / "tour.db"
    for each in (path, path.with_name("tour.db-wal"), path.with_name("tour.db-shm")):
        each.unlink(missing_ok=True)
    return path


def _run_quietly(scratch: Path, words: list[str]) -> list[str]:
    """Run a command and return the lines it says. Stops the tour where it goes wrong."""
    from logbook.cli.main import run

    output, mistakes = io.StringIO(), io.StringIO()
    with redirect_stdout(output), redirect_stderr(mistakes):
        code = run(["--db", str(scratch), *words])
    if code:
        remark(mistakes.getvalue().strip() or output.getvalue().strip())
        raise typer.Exit(code)
    return output.getvalue().strip().splitlines()


def _added(lines: list[str]) -> str:
    """Return how many of each noun a load added, in the order in which it says so."""
    counts: dict[str, int] = {}
    for line in lines:
        action, _, rest = line.partition(" ")
        if action == "added":
            noun = rest.partition(" ")[0]
            counts[noun] = counts.get(noun, 0) + 1
    return "added " + ", ".join(
        f"{count} {noun}{'' if count == 1 else 's'}" for noun, count in counts.items()
    ).replace("persons", "people")
