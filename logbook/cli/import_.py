"""`logbook import FOLDER`: audio files hung on the takes they are.

Exit code 1 where a file that calls itself audio could not be used.
"""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from textwrap import wrap
from typing import TYPE_CHECKING, Annotated, Any

import typer

from logbook.cli.apps import new_app
from logbook.cli.log import opened, settings
from logbook.cli.looking import look_ahead
from logbook.cli.options import JsonOption
from logbook.cli.printing import as_data, colourful, print_json, remark, say, table_lines, width
from logbook.errors import LogbookError
from logbook.plaintext import in_common

if TYPE_CHECKING:
    from logbook.audio.scanning import Progress
    from logbook.importing.filing import FileOutcome
    from logbook.importing.folder import Imported
    from logbook.importing.matching import ImportOptions
    from logbook.store.store import Store

app = new_app(
    "Read a folder of audio files and attach them to their takes, by their names, their "
    "broadcast chunks and their iXML chunks. What cannot be told stays detached and is listed. "
    "Only what is new since the last time is read. Exit code 1 where a file could not be used.",
    examples=(
        "logbook import sample_session",
        "logbook import takes --dry-run",
        "logbook import takes --session 'day one' --pattern '{part}_{take}' --song 'Low Water'",
        "logbook import takes --propose > guesses.txt",
        "logbook import takes --proposal guesses.txt",
        "logbook import takes --yes --sure 80",
    ),
    single=True,
)

_NAME = 30
_MANY = 40  # lines that are still read one by one
_FEW = 5  # files of a folder that are, in a long list


@app.command()
def import_files(
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="The folder to read.")],
    dry_run: Annotated[
        bool, typer.Option("--dry-run", "-n", help="Only say what would happen.")
    ] = False,
    session: Annotated[
        str, typer.Option("--session", metavar="NAME", help="The session the files are from.")
    ] = "",
    pattern: Annotated[
        str,
        typer.Option(
            "--pattern",
            metavar="PATTERN",
            help="How the files are named, as {song}_{part}_{take}; also {version}, {session}, "
            "{date}, {mic}, {text}. Several with | between: the one that tells most is taken.",
        ),
    ] = "",
    song: Annotated[
        str, typer.Option("--song", metavar="TITLE", help="The song the files belong to.")
    ] = "",
    show: Annotated[
        bool, typer.Option("--propose", help="Print what the rest most likely is, to be edited.")
    ] = False,
    edit: Annotated[
        bool, typer.Option("--edit", help="Edit what the rest most likely is, then attach it.")
    ] = False,
    proposal: Annotated[
        str, typer.Option("--proposal", metavar="FILE|-", help="Attach as an edited proposal says.")
    ] = "",
    yes: Annotated[
        bool, typer.Option("--yes", help="Attach every guess that is sure enough.")
    ] = False,
    sure: Annotated[
        float, typer.Option("--sure", min=0, max=100, help="How sure that is, in percent.")
    ] = 50.0,
    as_json: JsonOption = False,
) -> None:
    """Attach a folder of audio files to the takes."""
    from logbook.cli.import_proposal import settle
    from logbook.importing.folder import import_folder

    if not folder.is_dir():
        what = "is not a folder" if folder.exists() else "is not there"
        raise LogbookError(f"{folder} {what}", "name the folder that the files are in")
    with opened() as store, progress_bar() as on_progress:
        asked = _asked(store, session, song, pattern)
        done = import_folder(
            store,
            folder,
            asked,
            command=settings.command or "import",
            dry_run=dry_run,
            on_progress=on_progress,
        )
    if not dry_run:
        look_ahead()
    if as_json:
        print_json(_data(done, dry_run))
    elif not show:
        for line in _lines(done):
            say(line)
        if dry_run:
            remark("dry run: nothing written")
    if not dry_run and not (as_json and not yes and not proposal):
        with opened() as store:
            settle(
                store,
                folder,
                asked,
                show=show,
                edit=edit,
                file=proposal,
                yes=yes,
                sure=sure / 100,
            )
    if done.refused:
        raise typer.Exit(1)


