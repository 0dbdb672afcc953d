"""The errors of this room."""

from __future__ import annotations

from logbook.errors import LogbookError


class CreditError(LogbookError):
    """An identifier, a share or a role is not what it says it is."""
