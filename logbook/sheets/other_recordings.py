"""Another recording of a song on a page: what differs from the chart, section by section.

For a lesson: which chords were played as recorded, which in another voicing, which were others, and
what was left out. What differs and where; no verdict in points.
"""

from __future__ import annotations

from typing import NamedTuple

from logbook.records.context import section_at
from logbook.records.part_view import PartView
from logbook.sheets.blocks import Block, Facts, Heading, Items, Paragraph, Table
from logbook.sheets.looks import Sheet, Wanted


class RecordingBar(NamedTuple):
    """One charted chord in the recording: where, what it is called, what became of it."""

    bar: int
    beat: str
    chart: str
    kind: str
    at_s: float | None
    notes: tuple[str, ...]


class OtherRecording(NamedTuple):
    """A recording held against a part's chart: the key and tempo it has, and those asked for."""

    place: PartView
    recording: str
    played: str
    asked: str
    bars: tuple[RecordingBar, ...]


def build(subject: OtherRecording, wanted: Wanted) -> Sheet:
    """Lay the page out: facts, what differs in each section, and what to play again."""
    place = subject.place
    same = sum(each.kind == "as recorded" for each in subject.bars)
    facts = [
        ("Recording", subject.recording),
        ("Against", place.title),
        ("Played", subject.played),
        *([("Asked for", subject.asked)] if subject.asked else []),
        ("As recorded", f"{same} of {len(subject.bars)} chords"),
    ]
    blocks: list[Block] = [
        Heading(1, f"{place.song.title}: {subject.recording}"),
        Facts(tuple(facts)),
    ]
    names: dict[str, list[RecordingBar]] = {}
    for each in subject.bars:
        section = section_at(place.version, each.bar)
        last = section.start + section.bars - 1 if section else 0
        called = f"{section.name}, bars {section.start}-{last}" if section else "outside the form"
        names.setdefault(called, []).append(each)
    again: list[str] = []
    for called, bars in names.items():
        other = [each for each in bars if each.kind != "as recorded"]
        blocks.append(Heading(2, called))
        if not other:
            blocks.append(Paragraph("As recorded."))
            continue
        again.append(called)
        rows = tuple(
            (
                str(each.bar) if each.beat == "1" else f"{each.bar}, beat {each.beat}",
                each.chart,
                each.kind,
                "" if each.at_s is None else f"{each.at_s:.1f} s",
                " ".join(each.notes),
            )
            for each in other
        )
        blocks.append(Table(("bar", "chart", "in the recording", "at", "notes heard"), rows))
    if again:
        blocks.append(Heading(2, "To listen to again"))
        blocks.append(Items(tuple(again)))
    data = {
        "song": place.song.title,
        "version": place.version.name,
        "part": place.part.name,
        "recording": subject.recording,
        "played": subject.played,
        "asked": subject.asked,
        "bars": [each._asdict() for each in subject.bars],
    }
    return Sheet("recording", f"{place.song.title} {subject.recording}", data, tuple(blocks))
