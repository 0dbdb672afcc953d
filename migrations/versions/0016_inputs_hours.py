"""Input lists and working hours of a session."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from logbook.store.keeping import bring_back, put_away

revision = "0016"
down_revision = "0015"
TABLES = ("input_channel", "hours")


def upgrade() -> None:
    if bring_back(*TABLES):
        return
    texts = ("microphone", "preamp", "pad", "placed", "track", "notes")
    op.create_table(
        "input_channel",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("session_id", sa.Integer(), nullable=False),
        sa.Column("channel", sa.Text(), nullable=False),
        sa.Column("source", sa.Text(), nullable=False),
        *(sa.Column(each, sa.Text(), server_default="", nullable=False) for each in texts),
        sa.CheckConstraint("trim(channel) <> ''", name=op.f("ck_input_channel_channel_said")),
        sa.CheckConstraint("trim(source) <> ''", name=op.f("ck_input_channel_source_said")),
        _of_session("input_channel"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_input_channel")),
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_input_channel_session_id"), "input_channel", ["session_id"])
    op.create_table(
        "hours",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("session_id", sa.Integer(), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("started_at", sa.Text(), nullable=False),
        *(
            sa.Column(each, sa.Text(), server_default="", nullable=False)
            for each in ("ended_at", "breaks", "notes")
        ),
        sa.CheckConstraint("trim(started_at) <> ''", name=op.f("ck_hours_started_at_said")),
        _of_session("hours"),
        sa.ForeignKeyConstraint(
            ["person_id"], ["person.id"], name=op.f("fk_hours_person_id"), ondelete="RESTRICT"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_hours")),
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_hours_session_id"), "hours", ["session_id"])
    op.create_index(op.f("ix_hours_person_id"), "hours", ["person_id"])


def _of_session(table: str) -> sa.ForeignKeyConstraint:
    return sa.ForeignKeyConstraint(
        ["session_id"], ["session.id"], name=op.f(f"fk_{table}_session_id"), ondelete="CASCADE"
    )


def downgrade() -> None:
    put_away(*TABLES)
