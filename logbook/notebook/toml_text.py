"""Plain values written as TOML: strings, numbers, lists, inline tables, headings.

Conventions. A `Tables` is an array of tables with a heading each; a dict inside a table gets a
heading of its own, unless it stands in a list, where it is written inline. Plain keys come first,
as TOML wants it. Source: TOML 1.0.0 (toml.io).
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from functools import lru_cache
from typing import Any

_BARE = re.compile(r"[A-Za-z0-9_-]+")
_PLAIN = re.compile(r"[ !#-\[\]-~]*")
_ROOM = 92


class Tables(list[dict[str, Any]]):
    """Tables of one kind, each to be written under its own heading in double brackets."""


class Flow:
    """Tables of one kind whose texts come piece by piece, so that none need be kept."""

    def __init__(self, texts: Iterable[str]) -> None:
        self.texts = texts


def write_document(table: dict[str, Any]) -> str:
    """Return a whole TOML text."""
    return "".join(document_pieces(table))


def document_pieces(table: dict[str, Any]) -> Iterator[str]:
    """Yield a whole TOML text piece by piece; a `Flow` may stand among its tables."""
    plain = {key: each for key, each in table.items() if not isinstance(each, _BELOW)}
    begun = False
    for piece in (
        table_text(plain),
        *(_pieces_of(k, v) for k, v in table.items() if k not in plain),
    ):
        for text in (piece,) if isinstance(piece, str) else piece:
            if text:
                yield text if begun else text.lstrip("\n")
                begun = True


def _pieces_of(key: str, value: Any) -> Iterator[str]:
    """The tables of one key of a document, each a text."""
    if isinstance(value, Flow):
        yield from value.texts
    elif isinstance(value, Tables):
        yield from (table_text({key: Tables([each])}) for each in value)
    else:
        yield table_text({key: value})


def table_text(table: dict[str, Any]) -> str:
    """Return a part of a document as it stands after another."""
    lines: list[str] = []
    _write_table(table, (), lines)
    return "\n".join(lines) + "\n" if lines else ""


def _write_table(table: dict[str, Any], path: tuple[str, ...], lines: list[str]) -> None:
    below: list[tuple[str, Any]] = []
    for key, value in table.items():
        if isinstance(value, dict | Tables):
            below.append((key, value))
        else:
            lines.append(f"{key_text(key)} = {_list_text(value)}")
    for key, value in below:
        inner = (*path, key)
        heading = ".".join(map(key_text, inner))
        if isinstance(value, Tables):
            for each in value:
                lines += ["", f"[[{heading}]]"]
                _write_table(each, inner, lines)
        else:
            lines += ["", f"[{heading}]"]
            for label, each in value.items():
                lines.append(f"{key_text(label)} = {_list_text(each)}")


def _list_text(value: Any) -> str:
    """A value, a long list with an item to the line."""
    if not isinstance(value, list):
        return value_text(value)
    items = [value_text(each) for each in value]
    text = "[" + ", ".join(items) + "]"
    if len(text) <= _ROOM and len(value) < 4:
        return text
    return "[\n" + "".join(f"  {each},\n" for each in items) + "]"


_BELOW = (dict, Tables, Flow)


@lru_cache(maxsize=4096)
def key_text(key: str) -> str:
    """A key, in quotes where it needs them."""
    return key if _BARE.fullmatch(key) else string_text(key)


def value_text(value: Any) -> str:
    """A value on one line."""
    if isinstance(value, str):
        return string_text(value)
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return repr(value)
    if isinstance(value, list | tuple):
        return "[" + ", ".join(map(value_text, value)) + "]"
    if isinstance(value, dict):
        if not value:
            return "{}"
        pairs = (f"{key_text(key)} = {value_text(each)}" for key, each in value.items())
        return "{ " + ", ".join(pairs) + " }"
    raise TypeError(f"{type(value).__name__} has no place in TOML")


def string_text(text: str) -> str:
    """A string in quotes; single ones where that saves escapes."""
    if _PLAIN.fullmatch(text):
        return f'"{text}"'
    if ('"' in text or "\\" in text) and "'" not in text and text.isprintable():
        return f"'{text}'"
    return '"' + "".join(map(_escaped, text)) + '"'


_SHORT = {
    '"': '\\"', "\\": "\\\\", "\n": "\\n", "\t": "\\t", "\r": "\\r", "\b": "\\b", "\f": "\\f",
}  # fmt: skip


def _escaped(character: str) -> str:
    if character in _SHORT:
        return _SHORT[character]
    # What cannot be seen is spelled out, so that nothing in the file hides.
    if character == " " or character.isprintable():
        return character
    code = ord(character)
    return f"\\u{code:04X}" if code <= 0xFFFF else f"\\U{code:08X}"
