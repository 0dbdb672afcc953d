"""`logbook tag SONG`: credits, ISRC, tempo and key into the song's audio files.

Exit code 1 where a file could not be tagged; the others are.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from textwrap import wrap
from typing import TYPE_CHECKING, Annotated, NamedTuple

import typer

from logbook.cli.apps import new_app
from logbook.cli.asking import progress
from logbook.cli.log import opened, settings
from logbook.cli.options import PartOption, SongArgument, VersionOption
from logbook.cli.printing import remark, say, width
from logbook.errors import LogbookError

if TYPE_CHECKING:
    from logbook.audio.tagging import TagChange
    from logbook.importing.tagging_plan import ToTag

COPIES = Path("tagged")

app = new_app(
    "Write title, track, writers, performers, codes, tempo, key, dates and credits into a song's "
    "audio files: into copies in a folder, or with --in-place into the files themselves, once it "
    "is proved that their sound stays what it is. Exit code 1 where a file could not be tagged.",
    examples=(
        "logbook tag 'Low Water' --dry-run",
        "logbook tag 'Low Water' --out to-send",
        "logbook tag 'Low Water' --in-place",
    ),
    single=True,
)


class Tagged(NamedTuple):
    """What became of one file: where the tags are, what changed, what to say, what failed."""

    to_tag: ToTag
    place: str
    changes: tuple[TagChange, ...] = ()
    notes: tuple[str, ...] = ()
    failed: str = ""


@app.command()
def tag(
    song: SongArgument = "",
    out: Annotated[
        Path | None,
        typer.Option("--out", "-o", metavar="FOLDER", help="Where the copies go; else tagged/."),
    ] = None,
    in_place: Annotated[
        bool, typer.Option("--in-place", help="Write into the files themselves.")
    ] = False,
    dry_run: Annotated[
        bool, typer.Option("--dry-run", "-n", help="Only say what would change.")
    ] = False,
    version: VersionOption = "",
    part: PartOption = "",
) -> None:
    """Write what the log knows into a song's audio files."""
    from logbook.cli.song_log import read_song, with_releases
    from logbook.crediting.credits import STANDING
    from logbook.importing import tagging_plan as plan

    if in_place and out is not None:
        raise LogbookError("--in-place writes no copies", "drop --out, or --in-place")
    with opened() as store:
        found = read_song(store, song, version, part)
        log = with_releases(store, found)
        files = [
            each
            for each in plan.files_to_tag(log, found.song, found.versions())
            if not found.part or each.part == found.part
        ]
        if not files:
            raise LogbookError(
                f"no audio file is attached to {found.song.title}",
                "bring them in with `logbook import`",
            )
        folder = out or COPIES
        if dry_run:
            done = _each(files, lambda each, name: _seen(each))
        elif in_place:
            done = _each(files, lambda each, name: _written(each))
            changed = [each.to_tag for each in done if each.changes and not each.failed]
            if changed:
                with store.change(settings.command or "tag") as change:
                    plan.learn(change, changed)
        else:
            done = _each(files, lambda each, name: _copied(each, folder, name))
    for line in _lines(done, whole=dry_run):
        say(line)
    for line in wrap(STANDING, width()):
        say(line)
    if dry_run:
        remark("dry run: nothing written")
    if any(each.failed for each in done):
        raise typer.Exit(1)


def _seen(to_tag: ToTag) -> Tagged:
    from logbook.importing.tagging_plan import see

    seen = see(to_tag)
    return Tagged(to_tag, str(to_tag.place), seen.changes, (*to_tag.notes, *seen.notes))


def _copied(to_tag: ToTag, folder: Path, name: str) -> Tagged:
    from logbook.importing.tagging_plan import copy

    written = copy(to_tag, folder, name)
    return Tagged(to_tag, str(folder / name), written.changes, to_tag.notes)


def _written(to_tag: ToTag) -> Tagged:
    from logbook.importing.tagging_plan import in_place

    written = in_place(to_tag)
    return Tagged(to_tag, str(to_tag.place), written.changes, (*to_tag.notes, *written.notes))


def _each(files: Sequence[ToTag], work: Callable[[ToTag, str], Tagged]) -> list[Tagged]:
    """Do the work for every file; one that fails gets its reason, and the others go on."""
    from logbook.importing.tagging_plan import names_of_copies

    done = []
    with progress(len(files), "tagging") as advance:
        for each, name in zip(files, names_of_copies(files), strict=True):
            try:
                done.append(work(each, name))
            except LogbookError as error:
                done.append(Tagged(each, str(each.place), failed=str(error)))
            advance(1)
    return done


def _lines(done: Sequence[Tagged], *, whole: bool) -> Iterator[str]:
    """Yield what became of every file; with `whole` every field from what to what."""
    for each in done:
        yield from _wrapped(f"{each.to_tag.hangs_on}: {each.place}", "  ")
        if each.failed:
            yield from _wrapped(f"  not tagged: {each.failed}", "    ")
        elif not each.changes:
            yield "  already up to date"
        elif whole:
            for change in each.changes:
                old, new = "; ".join(change.old) or "nothing", "; ".join(change.new)
                yield from _wrapped(f"  {change.field}: {old} -> {new}", "    ")
        else:
            fields = ", ".join(change.field for change in each.changes)
            yield from _wrapped(f"  wrote {fields}", "    ")
        for note in each.notes:
            yield from _wrapped(f"  note: {note}", "    ")
    failed = sum(bool(each.failed) for each in done)
    good = len(done) - failed
    verb = "would be tagged" if whole else "tagged"
    yield ""
    yield f"{good} file{'' if good == 1 else 's'} {verb}" + (f", {failed} not." if failed else ".")


def _wrapped(text: str, indent: str) -> list[str]:
    return wrap(
        text, width(), subsequent_indent=indent, break_on_hyphens=False, drop_whitespace=True
    )
