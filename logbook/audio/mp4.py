"""M4A files (AAC and ALAC): the sound track's rate, length and the bytes of its samples.

Sources: ISO/IEC 14496-12 (boxes, sample tables, edit lists), 14496-14 (esds); the ALAC sample
entry and the gapless comment are common practice.

The library at hand reads the tags. It gives the length of the media with the encoder's delay
still in it and does not say where the samples lie, so the sample tables are read here.
"""

from __future__ import annotations

import struct
import sys
from array import array
from collections.abc import Iterator
from typing import BinaryIO, NamedTuple

from logbook.audio.errors import Reason
from logbook.audio.layout import FormatError, Layout, TruncatedError

_LONGEST_MOOV = 48 << 20  # bytes; ten hours of sound with a large picture take less
_MOST_BOXES = 4096
_CODECS = {b"mp4a": "AAC", b"alac": "ALAC"}


class _Box(NamedTuple):
    kind: bytes
    start: int  # of its content
    end: int


def read_mp4(file: BinaryIO, size: int) -> Layout:
    """Everything an M4A file of `size` bytes says of its sound.

    Raises `FormatError` without a sound track, with a foreign codec, or when tables do not fit.
    """
    moov = _moov(file, size)
    boxes = dict(_children(moov, 0, len(moov)))
    mvhd = boxes.get(b"mvhd")
    movie_scale = _scale_and_duration(moov, mvhd)[0] if mvhd else 0
    for kind, box in _children(moov, 0, len(moov)):
        if kind == b"trak":
            track = _sound_track(moov, box)
            if track is not None:
                return _layout(moov, track, movie_scale, size)
    raise FormatError(Reason.FOREIGN, "an MP4 file without a sound track")


class _Track(NamedTuple):
    mdhd: _Box
    stbl: dict[bytes, _Box]
    edits: _Box | None


def _moov(file: BinaryIO, size: int) -> bytes:
    """The movie box's content."""
    at = 0
    for _ in range(_MOST_BOXES):
        file.seek(at)
        head = file.read(16)
        if len(head) < 8:
            break
        length, kind = struct.unpack_from(">I4s", head)
        header = 8
        if length == 1 and len(head) == 16:
            length, header = int.from_bytes(head[8:16], "big"), 16
        elif length == 0:
            length = size - at
        if length < header:
            raise FormatError(Reason.CORRUPT, f"the MP4 boxes break off at byte {at}")
        if kind == b"moov":
            if length > _LONGEST_MOOV:
                raise FormatError(Reason.CORRUPT, "its table of contents is too long to be true")
            if at + length > size:
                raise FormatError(Reason.TRUNCATED, "cut short within its table of contents")
            file.seek(at + header)
            return file.read(length - header)
        at += length
    raise FormatError(
        Reason.TRUNCATED,
        "an M4A file without its table of contents (moov)",
        "it was cut short or its recording never closed",
    )


def _children(data: bytes, start: int, end: int) -> Iterator[tuple[bytes, _Box]]:
    at = start
    while at + 8 <= end:
        length, kind = struct.unpack_from(">I4s", data, at)
        header = 8
        if length == 1 and at + 16 <= end:
            length, header = int.from_bytes(data[at + 8 : at + 16], "big"), 16
        elif length == 0:
            length = end - at
        if length < header or at + length > end:
            return
        yield kind, _Box(kind, at + header, at + length)
        at += length


def _sound_track(moov: bytes, trak: _Box) -> _Track | None:
    track = dict(_children(moov, trak.start, trak.end))
    if b"mdia" not in track:
        return None
    media = dict(_children(moov, *track[b"mdia"][1:]))
    hdlr, minf = media.get(b"hdlr"), media.get(b"minf")
    if hdlr is None or minf is None or b"mdhd" not in media:
        return None
    if moov[hdlr.start + 8 : hdlr.start + 12] != b"soun":
        return None
    stbl = dict(_children(moov, minf.start, minf.end)).get(b"stbl")
    tables = dict(_children(moov, stbl.start, stbl.end)) if stbl else {}
    edts = track.get(b"edts")
    edits = dict(_children(moov, edts.start, edts.end)).get(b"elst") if edts else None
    return _Track(media[b"mdhd"], tables, edits)


