"""Columns on SQLite hold only what they are declared as.

The rules follow from the tables as they stand, and `logbook.store.holding` sets them whenever a log
is brought up to date; this revision has older logs come past there.
"""

from __future__ import annotations

revision = "0021"
down_revision = "0020"


def upgrade() -> None:
    """Nothing else: see above."""


def downgrade() -> None:
    """Nothing else: the rules are taken out before any table is changed."""
