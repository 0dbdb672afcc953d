"""Play it to log it: what is heard in a take or in chords held one by one, to be accepted.

A proposal changes nothing. Accepting it is one change, refused where somebody changed the part
meanwhile. Needs the extra `listen`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from logbook.editing.takes import parse_take_id
from logbook.errors import LogbookError
from logbook.listening.extra import require
from logbook.records import Part, Version, Voicing
from logbook.records.part_view import PartView

if TYPE_CHECKING:
    from logbook.store.store import Store

SURE_ENOUGH = 0.5


@dataclass(frozen=True, kw_only=True)
class HeardProposal:
    """What was heard: the part and version as they would be logged, in a sentence and lines."""

    place: PartView
    part: Part
    version: Version
    said: str
    lines: tuple[str, ...]


def propose_take(place: PartView, take: str) -> HeardProposal:
    """The chords of a take, as the part's chart. Raises LogbookError where none is heard."""
    require()
    from logbook.listening.chart_heard import hear_chart
    from logbook.listening.playing import open_recording
    from logbook.notebook.heard_text import chart_lines, heard_part, heard_version

    recording = open_recording(place, parse_take_id(take))
    heard = hear_chart(recording)
    if not any(entry.label for entry in heard.entries):
        raise LogbookError(f"no chord is heard in {recording.path.name}", "play them held once")
    part, version = heard_part(place.part, heard), heard_version(place.version, heard)
    doubtful = [str(entry.bar) for entry in heard.entries if entry.doubtful]
    lines = [*chart_lines(place, version, part), *_voicing_lines(heard.new, heard.sure)]
    if doubtful:
        lines.append(f"doubtful: bar {', '.join(dict.fromkeys(doubtful))}")
    return HeardProposal(
        place=place,
        part=part,
        version=version,
        said=f"heard in take {take}",
        lines=tuple(lines),
    )


def propose_held(place: PartView, path: Path) -> HeardProposal:
    """Chords held once each in a file, as voicings of the part, its chart left alone."""
    require()
    from logbook.listening.held import hear_held

    held = hear_held(path, place)
    labels = [entry.label for entry in held.heard.entries if entry.label]
    if not labels:
        raise LogbookError(f"no chord is heard in {path.name}", "hold each for a second")
    new = [each for each in held.heard.new if held.heard.sure.get(each.label, 0) >= SURE_ENOUGH]
    lines = _voicing_lines(held.heard.new, held.heard.sure)
    unsure = [each.label for each in held.heard.new if each not in new]
    if unsure:
        lines.append(f"too unsure to log: {', '.join(unsure)}")
    return HeardProposal(
        place=place,
        part=replace(place.part, voicings=(*place.part.voicings, *new)),
        version=place.version,
        said=f"heard in {path.name}: {' '.join(labels)}",
        lines=tuple(lines),
    )


def _voicing_lines(voicings: Sequence[Voicing], sure: dict[str, float]) -> list[str]:
    return [f"{each.label} {each.frets}  ({sure.get(each.label, 0):.0%})" for each in voicings]


def log_proposal(store: Store, proposal: HeardProposal, *, who: str | None = None) -> str:
    """Put a proposal into the log as one change, and say so. Raises LogbookError."""
    from logbook.notebook.heard_log import log_heard

    with store.change("room: accept what was heard", who=who) as change:
        log_heard(change, proposal.place, proposal.part, proposal.version)
    if not change.count:
        return "all of it is in the log already"
    return f"logged for {proposal.place.title}"
