"""MP3 files: where the frames lie between the tags, and how many samples they hold.

Sources: ISO/IEC 11172-3 and 13818-3 (frame headers); the Xing/Info header with its encoder delay
and padding, the VBRI header, Lyrics3 and the end tags are common practice, no standard.

The library at hand takes delay and padding only from one encoder's header and estimates the
length where there is no such header; here the frames are counted.
"""

from __future__ import annotations

import struct
from typing import BinaryIO, NamedTuple

from logbook.audio.errors import Reason
from logbook.audio.layout import FormatError, Layout, TruncatedError

_RATES_HZ = {3: (44100, 48000, 32000), 2: (22050, 24000, 16000), 0: (11025, 12000, 8000)}
_KBPS_V1 = (0, 32, 40, 48, 56, 64, 80, 96, 112, 128, 160, 192, 224, 256, 320)
_KBPS_V2 = (0, 8, 16, 24, 32, 40, 48, 56, 64, 80, 96, 112, 128, 144, 160)
_LOOK_FOR_SYNC = 1 << 16  # bytes searched for the first frame
_BLOCK = 1 << 18  # bytes; fits the processor's cache
_HEADER_FLAGS = (1, 2, 4, 8)  # Xing: frames, bytes, table of contents, quality


class Frame(NamedTuple):
    """One MPEG audio layer 3 frame header."""

    version: int  # 3 is MPEG-1, 2 is MPEG-2, 0 is MPEG-2.5
    rate_hz: int
    channels: int
    samples: int
    length: int  # bytes, header included


def frame_header(data: bytes, at: int = 0) -> Frame | None:
    """The layer 3 frame header at `at`, or None if there is none."""
    if at + 4 > len(data) or data[at] != 0xFF or data[at + 1] & 0xE6 != 0xE2:
        return None  # no sync, or not layer 3
    version = data[at + 1] >> 3 & 3
    bitrate, rate, padding = data[at + 2] >> 4, data[at + 2] >> 2 & 3, data[at + 2] >> 1 & 1
    if version == 1 or bitrate in (0, 15) or rate == 3:
        return None
    samples = 1152 if version == 3 else 576
    kbps = (_KBPS_V1 if version == 3 else _KBPS_V2)[bitrate]
    rate_hz = _RATES_HZ[version][rate]
    channels = 1 if data[at + 3] >> 6 == 3 else 2
    return Frame(
        version, rate_hz, channels, samples, samples // 8 * kbps * 1000 // rate_hz + padding
    )


def id3v2_end(file: BinaryIO, start: int = 0) -> int:
    """Where the ID3v2 tags (there may be several) that stand at `start` end."""
    while True:
        file.seek(start)
        head = file.read(10)
        if len(head) < 10 or head[:3] != b"ID3" or any(byte & 0x80 for byte in head[6:10]):
            return start
        length = head[6] << 21 | head[7] << 14 | head[8] << 7 | head[9]
        start += 10 + length + (10 if head[5] & 0x10 else 0)


def end_tags_start(file: BinaryIO, start: int, size: int) -> int:
    """Where the tags at the end of the file (ID3v1, APEv2, Lyrics3, ID3v2.4 footer) begin."""
    end = size
    while True:
        file.seek(max(start, end - 128))
        tail = file.read(end - max(start, end - 128))
        if len(tail) == 128 and tail[:3] == b"TAG":
            cut = 128
        elif tail[-32:-24] == b"APETAGEX":
            length, _items, flags = struct.unpack("<III", tail[-20:-8])
            cut = length + (32 if flags & 0x80000000 else 0)
        elif tail[-9:] == b"LYRICS200" and tail[-15:-9].isdigit():
            cut = int(tail[-15:-9]) + 15
        elif tail[-10:-7] == b"3DI":
            s = tail[-4:]
            cut = 20 + (s[0] << 21 | s[1] << 14 | s[2] << 7 | s[3])
        else:
            return end
        if cut <= 0 or end - cut < start:
            return end
        end -= cut


