"""Chords that listening heard otherwise than they are logged."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from logbook.store.keeping import bring_back, put_away

revision = "0012"
down_revision = "0011"
TABLES = ("heard_chord",)


def upgrade() -> None:
    if bring_back(*TABLES):
        return
    op.create_table(
        "heard_chord",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("audio_file_id", sa.Integer(), nullable=False),
        sa.Column("place", sa.Text(), nullable=False),
        sa.Column("logged", sa.Text(), server_default="", nullable=False),
        sa.Column("heard", sa.Text(), server_default="", nullable=False),
        sa.Column("notes", sa.Text(), server_default="", nullable=False),
        sa.Column("sure", sa.Float(), nullable=False),
        sa.Column("basis", sa.Text(), server_default="", nullable=False),
        sa.Column("heard_at", sa.Text(), server_default="", nullable=False),
        sa.CheckConstraint("trim(place) <> ''", name=op.f("ck_heard_chord_place_said")),
        sa.ForeignKeyConstraint(
            ["audio_file_id"],
            ["audio_file.id"],
            name=op.f("fk_heard_chord_audio_file_id"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_heard_chord")),
        sqlite_autoincrement=True,
    )
    with op.batch_alter_table("heard_chord", schema=None) as batch_op:
        batch_op.create_index(
            batch_op.f("ix_heard_chord_audio_file_id"), ["audio_file_id"], unique=False
        )
        batch_op.create_index(
            "uq_heard_chord_audio_file_id_place", ["audio_file_id", "place"], unique=True
        )


def downgrade() -> None:
    put_away(*TABLES)
