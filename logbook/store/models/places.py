"""Tables of tunings, instruments, sessions and projects."""

from __future__ import annotations

from sqlalchemy import UniqueConstraint
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
    refers,
)


class TuningRow(Revised, Base):
    """Each string's open pitch, low to high as strung."""

    __tablename__ = "tuning"
    name: Mapped[str]
    strings: Mapped[str]
    a4_hz: Mapped[float] = mapped_column(default=440.0)
    offset_cents: Mapped[float] = mapped_column(default=0.0)
    notes: Mapped[str] = optional_text()
    __table_args__ = (UniqueConstraint("name"), named("name"), named("strings"), above("a4_hz"))


class InstrumentRow(Revised, Base):
    """One physical instrument."""

    __tablename__ = "instrument"
    name: Mapped[str]
    kind: Mapped[str] = optional_text()
    owner: Mapped[str] = optional_text()
    strings: Mapped[int | None]
    scale_mm: Mapped[float | None]
    frets: Mapped[int | None]
    tuning_id: Mapped[int | None] = refers("tuning")
    gauge: Mapped[str] = optional_text()
    transposition: Mapped[int | None]
    notes: Mapped[str] = optional_text()
    __table_args__ = (
        UniqueConstraint("name"),
        named("name"),
        above("strings"),
        above("scale_mm"),
        at_least("frets"),
    )


class SessionRow(Revised, Base):
    """A day or block of work at a place."""

    __tablename__ = "session"
    name: Mapped[str]
    date: Mapped[str] = optional_text()
    end_date: Mapped[str] = optional_text()
    started_at: Mapped[str] = optional_text()
    ended_at: Mapped[str] = optional_text()
    place: Mapped[str] = optional_text()
    gear: Mapped[str] = optional_text()
    file_pattern: Mapped[str] = optional_text()
    notes: Mapped[str] = optional_text()
    __table_args__ = (UniqueConstraint("name"), named("name"))


class ProjectRow(Revised, Base):
    """A release or other body of work."""

    __tablename__ = "project"
    title: Mapped[str]
    barcode: Mapped[str] = optional_text()
    date: Mapped[str] = optional_text()
    artist: Mapped[str] = optional_text()
    genre: Mapped[str] = optional_text()
    phonogram: Mapped[str] = optional_text()
    copyright: Mapped[str] = optional_text()
    notes: Mapped[str] = optional_text()
    __table_args__ = (UniqueConstraint("title"), named("title"))


class TrackRow(Listed, Base):
    """A version's place on a project."""

    __tablename__ = "project_track"
    project_id: Mapped[int] = owner("project")
    version_id: Mapped[int] = owner("version")
    __table_args__ = (UniqueConstraint("project_id", "version_id"),)
