"""Audio files as the importer read them, and what listening measured on them."""

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
