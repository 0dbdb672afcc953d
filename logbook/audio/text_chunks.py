"""Text chunks of RIFF (LIST of type INFO) and AIFF: read and made.

Sources: Multimedia Programming Interface and Data Specifications 1.0 (1991); AIFF 1.3 (1989).
Both ask for ASCII. What programs make of other bytes differs: many take INFO for Latin-1, so it is
written so where that holds every character and reads back as the same; otherwise as UTF-8.
"""

from __future__ import annotations

import struct
from collections.abc import Mapping
from typing import BinaryIO

from logbook.audio.chunks import Chunk, list_chunks

SMALL_CHUNK = 4 << 20
"""Bytes; no text, broadcast, iXML or cue chunk is as long."""

AIFF_TEXT = (b"NAME", b"AUTH", b"(c) ", b"ANNO")
"""The text chunks of AIFF: title, author, copyright, annotations."""

Text = dict[str, tuple[str, ...]]


def decode_text(data: bytes) -> str:
    """Text up to its first NUL: UTF-8, or Latin-1 where it is none."""
    data = data.split(b"\0", 1)[0]
    return data.decode("utf-8" if is_utf8(data) else "latin-1").strip()


def encode_text(text: str) -> bytes:
    """Text as `decode_text` reads it back: Latin-1 where it fits and is not taken for UTF-8."""
    try:
        data = text.encode("latin-1")
    except UnicodeEncodeError:
        return text.encode("utf-8")
    return data if text.isascii() or not is_utf8(data) else text.encode("utf-8")


def is_utf8(data: bytes) -> bool:
    """Whether the bytes are UTF-8 (ASCII is)."""
    try:
        data.decode("utf-8")
    except UnicodeDecodeError:
        return False
    return True


def riff_text(file: BinaryIO, chunks: list[Chunk]) -> Text:
    """The INFO texts of a RIFF file by their four letters."""
    text: Text = {}
    for chunk in chunks:
        if chunk.ident == b"LIST" and chunk.present <= SMALL_CHUNK:
            data = chunk.read(file, SMALL_CHUNK)
            if data[:4] == b"INFO":
                for ident, value in list_chunks(data[4:]):
                    if decode_text(value):
                        text[ident.decode("latin-1")] = (decode_text(value),)
    return text


def aiff_text(file: BinaryIO, chunks: list[Chunk]) -> Text:
    """The text chunks of an AIFF file by their four letters; annotations can be several."""
    text: Text = {}
    for chunk in chunks:
        if chunk.ident in AIFF_TEXT:
            value, name = decode_text(chunk.read(file, SMALL_CHUNK)), chunk.ident.decode("ascii")
            if value:
                text[name] = (*text.get(name, ()), value)
    return text


def riff_text_chunk(text: Mapping[str, tuple[str, ...]]) -> bytes:
    """The content of a LIST chunk of type INFO."""
    out = [b"INFO"]
    for name, values in text.items():
        value = encode_text("; ".join(values)) + b"\0"
        out.append(struct.pack("<4sI", name.encode("latin-1"), len(value)) + padded(value))
    return b"".join(out)


def padded(content: bytes) -> bytes:
    """The content with the pad byte that an odd length takes."""
    return content + b"\0" if len(content) % 2 else content
