"""Files that come home now and then: CAF, W64, WavPack, raw AAC, and the sound of a film.

CAF, W64, WavPack and raw AAC are read from their own headers; Matroska, WebM and AVI through the
av library, where the extra `listen` is there. What is known by its first bytes and not read is
called by its name, so that nobody has to guess what a file is.

Sources of the layouts: from memory (Core Audio Format 1.0; Wave64; WavPack 5 block header;
ISO/IEC 13818-7 for the frames of raw AAC). Each is held against libsndfile or av in the tests.
"""

from __future__ import annotations

import struct
from typing import BinaryIO

from logbook.audio.errors import Reason
from logbook.audio.layout import FormatError, Layout, TruncatedError

_W64 = b"riff\x2e\x91\xcf\x11\xa5\xd6\x28\xdb\x04\xc1\x00\x00"
_MATROSKA = b"\x1a\x45\xdf\xa3"
_WAVPACK_RATES = (6000, 8000, 9600, 11025, 12000, 16000, 22050, 24000, 32000, 44100, 48000,
                  64000, 88200, 96000, 192000)  # fmt: skip
_AAC_RATES = (96000, 88200, 64000, 48000, 44100, 32000, 24000, 22050, 16000, 12000, 11025, 8000,
              7350)  # fmt: skip
_AAC_CHANNELS = (0, 1, 2, 3, 4, 5, 6, 8)
_AAC_FRAME = 1024
_MOST_CHUNKS = 10_000

NOT_READ = (
    (b"MAC ", "an APE file"),
    (b"\x30\x26\xb2\x75", "a WMA file"),
    (b"#!AMR", "an AMR speech recording"),
    (b".snd", "an AU file"),
    (b"MPCK", "an MPC file"),
    (b"MP+", "an MPC file"),
    (b"DSD ", "a DSD file"),
    (b"FRM8", "a DSD file"),
    (b"TTA1", "a TTA file"),
    (b"OMA", "an OMA file"),
    (b"MThd", "written music (MIDI) and no sound"),
    (b"\x89PNG", "a picture"),
    (b"\xff\xd8\xff", "a picture"),
    (b"GIF8", "a picture"),
    (b"%PDF", "a PDF page and no sound"),
    (b"PK\x03\x04", "a packed folder; unpack it first"),
)
"""How some files begin that are not read, and what they are."""


def read_other(file: BinaryIO, size: int, head: bytes) -> Layout | None:
    """The layout of a file of one of these forms by its first bytes; None for any other.

    Raises `FormatError` for one that is broken, cut short or cannot be read without the extra.
    """
    if head[:4] == b"caff":
        return _caf(file, size)
    if head[:12] == _W64[:12]:
        return _w64(file, size)
    if head[:4] == b"wvpk":
        return _wavpack(file, size)
    if len(head) > 1 and head[0] == 0xFF and head[1] & 0xF6 == 0xF0:
        return _aac(file, size)
    if head[:4] == _MATROSKA or (head[:4] == b"RIFF" and head[8:12] == b"AVI "):
        return _film(file, size, "Matroska" if head[:4] == _MATROSKA else "AVI")
    return None


def name_of(head: bytes) -> str:
    """What a file is that begins so and is not read; empty where nobody knows."""
    return next((name for mark, name in NOT_READ if head.startswith(mark)), "")


def _exactly(file: BinaryIO, count: int) -> bytes:
    data = file.read(count)
    if len(data) < count:
        raise FormatError(Reason.TRUNCATED, "cut short within its header")
    return data