def _asked(store: Store, session: str, song: str, pattern: str) -> ImportOptions:
    """Return what was said as row numbers. Raises LogbookError for names that are not there."""
    from logbook.importing.matching import ImportOptions
    from logbook.store.finding import find
    from logbook.store.here import read_here

    with store.reading() as connection:
        here = read_here(connection)
        here_song = find(connection, "song", here.song).id if here.song else None
        return ImportOptions(
            session_id=find(connection, "session", session).id if session else None,
            song_id=find(connection, "song", song).id if song else None,
            pattern=pattern,
            here_song=here_song,
            here_version=find(connection, "version", here.version, here.place).id
            if here.version
            else None,
            here_session=find(connection, "session", here.session).id if here.session else None,
        )


@contextmanager
def progress_bar() -> Iterator[Callable[[Progress], None] | None]:
    """Show files and bytes done on the error output, where that is a terminal."""
    if not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console
    from rich.progress import (
        BarColumn,
        DownloadColumn,
        TextColumn,
        TimeRemainingColumn,
        TransferSpeedColumn,
    )
    from rich.progress import Progress as Bar

    with Bar(
        TextColumn("{task.fields[files]}"),
        BarColumn(bar_width=None),
        DownloadColumn(),
        TransferSpeedColumn(),
        TimeRemainingColumn(),
        console=Console(stderr=True, no_color=not colourful()),
        transient=True,
    ) as bar:
        task = bar.add_task("", total=None, files="looking")

        def show(progress: Progress) -> None:
            bar.update(
                task,
                completed=progress.bytes_done,
                total=progress.bytes_total,
                files=f"{progress.files_done}/{progress.files_total} files",
            )

        yield show


def _lines(done: Imported) -> Iterator[str]:
    """Yield the table of what happened, and under it the counts."""
    groups = (
        ("Attached to takes and parts", [e for e in done.outcomes if e.hangs]),
        ("Not attached", done.unassigned),
        ("Not usable", done.refused),
    )
    for heading, outcomes in groups:
        if outcomes:
            yield heading
            rows = [(_short(name), text) for name, text in _rows(outcomes)]
            yield from table_lines(("FILE", "WHAT IT IS"), rows, width())
            yield ""
    if done.unassigned and done.trials:
        yield "Patterns tried on the names that are not attached (read, and known to the log)"
        best = [trial for trial in done.trials if trial.read][:6] or list(done.trials[:3])
        for trial in best:
            yield f"  {trial.pattern:<32} {trial.read} and {trial.recognised} of {trial.total}"
        yield ""
    for sentence in _sentences(done):
        yield from wrap(sentence, width(), break_on_hyphens=False)


def _rows(outcomes: Sequence[FileOutcome]) -> Iterator[tuple[str, str]]:
    """Yield each file with what it is; of very many, those of one take or folder in one line."""
    if len(outcomes) <= _MANY:
        yield from ((each.file, _outcome_text(each)) for each in outcomes)
        return
    groups: dict[tuple[str, str], list[FileOutcome]] = {}
    for each in outcomes:
        place = _place(replace(each, microphone="")) if each.hangs else each.what
        groups.setdefault((each.file.rpartition("/")[0], place), []).append(each)
    for (_, place), alike in groups.items():
        first = alike[0]
        if len(alike) == 1 or (not first.hangs and len(alike) <= _FEW):
            yield from ((each.file, _outcome_text(each)) for each in alike)
            continue
        microphones = ", ".join(dict.fromkeys(filter(None, (each.microphone for each in alike))))
        told = f"{place}; {len(alike)} files" if first.hangs else f"{len(alike)} files"
        if first.hangs and microphones:
            told += f": {microphones}"
        elif not first.hangs:
            told += f"; of the first: {_outcome_text(first)}"
        yield in_common([each.file for each in alike]), told


def _sentences(done: Imported) -> Iterator[str]:
    """Yield what is said below the table."""
    for sentence in done.remarks:
        yield f"Left out a file-name pattern: {sentence}."
    if done.patterns:
        read = ", ".join(
            f"{pattern} ({count})" for pattern, count in Counter(done.patterns).most_common()
        )
        yield f"Names read by {read}."
    yield _summary(done)
    if done.passed_over:
        yield f"{_files(done.passed_over)} passed over: not audio, by name or by content."
    if done.steps > 1:
        yield f"Written in {done.steps} steps; logbook undo {done.steps} takes them all back."
    if done.unassigned or done.unassigned_before:
        yield "Attach by hand: logbook files attach FILE SONG PART TAKE."


