"""What is known of an audio file, as frozen plain data.

A frame is one sample of every channel; lengths are counted in frames and never in seconds, so
that nothing is lost: the duration is the exact fraction frames / rate.

Broadcast fields follow EBU Tech 3285, version 2 (Specification of the Broadcast Wave Format).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path


@dataclass(frozen=True, kw_only=True, slots=True)
class BroadcastInfo:
    """The broadcast extension (`bext`) chunk of a WAV file.

    `time_reference_samples` counts samples from midnight to the first sample of the file.
    The five loudness figures exist from version 2 on and are None where they were not set.
    """

    version: int
    description: str
    originator: str
    originator_reference: str
    date: str
    time: str
    time_reference_samples: int
    coding_history: str = ""
    umid_hex: str = ""
    loudness_lufs: float | None = None
    loudness_range_lu: float | None = None
    max_true_peak_dbtp: float | None = None
    max_momentary_lufs: float | None = None
    max_short_term_lufs: float | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class IxmlInfo:
    """What a recorder wrote in the iXML chunk; None where it is silent, `tracks` by channel."""

    project: str | None = None
    scene: str | None = None
    take: str | None = None
    tape: str | None = None
    note: str | None = None
    circled: bool | None = None
    tracks: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True, slots=True)
class FileCue:
    """A marker: its place in frames from the start of the file, and its label if it has one."""

    position_frames: int
    label: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class AudioInfo:
    """One audio file as it lies on the disk.

    `container` is one of WAV, RF64, AIFF, AIFF-C, FLAC, MP3, M4A, Ogg, or of those that
    `other_forms` reads; `codec` one of PCM,
    float PCM, A-law, mu-law, FLAC, MP3, AAC, ALAC, Vorbis, Opus (or the container's own name for
    another one). `depth_bits` is None for a codec that has no depth. `frames` counts what is
    heard: without the delay and padding an encoder adds. `digest` is None if none was asked for.
    `tags` uses one set of names for every format (see `logbook.audio.tags`), `raw_tags` the
    file's own names.
    """

    path: Path
    container: str
    codec: str
    rate_hz: int
    depth_bits: int | None
    channels: int
    frames: int
    size_bytes: int
    modified_ns: int
    digest: str | None = None
    tags: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    raw_tags: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    broadcast: BroadcastInfo | None = None
    cues: tuple[FileCue, ...] = ()
    ixml: IxmlInfo | None = None
    warnings: tuple[str, ...] = ()

    @property
    def duration_s(self) -> Fraction:
        """Length in seconds, exact."""
        return Fraction(self.frames, self.rate_hz)

    @property
    def lossless(self) -> bool:
        """Whether the samples are exactly those that were recorded."""
        return self.codec in ("PCM", "float PCM", "FLAC", "ALAC", "WavPack")
