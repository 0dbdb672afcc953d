"""What was typed after `logbook listen`: files, or a song and its parts; and waiting meanwhile."""

from __future__ import annotations

import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from logbook.cli.log import opened, place_of
from logbook.cli.printing import colourful
from logbook.errors import LogbookError

if TYPE_CHECKING:
    from logbook.editing.takes import TakeId
    from logbook.records.part_view import PartView


def as_files(words: Sequence[str]) -> list[Path] | None:
    """Return the words as files if they name files, None if they name a song and parts.

    Raises LogbookError where a word looks like a file and there is none.
    """
    from logbook.audio.scanning import AUDIO_SUFFIXES

    paths = [Path(word) for word in words]
    looks = [path.is_file() or path.suffix.lower() in AUDIO_SUFFIXES for path in paths]
    if not any(looks):
        return None
    for path in paths:
        must_exist(path)
    return paths


def must_exist(path: Path) -> Path:
    """Return the path of a file. Raises LogbookError where there is none."""
    if not path.is_file():
        raise LogbookError(f"there is no file {path}", "give the path of an audio file")
    return path


def named_takes(options: Sequence[str]) -> tuple[list[tuple[TakeId, Path]], list[Path]]:
    """Return what --take said: files of numbered takes ("2=a.wav"), and plain files."""
    from logbook.editing.takes import parse_take_id

    numbered: list[tuple[TakeId, Path]] = []
    plain: list[Path] = []
    for option in options:
        front, equals, rest = option.partition("=")
        if not equals or Path(option).is_file():
            plain.append(must_exist(Path(option)))
            continue
        numbered.append((parse_take_id(front), must_exist(Path(rest))))
    return numbered, plain


def one_part(song: str, part: str, version: str, *, finished: bool = False) -> PartView:
    """Return the one part that is meant; of several, with `finished`, the one with such a file.

    Raises LogbookError where it is not clear.
    """
    found = parts_meant(song, part, version)
    if finished and not part:
        found = [place for place in found if place.part.files] or found
    if len(found) == 1:
        return found[0]
    title = found[0].song.title
    raise LogbookError(
        f"it is not clear which part of {title} is meant",
        f"name one of {', '.join(place.part.name for place in found)}"
        + (" and its --version" if len({place.version.name for place in found}) > 1 else ""),
    )


def parts_meant(song: str, part: str, version: str) -> list[PartView]:
    """Return the parts that are meant, where `here` stands if no song is said.

    Raises LogbookError where there is none.
    """
    from logbook.cli.song_log import read_song
    from logbook.records.part_view import PartView

    with opened() as store:
        if not song and part:
            from logbook.store.here import read_here

            with store.reading() as connection:
                here = place_of(read_here(connection), "", version, part)
            song, version = here.song, here.version
        found = read_song(store, song, version, part)
    places = [
        PartView(found.log, found.song, each, one)
        for each in found.versions()
        for one in found.parts(each)
    ]
    if not places:
        raise LogbookError(f"{found.song.title} has no part yet", "add one with `logbook part add`")
    return places


@contextmanager
def waiting(what: str) -> Iterator[None]:
    """Show on a terminal's error output that work goes on, and for how long already."""
    if not sys.stderr.isatty():
        yield
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

    with Progress(
        TextColumn("{task.description}"),
        BarColumn(),
        TimeElapsedColumn(),
        console=Console(stderr=True, no_color=not colourful()),
        transient=True,
    ) as bar:
        bar.add_task(what, total=None)
        yield