def _summary(done: Imported) -> str:
    """Return the counts in one sentence."""
    if not done.outcomes:
        known = f"{_files(done.unchanged)} known and unchanged" if done.unchanged else "no audio"
        loose = done.unassigned_before
        return f"Nothing is new: {known}{f', {loose} of them not attached' if loose else ''}."
    counts = Counter(each.what for each in done.outcomes)
    hung = sum(each.hangs for each in done.outcomes)
    words = [f"{count} {_COUNTED.get(what, what)}" for what, count in counts.items()]
    unchanged = done.unchanged - counts["assigned"]
    if unchanged:
        words.append(f"{unchanged} known and unchanged")
    summary = f"{_files(len(done.outcomes) + unchanged)}: {', '.join(words)}"
    left = f"{len(done.unassigned) + done.unassigned_before} not attached"
    if len(done.refused) < len(done.outcomes):
        return f"{summary}; {hung} attached, {left}."
    return f"{summary}; {left}." if done.unassigned_before else f"{summary}."


def _files(count: int) -> str:
    return f"{count} file{'' if count == 1 else 's'}"


def _short(name: str) -> str:
    """Return a file's name short enough for its column; its end tells more than its folders."""
    return name if len(name) <= _NAME else f"...{name[3 - _NAME :]}"


def _outcome_text(outcome: FileOutcome) -> str:
    """Return what became of a file in one line."""
    if outcome.what == "refused":
        return "; ".join([outcome.why, *outcome.remarks])
    words = []
    if outcome.hangs:
        words.append(_place(outcome))
        if outcome.new_take:
            words.append("a take that was not logged, added unrated")
        if outcome.by and outcome.by != ("name",):
            words.append(f"by its {' and '.join(outcome.by)}")
    if outcome.what not in ("new", "mentioned", "changed"):
        words.append(_WHAT[outcome.what])
    if outcome.kind:
        length = f" {outcome.seconds:.1f} s" if outcome.seconds is not None else ""
        words.append(f"{outcome.kind}{length}")
    if outcome.bars:
        words.append(outcome.bars)
    words.extend(outcome.remarks)
    if not outcome.hangs and outcome.why:
        words.insert(0, outcome.why)
    return "; ".join(dict.fromkeys(words))


_COUNTED = {
    "mentioned": "named in the log already",
    "retagged": "with the same sound rewritten",
    "refused": "not usable",
    "assigned": "from before",
}
_WHAT = {
    "moved": "moved",
    "retagged": "the same sound, rewritten (tags or date)",
    "copy": "a copy",
    "assigned": "known from before, attached now",
}


def _place(outcome: FileOutcome) -> str:
    """Return where a file attach-alls: "Low Water, EP, guitar, take 2 (day one)"."""
    names = [outcome.song, outcome.version, outcome.part]
    place = ", ".join(name for name in names if name)
    if outcome.take is not None:
        place += f", take {outcome.take}"
    elif outcome.part:
        place += ", finished"
    else:
        place += ", mix"
    if outcome.microphone:
        place += f", {outcome.microphone}"
    return place + (f" ({outcome.session})" if outcome.session else "")


def _data(done: Imported, dry_run: bool) -> dict[str, Any]:
    """Return the same as data."""
    return {
        "folder": done.folder,
        "dry_run": dry_run,
        "files": [_outcome_data(each) for each in done.outcomes],
        "unchanged": done.unchanged,
        "steps": done.steps,
        "passed_over": done.passed_over,
        "unassigned_before": done.unassigned_before,
        "patterns": done.patterns,
        "patterns_tried": [
            {
                "pattern": trial.pattern,
                "read": trial.read,
                "recognised": trial.recognised,
                "of": trial.total,
            }
            for trial in done.trials
        ],
        "remarks": list(done.remarks),
    }


def _outcome_data(outcome: FileOutcome) -> dict[str, Any]:
    from dataclasses import fields

    values = {each.name: getattr(outcome, each.name) for each in fields(outcome)}
    values["assigned"] = outcome.hangs
    return as_data(values)
