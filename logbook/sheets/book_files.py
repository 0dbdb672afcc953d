"""Writing a book to its folder: only what changed, and never over what is not its own.

Beside the pages stands a list of them (`.logbook-book.json`): each page's key, which is the
digest of all that the page was made from. A page whose key is there and whose file is there is
left alone. Pages of what is gone are removed if the list has them and they are pages of a book.
The list is written last; whatever happens before, the next run finds out what is still to do.
"""

from __future__ import annotations

import gc
import json
import os
from collections.abc import Callable, Iterator, Sequence
from functools import lru_cache, partial
from itertools import count
from pathlib import Path, PurePosixPath
from typing import NamedTuple

from logbook.errors import LogbookError
from logbook.processes import helpers, shared_out
from logbook.sheets.book import FOLDERS, INDEX, Book, SongPages, digest_of
from logbook.sheets.book_pages import (
    BOOK,
    STYLES,
    index_text,
    song_page_texts,
    styles_text,
    thing_page_text,
)
from logbook.sheets.looks import Look

LIST = ".logbook-book.json"
MARK = f'name="generator" content="{BOOK}"'
_MARK_WITHIN = 1024
_WORTH_HELPERS = 48
_AT_ONCE = 8
_SWEPT_EVERY = 6
_BATCHES = count(1)

Progress = Callable[[int], None]


class WrittenBook(NamedTuple):
    """What was done: pages written, left as they were, removed; `kept` are not the book's own."""

    written: int
    unchanged: int
    removed: int
    kept: tuple[str, ...]


class _Task(NamedTuple):
    """Something to be made: its pages, their key, and how they are made."""

    paths: tuple[str, ...]
    key: str
    song: SongPages | None = None
    make: Callable[[], str] | None = None


def write_book(
    book: Book, folder: Path, look: Look, progress: Callable[[int], Progress]
) -> WrittenBook:
    """Write a book; `progress` is told how many pages are to be made, and gives a counter.

    Raises LogbookError where the folder holds pages that are not the book's own.
    """
    known = _known(folder)
    tasks = _tasks(book, look)
    there = set(_files_there(folder))
    to_do = [
        task
        for task in tasks
        if any(known.get(path) != task.key or path not in there for path in task.paths)
    ]
    for task in to_do:
        for path in task.paths:
            _check_own(folder, path, there, known)
    _write_styles(folder)
    done = progress(sum(len(task.paths) for task in to_do))
    for path, text in _made(to_do, look):
        _write(folder / path, text)
        done(1)
    now = {path: task.key for task in tasks for path in task.paths}
    removed, kept = _remove(folder, [path for path in known if path not in now])
    if to_do or known != now:
        _write(folder / LIST, json.dumps({"pages": now}, indent=0, sort_keys=True) + "\n")
    written = sum(len(task.paths) for task in to_do)
    return WrittenBook(written, len(now) - written, removed, kept)


def _write_styles(folder: Path) -> None:
    """Write how pages look beside them, where it is not there as it should be."""
    file, text = folder / STYLES, styles_text()
    try:
        there = file.read_text(encoding="utf-8", errors="replace")
    except FileNotFoundError:
        there = ""
    except OSError as error:
        raise LogbookError(f"{file} cannot be read ({error.strerror})", "move it away") from error
    if file.is_symlink() or (there and not there.startswith(f"/* {BOOK} */")):
        raise LogbookError(
            f"{file} already exists and is not part of a book",
            "choose an empty folder, or move the file away",
        )
    if there != text:
        _write(file, text)


def _tasks(book: Book, look: Look) -> list[_Task]:
    """Everything the book is made of; a key holds whatever a page depends on."""
    program = digest_of(_program(), look)
    tasks = [
        _Task(tuple(path for _, path in song.paths), digest_of(program, song.key), song)
        for song in book.songs
    ]
    tasks += [
        _Task((thing.path,), digest_of(program, thing), None, partial(thing_page_text, thing))
        for thing in book.things
    ]
    tasks.append(_Task((INDEX,), digest_of(program, book.entries), None, partial(index_text, book)))
    return tasks


