"""Charts, technique notes and chord names moved along with the arranged form and the new key.

Conventions. Where bars that followed each other no longer do, what went on there is said anew:
the chord and the pattern in force, or that the part rests. New bars have no chart, so a part
rests in them. Names keep the way they were written ("Amin7" becomes "Gmin7"); only root and bass
are moved, spelled by the key they arrive in.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from fractions import Fraction

from logbook.arranging.form import ArrangedForm
from logbook.errors import LogbookError
from logbook.records.parts import ChartEntry, TechniqueNote
from logbook.theory.keys import Key
from logbook.theory.notes import read_note
from logbook.theory.symbols import read_symbol, reads
from logbook.timing.bars import BarPoint, BarRange, parse_ranges, ranges_text
from logbook.timing.meter import parse_meter

_MOST_BEATS = 64


def move_chart(
    chart: Iterable[ChartEntry], form: ArrangedForm, labels: Mapping[str, str] | None = None
) -> tuple[ChartEntry, ...]:
    """Return a part's chart in the arranged form, voicings renamed by `labels`."""
    entries = sorted(chart, key=lambda each: (each.bar, Fraction(each.beat)))
    names = labels or {}
    if form.is_recorded:
        moved: Iterable[ChartEntry] = entries
    else:
        moved = _within_bars(list(_moved(entries, form)), form)
    return tuple(
        ChartEntry(
            bar=each.bar,
            beat=each.beat,
            voicing=names.get(each.voicing, each.voicing),
            pattern=each.pattern,
        )
        for each in moved
    )


def _moved(entries: list[ChartEntry], form: ArrangedForm) -> Iterator[ChartEntry]:
    voicing = pattern = ""  # what is in force where the new chart has got to
    for first, origin, count in form.runs:
        if origin is None:
            if voicing:
                yield ChartEntry(bar=first)
                voicing = ""
            continue
        inside = [each for each in entries if origin <= each.bar < origin + count]
        held = _in_force(entries, origin)
        starts_itself = bool(inside) and inside[0].bar == origin and Fraction(inside[0].beat) == 1
        goes_on = held.voicing == voicing and (held.pattern == pattern or not voicing)
        if not starts_itself and not goes_on:
            again = held.pattern if held.voicing and held.pattern != pattern else ""
            yield ChartEntry(bar=first, voicing=held.voicing, pattern=again)
            voicing, pattern = held.voicing, again or pattern
        in_force = held.pattern
        for each in inside:
            in_force = each.pattern or in_force
            said = each.pattern
            if not said and each.voicing and in_force != pattern:
                said = in_force
            yield ChartEntry(
                bar=each.bar - origin + first, beat=each.beat, voicing=each.voicing, pattern=said
            )
            voicing, pattern = each.voicing, said or pattern


def _within_bars(entries: list[ChartEntry], form: ArrangedForm) -> list[ChartEntry]:
    """The chart without what lies beyond the end of bars that are shorter now.

    A chord that began there and went on is said at the next bar.
    """
    beats = {bar: parse_meter(meter).beats for bar, meter in form.meters.items()}
    beats.update(form.beats)
    kept: list[ChartEntry] = []
    lost: ChartEntry | None = None
    for each in entries:
        at_start = Fraction(each.beat) == 1
        if lost is not None and (each.bar > lost.bar + 1 or not at_start):
            kept.append(ChartEntry(bar=lost.bar + 1, voicing=lost.voicing, pattern=lost.pattern))
        lost = None
        if Fraction(each.beat) >= beats.get(each.bar, _MOST_BEATS) + 1:
            lost = each
        else:
            kept.append(each)
    if lost is not None and lost.bar + 1 in form.origins:
        kept.append(ChartEntry(bar=lost.bar + 1, voicing=lost.voicing, pattern=lost.pattern))
    return kept


def _in_force(entries: list[ChartEntry], bar: int) -> ChartEntry:
    """The voicing and the pattern that go on as a recorded bar begins."""
    voicing = pattern = ""
    for each in entries:
        if each.bar >= bar:
            break
        voicing, pattern = each.voicing, each.pattern or pattern
    return ChartEntry(bar=bar, voicing=voicing, pattern=pattern)


def move_techniques(
    notes: Iterable[TechniqueNote], form: ArrangedForm
) -> tuple[TechniqueNote, ...]:
    """Return technique notes at the bars where they hold now; those whose bars are gone go."""
    if form.is_recorded:
        return tuple(notes)
    moved = []
    for note in notes:
        if not note.bars:
            moved.append(note)
            continue
        places = [new for each in parse_ranges(note.bars) for new in _new_ranges(each, form)]
        if places:
            moved.append(TechniqueNote(text=note.text, bars=ranges_text(sorted(places))))
    return tuple(moved)


def _new_ranges(recorded: BarRange, form: ArrangedForm) -> Iterator[BarRange]:
    """Where recorded bars stand now; a part of a bar at an end keeps its beats."""
    touched = recorded.bars
    for first, origin, count in form.runs:
        if origin is None:
            continue
        start, end = max(origin, touched.start), min(origin + count, touched.stop)
        if start >= end:
            continue
        low = BarPoint(start - origin + first)
        high = BarPoint(end - origin + first)
        if start == recorded.start.bar:
            low = BarPoint(low.bar, recorded.start.beat)
        if end == recorded.end.bar + 1 and recorded.end.beat > 1:
            high = BarPoint(high.bar - 1, recorded.end.beat)
        yield BarRange(low, high)


# Names


def move_name(text: str, steps: int, key: Key | None, old: Key | None = None) -> str:
    """Return a chord name `steps` semitones higher; its root moves by fifths from key to key.

    `key` is the key it arrives in, `old` the one it leaves. Text that is not a chord symbol
    stays as it is, and so does the way the symbol is written where it still reads.
    """
    try:
        symbol = read_symbol(text)
    except LogbookError:
        return text
    start = len(text) - len(text.lstrip())
    read = read_note(text, start)
    if symbol.is_no_chord or read is None:
        return text
    respelled = steps % 12 == 0 and key is not None and old is None
    moved = symbol.respell(key) if respelled and key else symbol.transpose(steps, key, old=old)
    body = text[read.end :].rstrip()
    if symbol.bass is not None or "/" in body:
        cut = max(body.rfind("/"), body.rfind("\\"))
        bass = read_note(body, cut + 1)
        if cut >= 0 and bass is not None and bass.end == len(body):
            body = body[:cut] + body[cut] + (moved.bass or moved.root)
    written = moved.root + body
    # What is written out ("B flat 7", "C on E") does not move by its first letter alone.
    return written if reads(written) and read_symbol(written) == moved else moved.symbol


def is_another_chord(label: str, name: str) -> bool:
    """Whether a label reads as a chord, and as another than the name does."""
    try:
        return read_symbol(label) != read_symbol(name)
    except LogbookError:
        return False


def distinct_labels(names: Mapping[str, str]) -> dict[str, str]:
    """Return new labels by old ones, with a number behind those that would come out alike."""
    moved: dict[str, str] = {}
    taken: set[str] = set()
    for label, plain in names.items():
        name, number = plain, 2
        while name in taken:
            name, number = f"{plain} ({number})", number + 1
        taken.add(name)
        moved[label] = name
    return moved
