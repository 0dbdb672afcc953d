"""A session file of any size applied to the log: cut at its headings, read and put piece by piece.

Conventions
-----------
TOML is read as a whole, and what it says takes many times the room of the file. A large file is
therefore cut where a table of the top begins (`[[song]]`), and its pieces are read like small
files, nouns in the order in which they may name one another, each batch on top of what is in the
log after the one before. All of it is one transaction of the caller's. Mistakes are told with
their lines in the whole file, those of one noun in one go; what would only follow from them is
not read any more.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from itertools import count
from typing import TYPE_CHECKING, BinaryIO, NamedTuple

from logbook.errors import LogbookError
from logbook.notebook.applying import StoreKnown, put_all
from logbook.notebook.nouns import LOG
from logbook.notebook.problems import Mistake, NotebookError
from logbook.notebook.read import SEVERAL, FileReading, parse, read_located
from logbook.notebook.reader import Mention

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from logbook.store.changing import Change

LARGE = 4 * 2**20
"""Files of more bytes are read piece by piece."""
_AT_ONCE = 2**20
_LARGEST = 64 * 2**20
_MOST_MISTAKES = 100

_HEADING = re.compile(rb"\[\[?[ \t]*([A-Za-z0-9_-]+)[ \t]*\]\]?[ \t\r]*(?:#.*)?\n?")
_TRIPLE = re.compile(rb'"""|\'\'\'')
_TOKEN = re.compile(rb'#.*|"""|\'\'\'|"(?:[^"\\]|\\.)*"|\'[^\']*\'')


class FilePiece(NamedTuple):
    """A stretch of a file that can be read by itself: its top key ("" before all headings),
    where it begins (in bytes and lines) and how many bytes it has."""

    key: str
    start: int
    line: int
    size: int


def pieces_of(file: BinaryIO) -> list[FilePiece]:
    """Cut a file where the tables of the top begin."""
    pieces: list[FilePiece] = []
    key, start, first = "", 0, 1
    at, inside = 0, b""
    for number, line in zip(count(1), file):
        found = None if inside else _HEADING.fullmatch(line)
        if found is not None:
            pieces.append(FilePiece(key, start, first, at - start))
            key, start, first = found[1].decode(), at, number
        elif inside or _TRIPLE.search(line):
            inside = _string_after(line, inside)
        at += len(line)
    pieces.append(FilePiece(key, start, first, at - start))
    return [each for each in pieces if each.size]


def _string_after(line: bytes, inside: bytes) -> bytes:
    """The quotes of the text of several lines that goes on after a line, empty for none."""
    at = 0
    while True:
        if inside:
            end = at
            while (end := line.find(inside, end)) >= 0:
                before = line[at:end]
                if inside == b'"""' and (len(before) - len(before.rstrip(b"\\"))) % 2:
                    end += 1
                    continue
                break
            if end < 0:
                return inside
            at, inside = end + 3, b""
            while line[at : at + 1] == line[end : end + 1]:
                at += 1
        found = _TOKEN.search(line, at)
        if found is None or found[0].startswith(b"#"):
            return b""
        at = found.end()
        if found[0] in (b'"""', b"'''"):
            inside = found[0]


class Loaded(NamedTuple):
    """What came of a stretch of a file: its bytes, and every record it speaks of."""

    size: int
    mentions: tuple[Mention, ...]


def apply_large(change: Change, file: BinaryIO, *, folder: str, name: str) -> Iterator[Loaded]:
    """Put all that a file says into the log, yielding what each piece of it speaks of.

    The file is read from its beginning, and several times. Raises NotebookError with the mistakes
    of the first noun that has any, and LogbookError for what the log cannot hold; the caller's
    transaction then changes nothing.
    """
    file.seek(0)
    reader = _Reader(change.connection, file, folder, name, pieces_of(file))
    nouns = [each.keys for each in LOG.collections]
    known = frozenset(key for keys in nouns for key in keys)
    reader.refuse_others(known)
    for keys in nouns:
        mistakes: list[Mistake] = []
        for batch in reader.batches(keys):
            try:
                reading = reader.read(batch, keys.__contains__)
            except NotebookError as error:
                mistakes += error.problems
                if len(mistakes) > _MOST_MISTAKES:
                    break
                continue
            if not mistakes:
                for collection in LOG.collections:
                    put_all(change, reading.records(collection.noun))
                change.let_go()
                yield Loaded(sum(each.size for each in batch), reading.mentions)
        if mistakes:
            raise NotebookError(mistakes, name)
        if "session" in keys:
            reader.session = reader.session or ""


class _Reader:
    """A file cut in pieces; `session` is the one of takes that name none, None until known."""

    def __init__(
        self,
        connection: Connection,
        file: BinaryIO,
        folder: str,
        name: str,
        pieces: list[FilePiece],
    ) -> None:
        self._connection = connection
        self._file = file
        self._folder = folder
        self._name = name
        self._pieces = pieces
        self.session: str | None = None

    def refuse_others(self, known: frozenset[str]) -> None:
        """Raise NotebookError for what a session file has no place for."""
        others = [each for each in self._pieces if each.key not in known]
        mistakes: list[Mistake] = []
        for each in others:
            try:
                self.read([each], lambda key: key not in known)
            except NotebookError as error:
                mistakes += error.problems
        if mistakes:
            raise NotebookError(mistakes[:_MOST_MISTAKES], self._name)

    def batches(self, keys: Sequence[str]) -> Iterator[list[FilePiece]]:
        """The pieces that speak of one noun, those that follow one another together."""
        batch: list[FilePiece] = []
        for each in self._pieces:
            if each.key not in keys and each.key:
                continue
            follows = bool(batch) and batch[-1].start + batch[-1].size == each.start
            size = each.start + each.size - batch[0].start if batch else 0
            if batch and (not follows or not batch[-1].key or size > _AT_ONCE):
                yield batch
                batch = []
            batch.append(each)
        if batch:
            yield batch

    def read(self, batch: Sequence[FilePiece], wanted: Callable[[str], bool]) -> FileReading:
        """Read the wanted keys of some pieces on top of the log as it is by now."""
        try:
            text = self._text(batch)
            # What stands ahead of all headings may speak of every noun, each in its turn.
            document = {key: each for key, each in parse(text).items() if wanted(key)}
            known = StoreKnown(self._connection)
            reading = read_located(
                document, text, known, folder=self._folder, file="", session=self.session
            )
        except NotebookError as error:
            raise NotebookError(_moved(error.problems, batch[0].line), self._name) from error
        for each in reading.records("session"):
            self.session = SEVERAL if self.session else each.name
        return reading

    def _text(self, batch: Sequence[FilePiece]) -> str:
        size = sum(each.size for each in batch)
        where = f"{self._name}, line {batch[0].line}"
        if size > _LARGEST:
            raise LogbookError(
                f"{where}: one of its tables is larger than {_LARGEST >> 20} MB",
                "write it as several, as `logbook dump` does",
            )
        self._file.seek(batch[0].start)
        data = self._file.read(size)
        try:
            return data.decode("utf-8-sig" if batch[0].start == 0 else "utf-8")
        except UnicodeDecodeError as error:
            line = batch[0].line + data.count(b"\n", 0, error.start)
            raise LogbookError(
                f"{self._name}, line {line}: this is not UTF-8 text", "save the file as UTF-8"
            ) from error


def _moved(mistakes: Sequence[Mistake], first: int) -> list[Mistake]:
    """Mistakes with their lines in the whole file."""
    return [
        each if each.line is None else replace(each, line=each.line + first - 1)
        for each in mistakes
    ]
