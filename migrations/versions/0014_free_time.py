"""Passages without a tempo, and how long they lasted."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from logbook.store.keeping import bring_columns_back, put_columns_away

revision = "0014"
down_revision = "0013"
COLUMNS = ("free_s",)


def upgrade() -> None:
    op.add_column("tempo_change", sa.Column("free_s", sa.Float(), nullable=True))
    bring_columns_back("tempo_change", COLUMNS)


def downgrade() -> None:
    put_columns_away("tempo_change", COLUMNS)
    op.drop_column("tempo_change", "free_s")
