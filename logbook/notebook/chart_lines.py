"""A chart, a line for each section: which voicing falls where, and which pattern plays it.

    verse:  Am . F G | C | % | C:G@strum
    chorus: @strum F | C | G | Am x2
    outro:  F | 3:G 5/2:Am | -
    45-46:  'Am (high)' | .

A line begins with the section's name, or with the bars it stands at. Bars are parted by "|".

* A bar's entries share its beats evenly: one fills the bar, two get half each, four in 4/4 a beat
  each. "." goes on with what sounds, so `Am . F G` changes on beats 3 and 4; a bar of "." changes
  nothing.
* `3:G` says the beat, which may be a fraction, where an even share will not do.
* "%" plays the bar before it again; "-" is a rest of the part.
* `F@strum` plays the pattern from here on; `@strum` alone is for the entry that follows.
* `x2` at the end plays the whole line twice.
* A name with spaces or signs of this grammar in it stands in single quotes.

A section that comes several times in the form may have one line for all of them, or one each.
A section that has no line is not charted yet: nobody said that the part rests there, nor that a
chord goes on. "-" alone is a rest for the whole of a line, dots alone let the chord before go on
(it is kept as that chord again).
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from functools import lru_cache
from typing import NamedTuple

from logbook.errors import LogbookError
from logbook.names import alike
from logbook.notebook import values
from logbook.notebook.declare import AllRead, Context, Record, Value
from logbook.notebook.time_lines import first_beat, meter_at, reached
from logbook.records import ChartEntry, FormSection, Part, Version
from logbook.records.chord_names import stands_alone
from logbook.timing.bars import parse_range

_TOKEN = re.compile(
    r"(?:(?P<beat>[0-9]+(?:/[0-9]+|\.[0-9]+)?):)?"
    r"(?P<label>'[^']*'|[^\s'@|:]+)?"
    r"(?:@(?P<pattern>'[^']*'|[^\s'@|:]+))?"
)
_WORDS = re.compile(r"(?:'[^']*'|[^\s'])+|'")
_BARS = re.compile(r"(?:'[^']*'|[^|'])+|'|(?<=\|)(?=\|)")
HEAD = re.compile(  # bars that a line begins with
    r"\s*(?P<bars>[0-9]+(?:-[0-9]+)?)\s*:(?P<body>.*)", re.S
)
_TIMES = re.compile(r"(?P<body>.*\S)\s+x(?P<times>[0-9]{1,3})\s*", re.S)
_ONE = Fraction(1)
_FORM = 'write it as in "verse: Am . F G | C | % | G"'


class _Span(NamedTuple):
    """Where a line stands: its first bar and how many bars it has (None: as many as it says)."""

    start: int
    bars: int | None
    called: str


class _Token(NamedTuple):
    """One entry of a bar as written; `stays` is a dot."""

    label: str
    pattern: str
    beat: Fraction | None
    stays: bool = False


_Known = dict[str, _Token]
"""Words that were read in the same chart before."""


def read_chart_lines(items: Sequence[Value], context: Context) -> AllRead:
    """Read chart lines (or the records that tables gave) into entries.

    Lines give them in the order of the bars; tables alone in their own.
    """
    result = AllRead()
    spans = _place(items, context, result)
    known: _Known = {}
    for index, item in enumerate(items):
        if not isinstance(item, str):
            result.records.append(item)
            continue
        for span, body in spans.get(index, ()):
            try:
                result.records += _read_body(body, span, context, known)
            except LogbookError as error:
                result.errors.append((index, error))
                break
    if any(isinstance(item, str) for item in items):
        result.records += _going_on(
            result.records, [span for each in spans.values() for span, _ in each], context
        )
        result.records.sort(key=_place_of)
    return result


def with_line(
    chart: Sequence[ChartEntry], line: str, context: Context
) -> tuple[tuple[ChartEntry, ...], bool]:
    """Return a chart with one line in the place of what stood in its bars, and whether any did.

    The pattern that a section began with stays, where the line says none. Raises LogbookError.
    """
    result = AllRead()
    spans = _place([line], context, result).get(0, [])
    new: list[ChartEntry] = []
    covered: set[int] = set()
    if not result.errors:
        for span, body in spans:
            entries = _read_body(body, span, context, {})
            last = max((entry.bar for entry in entries), default=span.start)
            bars = range(span.start, span.start + span.bars if span.bars else last + 1)
            pattern = next(
                (each.pattern for each in chart if each.bar in bars and each.pattern), ""
            )
            if pattern and entries and not any(each.pattern for each in entries):
                entries[0] = replace(entries[0], pattern=pattern)
            new += entries
            covered |= set(bars)
    if result.errors:
        raise result.errors[0][1]
    kept = [each for each in chart if each.bar not in covered]
    new += _going_on([*kept, *new], [span for span, _ in spans], context)
    ordered = sorted([*kept, *new], key=_place_of)
    return tuple(ordered), len(kept) < len(chart)


def _going_on(
    entries: Sequence[Record], spans: Sequence[_Span], context: Context
) -> list[ChartEntry]:
    """Return the chord before again where a section's line is dots alone, so that it is charted."""
    lined = {bar for span in spans for bar in range(span.start, span.start + (span.bars or 1))}
    again: list[ChartEntry] = []
    for section in sections_of(context):
        bars = range(section.start, section.start + section.bars)
        if section.start not in lined or any(entry.bar in bars for entry in entries):
            continue
        before = [entry for entry in (*entries, *again) if entry.bar < section.start]
        if before:
            last = max(before, key=_place_of)
            again.append(ChartEntry(bar=section.start, beat="1", voicing=last.voicing))
    return again


