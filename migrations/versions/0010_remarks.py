"""Notebook lines that nobody could read yet, and chords that nobody has fingered yet."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from logbook.store.keeping import KEPT, bring_back, put_away

revision = "0010"
down_revision = "0009"
TABLES = ("remark",)
UNFINGERED = f"{KEPT}unfingered"


def upgrade() -> None:
    _frets_may_be_missing()
    if bring_back(*TABLES):
        op.execute(
            "UPDATE voicing SET frets = '' WHERE frets = 'x'"
            f" AND id IN (SELECT id FROM {UNFINGERED})"
        )
        op.drop_table(UNFINGERED)
        return
    op.create_table(
        "remark",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("why", sa.Text(), server_default="", nullable=False),
        sa.Column("place", sa.Text(), server_default="", nullable=False),
        sa.Column("written_at", sa.Text(), server_default="", nullable=False),
        sa.Column("settled", sa.Text(), server_default="", nullable=False),
        sa.CheckConstraint("trim(name) <> ''", name=op.f("ck_remark_name_said")),
        sa.CheckConstraint("trim(text) <> ''", name=op.f("ck_remark_text_said")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_remark")),
        sa.UniqueConstraint("name", name=op.f("uq_remark_name")),
        sqlite_autoincrement=True,
    )


def downgrade() -> None:
    op.execute(f"CREATE TABLE {UNFINGERED} AS SELECT id FROM voicing WHERE trim(frets) = ''")
    op.execute("UPDATE voicing SET frets = 'x' WHERE trim(frets) = ''")
    put_away(*TABLES)
    _frets_are_said()


def _frets_may_be_missing() -> None:
    with op.batch_alter_table("voicing", copy_from=_voicing()) as batch_op:
        batch_op.drop_constraint(op.f("ck_voicing_frets_said"), type_="check")


def _frets_are_said() -> None:
    with op.batch_alter_table("voicing", copy_from=_voicing(said=False)) as batch_op:
        batch_op.create_check_constraint(op.f("ck_voicing_frets_said"), "trim(frets) <> ''")


def _voicing(*, said: bool = True) -> sa.Table:
    """The table as it stands, whose checks SQLite does not hand back by itself."""
    checks = [
        sa.CheckConstraint("counted IN ('', 'nut', 'capo')", name=op.f("ck_voicing_counted_known")),
        sa.CheckConstraint("trim(label) <> ''", name=op.f("ck_voicing_label_said")),
    ]
    if said:
        checks.append(sa.CheckConstraint("trim(frets) <> ''", name=op.f("ck_voicing_frets_said")))
    texts = ("name", "counted", "fingers", "avoid", "ring", "ornaments", "notes")
    return sa.Table(
        "voicing",
        sa.MetaData(),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("part_id", sa.Integer(), nullable=False),
        sa.Column("label", sa.Text(), nullable=False),
        sa.Column("frets", sa.Text(), nullable=False),
        *(sa.Column(each, sa.Text(), server_default="", nullable=False) for each in texts),
        *checks,
        sa.ForeignKeyConstraint(
            ["part_id"], ["part.id"], name="fk_voicing_part_id", ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name="pk_voicing"),
        sa.UniqueConstraint("part_id", "label", name="uq_voicing_part_id_label"),
        sa.Index("ix_voicing_part_id", "part_id"),
        sqlite_autoincrement=True,
    )
