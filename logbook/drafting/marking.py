"""Marks on a session file's text: which lines were heard, and how sure that is.

The text is what the notebook writes of a log; a mark is a comment at the end of its line. Marks
are looked up by the song and part a line stands in, its key, and, within a list or a table of
voicings, the number or label of the item; nothing of the text but its comments changes.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from typing import NamedTuple

_HEADING = re.compile(r"\[+([^\]]+)\]+\s*$")
_KEY = re.compile(r"(?P<key>\"(?:[^\"\\]|\\.)*\"|'[^']*'|[A-Za-z0-9_-]+)\s*=\s*(?P<value>.*)")


TAKE = "song.version.part.take"


class Spot(NamedTuple):
    """A line of a session file: song and part ("" outside), key, and item ("" for the whole)."""

    song: str
    part: str
    key: str
    item: str = ""


def marked(text: str, marks: Mapping[Spot, str]) -> str:
    """Put marks on a session file's lines. Every mark stands for one line, or for none."""
    song = part = table = number = ""
    listed, count = "", 0
    out = []
    for line in text.splitlines():
        said = ""
        heading = _HEADING.fullmatch(line)
        if heading and not listed:
            table = heading.group(1)
            if table == "song":
                song, part = "", ""
            elif table == "song.version" or table == "song.version.part":
                part = ""
        elif listed:
            if line.startswith("]"):
                listed = ""
            else:
                said = marks.get(Spot(song, part, listed, str(count)), "")
                count += 1
        elif found := _KEY.fullmatch(line):
            key, value = _bare(found["key"]), found["value"]
            if table == "song" and key == "title":
                song = _bare(value)
            elif table == "song.version.part" and key == "name":
                part = _bare(value)
            elif table == TAKE and key == "number":
                number = value
            takes = table.endswith(".takes")
            if value == "[":
                listed, count = ("takes" if takes else key), 0
                said = marks.get(Spot(song, part, key), "")
            else:
                inside = table.rpartition(".")[2]
                item = number if table == TAKE else ""
                if takes:
                    key, item = "takes", "0"
                said = marks.get(Spot(song, part, key, item), "") or marks.get(
                    Spot(song, part, inside, key), ""
                )
        out.append(f"{line}  # {said}" if said else line)
    return "\n".join(out) + "\n"


def _bare(text: str) -> str:
    try:
        return str(tomllib.loads(f"x = {text}")["x"]) if text[:1] in "\"'" else text
    except tomllib.TOMLDecodeError:
        return text


def heard(sure: float | None = None, note: str = "") -> str:
    """A mark: "heard, 0.93" or "heard, doubtful, 0.41: or Am7"."""
    said = "heard"
    if sure is not None:
        word = "" if sure >= 0.7 else ", doubtful"
        said += f"{word}, {sure:.2f}"
    return said + (f": {note}" if note else "")
