"""The time of day at which a take began, and what else a file is a recording of."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from logbook.store.keeping import bring_columns_back, put_columns_away

revision = "0024"
down_revision = "0023"
COLUMNS = (("take", "clock", "_clock"), ("audio_file", "also", "_also"))


def upgrade() -> None:
    for table, column, called in COLUMNS:
        op.add_column(table, sa.Column(column, sa.Text(), server_default="", nullable=False))
        bring_columns_back(table, (column,), called)


def downgrade() -> None:
    for table, column, called in COLUMNS:
        put_columns_away(table, (column,), called)
        op.drop_column(table, column)
