"""Writing a chunked file (WAV, RF64, AIFF) anew with other tag chunks, all else byte for byte.

Sources as in `logbook.audio.chunks`. The tag chunks go to the end, where RIFF and IFF let them
be: an `id3 ` (RIFF) or `ID3 ` (AIFF) chunk, and the format's own text chunks.

The library at hand writes the ID3 chunk of WAV and AIFF, but not of RF64, and leaves the text
chunks with the old title behind; so the chunks are laid here and the library makes the ID3 tag.
"""

from __future__ import annotations

import io
import os
import struct
from pathlib import Path
from typing import Any, BinaryIO, NamedTuple

from logbook.audio.chunks import MOST_CHUNKS, Chunk, iff_chunks, riff_chunks, with_closed_data
from logbook.audio.errors import AudioError, Reason
from logbook.audio.id3 import LONGEST_TAG, load_id3
from logbook.audio.mutagen_types import mutagen_type
from logbook.audio.text_chunks import Text, aiff_text, padded, riff_text

ID3_CHUNKS = frozenset({b"id3 ", b"ID3 "})
"""The names an ID3 tag's chunk goes by."""

_ID3_HEADER = 10  # bytes
_BLOCK = 1 << 20
_MOST_RIFF = 0xFFFFFFFF - 1
_FORMS_OF_32_BITS = (b"RIFF", b"FORM")


class TagChunks(NamedTuple):
    """What a chunked file says in its tag chunks, and whether it is a broadcast file."""

    frames: Any
    """A mutagen ID3 tag, an empty one where the file has none."""
    text: Text
    broadcast: bool


def read_tag_chunks(path: Path) -> TagChunks:
    """The tag chunks of the WAV, RF64 or AIFF file at `path`."""
    with open(path, "rb") as file:
        chunks = _chunks(file)
        text = (aiff_text if _head(file)[:4] == b"FORM" else riff_text)(file, chunks)
        broadcast = any(chunk.ident == b"bext" for chunk in chunks)
        for chunk in chunks:
            if chunk.ident in ID3_CHUNKS and chunk.present > _ID3_HEADER:
                return TagChunks(load_id3(chunk.read(file, LONGEST_TAG + 1)), text, broadcast)
    return TagChunks(mutagen_type("ID3")(), text, broadcast)


def id3_bytes(frames: Any) -> bytes:
    """An ID3v2.4 tag as the bytes of a chunk, without padding."""
    out = io.BytesIO()
    frames.save(out, v2_version=4, v1=0, padding=lambda info: 0)
    return out.getvalue()


def write_chunks(
    source: Path, target: Path, drop: frozenset[bytes], append: list[tuple[bytes, bytes]]
) -> None:
    """Writes `source` to `target` without the chunks in `drop`, and with those in `append`.

    A RIFF `LIST` is dropped by its type, as `INFO`. Raises `AudioError` when the chunks of
    `source` do not fill it or the new file would be too long for its format.
    """
    with open(source, "rb") as file, open(target, "wb") as out:
        head = _head(file)
        big = head[:4] == b"FORM"
        chunks = _chunks(file)
        _check(source, chunks, head[:4])
        out.write(head)
        for chunk in chunks:
            if not _dropped(file, chunk, drop):
                _copy(file, out, chunk, head[:4])
        for ident, content in append:
            out.write(struct.pack(">4sI" if big else "<4sI", ident, len(content)))
            out.write(padded(content))
        _set_length(source, out, head[:4], big=big)


def _chunks(file: BinaryIO) -> list[Chunk]:
    size = os.fstat(file.fileno()).st_size
    if _head(file)[:4] == b"FORM":
        return iff_chunks(file, size)
    return with_closed_data(riff_chunks(file, size), size)[0]


def _head(file: BinaryIO) -> bytes:
    file.seek(0)
    return file.read(12)


def _check(source: Path, chunks: list[Chunk], kind: bytes) -> None:
    whole = all(chunk.present == chunk.declared for chunk in chunks)
    wide = kind in _FORMS_OF_32_BITS or (bool(chunks) and chunks[0].ident == b"ds64")
    if not whole or not wide or len(chunks) >= MOST_CHUNKS:
        raise AudioError(
            source, Reason.UNWRITABLE, "its chunks are broken, so no tags are written into it"
        )


def _dropped(file: BinaryIO, chunk: Chunk, drop: frozenset[bytes]) -> bool:
    return chunk.ident in drop or (chunk.ident == b"LIST" and chunk.read(file, 4) in drop)


def _copy(file: BinaryIO, out: BinaryIO, chunk: Chunk, kind: bytes) -> None:
    file.seek(chunk.start - 8)
    head = file.read(8)
    if kind in _FORMS_OF_32_BITS:
        # Written anew, so that a file its recorder never closed is closed now.
        order = ">" if kind == b"FORM" else "<"
        head = struct.pack(order + "4sI", chunk.ident, min(chunk.present, _MOST_RIFF))
    out.write(head)
    for at in range(0, chunk.present, _BLOCK):
        out.write(file.read(min(_BLOCK, chunk.present - at)))
    if chunk.present % 2:
        out.write(b"\0")


def _set_length(source: Path, out: BinaryIO, kind: bytes, *, big: bool) -> None:
    """Fills in how long the whole file is, which the row of chunks begins with."""
    length = out.tell() - 8
    if kind in _FORMS_OF_32_BITS:
        if length > _MOST_RIFF:
            raise AudioError(
                source, Reason.UNWRITABLE, "with tags it would be longer than 4 GB, which it cannot"
            )
        out.seek(4)
        out.write(struct.pack(">I" if big else "<I", length))
        return
    out.seek(20)  # RF64: the first field of the ds64 chunk, which stands first
    out.write(struct.pack("<Q", length))
