"""The table of lines that stayed as remarks."""

from __future__ import annotations

from sqlalchemy import UniqueConstraint
from sqlalchemy.orm import Mapped

from logbook.store.models.base import Base, Revised, named, optional_text


class RemarkRow(Revised, Base):
    """A notebook line that could not be read."""

    __tablename__ = "remark"
    name: Mapped[str]
    text: Mapped[str]
    why: Mapped[str] = optional_text()
    place: Mapped[str] = optional_text()
    written_at: Mapped[str] = optional_text()
    settled: Mapped[str] = optional_text()
    __table_args__ = (UniqueConstraint("name"), named("name"), named("text"))
