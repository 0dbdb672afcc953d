"""Tables of audio files, their cues, and what listening found in them."""

from __future__ import annotations

from sqlalchemy import CheckConstraint, Index, UniqueConstraint, text
from sqlalchemy.orm import Mapped

from logbook.store.models.base import (
    Base,
    Listed,
    Revised,
    above,
    at_least,
    large,
    named,
    one_of,
    one_of_owners,
    optional_text,
    owner,
)


class AudioFileRow(Listed, Revised, Base):
    """One audio file; it hangs on at most one of a take, a part or a version.

    `tags` is a JSON list of pairs, `also` one of what it belongs to too, by names. A place
    on the disk (folder and path) is one file.
    """

    __tablename__ = "audio_file"
    take_id: Mapped[int | None] = one_of_owners("take")
    part_id: Mapped[int | None] = one_of_owners("part")
    version_id: Mapped[int | None] = one_of_owners("version")
    path: Mapped[str]
    digest: Mapped[str] = optional_text()
    folder: Mapped[str] = optional_text()
    container: Mapped[str] = optional_text()
    codec: Mapped[str] = optional_text()
    rate_hz: Mapped[int | None] = large()
    depth_bits: Mapped[int | None]
    channels: Mapped[int | None]
    frames: Mapped[int | None] = large()
    size: Mapped[int | None] = large()
    modified: Mapped[int | None] = large()
    tags: Mapped[str] = optional_text()
    description: Mapped[str] = optional_text()
    originator: Mapped[str] = optional_text()
    originated_at: Mapped[str] = optional_text()
    time_reference: Mapped[int | None] = large()
    loudness_lufs: Mapped[float | None]
    loudness_range_lu: Mapped[float | None]
    max_true_peak_dbtp: Mapped[float | None]
    ixml_take: Mapped[str] = optional_text()
    ixml_note: Mapped[str] = optional_text()
    ixml_scene: Mapped[str] = optional_text()
    ixml_tracks: Mapped[str] = optional_text()
    ixml_circled: Mapped[bool | None]
    microphone: Mapped[str] = optional_text()
    also: Mapped[str] = optional_text()
    notes: Mapped[str] = optional_text()
    __table_args__ = (
        Index(
            "uq_audio_file_folder_path",
            "folder",
            "path",
            unique=True,
            sqlite_where=text("folder <> ''"),
            postgresql_where=text("folder <> ''"),
        ),
        Index("ix_audio_file_digest", "digest"),
        Index("ix_audio_file_path", "path"),
        CheckConstraint(
            "(CASE WHEN take_id IS NULL THEN 0 ELSE 1 END)"
            " + (CASE WHEN part_id IS NULL THEN 0 ELSE 1 END)"
            " + (CASE WHEN version_id IS NULL THEN 0 ELSE 1 END) <= 1",
            name="one_owner",
        ),
        named("path"),
        at_least("rate_hz"),
        at_least("depth_bits"),
        at_least("channels"),
        at_least("frames"),
        at_least("size"),
    )


class CueRow(Listed, Base):
    """A labelled place in a file."""

    __tablename__ = "cue"
    audio_file_id: Mapped[int] = owner("audio_file")
    frame: Mapped[int | None] = large()
    label: Mapped[str] = optional_text()
    __table_args__ = (
        at_least("frame"),
        CheckConstraint("frame IS NOT NULL", name="frame_said"),
    )


class MeasurementRow(Base):
    """What listening found in a file, one a file."""

    __tablename__ = "measurement"
    audio_file_id: Mapped[int] = owner("audio_file")
    tempo_bpm: Mapped[float | None]
    tempo_drift_percent: Mapped[float | None]
    tempo_reading: Mapped[str] = optional_text()
    tempo_bars: Mapped[str] = optional_text()
    tuning_cents: Mapped[float | None]
    tuning_error_cents: Mapped[float | None]
    tuning_from_cents: Mapped[float | None]
    tuning_to_cents: Mapped[float | None]
    tuning_apart_cents: Mapped[float | None]
    tuning_apart: Mapped[str] = optional_text()
    click_late_ms: Mapped[float | None]
    click_error_ms: Mapped[float | None]
    click_by: Mapped[str] = optional_text()
    loudness_lufs: Mapped[float | None]
    true_peak_dbtp: Mapped[float | None]
    clipped_samples: Mapped[int | None] = large()
    silence_start_s: Mapped[float | None]
    silence_end_s: Mapped[float | None]
    measured_at: Mapped[str] = optional_text()
    __table_args__ = (
        UniqueConstraint("audio_file_id"),
        above("tempo_bpm"),
        at_least("clipped_samples"),
    )


class HeardDoubleRow(Listed, Base):
    """What listening found when it compared another file, known by its digest, with this one."""

    __tablename__ = "heard_double"
    audio_file_id: Mapped[int] = owner("audio_file")
    other: Mapped[str]
    kind: Mapped[str]
    offset_s: Mapped[float]
    residual_db: Mapped[float]
    median_ms: Mapped[float | None]
    lower_quartile_ms: Mapped[float | None]
    upper_quartile_ms: Mapped[float | None]
    heard_at: Mapped[str] = optional_text()
    __table_args__ = (
        Index("uq_heard_double_audio_file_id_other", "audio_file_id", "other", unique=True),
        named("other"),
        one_of("kind", "identical", "delayed", "processed", "second performance", "unrelated"),
        at_least("median_ms"),
        at_least("lower_quartile_ms"),
        at_least("upper_quartile_ms"),
    )


class HeardChordRow(Listed, Base):
    """A chord that listening heard as a different one from the one logged."""

    __tablename__ = "heard_chord"
    audio_file_id: Mapped[int] = owner("audio_file")
    place: Mapped[str]
    logged: Mapped[str] = optional_text()
    heard: Mapped[str] = optional_text()
    notes: Mapped[str] = optional_text()
    sure: Mapped[float]
    basis: Mapped[str] = optional_text()
    heard_at: Mapped[str] = optional_text()
    __table_args__ = (
        Index("uq_heard_chord_audio_file_id_place", "audio_file_id", "place", unique=True),
        named("place"),
    )
