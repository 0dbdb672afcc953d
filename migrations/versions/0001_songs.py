"""People, places, songs and versions."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from logbook.store.keeping import bring_back, put_away

revision = "0001"
down_revision = None
TABLES = (
    "person",
    "session",
    "song",
    "tuning",
    "instrument",
    "share",
    "version",
    "form",
    "meter_change",
    "tempo_change",
)


def upgrade() -> None:
    if bring_back(*TABLES):
        return
    op.create_table(
        "person",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("full_name", sa.Text(), server_default="", nullable=False),
        sa.Column("credited_as", sa.Text(), server_default="", nullable=False),
        sa.Column("other_names", sa.Text(), server_default="", nullable=False),
        sa.Column("isni", sa.Text(), server_default="", nullable=False),
        sa.Column("ipi", sa.Text(), server_default="", nullable=False),
        sa.Column("low", sa.Text(), server_default="", nullable=False),
        sa.Column("high", sa.Text(), server_default="", nullable=False),
        sa.Column("notes", sa.Text(), server_default="", nullable=False),
        sa.CheckConstraint("trim(name) <> ''", name=op.f("ck_person_name_said")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_person")),
        sa.UniqueConstraint("name", name=op.f("uq_person_name")),
        sqlite_autoincrement=True,
    )
    op.create_table(
        "session",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("date", sa.Text(), server_default="", nullable=False),
        sa.Column("end_date", sa.Text(), server_default="", nullable=False),
        sa.Column("place", sa.Text(), server_default="", nullable=False),
        sa.Column("gear", sa.Text(), server_default="", nullable=False),
        sa.Column("file_pattern", sa.Text(), server_default="", nullable=False),
        sa.Column("notes", sa.Text(), server_default="", nullable=False),
        sa.CheckConstraint("trim(name) <> ''", name=op.f("ck_session_name_said")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_session")),
        sa.UniqueConstraint("name", name=op.f("uq_session_name")),
        sqlite_autoincrement=True,
    )
    op.create_table(
        "song",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("title", sa.Text(), nullable=False),
        sa.Column("iswc", sa.Text(), server_default="", nullable=False),
        sa.Column("notes", sa.Text(), server_default="", nullable=False),
        sa.CheckConstraint("trim(title) <> ''", name=op.f("ck_song_title_said")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_song")),
        sa.UniqueConstraint("title", name=op.f("uq_song_title")),
        sqlite_autoincrement=True,
    )
    op.create_table(
        "tuning",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("strings", sa.Text(), nullable=False),
        sa.Column("a4_hz", sa.Float(), nullable=False),
        sa.Column("offset_cents", sa.Float(), nullable=False),
        sa.Column("notes", sa.Text(), server_default="", nullable=False),
        sa.CheckConstraint("trim(name) <> ''", name=op.f("ck_tuning_name_said")),
        sa.CheckConstraint("trim(strings) <> ''", name=op.f("ck_tuning_strings_said")),
        sa.CheckConstraint("a4_hz > 0", name=op.f("ck_tuning_a4_hz_above")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_tuning")),
        sa.UniqueConstraint("name", name=op.f("uq_tuning_name")),
        sqlite_autoincrement=True,
    )
    op.create_table(
        "instrument",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), server_default="", nullable=False),
        sa.Column("owner", sa.Text(), server_default="", nullable=False),
        sa.Column("strings", sa.Integer(), nullable=True),
        sa.Column("scale_mm", sa.Float(), nullable=True),
        sa.Column("frets", sa.Integer(), nullable=True),
        sa.Column("tuning_id", sa.Integer(), nullable=True),
        sa.Column("gauge", sa.Text(), server_default="", nullable=False),
        sa.Column("transposition", sa.Integer(), nullable=True),
        sa.Column("notes", sa.Text(), server_default="", nullable=False),
        sa.CheckConstraint("trim(name) <> ''", name=op.f("ck_instrument_name_said")),
        sa.CheckConstraint("frets >= 0", name=op.f("ck_instrument_frets_least")),
        sa.CheckConstraint("scale_mm > 0", name=op.f("ck_instrument_scale_mm_above")),
        sa.CheckConstraint("strings > 0", name=op.f("ck_instrument_strings_above")),
        sa.ForeignKeyConstraint(
            ["tuning_id"], ["tuning.id"], name=op.f("fk_instrument_tuning_id"), ondelete="RESTRICT"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_instrument")),
        sa.UniqueConstraint("name", name=op.f("uq_instrument_name")),
        sqlite_autoincrement=True,
    )
    with op.batch_alter_table("instrument", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_instrument_tuning_id"), ["tuning_id"], unique=False)

    op.create_table(
        "share",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("song_id", sa.Integer(), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("side", sa.Text(), nullable=False),
        sa.Column("numerator", sa.Integer(), nullable=False),
        sa.Column("denominator", sa.Integer(), nullable=False),
        sa.Column("agreed_on", sa.Text(), server_default="", nullable=False),
        sa.Column("agreed_by", sa.Text(), server_default="", nullable=False),
        sa.Column("notes", sa.Text(), server_default="", nullable=False),
        sa.CheckConstraint("side IN ('writer', 'publisher')", name=op.f("ck_share_side_known")),
        sa.CheckConstraint("denominator > 0", name=op.f("ck_share_denominator_above")),
        sa.CheckConstraint(
            "numerator >= 0 AND numerator <= denominator", name=op.f("ck_share_part_of_one")
        ),
        sa.ForeignKeyConstraint(
            ["person_id"], ["person.id"], name=op.f("fk_share_person_id"), ondelete="RESTRICT"
        ),
        sa.ForeignKeyConstraint(
            ["song_id"], ["song.id"], name=op.f("fk_share_song_id"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_share")),
        sa.UniqueConstraint(
            "song_id", "person_id", "side", name=op.f("uq_share_song_id_person_id_side")
        ),
        sqlite_autoincrement=True,
    )
    with op.batch_alter_table("share", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_share_person_id"), ["person_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_share_song_id"), ["song_id"], unique=False)

    op.create_table(
        "version",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("song_id", sa.Integer(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("key", sa.Text(), server_default="", nullable=False),
        sa.Column("pickup_beats", sa.Text(), server_default="", nullable=False),
        sa.Column("sample_rate_hz", sa.Integer(), nullable=True),
        sa.Column("isrc", sa.Text(), server_default="", nullable=False),
        sa.Column("date", sa.Text(), server_default="", nullable=False),
        sa.Column("bar_one_at", sa.Text(), server_default="", nullable=False),
        sa.Column("a4_hz", sa.Float(), nullable=False),
        sa.Column("melody_low", sa.Text(), server_default="", nullable=False),
        sa.Column("melody_high", sa.Text(), server_default="", nullable=False),
        sa.Column("notes", sa.Text(), server_default="", nullable=False),
        sa.CheckConstraint("trim(name) <> ''", name=op.f("ck_version_name_said")),
        sa.CheckConstraint("a4_hz > 0", name=op.f("ck_version_a4_hz_above")),
        sa.CheckConstraint("sample_rate_hz > 0", name=op.f("ck_version_sample_rate_hz_above")),
        sa.ForeignKeyConstraint(
            ["song_id"], ["song.id"], name=op.f("fk_version_song_id"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_version")),
        sa.UniqueConstraint("song_id", "name", name=op.f("uq_version_song_id_name")),
        sqlite_autoincrement=True,
    )
    with op.batch_alter_table("version", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_version_song_id"), ["song_id"], unique=False)

    op.create_table(
        "form",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("version_id", sa.Integer(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("start", sa.Integer(), nullable=False),
        sa.Column("bars", sa.Integer(), nullable=False),
        sa.Column("notes", sa.Text(), server_default="", nullable=False),
        sa.CheckConstraint("trim(name) <> ''", name=op.f("ck_form_name_said")),
        sa.CheckConstraint("bars > 0", name=op.f("ck_form_bars_above")),
        sa.ForeignKeyConstraint(
            ["version_id"], ["version.id"], name=op.f("fk_form_version_id"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_form")),
        sqlite_autoincrement=True,
    )
    with op.batch_alter_table("form", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_form_version_id"), ["version_id"], unique=False)

    op.create_table(
        "meter_change",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("version_id", sa.Integer(), nullable=False),
        sa.Column("bar", sa.Integer(), nullable=False),
        sa.Column("meter", sa.Text(), nullable=False),
        sa.CheckConstraint("trim(meter) <> ''", name=op.f("ck_meter_change_meter_said")),
        sa.CheckConstraint("bar >= 0", name=op.f("ck_meter_change_bar_least")),
        sa.ForeignKeyConstraint(
            ["version_id"],
            ["version.id"],
            name=op.f("fk_meter_change_version_id"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_meter_change")),
        sa.UniqueConstraint("version_id", "bar", name=op.f("uq_meter_change_version_id_bar")),
        sqlite_autoincrement=True,
    )
    with op.batch_alter_table("meter_change", schema=None) as batch_op:
        batch_op.create_index(
            batch_op.f("ix_meter_change_version_id"), ["version_id"], unique=False
        )

    op.create_table(
        "tempo_change",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("version_id", sa.Integer(), nullable=False),
        sa.Column("bar", sa.Integer(), nullable=False),
        sa.Column("beat", sa.Text(), nullable=False),
        sa.Column("bpm", sa.Float(), nullable=False),
        sa.Column("unit", sa.Text(), server_default="", nullable=False),
        sa.Column("ramp_bpm", sa.Float(), nullable=True),
        sa.Column("ramp_unit", sa.Text(), server_default="", nullable=False),
        sa.Column("ramp_end", sa.Text(), server_default="", nullable=False),
        sa.CheckConstraint(
            "ramp_bpm IS NULL OR ramp_end <> ''", name=op.f("ck_tempo_change_ramp_ends")
        ),
        sa.CheckConstraint("trim(beat) <> ''", name=op.f("ck_tempo_change_beat_said")),
        sa.CheckConstraint("bar >= 0", name=op.f("ck_tempo_change_bar_least")),
        sa.CheckConstraint("bpm > 0", name=op.f("ck_tempo_change_bpm_above")),
        sa.CheckConstraint("ramp_bpm > 0", name=op.f("ck_tempo_change_ramp_bpm_above")),
        sa.ForeignKeyConstraint(
            ["version_id"],
            ["version.id"],
            name=op.f("fk_tempo_change_version_id"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_tempo_change")),
        sa.UniqueConstraint(
            "version_id", "bar", "beat", name=op.f("uq_tempo_change_version_id_bar_beat")
        ),
        sqlite_autoincrement=True,
    )
    with op.batch_alter_table("tempo_change", schema=None) as batch_op:
        batch_op.create_index(
            batch_op.f("ix_tempo_change_version_id"), ["version_id"], unique=False
        )


def downgrade() -> None:
    put_away(*TABLES)
