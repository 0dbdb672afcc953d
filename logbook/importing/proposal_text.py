"""A proposal as one text that a person edits: a line for each group of files of one take.

    song | version | part | session | take | microphone = file ; file   # how sure, and why

Files of a session as a whole have nothing but their session before them.

A line that begins with # is left out, and so is what follows a # between blanks. A field that
holds one of | ; = # or quotation marks stands in quotation marks, as JSON has texts. Reading and
printing are inverse.
"""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from dataclasses import dataclass

from logbook.errors import LogbookError
from logbook.numerals import read_whole

_FIELDS = ("song", "version", "part", "session", "take", "files")
_PLAIN = re.compile(r'[^|;="#\s](?:[^|;="#\n]*[^|;="#\s])?')


@dataclass(frozen=True, kw_only=True)
class FileGroup:
    """Files of one take: names of its place, and each file with its microphone ("" for none).

    `session` may be empty; of a whole session's files song, version and part are, and `take` is 0.
    `said` is the remark behind the line, `line` where it stood.
    """

    song: str
    version: str
    part: str
    session: str
    take: int
    files: tuple[tuple[str, str], ...]
    said: str = ""
    line: int = 0


class ProposalError(LogbookError):
    """A proposal that cannot be read; `sentences` has one for each line."""

    def __init__(self, sentences: Sequence[str]) -> None:
        self.sentences = tuple(sentences)
        super().__init__("; ".join(sentences), "fix these lines; nothing was changed")


def write_group(group: FileGroup) -> str:
    """A group as its line."""
    files = " ; ".join(
        f"{_quoted(mic)} = {_quoted(file)}" if mic else _quoted(file) for mic, file in group.files
    )
    names = (group.song, group.version, group.part, group.session)
    line = " | ".join([*map(_quoted, names), str(group.take or ""), files])
    return f"{line}   # {group.said}" if group.said else line


def _quoted(text: str) -> str:
    if not text or _PLAIN.fullmatch(text):
        return text
    return json.dumps(text, ensure_ascii=False)


def read_groups(text: str) -> list[FileGroup]:
    """The groups that a text says. Raises ProposalError naming every line that is wrong."""
    groups, wrong = [], []
    for number, line in enumerate(text.splitlines(), 1):
        if not line.strip() or line.lstrip().startswith("#"):
            continue
        try:
            groups.append(_read_line(line, number))
        except LogbookError as error:
            wrong.append(f"line {number}: {error}")
    if wrong:
        raise ProposalError(wrong)
    return groups


def _read_line(line: str, number: int) -> FileGroup:
    cells: list[list[list[str]]] = [[[]]]
    at = 0
    while at < len(line):
        value, at = _value(line, at)
        cells[-1][-1].append(value)
        mark = line[at : at + 1]
        at += 1
        if mark == "|":
            cells.append([[]])
        elif mark == ";":
            cells[-1].append([])
        elif mark in ("#", ""):
            break
    if len(cells) != len(_FIELDS):
        raise LogbookError(
            f"{len(cells)} fields stand between the strokes",
            f"write {' | '.join(_FIELDS)}",
        )
    plain = [cell[0][0] if cell[0] else "" for cell in cells[:5]]
    whole_session = bool(plain[3]) and not any((*plain[:3], plain[4]))
    if whole_session:
        plain[4] = "0"
    elif not plain[4].isdecimal() or read_whole(plain[4]) < 1:
        raise LogbookError(f"{plain[4]!r} is not a take", "write its number, 1 or more")
    files = []
    for words in cells[5]:
        kept = [word for word in words if word]
        if not kept or len(words) > 2:
            raise LogbookError("a file is missing", "write file or microphone = file, ; between")
        files.append((words[0] if len(words) == 2 else "", words[-1]))
    for name, field in zip(plain[:3], _FIELDS, strict=False):
        if not name and not whole_session:
            raise LogbookError(f"the {field} is missing", "write its name")
    return FileGroup(
        song=plain[0],
        version=plain[1],
        part=plain[2],
        session=plain[3],
        take=read_whole(plain[4]),
        files=tuple(files),
        line=number,
    )


def _value(line: str, at: int) -> tuple[str, int]:
    """One name and the place of the mark that ends it."""
    while line[at : at + 1].isspace():
        at += 1
    if line[at : at + 1] == '"':
        try:
            value, end = json.JSONDecoder(strict=False).raw_decode(line, at)
        except ValueError:
            raise LogbookError("a quotation mark has no partner", "close it") from None
        while line[end : end + 1].isspace():
            end += 1
        if line[end : end + 1] not in ("|", ";", "=", "#", ""):
            raise LogbookError(f"something follows {value!r}", "put a | or ; between")
        return str(value), end
    end = at
    while end < len(line) and line[end] not in "|;=":
        if line[end] == "#" and (end == at or line[end - 1].isspace()):
            break
        end += 1
    return line[at:end].strip(), end
