"""Ogg Vorbis and Ogg Opus files: pages, headers, length, and the bytes that are sound.

Sources: RFC 3533 (Ogg), the Vorbis I specification, RFC 7845 (Opus in Ogg).

Sound is every packet behind the header packets. Pages only carve packets up, so the bodies of the
sound's pages, one behind the other, are the same whatever a tagging program does to the pages.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator
from io import BufferedReader
from typing import BinaryIO, NamedTuple

from logbook.audio.errors import Reason
from logbook.audio.layout import FormatError, Layout

_HEADER = struct.Struct("<4sBBqIIIB")
_LONGEST_PAGE = 27 + 255 + 255 * 255
_BLOCK = 1 << 18  # bytes; fits the processor's cache and holds several of the longest pages
_LAST, _FIRST = 4, 2  # page flags
_NO_POSITION = -1  # no packet ends on the page
_OPUS_RATE_HZ = 48000


class _Page(NamedTuple):
    flags: int
    position: int
    serial: int
    body: int  # offset in the file
    length: int
    lacing: bytes


def read_ogg(file: BinaryIO, size: int) -> Layout:
    """Everything an Ogg Vorbis or Opus file of `size` bytes says, save its sound.

    Raises `FormatError` when the codec is foreign, the headers are broken or the end is missing.
    """
    first = _page(file, 0, size)
    if first is None or not first.flags & _FIRST:
        raise FormatError(Reason.CORRUPT, "the Ogg file does not begin with a whole first page")
    file.seek(first.body)
    head = file.read(min(first.length, 64))
    if head[:7] == b"\x01vorbis" and len(head) >= 30:
        codec, headers, skip = "Vorbis", 3, 0
        channels, rate_hz = struct.unpack_from("<BI", head, 11)
    elif head[:8] == b"OpusHead" and len(head) >= 19:
        codec, headers, rate_hz = "Opus", 2, _OPUS_RATE_HZ
        channels, skip = struct.unpack_from("<BH", head, 9)
    else:
        raise FormatError(
            Reason.FOREIGN, "an Ogg file with another codec", "Vorbis and Opus are read in Ogg"
        )
    if not (channels and rate_hz):
        raise FormatError(Reason.CORRUPT, f"its header says {channels} channels and {rate_hz} Hz")
    start = _sound_start(file, size, first.serial, headers)
    position, end, warnings = _end(file, start, size, first.serial)
    return Layout(
        container="Ogg",
        codec=codec,
        rate_hz=rate_hz,
        depth_bits=None,
        channels=channels,
        frames=max(0, position - skip),
        sound=((start, end - start),),
        in_pages=True,
        warnings=tuple(warnings),
    )


def page_bodies(file: BufferedReader, start: int, end: int) -> Iterator[memoryview]:
    """The bodies of the pages from `start` to `end`, one by one; each is good until the next.

    Raises `FormatError` where no page follows on the one before.
    """
    header = _HEADER.size
    buffer = bytearray(_BLOCK)
    view = memoryview(buffer)
    file.seek(start)
    at = start  # of the buffer in the file
    here = filled = 0
    while at + here < end:
        # What is left of a page that does not fit moves to the front of the buffer.
        view[: filled - here] = view[here:filled]
        at, filled, here = at + here, filled - here, 0
        count = file.readinto(view[filled : min(_BLOCK, end - at)])
        filled += count
        while here + header <= filled:
            body = here + header + buffer[here + header - 1]
            lacing = buffer[here + header : body]
            short = lacing.translate(None, b"\xff")
            stop = body + sum(short) + 255 * (len(lacing) - len(short))
            if stop > filled or not buffer.startswith(b"OggS", here):
                break
            yield view[body:stop]
            here = stop
        if not here:
            raise FormatError(Reason.CORRUPT, f"the Ogg pages break off at byte {at}")


def _page(file: BinaryIO, at: int, size: int) -> _Page | None:
    """The page at `at`, or None when there is no whole one."""
    file.seek(at)
    data = file.read(_HEADER.size + 255)
    if len(data) < _HEADER.size:
        return None
    capture, version, flags, position, serial, _sequence, _crc, segments = _HEADER.unpack_from(data)
    lacing = data[_HEADER.size : _HEADER.size + segments]
    body = at + _HEADER.size + segments
    length = sum(lacing)
    if capture != b"OggS" or version or len(lacing) < segments or body + length > size:
        return None
    return _Page(flags, position, serial, body, length, lacing)


def _sound_start(file: BinaryIO, size: int, serial: int, headers: int) -> int:
    """The page the sound starts on: the one behind the `headers` header packets."""
    at = 0
    while headers:
        page = _page(file, at, size)
        if page is None:
            raise FormatError(Reason.TRUNCATED, "cut short in the headers, before any sound")
        if page.serial != serial:
            raise _several_streams()
        ended = sum(lace < 255 for lace in page.lacing)
        if ended > headers or (ended == headers and page.lacing[-1] == 255):
            raise FormatError(Reason.CORRUPT, "its sound begins on a header page")
        headers -= ended
        at = page.body + page.length
    if at >= size:
        raise FormatError(Reason.EMPTY, "an Ogg header with no sound behind it")
    return at


def _several_streams() -> FormatError:
    return FormatError(
        Reason.FOREIGN, "an Ogg file with several streams", "one stream in a file is read"
    )


def _end(file: BinaryIO, start: int, size: int, serial: int) -> tuple[int, int, list[str]]:
    """The last sample position, where the last whole page ends, and what is odd there."""
    begin = max(start, size - 2 * _LONGEST_PAGE)
    file.seek(begin)
    data = file.read(size - begin)
    end, flags, at = 0, 0, len(data)
    while (at := data.rfind(b"OggS", 0, at)) >= 0:
        page = _page(file, begin + at, size)
        if page is None or (end and page.body + page.length > end):
            continue  # cut by the end of the file, or chance inside a page
        if page.serial != serial:
            raise _several_streams()
        if not end:
            end, flags = page.body + page.length, page.flags
        if page.position != _NO_POSITION:
            return page.position, end, _oddities(data[end - begin :], flags, page.position)
    raise FormatError(Reason.TRUNCATED, "cut short: no whole page of sound is left")


def _oddities(rest: bytes, flags: int, position: int) -> list[str]:
    if rest[:4] == b"OggS"[: len(rest[:4])] and rest:
        raise FormatError(
            Reason.TRUNCATED,
            f"cut short within a page, at sample {position}",
            "copy it again from where it was recorded",
        )
    warnings = []
    if rest:
        warnings.append(f"{len(rest)} bytes behind the last page were left out")
    if not flags & _LAST:
        warnings.append("the stream was never closed; its end may be missing")
    return warnings
