"""Parts and how they are played."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from logbook.store.keeping import bring_back, put_away

revision = "0002"
down_revision = "0001"
TABLES = (
    "part",
    "double",
    "overdub",
    "pattern",
    "reused",
    "role",
    "technique_note",
    "voicing",
    "chart",
)


def upgrade() -> None:
    if bring_back(*TABLES):
        return
    op.create_table(
        "part",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("version_id", sa.Integer(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("player_id", sa.Integer(), nullable=True),
        sa.Column("instrument_id", sa.Integer(), nullable=True),
        sa.Column("tuning_id", sa.Integer(), nullable=True),
        sa.Column("capo", sa.Text(), server_default="", nullable=False),
        sa.Column("counted", sa.Text(), nullable=False),
        sa.Column("shape_key", sa.Text(), server_default="", nullable=False),
        sa.Column("picked", sa.Text(), server_default="", nullable=False),
        sa.Column("technique", sa.Text(), server_default="", nullable=False),
        sa.Column("chain", sa.Text(), server_default="", nullable=False),
        sa.Column("pan", sa.Text(), server_default="", nullable=False),
        sa.Column("doubled", sa.Text(), nullable=False),
        sa.Column("doubled_why", sa.Text(), server_default="", nullable=False),
        sa.Column("heard", sa.Boolean(), nullable=True),
        sa.Column("notes", sa.Text(), server_default="", nullable=False),
        sa.CheckConstraint("counted IN ('nut', 'capo')", name=op.f("ck_part_counted_known")),
        sa.CheckConstraint(
            "doubled IN ('doubled', 'not doubled', 'unknown')", name=op.f("ck_part_doubled_known")
        ),
        sa.CheckConstraint(
            "picked IN ('', 'pick', 'fingers', 'pick and fingers')",
            name=op.f("ck_part_picked_known"),
        ),
        sa.CheckConstraint("substr(capo, 1, 1) <> '-'", name=op.f("ck_part_capo_not_below_nut")),
        sa.CheckConstraint("trim(name) <> ''", name=op.f("ck_part_name_said")),
        sa.ForeignKeyConstraint(
            ["instrument_id"],
            ["instrument.id"],
            name=op.f("fk_part_instrument_id"),
            ondelete="RESTRICT",
        ),
        sa.ForeignKeyConstraint(
            ["player_id"], ["person.id"], name=op.f("fk_part_player_id"), ondelete="RESTRICT"
        ),
        sa.ForeignKeyConstraint(
            ["tuning_id"], ["tuning.id"], name=op.f("fk_part_tuning_id"), ondelete="RESTRICT"
        ),
        sa.ForeignKeyConstraint(
            ["version_id"], ["version.id"], name=op.f("fk_part_version_id"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_part")),
        sa.UniqueConstraint("version_id", "name", name=op.f("uq_part_version_id_name")),
        sqlite_autoincrement=True,
    )
    with op.batch_alter_table("part", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_part_instrument_id"), ["instrument_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_part_player_id"), ["player_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_part_tuning_id"), ["tuning_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_part_version_id"), ["version_id"], unique=False)

    op.create_table(
        "double",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("part_id", sa.Integer(), nullable=False),
        sa.Column("other_id", sa.Integer(), nullable=False),
        sa.Column("pan", sa.Text(), server_default="", nullable=False),
        sa.Column("notes", sa.Text(), server_default="", nullable=False),
        sa.CheckConstraint("part_id <> other_id", name=op.f("ck_double_not_itself")),
        sa.ForeignKeyConstraint(
            ["other_id"], ["part.id"], name=op.f("fk_double_other_id"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["part_id"], ["part.id"], name=op.f("fk_double_part_id"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_double")),
        sa.UniqueConstraint("part_id", "other_id", name=op.f("uq_double_part_id_other_id")),
        sqlite_autoincrement=True,
    )
    with op.batch_alter_table("double", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_double_other_id"), ["other_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_double_part_id"), ["part_id"], unique=False)

    op.create_table(
        "overdub",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("part_id", sa.Integer(), nullable=False),
        sa.Column("over_id", sa.Integer(), nullable=True),
        sa.Column("session_id", sa.Integer(), nullable=True),
        sa.Column("bars", sa.Text(), server_default="", nullable=False),
        sa.Column("notes", sa.Text(), server_default="", nullable=False),
        sa.ForeignKeyConstraint(
            ["over_id"], ["part.id"], name=op.f("fk_overdub_over_id"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["part_id"], ["part.id"], name=op.f("fk_overdub_part_id"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["session_id"], ["session.id"], name=op.f("fk_overdub_session_id"), ondelete="RESTRICT"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_overdub")),
        sqlite_autoincrement=True,
    )
    with op.batch_alter_table("overdub", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_overdub_over_id"), ["over_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_overdub_part_id"), ["part_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_overdub_session_id"), ["session_id"], unique=False)

    op.create_table(
        "pattern",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("part_id", sa.Integer(), nullable=False),
        sa.Column("label", sa.Text(), nullable=False),
        sa.Column("grid", sa.Text(), nullable=False),
        sa.Column("line", sa.Text(), nullable=False),
        sa.Column("feel", sa.Text(), nullable=False),
        sa.Column("notes", sa.Text(), server_default="", nullable=False),
        sa.CheckConstraint(
            "feel = 'straight' OR substr(feel, 1, 5) = 'swing'", name=op.f("ck_pattern_feel_known")
        ),
        sa.CheckConstraint("trim(grid) <> ''", name=op.f("ck_pattern_grid_said")),
        sa.CheckConstraint("trim(label) <> ''", name=op.f("ck_pattern_label_said")),
        sa.CheckConstraint("trim(line) <> ''", name=op.f("ck_pattern_line_said")),
        sa.ForeignKeyConstraint(
            ["part_id"], ["part.id"], name=op.f("fk_pattern_part_id"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_pattern")),
        sa.UniqueConstraint("part_id", "label", name=op.f("uq_pattern_part_id_label")),
        sqlite_autoincrement=True,
    )
    with op.batch_alter_table("pattern", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_pattern_part_id"), ["part_id"], unique=False)

    op.create_table(
        "reused",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("part_id", sa.Integer(), nullable=False),
        sa.Column("source", sa.Text(), nullable=False),
        sa.Column("bars", sa.Text(), nullable=False),
        sa.Column("notes", sa.Text(), server_default="", nullable=False),
        sa.CheckConstraint("trim(bars) <> ''", name=op.f("ck_reused_bars_said")),
        sa.CheckConstraint("trim(source) <> ''", name=op.f("ck_reused_source_said")),
        sa.ForeignKeyConstraint(
            ["part_id"], ["part.id"], name=op.f("fk_reused_part_id"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_reused")),
        sqlite_autoincrement=True,
    )
    with op.batch_alter_table("reused", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_reused_part_id"), ["part_id"], unique=False)

    op.create_table(
        "role",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("song_id", sa.Integer(), nullable=True),
        sa.Column("version_id", sa.Integer(), nullable=True),
        sa.Column("session_id", sa.Integer(), nullable=True),
        sa.Column("part_id", sa.Integer(), nullable=True),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("role", sa.Text(), nullable=False),
        sa.Column("instrument", sa.Text(), server_default="", nullable=False),
        sa.Column("notes", sa.Text(), server_default="", nullable=False),
        sa.CheckConstraint("trim(role) <> ''", name=op.f("ck_role_role_said")),
        sa.CheckConstraint(
            "(CASE WHEN song_id IS NULL THEN 0 ELSE 1 END)"
            " + (CASE WHEN version_id IS NULL THEN 0 ELSE 1 END)"
            " + (CASE WHEN session_id IS NULL THEN 0 ELSE 1 END)"
            " + (CASE WHEN part_id IS NULL THEN 0 ELSE 1 END) = 1",
            name=op.f("ck_role_one_owner"),
        ),
        sa.ForeignKeyConstraint(
            ["part_id"], ["part.id"], name=op.f("fk_role_part_id"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["person_id"], ["person.id"], name=op.f("fk_role_person_id"), ondelete="RESTRICT"
        ),
        sa.ForeignKeyConstraint(
            ["session_id"], ["session.id"], name=op.f("fk_role_session_id"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["song_id"], ["song.id"], name=op.f("fk_role_song_id"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["version_id"], ["version.id"], name=op.f("fk_role_version_id"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_role")),
        sqlite_autoincrement=True,
    )
    with op.batch_alter_table("role", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_role_part_id"), ["part_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_role_person_id"), ["person_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_role_session_id"), ["session_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_role_song_id"), ["song_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_role_version_id"), ["version_id"], unique=False)

    op.create_table(
        "technique_note",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("part_id", sa.Integer(), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("bars", sa.Text(), server_default="", nullable=False),
        sa.CheckConstraint("trim(text) <> ''", name=op.f("ck_technique_note_text_said")),
        sa.ForeignKeyConstraint(
            ["part_id"], ["part.id"], name=op.f("fk_technique_note_part_id"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_technique_note")),
        sqlite_autoincrement=True,
    )
    with op.batch_alter_table("technique_note", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_technique_note_part_id"), ["part_id"], unique=False)

    op.create_table(
        "voicing",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("part_id", sa.Integer(), nullable=False),
        sa.Column("label", sa.Text(), nullable=False),
        sa.Column("frets", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), server_default="", nullable=False),
        sa.Column("counted", sa.Text(), server_default="", nullable=False),
        sa.Column("fingers", sa.Text(), server_default="", nullable=False),
        sa.Column("avoid", sa.Text(), server_default="", nullable=False),
        sa.Column("ring", sa.Text(), server_default="", nullable=False),
        sa.Column("ornaments", sa.Text(), server_default="", nullable=False),
        sa.Column("notes", sa.Text(), server_default="", nullable=False),
        sa.CheckConstraint("counted IN ('', 'nut', 'capo')", name=op.f("ck_voicing_counted_known")),
        sa.CheckConstraint("trim(frets) <> ''", name=op.f("ck_voicing_frets_said")),
        sa.CheckConstraint("trim(label) <> ''", name=op.f("ck_voicing_label_said")),
        sa.ForeignKeyConstraint(
            ["part_id"], ["part.id"], name=op.f("fk_voicing_part_id"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_voicing")),
        sa.UniqueConstraint("part_id", "label", name=op.f("uq_voicing_part_id_label")),
        sqlite_autoincrement=True,
    )
    with op.batch_alter_table("voicing", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_voicing_part_id"), ["part_id"], unique=False)

    op.create_table(
        "chart",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("part_id", sa.Integer(), nullable=False),
        sa.Column("bar", sa.Integer(), nullable=False),
        sa.Column("beat", sa.Text(), nullable=False),
        sa.Column("voicing_id", sa.Integer(), nullable=True),
        sa.Column("pattern_id", sa.Integer(), nullable=True),
        sa.CheckConstraint("trim(beat) <> ''", name=op.f("ck_chart_beat_said")),
        sa.CheckConstraint("bar >= 0", name=op.f("ck_chart_bar_least")),
        sa.ForeignKeyConstraint(
            ["part_id"], ["part.id"], name=op.f("fk_chart_part_id"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["pattern_id"], ["pattern.id"], name=op.f("fk_chart_pattern_id"), ondelete="RESTRICT"
        ),
        sa.ForeignKeyConstraint(
            ["voicing_id"], ["voicing.id"], name=op.f("fk_chart_voicing_id"), ondelete="RESTRICT"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_chart")),
        sa.UniqueConstraint("part_id", "bar", "beat", name=op.f("uq_chart_part_id_bar_beat")),
        sqlite_autoincrement=True,
    )
    with op.batch_alter_table("chart", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_chart_part_id"), ["part_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_chart_pattern_id"), ["pattern_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_chart_voicing_id"), ["voicing_id"], unique=False)


def downgrade() -> None:
    put_away(*TABLES)
