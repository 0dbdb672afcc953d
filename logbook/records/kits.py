"""Drum parts: patterns of the kit, and where a part's chart plays them.

A chart names a pattern of the kit as it names a chord: `verse: groove | . | . | fill`.
"""

from __future__ import annotations

from logbook.records.parts import Part, Pattern
from logbook.strings.kit import is_kit


def kit_patterns(part: Part) -> dict[str, Pattern]:
    """The part's patterns that are of the kit, by label."""
    return {each.label: each for each in part.patterns if is_kit(each.line)}


def plays_kit(part: Part) -> bool:
    """Whether the part's chart names a pattern of the kit."""
    known = kit_patterns(part)
    return bool(known) and any(entry.voicing in known for entry in part.chart)
