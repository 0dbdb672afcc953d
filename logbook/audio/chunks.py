"""Walking the chunks of RIFF, RF64/BW64 and IFF (AIFF) files.

Every such file is a row of chunks: four letters, a length, that many bytes, and a pad byte after
an odd length. RIFF counts little-endian (Multimedia Programming Interface and Data
Specifications 1.0, 1991), IFF big-endian (EA IFF 85). Lengths beyond 4 GB stand in a `ds64`
chunk (EBU Tech 3306, ITU-R BS.2088).

The libraries at hand stop at a file that is cut short, at an RF64 file, or at both, and a log has
to say what is left of such a file; hence this walk, which reads headers only.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator
from typing import BinaryIO, NamedTuple

MOST_CHUNKS = 4096
"""Where the walk ends: far more than any recorder writes, and a bound for hostile files."""

_SIZE_IN_DS64 = 0xFFFFFFFF
_WELL_KNOWN = (b"LIST", b"id3 ", b"ID3 ", b"bext", b"iXML", b"cue ", b"fact", b"JUNK", b"PAD ")


class Chunk(NamedTuple):
    """One chunk: its four letters, where its bytes start, how many are declared and are there."""

    ident: bytes
    start: int
    declared: int
    present: int

    def read(self, file: BinaryIO, limit: int) -> bytes:
        """The chunk's bytes, at most `limit` of them."""
        file.seek(self.start)
        return file.read(min(self.present, limit))


def riff_chunks(file: BinaryIO, size: int) -> list[Chunk]:
    """The chunks of a RIFF, RF64 or BW64 file of `size` bytes, in order, behind its 12 bytes."""
    file.seek(0)
    if file.read(4) == b"RIFF":
        return list(_walk(file, 12, size, "<4sI", {}))
    return list(_walk(file, 12, size, "<4sI", _wide_sizes(file, size)))


def with_closed_data(chunks: list[Chunk], size: int) -> tuple[list[Chunk], bool]:
    """The chunks of a WAV file of `size` bytes, and whether its `data` chunk was never closed.

    A recorder that was stopped hard leaves the length of the sound unset (all ones, or zero):
    then the sound runs to the end of the file and what looks like chunks in it is sound. A
    length of zero with a well-known chunk behind it is no such case but truly empty.
    """
    for n, data in enumerate(chunks):
        if data.ident != b"data":
            continue
        behind = chunks[n + 1 :]
        empty = data.declared == 0 and (
            data.start >= size or any(chunk.ident in _WELL_KNOWN for chunk in behind)
        )
        if data.declared not in (0, _SIZE_IN_DS64) or empty:
            break
        rest = size - data.start
        return [*chunks[:n], data._replace(declared=rest, present=rest)], True
    return chunks, False


def iff_chunks(file: BinaryIO, size: int) -> list[Chunk]:
    """The chunks of an IFF FORM file of `size` bytes, in order, behind its 12 bytes."""
    return list(_walk(file, 12, size, ">4sI", {}))


def list_chunks(data: bytes) -> Iterator[tuple[bytes, bytes]]:
    """The small chunks inside a RIFF LIST, given the bytes behind its type, as (letters, bytes)."""
    at = 0
    while at + 8 <= len(data):
        ident, length = struct.unpack_from("<4sI", data, at)
        yield ident, data[at + 8 : at + 8 + length]
        at += 8 + length + (length & 1)


def _wide_sizes(file: BinaryIO, size: int) -> dict[bytes, int]:
    """The 64-bit lengths of a `ds64` chunk, which stands first in an RF64 file."""
    first = next(_walk(file, 12, size, "<4sI", {}), None)
    if first is None or first.ident != b"ds64":
        return {}
    data = first.read(file, 28 + 12 * 256)
    if len(data) < 24:
        return {}
    _riff, data_size, _frames = struct.unpack_from("<QQQ", data)
    sizes = {b"data": data_size}
    for at in range(28, len(data) - 11, 12):
        ident, wide = struct.unpack_from("<4sQ", data, at)
        sizes.setdefault(ident, wide)
    return sizes


def _walk(
    file: BinaryIO, at: int, size: int, header: str, wide: dict[bytes, int]
) -> Iterator[Chunk]:
    for _ in range(MOST_CHUNKS):
        file.seek(at)
        head = file.read(8)
        if len(head) < 8:
            return
        ident, declared = struct.unpack(header, head)
        if declared == _SIZE_IN_DS64:
            declared = wide.get(ident, declared)
        start = at + 8
        yield Chunk(ident, start, declared, max(0, min(declared, size - start)))
        at = start + declared + (declared & 1)
        if at >= size:
            return
