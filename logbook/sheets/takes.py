"""The take list of a song as plain data: what a session assistant would write down.

For each part its takes with number, result, bars, length, punch-ins, files, what listening
measured, and where the comp that counts uses each. Lengths are in seconds.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from logbook.editing.side_by_side import take_facts
from logbook.editing.take_list import TAKE_LIST_HEADER, take_list_rows
from logbook.editing.words import take_said
from logbook.records.files import AudioFile
from logbook.records.part_view import PartView
from logbook.records.parts import Take
from logbook.sheets.blocks import Block, Heading, Items, Paragraph, Table
from logbook.sheets.looks import Sheet, Wanted
from logbook.sheets.measured import Planned, measurement_text, planned_by
from logbook.timing.bars import ranges_text


@dataclass(frozen=True, kw_only=True)
class ListedTake:
    """One take of the list; texts are empty and numbers None where nothing is known."""

    number: int
    session: str
    result: str
    keeper: bool
    bars: str
    length_s: float | None
    tempo_bpm: float | None
    punch_ins: tuple[str, ...]
    used_at: str
    share: str
    began: str
    files: tuple[str, ...]
    shared: tuple[str, ...]
    measured: tuple[str, ...]
    note: str


@dataclass(frozen=True, kw_only=True)
class PartTakes:
    """The takes of one part; `rows` are the same as text, their heading first."""

    song: str
    version: str
    part: str
    takes: tuple[ListedTake, ...]
    rows: tuple[tuple[str, ...], ...]


def build(subject: tuple[PartView, ...], wanted: Wanted) -> Sheet:
    """Return the take lists of parts, ready to be drawn. Raises as `part_takes` does."""
    del wanted
    blocks: list[Block] = []
    rows: list[tuple[object, ...]] = [("part", "keeper", *TAKE_LIST_HEADER[1:])]
    data = []
    for place in subject:
        found = part_takes(place)
        blocks += _blocks(place, found)
        rows += ((place.title, *row) for row in found.rows[1:])
        data.append({key: value for key, value in vars(found).items() if key != "rows"})
    song = subject[0].song.title if subject else ""
    return Sheet("takes", f"{song}: takes", data, tuple(blocks), tuple(rows))


def _blocks(place: PartView, found: PartTakes) -> list[Block]:
    """The list without the columns that nothing stands in, and what was measured."""
    heading = Heading(
        2, place.title, quiet=True, of_version=place.version.name, about=place.part.name
    )
    if not found.takes:
        return [heading, Paragraph("no takes yet")]
    head, *body = found.rows
    kept = [
        at for at in range(len(head)) if at in (1, len(head) - 1) or any(row[at] for row in body)
    ]
    measured = tuple(text for take in found.takes for text in _measured_lines(take))
    shared = tuple(
        f"take {take.number} is also on {', '.join(take.shared)}"
        for take in found.takes
        if take.shared
    )
    return [
        heading,
        Table(
            tuple(head[at] for at in kept),
            tuple(tuple(row[at] for at in kept) for row in body),
            takes=tuple(take_said(take.id, place.takes) for take in place.takes),
        ),
        *([Items(measured)] if measured else []),
        *([Items(shared)] if shared else []),
    ]


def _measured_lines(take: ListedTake) -> list[str]:
    """What was measured of a take, in a line; several microphones are told by their first one."""
    told = [(file, text) for file, text in zip(take.files, take.measured, strict=False) if text]
    if not told:
        return []
    file, text = told[0]
    alike = {each for _, each in told} == {text}
    more = len(told) - 1
    if not more:
        return [f"take {take.number}, {file}: {text}"]
    if alike:
        return [f"take {take.number}, {len(told)} files: {text}"]
    return [f"take {take.number}, {file}: {text}; {more} more in --json"]


def part_takes(place: PartView) -> PartTakes:
    """Work out the take list of a part. Raises LogbookError where its bars cannot be read."""
    bars, takes, survey = place.bars, place.takes, place.survey
    shared = place.recorded.takes
    lines = []
    for take, record, whole in zip(takes, place.part.takes, shared, strict=True):
        facts = take_facts(take, bars, survey)
        implied = facts.implied_tempo if place.version.tempos else None
        lines.append(
            ListedTake(
                number=take.number,
                session=take.session,
                result=record.result,
                keeper=record.result == "keeper",
                bars=str(take.bars) if take.bars else "",
                length_s=float(take.file_seconds) if take.file_seconds is not None else None,
                tempo_bpm=round(float(implied.bpm), 2) if implied else None,
                punch_ins=tuple(str(punch) for punch in take.punch_ins),
                used_at=ranges_text(facts.used_at),
                share=str(facts.share.share) if facts.share else "",
                began=record.clock,
                files=tuple(file.path for file in record.files),
                shared=_shared(record, whole),
                measured=_measured_files(record.files, planned_by(place.version)),
                note=take.note,
            )
        )
    return PartTakes(
        song=place.song.title,
        version=place.version.name,
        part=place.part.name,
        takes=tuple(lines),
        rows=tuple(take_list_rows(takes, bars, survey)),
    )


def _measured_files(files: Sequence[AudioFile], planned: Planned | None) -> tuple[str, ...]:
    """What was measured of each file, empty where nothing was; none where none was."""
    told = tuple(measured_text(file, planned) for file in files)
    return told if any(told) else ()


def _shared(own: Take, whole: Take) -> tuple[str, ...]:
    """The files of others that a take is on too: a room microphone, a whole band."""
    return tuple(
        f"{file.path} ({file.microphone})" if file.microphone else file.path
        for file in whole.files[len(own.files) :]
    )


def measured_text(file: AudioFile, planned: Planned | None = None) -> str:
    """Return what listening found in a file, in a line; empty where nothing was measured."""
    return "" if file.measurement is None else measurement_text(file.measurement, planned)
