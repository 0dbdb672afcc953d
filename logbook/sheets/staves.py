"""A part's notes as a score that an engraver draws: MusicXML of the part alone.

Only parts whose notes are said have one: a melody, chords said in notes, a pattern of the kit.
"""

from __future__ import annotations

from dataclasses import replace

from logbook.arranging.arrange import ArrangedVersion, arrange
from logbook.arranging.musicxml import musicxml_text
from logbook.arranging.pitched import has_notes
from logbook.errors import LogbookError
from logbook.records.arrangements import Arrangement
from logbook.records.context import is_sung
from logbook.records.kits import plays_kit
from logbook.records.log import Log
from logbook.records.parts import Part
from logbook.records.songs import Song, Version


def has_staff(part: Part) -> bool:
    """Whether a part has notes that a staff can show, which no neck shows better."""
    return bool(part.melody) or has_notes(part) or plays_kit(part)


def recorded_staff(log: Log, song: Song, version: Version, part: Part) -> str:
    """Return a recorded part as MusicXML; empty where it has no notes, or they cannot be read."""
    if not has_staff(part):
        return ""
    charted = next((each for each in version.parts if each.chart and each != part), None)
    shown = (part, charted) if charted is not None and not part.chart else (part,)
    plain = replace(version, parts=tuple(replace(each, doubles=()) for each in shown))
    sung = version.lyrics if is_sung(log, part) else ()
    plain = replace(plain, lyrics=sung, arrangements=())
    try:
        return arranged_staff(arrange(log, song, plain, Arrangement(name="")), part.name)
    except LogbookError:
        return ""  # the sheet says elsewhere what cannot be read


def arranged_staff(arranged: ArrangedVersion, name: str) -> str:
    """Return one part of an arrangement as MusicXML; empty where it has no notes to be shown."""
    plans = tuple(each for each in arranged.parts if each.name == name and each.part is not None)
    if not plans or plans[0].part is None or not has_staff(plans[0].part):
        return ""
    return musicxml_text(arranged._replace(parts=plans), repeats=False)
