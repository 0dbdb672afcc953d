"""A bookmark for each terminal of a person, that survives what it points at."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from logbook.store.keeping import bring_columns_back, put_columns_away

revision = "0009"
down_revision = "0008"
COLUMNS = ("terminal", "session", "song", "version", "part")
_NAMES = {
    "session": "(SELECT name FROM session WHERE id = here.session_id)",
    "song": "(SELECT s.title FROM song s JOIN version v ON v.song_id = s.id"
    " WHERE v.id = here.version_id)",
    "version": "(SELECT name FROM version WHERE id = here.version_id)",
    "part": "(SELECT name FROM part WHERE id = here.part_id)",
}


def upgrade() -> None:
    with op.batch_alter_table("here", table_kwargs={"sqlite_autoincrement": True}) as batch:
        for column in COLUMNS:
            batch.add_column(sa.Column(column, sa.Text(), server_default="", nullable=False))
        batch.drop_constraint(op.f("uq_here_who"), type_="unique")
        batch.create_unique_constraint(op.f("uq_here_who_terminal"), ["who", "terminal"])
    for column, name in _NAMES.items():
        op.execute(f"UPDATE here SET {column} = COALESCE({name}, '')")
    bring_columns_back("here", COLUMNS)


def downgrade() -> None:
    put_columns_away("here", COLUMNS)
    op.execute("DELETE FROM here WHERE id NOT IN (SELECT MAX(id) FROM here GROUP BY who)")
    with op.batch_alter_table("here", table_kwargs={"sqlite_autoincrement": True}) as batch:
        batch.drop_constraint(op.f("uq_here_who_terminal"), type_="unique")
        for column in COLUMNS:
            batch.drop_column(column)
        batch.create_unique_constraint(op.f("uq_here_who"), ["who"])
