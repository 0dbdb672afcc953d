"""What leaves the house of each version: how far it has come, what is missing, what is wrong."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, NamedTuple

from logbook.records.deliverables import Deliverable
from logbook.records.delivered import UNKNOWN, SeenFile, faults_of, missing_kinds, name_of
from logbook.records.songs import Song, Version
from logbook.sheets.blocks import CAUTION, Block, Heading, Items, Paragraph, Table
from logbook.sheets.looks import Sheet, Wanted

_HEAD = ("what", "mix", "Hz", "bits", "status", "to", "on", "file", "notes")


class AskedDeliverables(NamedTuple):
    """Versions with their songs, and what was seen of each file by its path."""

    title: str
    versions: tuple[tuple[Song, Version], ...]
    seen: Mapping[str, SeenFile]


def build(subject: AskedDeliverables, wanted: Wanted) -> Sheet:
    """Return what leaves the house, ready to be drawn."""
    del wanted
    blocks: list[Block] = []
    rows: list[tuple[object, ...]] = [("song", "version", *_HEAD, "faults")]
    data = []
    for song, version in subject.versions:
        faults = {each: tuple(faults_of(each, _look(subject))) for each in version.deliverables}
        missing = missing_kinds(version)
        blocks += _version(song, version, faults, missing, subject)
        rows += [
            (song.title, version.name, *_cells(each), "; ".join(faults[each]))
            for each in version.deliverables
        ]
        data.append(_data(song, version, faults, missing, subject))
    if not blocks:
        blocks.append(Paragraph("no version yet"))
    title = f"{subject.title}: deliverables"
    return Sheet("deliverables", title, data, tuple(blocks), tuple(rows))


def _look(subject: AskedDeliverables) -> Any:
    return lambda path: subject.seen.get(path, UNKNOWN)


def _version(
    song: Song,
    version: Version,
    faults: Mapping[Deliverable, tuple[str, ...]],
    missing: tuple[str, ...],
    subject: AskedDeliverables,
) -> list[Block]:
    blocks: list[Block] = [Heading(2, f"{song.title}, {version.name}: deliverables", quiet=True)]
    cells = [_cells(each) for each in version.deliverables]
    kept = [at for at in range(len(_HEAD)) if at in (0, 4) or any(row[at] for row in cells)]
    if cells:
        head = tuple(_HEAD[at] for at in kept)
        blocks.append(Table(head, tuple(tuple(row[at] for at in kept) for row in cells)))
    told = [f"{_called(each)}: {fault}" for each, own in faults.items() for fault in own]
    told += [
        f"{_called(each)}: {name_of(path)} is not there yet"
        for each in version.deliverables
        for path in each.files
        if each.status in ("wanted", "in work")
        and subject.seen.get(path, UNKNOWN).state == "missing"
    ]
    if told:
        blocks.append(Items(tuple(told), CAUTION))
    left = [_called(e) for e in version.deliverables if e.status in ("wanted", "in work")]
    if left:
        blocks.append(Paragraph(f"Still to be made: {'; '.join(left)}."))
    if missing:
        blocks.append(Paragraph(f"Nothing is said of: {', '.join(missing)}."))
    return blocks


def _called(each: Deliverable) -> str:
    return f"{each.kind}, mix {each.mix}" if each.mix else each.kind


def _cells(each: Deliverable) -> tuple[str, ...]:
    return (
        each.kind,
        each.mix,
        str(each.rate_hz or ""),
        str(each.depth_bits or ""),
        each.status,
        each.delivered_to,
        each.delivered_on,
        ", ".join(map(name_of, each.files)),
        each.notes,
    )


def _data(
    song: Song,
    version: Version,
    faults: Mapping[Deliverable, tuple[str, ...]],
    missing: tuple[str, ...],
    subject: AskedDeliverables,
) -> dict[str, Any]:
    return {
        "song": song.title,
        "version": version.name,
        "deliverables": [
            {
                "kind": each.kind,
                "mix": each.mix,
                "rate_hz": each.rate_hz,
                "depth_bits": each.depth_bits,
                "status": each.status,
                "to": each.delivered_to,
                "on": each.delivered_on,
                "files": [
                    {"path": path, "state": subject.seen.get(path, UNKNOWN).state}
                    for path in each.files
                ],
                "notes": each.notes,
                "faults": list(faults[each]),
            }
            for each in version.deliverables
        ],
        "missing": list(missing),
    }
