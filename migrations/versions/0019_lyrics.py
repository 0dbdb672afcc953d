"""The words of a version, line by line, with the bar each begins in."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from logbook.store.keeping import bring_back, put_away

revision = "0019"
down_revision = "0018"
TABLES = ("lyric",)


def upgrade() -> None:
    if bring_back(*TABLES):
        return
    op.create_table(
        "lyric",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("version_id", sa.Integer(), nullable=False),
        sa.Column("bar", sa.Integer(), nullable=False),
        sa.Column("beat", sa.Text(), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("notes", sa.Text(), server_default="", nullable=False),
        sa.CheckConstraint("bar >= 0", name=op.f("ck_lyric_bar_least")),
        sa.CheckConstraint("trim(beat) <> ''", name=op.f("ck_lyric_beat_said")),
        sa.CheckConstraint("trim(text) <> ''", name=op.f("ck_lyric_text_said")),
        sa.ForeignKeyConstraint(
            ["version_id"], ["version.id"], name=op.f("fk_lyric_version_id"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_lyric")),
        sa.UniqueConstraint("version_id", "bar", "beat", name=op.f("uq_lyric_version_id_bar_beat")),
        sqlite_autoincrement=True,
    )
    with op.batch_alter_table("lyric", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_lyric_version_id"), ["version_id"], unique=False)


def downgrade() -> None:
    put_away(*TABLES)
