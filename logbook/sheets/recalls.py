"""The recall of a part or a session: how everything stood, and the photographs of it."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, NamedTuple

from logbook.importing.photographs import SeenPhotograph, see
from logbook.records.delivered import name_of
from logbook.records.recalls import Photograph, Recall
from logbook.sheets.blocks import (
    CAUTION,
    Block,
    Facts,
    Heading,
    Items,
    Paragraph,
    Picture,
    Pictures,
)
from logbook.sheets.harmless import harmless
from logbook.sheets.looks import Sheet, Wanted

_STATES = {
    "lost": "is no longer there",
    "changed": "is a different file from the one that was kept",
    "new": "has not been looked at yet: logbook photograph read",
}


class Recalled(NamedTuple):
    """How things stood for one part or session, and the photographs as they are now."""

    heading: str
    aside: str
    recall: tuple[Recall, ...]
    photographs: tuple[SeenPhotograph, ...]


class AskedRecall(NamedTuple):
    """What a recall is of, and what it holds."""

    title: str
    groups: tuple[Recalled, ...]


def build(subject: AskedRecall, wanted: Wanted) -> Sheet:
    """Return a recall, ready to be drawn."""
    del wanted
    blocks: list[Block] = []
    rows: list[tuple[object, ...]] = [("of", "what", "for", "settings", "notes")]
    for group in subject.groups:
        if group.recall or group.photographs:
            blocks += _group(group)
        rows += [
            (group.heading, each.device, each.used_for, each.settings, each.notes)
            for each in group.recall
        ]
    title = f"{subject.title}: recall"
    if not blocks:
        blocks = [Heading(2, title, quiet=True), Paragraph("nothing was written down yet")]
    data = [_data(group) for group in subject.groups]
    return Sheet("recall", title, data, tuple(blocks), tuple(rows))


def _group(group: Recalled) -> list[Block]:
    blocks: list[Block] = [Heading(2, f"{group.heading}: recall", group.aside, quiet=True)]
    if group.recall:
        blocks.append(Facts(tuple((each.device, _said(each)) for each in group.recall)))
    if group.photographs:
        blocks.append(Pictures(tuple(map(_picture, group.photographs))))
    told = tuple(
        f"{name_of(each.photograph.path)} {_STATES[each.state]}"
        for each in group.photographs
        if each.state in _STATES
    )
    return [*blocks, Items(told, CAUTION)] if told else blocks


def recall_said(each: Recall) -> str:
    """How something stood, in a line: "small combo, for the chorus: gain 4"."""
    purpose = f", for {each.used_for}" if each.used_for else ""
    notes = f" ({each.notes})" if each.notes else ""
    return f"{each.device}{purpose}: {each.settings or 'not written down'}{notes}"


def _said(each: Recall) -> str:
    purpose = f"for {each.used_for}: " if each.used_for else ""
    notes = f" ({each.notes})" if each.notes else ""
    return f"{purpose}{each.settings or 'not written down'}{notes}"


def pictures_of(photographs: Iterable[Photograph]) -> tuple[Picture, ...]:
    """Look at photographs where the log says they are, for a page."""
    return tuple(_picture(see(each)) for each in harmless(tuple(photographs)))


def _picture(seen: SeenPhotograph) -> Picture:
    photo = seen.photograph
    caption = ", ".join(filter(None, (photo.device, photo.caption))) or name_of(photo.path)
    # Another picture in its place would show a sound that was not there.
    shown = seen.state in ("there", "new")
    return Picture(caption, photo.path, seen.media if shown else "", seen.data if shown else b"")


def _data(group: Recalled) -> dict[str, Any]:
    return {
        "of": group.heading,
        "recall": [
            {
                "device": each.device,
                "for": each.used_for,
                "settings": each.settings,
                "notes": each.notes,
            }
            for each in group.recall
        ],
        "photographs": [
            {
                "path": each.photograph.path,
                "of": each.photograph.device,
                "caption": each.photograph.caption,
                "digest": each.photograph.digest,
                "state": each.state,
            }
            for each in group.photographs
        ],
    }