def read_mp3(file: BinaryIO, size: int) -> Layout:
    """Everything an MP3 file of `size` bytes says of its sound.

    Raises `FormatError` when there are no layer 3 frames or the header promises more than is there.
    """
    after_tag = id3v2_end(file)
    end = end_tags_start(file, min(after_tag, size), size)
    file.seek(after_tag)
    data = file.read(min(_LOOK_FOR_SYNC, max(0, end - after_tag)))
    found = _first_frame(data, at_end=after_tag + len(data) >= end)
    if found is None:
        if after_tag and not data.strip(b"\0"):
            raise FormatError(Reason.EMPTY, "tags, but no sound behind them")
        raise FormatError(Reason.FOREIGN, "no MP3 frames in it")
    at, frame = found
    start = after_tag + at
    counted = _vbr_header(data[at : at + frame.length], frame)
    # The header frame holds counts and no sound, and remuxing programs write it anew.
    sound_start = start if counted is None else min(start + frame.length, end)
    warnings: tuple[str, ...] = ()
    if counted is None:
        frames, whole = _count_frames(file, start, end, frame)
        samples = frames * frame.samples
        if not whole:
            warnings = ("the last MP3 frame is cut short",)
    else:
        if end - start < counted.bytes_:
            # Some encoders count other bytes too, so only missing frames prove that it is cut.
            kept, _ = _count_frames(file, sound_start, end, frame)
            if kept < counted.frames:
                raise TruncatedError(
                    counted.frames * frame.samples, kept * frame.samples, frame.rate_hz
                )
        samples = max(0, counted.frames * frame.samples - counted.delay - counted.padding)
    return Layout(
        container="MP3",
        codec="MP3",
        rate_hz=frame.rate_hz,
        depth_bits=None,
        channels=frame.channels,
        frames=samples,
        sound=((sound_start, end - sound_start),),
        warnings=warnings,
    )


def _first_frame(data: bytes, *, at_end: bool) -> tuple[int, Frame] | None:
    """The first frame that two alike follow (or the end of the sound), so that it is no chance."""
    at = data.find(b"\xff")
    while at >= 0:
        frame = frame_header(data, at)
        if frame and _followed(data, at, frame, at_end=at_end):
            return at, frame
        at = data.find(b"\xff", at + 1)
    return None


def _followed(data: bytes, at: int, frame: Frame, *, at_end: bool) -> bool:
    for _ in range(2):
        at += frame.length
        if at >= len(data):
            return at_end and at == len(data)
        following = frame_header(data, at)
        if not following or following[:2] != frame[:2]:
            return False
        frame = following
    return True


class _Counted(NamedTuple):
    frames: int
    bytes_: int
    delay: int
    padding: int


def _vbr_header(data: bytes, frame: Frame) -> _Counted | None:
    """The counts in a first frame that carries a Xing/Info or VBRI header instead of sound."""
    side = (
        (32 if frame.channels == 2 else 17)
        if frame.version == 3
        else (17 if frame.channels == 2 else 9)
    )
    at = 4 + side
    if data[at : at + 4] in (b"Xing", b"Info") and len(data) >= at + 8:
        flags = int.from_bytes(data[at + 4 : at + 8], "big")
        at += 8
        frames = bytes_ = 0
        for flag, width in zip(_HEADER_FLAGS, (4, 4, 100, 4), strict=True):
            if flags & flag:
                value = int.from_bytes(data[at : at + width], "big") if width == 4 else 0
                frames, bytes_ = (
                    value if flag == 1 else frames,
                    value if flag == 2 else bytes_,
                )
                at += width
        if not frames:
            return None
        delay = padding = 0
        trim = data[at + 21 : at + 24]
        if len(trim) == 3 and data[at : at + 4].isalnum():
            delay, padding = trim[0] << 4 | trim[1] >> 4, (trim[1] & 15) << 8 | trim[2]
        return _Counted(frames, bytes_, delay, padding)
    if data[36:40] == b"VBRI" and len(data) >= 36 + 18:
        bytes_, frames = struct.unpack_from(">II", data, 46)
        return _Counted(frames, bytes_, 0, 0) if frames else None
    return None


def _count_frames(file: BinaryIO, start: int, end: int, first: Frame) -> tuple[int, bool]:
    """How many frames lie between `start` and `end`, and whether the last one is whole."""
    count, at, base, data = 0, start, start, b""
    lengths: dict[bytes, int] = {}  # by the header bytes that a length hangs on; 0 is no frame
    while at + 4 <= end:
        here, stop = at - base, len(data) - 3
        while here < stop:
            head = data[here : here + 3]
            length = lengths.get(head)
            if length is None:
                frame = frame_header(data, here)
                length = frame.length if frame and frame[:2] == first[:2] else 0
                lengths[head] = length
            if not length:  # no frame: look for the next sign of one
                found = data.find(b"\xff", here + 1)
                here = found if found >= 0 else stop
            elif base + here + length > end:
                return count, False
            else:
                count += 1
                here += length
        at = max(at, base + here)
        if at + 4 <= end:
            file.seek(at)
            base, data = at, file.read(min(_BLOCK, end - at))
            if len(data) < 4:
                break
    return count, True
