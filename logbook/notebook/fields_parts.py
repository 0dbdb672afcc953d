"""Parts and what is said around them, as both doors say them.

Lines: a double is the other part's name, with a pan after a colon; an overdub is `over guitar`,
`17-24` or `over guitar: 17-24`; a reuse is `9-16 again at 41-48`; a technique note is a sentence,
with bars in front if it is not for all of them: `17-24: let the fourth string ring`. Chart lines
are those of `logbook.notebook.chart_lines`.
"""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Any

from logbook.errors import LogbookError
from logbook.names import pick
from logbook.notebook import values
from logbook.notebook.chart_lines import read_chart_lines
from logbook.notebook.chart_printing import write_chart_lines
from logbook.notebook.declare import Context, LineForm, Noun, Value, members_of
from logbook.notebook.fields_files import implied_folder
from logbook.notebook.fields_hands import counted
from logbook.notebook.fields_places import tuning_name
from logbook.notebook.fields_songs import key_name, read_bar, read_beat
from logbook.notebook.fields_takes import implied_session, session, settle_comps, unpack_comps
from logbook.notebook.part_strings import strung
from logbook.notebook.time_lines import first_beat, reached
from logbook.records import (
    ChartEntry,
    Double,
    Overdub,
    Part,
    Reused,
    TechniqueNote,
    Version,
)
from logbook.records.chord_names import stands_alone
from logbook.records.silence import silent_ranges
from logbook.strings.capo import check_capos, read_capos, write_capos
from logbook.timing.bars import parse_range, parse_ranges, ranges_text

_AGAIN = re.compile(r"(?P<source>\S+)\s+again(?:\s+at)?\s+(?P<bars>\S+)", re.I)
_NOTED_BARS = re.compile(
    r"(?P<bars>[0-9][0-9.+/-]*(?:\s*,\s*[0-9][0-9.+/-]*)*)\s*:\s*(?P<text>.*)", re.S
)

bar_range = values.through(parse_range)


def bar_ranges(value: Value, context: Context) -> str:
    """Read one range of bars or several, with commas between."""
    body = values.text(value, context)
    return ranges_text(parse_ranges(body)) if body.strip() else ""


def read_tacet(value: Value, context: Context) -> str:
    """Read where a part does not play: sections by name, or bars, with commas between."""
    if isinstance(value, list):
        value = ", ".join(values.texts(value, context))
    places = [each.strip() for each in values.text(value, context).split(",") if each.strip()]
    version = context.owner(Version)
    for place in places:
        if place[0].isdigit() or (version is not None and version.form):
            silent_ranges(place, version.form if version else ())
    return ", ".join(dict.fromkeys(places))


def capo(value: Value, context: Context) -> str:
    """Read what capos are on; none is empty."""
    capos = read_capos(values.text(value, context))
    strings = strung(context)
    if strings.tuning is not None:
        check_capos(capos, strings.tuning, clear_frets=strings.clear_frets)
    return write_capos(capos) if capos else ""


def _doubled(value: Value, context: Context) -> str:
    if isinstance(value, bool):
        return "doubled" if value else "not doubled"
    return str(_doubled_word(value, context)) or "unknown"


_doubled_word = values.one_of(
    "doubled", "not doubled", "unknown", yes="doubled", no="not doubled", true="doubled",
    false="not doubled", single="not doubled",
)  # fmt: skip


def _part_names(context: Context) -> list[str]:
    version = context.owner(Version)
    logged = [each.name for each in version.parts] if version else []
    return list(dict.fromkeys([*logged, *context.coming]))


part_name = values.among(_part_names, "part")


def _other_part(value: Value, context: Context) -> str:
    name: str = part_name(value, context)
    own = context.owner(Part)
    if own is not None and own.name == name:
        raise LogbookError(f"{name} cannot double itself", "name the other of the two parts")
    return name


def _read_double(line: str, context: Context) -> dict[str, Any]:
    if line in _part_names(context):
        return {"part": _other_part(line, context)}
    name, colon, pan = line.partition(":")
    return {"part": _other_part(name.strip(), context)} | ({"pan": pan.strip()} if colon else {})


def _write_double(double: Double, context: Context) -> str | None:
    if double.notes:
        return None
    return f"{double.part}: {double.pan}" if double.pan else double.part


def _read_overdub(line: str, context: Context) -> dict[str, Any]:
    body = line.strip()
    if not body.casefold().startswith("over "):
        return {"bars": bar_ranges(body, context)}
    name, colon, span = body[5:].rpartition(":")
    if not colon:
        return {"over": part_name(span.strip(), context)}
    return {"over": part_name(name.strip(), context), "bars": bar_ranges(span, context)}


