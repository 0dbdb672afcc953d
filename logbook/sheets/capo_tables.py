"""What each capo position would do: what to read of `strings/capo_table`."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, NamedTuple

from logbook.sheets.blocks import ANSWER_LABELS, Block, Facts, Heading, Paragraph, Table
from logbook.sheets.looks import Sheet, Wanted
from logbook.strings.capo_table import CapoChord, CapoRow
from logbook.strings.stretch import STRAIN_CAUTION

_EXPLAINED = (
    "Shapes counted from the capo. Open: how many strings ring open over one voicing of each "
    "chord; barre: how many of them want one. > is what a player would choose. The capo moves "
    "the shapes and not the key, so the melody stays where it is for the singer."
)
_KEPT = (
    " Kept: recorded voicings that can stay on the same strings with the same notes (moved with "
    "the key); = the very same frets, * kept on other frets."
)


class CapoTable(NamedTuple):
    """One table: of which part it is (empty for a line of chords), its keys and its rows.

    `sung` says what is known of the melody in the key that sounds.
    """

    part: str
    key: str
    new_key: str
    rows: tuple[CapoRow, ...]
    left_out: tuple[str, ...] = ()
    sung: str = ""


class AskedCapo(NamedTuple):
    """The tables wanted; `frets` adds the frets of every chord."""

    tables: tuple[CapoTable, ...]
    frets: bool = False


def build(subject: AskedCapo, wanted: Wanted) -> Sheet:
    """Return what each capo position would do, ready to be drawn."""
    del wanted
    blocks: list[Block] = []
    rows: list[tuple[object, ...]] = []
    for table in subject.tables:
        blocks += _blocks(table, subject.frets)
        rows += (
            (table.part, row.capos, row.shape_key, row.choice, row.why, row.barres,
             row.highest_fret, row.open_strings, row.kept,
             chord.concert, chord.shape, chord.from_capo or "", chord.kept_from_capo or "")
            for row in table.rows for chord in row.chords
        )  # fmt: skip
    recorded = any(_is_recorded(table.rows) for table in subject.tables)
    blocks.append(Paragraph(_EXPLAINED + (_KEPT if recorded else "")))
    blocks.append(Facts((("Caution", STRAIN_CAUTION),), column=ANSWER_LABELS))
    head = ("part", "capo", "shape key", "choice", "why", "barres", "highest fret",
            "open strings", "kept", "sounds", "shape", "from capo",
            "kept from capo")  # fmt: skip
    return Sheet(
        "capo",
        " and ".join(table.part for table in subject.tables if table.part) or "Capo positions",
        [{**table._asdict(), "rows": table_to_dicts(table.rows)} for table in subject.tables],
        tuple(blocks),
        (head, *rows),
    )


def table_to_dicts(rows: Sequence[CapoRow]) -> list[dict[str, Any]]:
    """Return the rows as plain data."""
    return [{**row._asdict(), "chords": [chord._asdict() for chord in row.chords]} for row in rows]


def _is_recorded(rows: Sequence[CapoRow]) -> bool:
    return any(chord.kept is not None for row in rows for chord in row.chords)


def _blocks(table: CapoTable, frets: bool) -> list[Block]:
    rows, recorded = table.rows, _is_recorded(table.rows)
    keyed = any(row.shape_key for row in rows)
    blocks: list[Block] = [Heading(2, table.part, quiet=True)] if table.part else []
    if rows:
        sounding = " ".join(chord.concert for chord in rows[0].chords)
        blocks.append(Facts((("Sounding", sounding),), column=ANSWER_LABELS))
    head = ("capo", "", *(("shape key",) if keyed else ()), "barre", "open",
            *(("kept",) if recorded else ()), "shapes")  # fmt: skip
    cells: list[tuple[str, ...]] = []
    for row in rows:
        shapes = "  ".join(map(_shape, row.chords))
        if row.same_shapes and recorded:
            shapes += "  (the recorded shapes)"
        cells.append(
            (
                "-" if row.capos == "0" else row.capos,
                ">" if row.choice == 1 else "",
                *((row.shape_key,) if keyed else ()),
                str(row.barres),
                str(row.open_strings),
                *((f"{row.kept}/{len(row.chords)}",) if recorded else ()),
                shapes,
            )
        )
        if frets:
            blank = ("",) * (len(head) - 1)
            cells += ((*blank, f"{chord.shape}  {_frets(chord)}") for chord in row.chords)
    blocks.append(Table(head, tuple(cells)))
    best = min(rows, key=lambda row: row.choice, default=None)
    if best is not None:
        where = "no capo" if best.capos == "0" else f"capo {best.capos}"
        shapes = f", {best.shape_key} shapes" if best.shape_key else ""
        blocks.append(Facts((("Choose", f"{where}{shapes}: {best.why}"),), column=ANSWER_LABELS))
    if table.sung:
        blocks.append(Facts((("Sung", table.sung),), column=ANSWER_LABELS))
    if table.left_out:
        left = ", ".join(table.left_out)
        blocks.append(Paragraph(f"Without a chord name, and left out: {left}"))
    return blocks


def _shape(chord: CapoChord) -> str:
    return chord.shape + ("=" if chord.same_shape else "*" if chord.kept else "")


def _frets(chord: CapoChord) -> str:
    frets = chord.from_capo or "not within reach"
    if chord.kept and not chord.same_shape:
        return f"{frets}  kept: {chord.kept_from_capo}"
    return frets
