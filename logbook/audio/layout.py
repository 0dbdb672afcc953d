"""What a format's reader hands back: where the sound lies and what the header says of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from logbook.audio.errors import Reason
from logbook.audio.facts import BroadcastInfo, FileCue, IxmlInfo


class FormatError(Exception):
    """A reader's complaint, before the path is known; `reading` turns it into an `AudioError`."""

    def __init__(self, reason: Reason, problem: str, remedy: str = "") -> None:
        self.reason = reason
        self.problem = problem
        self.remedy = remedy
        super().__init__(problem)


class TruncatedError(FormatError):
    """A header that promises more frames than the file holds."""

    def __init__(self, promised: int, present: int, rate_hz: int) -> None:
        super().__init__(
            Reason.TRUNCATED,
            f"cut short: {present / rate_hz:.2f} s of the {promised / rate_hz:.2f} s "
            "its header promises are there",
            "copy it again from where it was recorded",
        )


@dataclass(frozen=True, kw_only=True, slots=True)
class Layout:
    """A file's header in plain data, for every format alike.

    `sound` are the (offset, length) ranges in bytes, in order, whose bytes are the sound and
    nothing else; with `in_pages` they hold Ogg pages, whose bodies are the sound. `id3` are the
    bytes of an ID3 chunk and `text` tags by the file's own names; where a library finds the tags
    by itself both are empty.
    """

    container: str
    codec: str
    rate_hz: int
    depth_bits: int | None
    channels: int
    frames: int
    sound: tuple[tuple[int, int], ...]
    in_pages: bool = False
    id3: bytes = b""
    text: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    broadcast: BroadcastInfo | None = None
    ixml: IxmlInfo | None = None
    cues: tuple[FileCue, ...] = ()
    warnings: tuple[str, ...] = ()
