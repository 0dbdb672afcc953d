"""The digest of a lossless file's decoded samples, without decoding anything.

A FLAC file carries the MD5 of its samples in its first block (RFC 9639, 8.2): interleaved,
little-endian, signed, each in whole bytes. That is what the data chunk of a WAV file holds as it
lies, but for eight bits, which WAV keeps unsigned; AIFF keeps its bytes the other way round. So a
FLAC and the WAV it was made from are told to be one recording for the price of one reading of the
WAV. Another depth, even of the same music, is another recording.
"""

from __future__ import annotations

import hashlib
from io import BufferedReader
from pathlib import Path

from logbook.audio.errors import AudioError

_BLOCK = 3 << 18  # bytes; whole samples of one, two, three and four bytes
_STREAMINFO, _MD5 = 8, 18
_FLIPPED = bytes(value ^ 0x80 for value in range(256))


def samples_digest(path: Path | str) -> str:
    """The MD5 of a file's samples as FLAC counts it; empty where it cannot be had cheaply."""
    from logbook.audio.layout import FormatError
    from logbook.audio.reading import read_layout

    try:
        with open(path, "rb") as file:
            layout = read_layout(file)
            if layout.container == "FLAC":
                return _of_flac(file)
            if layout.codec != "PCM" or layout.depth_bits not in (8, 16, 24, 32):
                return ""
            if layout.container not in ("WAV", "RF64", "AIFF") or layout.in_pages:
                return ""
            swapped = layout.depth_bits // 8 if layout.container == "AIFF" else 1
            unsigned = layout.depth_bits == 8 and layout.container != "AIFF"
            state = hashlib.md5(usedforsecurity=False)
            for start, length in layout.sound:
                file.seek(start)
                while length > 0 and (block := file.read(min(length, _BLOCK))):
                    length -= len(block)
                    block = block.translate(_FLIPPED) if unsigned else block
                    state.update(_swapped(block, swapped) if swapped > 1 else block)
            return state.hexdigest()
    except (OSError, ValueError, AudioError, FormatError):
        return ""


def _of_flac(file: BufferedReader) -> str:
    file.seek(0)
    head = file.read(10)
    start = 0
    if head[:3] == b"ID3":
        from logbook.audio.mpeg import id3v2_end

        start = id3v2_end(file)
    file.seek(start)
    block = file.read(_STREAMINFO + 34)
    md5 = block[_STREAMINFO + _MD5 :]
    return md5.hex() if block[:4] == b"fLaC" and len(md5) == 16 and any(md5) else ""


def _swapped(block: bytes, width: int) -> bytes:
    out = bytearray(len(block))
    for at in range(width):
        out[at::width] = block[width - 1 - at :: width]
    return bytes(out)
