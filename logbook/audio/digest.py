"""The digest of a file's sound: what makes a file the same file, whatever it is called.

It is the SHA-256 of the sound's bytes as they lie in the file, and of nothing else:

- WAV and RF64: the content of the `data` chunk, whole frames;
- AIFF and AIFF-C: the samples in the `SSND` chunk;
- FLAC: everything behind the metadata blocks; MP3: from the first frame to the tags at the end;
- M4A: the sound track's samples in playing order; Ogg: the packets behind the header packets.

So it survives renaming, moving and retagging, and for uncompressed little-endian sound it is what
`sha256sum` says of the raw samples. Another codec or depth of the same sound is another file.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from io import BufferedReader

from logbook.audio.errors import Reason
from logbook.audio.layout import FormatError, Layout

_BLOCK = 1 << 18  # bytes; fits the processor's cache


def digest_of_sound(
    file: BufferedReader, layout: Layout, on_bytes: Callable[[int], None] | None = None
) -> str:
    """The digest of the sound that `layout` finds in `file`, in constant memory.

    `on_bytes` is called with the number of bytes read since the last call.
    Raises `FormatError` when bytes are missing that the layout promises.
    """
    state = hashlib.sha256()
    for start, length in layout.sound:
        if layout.in_pages:
            from logbook.audio.ogg import page_bodies

            for body in page_bodies(file, start, start + length):
                state.update(body)
                if on_bytes:
                    on_bytes(len(body))
        else:
            _add_range(state.update, file, start, length, on_bytes)
    return state.hexdigest()


def _add_range(
    update: Callable[[memoryview], None],
    file: BufferedReader,
    start: int,
    length: int,
    on_bytes: Callable[[int], None] | None,
) -> None:
    file.seek(start)
    buffer = bytearray(min(_BLOCK, length))
    view = memoryview(buffer)
    while length > 0:
        count = file.readinto(view[: min(length, _BLOCK)])
        if not count:
            raise FormatError(Reason.TRUNCATED, "it became shorter while it was read")
        update(view[:count])
        length -= count
        if on_bytes:
            on_bytes(count)
