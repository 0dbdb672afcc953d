"""The words of a version, as both doors say them.

A line of words is the place where it begins, a colon and the words: `9: the tide comes in`,
`12.3: and goes`. The place may be a section of the form, for its first bar, or a bar of it counted
from its first: `chorus: ...`, `verse 2: ...`, `verse.3: ...`.
"""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Any

from logbook.errors import LogbookError
from logbook.names import alike
from logbook.notebook import values
from logbook.notebook.declare import Context, LineForm, Noun, Value, members_of
from logbook.notebook.fields_songs import read_bar, read_beat
from logbook.notebook.time_lines import first_beat, point, reached
from logbook.records import FormSection, Lyric, Version
from logbook.timing.bars import BarPoint, parse_point

_BAR = re.compile(r"(?:bar\s*)?(?P<point>\d[0-9.+/]*)", re.I)
_SECTION = re.compile(r"(?P<name>.*?\S)(?:\s+(?P<nth>\d{1,3}))?(?:\s*\.\s*(?P<bar>\d{1,4}))?")


def place_of_words(text: str, form: tuple[FormSection, ...]) -> BarPoint:
    """Read where a line of words begins: "9", "9.3", "verse", "verse 2", "verse 2.3" (its bar 3).

    Raises LogbookError where the form has no such place.
    """
    body = text.strip()
    if found := _BAR.fullmatch(body):
        return parse_point(found["point"])
    ordered = sorted(form, key=lambda each: each.start)
    found = _SECTION.fullmatch(body)
    for name, nth in ((body, 1), (found["name"], int(found["nth"] or 1))) if found else ():
        same = [each for each in ordered if alike(each.name, name)]
        bar = 1 if name == body or found is None else int(found["bar"] or 1)
        if 1 <= nth <= len(same) and 1 <= bar <= same[nth - 1].bars:
            return BarPoint(same[nth - 1].start + bar - 1)
    raise LogbookError(
        f"{values.shown(body)} is neither a bar nor a section of the form",
        "say where the line begins, as in 9: or 9.3: or chorus:",
    )


def _lyric_bar(value: Value, context: Context) -> int:
    bar = int(read_bar(value, context))
    first_beat(context.owner(Version), bar)
    return bar


def _lyric_beat(value: Value, context: Context) -> str:
    line = context.owner(Lyric)
    beat = read_beat(value, context)
    return str(reached(context.owner(Version), line.bar if line else 1, Fraction(beat)))


def _read_lyric(line: str, context: Context) -> dict[str, Any]:
    place, colon, words = line.partition(":")
    if not colon:
        raise LogbookError(
            f"{values.shown(line)} does not say in which bar it begins",
            "write the bar, a colon and the words, as in 9: the tide comes in",
        )
    version = context.owner(Version)
    at = place_of_words(place, version.form if version else ())
    return {
        "bar": _lyric_bar(at.bar, context),
        "beat": str(reached(version, at.bar, at.beat)),
        "text": values.name(words.strip(), context),
    }


def _write_lyric(lyric: Lyric, context: Context) -> str | None:
    return None if lyric.notes else f"{point(lyric.bar, lyric.beat)}: {lyric.text}"


LYRIC = Noun(
    word="lyric",
    called=lambda each: f"{point(each.bar, each.beat)}: {each.text}",
    plural="lyrics",
    record=Lyric,
    key=("bar", "beat"),
    needs=("bar", "text"),
    help="a line of a version's words, with the bar it begins in",
    members=members_of(Lyric, __name__),
    line=LineForm(
        read=_read_lyric,
        write=_write_lyric,
        form="BAR[.BEAT]: WORDS",
        example="9: the tide comes in",
    ),
)
