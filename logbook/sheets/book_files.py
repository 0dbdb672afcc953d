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
from itertools import chain, count, islice
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
from logbook.sheets.book_takes import with_takes
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


class _BookPage(NamedTuple):
    """A page that was made, with its key."""

    path: str
    key: str
    text: str


def write_book(
    book: Book, folder: Path, look: Look, progress: Callable[[int], Progress]
) -> WrittenBook:
    """Write a book; `progress` is told how much there is to be looked at, and gives a counter.

    Raises LogbookError where the folder holds pages that are not the book's own.
    """
    known = _known(folder)
    there = set(_files_there(folder))
    for path in book.paths:
        _check_own(folder, path, there, known)
    _write_styles(folder)
    made = _Making(book, folder, look, known, there)
    made.done = progress(book.count)
    for page in made.pages():
        if known.get(page.path) != page.key or page.path not in there:
            _write(folder / page.path, page.text)
            made.written += 1
    removed, kept = _remove(folder, [path for path in known if path not in made.now])
    if made.written or known != made.now:
        _write(folder / LIST, json.dumps({"pages": made.now}, indent=0, sort_keys=True) + "\n")
    return WrittenBook(made.written, len(made.now) - made.written, removed, kept)


class _Making:
    """Makes the pages whose keys are new; `now` are the keys of all pages there are."""

    def __init__(
        self, book: Book, folder: Path, look: Look, known: dict[str, str], there: set[str]
    ) -> None:
        self._book = book
        self._folder = folder
        self._look = look
        self._known = known
        self._there = there
        self._program = digest_of(_program(), look)
        self.now: dict[str, str] = {}
        self.written = 0
        self.done: Progress = lambda count: None

    def pages(self) -> Iterator[_BookPage]:
        """Make the pages of songs, those of many on all processors, then all others."""
        yield from self._pages_of_songs()
        book = self._book
        for thing in book.things:
            key = digest_of(self._program, thing)
            yield from self._other(thing.path, key, partial(thing_page_text, thing))
        key = digest_of(self._program, book.entries)
        yield from self._other(INDEX, key, partial(index_text, book))

    def _other(self, path: str, key: str, make: Callable[[], str]) -> Iterator[_BookPage]:
        self.now[path] = key
        if self._is_new(path, key):
            yield _BookPage(path, key, make())
        self.done(1)

    def _is_new(self, path: str, key: str) -> bool:
        return self._known.get(path) != key or path not in self._there

    def _pages_of_songs(self) -> Iterator[_BookPage]:
        songs = self._songs_to_do()
        first = list(islice(songs, _WORTH_HELPERS))
        count = helpers() if len(first) == _WORTH_HELPERS else 0
        every = chain(first, songs)
        if count > 1:
            batch = partial(_batch, look=self._look, program=self._program)
            batches = iter(lambda: list(islice(every, _AT_ONCE)), [])
            for drawn in shared_out(batch, batches, count):
                for pages in drawn:
                    yield from self._taken_in(pages)
        else:
            for song in every:
                yield from self._taken_in(_drawn(song, self._look, self._program))

    def _taken_in(self, pages: list[_BookPage]) -> Iterator[_BookPage]:
        """The pages of one song, whose keys are those of now."""
        for page in pages:
            self.now[page.path] = page.key
            yield page
        self.done(1)

    def _songs_to_do(self) -> Iterator[_Song]:
        """Plan song after song; those come out of which a page is to be made."""
        for song in self._book.songs():
            key = digest_of(self._program, song.key)
            sheets = [path for _, path in song.paths]
            paths = sheets
            if song.takes is not None:
                paths = [*sheets, song.takes.path]
                _check_own(self._folder, song.takes.path, self._there, self._known)
            if any(self._is_new(path, key) for path in sheets) or not self._there.issuperset(paths):
                yield _Song(song, key)
            else:
                self.now.update((path, self._known.get(path, "")) for path in paths)
                self.done(1)


class _Song(NamedTuple):
    """A song of which pages are to be made, and the key of its sheets."""

    pages: SongPages
    key: str


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


def _drawn(song: _Song, look: Look, program: str) -> list[_BookPage]:
    """Draw the pages of a song; that of its takes has a key of its own."""
    made = [_BookPage(path, song.key, text) for path, text in song_page_texts(song.pages, look)]
    if song.pages.takes is not None:
        (own,) = song.pages.log.songs
        takes = with_takes(song.pages.takes, own)
        made.append(_BookPage(takes.path, digest_of(program, takes), thing_page_text(takes)))
    return made


def _batch(songs: Sequence[_Song], look: Look, program: str) -> list[list[_BookPage]]:
    """Draw the pages of some songs, in a process that does nothing else.

    Garbage in cycles is looked for only now and then: done as usual it costs a sixth of the time.
    """
    gc.disable()
    pages = [_drawn(song, look, program) for song in songs]
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
