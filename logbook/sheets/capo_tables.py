"""A capo table as data and as lines: what to read of `capo_table`."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from logbook.sheets.voicings import hang
from logbook.strings.capo_table import CapoChord, CapoRow
from logbook.strings.stretch import STRAIN_CAUTION

_EXPLAINED = (
    "Shapes counted from the capo. Open: how many strings ring open over one voicing of each chord."
)
_KEPT = (
    " Kept: recorded voicings that can stay on the same strings with the same notes (moved with "
    "the key); = the very same frets, * kept on other frets."
)


def table_to_dicts(rows: Sequence[CapoRow]) -> list[dict[str, Any]]:
    """Return the rows as plain data."""
    return [{**row._asdict(), "chords": [chord._asdict() for chord in row.chords]} for row in rows]


def table_to_lines(rows: Sequence[CapoRow], *, width: int = 80, frets: bool = False) -> list[str]:
    """Return the table in at most `width` columns; `frets` adds the frets of every chord.

    A row is capo, shape key, strings that ring open, voicings kept where any were recorded, and
    the shapes.
    """
    recorded = any(chord.kept is not None for row in rows for chord in row.chords)
    keyed = any(row.shape_key for row in rows)
    lines: list[str] = []
    if rows:
        concert = " ".join(chord.concert for chord in rows[0].chords)
        lines += [*hang("Sounding", concert, width), ""]
    broad = max((len(_capo(row)) for row in rows), default=4)
    head = (
        "Capo".ljust(max(broad, 4) + 2)
        + ("Shape key   " if keyed else "")
        + "Open  "
        + ("Kept  " if recorded else "")
    )
    lines.append(f"{head}Shapes")
    for row in rows:
        count = len(row.chords)
        front = f"{_capo(row):>{max(broad, 4)}}  " + (f"{row.shape_key:<10}  " if keyed else "")
        front += f"{row.open_strings:>4}  " + (f"{f'{row.kept}/{count}':<4}  " if recorded else "")
        shapes = [_shape(chord) for chord in row.chords]
        if row.same_shapes and recorded:
            shapes.append("(the recorded shapes)")
        lines += _wrapped(front, shapes, width)
        if frets:
            lines += [f"{'':6}{chord.shape:<8} {_frets(chord)}" for chord in row.chords]
    lines += ["", *hang("", (_EXPLAINED + (_KEPT if recorded else "")), width)]
    return [*lines, *hang("Caution", STRAIN_CAUTION, width)]


def _capo(row: CapoRow) -> str:
    return "-" if row.capos == "0" else row.capos.replace("on strings", "@")


def _shape(chord: CapoChord) -> str:
    return chord.shape + ("=" if chord.same_shape else "*" if chord.kept else "")


def _frets(chord: CapoChord) -> str:
    frets = chord.from_capo or "not within reach"
    if chord.kept and not chord.same_shape:
        return f"{frets:<17} kept: {chord.kept_from_capo}"
    return frets


def _wrapped(front: str, words: Sequence[str], width: int) -> list[str]:
    lines = [front.rstrip()]
    line = front
    for number, word in enumerate(words):
        if number and len(line) + len(word) > width:
            lines.append(" " * len(front))
            line = lines[-1]
        line += word + "  "
        lines[-1] = line.rstrip()
    return lines
