"""What listening found when it held one file against another."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from logbook.store.keeping import bring_back, put_away

revision = "0008"
down_revision = "0007"
TABLES = ("heard_double",)


def upgrade() -> None:
    if bring_back(*TABLES):
        return
    op.create_table(
        "heard_double",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("audio_file_id", sa.Integer(), nullable=False),
        sa.Column("other", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("offset_s", sa.Float(), nullable=False),
        sa.Column("residual_db", sa.Float(), nullable=False),
        sa.Column("median_ms", sa.Float(), nullable=True),
        sa.Column("lower_quartile_ms", sa.Float(), nullable=True),
        sa.Column("upper_quartile_ms", sa.Float(), nullable=True),
        sa.Column("heard_at", sa.Text(), server_default="", nullable=False),
        sa.CheckConstraint("trim(other) <> ''", name=op.f("ck_heard_double_other_said")),
        sa.CheckConstraint(
            "kind IN ('identical', 'delayed', 'processed', 'second performance', 'unrelated')",
            name=op.f("ck_heard_double_kind_known"),
        ),
        sa.CheckConstraint("median_ms >= 0", name=op.f("ck_heard_double_median_ms_least")),
        sa.CheckConstraint(
            "lower_quartile_ms >= 0", name=op.f("ck_heard_double_lower_quartile_ms_least")
        ),
        sa.CheckConstraint(
            "upper_quartile_ms >= 0", name=op.f("ck_heard_double_upper_quartile_ms_least")
        ),
        sa.ForeignKeyConstraint(
            ["audio_file_id"],
            ["audio_file.id"],
            name=op.f("fk_heard_double_audio_file_id"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_heard_double")),
        sqlite_autoincrement=True,
    )
    with op.batch_alter_table("heard_double", schema=None) as batch_op:
        batch_op.create_index(
            batch_op.f("ix_heard_double_audio_file_id"), ["audio_file_id"], unique=False
        )
        batch_op.create_index(
            "uq_heard_double_audio_file_id_other", ["audio_file_id", "other"], unique=True
        )


def downgrade() -> None:
    put_away(*TABLES)
