"""What was done, by whom and when."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from logbook.store.keeping import bring_back, put_away

revision = "0004"
down_revision = "0003"
TABLES = (
    "command",
    "change",
)


def upgrade() -> None:
    if bring_back(*TABLES):
        return
    op.create_table(
        "command",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("at", sa.Text(), nullable=False),
        sa.Column("who", sa.Text(), nullable=False),
        sa.Column("command", sa.Text(), nullable=False),
        sa.Column("undoes", sa.Text(), server_default="", nullable=False),
        sa.Column("undone_by", sa.Integer(), nullable=True),
        sa.CheckConstraint("trim(at) <> ''", name=op.f("ck_command_at_said")),
        sa.CheckConstraint("undoes IN ('', 'undo', 'redo')", name=op.f("ck_command_undoes_known")),
        sa.ForeignKeyConstraint(
            ["undone_by"], ["command.id"], name=op.f("fk_command_undone_by"), ondelete="RESTRICT"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_command")),
        sqlite_autoincrement=True,
    )
    with op.batch_alter_table("command", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_command_undone_by"), ["undone_by"], unique=False)

    op.create_table(
        "change",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("command_id", sa.Integer(), nullable=False),
        sa.Column("action", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("row_id", sa.Integer(), nullable=False),
        sa.Column("label", sa.Text(), server_default="", nullable=False),
        sa.Column("place", sa.Text(), server_default="", nullable=False),
        sa.Column("song_id", sa.Integer(), nullable=True),
        sa.Column("before", sa.Text(), nullable=True),
        sa.Column("after", sa.Text(), nullable=True),
        sa.CheckConstraint(
            "action IN ('added', 'changed', 'removed')", name=op.f("ck_change_action_known")
        ),
        sa.ForeignKeyConstraint(
            ["command_id"], ["command.id"], name=op.f("fk_change_command_id"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_change")),
        sqlite_autoincrement=True,
    )
    with op.batch_alter_table("change", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_change_command_id"), ["command_id"], unique=False)
        batch_op.create_index("ix_change_kind_row_id", ["kind", "row_id"], unique=False)
        batch_op.create_index("ix_change_song_id", ["song_id"], unique=False)


def downgrade() -> None:
    put_away(*TABLES)
