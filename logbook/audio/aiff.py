"""AIFF and AIFF-C files: format, length, markers and text chunks.

Sources: Audio Interchange File Format 1.3 (1989) and AIFF-C (draft of 1991).
"""

from __future__ import annotations

import struct
from fractions import Fraction
from typing import BinaryIO

from logbook.audio.chunks import Chunk, iff_chunks
from logbook.audio.errors import Reason
from logbook.audio.facts import FileCue
from logbook.audio.id3 import LONGEST_TAG
from logbook.audio.layout import FormatError, Layout, TruncatedError
from logbook.audio.text_chunks import SMALL_CHUNK, aiff_text, decode_text

# AIFF-C compression type -> codec, and its depth where the common chunk does not give it.
_CODECS: dict[bytes, tuple[str, int | None]] = {
    b"NONE": ("PCM", None),
    b"twos": ("PCM", None),
    b"sowt": ("PCM", None),
    b"raw ": ("PCM", None),
    b"in24": ("PCM", 24),
    b"in32": ("PCM", 32),
    b"fl32": ("float PCM", 32),
    b"FL32": ("float PCM", 32),
    b"fl64": ("float PCM", 64),
    b"FL64": ("float PCM", 64),
    b"alaw": ("A-law", 8),
    b"ALAW": ("A-law", 8),
    b"ulaw": ("mu-law", 8),
    b"ULAW": ("mu-law", 8),
}


def read_aiff(file: BinaryIO, size: int) -> Layout:
    """Everything an AIFF or AIFF-C file of `size` bytes says, save its sound.

    Raises `FormatError` when the format is foreign or contradicts itself or the sound is missing.
    """
    file.seek(8)
    compressed = file.read(4) == b"AIFC"
    chunks = iff_chunks(file, size)
    by_ident: dict[bytes, Chunk] = {}
    for chunk in chunks:
        by_ident.setdefault(chunk.ident, chunk)
    common = by_ident[b"COMM"].read(file, 64) if b"COMM" in by_ident else b""
    if len(common) < (22 if compressed else 18):
        raise FormatError(Reason.CORRUPT, "the AIFF file has no whole common chunk")
    channels, frames, bits = struct.unpack_from(">hIh", common)
    kind = common[18:22] if compressed else b"NONE"
    if kind not in _CODECS:
        raise FormatError(
            Reason.FOREIGN,
            f"an AIFF-C file with compression {kind.decode('latin-1')!r}",
            "only uncompressed, float, A-law and mu-law sound is read in AIFF-C",
        )
    codec, depth = _CODECS[kind]
    depth = depth or bits
    rate_hz = round(_extended(common[8:18]))
    if channels < 1 or rate_hz < 1 or not 1 <= depth <= 64:
        raise FormatError(
            Reason.CORRUPT,
            f"the common chunk contradicts itself: {channels} channels, {rate_hz} Hz, {depth} bits",
        )
    start, present, warnings = _sound(file, by_ident.get(b"SSND"))
    frame_bytes = channels * ((depth + 7) // 8)
    if present < frames * frame_bytes:
        if by_ident[b"SSND"].declared > by_ident[b"SSND"].present:
            raise TruncatedError(frames, present // frame_bytes, rate_hz)
        warnings.append(
            f"the header counts {frames} frames, its sound has {present // frame_bytes}"
        )
        frames = present // frame_bytes
    id3 = by_ident.get(b"ID3 ") or by_ident.get(b"id3 ")
    return Layout(
        container="AIFF-C" if compressed else "AIFF",
        codec=codec,
        rate_hz=rate_hz,
        depth_bits=depth,
        channels=channels,
        frames=frames,
        sound=((start, frames * frame_bytes),),
        id3=id3.read(file, LONGEST_TAG + 1) if id3 else b"",
        text=aiff_text(file, chunks),
        cues=_markers(file, by_ident.get(b"MARK")),
        warnings=tuple(warnings),
    )


def _sound(file: BinaryIO, chunk: Chunk | None) -> tuple[int, int, list[str]]:
    """Where the samples start and how many bytes of them there are."""
    if chunk is None:
        raise FormatError(Reason.EMPTY, "the AIFF file has no sound data chunk, so no sound")
    head = chunk.read(file, 8)
    if len(head) < 8:
        raise FormatError(Reason.CORRUPT, "the AIFF file's sound data chunk is cut short")
    offset = int.from_bytes(head[:4], "big")
    return chunk.start + 8 + offset, max(0, chunk.present - 8 - offset), []


def _extended(data: bytes) -> Fraction:
    """An 80-bit IEEE 754 extended number, exactly; 0 when it is none that can be a rate."""
    exponent, mantissa = struct.unpack(">hQ", data)
    if not 0 < exponent < 16383 + 32:  # negative, zero, or beyond any sample rate
        return Fraction(0)
    shift = exponent - 16383 - 63
    return Fraction(mantissa << max(0, shift), 1 << max(0, -shift))


def _markers(file: BinaryIO, chunk: Chunk | None) -> tuple[FileCue, ...]:
    if chunk is None:
        return ()
    data = chunk.read(file, SMALL_CHUNK)
    count = int.from_bytes(data[:2], "big")
    at = 2
    markers = []
    for _ in range(count):
        if at + 7 > len(data):
            break
        _ident, position, length = struct.unpack_from(">hIB", data, at)
        label = decode_text(data[at + 7 : at + 7 + length])
        markers.append(FileCue(position_frames=position, label=label))
        at += 7 + length + (1 - length % 2)  # the string with its count byte is padded to even
    return tuple(sorted(markers, key=lambda cue: cue.position_frames))
