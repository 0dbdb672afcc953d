"""FLAC files: where the frames begin, how many samples they hold, and whether the last is there.

Source: RFC 9639 (Free Lossless Audio Codec).
"""

from __future__ import annotations

from typing import BinaryIO, NamedTuple

from logbook.audio.errors import Reason
from logbook.audio.layout import FormatError, Layout, TruncatedError
from logbook.audio.mpeg import end_tags_start, id3v2_end

_TAIL = 1 << 16  # bytes searched for the last frame when the header does not bound its length
_LONGEST_FRAME = 1 << 24
_BLOCK_SIZES = {
    1: 192,
    **{n: 576 << n - 2 for n in range(2, 6)},
    **{n: 1 << n for n in range(8, 16)},
}


class _StreamInfo(NamedTuple):
    rate_hz: int
    channels: int
    depth_bits: int
    frames: int  # 0 when the encoder could not know
    longest_frame: int  # bytes, 0 when unknown
    block: int  # samples in each frame but the last; 0 when they vary


def read_flac(file: BinaryIO, size: int, *, proved: bool = True) -> Layout:
    """Everything a FLAC file of `size` bytes says of its sound.

    With `proved`, the last frame is checked to its last byte and not only by its header.

    Raises `FormatError` when the metadata is broken or the last frame is not where it should be.
    """
    info, start = _metadata(file, id3v2_end(file), size)
    end = end_tags_start(file, start, size)
    warnings: tuple[str, ...] = ()
    if start >= end:
        if info.frames:
            raise TruncatedError(info.frames, 0, info.rate_hz)
        raise FormatError(Reason.EMPTY, "a FLAC header with no sound behind it")
    reached = _reached(file, start, end, info, proved=proved)
    if reached is None:
        raise FormatError(Reason.CORRUPT, "no FLAC frame was found where the sound ends")
    if info.frames and reached < info.frames:
        raise TruncatedError(info.frames, reached, info.rate_hz)
    if not info.frames:
        warnings = ("the header does not say how long it is; its frames were counted",)
    return Layout(
        container="FLAC",
        codec="FLAC",
        rate_hz=info.rate_hz,
        depth_bits=info.depth_bits,
        channels=info.channels,
        frames=info.frames or reached,
        sound=((start, end - start),),
        warnings=warnings,
    )


def _metadata(file: BinaryIO, at: int, size: int) -> tuple[_StreamInfo, int]:
    """The STREAMINFO block, and where the metadata blocks end."""
    file.seek(at)
    head = file.read(42)
    if head[:4] != b"fLaC":
        raise FormatError(Reason.FOREIGN, "no FLAC stream in it")
    if len(head) < 42 or head[4] & 0x7F != 0:
        raise FormatError(Reason.CORRUPT, "the FLAC file begins without its stream information")
    bits = int.from_bytes(head[18:26], "big")
    info = _StreamInfo(
        rate_hz=bits >> 44,
        channels=(bits >> 41 & 7) + 1,
        depth_bits=(bits >> 36 & 31) + 1,
        frames=bits & (1 << 36) - 1,
        longest_frame=int.from_bytes(head[15:18], "big"),
        block=int.from_bytes(head[8:10], "big") if head[8:10] == head[10:12] else 0,
    )
    if not info.rate_hz:
        raise FormatError(Reason.CORRUPT, "the FLAC stream information has no sample rate")
    at += 4
    last = False
    while not last:
        file.seek(at)
        block = file.read(4)
        if len(block) < 4 or block[0] & 0x7F == 0x7F:
            raise FormatError(Reason.CORRUPT, "the FLAC metadata blocks are broken")
        last = bool(block[0] & 0x80)
        at += 4 + int.from_bytes(block[1:], "big")
    if at > size:
        raise FormatError(Reason.TRUNCATED, "cut short in the metadata, before any sound")
    return info, at


def _reached(
    file: BinaryIO, start: int, end: int, info: _StreamInfo, *, proved: bool
) -> int | None:
    """The sample behind the last whole frame, found from the end of the file; None without one.

    A frame counts when the checksum of its header fits and, where `proved` is asked for or the
    header of the file is silent, that of all its bytes up to the next frame or the end too.
    """
    window = min(max(_TAIL, 2 * info.longest_frame + 64), _LONGEST_FRAME, end - start)
    file.seek(end - window)
    data = file.read(window)
    stops = [len(data)]
    at = len(data)
    while (at := data.rfind(b"\xff", 0, at)) >= 0:
        reached = _frame_reaches(data[at : at + 16], info.block)
        if reached is None:
            continue
        if not proved and reached == info.frames:
            return reached
        if any(_crc16(data[at:stop]) == 0 for stop in stops):
            return reached
        # No frame ends where the file does: this one may be cut, and the one before it end here.
        stops = [stops[0], *stops[-2:], at] if len(stops) > 1 else [*stops, at]
    return None


def _frame_reaches(head: bytes, stream_block: int) -> int | None:
    """The sample behind the frame whose header `head` is, or None if it is no frame header."""
    if len(head) < 6 or head[1] & 0xFE != 0xF8 or head[3] & 1:
        return None
    size_code, rate_code = head[2] >> 4, head[2] & 15
    if size_code == 0 or rate_code == 15 or head[3] >> 4 > 10:
        return None
    number, at = _coded_number(head)
    size_bytes = {6: 1, 7: 2}.get(size_code, 0)
    at_crc = at + size_bytes + {12: 1, 13: 2, 14: 2}.get(rate_code, 0)
    if not at or at_crc >= len(head) or _crc(head[:at_crc], 8, _CRC8) != head[at_crc]:
        return None
    block = _BLOCK_SIZES.get(size_code, 0)
    if size_bytes:
        block = int.from_bytes(head[at : at + size_bytes], "big") + 1
    if head[1] & 1:  # variable block size: the header counts samples, otherwise frames
        return number + block
    return number * (stream_block or block) + block


def _coded_number(head: bytes) -> tuple[int, int]:
    """The frame or sample number at byte 4 and where it ends (0 if it is none).

    Coded as UTF-8 codes characters, but up to 36 bits.
    """
    first = head[4]
    if first < 0x80:
        return first, 5
    ones = 8 - (first ^ 0xFF).bit_length()
    if not 2 <= ones <= 7 or len(head) < 4 + ones:
        return 0, 0
    number = first & (0x7F >> ones)
    for byte in head[5 : 4 + ones]:
        if byte & 0xC0 != 0x80:
            return 0, 0
        number = number << 6 | byte & 0x3F
    return number, 4 + ones


def _crc(data: bytes, width: int, table: tuple[int, ...]) -> int:
    value, shift, mask = 0, width - 8, (1 << width) - 1
    for byte in data:
        value = (value << 8 ^ table[value >> shift ^ byte]) & mask
    return value


def _crc_table(width: int, polynomial: int) -> tuple[int, ...]:
    top, mask = 1 << (width - 1), (1 << width) - 1
    table = []
    for byte in range(256):
        value = byte << (width - 8)
        for _ in range(8):
            value = (value << 1 ^ polynomial if value & top else value << 1) & mask
        table.append(value)
    return tuple(table)


_CRC8 = _crc_table(8, 0x07)
_CRC16 = _crc_table(16, 0x8005)


def _crc16(data: bytes) -> int:
    """0 for a whole frame, because a frame ends with this checksum of all before it."""
    return _crc(data, 16, _CRC16)
