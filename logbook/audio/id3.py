"""Handing an ID3 tag to the tag library, unless it would unpack into more than memory holds.

Source: ID3v2.3.0 and ID3v2.4.0 main structure (id3.org, 1999 and 2000). A frame may be
compressed; the library unpacks it whole, a thousand times its size if somebody wants that.
"""

from __future__ import annotations

import io
from typing import Any, BinaryIO

from logbook.audio.mutagen_types import mutagen_type

LONGEST_TAG = 32 << 20
"""Bytes; longer than any tag with a picture."""

_MOST_COMPRESSED = 64 << 10  # bytes in all frames together
_COMPRESSED_FLAG = {3: 0x80, 4: 0x08}  # in the second flag byte, by version


class Id3Error(Exception):
    """An ID3 tag that is not unpacked."""


def load_id3(data: bytes) -> Any:
    """The mutagen ID3 tag that `data` begins with.

    Raises `Id3Error` for one too long or too densely packed, and whatever mutagen raises.
    """
    check_id3(data)
    return mutagen_type("ID3")(io.BytesIO(data))


def check_id3(data: bytes) -> None:
    """Raises `Id3Error` when the tag that `data` begins with is not to be unpacked."""
    if len(data) > LONGEST_TAG:
        raise Id3Error("too long")
    if _compressed_bytes(data) > _MOST_COMPRESSED:
        raise Id3Error("too densely packed")


def read_id3_bytes(file: BinaryIO) -> bytes:
    """The bytes of the ID3v2 tag a file begins with, empty if it has none."""
    file.seek(0)
    head = file.read(10)
    if len(head) < 10 or head[:3] != b"ID3":
        return b""
    return head + file.read(min(_syncsafe(head[6:10]), LONGEST_TAG))


def _compressed_bytes(data: bytes) -> int:
    """How many bytes of the tag's frames are compressed."""
    if len(data) < 10 or data[3] not in _COMPRESSED_FLAG:
        return 0
    version, at, total = data[3], 10, 0
    if data[5] & 0x40 and len(data) >= 14:  # an extended header stands before the frames
        size = _syncsafe(data[10:14]) if version == 4 else int.from_bytes(data[10:14], "big") + 4
        at += size
    while at + 10 <= len(data) and data[at]:
        size_bytes = data[at + 4 : at + 8]
        # Lengths have seven bits a byte in version 4, which some writers forget.
        size = int.from_bytes(size_bytes, "big")
        if version == 4 and not any(byte & 0x80 for byte in size_bytes):
            size = _syncsafe(size_bytes)
        if data[at + 9] & _COMPRESSED_FLAG[version]:
            total += min(size, len(data) - at - 10)
        at += 10 + size
    return total


def _syncsafe(data: bytes) -> int:
    return data[0] << 21 | data[1] << 14 | data[2] << 7 | data[3]
