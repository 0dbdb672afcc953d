"""What checks found in each song."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from logbook.store.keeping import bring_back, put_away

revision = "0007"
down_revision = "0006"
TABLES = ("checked",)


def upgrade() -> None:
    if bring_back(*TABLES):
        return
    op.create_table(
        "checked",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("song_id", sa.Integer(), nullable=False),
        sa.Column("rules", sa.Text(), nullable=False),
        sa.Column("findings", sa.Text(), server_default="", nullable=False),
        sa.ForeignKeyConstraint(
            ["song_id"], ["song.id"], name=op.f("fk_checked_song_id"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_checked")),
        sa.UniqueConstraint("song_id", name=op.f("uq_checked_song_id")),
        sqlite_autoincrement=True,
    )
    with op.batch_alter_table("checked", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_checked_song_id"), ["song_id"], unique=False)


def downgrade() -> None:
    put_away(*TABLES)
