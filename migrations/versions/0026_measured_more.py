"""How sure a take's tuning is and how it moves, its tempo bar by bar, and where the player sits."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from logbook.store.keeping import bring_columns_back, put_columns_away

revision = "0026"
down_revision = "0025"
NUMBERS = (
    "tuning_error_cents",
    "tuning_from_cents",
    "tuning_to_cents",
    "tuning_apart_cents",
    "click_late_ms",
    "click_error_ms",
)
TEXTS = ("tuning_apart", "tempo_bars", "click_by")


def upgrade() -> None:
    for column in NUMBERS:
        op.add_column("measurement", sa.Column(column, sa.Float(), nullable=True))
    for column in TEXTS:
        op.add_column(
            "measurement", sa.Column(column, sa.Text(), server_default="", nullable=False)
        )
    bring_columns_back("measurement", (*NUMBERS, *TEXTS), "_more")


def downgrade() -> None:
    put_columns_away("measurement", (*NUMBERS, *TEXTS), "_more")
    for column in (*NUMBERS, *TEXTS):
        op.drop_column("measurement", column)
