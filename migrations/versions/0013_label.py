"""What a label asks: who it is by, billing, rights, language, genre, publication, times."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from logbook.store.keeping import bring_columns_back, put_columns_away

revision = "0013"
down_revision = "0012"
COLUMNS = {
    "person": ("kind",),
    "role": ("billing",),
    "version": ("artist", "language", "genre", "explicit", "published", "phonogram"),
    "session": ("started_at", "ended_at"),
    "project": ("artist", "genre", "phonogram", "copyright"),
}


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
