"""The melody of a part, and where a part does not play."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from logbook.store.keeping import (
    bring_back,
    bring_columns_back,
    put_away,
    put_columns_away,
)

revision = "0023"
down_revision = "0022"
COLUMNS = ("tacet",)


def upgrade() -> None:
    for column in COLUMNS:
        op.add_column("part", sa.Column(column, sa.Text(), server_default="", nullable=False))
    bring_columns_back("part", COLUMNS, "_tacet")
    if bring_back("melody"):
        return
    op.create_table(
        "melody",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("part_id", sa.Integer(), nullable=False),
        sa.Column("bar", sa.Integer(), nullable=False),
        sa.Column("beat", sa.Text(), nullable=False),
        sa.Column("tune", sa.Text(), nullable=False),
        sa.Column("notes", sa.Text(), server_default="", nullable=False),
        sa.CheckConstraint("bar >= 0", name=op.f("ck_melody_bar_least")),
        sa.CheckConstraint("trim(beat) <> ''", name=op.f("ck_melody_beat_said")),
        sa.CheckConstraint("trim(tune) <> ''", name=op.f("ck_melody_tune_said")),
        sa.ForeignKeyConstraint(
            ["part_id"], ["part.id"], name=op.f("fk_melody_part_id"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_melody")),
        sa.UniqueConstraint("part_id", "bar", "beat", name=op.f("uq_melody_part_id_bar_beat")),
        sqlite_autoincrement=True,
    )
    with op.batch_alter_table("melody", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_melody_part_id"), ["part_id"], unique=False)


def downgrade() -> None:
    put_away("melody")
    put_columns_away("part", COLUMNS, "_tacet")
    for column in COLUMNS:
        op.drop_column("part", column)
