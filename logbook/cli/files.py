"""`logbook files`: the log's audio files against the disk, attached and detached by hand.

Exit code 1 where a file is missing, moved or changed.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import groupby
from pathlib import Path
from textwrap import wrap
from typing import TYPE_CHECKING, Annotated, Any

import typer

from logbook.cli.apps import examples, new_app
from logbook.cli.files_copies import copies_lines, verify
from logbook.cli.log import changing, opened, place_of, settings
from logbook.cli.options import JsonOption
from logbook.cli.printing import as_data, print_json, say, table_lines, width
from logbook.errors import LogbookError
from logbook.plaintext import in_common

if TYPE_CHECKING:
    from logbook.importing.hanging import Hung
    from logbook.importing.relinking import FileNews, FilesReport
    from logbook.store.changing import Change
    from logbook.store.finding import FoundRow

app = new_app(
    "Say which audio files of the log are missing, moved, changed, or not attached to anything. "
    "Exit code 1 where a file is missing, moved or changed.",
    examples=(
        "logbook files",
        "logbook files --relink /media/drive",
        "logbook files attach REC0004.wav 'Low Water' guitar 2",
        "logbook files attach rough-mix.wav 'Low Water'",
        "logbook files attach-all 'drums/*_07_*' --song Varnish --part drums --take 7",
        "logbook files attach-all room_07.wav --song Varnish -p drums -t 7 --also bass",
        "logbook files attach-all 'day/*' --session 'day one'",
        "logbook files detach REC0004.wav",
    ),
    default="list",
)


@app.command("list")
def list_files(
    relink: Annotated[
        Path | None,
        typer.Option("--relink", metavar="FOLDER", help="Find missing files there by their sound."),
    ] = None,
    as_json: JsonOption = False,
) -> None:
    """List files that are missing, moved, changed, or not attached."""
    from logbook.cli.import_ import progress_bar
    from logbook.importing.copying import report_copies
    from logbook.importing.relinking import report_files

    with opened() as store, progress_bar() as on_progress:
        report = report_files(
            store, relink=relink, command=settings.command or "files", on_progress=on_progress
        )
        copies = report_copies(store)
    if as_json:
        print_json(_data(report) | {"one_copy": list(copies.single)})
    else:
        for line in (*_lines(report), *copies_lines(copies)):
            say(line)
    if not report.is_well:
        raise typer.Exit(1)


_GROUPS = (
    ("relinked", "Found, and where they are in the log now"),
    ("missing", "Missing"),
    ("moved", "Moved: found elsewhere; logbook files --relink FOLDER puts that in the log"),
    ("changed", "Changed: other sound at the same place; logbook import FOLDER takes it in"),
    ("not_read", "Named in the log, but not read yet; logbook import FOLDER does"),
    ("unassigned", "Not attached; logbook files attach FILE SONG PART TAKE"),
)


def _lines(report: FilesReport) -> Iterator[str]:
    for name, heading in _GROUPS:
        news: Sequence[FileNews] = getattr(report, name)
        if news:
            yield f"{heading}:"
            if name == "missing":
                yield from _gone_folders(news)
            yield from _rows([each for each in news if not each.gone or name != "missing"])
            yield ""
    counts = [
        f"{len(getattr(report, name))} {word}"
        for name, word in (
            ("missing", "missing"),
            ("moved", "moved"),
            ("changed", "changed"),
            ("not_read", "not read"),
            ("unassigned", "not attached"),
            ("relinked", "found again"),
        )
        if getattr(report, name)
    ]
    line = f"{report.total} file{'' if report.total == 1 else 's'} in the log"
    yield f"{line}: {', '.join(counts)}." if counts else f"{line}, all where they should be."


def _gone_folders(news: Sequence[FileNews]) -> Iterator[str]:
    """Say of a folder that is gone as a whole how many files were in it, and no more."""
    counts = Counter(each.gone for each in news if each.gone)
    for folder, count in counts.items():
        files = "the 1 file" if count == 1 else f"all {count} files"
        sentence = f"{folder} is gone, and with it {files} that the log has there."
        for line in wrap(sentence, width() - 2, break_on_hyphens=False, break_long_words=False):
            yield f"  {line}"


def _rows(news: Sequence[FileNews]) -> Iterator[str]:
    if not news:
        return
    rows = []
    for (words, folder), group in groupby(news, key=_said_of):
        names = [each.name or each.place for each in group]
        where = [*words, f"in {folder}"] if folder else [*words]
        # Several microphones of one take are one line.
        if len(names) > 1 and words and not any(each.startswith("now ") for each in words):
            where[0] += f", {len(names)} files"
            names = [in_common(names)]
        rows += [(name, "; ".join(where)) for name in names]
    for line in table_lines(("FILE", "WHERE"), rows, width() - 2):
        yield f"  {line}"


def _said_of(each: FileNews) -> tuple[tuple[str, ...], str]:
    """What is said of a file besides its name, and its folder."""
    words = (each.hangs_on, f"now {each.now}" if each.now else "", each.note)
    name = each.name or each.place
    return tuple(filter(None, words)), each.place.removesuffix(name).rstrip("/")


def _data(report: FilesReport) -> dict[str, Any]:
    data: dict[str, Any] = {"total": report.total}
    for name, _ in _GROUPS:
        data[name] = [
            as_data(
                {
                    "file": each.place,
                    "hangs_on": each.hangs_on,
                    "now": each.now,
                    "note": each.note,
                }
            )
            for each in getattr(report, name)
        ]
    return data


app.command("verify", epilog=examples("logbook files verify /media/blue --on 'blue drive'"))(verify)


@app.command("attach")
@app.command("assign", hidden=True)
def assign(
    file: Annotated[
        str,
        typer.Argument(
            metavar="FILE", help="A file of the log, by its name or path; or one on the disk."
        ),
    ],
    song: Annotated[str, typer.Argument(metavar="SONG", help="The song.")],
    part: Annotated[
        str, typer.Argument(metavar="[PART]", help="The part; without one it is a mix.")
    ] = "",
    take: Annotated[
        str,
        typer.Argument(metavar="[TAKE]", help="The take; without one it is the finished part."),
    ] = "",
    version: Annotated[
        str, typer.Option("--version", "-v", metavar="NAME", help="Which version of the song.")
    ] = "",
    session: Annotated[
        str, typer.Option("--session", metavar="NAME", help="Which session the take is from.")
    ] = "",
    microphone: Annotated[
        str, typer.Option("--microphone", metavar="TEXT", help="Which line of the take it is.")
    ] = "",
) -> None:
    """Attach a file by hand to a take, to a part as its finished file, or to a version as a mix."""
    from logbook.importing.hanging import twin_that_hangs
    from logbook.store.editing import edit
    from logbook.store.finding import LogPlace
    from logbook.store.here import Here
    from logbook.store.writing import attach

    with changing() as (_, change):
        found = _file(change, file)
        place = place_of(Here(), song, version, part, session)
        if take:
            place = place._replace(take=_number(take))
        elif not part:
            place = LogPlace(song=place.song, version=_version(change, place))
        # A finished part or a mix may well be what one take is.
        twin = twin_that_hangs(change, found.id) if take else ""
        if twin:
            raise LogbookError(
                f"{found.name} is a copy of {twin}, which is attached already",
                "one sound is attached once; logbook files detach detaches the other",
            )
        done = attach(change, found, place)
        if microphone:
            edit(change, found, {"microphone": microphone})
        label = change.place(found.kind, found.id)[1]
    say(f"left as it was: {label}" if done.action == "left" else f"attached: {label}")


@app.command("attach-all")
@app.command("hang", hidden=True)
def hang(
    patterns: Annotated[
        list[str],
        typer.Argument(metavar="PATTERN...", help="Which files: names, * and ? for the rest."),
    ],
    song: Annotated[str, typer.Option("--song", metavar="TITLE", help="The song.")] = "",
    version: Annotated[
        str, typer.Option("--version", "-v", metavar="NAME", help="Which version of the song.")
    ] = "",
    part: Annotated[
        str, typer.Option("--part", "-p", metavar="NAME", help="The part; without one, a mix.")
    ] = "",
    session: Annotated[
        str, typer.Option("--session", "-s", metavar="NAME", help="The session of the take.")
    ] = "",
    take: Annotated[
        int,
        typer.Option(
            "--take", "-t", metavar="N", min=0, help="The take; without one, the finished part."
        ),
    ] = 0,
    microphone: Annotated[
        str, typer.Option("--microphone", metavar="TEXT", help="Which line of the take it is.")
    ] = "",
    also: Annotated[
        list[str] | None,
        typer.Option(
            "--also",
            metavar="PART|SESSION",
            help="What else they are of, as in bass, 'guitar; take 3', 'session day one'.",
        ),
    ] = None,
    as_json: JsonOption = False,
) -> None:
    """Attach many files at once; each one's microphone is read from its name.

    With a session alone they are of the whole session. Files that are attached already stay
    there, and are said to be of what --also names too.
    """
    from logbook.importing.hanging import hang_matching
    from logbook.importing.shared_places import read_also
    from logbook.notebook.fields_files import also_said
    from logbook.store.file_rows import take_for
    from logbook.store.finding import find_owner
    from logbook.store.here import read_here

    with changing() as (_, change):
        if session and not (song or version or part or take):
            _hang_on_session(change, patterns, session, also or (), microphone, as_json)
            return
        place = place_of(read_here(change.connection), song, version, part, session)
        besides = read_also(change.connection, also or (), place)
        kind = "part" if place.part and (part or take) else "version"
        owner_row = find_owner(change.connection, kind, place)
        names = [place.song, place.part, str(take) if take else ""]
        if take:
            take_id = take_for(change, owner_row.id, take, place.session)
            owner, where = {"take_id": take_id}, change.place("take", take_id)[1]
        else:
            owner, where = {f"{kind}_id": owner_row.id}, change.place(kind, owner_row.id)[1]
        done = hang_matching(
            change,
            patterns,
            owner,
            names=list(filter(None, names)),
            microphone=microphone,
            also=besides,
        )
    _say_hung(done, ", ".join([where, *map(also_said, besides)]), as_json)


def _hang_on_session(
    change: Change,
    patterns: list[str],
    session: str,
    also: Sequence[str],
    microphone: str,
    as_json: bool,
) -> None:
    """Say of files that they are of a session as a whole."""
    from logbook.importing.hanging import hang_matching
    from logbook.importing.shared_places import read_also
    from logbook.notebook.fields_files import also_said
    from logbook.store.finding import NOWHERE, find

    name = find(change.connection, "session", session).name
    besides = [
        ("", "", "", "", name),
        *read_also(change.connection, also, NOWHERE),
    ]
    done = hang_matching(change, patterns, {}, microphone=microphone, also=besides)
    _say_hung(done, ", ".join(map(also_said, besides)), as_json)


def _say_hung(done: Hung, where: str, as_json: bool) -> None:
    if as_json:
        print_json(
            {
                "on": where,
                "hung": [{"file": name, "microphone": mic} for name, mic in done.files],
                "left": [{"file": name, "why": why} for name, why in done.left],
            }
        )
        return
    count = len(done.files)
    say(f"{count} file{'' if count == 1 else 's'} attached to {where}")
    rows = [(mic, name) for name, mic in done.files]
    for line in table_lines(("MICROPHONE", "FILE"), rows, width() - 2) if count else ():
        say(f"  {line}")
    for name, why in done.left:
        say(f"left as it was: {name}: {why}")


@app.command("detach")
@app.command("unassign", hidden=True)
def unassign(
    file: Annotated[
        str, typer.Argument(metavar="FILE", help="A file of the log, by its name or path.")
    ],
) -> None:
    """Detach a file from its take, part or version; the log still knows the file."""
    from logbook.store.finding import NOWHERE
    from logbook.store.writing import attach

    with changing() as (_, change):
        found = _file(change, file, from_disk=False)
        before = change.place(found.kind, found.id)[1]
        done = attach(change, found, NOWHERE)
    say(f"it was attached to nothing: {before}" if done.action == "left" else f"detached: {before}")


def _number(text: str) -> int:
    try:
        return int(text.removeprefix("take").strip())
    except ValueError:
        raise LogbookError(f'"{text}" is not a take\'s number', "write a whole number") from None


def _version(change: Change, place: Any) -> str:
    """Return the version meant; one that is the song's only one need not be named."""
    from logbook.store.finding import find_owner

    return find_owner(change.connection, "version", place).name


