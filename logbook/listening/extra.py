"""The extra `listen`: whether its libraries are here, and what to say when they are not.

Listening needs numpy, scipy and soundfile (and av for M4A). The rest of the logbook does
without, so nothing in this room is imported before `require` has been asked.
"""

from __future__ import annotations

from importlib.util import find_spec

from logbook.errors import LogbookError

NEEDED = ("numpy", "scipy", "soundfile")
HOW_TO_GET = "pip install 'session-logbook[listen]'"


class ListenExtraMissingError(LogbookError):
    """The libraries of the extra `listen` are not installed."""


class ListeningError(LogbookError):
    """A file cannot be listened to, or holds nothing that could be told."""


def missing() -> list[str]:
    """Names of the needed libraries that are not installed."""
    return [name for name in NEEDED if find_spec(name) is None]


def require() -> None:
    """Raise `ListenExtraMissingError`, with the way to get it, unless the extra is installed."""
    absent = missing()
    if absent:
        raise ListenExtraMissingError(
            f"listening needs {' and '.join(absent)}, which is not installed",
            f"get it with {HOW_TO_GET}",
        )
