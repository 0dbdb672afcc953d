"""What an arrangement does with a section, besides its length and tempo."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from logbook.store.keeping import bring_columns_back, put_columns_away

revision = "0011"
down_revision = "0010"
COLUMNS = ("moves",)


def upgrade() -> None:
    op.add_column(
        "arranged_section", sa.Column("moves", sa.Text(), server_default="", nullable=False)
    )
    bring_columns_back("arranged_section", COLUMNS)


def downgrade() -> None:
    put_columns_away("arranged_section", COLUMNS)
    op.drop_column("arranged_section", "moves")