def _place_of(entry: Record) -> tuple[int, Fraction]:
    return entry.bar, beat_of(entry)


def beat_of(entry: Record) -> Fraction:
    """The beat an entry of a chart stands on."""
    return _ONE if entry.beat == "1" else Fraction(entry.beat)


def sections_of(context: Context) -> list[FormSection]:
    """The sections of the form whose chart this is, in their order."""
    version = context.owner(Version)
    return sorted(version.form, key=lambda each: each.start) if version else []


def _place(
    items: Sequence[Value], context: Context, result: AllRead
) -> dict[int, list[tuple[_Span, str]]]:
    """Say for each line at which bars it stands, once or several times."""
    form = sections_of(context)
    names = sorted({each.name for each in form}, key=len, reverse=True)
    places: dict[int, list[tuple[_Span, str]]] = {}
    by_name: dict[str, list[tuple[int, str]]] = {}
    for index, item in enumerate(items):
        if not isinstance(item, str):
            continue
        try:
            name, body = _head(item, names)
            if name is not None:
                by_name.setdefault(name, []).append((index, body))
                continue
            span, body = _bars_head(item, names)
            places[index] = [(span, body)]
        except LogbookError as error:
            result.errors.append((index, error))
    for name, lines in by_name.items():
        spans = [_Span(each.start, each.bars, name) for each in form if each.name == name]
        if len(lines) == 1:
            places[lines[0][0]] = [(span, lines[0][1]) for span in spans]
        elif len(lines) == len(spans):
            for (index, body), span in zip(lines, spans, strict=True):
                places[index] = [(span, body)]
        else:
            uneven = LogbookError(
                f"{values.shown(name)} has {len(lines)} lines but comes {len(spans)} times",
                "write one line for all of them, or one for each",
            )
            result.errors.append((lines[-1][0], uneven))
    return places


def _head(line: str, names: list[str]) -> tuple[str | None, str]:
    """Part a section's name from what stands in it; None where no section is named."""
    body = line.lstrip()
    for name in names:
        if body.startswith(name) and body[len(name) :].lstrip().startswith(":"):
            return name, body[len(name) :].lstrip()[1:]
    before, colon, after = body.partition(":")
    same = [name for name in names if alike(name, before)]
    return (same[0], after) if colon and same else (None, line)


def _bars_head(line: str, names: list[str]) -> tuple[_Span, str]:
    found = HEAD.fullmatch(line)
    if found is not None:
        bars = parse_range(found["bars"])
        count = len(bars.bars) if "-" in found["bars"] else None
        return _Span(bars.start.bar, count, f"bars {found['bars']}"), found["body"]
    before, colon, _ = line.partition(":")
    if not colon:
        raise LogbookError(f"{values.shown(line)} does not say which section it is", _FORM)
    if not names:
        raise LogbookError(
            f"no section is called {values.shown(before.strip())}",
            "give the version a form first, or write the bars, as in 5-12: Am | F",
        )
    values.exact(before.strip(), names, "section", f"the form has {', '.join(names[:8])}")
    raise AssertionError("an exact name was found before")


def _read_body(body: str, span: _Span, context: Context, known: _Known) -> list[ChartEntry]:
    if body.count("'") % 2:
        raise LogbookError(
            f"a single quote in {values.shown(body.strip())} is never closed",
            "put single quotes around the whole name",
        )
    times = 1
    if found := _TIMES.fullmatch(body):
        body, times = found["body"], int(found["times"])
    bars = [bar.strip() for bar in _BARS.findall(body.strip().strip("|") or ".")]
    if bars == ["-"] and times == 1 and span.bars:
        bars += ["."] * (span.bars - 1)
    tokens = [_WORDS.findall(bar) for bar in bars]
    total = len(bars) * times
    if span.bars is not None and total != span.bars:
        raise LogbookError(
            f"{span.called} has {_bars(span.bars)} but its line has {_bars(total)}",
            'write one entry or more for each bar; "." holds the entry before, "%" repeats the bar'
            " before",
        )
    if not times or total > 10_000:
        raise LogbookError(f"{span.called} is played {times} times", "write x1 or more")
    entries: list[ChartEntry] = []
    for index in range(total):
        bar = span.start + index
        words = tokens[index % len(bars)]
        if words == ["%"]:
            if index == 0:
                raise LogbookError(
                    f'{span.called} begins with "%"', "write out the first bar of a line"
                )
            entries += [
                ChartEntry(bar=bar, beat=each.beat, voicing=each.voicing)
                for each in entries
                if each.bar == bar - 1
            ]
        else:
            entries += _read_bar(bar, words, context, known)
    return entries


