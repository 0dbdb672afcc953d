"""Tables of parts and how they are played: voicings, patterns, chart, doubles, overdubs."""

from __future__ import annotations

from sqlalchemy import CheckConstraint, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from logbook.store.models.base import (
    Base,
    Listed,
    Revised,
    at_least,
    named,
    one_of,
    one_of_owners,
    optional_text,
    owner,
    refers,
)


class PartRow(Listed, Revised, Base):
    """Something played on a version by a player on an instrument."""

    __tablename__ = "part"
    version_id: Mapped[int] = owner("version")
    name: Mapped[str]
    player_id: Mapped[int | None] = refers("person")
    instrument_id: Mapped[int | None] = refers("instrument")
    tuning_id: Mapped[int | None] = refers("tuning")
    capo: Mapped[str] = optional_text()
    counted: Mapped[str] = mapped_column(default="nut")
    pitched: Mapped[str] = optional_text()
    shape_key: Mapped[str] = optional_text()
    picked: Mapped[str] = optional_text()
    technique: Mapped[str] = optional_text()
    aliases: Mapped[str] = optional_text()
    chain: Mapped[str] = optional_text()
    pan: Mapped[str] = optional_text()
    doubled: Mapped[str] = mapped_column(default="unknown")
    doubled_why: Mapped[str] = optional_text()
    heard: Mapped[bool | None]
    tacet: Mapped[str] = optional_text()
    notes: Mapped[str] = optional_text()
    __table_args__ = (
        UniqueConstraint("version_id", "name"),
        named("name"),
        one_of("counted", "nut", "capo"),
        one_of("picked", "", "pick", "fingers", "pick and fingers"),
        one_of("doubled", "doubled", "not doubled", "unknown"),
        CheckConstraint("substr(capo, 1, 1) <> '-'", name="capo_not_below_nut"),
    )


class TechniqueNoteRow(Listed, Base):
    """A remark on how something is played."""

    __tablename__ = "technique_note"
    part_id: Mapped[int] = owner("part")
    text: Mapped[str]
    bars: Mapped[str] = optional_text()
    __table_args__ = (named("text"),)


class VoicingRow(Listed, Revised, Base):
    """One chord as fingered."""

    __tablename__ = "voicing"
    part_id: Mapped[int] = owner("part")
    label: Mapped[str]
    frets: Mapped[str]
    pitches: Mapped[str] = optional_text()
    name: Mapped[str] = optional_text()
    counted: Mapped[str] = optional_text()
    fingers: Mapped[str] = optional_text()
    avoid: Mapped[str] = optional_text()
    ring: Mapped[str] = optional_text()
    ornaments: Mapped[str] = optional_text()
    notes: Mapped[str] = optional_text()
    __table_args__ = (
        UniqueConstraint("part_id", "label"),
        named("label"),
        one_of("counted", "", "nut", "capo"),
    )


class MelodyRow(Listed, Base):
    """A phrase of a part's melody, where it begins."""

    __tablename__ = "melody"
    part_id: Mapped[int] = owner("part")
    bar: Mapped[int]
    beat: Mapped[str] = mapped_column(default="1")
    tune: Mapped[str]
    notes: Mapped[str] = optional_text()
    __table_args__ = (
        UniqueConstraint("part_id", "bar", "beat"),
        at_least("bar"),
        named("beat"),
        named("tune"),
    )


class PatternRow(Listed, Revised, Base):
    """What the picking hand does in a bar or two."""

    __tablename__ = "pattern"
    part_id: Mapped[int] = owner("part")
    label: Mapped[str]
    grid: Mapped[str]
    line: Mapped[str]
    feel: Mapped[str] = mapped_column(default="straight")
    notes: Mapped[str] = optional_text()
    __table_args__ = (
        UniqueConstraint("part_id", "label"),
        named("label"),
        named("grid"),
        named("line"),
        CheckConstraint("feel = 'straight' OR substr(feel, 1, 5) = 'swing'", name="feel_known"),
    )


class ChartRow(Listed, Base):
    """The voicing (NULL: a rest) and pattern that start at a bar and beat."""

    __tablename__ = "chart"
    part_id: Mapped[int] = owner("part")
    bar: Mapped[int]
    beat: Mapped[str] = mapped_column(default="1")
    voicing_id: Mapped[int | None] = refers("voicing")
    pattern_id: Mapped[int | None] = refers("pattern")
    __table_args__ = (
        UniqueConstraint("part_id", "bar", "beat"),
        at_least("bar"),
        named("beat"),
    )


class DoubleRow(Listed, Base):
    """Another part of the version (`other_id`) that doubles this one."""

    __tablename__ = "double"
    part_id: Mapped[int] = owner("part")
    other_id: Mapped[int] = owner("part")
    pan: Mapped[str] = optional_text()
    notes: Mapped[str] = optional_text()
    __table_args__ = (
        UniqueConstraint("part_id", "other_id"),
        CheckConstraint("part_id <> other_id", name="not_itself"),
    )


class OverdubRow(Listed, Base):
    """The part was added on top, of `over_id` if said."""

    __tablename__ = "overdub"
    part_id: Mapped[int] = owner("part")
    over_id: Mapped[int | None] = one_of_owners("part")
    session_id: Mapped[int | None] = refers("session")
    bars: Mapped[str] = optional_text()
    notes: Mapped[str] = optional_text()


class ReusedRow(Listed, Base):
    """What was said about bars that stand again."""

    __tablename__ = "reused"
    part_id: Mapped[int] = owner("part")
    source: Mapped[str]
    bars: Mapped[str]
    notes: Mapped[str] = optional_text()
    __table_args__ = (named("source"), named("bars"))
