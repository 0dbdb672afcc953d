"""Deliverables, recall with photographs, and where else files lie."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa
from alembic import op

from logbook.store.keeping import bring_back, put_away

revision = "0018"
down_revision = "0017"
TABLES = ("deliverable", "recall", "photograph", "file_copy")
_ONE_OWNER = (
    "(CASE WHEN session_id IS NULL THEN 0 ELSE 1 END)"
    " + (CASE WHEN part_id IS NULL THEN 0 ELSE 1 END) = 1"
)


def upgrade() -> None:
    if bring_back(*TABLES):
        return
    _table(
        "deliverable",
        ["version"],
        _said("kind"),
        *_texts("mix"),
        sa.Column("rate_hz", sa.BigInteger(), nullable=True),
        sa.Column("depth_bits", sa.Integer(), nullable=True),
        _said("status"),
        *_texts("delivered_to", "delivered_on", "files", "notes"),
        sa.CheckConstraint("trim(kind) <> ''", name=op.f("ck_deliverable_kind_said")),
        sa.CheckConstraint("rate_hz > 0", name=op.f("ck_deliverable_rate_hz_above")),
        sa.CheckConstraint("depth_bits > 0", name=op.f("ck_deliverable_depth_bits_above")),
        sa.CheckConstraint(
            "status IN ('wanted', 'in work', 'ready', 'delivered', 'not wanted')",
            name=op.f("ck_deliverable_status_known"),
        ),
    )
    _table(
        "recall",
        ["session", "part"],
        _said("device"),
        *_texts("settings", "used_for", "notes"),
        sa.CheckConstraint("trim(device) <> ''", name=op.f("ck_recall_device_said")),
    )
    _table(
        "photograph",
        ["session", "part"],
        _said("path"),
        *_texts("device", "caption", "digest"),
        sa.CheckConstraint("trim(path) <> ''", name=op.f("ck_photograph_path_said")),
    )
    _table(
        "file_copy",
        ["audio_file"],
        *_texts("medium"),
        _said("place"),
        *_texts("digest", "verified_at"),
        sa.CheckConstraint("trim(place) <> ''", name=op.f("ck_file_copy_place_said")),
    )


def _said(name: str) -> sa.Column[Any]:
    return sa.Column(name, sa.Text(), nullable=False)


def _numbers(*names: str) -> list[sa.Column[Any]]:
    return [sa.Column(each, sa.Integer(), nullable=True) for each in names]


def _texts(*names: str) -> list[sa.Column[Any]]:
    return [sa.Column(each, sa.Text(), server_default="", nullable=False) for each in names]


def _table(name: str, owners: list[str], *rest: sa.Column[Any] | sa.CheckConstraint) -> None:
    several = len(owners) > 1
    checks = [sa.CheckConstraint(_ONE_OWNER, name=op.f(f"ck_{name}_one_owner"))] if several else []
    op.create_table(
        name,
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        *(sa.Column(f"{each}_id", sa.Integer(), nullable=several) for each in owners),
        *rest,
        *checks,
        *(
            sa.ForeignKeyConstraint(
                [f"{each}_id"],
                [f"{each}.id"],
                name=op.f(f"fk_{name}_{each}_id"),
                ondelete="CASCADE",
            )
            for each in owners
        ),
        sa.PrimaryKeyConstraint("id", name=op.f(f"pk_{name}")),
        sqlite_autoincrement=True,
    )
    for each in owners:
        op.create_index(op.f(f"ix_{name}_{each}_id"), name, [f"{each}_id"])


def downgrade() -> None:
    put_away(*TABLES)
