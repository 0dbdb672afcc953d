"""Voicings as notes, for parts without frets, and how a part says its notes."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from logbook.store.keeping import bring_columns_back, put_columns_away

revision = "0020"
down_revision = "0019"
COLUMNS = {"voicing": ("pitches",), "part": ("pitched",)}


def upgrade() -> None:
    for table, columns in COLUMNS.items():
        for column in columns:
            op.add_column(table, sa.Column(column, sa.Text(), server_default="", nullable=False))
        bring_columns_back(table, columns)


def downgrade() -> None:
    for table, columns in COLUMNS.items():
        put_columns_away(table, columns)
        for column in columns:
            op.drop_column(table, column)
