"""Votes on takes."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from logbook.store.keeping import bring_back, put_away

revision = "0017"
down_revision = "0016"
TABLES = ("vote",)


def upgrade() -> None:
    if bring_back(*TABLES):
        return
    op.create_table(
        "vote",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("part_id", sa.Integer(), nullable=False),
        sa.Column("bars", sa.Text(), nullable=False),
        sa.Column("take", sa.Integer(), nullable=False),
        sa.Column("rating", sa.Text(), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=True),
        sa.Column("session_id", sa.Integer(), nullable=True),
        sa.Column("phrase", sa.Text(), server_default="", nullable=False),
        sa.Column("notes", sa.Text(), server_default="", nullable=False),
        sa.CheckConstraint("trim(bars) <> ''", name=op.f("ck_vote_bars_said")),
        sa.CheckConstraint("take >= 0", name=op.f("ck_vote_take_least")),
        sa.CheckConstraint(
            "rating IN ('best', 'good', 'fair', 'poor')", name=op.f("ck_vote_rating_known")
        ),
        sa.ForeignKeyConstraint(
            ["part_id"], ["part.id"], name=op.f("fk_vote_part_id"), ondelete="CASCADE"
        ),
        *(
            sa.ForeignKeyConstraint(
                [f"{each}_id"], [f"{each}.id"], name=op.f(f"fk_vote_{each}_id"), ondelete="RESTRICT"
            )
            for each in ("person", "session")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_vote")),
        sqlite_autoincrement=True,
    )
    for each in ("part_id", "person_id", "session_id"):
        op.create_index(op.f(f"ix_vote_{each}"), "vote", [each])


def downgrade() -> None:
    put_away(*TABLES)
