"""Tables of the paper work: input lists and working hours."""

from __future__ import annotations

from sqlalchemy.orm import Mapped

from logbook.store.models.base import Base, Listed, must_refer, named, optional_text, owner


class InputChannelRow(Listed, Base):
    """What comes in on a channel of a session; nothing keeps one channel from being named twice."""

    __tablename__ = "input_channel"
    session_id: Mapped[int] = owner("session")
    channel: Mapped[str]
    source: Mapped[str]
    microphone: Mapped[str] = optional_text()
    preamp: Mapped[str] = optional_text()
    pad: Mapped[str] = optional_text()
    placed: Mapped[str] = optional_text()
    track: Mapped[str] = optional_text()
    notes: Mapped[str] = optional_text()
    __table_args__ = (named("channel"), named("source"))


class HoursRow(Listed, Base):
    """When somebody worked: a day and clock times as text."""

    __tablename__ = "hours"
    session_id: Mapped[int] = owner("session")
    person_id: Mapped[int] = must_refer("person")
    started_at: Mapped[str]
    ended_at: Mapped[str] = optional_text()
    breaks: Mapped[str] = optional_text()
    notes: Mapped[str] = optional_text()
    __table_args__ = (named("started_at"),)