def _file(change: Change, name: str, *, from_disk: bool = True) -> FoundRow:
    """Return the file of the log that is meant, or take one from the disk into it.

    Raises LogbookError where no file or several are meant.
    """
    from logbook.store.file_rows import read_files
    from logbook.store.finding import FoundRow, choose

    lines = read_files(change.connection)
    on_disk = Path(name).resolve().as_posix() if Path(name).exists() else ""
    by_end: dict[str, list[Any]] = {}
    for line in lines:
        place = f"{line.folder.rstrip('/')}/{line.path}" if line.folder else line.path
        if place in (name, on_disk):
            return FoundRow("audio_file", line.id, line.path)
        steps = place.split("/")
        for at in range(len(steps)):
            by_end.setdefault("/".join(steps[at:]), []).append(line)
    if from_disk and on_disk and name not in by_end:
        return _from_disk(change, Path(on_disk))
    meant = by_end[choose(name, _ends_for(name, by_end), "file")]
    if len({line.digest or line.id for line in meant}) == 1:
        # One sound in several places: what hangs already, else what was there first.
        meant = sorted(meant, key=lambda line: not (line.take_id or line.part_id))[:1]
    if len(meant) > 1:
        folders = ", ".join(sorted({line.folder or "no folder" for line in meant}))
        raise LogbookError(
            f"{len(meant)} files are called {name}, in {folders}", "write the whole path"
        )
    return FoundRow("audio_file", meant[0].id, meant[0].path)


def _ends_for(name: str, by_end: dict[str, list[Any]]) -> list[str]:
    """The ends of places to choose from: as deep as the name that was typed."""
    deep = name.strip("/").count("/")
    return [end for end in by_end if end.count("/") == deep] or list(by_end)


def _from_disk(change: Change, path: Path) -> FoundRow:
    from logbook.audio.errors import AudioError
    from logbook.audio.reading import read_audio
    from logbook.importing.file_facts import record_of
    from logbook.store.file_rows import add_files
    from logbook.store.finding import FoundRow

    try:
        info = read_audio(path)
    except AudioError as error:
        raise LogbookError(f"{path.name}: {error.problem}", error.remedy) from error
    record = record_of(info, folder=path.parent.as_posix(), path=path.name)
    (row_id,) = add_files(change, [(record, {})])
    return FoundRow("audio_file", row_id, path.name)