def _bars(count: int) -> str:
    return f"{count} bar" if count == 1 else f"{count} bars"


def _read_bar(bar: int, words: list[str], context: Context, known: _Known) -> list[ChartEntry]:
    tokens: list[_Token] = []
    coming = ""
    for word in words:
        token = known.get(word)
        if token is None:
            token = known[word] = _token(word, context)
        if not token.label and token.pattern and not token.stays:
            coming = token.pattern
            continue
        tokens.append(token._replace(pattern=token.pattern or coming) if coming else token)
        coming = ""
    if coming:
        raise LogbookError(
            f'"@{coming}" in bar {bar} has no entry after it', f"write it as in Am@{coming}"
        )
    if len(tokens) == 1 and bar and tokens[0].beat is None:
        (one,) = tokens  # nearly every bar
        entry = ChartEntry(bar=bar, beat="1", voicing=_unquoted(one.label), pattern=one.pattern)
        return [] if one.stays else [entry]
    beats = _beats(bar, tokens, context)
    return [
        ChartEntry(bar=bar, beat=str(beat), voicing=_unquoted(token.label), pattern=token.pattern)
        for beat, token in zip(beats, tokens, strict=True)
        if not token.stays
    ]


def _beats(bar: int, tokens: list[_Token], context: Context) -> list[Fraction]:
    count = len(tokens)
    version = context.owner(Version)
    meter = meter_at(version, bar)
    first = first_beat(version, bar)
    if any(token.beat is not None for token in tokens):
        if any(token.beat is None for token in tokens[1:]):
            raise LogbookError(
                f"bar {bar} gives a beat for some entries but not for others",
                "give one for each but the first, as in Am 3:F 4:G",
            )
        beats = [token.beat or Fraction(1) for token in tokens]
        late = next((beat for beat in beats if not 1 <= beat < meter.beats + 1), None)
        if late is not None:
            raise LogbookError(
                f"there is no beat {late} in bar {bar}", f"a bar of {meter} has {meter.beats}"
            )
        return [reached(version, bar, beat) for beat in beats]
    if any(token.stays for token in tokens):
        # With dots a pick-up may be laid out as the full bar that it ends like.
        first = Fraction(1)
    held = meter.beats + 1 - first
    if count > 1 and (held % count if first == 1 else (held / count).denominator > 4):
        raise LogbookError(
            f"{count} entries do not divide the {held} beats of bar {bar} evenly",
            'hold one with ".", as in Am . F G, or say the beats, as in Am 3:F 4:G',
        )
    # What stands first stands at plain 1, which is where a pick-up begins too.
    beats = [Fraction(1) if not index else first + held / count * index for index in range(count)]
    for beat, token in zip(beats, tokens, strict=True):
        if not token.stays:
            reached(version, bar, beat)
    return beats


@lru_cache(maxsize=4096)
def _token_parts(word: str) -> dict[str, str] | None:
    found = _TOKEN.fullmatch(word)
    return found.groupdict() if found else None


def _token(word: str, context: Context) -> _Token:
    if word == ".":
        return _Token("", "", None, stays=True)
    found = _token_parts(word)
    if found is None or word == "%":
        hint = "%" if "%" in word else word
        raise LogbookError(
            f"{values.shown(hint)} cannot be read in a chart",
            'put a name with spaces or signs in single quotes; "%" stands alone in its bar',
        )
    beat = Fraction(found["beat"]) if found["beat"] and not found["beat"].endswith("/0") else None
    if found["beat"] and not beat:
        raise LogbookError(f"there is no beat {found['beat']}", "count beats from 1")
    part = context.owner(Part)
    label, pattern = found["label"] or "", found["pattern"] or ""
    if part is not None and label not in ("", "-"):
        plain = _unquoted(label)
        if not stands_alone(plain, part):
            _check(plain, [each.label for each in part.voicings], "voicing", part)
    if part is not None and pattern:
        pattern = _unquoted(pattern)
        _check(pattern, [each.label for each in part.patterns], "pattern", part)
    if not label and not pattern:
        raise LogbookError(f"{values.shown(word)} is not a voicing of this part", _FORM)
    return _Token(label, pattern, beat)


def _check(label: str, labels: list[str], what: str, part: Part) -> None:
    if label:
        remedy = f"add it to the {what}s of {part.name}"
        values.exact(label, labels, what, remedy)


def _unquoted(label: str) -> str:
    if label == "-":
        return ""
    return label[1:-1] if label.startswith("'") else label