def _pcm(
    container: str, codec: str, rate: float, depth: int, channels: int, start: int, length: int
) -> Layout:
    frame = channels * ((depth + 7) // 8)
    if not frame or not 1 <= rate <= 100_000_000 or channels > 65_535:
        raise FormatError(Reason.CORRUPT, f"a {container} header that contradicts itself")
    return Layout(
        container=container, codec=codec, rate_hz=round(rate), depth_bits=depth, channels=channels,
        frames=length // frame, sound=((start, length - length % frame),),
    )  # fmt: skip


def _caf(file: BinaryIO, size: int) -> Layout:
    at = 8
    form: tuple[float, bytes, int, int, int] | None = None
    for _ in range(_MOST_CHUNKS):
        file.seek(at)
        if at + 12 > size:
            break
        ident, length = struct.unpack(">4sq", _exactly(file, 12))
        at += 12
        if ident == b"desc":
            rate, kind, flags, _, _, channels, depth = struct.unpack(
                ">d4sIIIII", _exactly(file, 32)
            )
            form = (rate, kind, flags, channels, depth)
        elif ident == b"data":
            if form is None:
                break
            rate, kind, flags, channels, depth = form
            if kind != b"lpcm":
                named = kind.decode("latin-1").strip()
                raise FormatError(
                    Reason.FOREIGN, f"a CAF file with {named} in it", "bounce it to WAV or FLAC"
                )
            present = size - at - 4
            length = present if length < 0 else length - 4
            if length > present:
                frame = max(1, channels * depth // 8)
                raise TruncatedError(length // frame, max(0, present) // frame, max(1, round(rate)))
            codec = "float PCM" if flags & 1 else "PCM"
            return _pcm("CAF", codec, rate, depth, channels, at + 4, length)
        if length < 0:
            break
        at += length
    raise FormatError(Reason.CORRUPT, "the CAF file has no sound in it")


def _w64(file: BinaryIO, size: int) -> Layout:
    at = 40
    form: tuple[int, int, int, int] | None = None
    for _ in range(_MOST_CHUNKS):
        file.seek(at)
        if at + 24 > size:
            break
        ident, length = struct.unpack("<16sQ", _exactly(file, 24))
        if length < 24:
            break
        if ident[:4] == b"fmt ":
            kind, channels, rate, _, _, depth = struct.unpack("<HHIIHH", _exactly(file, 16))
            if kind == 0xFFFE and length >= 24 + 26:
                kind = struct.unpack("<8xH", _exactly(file, 10))[0]
            form = (kind, channels, rate, depth)
        elif ident[:4] == b"data":
            if form is None:
                break
            kind, channels, rate, depth = form
            if kind not in (1, 3):
                raise FormatError(Reason.FOREIGN, "a W64 file that is not PCM", "bounce it to WAV")
            present = size - at - 24
            if length - 24 > present:
                frame = max(1, channels * depth // 8)
                raise TruncatedError((length - 24) // frame, present // frame, max(1, rate))
            codec = "float PCM" if kind == 3 else "PCM"
            return _pcm("W64", codec, rate, depth, channels, at + 24, length - 24)
        at += (length + 7) // 8 * 8
    raise FormatError(Reason.CORRUPT, "the W64 file has no sound in it")


def _wavpack(file: BinaryIO, size: int) -> Layout:
    at, channels, total, flags = 0, 0, 0, 0
    for _ in range(64):
        file.seek(at)
        block = file.read(32)
        if len(block) < 32 or block[:4] != b"wvpk":
            break
        length, _, _, high_total, low, _, _, flags = struct.unpack("<IHBBIIII", block[4:28])
        total = low + (high_total << 32) if low != 0xFFFFFFFF else 0
        channels += 1 if flags & 4 else 2
        at += length + 8
        if flags & 0x1000:  # the last block of these frames
            break
    index = flags >> 23 & 15
    if not channels or index >= len(_WAVPACK_RATES) or not total:
        raise FormatError(Reason.CORRUPT, "a WavPack header that does not say how long it lasts")
    depth = 8 * ((flags & 3) + 1)
    return Layout(
        container="WavPack", codec="WavPack", rate_hz=_WAVPACK_RATES[index], depth_bits=depth,
        channels=channels, frames=total, sound=((0, size),),
    )  # fmt: skip


def _aac(file: BinaryIO, size: int) -> Layout:
    file.seek(0)
    data = file.read(size)
    at = frames = 0
    rate = channels = 0
    while at + 7 <= size and data[at] == 0xFF and data[at + 1] & 0xF6 == 0xF0:
        index = data[at + 2] >> 2 & 15
        length = (data[at + 3] & 3) << 11 | data[at + 4] << 3 | data[at + 5] >> 5
        if index >= len(_AAC_RATES) or length < 7:
            break
        if not frames:
            rate = _AAC_RATES[index]
            channels = _AAC_CHANNELS[(data[at + 2] & 1) << 2 | data[at + 3] >> 6]
        if at + length > size:
            break
        frames += _AAC_FRAME * ((data[at + 6] & 3) + 1)
        at += length
    if frames < 2 * _AAC_FRAME or not channels:
        raise FormatError(Reason.CORRUPT, "no AAC frames in it")
    return Layout(
        container="AAC", codec="AAC", rate_hz=rate, depth_bits=None, channels=channels,
        frames=frames, sound=((0, at),),
    )  # fmt: skip


def _film(file: BinaryIO, size: int, container: str) -> Layout:
    try:
        import av
    except ImportError:
        raise FormatError(
            Reason.FOREIGN,
            f"a film ({container}), whose sound is read with the extra `listen` only",
            "pip install 'session-logbook[listen]'",
        ) from None
    file.seek(0)
    with av.open(file, "r") as opened:
        stream = next(iter(opened.streams.audio), None)
        if stream is None:
            raise FormatError(Reason.FOREIGN, f"a film ({container}) without sound")
        rate, channels = int(stream.rate or 0), int(stream.channels or 0)
        codec = str(stream.codec_context.name)
        seconds = (
            float(stream.duration * stream.time_base)
            if stream.duration and stream.time_base
            else (opened.duration or 0) / 1_000_000
        )
    if not rate or not channels:
        raise FormatError(Reason.CORRUPT, f"a film ({container}) whose sound says no rate")
    named = {"aac": "AAC", "opus": "Opus", "vorbis": "Vorbis", "mp3": "MP3", "flac": "FLAC"}
    return Layout(
        container=container, codec=named.get(codec, "PCM" if codec.startswith("pcm") else codec),
        rate_hz=rate, depth_bits=None, channels=channels, frames=round(seconds * rate),
        sound=((0, size),),
    )  # fmt: skip
