"""The names of the nouns' commands, apart from their declarations so that help comes at once.

A test holds this list to `logbook.notebook.nouns`.
"""

from __future__ import annotations

NOUN_COMMANDS: dict[str, tuple[str, str]] = {}
