"""Tables of takes, punch-ins, comps and votes."""

from __future__ import annotations

from sqlalchemy import Index, UniqueConstraint, text
from sqlalchemy.orm import Mapped, mapped_column

from logbook.store.models.base import (
    Base,
    Listed,
    Revised,
    above,
    at_least,
    named,
    one_of,
    optional_text,
    owner,
    refers,
)


class TakeRow(Listed, Revised, Base):
    """One recorded pass; its number is unique in its part and session, also without one."""

    __tablename__ = "take"
    part_id: Mapped[int] = owner("part")
    session_id: Mapped[int | None] = refers("session")
    number: Mapped[int]
    result: Mapped[str] = optional_text()
    bars: Mapped[str] = optional_text()
    clock: Mapped[str] = optional_text()
    notes: Mapped[str] = optional_text()
    __table_args__ = (
        Index(
            "uq_take_part_id_session_id_number",
            "part_id",
            "session_id",
            "number",
            unique=True,
            sqlite_where=text("session_id IS NOT NULL"),
            postgresql_where=text("session_id IS NOT NULL"),
        ),
        Index(
            "uq_take_part_id_number",
            "part_id",
            "number",
            unique=True,
            sqlite_where=text("session_id IS NULL"),
            postgresql_where=text("session_id IS NULL"),
        ),
        at_least("number"),
        one_of("result", "", "keeper", "complete", "incomplete", "false start", "reject"),
    )


class PunchInRow(Listed, Base):
    """Bars of a take recorded over."""

    __tablename__ = "punch_in"
    take_id: Mapped[int] = owner("take")
    bars: Mapped[str]
    number: Mapped[int] = mapped_column(default=2)
    why: Mapped[str] = optional_text()
    __table_args__ = (named("bars"), above("number"))


class CompRow(Listed, Revised, Base):
    """An ordered list of pieces; at most one comp of a part is the final one."""

    __tablename__ = "comp"
    part_id: Mapped[int] = owner("part")
    name: Mapped[str] = mapped_column(default="comp")
    final: Mapped[bool] = mapped_column(default=True)
    notes: Mapped[str] = optional_text()
    __table_args__ = (
        UniqueConstraint("part_id", "name"),
        Index(
            "uq_comp_part_id_final",
            "part_id",
            unique=True,
            sqlite_where=text("final"),
            postgresql_where=text("final"),
        ),
        named("name"),
    )


class VoteRow(Listed, Base):
    """What somebody thought of a take over some bars; the take is named by number, as in a comp."""

    __tablename__ = "vote"
    part_id: Mapped[int] = owner("part")
    bars: Mapped[str]
    take: Mapped[int]
    rating: Mapped[str]
    person_id: Mapped[int | None] = refers("person")
    session_id: Mapped[int | None] = refers("session")
    phrase: Mapped[str] = optional_text()
    notes: Mapped[str] = optional_text()
    __table_args__ = (
        named("bars"),
        at_least("take"),
        one_of("rating", "best", "good", "fair", "poor"),
    )


class CompPieceRow(Listed, Base):
    """One edit decision.

    The take is named by number, not by a foreign key: the log must be able to hold what
    somebody wrote down about a take that nobody logged, so that `check` can say so.
    """

    __tablename__ = "comp_piece"
    comp_id: Mapped[int] = owner("comp")
    bars: Mapped[str]
    take: Mapped[int]
    source: Mapped[str]
    session_id: Mapped[int | None] = refers("session")
    from_version: Mapped[str] = optional_text()
    from_part: Mapped[str] = optional_text()
    from_file: Mapped[str] = optional_text()
    crossfade_ms: Mapped[float | None]
    notes: Mapped[str] = optional_text()
    __table_args__ = (named("bars"), at_least("take"), at_least("crossfade_ms"))
