"""Audio files as the importer read them, and what listening found in them."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Cue:
    """A labelled place in a file, in frames from its start."""

    frame: int
    label: str = ""


@dataclass(frozen=True, kw_only=True)
class Measurement:
    """What listening found in one file.

    Tempo in beats a minute of the version's beat unit; drift in per cent over the take; tuning
    in cents from the version's A4; loudness in LUFS and true peak in dBTP (ITU-R BS.1770-4);
    silence in seconds. None where nothing could be said.
    """

    tempo_bpm: float | None = None
    tempo_drift_percent: float | None = None
    tempo_reading: str = ""
    tuning_cents: float | None = None
    loudness_lufs: float | None = None
    true_peak_dbtp: float | None = None
    clipped_samples: int | None = None
    silence_start_s: float | None = None
    silence_end_s: float | None = None
    measured_at: str = ""


@dataclass(frozen=True, kw_only=True)
class HeardDouble:
    """What listening found when it held another file against this one.

    `other` is the digest of the other file's sound; `kind` what that file is to this one: one of
    `HEARD_KINDS`. `offset_s` is the other's time minus this one's at the best alignment, in
    seconds; `residual_db` what is left of the other when this one is taken away, in decibels of
    the other. The quartiles of how far apart the same notes begin are in milliseconds, None unless
    it is a second performance. `heard_at` is when it was listened to.
    """

    other: str
    kind: str
    offset_s: float = 0.0
    residual_db: float = 0.0
    median_ms: float | None = None
    lower_quartile_ms: float | None = None
    upper_quartile_ms: float | None = None
    heard_at: str = ""


SAME_KINDS = ("identical", "delayed", "processed")
"""The kinds that are the same recording."""

HEARD_KINDS = (*SAME_KINDS, "second performance", "unrelated")
"""What a file can be to another one."""


@dataclass(frozen=True, kw_only=True)
class AudioFile:
    """One audio file, known by the digest of its sound, not by its path.

    `folder` is the folder that was imported (absolute) and `path` the file's place inside it
    (POSIX, relative, never upward). `frames` counts sample frames at `rate_hz`; `tags` are the
    file's own, normalised; `time_reference` is in frames since midnight (EBU Tech 3285).
    `modified` is the file's modification time in nanoseconds since the epoch, `size` bytes.
    `microphone` says which microphone or line of a take with several files it is.
    """

    path: str
    digest: str = ""
    folder: str = ""
    container: str = ""
    codec: str = ""
    rate_hz: int | None = None
    depth_bits: int | None = None
    channels: int | None = None
    frames: int | None = None
    size: int | None = None
    modified: int | None = None
    tags: tuple[tuple[str, str], ...] = ()
    description: str = ""
    originator: str = ""
    originated_at: str = ""
    time_reference: int | None = None
    loudness_lufs: float | None = None
    loudness_range_lu: float | None = None
    max_true_peak_dbtp: float | None = None
    ixml_take: str = ""
    ixml_note: str = ""
    ixml_circled: bool | None = None
    cues: tuple[Cue, ...] = ()
    microphone: str = ""
    notes: str = ""
    measurement: Measurement | None = None
    heard_doubles: tuple[HeardDouble, ...] = ()
