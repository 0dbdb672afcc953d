"""What was heard of a part, put into the log as one change: voicings, chart, sections."""

from __future__ import annotations

from typing import TYPE_CHECKING

from logbook.errors import LogbookError
from logbook.records import Part, Version
from logbook.records.part_view import PartView
from logbook.store.editing import edit
from logbook.store.finding import LogPlace as Where
from logbook.store.finding import find
from logbook.store.loading import load
from logbook.store.writing import put

if TYPE_CHECKING:
    from logbook.store.changing import Change


def log_heard(change: Change, place: PartView, part: Part, version: Version) -> None:
    """Write the part's new voicings and chart, and the version's form, as they were heard.

    `place` is the part as it was when it was listened to. Raises LogbookError, changing nothing,
    where somebody has changed it since.
    """
    where = Where(place.song.title, place.version.name, "")
    found = find(change.connection, "part", place.part.name, where)
    (row,) = load(change.connection, "part", f"t.id = {found.id:d}")
    if (row.record.chart, row.record.voicings) != (place.part.chart, place.part.voicings):
        raise LogbookError(
            f"somebody changed {place.title} while it was being listened to; nothing written",
            "check it and run the command again",
        )
    if version.form != place.version.form:
        song = Where(place.song.title, "", "")
        over = find(change.connection, "version", place.version.name, song)
        edit(change, over, {"form": version.form})
    known = {each.label for each in place.part.voicings}
    inside = Where(place.song.title, place.version.name, place.part.name)
    for voicing in part.voicings:
        if voicing.label not in known:
            put(change, voicing, inside)
    if part.chart != place.part.chart:
        edit(change, found, {"chart": part.chart})
