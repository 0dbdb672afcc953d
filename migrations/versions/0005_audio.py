"""What audio files say of themselves and what was heard in them."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from logbook.store.keeping import bring_back, bring_columns_back, put_away, put_columns_away

revision = "0005"
down_revision = "0004"
TABLES = (
    "cue",
    "measurement",
)
COLUMNS = (
    "description",
    "originator",
    "originated_at",
    "time_reference",
    "loudness_lufs",
    "loudness_range_lu",
    "max_true_peak_dbtp",
    "ixml_take",
    "ixml_note",
    "ixml_circled",
    "microphone",
)


def upgrade() -> None:
    if not bring_back(*TABLES):
        op.create_table(
            "cue",
            sa.Column("id", sa.Integer(), nullable=False),
            sa.Column("position", sa.Integer(), nullable=False),
            sa.Column("audio_file_id", sa.Integer(), nullable=False),
            sa.Column("frame", sa.BigInteger(), nullable=True),
            sa.Column("label", sa.Text(), server_default="", nullable=False),
            sa.CheckConstraint("frame >= 0", name=op.f("ck_cue_frame_least")),
            sa.CheckConstraint("frame IS NOT NULL", name=op.f("ck_cue_frame_said")),
            sa.ForeignKeyConstraint(
                ["audio_file_id"],
                ["audio_file.id"],
                name=op.f("fk_cue_audio_file_id"),
                ondelete="CASCADE",
            ),
            sa.PrimaryKeyConstraint("id", name=op.f("pk_cue")),
            sqlite_autoincrement=True,
        )
        with op.batch_alter_table("cue", schema=None) as batch_op:
            batch_op.create_index(
                batch_op.f("ix_cue_audio_file_id"), ["audio_file_id"], unique=False
            )

        op.create_table(
            "measurement",
            sa.Column("id", sa.Integer(), nullable=False),
            sa.Column("audio_file_id", sa.Integer(), nullable=False),
            sa.Column("tempo_bpm", sa.Float(), nullable=True),
            sa.Column("tempo_drift_percent", sa.Float(), nullable=True),
            sa.Column("tempo_reading", sa.Text(), server_default="", nullable=False),
            sa.Column("tuning_cents", sa.Float(), nullable=True),
            sa.Column("loudness_lufs", sa.Float(), nullable=True),
            sa.Column("true_peak_dbtp", sa.Float(), nullable=True),
            sa.Column("clipped_samples", sa.BigInteger(), nullable=True),
            sa.Column("silence_start_s", sa.Float(), nullable=True),
            sa.Column("silence_end_s", sa.Float(), nullable=True),
            sa.Column("measured_at", sa.Text(), server_default="", nullable=False),
            sa.CheckConstraint(
                "clipped_samples >= 0", name=op.f("ck_measurement_clipped_samples_least")
            ),
            sa.CheckConstraint("tempo_bpm > 0", name=op.f("ck_measurement_tempo_bpm_above")),
            sa.ForeignKeyConstraint(
                ["audio_file_id"],
                ["audio_file.id"],
                name=op.f("fk_measurement_audio_file_id"),
                ondelete="CASCADE",
            ),
            sa.PrimaryKeyConstraint("id", name=op.f("pk_measurement")),
            sa.UniqueConstraint("audio_file_id", name=op.f("uq_measurement_audio_file_id")),
            sqlite_autoincrement=True,
        )
        with op.batch_alter_table("measurement", schema=None) as batch_op:
            batch_op.create_index(
                batch_op.f("ix_measurement_audio_file_id"), ["audio_file_id"], unique=False
            )
    with op.batch_alter_table("audio_file", schema=None) as batch_op:
        batch_op.add_column(sa.Column("description", sa.Text(), server_default="", nullable=False))
        batch_op.add_column(sa.Column("originator", sa.Text(), server_default="", nullable=False))
        batch_op.add_column(
            sa.Column("originated_at", sa.Text(), server_default="", nullable=False)
        )
        batch_op.add_column(sa.Column("time_reference", sa.BigInteger(), nullable=True))
        batch_op.add_column(sa.Column("loudness_lufs", sa.Float(), nullable=True))
        batch_op.add_column(sa.Column("loudness_range_lu", sa.Float(), nullable=True))
        batch_op.add_column(sa.Column("max_true_peak_dbtp", sa.Float(), nullable=True))
        batch_op.add_column(sa.Column("ixml_take", sa.Text(), server_default="", nullable=False))
        batch_op.add_column(sa.Column("ixml_note", sa.Text(), server_default="", nullable=False))
        batch_op.add_column(sa.Column("ixml_circled", sa.Boolean(), nullable=True))
        batch_op.add_column(sa.Column("microphone", sa.Text(), server_default="", nullable=False))
    bring_columns_back("audio_file", COLUMNS)


def downgrade() -> None:
    put_columns_away("audio_file", COLUMNS)
    with op.batch_alter_table(
        "audio_file", table_kwargs={"sqlite_autoincrement": True}
    ) as batch_op:
        for column in COLUMNS:
            batch_op.drop_column(column)
    put_away(*TABLES)
