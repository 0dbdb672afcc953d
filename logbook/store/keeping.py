"""Going back a step loses nothing: what an older program does not know is put away, not dropped.

A table that a step made is renamed to `kept_...` on the way down and gets its name back on the
way up, with its rows, indexes and references; columns go into a table of their own meanwhile.
"""

from __future__ import annotations

from alembic import op
from sqlalchemy import inspect

KEPT = "kept_"


def put_away(*tables: str) -> None:
    """Rename these tables out of sight."""
    for table in tables:
        op.rename_table(table, KEPT + table)


def bring_back(*tables: str) -> bool:
    """Give the tables that were put away their names back; False if there were none."""
    there = set(inspect(op.get_bind()).get_table_names())
    kept = [table for table in tables if KEPT + table in there]
    for table in kept:
        op.rename_table(KEPT + table, table)
    return bool(kept)


def put_columns_away(table: str, columns: tuple[str, ...], called: str = "") -> None:
    """Copy these columns of every row into a table of their own.

    Where an earlier revision puts columns of the same table away, this one's are `called` so.
    """
    kept = f"{KEPT}columns_of_{table}{called}"
    op.execute(f"CREATE TABLE {kept} AS SELECT id, {', '.join(columns)} FROM {table}")


def bring_columns_back(table: str, columns: tuple[str, ...], called: str = "") -> None:
    """Give the rows that are still there what was put away for them."""
    kept = f"{KEPT}columns_of_{table}{called}"
    if kept not in set(inspect(op.get_bind()).get_table_names()):
        return
    taken = ", ".join(
        f"{column} = (SELECT k.{column} FROM {kept} k WHERE k.id = {table}.id)"
        for column in columns
    )
    op.execute(f"UPDATE {table} SET {taken} WHERE id IN (SELECT id FROM {kept})")
    op.drop_table(kept)
