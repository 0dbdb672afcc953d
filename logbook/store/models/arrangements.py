"""Tables of arrangements and set lists."""

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
    one_of,
    one_of_owners,
    optional_text,
    owner,
    refers,
)


class ArrangementRow(Listed, Revised, Base):
    """A live or lesson plan made from a version."""

    __tablename__ = "arrangement"
    version_id: Mapped[int] = owner("version")
    name: Mapped[str]
    purpose: Mapped[str] = mapped_column(default="live")
    key: Mapped[str] = optional_text()
    bpm: Mapped[float | None]
    unit: Mapped[str] = optional_text()
    count_in_bars: Mapped[int] = mapped_column(default=1)
    notes: Mapped[str] = optional_text()
    __table_args__ = (
        UniqueConstraint("version_id", "name"),
        named("name"),
        above("bpm"),
        at_least("count_in_bars"),
    )


class ArrangedSectionRow(Listed, Base):
    """One section of an arranged form."""

    __tablename__ = "arranged_section"
    arrangement_id: Mapped[int] = owner("arrangement")
    name: Mapped[str]
    source: Mapped[str] = optional_text()
    bars: Mapped[int | None]
    times: Mapped[int] = mapped_column(default=1)
    vamp: Mapped[bool] = mapped_column(default=False)
    bpm: Mapped[float | None]
    unit: Mapped[str] = optional_text()
    ramp: Mapped[bool] = mapped_column(default=False)
    cue: Mapped[str] = optional_text()
    moves: Mapped[str] = optional_text()
    notes: Mapped[str] = optional_text()
    __table_args__ = (named("name"), above("bars"), above("times"), above("bpm"))


class ArrangedPartRow(Listed, Base):
    """Who plays what in an arrangement; a NULL capo is the one on the record."""

    __tablename__ = "arranged_part"
    arrangement_id: Mapped[int] = owner("arrangement")
    part_id: Mapped[int] = owner("part")
    player_id: Mapped[int | None] = refers("person")
    instrument_id: Mapped[int | None] = refers("instrument")
    tuning_id: Mapped[int | None] = refers("tuning")
    capo: Mapped[str | None]
    way: Mapped[str] = optional_text()
    left_out: Mapped[bool] = mapped_column(default=False)
    written_for: Mapped[str] = optional_text()
    notes: Mapped[str] = optional_text()
    __table_args__ = (
        UniqueConstraint("arrangement_id", "part_id"),
        one_of("way", "", "same shapes", "retuned", "new shapes"),
        one_of("written_for", "", "Bb", "Eb", "F", "octave"),
    )


class SetListRow(Revised, Base):
    """Arrangements in the order they are played."""

    __tablename__ = "setlist"
    name: Mapped[str]
    date: Mapped[str] = optional_text()
    place: Mapped[str] = optional_text()
    notes: Mapped[str] = optional_text()
    __table_args__ = (UniqueConstraint("name"), named("name"))


class SetListEntryRow(Listed, Base):
    """One song of a set; a NULL arrangement plays the version as recorded."""

    __tablename__ = "setlist_entry"
    setlist_id: Mapped[int] = owner("setlist")
    version_id: Mapped[int] = owner("version")
    arrangement_id: Mapped[int | None] = one_of_owners("arrangement")
    place: Mapped[str] = optional_text()
    with_next: Mapped[bool] = mapped_column(default=False)
    notes: Mapped[str] = optional_text()
    __table_args__ = (one_of("place", "", "opener", "closer"),)
