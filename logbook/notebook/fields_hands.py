"""Voicings and patterns, as both doors say them: what each hand does.

Lines: a voicing is its frets, `Am7 = "x 0 2 0 1 0"`; a pattern is its grid, how it swings if it
does, and its strokes after a colon: `strum = "1/8: D.DU .UDU"`, `lilt = "1/8 swing: DUDU DUDU"`;
of drums a row for each piece: `groove = "1/8: hat x.x.x.x.; snare ..x...x.; kick x...x..."`.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Any

from logbook.errors import LogbookError
from logbook.notebook import values
from logbook.notebook.declare import Context, LineForm, Noun, Value, members_of
from logbook.notebook.part_strings import strung
from logbook.notebook.time_lines import meter_map
from logbook.records import Part, Pattern, Version, Voicing
from logbook.strings.frets import (
    CAPO,
    NUT,
    check_fingers,
    place_frets,
    read_fingers,
    read_frets,
    write_fingers,
)
from logbook.strings.kit import is_kit, kit_text, read_kit
from logbook.strings.ornaments import read_ornaments, write_ornaments
from logbook.strings.picking import grid_text, parse_grid, parse_swing, read_pattern, swing_text
from logbook.theory.compass import looks_like_notes, read_notes
from logbook.theory.symbols import read_symbol
from logbook.timing.meter import Meter

counted = values.one_of(NUT, CAPO, from_nut=NUT, from_capo=CAPO, the_nut=NUT, the_capo=CAPO)


def _counted(context: Context) -> str:
    voicing, part = context.owner(Voicing), context.owner(Part)
    return (voicing.counted if voicing else "") or (part.counted if part else "") or NUT


def _frets(value: Value, context: Context) -> str:
    if isinstance(value, list):
        value = " ".join(values.texts(value, context))
    body = values.text(value, context)
    if not body.strip():
        return ""
    strings = strung(context)
    line = read_frets(body, counted=_counted(context), strings=strings.strings)
    if strings.tuning is not None:
        place_frets(line, strings.tuning, strings.capos, last_fret=strings.last_fret)
    return line.text


def _pitches(value: Value, context: Context) -> str:
    """Read notes with their octaves, low to high; an instrument with frets has frets instead."""
    if isinstance(value, list):
        value = " ".join(values.texts(value, context))
    body = values.text(value, context)
    if not body.strip():
        return ""
    voicing = context.owner(Voicing)
    if voicing is not None and voicing.frets:
        raise LogbookError("a voicing has frets or notes, not both", "leave one of them out")
    return " ".join(name for name, _ in read_notes(body))


def _voicing_line(line: str, context: Context) -> dict[str, Any]:
    if looks_like_notes(line):
        return {"pitches": _pitches(line, context)}
    return {"frets": _frets(line, context)}


def _fingers(value: Value, context: Context) -> str:
    body = values.text(value, context)
    if not body.strip():
        return ""
    strings, voicing = strung(context), context.owner(Voicing)
    fingers = read_fingers(body, strings=strings.strings)
    if voicing and voicing.frets and strings.tuning is not None:
        line = read_frets(voicing.frets, counted=_counted(context), strings=strings.strings)
        check_fingers(fingers, place_frets(line, strings.tuning, strings.capos))
    return write_fingers(fingers)


def _string_numbers(value: Value, context: Context) -> str:
    if isinstance(value, list):
        value = " ".join(values.texts(value, context))
    words = values.text(value, context).replace(",", " ").split()
    count = strung(context).strings
    for word in words:
        if not (word.isascii() and word.isdecimal() and 1 <= int(word) <= (count or 60)):
            raise LogbookError(
                f"{values.shown(word)} is not a string",
                f"number them 1 (highest) to {count}" if count else "string 1 is the highest",
            )
    return ", ".join(str(number) for number in sorted({int(word) for word in words}))


def _ornaments(value: Value, context: Context) -> str:
    if isinstance(value, list):
        value = ", ".join(values.texts(value, context))
    body = values.text(value, context)
    return write_ornaments(read_ornaments(body, strings=strung(context).strings))


def _write_voicing_line(voicing: Voicing, context: Context) -> str | None:
    return voicing.frets or voicing.pitches


def _grid(value: Value, context: Context) -> str:
    return grid_text(parse_grid(values.text(value, context)))


def _feel(value: Value, context: Context) -> str:
    swing = swing_text(parse_swing(values.text(value, context)))
    return "swing" if swing == "swing 2:1" else swing


def _strokes(value: Value, context: Context) -> str:
    body = values.text(value, context).strip()
    pattern = context.owner(Pattern)
    if is_kit(body):
        body = kit_text(body)
    if pattern and pattern.grid:
        _check_strokes(body, pattern.grid, pattern.feel, context)
    return body


def _check_strokes(body: str, grid: str, feel: str, context: Context) -> None:
    """Read the strokes in the version's meters; one that they fit is enough."""
    error: LogbookError | None = None
    for change in meter_map(context.owner(Version)):
        try:
            _read_strokes(body, grid, change.meter, feel)
        except LogbookError as problem:
            error = error or problem
        else:
            return
    if error is not None:
        raise error


@lru_cache(maxsize=1024)
def _read_strokes(body: str, grid: str, meter: Meter, feel: str) -> None:
    """Read strokes to see whether they fit. Raises LogbookError."""
    if is_kit(body):
        read_kit(body, grid, meter, feel)
    else:
        read_pattern(body, grid, meter, feel)


def _parted(line: str) -> tuple[str, str, str]:
    """Part the grid from the strokes; rows of the kit may have colons of their own."""
    for at, letter in enumerate(line):
        if letter == ":" and is_kit(line[at + 1 :]):
            return line[:at], ":", line[at + 1 :]
    return line.rpartition(":")


def _read_pattern_line(line: str, context: Context) -> dict[str, Any]:
    head, colon, strokes = _parted(line)
    grid, _, feel = head.strip().partition(" ")
    if not colon or not grid:
        raise LogbookError(
            f"{values.shown(line)} does not give a grid and strokes",
            'write the grid, a colon and the strokes, as in "1/8: D.DU .UDU"',
        )
    read = {"grid": _grid(grid, context), "feel": _feel(feel, context), "line": strokes.strip()}
    if is_kit(read["line"]):
        read["line"] = kit_text(read["line"])
    _check_strokes(read["line"], read["grid"], read["feel"], context)
    return read


def _write_pattern_line(pattern: Pattern, context: Context) -> str | None:
    feel = "" if pattern.feel == "straight" else f" {pattern.feel}"
    return None if pattern.notes else f"{pattern.grid}{feel}: {pattern.line}"


VOICING = Noun(
    word="voicing",
    plural="voicings",
    record=Voicing,
    key=("label",),
    needs=("label",),
    help="one chord as fingered in a part",
    members=members_of(Voicing, __name__),
    line=LineForm(
        read=_voicing_line,
        write=_write_voicing_line,
        form="FRETS or NOTES",
        example="x 0 2 0 1 0",
    ),
)

PATTERN = Noun(
    word="pattern",
    plural="patterns",
    record=Pattern,
    key=("label",),
    needs=("label", "grid", "line"),
    help="what the picking hand, or a drummer, does in a bar or two",
    members=members_of(Pattern, __name__),
    line=LineForm(
        read=_read_pattern_line,
        write=_write_pattern_line,
        form="GRID: STROKES",
        example="1/8: D.DU .UDU",
    ),
)
