"""Tables of people, what they did, and their shares."""

from __future__ import annotations

from sqlalchemy import CheckConstraint, UniqueConstraint
from sqlalchemy.orm import Mapped

from logbook.store.models.base import (
    Base,
    Listed,
    Revised,
    above,
    must_refer,
    named,
    one_of,
    one_of_owners,
    optional_text,
    owner,
)


class PersonRow(Revised, Base):
    """Somebody the log names; `other_names` is a JSON list."""

    __tablename__ = "person"
    name: Mapped[str]
    full_name: Mapped[str] = optional_text()
    credited_as: Mapped[str] = optional_text()
    kind: Mapped[str] = optional_text()
    other_names: Mapped[str] = optional_text()
    isni: Mapped[str] = optional_text()
    ipi: Mapped[str] = optional_text()
    low: Mapped[str] = optional_text()
    high: Mapped[str] = optional_text()
    notes: Mapped[str] = optional_text()
    __table_args__ = (UniqueConstraint("name"), named("name"))


class RoleRow(Listed, Base):
    """What a person did on exactly one of a song, a version, a session or a part."""

    __tablename__ = "role"
    song_id: Mapped[int | None] = one_of_owners("song")
    version_id: Mapped[int | None] = one_of_owners("version")
    session_id: Mapped[int | None] = one_of_owners("session")
    part_id: Mapped[int | None] = one_of_owners("part")
    person_id: Mapped[int] = must_refer("person")
    role: Mapped[str]
    instrument: Mapped[str] = optional_text()
    billing: Mapped[str] = optional_text()
    notes: Mapped[str] = optional_text()
    __table_args__ = (
        named("role"),
        CheckConstraint(
            "(CASE WHEN song_id IS NULL THEN 0 ELSE 1 END)"
            " + (CASE WHEN version_id IS NULL THEN 0 ELSE 1 END)"
            " + (CASE WHEN session_id IS NULL THEN 0 ELSE 1 END)"
            " + (CASE WHEN part_id IS NULL THEN 0 ELSE 1 END) = 1",
            name="one_owner",
        ),
    )


class ShareRow(Listed, Base):
    """A share of a song, exact: numerator over denominator, from 0 to 1."""

    __tablename__ = "share"
    song_id: Mapped[int] = owner("song")
    person_id: Mapped[int] = must_refer("person")
    side: Mapped[str]
    numerator: Mapped[int]
    denominator: Mapped[int]
    agreed_on: Mapped[str] = optional_text()
    agreed_by: Mapped[str] = optional_text()
    notes: Mapped[str] = optional_text()
    __table_args__ = (
        UniqueConstraint("song_id", "person_id", "side"),
        one_of("side", "writer", "publisher"),
        above("denominator"),
        CheckConstraint("numerator >= 0 AND numerator <= denominator", name="part_of_one"),
    )
