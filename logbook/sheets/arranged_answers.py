"""Answers about an arrangement: what differs from the record, ways to a key, a singer's keys."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from logbook.arranging.adaptations import Adaptation
from logbook.arranging.arrange import ArrangedVersion
from logbook.arranging.difference import differences, kept_text
from logbook.arranging.singers import VOICE_CAUTION, SingersAnswer
from logbook.sheets.arranged_data import singer_data, way_data
from logbook.sheets.blocks import Block, Facts, Heading, Items, Paragraph, Table
from logbook.sheets.looks import Sheet, Wanted
from logbook.strings.stretch import STRAIN_CAUTION, WIDE_MM


class AskedDifferences(NamedTuple):
    """What differs between an arrangement and the record is asked for."""

    arranged: ArrangedVersion


class AskedWays(NamedTuple):
    """The ways of a part to a key; `keys` says from which to which."""

    title: str
    keys: str
    ways: tuple[Adaptation, ...]


def build(subject: AskedDifferences | AskedWays | SingersAnswer, wanted: Wanted) -> Sheet:
    """Return the answer, ready to be drawn."""
    del wanted
    if isinstance(subject, AskedDifferences):
        return _differences(subject.arranged)
    if isinstance(subject, AskedWays):
        return _ways(subject)
    return _singer(subject)


def _differences(arranged: ArrangedVersion) -> Sheet:
    found = differences(arranged)
    title = f"{arranged.title}, against the record"
    head = ("what", "on the record", "now")
    rows = tuple((each.about, each.recorded, each.now) for each in found)
    return Sheet(
        "differences",
        title,
        [each._asdict() for each in found],
        (Heading(2, title, quiet=True), difference_block(arranged)),
        (head, *rows),
    )


def difference_block(arranged: ArrangedVersion) -> Block:
    """What differs from the record, an item each."""
    found = differences(arranged)
    if not found:
        return Paragraph("nothing: it is played as recorded")
    return Items(tuple(each.text for each in found))


def _ways(asked: AskedWays) -> Sheet:
    title = f"{asked.title}: the ways {asked.keys}, the best first"
    blocks: list[Block] = [Heading(2, title, quiet=True), Facts(way_rows(asked.ways))]
    if any(way.possible and way.stretch_mm >= WIDE_MM for way in asked.ways):
        blocks.append(Paragraph(STRAIN_CAUTION))
    head = ("way", "possible", "kept", "open strings", "stretch mm", "highest fret", "why")
    rows = tuple(
        (way.text, "yes" if way.possible else "no", way.kept, way.open_strings,
         round(way.stretch_mm, 1), way.highest_fret, way.why)
        for way in asked.ways
    )  # fmt: skip
    return Sheet("ways", title, [way_data(way) for way in asked.ways], tuple(blocks), (head, *rows))


def way_rows(ways: Sequence[Adaptation]) -> tuple[tuple[str, str], ...]:
    """The ways to a key in their order, each with its figures; impossible ones with why."""
    found = []
    number = 0
    for way in ways:
        if not way.possible:
            named = way.text if way.hands else way.kind
            found.append(("-", f"{named}: not possible; {way.why}"))
            continue
        number += 1
        text = f"{way.text}: {way_figures(way)}"
        text += f", {way.shape_key} shapes" if way.shape_key else ""
        label = f"{number}." if number < 10 else str(number)  # all as wide
        found.append((label, text + (f"; {way.why}" if way.why else "")))
    return tuple(found)


def way_figures(way: Adaptation) -> str:
    """A way's figures in words."""
    count = len(way.hands)
    opened = f"{way.open_strings} open {'string' if way.open_strings == 1 else 'strings'}"
    return (
        f"{kept_text(way.kept, count)}, {opened}, "
        f"widest stretch {way.stretch_mm:.0f} mm, highest fret {way.highest_fret}"
    )


def _singer(answer: SingersAnswer) -> Sheet:
    low, high = answer.comfortable
    title = f"{answer.singer} is comfortable from {low} to {high}"
    blocks: list[Block] = [
        Heading(2, title, quiet=True),
        Paragraph(
            f"The melody goes from {answer.melody[0]} to {answer.melody[1]} on the record, in "
            f"{answer.recorded.key.name}"
        ),
    ]
    head = ("key", "moved", "melody", "room below", "room above")
    rows = tuple(
        (
            each.name,
            f"{each.band_steps:+}",
            f"{each.low} to {each.high}",
            str(each.room_below),
            str(each.room_above),
        )
        for each in answer.keys or answer.nearest
    )
    if answer.nothing:
        blocks += [
            Paragraph(answer.nothing),
            Table(
                (*head[:3], "outside"),
                tuple(
                    (*row[:3], each.outside) for row, each in zip(rows, answer.nearest, strict=True)
                ),
            ),
        ]
    else:
        blocks.append(Table(head, rows))
        if not answer.recorded.fits:
            blocks.append(
                Paragraph(
                    f"The record's own key does not fit: {answer.recorded.name} would be "
                    f"{answer.recorded.outside}."
                )
            )
    blocks.append(Paragraph(VOICE_CAUTION))
    return Sheet("keys", title, singer_data(answer), tuple(blocks), (head, *rows))
