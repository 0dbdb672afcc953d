"""Tables of songs, versions, form, meters and tempos."""

from __future__ import annotations

from sqlalchemy import CheckConstraint, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from logbook.store.models.base import (
    Base,
    Listed,
    Revised,
    above,
    at_least,
    named,
    optional_text,
    owner,
)


class SongRow(Revised, Base):
    """The composition."""

    __tablename__ = "song"
    title: Mapped[str]
    iswc: Mapped[str] = optional_text()
    notes: Mapped[str] = optional_text()
    __table_args__ = (UniqueConstraint("title"), named("title"))


class VersionRow(Listed, Revised, Base):
    """One recorded or performed form of a song."""

    __tablename__ = "version"
    song_id: Mapped[int] = owner("song")
    name: Mapped[str]
    key: Mapped[str] = optional_text()
    pickup_beats: Mapped[str] = optional_text()
    sample_rate_hz: Mapped[int | None]
    isrc: Mapped[str] = optional_text()
    date: Mapped[str] = optional_text()
    artist: Mapped[str] = optional_text()
    language: Mapped[str] = optional_text()
    genre: Mapped[str] = optional_text()
    explicit: Mapped[str] = optional_text()
    published: Mapped[str] = optional_text()
    phonogram: Mapped[str] = optional_text()
    bar_one_at: Mapped[str] = optional_text()
    a4_hz: Mapped[float] = mapped_column(default=440.0)
    melody_low: Mapped[str] = optional_text()
    melody_high: Mapped[str] = optional_text()
    notes: Mapped[str] = optional_text()
    __table_args__ = (
        UniqueConstraint("song_id", "name"),
        named("name"),
        above("sample_rate_hz"),
        above("a4_hz"),
    )


class FormRow(Listed, Base):
    """One section of a version's form."""

    __tablename__ = "form"
    version_id: Mapped[int] = owner("version")
    name: Mapped[str]
    start: Mapped[int]
    bars: Mapped[int]
    notes: Mapped[str] = optional_text()
    __table_args__ = (named("name"), above("bars"))


class MeterChangeRow(Listed, Base):
    """A meter that holds from a bar on."""

    __tablename__ = "meter_change"
    version_id: Mapped[int] = owner("version")
    bar: Mapped[int]
    meter: Mapped[str]
    __table_args__ = (UniqueConstraint("version_id", "bar"), at_least("bar"), named("meter"))


class TempoChangeRow(Listed, Base):
    """A tempo that holds from a bar and beat on."""

    __tablename__ = "tempo_change"
    version_id: Mapped[int] = owner("version")
    bar: Mapped[int]
    beat: Mapped[str] = mapped_column(default="1")
    bpm: Mapped[float]
    unit: Mapped[str] = optional_text()
    ramp_bpm: Mapped[float | None]
    ramp_unit: Mapped[str] = optional_text()
    ramp_end: Mapped[str] = optional_text()
    free_s: Mapped[float | None]
    __table_args__ = (
        UniqueConstraint("version_id", "bar", "beat"),
        at_least("bar"),
        named("beat"),
        above("bpm"),
        above("ramp_bpm"),
        CheckConstraint("ramp_bpm IS NULL OR ramp_end <> ''", name="ramp_ends"),
    )


class LyricRow(Listed, Base):
    """A line of a version's words, where it begins."""

    __tablename__ = "lyric"
    version_id: Mapped[int] = owner("version")
    bar: Mapped[int]
    beat: Mapped[str] = mapped_column(default="1")
    text: Mapped[str]
    notes: Mapped[str] = optional_text()
    __table_args__ = (
        UniqueConstraint("version_id", "bar", "beat"),
        at_least("bar"),
        named("beat"),
        named("text"),
    )
