"""Arrangements, as both doors say them.

Lines: an arranged section is `chorus`, `chorus x2`, `verse 3-4`, `verse 4 bars`,
`outro from chorus 4 bars` or `bridge vamp`, its tempo behind it (`at 84`, `at q.=60 ramp`), and
behind commas its moves (`chorus x2, up 2, rit 2 bars to 60`; see `logbook.arranging.moves`).
"""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Any

from logbook.errors import LogbookError
from logbook.notebook import values
from logbook.notebook.declare import (
    Context,
    LineForm,
    Noun,
    Record,
    Value,
    members_of,
)
from logbook.notebook.fields_parts import part_name
from logbook.notebook.fields_places import tuning_name
from logbook.notebook.fields_songs import LAST_BAR, key_name, read_bpm, read_unit
from logbook.records import (
    ArrangedPart,
    ArrangedSection,
    Arrangement,
    Version,
)
from logbook.strings.capo import read_capos, write_capos
from logbook.timing.tempo import parse_tempo, unit_text

_SECTION = re.compile(
    r"(?P<name>.+?)(?:\s+from\s+(?P<source>.+?))?(?:\s+(?P<inside>\d+\s*[-\u2013]\s*\d+))?"
    r"(?:\s+(?P<bars>\d+)\s*bars?)?(?:\s+x\s*(?P<times>\d+))?(?P<vamp>\s+vamp)?"
    r"(?:\s+at\s+(?P<tempo>\S+))?(?P<ramp>\s+ramp)?",
    re.S | re.I,
)


def _section_names(context: Context) -> list[str]:
    version = context.owner(Version)
    return list(dict.fromkeys(each.name for each in version.form)) if version else []


_section_name = values.among(_section_names, "section")
_times = values.whole(1, 1000)
_bars = values.whole(1, LAST_BAR)


def _source_name(value: Value, context: Context) -> str:
    """A section's name, or with its number where there are several: "verse 2"."""
    text = values.text(value, context).strip()
    plain, _, number = text.rpartition(" ")
    if number.isdecimal() and text not in _section_names(context):
        return f"{_section_name(plain, context)} {int(number)}"
    return str(_section_name(text, context))


def _moves(value: Value, context: Context) -> str:
    # Here, for lists and edits of all other nouns come past this module too.
    from logbook.arranging.moves import read_moves

    return read_moves(values.text(value, context)).text


def _read_section(line: str, context: Context) -> dict[str, Any]:
    from logbook.arranging.moves import read_moves

    body, _, behind = line.strip().partition(",")
    found = _SECTION.fullmatch(body.strip())
    if found is None:
        raise LogbookError("the section is empty", 'write it as in "chorus x2"')
    said = ", ".join(filter(None, (found["inside"] and f"bars {found['inside']}", behind.strip())))
    moves = read_moves(said)
    name = found["name"]
    if found["source"]:
        source = _source_name(found["source"], context)
    else:
        source = name if name in _section_names(context) else ""
        if not source and not found["bars"] and not moves.chart:
            source = name = _section_name(name, context)
    fields: dict[str, Any] = {
        "name": name,
        "source": source,
        "bars": _bars(found["bars"], context) if found["bars"] else None,
        "times": _times(found["times"], context) if found["times"] else 1,
        "vamp": bool(found["vamp"]),
        "ramp": bool(found["ramp"]),
        "moves": moves.text,
    }
    if found["tempo"]:
        tempo = parse_tempo(found["tempo"])
        fields["bpm"] = float(tempo.bpm)
        fields["unit"] = str(tempo.unit) if "=" in found["tempo"] else ""
    return fields


def _write_section(section: ArrangedSection, context: Context) -> str | None:
    if section.cue or section.notes:
        return None
    pieces = [section.name]
    if section.source not in ("", section.name):
        pieces.append(f"from {section.source}")
    if section.bars is not None:
        pieces.append(f"{section.bars} bars")
    if section.times != 1:
        pieces.append(f"x{section.times}")
    if section.vamp:
        pieces.append("vamp")
    if section.bpm is not None:
        unit = f"{unit_text(Fraction(section.unit))}=" if section.unit else ""
        pieces.append(f"at {unit}{values.short(section.bpm)}")
    elif section.unit:
        return None
    if section.ramp:
        pieces.append("ramp")
    line = ", ".join(filter(None, (" ".join(pieces), section.moves)))
    try:
        again = _read_section(line, context)
    except LogbookError:
        return None
    # A name may read as something else ("verse 3-4 x2"): then the line would say another section.
    return line if ArrangedSection(**again) == section else None


def _arranged_capo(value: Value, context: Context) -> str | None:
    if value is None:
        return None
    capos = read_capos(values.text(value, context))
    return write_capos(capos) if capos else ""


_WRITTEN = {"Bb": "Bb", "Eb": "Eb", "F": "F", "octave": "octave", "concert": "", "C": "", "": ""}


def _written_for(value: Value, context: Context) -> str:
    body = values.text(value, context).strip().replace("-flat", "b").replace(" flat", "b")
    by_plain: dict[str, Record] = {key.casefold(): each for key, each in _WRITTEN.items()}
    if body.casefold() in by_plain:
        return str(by_plain[body.casefold()])
    raise LogbookError(
        f"{values.shown(body)} is not a transposition",
        "write Bb, Eb, F, octave, or nothing for concert pitch",
    )


ARRANGED_SECTION = Noun(
    word="arranged-section",
    plural="arranged-sections",
    record=ArrangedSection,
    key=(),
    needs=("name",),
    help="one section of an arrangement's form",
    members=members_of(ArrangedSection, __name__),
    line=LineForm(
        read=_read_section,
        write=_write_section,
        form="NAME [from SECTION] [A-B] [N bars] [xN] [vamp] [at TEMPO] [ramp][, MOVE ...]",
        example="chorus x2",
    ),
)

ARRANGED_PART = Noun(
    word="arranged-part",
    plural="arranged-parts",
    record=ArrangedPart,
    key=("part",),
    help="who plays what in an arrangement",
    members=members_of(ArrangedPart, __name__),
    line=LineForm(
        read=lambda line, context: {"part": part_name(line, context)},
        write=lambda part, context: part.part,
        form="PART",
        example="guitar",
    ),
)

ARRANGEMENT = Noun(
    word="arrangement",
    plural="arrangements",
    record=Arrangement,
    key=("name",),
    help="a live or lesson plan made from a version",
    members=members_of(Arrangement, __name__),
)