def _write_overdub(overdub: Overdub, context: Context) -> str | None:
    if overdub.session or overdub.notes or not (overdub.over or overdub.bars):
        return None
    if not overdub.over:
        return overdub.bars
    return f"over {overdub.over}" + (f": {overdub.bars}" if overdub.bars else "")


def _read_reused(line: str, context: Context) -> dict[str, Any]:
    found = _AGAIN.fullmatch(line.strip())
    if found is None:
        raise LogbookError(
            f"{values.shown(line)} does not say which bars are repeated where",
            'write it as in "9-16 again at 41-48"',
        )
    return {
        "source": str(parse_range(found["source"])),
        "bars": str(parse_range(found["bars"])),
    }


def _write_reused(reused: Reused, context: Context) -> str | None:
    return None if reused.notes else f"{reused.source} again at {reused.bars}"


def _read_technique(line: str, context: Context) -> dict[str, Any]:
    found = _NOTED_BARS.fullmatch(line)
    if found is None:
        return {"text": values.name(line, context)}
    return {"text": found["text"], "bars": bar_ranges(found["bars"], context)}


def _write_technique(note: TechniqueNote, context: Context) -> str | None:
    return f"{note.bars}: {note.text}" if note.bars else note.text


def chart_entry_voicing(value: Value, context: Context) -> str:
    """Read which voicing a chart names; where none has frets, a chord symbol does alone."""
    part = _part(context)
    labels = [each.label for each in part.voicings]
    body = values.text(value, context).strip()
    if body not in labels and stands_alone(body, part):  # CM7 is not Cm7
        return body
    return pick(body, labels, "voicing") if body else ""


chart_entry_pattern = values.among(
    lambda context: [each.label for each in _part(context).patterns], "pattern"
)


TECHNIQUE_NOTE = Noun(
    word="technique-note",
    plural="technique-notes",
    record=TechniqueNote,
    key=("text", "bars"),
    needs=("text",),
    help="a remark on how something in a part is played",
    members=members_of(TechniqueNote, __name__),
    line=LineForm(
        read=_read_technique,
        write=_write_technique,
        form="[BARS:] TEXT",
        example="17-24: let the fourth string ring",
    ),
)


def _chart_bar(value: Value, context: Context) -> int:
    bar = int(read_bar(value, context))
    first_beat(context.owner(Version), bar)
    return bar


def _chart_beat(value: Value, context: Context) -> str:
    entry = context.owner(ChartEntry)
    beat = read_beat(value, context)
    return str(reached(context.owner(Version), entry.bar if entry else 1, Fraction(beat)))


CHART_ENTRY = Noun(
    word="chart-entry",
    called=lambda entry: f"bar {entry.bar} beat {entry.beat}",
    plural="chart-entries",
    record=ChartEntry,
    key=("bar", "beat"),
    needs=("bar",),
    help="the voicing that starts at a bar and beat",
    members=members_of(ChartEntry, __name__),
)


def _part(context: Context) -> Part:
    return context.owner(Part) or Part(name="")


DOUBLE = Noun(
    word="double",
    plural="doubles",
    record=Double,
    key=("part",),
    help="another part that doubles this one, meant to sound together with it",
    members=members_of(Double, __name__),
    line=LineForm(
        read=_read_double,
        write=_write_double,
        form="PART or PART: PAN",
        example="second guitar: hard right",
    ),
)

OVERDUB = Noun(
    word="overdub",
    called=lambda each: " ".join(
        filter(None, (each.over and f"over {each.over}", each.bars, each.session))
    ),
    plural="overdubs",
    record=Overdub,
    key=("over", "session", "bars"),
    needs=(),
    help="says that this part was added on top",
    members=members_of(Overdub, __name__),
    line=LineForm(
        read=_read_overdub,
        write=_write_overdub,
        form="[over PART:] [BARS]",
        example="over guitar: 17-24",
    ),
)

REUSED = Noun(
    word="reused",
    called=lambda reused: f"{reused.source} again at {reused.bars}",
    plural="reused",
    record=Reused,
    key=("source", "bars"),
    help="says that bars of the finished part are repeated elsewhere",
    members=members_of(Reused, __name__),
    line=LineForm(
        read=_read_reused,
        write=_write_reused,
        form="BARS again at BARS",
        example="9-16 again at 41-48",
    ),
)

PART = Noun(
    word="part",
    plural="parts",
    record=Part,
    key=("name",),
    help="something a player plays on a version",
    members=members_of(Part, __name__),
)
