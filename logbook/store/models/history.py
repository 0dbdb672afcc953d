"""Tables of what was done to the log, and of where each person is working."""

from __future__ import annotations

from sqlalchemy import ForeignKey, Index, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from logbook.store.models.base import Base, named, one_of, optional_text, owner


class CommandRow(Base):
    """One transaction: who did it, when (ISO 8601, UTC) and by which command.

    `undone_by` is the command that took it back; `undoes` says "undo" of a command that took
    others back, and "redo" of one that took an undo back.
    """

    __tablename__ = "command"
    at: Mapped[str]
    who: Mapped[str]
    command: Mapped[str]
    undoes: Mapped[str] = optional_text()
    undone_by: Mapped[int | None] = mapped_column(
        ForeignKey("command.id", ondelete="RESTRICT"), index=True
    )
    __table_args__ = (named("at"), one_of("undoes", "", "undo", "redo"))


class ChangeRow(Base):
    """One row added, changed or removed by a command.

    `before` and `after` are JSON objects: the whole row when it came or went, the changed
    columns otherwise. `place` is the way down to the row ("song 3/version 5/part 8/take 40"),
    `song_id` the song it belongs to; neither is a foreign key, for history outlives its rows.
    """

    __tablename__ = "change"
    command_id: Mapped[int] = owner("command")
    action: Mapped[str]
    kind: Mapped[str]
    row_id: Mapped[int]
    label: Mapped[str] = optional_text()
    place: Mapped[str] = optional_text()
    song_id: Mapped[int | None]
    before: Mapped[str | None]
    after: Mapped[str | None]
    __table_args__ = (
        one_of("action", "added", "changed", "removed"),
        Index("ix_change_kind_row_id", "kind", "row_id"),
        Index("ix_change_song_id", "song_id"),
    )


class HereRow(Base):
    """Where one person is working at one terminal: session, version and part of the next take.

    Rows by number and by name: what went may come back with another number.
    """

    __tablename__ = "here"
    who: Mapped[str]
    terminal: Mapped[str] = optional_text()
    session_id: Mapped[int | None] = mapped_column(ForeignKey("session.id", ondelete="SET NULL"))
    version_id: Mapped[int | None] = mapped_column(ForeignKey("version.id", ondelete="SET NULL"))
    part_id: Mapped[int | None] = mapped_column(ForeignKey("part.id", ondelete="SET NULL"))
    session: Mapped[str] = optional_text()
    song: Mapped[str] = optional_text()
    version: Mapped[str] = optional_text()
    part: Mapped[str] = optional_text()
    __table_args__ = (UniqueConstraint("who", "terminal"), named("who"))


class CheckedRow(Base):
    """What was found in a song by these rules; gone as soon as anything in it changes."""

    __tablename__ = "checked"
    song_id: Mapped[int] = owner("song")
    rules: Mapped[str]
    findings: Mapped[str] = optional_text()
    __table_args__ = (UniqueConstraint("song_id"),)
