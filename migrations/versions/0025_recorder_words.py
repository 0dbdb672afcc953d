"""What a recorder calls a file's scene and each of its channels."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from logbook.store.keeping import bring_columns_back, put_columns_away

revision = "0025"
down_revision = "0024"
COLUMNS = ("ixml_scene", "ixml_tracks")


def upgrade() -> None:
    for column in COLUMNS:
        op.add_column("audio_file", sa.Column(column, sa.Text(), server_default="", nullable=False))
    bring_columns_back("audio_file", COLUMNS, "_recorder_words")


def downgrade() -> None:
    put_columns_away("audio_file", COLUMNS, "_recorder_words")
    for column in COLUMNS:
        op.drop_column("audio_file", column)
