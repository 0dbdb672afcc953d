"""Small WAV files with the chunks a recorder writes, for the tests of importing and tagging.

The broadcast chunk is laid out as EBU Tech 3285 version 1 says, the iXML chunk as common practice
has it.
"""

from __future__ import annotations

import random
import struct
from collections.abc import Sequence
from pathlib import Path

RATE_HZ = 8000


def wav(
    path: Path,
    *,
    seconds: float = 0.05,
    seed: int | str | None = None,
    rate_hz: int = RATE_HZ,
    description: str = "",
    date: str = "",
    time: str = "10:00:00",
    time_reference: int | None = None,
    ixml_take: str = "",
    ixml_note: str = "",
    ixml_scene: str = "",
    ixml_tracks: Sequence[str] = (),
) -> Path:
    """Write a 16-bit file of quiet noise that no other seed (by default, path) has.

    It has one channel for each track, which the iXML chunk lists last channel first.
    """
    noise = random.Random(str(path) if seed is None else seed)
    frames, wide = round(seconds * rate_hz), len(ixml_tracks) or 1
    sound = b"".join(struct.pack("<h", noise.randint(-900, 900)) for _ in range(frames * wide))
    chunks = _chunk(
        b"fmt ", struct.pack("<HHIIHH", 1, wide, rate_hz, rate_hz * 2 * wide, 2 * wide, 16)
    )
    if description or date or time_reference is not None:
        fixed = struct.pack(
            "<256s32s32s10s8sQH64s190s",
            description.encode(),
            b"invented recorder",
            b"",
            date.encode(),
            time.encode(),
            time_reference or 0,
            1,
            b"",
            b"",
        )
        assert len(fixed) == 602
        chunks += _chunk(b"bext", fixed)
    if ixml_take or ixml_note or ixml_scene or ixml_tracks:
        scene = f"<SCENE>{ixml_scene}</SCENE>" if ixml_scene else ""
        tracks = "".join(
            f"<TRACK><INTERLEAVE_INDEX>{at}</INTERLEAVE_INDEX><NAME>{name}</NAME></TRACK>"
            for at, name in reversed(list(enumerate(ixml_tracks, 1)))
        )
        text = (
            '<?xml version="1.0" encoding="UTF-8"?><BWFXML><IXML_VERSION>1.5</IXML_VERSION>'
            f"{scene}<TRACK_LIST>{tracks}</TRACK_LIST><TAKE>{ixml_take}</TAKE><NOTE>{ixml_note}</NOTE><CIRCLED>TRUE</CIRCLED></BWFXML>"
        )
        chunks += _chunk(b"iXML", text.encode())
    chunks += _chunk(b"data", sound)
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(b"RIFF" + struct.pack("<I", 4 + len(chunks)) + b"WAVE" + chunks)
    return path


def _chunk(ident: bytes, content: bytes) -> bytes:
    return struct.pack("<4sI", ident, len(content)) + content + b"\0" * (len(content) % 2)