def _layout(moov: bytes, track: _Track, movie_scale: int, size: int) -> Layout:
    codec, channels, depth, rate_hz = _entry(moov, track.stbl.get(b"stsd"))
    scale, duration = _scale_and_duration(moov, track.mdhd)
    if not scale:
        raise FormatError(Reason.CORRUPT, "its sound track counts no time")
    sound = _sample_ranges(moov, track.stbl)
    if not sound:
        if any(kind == b"mvex" for kind, _ in _children(moov, 0, len(moov))):
            raise FormatError(Reason.FOREIGN, "a fragmented MP4 file", "write it as a plain M4A")
        raise FormatError(Reason.EMPTY, "an M4A header with no sound behind it")
    duration = _ticks(moov, track.stbl.get(b"stts")) or duration
    frames = round(_heard(moov, track.edits, duration, scale, movie_scale) * rate_hz / scale)
    end = max(start + length for start, length in sound)
    if end > size:
        total = sum(length for _, length in sound)
        present = sum(max(0, min(length, size - start)) for start, length in sound)
        raise TruncatedError(frames, frames * present // total, rate_hz)
    return Layout(
        container="M4A",
        codec=codec,
        rate_hz=rate_hz,
        depth_bits=depth if codec == "ALAC" else None,
        channels=channels,
        frames=frames,
        sound=sound,
    )


def _entry(moov: bytes, stsd: _Box | None) -> tuple[str, int, int, int]:
    """Codec, channels, depth and rate from the first sample entry."""
    entry = next(_children(moov, stsd.start + 8, stsd.end), None) if stsd else None
    if entry is None or entry[1].end - entry[1].start < 28:
        raise FormatError(Reason.CORRUPT, "its sound track does not say what codec it holds")
    kind, box = entry
    if kind not in _CODECS:
        raise FormatError(
            Reason.FOREIGN,
            f"an MP4 file with codec {kind.decode('latin-1')!r}",
            "AAC and ALAC are read in M4A",
        )
    version, channels, depth = struct.unpack_from(">H6xHH", moov, box.start + 8)
    rate_hz = struct.unpack_from(">I", moov, box.start + 24)[0] >> 16
    extra = {0: 28, 1: 44, 2: 64}.get(version, 28)
    inner = dict(_children(moov, box.start + extra, box.end))
    if b"alac" in inner and inner[b"alac"].end - inner[b"alac"].start >= 28:
        cookie = moov[inner[b"alac"].start : inner[b"alac"].end]
        depth, channels = cookie[9], cookie[13]
        rate_hz = int.from_bytes(cookie[24:28], "big")
    elif b"esds" in inner:
        rate_hz, channels = _aac_config(moov[inner[b"esds"].start : inner[b"esds"].end]) or (
            rate_hz,
            channels,
        )
    if not (rate_hz and channels):
        raise FormatError(Reason.CORRUPT, f"its header says {channels} channels and {rate_hz} Hz")
    return _CODECS[kind], channels, depth, rate_hz


_AAC_RATES_HZ = (
    96000, 88200, 64000, 48000, 44100, 32000, 24000, 22050, 16000, 12000, 11025, 8000, 7350,
)  # fmt: skip


def _aac_config(esds: bytes) -> tuple[int, int] | None:
    """Rate and channels of the AudioSpecificConfig, None where it leaves them to others."""
    at = 4  # behind version and flags
    # Elementary stream, decoder configuration and decoder-specific descriptor, one in another.
    for tag, fixed in ((3, 3), (4, 13), (5, 0)):
        if at >= len(esds) or esds[at] != tag:
            return None
        at += 1
        while at < len(esds) and esds[at] & 0x80:
            at += 1
        at += 1 + fixed
    config = int.from_bytes(esds[at : at + 8].ljust(8, b"\0"), "big")
    kind, rate_index, channels = config >> 59, config >> 55 & 15, config >> 51 & 15
    if rate_index >= len(_AAC_RATES_HZ) or not 1 <= channels <= 7:
        return None
    rate_hz = _AAC_RATES_HZ[rate_index]
    if kind in (5, 29):  # spectral band replication names the rate it plays at
        extension = config >> 47 & 15
        rate_hz = _AAC_RATES_HZ[extension] if extension < len(_AAC_RATES_HZ) else rate_hz
    if kind == 29:  # parametric stereo plays one coded channel as two
        channels = 2
    return rate_hz, 8 if channels == 7 else channels


def _scale_and_duration(moov: bytes, box: _Box) -> tuple[int, int]:
    """Ticks a second and length in ticks from an mvhd or mdhd box."""
    if moov[box.start] == 1:
        scale, duration = struct.unpack_from(">IQ", moov, box.start + 20)
    else:
        scale, duration = struct.unpack_from(">II", moov, box.start + 12)
    return scale, duration


def _ticks(moov: bytes, stts: _Box | None) -> int:
    """The sum of all sample durations."""
    if stts is None:
        return 0
    count = int.from_bytes(moov[stts.start + 4 : stts.start + 8], "big")
    pairs = _numbers(moov, stts.start + 8, min(2 * count, (stts.end - stts.start - 8) // 8 * 2))
    return sum(n * ticks for n, ticks in zip(pairs[::2], pairs[1::2], strict=True))


def _heard(moov: bytes, elst: _Box | None, duration: int, scale: int, movie_scale: int) -> int:
    """Media ticks that are played: the edit list leaves out what the encoder added.

    The edit's length is in the coarser movie ticks, so it only shortens what is left behind the
    media start when it differs by more than such a tick.
    """
    if elst is None or not movie_scale or elst.end - elst.start < 8:
        return duration
    wide = moov[elst.start] == 1
    layout = struct.Struct(">Qqhh" if wide else ">Iihh")
    count = int.from_bytes(moov[elst.start + 4 : elst.start + 8], "big")
    heard = 0
    for n in range(min(count, (elst.end - elst.start - 8) // layout.size)):
        length, media_start, _, _ = layout.unpack_from(moov, elst.start + 8 + n * layout.size)
        if media_start < 0:  # an empty edit delays the track and plays nothing
            continue
        rest = max(0, duration - media_start)
        ticks = length * scale / movie_scale
        heard += rest if not length or ticks + scale / movie_scale >= rest else round(ticks)
    return heard or duration


def _numbers(moov: bytes, start: int, count: int) -> array[int]:
    values = array("I")
    values.frombytes(moov[start : start + 4 * count])
    if sys.byteorder == "little":
        values.byteswap()
    return values


def _sample_ranges(moov: bytes, stbl: dict[bytes, _Box]) -> tuple[tuple[int, int], ...]:
    """Where the track's samples lie, in playing order, neighbours joined."""
    sizes_box, runs_box = stbl.get(b"stsz"), stbl.get(b"stsc")
    chunk_box = stbl.get(b"stco") or stbl.get(b"co64")
    if sizes_box is None or runs_box is None or chunk_box is None:
        return ()
    fixed, samples = struct.unpack_from(">II", moov, sizes_box.start + 4)
    there = (sizes_box.end - sizes_box.start - 12) // 4
    if not fixed and samples > there:
        raise FormatError(Reason.CORRUPT, "its table of sample sizes is too short")
    sizes = _numbers(moov, sizes_box.start + 12, 0 if fixed else samples)
    offsets = _chunk_offsets(moov, chunk_box)
    runs = _numbers(
        moov,
        runs_box.start + 8,
        3
        * min(
            int.from_bytes(moov[runs_box.start + 4 : runs_box.start + 8], "big"),
            (runs_box.end - runs_box.start - 8) // 12,
        ),
    )
    ranges: list[tuple[int, int]] = []
    sample = run = 0
    for chunk, offset in enumerate(offsets, start=1):
        while 3 * run + 3 < len(runs) and runs[3 * run + 3] <= chunk:
            run += 1
        count = min(runs[3 * run + 1] if runs else 0, samples - sample)
        length = fixed * count if fixed else sum(sizes[sample : sample + count])
        sample += count
        if ranges and sum(ranges[-1]) == offset:
            ranges[-1] = (ranges[-1][0], ranges[-1][1] + length)
        elif length:
            ranges.append((offset, length))
    return tuple(ranges)


def _chunk_offsets(moov: bytes, box: _Box) -> list[int]:
    count = int.from_bytes(moov[box.start + 4 : box.start + 8], "big")
    if box.kind == b"stco":
        return list(_numbers(moov, box.start + 8, min(count, (box.end - box.start - 8) // 4)))
    count = min(count, (box.end - box.start - 8) // 8)
    return [n for (n,) in struct.iter_unpack(">Q", moov[box.start + 8 : box.start + 8 + 8 * count])]
