"""What was heard of a part, in the session file's own words: chart lines, voicings, patterns."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from logbook.listening.charts import HeardChart
from logbook.notebook.chart_printing import write_chart_lines
from logbook.notebook.declare import Context
from logbook.notebook.toml_text import key_text, value_text
from logbook.notebook.working_copy import LogKnown
from logbook.records import ChartEntry, FormSection, Part, Version, Voicing
from logbook.records.part_view import PartView


def heard_form(heard: HeardChart) -> tuple[FormSection, ...]:
    """The sections that were heard, as the log has them."""
    return tuple(
        FormSection(name=each.name, start=each.start, bars=each.bars) for each in heard.sections
    )


def heard_version(version: Version, heard: HeardChart) -> Version:
    """The version with the sections that were heard, where it has no form."""
    return version if version.form else replace(version, form=heard_form(heard))


def heard_part(part: Part, heard: HeardChart) -> Part:
    """The part as it would be logged: new voicings added, the bars heard charted anew.

    Patterns stay where they stand; bars that were not listened to stay as they are.
    """
    new = heard.chart()
    bars = {entry.bar for entry in new}
    patterns = {(each.bar, Fraction(each.beat)): each.pattern for each in part.chart}
    kept = [each for each in part.chart if each.bar not in bars]
    charted = [
        replace(each, pattern=patterns.pop((each.bar, Fraction(each.beat)), "")) for each in new
    ]
    # A pattern that changed where no chord does now begins with the next chord of its bar.
    for (bar, beat), pattern in patterns.items():
        if pattern and bar in bars:
            later = [n for n, e in enumerate(charted) if (e.bar, Fraction(e.beat)) >= (bar, beat)]
            if later and not charted[later[0]].pattern:
                charted[later[0]] = replace(charted[later[0]], pattern=pattern)
    chart = sorted([*kept, *charted], key=lambda each: (each.bar, Fraction(each.beat)))
    return replace(part, voicings=(*part.voicings, *heard.new), chart=tuple(chart))


def chart_lines(place: PartView, version: Version, part: Part) -> list[str]:
    """A part's chart as the lines of a session file."""
    context = Context(known=LogKnown(place.log), owners=(place.song, version, part))
    return [str(line) for line in write_chart_lines(part.chart, context)]


def voicing_line(voicing: Voicing) -> str:
    """A voicing as the session file has it: its label, frets and fingers."""
    said = {"frets": voicing.frets}
    if voicing.fingers:
        said["fingers"] = voicing.fingers
    value = value_text(said if len(said) > 1 else voicing.frets)
    return f"{key_text(voicing.label)} = {value}"


def differences(
    old: tuple[ChartEntry, ...], new: tuple[ChartEntry, ...], bars: set[int]
) -> list[tuple[int, Fraction, str, str]]:
    """Where two charts differ in these bars: bar, beat, what is logged and what is heard."""
    before = _sounding(old)
    after = _sounding(new)
    places = sorted({place for place in (*before, *after) if place[0] in bars})
    out = []
    for place in places:
        logged, heard = _at(before, place), _at(after, place)
        if logged != heard:
            out.append((*place, logged, heard))
    return out


def _sounding(chart: tuple[ChartEntry, ...]) -> dict[tuple[int, Fraction], str]:
    return {(each.bar, Fraction(each.beat)): each.voicing for each in chart}


def _at(chart: dict[tuple[int, Fraction], str], place: tuple[int, Fraction]) -> str:
    found = [each for each in chart if each <= place]
    return chart[max(found)] if found else ""