@lru_cache(maxsize=1)
def _program() -> tuple[tuple[str, int, int], ...]:
    """What the program is: its files with size and time, for another one draws other pages."""
    root = Path(__file__).parents[1]
    found = []
    for folder, _, names in os.walk(root):
        for name in names:
            if name.endswith((".py", ".html", ".css", ".js")):
                about = os.stat(os.path.join(folder, name))
                found.append((os.path.join(folder, name), about.st_size, about.st_mtime_ns))
    return tuple(sorted(found))


# Making pages


def _made(tasks: Sequence[_Task], look: Look) -> Iterator[tuple[str, str]]:
    """Make pages, those of many songs on all processors."""
    songs = [task.song for task in tasks if task.song is not None]
    for task in tasks:
        if task.make is not None:
            yield task.paths[0], task.make()
    count = helpers()
    if len(songs) < _WORTH_HELPERS or count < 2:
        for song in songs:
            yield from song_page_texts(song, look)
        return
    batches = [songs[at : at + _AT_ONCE] for at in range(0, len(songs), _AT_ONCE)]
    for pages in shared_out(partial(_batch, look=look), batches, count):
        yield from pages


def _batch(songs: Sequence[SongPages], look: Look) -> list[tuple[str, str]]:
    """Make the pages of some songs, in a process that does nothing else.

    Garbage in cycles is looked for only now and then: done as usual it costs a sixth of the time.
    """
    gc.disable()
    pages = [page for song in songs for page in song_page_texts(song, look)]
    if next(_BATCHES) % _SWEPT_EVERY == 0:
        gc.collect()
    return pages


# Files


def _known(folder: Path) -> dict[str, str]:
    """The pages of the list; none where it is missing or is not a list of ours."""
    try:
        listed = json.loads((folder / LIST).read_text(encoding="utf-8"))["pages"]
        return {str(path): str(key) for path, key in listed.items() if _is_inside(str(path))}
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return {}


def _is_inside(path: str) -> bool:
    """Whether a path is one a book could have: no way out of its folder."""
    parts = PurePosixPath(path).parts
    return (
        1 <= len(parts) <= 2
        and path.endswith(".html")
        and "\\" not in path
        and all(part not in ("..", ".", "/") and ":" not in part for part in parts)
    )


def _files_there(folder: Path) -> Iterator[str]:
    for path in ("", *FOLDERS.values()):
        place = folder / path
        if place.is_symlink() and path:
            raise LogbookError(f"{place} leads out of the book's folder", "remove the link")
        if place.is_dir():
            with os.scandir(place) as entries:
                yield from (f"{path}/{each.name}".lstrip("/") for each in entries)


def _check_own(folder: Path, path: str, there: set[str], known: dict[str, str]) -> None:
    """Refuse to write over what no book has written."""
    if path in there and path not in known and not _is_ours(folder / path):
        raise LogbookError(
            f"{folder / path} already exists and is not a page of a book",
            "choose an empty folder, or move the file away",
        )


def _is_ours(file: Path) -> bool:
    try:
        with open(file, encoding="utf-8", errors="replace") as opened:
            return not file.is_symlink() and MARK in opened.read(_MARK_WITHIN)
    except OSError:
        return False


def _write(file: Path, text: str) -> None:
    """Write a file so that it is there as a whole or as it was."""
    file.parent.mkdir(parents=True, exist_ok=True)
    waiting = file.with_name(f".{file.name[:80]}.new")
    waiting.write_text(text, encoding="utf-8", errors="replace", newline="\n")
    waiting.replace(file)


def _remove(folder: Path, paths: Sequence[str]) -> tuple[int, tuple[str, ...]]:
    """Remove pages of what is gone; return how many, and those that are not a book's any more."""
    removed, kept = 0, []
    for path in paths:
        file = folder / path
        if not file.exists() or file.parent.is_symlink():
            continue
        if _is_ours(file):
            file.unlink()
            removed += 1
        else:
            kept.append(path)
    return removed, tuple(kept)
