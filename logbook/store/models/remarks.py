"""The table of lines that stayed as remarks."""

from __future__ import annotations

from sqlalchemy import UniqueConstraint
from sqlalchemy.orm import Mapped

from logbook.store.models.base import Base, Revised, named, said


class RemarkRow(Revised, Base):
    """A notebook line that could not be read."""

    __tablename__ = "remark"
    name: Mapped[str]
    text: Mapped[str]
    why: Mapped[str] = said()
    place: Mapped[str] = said()
    written_at: Mapped[str] = said()
    settled: Mapped[str] = said()
    __table_args__ = (UniqueConstraint("name"), named("name"), named("text"))
