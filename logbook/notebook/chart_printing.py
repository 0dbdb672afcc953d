"""A chart as lines, as `chart_lines` reads them: a section each, in the shortest way to say it."""

from __future__ import annotations

import re
from fractions import Fraction
from functools import lru_cache

from logbook.notebook.chart_lines import HEAD, beat_of, sections_of
from logbook.notebook.declare import Context, Record, Value
from logbook.notebook.time_lines import meter_at
from logbook.records import ChartEntry, FormSection, Version

_PLAIN = re.compile(r"[^\s'@|:%]+")


def write_chart_lines(chart: tuple[Record, ...], context: Context) -> list[Value]:
    """Write a chart as lines, a section each; what stands outside the form has its bar in front."""
    entries = {(each.bar, each.beat): each for each in chart}
    lines: list[Value] = []
    form = sections_of(context)
    charted: list[tuple[FormSection, str]] = []
    left = dict(entries)
    for section in form:
        bars = range(section.start, section.start + section.bars)
        inside = [each for each in left.values() if each.bar in bars]
        for each in inside:
            del left[each.bar, each.beat]
        charted.append((section, _write_bars(bars, inside, context) if inside else ""))
    by_name: dict[str, list[str]] = {}
    for section, body in charted:
        by_name.setdefault(section.name, []).append(body)
    done: set[str] = set()
    for section, body in charted:
        bodies = by_name[section.name]
        if not body or section.name in done:
            continue
        if len(bodies) > 1 and len(set(bodies)) == 1:
            done.add(section.name)
        if all(bodies) and not HEAD.match(f"{section.name}:"):
            lines.append(f"{section.name}: {body}")
        else:
            last = section.start + section.bars - 1
            lines.append(f"{section.start}-{last}: {body}")
    for bar in sorted({each.bar for each in left.values()}):
        inside = [each for each in left.values() if each.bar == bar]
        lines.append(f"{bar}: {_write_bars(range(bar, bar + 1), inside, context)}")
    return lines


def _write_bars(bars: range, entries: list[Record], context: Context) -> str:
    if len(bars) > 1 and entries == [ChartEntry(bar=bars.start)]:
        return "-"
    texts = []
    before: list[tuple[str, str]] | None = None
    by_bar: dict[int, list[Record]] = {}
    for each in entries:
        by_bar.setdefault(each.bar, []).append(each)
    for bar in bars:
        here = by_bar.get(bar, [])
        if len(here) > 1:
            here.sort(key=beat_of)
        sounding = [(each.beat, each.voicing) for each in here]
        if here and sounding == before and not any(each.pattern for each in here):
            texts.append("%")
        else:
            texts.append(_write_bar(bar, here, context))
        before = sounding
    return " | ".join(texts)


def _write_bar(bar: int, entries: list[Record], context: Context) -> str:
    if not entries:
        return "."
    if len(entries) == 1 and entries[0].beat == "1":
        return _entry_text(entries[0])
    beats = meter_at(context.owner(Version), bar).beats
    at = {beat_of(each): _entry_text(each) for each in entries}
    if set(at) <= {1}:
        return at.get(Fraction(1), ".")
    for count in (each for each in range(2, beats + 1) if bar and beats % each == 0):
        places = [1 + Fraction(beats * index, count) for index in range(count)]
        if set(at) <= set(places):
            return " ".join(at.get(place, ".") for place in places)
    return " ".join(text if beat == 1 else f"{beat}:{text}" for beat, text in at.items())


def _entry_text(entry: ChartEntry) -> str:
    label = _quoted(entry.voicing) if entry.voicing else "-"
    return f"{label}@{_quoted(entry.pattern)}" if entry.pattern else label


@lru_cache(maxsize=4096)
def _quoted(label: str) -> str:
    plain = _PLAIN.fullmatch(label) and label not in ("-", ".") and not re.match(r"x\d", label)
    return label if plain else f"'{label}'"
