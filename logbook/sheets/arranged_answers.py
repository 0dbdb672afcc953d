"""Answers about an arrangement: what differs from the record, ways to a key, a singer's keys."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from logbook.arranging.adaptations import Adaptation
from logbook.arranging.arrange import ArrangedVersion
from logbook.arranging.difference import differences, kept_text
from logbook.arranging.key_table import KeyRow, KeyTable
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


def build(
    subject: AskedDifferences | AskedWays | SingersAnswer | KeyTable, wanted: Wanted
) -> Sheet:
    """Return the answer, ready to be drawn."""
    del wanted
    if isinstance(subject, AskedDifferences):
        return _differences(subject.arranged)
    if isinstance(subject, AskedWays):
        return _ways(subject)
    if isinstance(subject, KeyTable):
        return _key_table(subject)
    return _singer(subject)


def _differences(arranged: ArrangedVersion) -> Sheet:
    found = differences(arranged)
    title = f"{arranged.title}: changes from the recording"
    head = ("what", "on the recording", "now")
    rows = tuple((each.about, each.recorded, each.now) for each in found)
    return Sheet(
        "differences",
        title,
        [each._asdict() for each in found],
        (Heading(2, title, quiet=True), difference_block(arranged)),
        (head, *rows),
    )


def difference_block(arranged: ArrangedVersion) -> Block:
    """Changes from the recording, an item each."""
    found = differences(arranged)
    if not found:
        return Paragraph("unchanged: played as recorded")
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
            f"The melody goes from {answer.melody[0]} to {answer.melody[1]} on the recording, in "
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
                    f"The recording's own key does not fit: {answer.recorded.name} would be "
                    f"{answer.recorded.outside}."
                )
            )
    blocks.append(Paragraph(VOICE_CAUTION))
    return Sheet("keys", title, singer_data(answer), tuple(blocks), (head, *rows))


_SHORT = {"same shapes": "same", "new shapes": "new", "retuned": "retuned"}


def _key_table(table: KeyTable) -> Sheet:
    """All keys, a row each; the best is marked and told in words."""
    title = f"{table.song}, {table.version}: every key"
    head = ("", "key", "moved", *(("melody", "room") if table.singer else ()), *table.parts)
    rows = tuple(_key_row(row, place == table.best) for place, row in enumerate(table.rows))
    best = table.rows[table.best]
    words = [f"Best: {best.key.name}"]
    if best.melody is not None:
        lies = best.melody.outside or "comfortable throughout"
        where = best.melody.name.partition(", ")[2]
        words.append(f"the melody is {lies}" + (f", {where} than the band" if where else ""))
    words += [
        f"{name} {way.text}" + (f" ({way.shape_key} shapes)" if way.shape_key else "")
        if way is not None
        else f"{name} as recorded"
        for name, way in zip(table.parts, best.ways, strict=True)
    ]
    blocks: list[Block] = [Heading(2, title, quiet=True), Table(head, rows)]
    if table.why:
        blocks.append(Paragraph(f"How the melody lies is not known: {table.why}."))
    blocks.append(Paragraph("; ".join(words) + "."))
    if table.parts:
        blocks.append(
            Paragraph(
                "same, new: the same shapes or new ones; +1 or -2: all strings retuned by so many "
                "semitones; c5: capo 5; 4/6: four of six voicings stay fret for fret."
            )
        )
    if table.singer:
        blocks.append(
            Paragraph(
                f"Room is in semitones below and above, within the range of {table.singer}; a "
                "minus is how far the melody lies outside."
            )
        )
        blocks.append(Paragraph(VOICE_CAUTION))
    if any(way is not None and way.stretch_mm >= WIDE_MM for row in table.rows for way in row.ways):
        blocks.append(Paragraph(STRAIN_CAUTION))
    data = {
        "song": table.song,
        "version": table.version,
        "singer": table.singer,
        "keys": [
            {
                "key": row.key.name,
                "moved": row.steps,
                "best": place == table.best,
                "melody": None if row.melody is None else [row.melody.low, row.melody.high],
                "room_below": None if row.melody is None else row.melody.room_below,
                "room_above": None if row.melody is None else row.melody.room_above,
                "octaves": None if row.melody is None else row.melody.octaves,
                "parts": {
                    name: None if way is None else way_data(way)
                    for name, way in zip(table.parts, row.ways, strict=True)
                },
            }
            for place, row in enumerate(table.rows)
        ],
    }
    return Sheet("keys", title, data, tuple(blocks), (head, *rows))


def _key_row(row: KeyRow, is_best: bool) -> tuple[str, ...]:
    cells = [">" if is_best else "", row.key.name, f"{row.steps:+}" if row.steps else "0"]
    if row.melody is not None:
        cells += [
            f"{row.melody.low}-{row.melody.high}",
            f"{row.melody.room_below}, {row.melody.room_above}",
        ]
    return (*cells, *(_way_cell(way) for way in row.ways))


def _way_cell(way: Adaptation | None) -> str:
    """A way in a few signs: "same c5 6/6", "-2 6/6", "new 2/6"."""
    if way is None:
        return "as recorded"
    if not way.possible:
        return "no way"
    words = [f"{way.retuned:+}" if way.retuned else _SHORT[way.kind]]
    if way.rig.capos:
        words.append(f"c{way.capo}")
    return " ".join([*words, f"{way.kept}/{len(way.hands)}"])
