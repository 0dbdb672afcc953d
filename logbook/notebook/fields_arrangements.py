"""Arrangements, as both doors say them.

Lines: an arranged section is `chorus`, `chorus x2`, `verse 4 bars`, `outro from chorus 4 bars` or
`bridge vamp`.
"""

from __future__ import annotations

import re
from typing import Any

from logbook.errors import LogbookError
from logbook.notebook import values
from logbook.notebook.declare import Collection, Context, Field, Line, Noun, Record, Value
from logbook.notebook.fields_parts import part_name
from logbook.notebook.fields_people import NOTES
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
    members=(
        Field(key="name", read=values.name, help="what it is called", example="chorus"),
        Field(
            key="source",
            read=_section_name,
            help="the version's section it comes from (empty: new)",
            example="chorus",
        ),
        Field(
            key="bars",
            read=values.maybe(_bars),
            help="its length (empty: as recorded)",
            example="8",
        ),
        Field(key="times", read=_times, help="how often it is played", example="2"),
        Field(
            key="vamp",
            read=values.yes_no,
            help="goes round until the cue",
            example="true",
            flag=True,
        ),
        Field(
            key="bpm",
            read=values.maybe(read_bpm),
            write=values.short,
            help="tempo from here on",
            example="84",
        ),
        Field(key="unit", read=read_unit, help="the note value of a beat", example="1/4"),
        Field(
            key="ramp",
            read=values.yes_no,
            help="moves evenly to the next tempo",
            example="true",
            flag=True,
        ),
        Field(key="cue", read=values.text, help="what tells players to go on", example="nod"),
        NOTES,
    ),
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
    members=(
        Field(key="part", read=part_name, help="the version's part", example="guitar"),
        Field(
            key="player", read=values.known("person"), help="who plays it", example="Ada Fenrush"
        ),
        Field(
            key="instrument",
            read=values.known("instrument"),
            help="on which instrument",
            example="the larch guitar",
        ),
        Field(key="tuning", read=tuning_name, help="in which tuning", example="standard"),
        Field(
            key="capo",
            read=_arranged_capo,
            help="with which capo, 0 for none (not said: as recorded)",
            example="3",
        ),
        Field(
            key="way",
            read=values.one_of("same shapes", "retuned", "new shapes"),
            help="how it gets to the new key",
            example="same shapes",
        ),
        Field(
            key="left_out",
            read=values.yes_no,
            help="not played",
            example="true",
            flag=True,
        ),
        Field(
            key="written_for",
            read=_written_for,
            help="a transposing instrument's pitch: Bb, Eb, F, octave",
            example="Bb",
        ),
        NOTES,
    ),
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
    members=(
        Field(key="name", read=values.name, help="what it is called", example="pub"),
        Field(key="purpose", read=values.text, help="what it is for", example="live"),
        Field(key="key", read=key_name, help="its key (empty: as recorded)", example="C"),
        Field(
            key="bpm",
            read=values.maybe(read_bpm),
            write=values.short,
            help="its tempo (empty: as recorded)",
            example="84",
        ),
        Field(key="unit", read=read_unit, help="the note value of a beat", example="1/4"),
        Field(
            key="count_in",
            names=("count_in_bars",),
            read=values.whole(0, 16),
            help="bars clicked before bar one",
            example="1",
        ),
        NOTES,
        Collection(
            attribute="sections",
            noun="arranged-section",
            keys=("sections", "section", "form"),
            whole=True,
        ),
        Collection(attribute="parts", noun="arranged-part", keys=("parts", "part")),
    ),
)
