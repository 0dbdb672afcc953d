"""Projects, arrangements and set lists."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from logbook.store.keeping import bring_back, put_away

revision = "0006"
down_revision = "0005"
TABLES = (
    "project",
    "setlist",
    "arrangement",
    "project_track",
    "arranged_part",
    "arranged_section",
    "setlist_entry",
)


def upgrade() -> None:
    if bring_back(*TABLES):
        return
    op.create_table(
        "project",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("title", sa.Text(), nullable=False),
        sa.Column("barcode", sa.Text(), server_default="", nullable=False),
        sa.Column("date", sa.Text(), server_default="", nullable=False),
        sa.Column("notes", sa.Text(), server_default="", nullable=False),
        sa.CheckConstraint("trim(title) <> ''", name=op.f("ck_project_title_said")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_project")),
        sa.UniqueConstraint("title", name=op.f("uq_project_title")),
        sqlite_autoincrement=True,
    )
    op.create_table(
        "setlist",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("date", sa.Text(), server_default="", nullable=False),
        sa.Column("place", sa.Text(), server_default="", nullable=False),
        sa.Column("notes", sa.Text(), server_default="", nullable=False),
        sa.CheckConstraint("trim(name) <> ''", name=op.f("ck_setlist_name_said")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_setlist")),
        sa.UniqueConstraint("name", name=op.f("uq_setlist_name")),
        sqlite_autoincrement=True,
    )
    op.create_table(
        "arrangement",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("version_id", sa.Integer(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("purpose", sa.Text(), nullable=False),
        sa.Column("key", sa.Text(), server_default="", nullable=False),
        sa.Column("bpm", sa.Float(), nullable=True),
        sa.Column("unit", sa.Text(), server_default="", nullable=False),
        sa.Column("count_in_bars", sa.Integer(), nullable=False),
        sa.Column("notes", sa.Text(), server_default="", nullable=False),
        sa.CheckConstraint("trim(name) <> ''", name=op.f("ck_arrangement_name_said")),
        sa.CheckConstraint("bpm > 0", name=op.f("ck_arrangement_bpm_above")),
        sa.CheckConstraint("count_in_bars >= 0", name=op.f("ck_arrangement_count_in_bars_least")),
        sa.ForeignKeyConstraint(
            ["version_id"],
            ["version.id"],
            name=op.f("fk_arrangement_version_id"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_arrangement")),
        sa.UniqueConstraint("version_id", "name", name=op.f("uq_arrangement_version_id_name")),
        sqlite_autoincrement=True,
    )
    with op.batch_alter_table("arrangement", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_arrangement_version_id"), ["version_id"], unique=False)

    op.create_table(
        "project_track",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("project_id", sa.Integer(), nullable=False),
        sa.Column("version_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["project_id"],
            ["project.id"],
            name=op.f("fk_project_track_project_id"),
            ondelete="CASCADE",
        ),
        sa.ForeignKeyConstraint(
            ["version_id"],
            ["version.id"],
            name=op.f("fk_project_track_version_id"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_project_track")),
        sa.UniqueConstraint(
            "project_id", "version_id", name=op.f("uq_project_track_project_id_version_id")
        ),
        sqlite_autoincrement=True,
    )
    with op.batch_alter_table("project_track", schema=None) as batch_op:
        batch_op.create_index(
            batch_op.f("ix_project_track_project_id"), ["project_id"], unique=False
        )
        batch_op.create_index(
            batch_op.f("ix_project_track_version_id"), ["version_id"], unique=False
        )

    op.create_table(
        "arranged_part",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("arrangement_id", sa.Integer(), nullable=False),
        sa.Column("part_id", sa.Integer(), nullable=False),
        sa.Column("player_id", sa.Integer(), nullable=True),
        sa.Column("instrument_id", sa.Integer(), nullable=True),
        sa.Column("tuning_id", sa.Integer(), nullable=True),
        sa.Column("capo", sa.Text(), nullable=True),
        sa.Column("way", sa.Text(), server_default="", nullable=False),
        sa.Column("left_out", sa.Boolean(), nullable=False),
        sa.Column("written_for", sa.Text(), server_default="", nullable=False),
        sa.Column("notes", sa.Text(), server_default="", nullable=False),
        sa.CheckConstraint(
            "way IN ('', 'same shapes', 'retuned', 'new shapes')",
            name=op.f("ck_arranged_part_way_known"),
        ),
        sa.CheckConstraint(
            "written_for IN ('', 'Bb', 'Eb', 'F', 'octave')",
            name=op.f("ck_arranged_part_written_for_known"),
        ),
        sa.ForeignKeyConstraint(
            ["arrangement_id"],
            ["arrangement.id"],
            name=op.f("fk_arranged_part_arrangement_id"),
            ondelete="CASCADE",
        ),
        sa.ForeignKeyConstraint(
            ["instrument_id"],
            ["instrument.id"],
            name=op.f("fk_arranged_part_instrument_id"),
            ondelete="RESTRICT",
        ),
        sa.ForeignKeyConstraint(
            ["part_id"], ["part.id"], name=op.f("fk_arranged_part_part_id"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["player_id"],
            ["person.id"],
            name=op.f("fk_arranged_part_player_id"),
            ondelete="RESTRICT",
        ),
        sa.ForeignKeyConstraint(
            ["tuning_id"],
            ["tuning.id"],
            name=op.f("fk_arranged_part_tuning_id"),
            ondelete="RESTRICT",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_arranged_part")),
        sa.UniqueConstraint(
            "arrangement_id", "part_id", name=op.f("uq_arranged_part_arrangement_id_part_id")
        ),
        sqlite_autoincrement=True,
    )
    with op.batch_alter_table("arranged_part", schema=None) as batch_op:
        batch_op.create_index(
            batch_op.f("ix_arranged_part_arrangement_id"), ["arrangement_id"], unique=False
        )
        batch_op.create_index(
            batch_op.f("ix_arranged_part_instrument_id"), ["instrument_id"], unique=False
        )
        batch_op.create_index(batch_op.f("ix_arranged_part_part_id"), ["part_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_arranged_part_player_id"), ["player_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_arranged_part_tuning_id"), ["tuning_id"], unique=False)

    op.create_table(
        "arranged_section",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("arrangement_id", sa.Integer(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("source", sa.Text(), server_default="", nullable=False),
        sa.Column("bars", sa.Integer(), nullable=True),
        sa.Column("times", sa.Integer(), nullable=False),
        sa.Column("vamp", sa.Boolean(), nullable=False),
        sa.Column("bpm", sa.Float(), nullable=True),
        sa.Column("unit", sa.Text(), server_default="", nullable=False),
        sa.Column("ramp", sa.Boolean(), nullable=False),
        sa.Column("cue", sa.Text(), server_default="", nullable=False),
        sa.Column("notes", sa.Text(), server_default="", nullable=False),
        sa.CheckConstraint("trim(name) <> ''", name=op.f("ck_arranged_section_name_said")),
        sa.CheckConstraint("bars > 0", name=op.f("ck_arranged_section_bars_above")),
        sa.CheckConstraint("bpm > 0", name=op.f("ck_arranged_section_bpm_above")),
        sa.CheckConstraint("times > 0", name=op.f("ck_arranged_section_times_above")),
        sa.ForeignKeyConstraint(
            ["arrangement_id"],
            ["arrangement.id"],
            name=op.f("fk_arranged_section_arrangement_id"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_arranged_section")),
        sqlite_autoincrement=True,
    )
    with op.batch_alter_table("arranged_section", schema=None) as batch_op:
        batch_op.create_index(
            batch_op.f("ix_arranged_section_arrangement_id"), ["arrangement_id"], unique=False
        )

    op.create_table(
        "setlist_entry",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("setlist_id", sa.Integer(), nullable=False),
        sa.Column("version_id", sa.Integer(), nullable=False),
        sa.Column("arrangement_id", sa.Integer(), nullable=True),
        sa.Column("place", sa.Text(), server_default="", nullable=False),
        sa.Column("with_next", sa.Boolean(), nullable=False),
        sa.Column("notes", sa.Text(), server_default="", nullable=False),
        sa.CheckConstraint(
            "place IN ('', 'opener', 'closer')", name=op.f("ck_setlist_entry_place_known")
        ),
        sa.ForeignKeyConstraint(
            ["arrangement_id"],
            ["arrangement.id"],
            name=op.f("fk_setlist_entry_arrangement_id"),
            ondelete="CASCADE",
        ),
        sa.ForeignKeyConstraint(
            ["setlist_id"],
            ["setlist.id"],
            name=op.f("fk_setlist_entry_setlist_id"),
            ondelete="CASCADE",
        ),
        sa.ForeignKeyConstraint(
            ["version_id"],
            ["version.id"],
            name=op.f("fk_setlist_entry_version_id"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_setlist_entry")),
        sqlite_autoincrement=True,
    )
    with op.batch_alter_table("setlist_entry", schema=None) as batch_op:
        batch_op.create_index(
            batch_op.f("ix_setlist_entry_arrangement_id"), ["arrangement_id"], unique=False
        )
        batch_op.create_index(
            batch_op.f("ix_setlist_entry_setlist_id"), ["setlist_id"], unique=False
        )
        batch_op.create_index(
            batch_op.f("ix_setlist_entry_version_id"), ["version_id"], unique=False
        )


def downgrade() -> None:
    put_away(*TABLES)
