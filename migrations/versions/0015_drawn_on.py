"""What a piece of a comp draws on elsewhere: another version, another part, a finished file."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from logbook.store.keeping import bring_columns_back, put_columns_away

revision = "0015"
down_revision = "0014"
COLUMNS = ("from_version", "from_part", "from_file")


def upgrade() -> None:
    for column in COLUMNS:
        op.add_column("comp_piece", sa.Column(column, sa.Text(), server_default="", nullable=False))
    bring_columns_back("comp_piece", COLUMNS)


def downgrade() -> None:
    put_columns_away("comp_piece", COLUMNS)
    for column in COLUMNS:
        op.drop_column("comp_piece", column)
