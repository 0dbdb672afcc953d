"""What else a part is called in file names."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from logbook.store.keeping import bring_columns_back, put_columns_away

revision = "0022"
down_revision = "0021"
COLUMNS = ("aliases",)


def upgrade() -> None:
    for column in COLUMNS:
        op.add_column("part", sa.Column(column, sa.Text(), server_default="", nullable=False))
    bring_columns_back("part", COLUMNS, "_aliases")


def downgrade() -> None:
    put_columns_away("part", COLUMNS, "_aliases")
    for column in COLUMNS:
        op.drop_column("part", column)
