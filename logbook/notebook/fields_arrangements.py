"""Arrangements, as both doors say them.

Lines: an arranged section is `chorus`, `chorus x2`, `verse 4 bars`, `outro from chorus 4 bars` or
`bridge vamp`.
"""

from __future__ import annotations

import re
from typing import Any

from logbook.errors import LogbookError
from logbook.notebook import values
from logbook.notebook.declare import (
    Context,
    Line,
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

_SECTION = re.compile(
    r"(?P<name>.+?)(?:\s+from\s+(?P<source>.+?))?(?:\s+(?P<bars>\d+)\s*bars?)?"
    r"(?:\s+x\s*(?P<times>\d+))?(?P<vamp>\s+vamp)?",
    re.S | re.I,
)


def _section_names(context: Context) -> list[str]:
    version = context.owner(Version)
    return list(dict.fromkeys(each.name for each in version.form)) if version else []


_section_name = values.among(_section_names, "section")
_times = values.whole(1, 1000)
_bars = values.whole(1, LAST_BAR)


def _read_section(line: str, context: Context) -> dict[str, Any]:
    found = _SECTION.fullmatch(line.strip())
    if found is None:
        raise LogbookError("the section is empty", 'write it as in "chorus x2"')
    name = found["name"]
    if found["source"]:
        source = _section_name(found["source"], context)
    else:
        source = name if name in _section_names(context) else ""
        if not source and not found["bars"]:
            source = name = _section_name(name, context)
    return {
        "name": name,
        "source": source,
        "bars": _bars(found["bars"], context) if found["bars"] else None,
        "times": _times(found["times"], context) if found["times"] else 1,
        "vamp": bool(found["vamp"]),
    }


def _write_section(section: ArrangedSection, context: Context) -> str | None:
    if section.bpm is not None or section.unit or section.ramp or section.cue or section.notes:
        return None
    pieces = [section.name]
    if section.source not in ("", section.name):
        pieces.append(f"from {section.source}")
    if section.bars is not None:
        pieces.append(f"{section.bars} bars")
    if section.times != 1:
        pieces.append(f"x{section.times}")
    return " ".join([*pieces, "vamp"] if section.vamp else pieces)


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
        f"no instrument here is written for in {values.shown(body)}",
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
    line=Line(
        read=_read_section,
        write=_write_section,
        form="NAME [from SECTION] [N bars] [xN] [vamp]",
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
    line=Line(
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
