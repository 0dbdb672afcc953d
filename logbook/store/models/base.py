"""What all tables share: an integer id, names for constraints, a place in the owner's list.

Conventions
-----------
Only Integer, Float, Text and Boolean columns, dates as ISO text and fractions as two integers,
so that one plain SELECT reads the same on SQLite and PostgreSQL. Empty text is "not said";
NULL stands where the record has None. Rows that belong to another row go with it (CASCADE);
people, instruments, tunings and sessions that are only referred to stay put (RESTRICT).
"""

from __future__ import annotations

from sqlalchemy import BigInteger, CheckConstraint, Float, ForeignKey, Integer, MetaData, Text
from sqlalchemy.orm import DeclarativeBase, Mapped, MappedColumn, mapped_column

NAMES = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s",
    "pk": "pk_%(table_name)s",
}


class Base(DeclarativeBase):
    """The declarative base; every table has an id that is never given out twice."""

    metadata = MetaData(naming_convention=NAMES)
    type_annotation_map = {str: Text(), float: Float()}  # noqa: RUF012 (SQLAlchemy reads it as it stands)
    id: Mapped[int] = mapped_column(Integer, primary_key=True, sort_order=-10)


class Listed:
    """A row that has a place in its owner's list, counted from 0."""

    position: Mapped[int] = mapped_column(default=0, sort_order=-5)


class Revised:
    """A row two people may edit at once: `revision` goes up with every change.

    The number is counted by `store.changing`, not by the ORM, so that a row that comes back
    by an undo does not start again at 1.
    """

    revision: Mapped[int] = mapped_column(default=1, sort_order=-6)
    __mapper_args__ = {"version_id_col": revision, "version_id_generator": False}  # noqa: RUF012


def optional_text() -> MappedColumn[str]:
    """Text that may stay empty."""
    return mapped_column(Text, default="", server_default="")


def large() -> MappedColumn[int | None]:
    """A whole number that may pass 2^31 (frames, bytes, nanoseconds), or NULL."""
    return mapped_column(BigInteger)


def owner(table: str) -> MappedColumn[int]:
    """The row this one belongs to and goes with."""
    return mapped_column(ForeignKey(f"{table}.id", ondelete="CASCADE"), index=True)


def one_of_owners(table: str) -> MappedColumn[int | None]:
    """The row this one belongs to, if it belongs to one of this kind."""
    return mapped_column(ForeignKey(f"{table}.id", ondelete="CASCADE"), index=True)


def refers(table: str) -> MappedColumn[int | None]:
    """A row this one refers to without belonging to it, or NULL."""
    return mapped_column(ForeignKey(f"{table}.id", ondelete="RESTRICT"), index=True)


def must_refer(table: str) -> MappedColumn[int]:
    """A row this one refers to without belonging to it."""
    return mapped_column(ForeignKey(f"{table}.id", ondelete="RESTRICT"), index=True)


def named(column: str) -> CheckConstraint:
    """The column is not blank."""
    return CheckConstraint(f"trim({column}) <> ''", name=f"{column}_said")


def one_of(column: str, *words: str) -> CheckConstraint:
    """The column holds one of these words."""
    listed = ", ".join(f"'{word}'" for word in words)
    return CheckConstraint(f"{column} IN ({listed})", name=f"{column}_known")


def above(column: str, least: int = 0) -> CheckConstraint:
    """The column is greater than `least` (or NULL)."""
    return CheckConstraint(f"{column} > {least}", name=f"{column}_above")


def at_least(column: str, least: int = 0) -> CheckConstraint:
    """The column is `least` or greater (or NULL)."""
    return CheckConstraint(f"{column} >= {least}", name=f"{column}_least")
