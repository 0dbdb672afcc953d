"""Tables of what brings a sound back and of what leaves the house, and of copies of files."""

from __future__ import annotations

from sqlalchemy import CheckConstraint
from sqlalchemy.orm import Mapped

from logbook.store.models.base import (
    Base,
    Listed,
    above,
    large,
    named,
    one_of,
    one_of_owners,
    optional_text,
    owner,
)

_ONE_OWNER = (
    "(CASE WHEN session_id IS NULL THEN 0 ELSE 1 END)"
    " + (CASE WHEN part_id IS NULL THEN 0 ELSE 1 END) = 1"
)


class DeliverableRow(Listed, Base):
    """Something to be handed over; `files` is a JSON list of paths."""

    __tablename__ = "deliverable"
    version_id: Mapped[int] = owner("version")
    kind: Mapped[str]
    mix: Mapped[str] = optional_text()
    rate_hz: Mapped[int | None] = large()
    depth_bits: Mapped[int | None]
    status: Mapped[str]
    delivered_to: Mapped[str] = optional_text()
    delivered_on: Mapped[str] = optional_text()
    files: Mapped[str] = optional_text()
    notes: Mapped[str] = optional_text()
    __table_args__ = (
        named("kind"),
        above("rate_hz"),
        above("depth_bits"),
        one_of("status", "wanted", "in work", "ready", "delivered", "not wanted"),
    )


class RecallRow(Listed, Base):
    """How a device stood for exactly one of a session or a part."""

    __tablename__ = "recall"
    session_id: Mapped[int | None] = one_of_owners("session")
    part_id: Mapped[int | None] = one_of_owners("part")
    device: Mapped[str]
    settings: Mapped[str] = optional_text()
    used_for: Mapped[str] = optional_text()
    notes: Mapped[str] = optional_text()
    __table_args__ = (named("device"), CheckConstraint(_ONE_OWNER, name="one_owner"))


class PhotographRow(Listed, Base):
    """A photograph of exactly one of a session or a part."""

    __tablename__ = "photograph"
    session_id: Mapped[int | None] = one_of_owners("session")
    part_id: Mapped[int | None] = one_of_owners("part")
    path: Mapped[str]
    device: Mapped[str] = optional_text()
    caption: Mapped[str] = optional_text()
    digest: Mapped[str] = optional_text()
    __table_args__ = (named("path"), CheckConstraint(_ONE_OWNER, name="one_owner"))


class FileCopyRow(Listed, Base):
    """Where a file also lies, and when that was verified."""

    __tablename__ = "file_copy"
    audio_file_id: Mapped[int] = owner("audio_file")
    medium: Mapped[str] = optional_text()
    place: Mapped[str]
    digest: Mapped[str] = optional_text()
    verified_at: Mapped[str] = optional_text()
    __table_args__ = (named("place"),)
