"""Takes, comps and audio files."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from logbook.store.keeping import bring_back, put_away

revision = "0003"
down_revision = "0002"
TABLES = (
    "comp",
    "here",
    "take",
    "audio_file",
    "comp_piece",
    "punch_in",
)


def upgrade() -> None:
    if bring_back(*TABLES):
        return
    op.create_table(
        "comp",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("part_id", sa.Integer(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("final", sa.Boolean(), nullable=False),
        sa.Column("notes", sa.Text(), server_default="", nullable=False),
        sa.CheckConstraint("trim(name) <> ''", name=op.f("ck_comp_name_said")),
        sa.ForeignKeyConstraint(
            ["part_id"], ["part.id"], name=op.f("fk_comp_part_id"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_comp")),
        sa.UniqueConstraint("part_id", "name", name=op.f("uq_comp_part_id_name")),
        sqlite_autoincrement=True,
    )
    with op.batch_alter_table("comp", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_comp_part_id"), ["part_id"], unique=False)
        batch_op.create_index(
            "uq_comp_part_id_final",
            ["part_id"],
            unique=True,
            sqlite_where=sa.text("final"),
            postgresql_where=sa.text("final"),
        )

    op.create_table(
        "here",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("who", sa.Text(), nullable=False),
        sa.Column("session_id", sa.Integer(), nullable=True),
        sa.Column("version_id", sa.Integer(), nullable=True),
        sa.Column("part_id", sa.Integer(), nullable=True),
        sa.CheckConstraint("trim(who) <> ''", name=op.f("ck_here_who_said")),
        sa.ForeignKeyConstraint(
            ["part_id"], ["part.id"], name=op.f("fk_here_part_id"), ondelete="SET NULL"
        ),
        sa.ForeignKeyConstraint(
            ["session_id"], ["session.id"], name=op.f("fk_here_session_id"), ondelete="SET NULL"
        ),
        sa.ForeignKeyConstraint(
            ["version_id"], ["version.id"], name=op.f("fk_here_version_id"), ondelete="SET NULL"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_here")),
        sa.UniqueConstraint("who", name=op.f("uq_here_who")),
        sqlite_autoincrement=True,
    )
    op.create_table(
        "take",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("part_id", sa.Integer(), nullable=False),
        sa.Column("session_id", sa.Integer(), nullable=True),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("result", sa.Text(), server_default="", nullable=False),
        sa.Column("bars", sa.Text(), server_default="", nullable=False),
        sa.Column("notes", sa.Text(), server_default="", nullable=False),
        sa.CheckConstraint(
            "result IN ('', 'keeper', 'complete', 'incomplete', 'false start', 'reject')",
            name=op.f("ck_take_result_known"),
        ),
        sa.CheckConstraint("number >= 0", name=op.f("ck_take_number_least")),
        sa.ForeignKeyConstraint(
            ["part_id"], ["part.id"], name=op.f("fk_take_part_id"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["session_id"], ["session.id"], name=op.f("fk_take_session_id"), ondelete="RESTRICT"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_take")),
        sqlite_autoincrement=True,
    )
    with op.batch_alter_table("take", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_take_part_id"), ["part_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_take_session_id"), ["session_id"], unique=False)
        batch_op.create_index(
            "uq_take_part_id_number",
            ["part_id", "number"],
            unique=True,
            sqlite_where=sa.text("session_id IS NULL"),
            postgresql_where=sa.text("session_id IS NULL"),
        )
        batch_op.create_index(
            "uq_take_part_id_session_id_number",
            ["part_id", "session_id", "number"],
            unique=True,
            sqlite_where=sa.text("session_id IS NOT NULL"),
            postgresql_where=sa.text("session_id IS NOT NULL"),
        )

    op.create_table(
        "audio_file",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("take_id", sa.Integer(), nullable=True),
        sa.Column("part_id", sa.Integer(), nullable=True),
        sa.Column("version_id", sa.Integer(), nullable=True),
        sa.Column("path", sa.Text(), nullable=False),
        sa.Column("digest", sa.Text(), server_default="", nullable=False),
        sa.Column("folder", sa.Text(), server_default="", nullable=False),
        sa.Column("container", sa.Text(), server_default="", nullable=False),
        sa.Column("codec", sa.Text(), server_default="", nullable=False),
        sa.Column("rate_hz", sa.BigInteger(), nullable=True),
        sa.Column("depth_bits", sa.Integer(), nullable=True),
        sa.Column("channels", sa.Integer(), nullable=True),
        sa.Column("frames", sa.BigInteger(), nullable=True),
        sa.Column("size", sa.BigInteger(), nullable=True),
        sa.Column("modified", sa.BigInteger(), nullable=True),
        sa.Column("tags", sa.Text(), server_default="", nullable=False),
        sa.Column("notes", sa.Text(), server_default="", nullable=False),
        sa.CheckConstraint("trim(path) <> ''", name=op.f("ck_audio_file_path_said")),
        sa.CheckConstraint(
            "(CASE WHEN take_id IS NULL THEN 0 ELSE 1 END)"
            " + (CASE WHEN part_id IS NULL THEN 0 ELSE 1 END)"
            " + (CASE WHEN version_id IS NULL THEN 0 ELSE 1 END) <= 1",
            name=op.f("ck_audio_file_one_owner"),
        ),
        sa.CheckConstraint("channels >= 0", name=op.f("ck_audio_file_channels_least")),
        sa.CheckConstraint("depth_bits >= 0", name=op.f("ck_audio_file_depth_bits_least")),
        sa.CheckConstraint("frames >= 0", name=op.f("ck_audio_file_frames_least")),
        sa.CheckConstraint("rate_hz >= 0", name=op.f("ck_audio_file_rate_hz_least")),
        sa.CheckConstraint("size >= 0", name=op.f("ck_audio_file_size_least")),
        sa.ForeignKeyConstraint(
            ["part_id"], ["part.id"], name=op.f("fk_audio_file_part_id"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["take_id"], ["take.id"], name=op.f("fk_audio_file_take_id"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["version_id"],
            ["version.id"],
            name=op.f("fk_audio_file_version_id"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_audio_file")),
        sqlite_autoincrement=True,
    )
    with op.batch_alter_table("audio_file", schema=None) as batch_op:
        batch_op.create_index("ix_audio_file_digest", ["digest"], unique=False)
        batch_op.create_index(batch_op.f("ix_audio_file_part_id"), ["part_id"], unique=False)
        batch_op.create_index("ix_audio_file_path", ["path"], unique=False)
        batch_op.create_index(batch_op.f("ix_audio_file_take_id"), ["take_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_audio_file_version_id"), ["version_id"], unique=False)
        batch_op.create_index(
            "uq_audio_file_folder_path",
            ["folder", "path"],
            unique=True,
            sqlite_where=sa.text("folder <> ''"),
            postgresql_where=sa.text("folder <> ''"),
        )

    op.create_table(
        "comp_piece",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("comp_id", sa.Integer(), nullable=False),
        sa.Column("bars", sa.Text(), nullable=False),
        sa.Column("take", sa.Integer(), nullable=False),
        sa.Column("source", sa.Text(), nullable=False),
        sa.Column("session_id", sa.Integer(), nullable=True),
        sa.Column("crossfade_ms", sa.Float(), nullable=True),
        sa.Column("notes", sa.Text(), server_default="", nullable=False),
        sa.CheckConstraint("trim(bars) <> ''", name=op.f("ck_comp_piece_bars_said")),
        sa.CheckConstraint("crossfade_ms >= 0", name=op.f("ck_comp_piece_crossfade_ms_least")),
        sa.CheckConstraint("take >= 0", name=op.f("ck_comp_piece_take_least")),
        sa.ForeignKeyConstraint(
            ["comp_id"], ["comp.id"], name=op.f("fk_comp_piece_comp_id"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["session_id"],
            ["session.id"],
            name=op.f("fk_comp_piece_session_id"),
            ondelete="RESTRICT",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_comp_piece")),
        sqlite_autoincrement=True,
    )
    with op.batch_alter_table("comp_piece", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_comp_piece_comp_id"), ["comp_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_comp_piece_session_id"), ["session_id"], unique=False)

    op.create_table(
        "punch_in",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("take_id", sa.Integer(), nullable=False),
        sa.Column("bars", sa.Text(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("why", sa.Text(), server_default="", nullable=False),
        sa.CheckConstraint("trim(bars) <> ''", name=op.f("ck_punch_in_bars_said")),
        sa.CheckConstraint("number > 0", name=op.f("ck_punch_in_number_above")),
        sa.ForeignKeyConstraint(
            ["take_id"], ["take.id"], name=op.f("fk_punch_in_take_id"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_punch_in")),
        sqlite_autoincrement=True,
    )
    with op.batch_alter_table("punch_in", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_punch_in_take_id"), ["take_id"], unique=False)


def downgrade() -> None:
    put_away(*TABLES)
