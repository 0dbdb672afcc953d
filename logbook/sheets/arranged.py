"""An arrangement as lines of text a band can read.

The figures come from the other modules of this room; here they are only put into words.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from textwrap import wrap

from logbook.arranging.adaptations import Way
from logbook.arranging.arrange import ArrangedVersion
from logbook.arranging.difference import (
    differences,
    kept_text,
    rounded_tempo,
    tempo_text,
    total_text,
)
from logbook.arranging.form import Passage
from logbook.arranging.lengths import (
    Backing,
    PatternPace,
    backing_of,
    delay_times,
    length_text,
    lengths_of,
    paces_of,
)
from logbook.arranging.parts import PartPlan
from logbook.arranging.singers import VOICE_CAUTION, SingersAnswer, SingersKey
from logbook.arranging.transposing import chords_of, part_interval, written_key
from logbook.records.context import meters_of
from logbook.sheets.arranged_charts import chart_lines, cut, voicing_lines
from logbook.strings.stretch import STRAIN_CAUTION, WIDE_MM
from logbook.timing.tempo import NoteValue

_LABEL = 10


def to_lines(arranged: ArrangedVersion, width: int = 80) -> list[str]:
    """Return the whole arrangement as lines: head, form, parts, charts, what differs."""
    lines = list(_head(arranged, width))
    if arranged.version.form:
        lines += ["", "Form", *_form(arranged, width)]
    if arranged.version.tempos:
        begins = f"at {rounded_tempo(str(arranged.time.starts))}" if arranged.time.starts else ""
        lines += ["", f"Note values in milliseconds {begins}", *value_lines(delay_times(arranged))]
    if arranged.parts:
        lines += ["", "Parts"]
        for plan in arranged.parts:
            lines += _part(plan, arranged, width)
    lines += _charts(arranged, width)
    told = difference_lines(arranged, width)
    lines += ["", "What differs from the record", *told]
    if arranged.remarks:
        lines += ["", "Remarks"]
        for remark in arranged.remarks:
            lines += _hang("  ", remark, width)
    caution = _caution(arranged)
    if caution:
        lines += ["", *wrap(caution, width)]
    return lines


def difference_lines(arranged: ArrangedVersion, width: int = 80) -> list[str]:
    """What differs from the record, a line each."""
    found = differences(arranged)
    if not found:
        return ["  nothing: it is played as recorded"]
    return [
        line
        for each in found
        for line in wrap(each.text, width, initial_indent="  ", subsequent_indent="    ")
    ]


def _head(arranged: ArrangedVersion, width: int) -> Iterator[str]:
    arrangement = arranged.arrangement
    yield arranged.title
    purpose = f"for a {arrangement.purpose} setting" if arrangement.purpose else ""
    purpose = {"live": "for the stage", "lesson": "for a lesson"}.get(arrangement.purpose, purpose)
    yield ", ".join(filter(None, (f"from the version {arranged.recorded.name}", purpose)))
    if arrangement.notes:
        yield from wrap(arrangement.notes, width)
    yield ""
    if arranged.key is not None and arranged.old_key is not None:
        record = f" (record: {arranged.old_key.name}{_moved(arranged.steps)})"
        yield from _row("Key", arranged.key.name + (record if _key_moved(arranged) else ""), width)
    if arranged.version.tempos:
        now, then = tempo_text(arranged.version), tempo_text(arranged.recorded)
        record = f" (record: {then or 'not said'})" if now != then else ""
        yield from _row("Tempo", now + record, width)
    yield from _row(
        "Meter", ", ".join(str(each.meter) for each in meters_of(arranged.version)), width
    )
    if arranged.version.tempos:
        yield from _lengths(arranged, width)


def _key_moved(arranged: ArrangedVersion) -> bool:
    return arranged.key != arranged.old_key


def _moved(steps: int) -> str:
    if not steps:
        return ""
    word = "semitone" if abs(steps) == 1 else "semitones"
    return f", {abs(steps)} {word} {'up' if steps > 0 else 'down'}"


def _lengths(arranged: ArrangedVersion, width: int) -> Iterator[str]:
    lengths = lengths_of(arranged)
    text = total_text(lengths)
    if lengths.recorded is not None:
        text += f" (record: {length_text(lengths.recorded)})"
    count = arranged.arrangement.count_in_bars
    if count:
        word = "bar" if count == 1 else "bars"
        text += f"; count-in {count} {word}, {length_text(lengths.count_in)}"
    yield from _row("Length", text, width)
    backing = backing_of(arranged)
    if backing is not None and (backing.factor != 1 or backing.for_key_cents):
        yield from _row("Backing", backing_text(backing), width)


def backing_text(backing: Backing) -> str:
    """What a backing track needs: stretch, or the pitch change if only played at another speed."""
    words = []
    if backing.factor != 1:
        slower = "slower" if backing.factor > 1 else "faster"
        words.append(f"a recorded track becomes {float(backing.factor):.4f} times as long")
        words.append(f"only played {slower} its pitch moves {backing.cents:+.1f} cents")
    if backing.for_key_cents:
        words.append(f"the key asks for {backing.for_key_cents:+d} cents")
    return "; ".join(words)


def _form(arranged: ArrangedVersion, width: int) -> Iterator[str]:
    by_start = {}
    if arranged.version.tempos:
        sections = iter(lengths_of(arranged).sections)
        by_start = {p.start: next(sections) for p in arranged.form.passages if p.number == 1}
    varied = len({str(each.tempo) for each in by_start.values()}) > 1
    firsts = [each for each in arranged.form.passages if each.number == 1]
    label = max((len(_named(each)) for each in firsts), default=0)
    for passage in firsts:
        name = _named(passage)
        last = passage.start + passage.bars * passage.times - 1
        where = f"bars {passage.start}-{last}" if last > passage.start else f"bar {last}"
        text = f"{where:<12}"
        length = by_start.get(passage.start)
        if length is not None:
            text += f" {length_text(length.seconds):>7}"
            if length.recorded is not None and length.recorded != length.seconds:
                once = " once through" if length.times > 1 else ""
                text += f" (record: {length_text(length.recorded)}{once})"
            if length.recorded is None:
                text += " (new)"
            if varied:
                text += f", from {rounded_tempo(str(length.tempo))}"
        if passage.vamp:
            text += ", a vamp of open length, counted once"
        yield from _hang(f"  {name:<{label}}  ", text, width)
        said = passage.said
        if said is not None:
            for word, note in (("cue: ", said.cue), ("", said.notes)):
                if note:
                    yield from _hang(" " * (label + 4), word + note, width)


def _named(passage: Passage) -> str:
    """A section's name, cut to fit, and how often it is played."""
    return cut(passage.name) + (f" x{passage.times}" if passage.times > 1 else "")


def value_lines(values: Sequence[NoteValue]) -> list[str]:
    """A table of note values: straight, dotted and triplet in milliseconds."""
    lines = [f"  {'':<14}{'straight':>10}{'dotted':>10}{'triplet':>10}"]
    for at in range(0, len(values), 3):
        row = values[at : at + 3]
        cells = "".join(f"{float(each.milliseconds):>10.1f}" for each in row)
        lines.append(f"  {row[0].name:<14}{cells}")
    return lines


def _part(plan: PartPlan, arranged: ArrangedVersion, width: int) -> list[str]:
    if plan.part is None:
        return [f"  {plan.name}: left out"]
    part = plan.part
    head = ", ".join(filter(None, (part.player, part.instrument)))
    lines = _hang("  ", f"{plan.name}: {head}" if head else plan.name, width)
    if plan.after is not None and plan.before is not None:
        tuning = plan.after.tuning
        text = f"{tuning.name} ({tuning.text}), {_capo(plan, now=True)}"
        if plan.after != plan.before:
            was = "" if tuning == plan.before.tuning else f"{plan.before.tuning.name}, "
            text += f"; record: {was}{_capo(plan, now=False)}"
        lines += _hang("    ", text, width)
    if plan.way is not None and plan.way.hands:
        lines += _hang("    ", f"{plan.way.kind}: {way_figures(plan.way)}", width)
    interval = part_interval(arranged, plan)
    if plan.said.written_for and arranged.key is not None:
        key = written_key(arranged.key, interval).name
        lines += _hang("    ", f"written {interval.name}, in {key}", width)
    if plan.said.notes:
        lines += _hang("    ", plan.said.notes, width)
    if arranged.version.tempos:
        for pace in paces_of(arranged):
            if pace.part == plan.name:
                lines += _hang("    ", pace_text(pace), width)
    return lines


def _capo(plan: PartPlan, *, now: bool) -> str:
    rig = plan.after if now else plan.before
    if rig is None or not rig.capos:
        return "no capo"
    return f"capo {' + '.join(capo.text for capo in rig.capos)}"


def pace_text(pace: PatternPace) -> str:
    """How many strokes a second a pattern asks for, and did on the record."""
    text = f"{pace.pattern}: {pace.now:.1f} strokes a second, {pace.fastest:.1f} at its quickest"
    if pace.then is None or pace.then_fastest is None or pace.then == pace.now:
        return text
    return f"{text} (record: {pace.then:.1f} and {pace.then_fastest:.1f})"


def way_figures(way: Way) -> str:
    """A way's figures in words."""
    count = len(way.hands)
    opened = f"{way.open_strings} open {'string' if way.open_strings == 1 else 'strings'}"
    return (
        f"{kept_text(way.kept, count)}, {opened}, "
        f"widest stretch {way.stretch_mm:.0f} mm, highest fret {way.highest_fret}"
    )


def way_lines(ways: Sequence[Way], width: int = 80) -> list[str]:
    """The ways to a key in their order, each with its figures; impossible ones with why."""
    lines = []
    for number, way in enumerate(ways, start=1):
        if not way.possible:
            named = way.text if way.hands else way.kind
            lines += _hang("  -  ", f"{named}: not possible; {way.why}", width)
            continue
        text = f"{way.text}: {way_figures(way)}"
        lines += _hang(f"  {number}. ", text + (f"; {way.why}" if way.why else ""), width)
    wide = any(way.possible and way.stretch_mm >= WIDE_MM for way in ways)
    return lines + (["", *wrap(STRAIN_CAUTION, width)] if wide else [])


def singer_lines(answer: SingersAnswer, width: int = 80) -> list[str]:
    """The keys that fit a singer, the nearest to the record first."""
    low, high = answer.comfortable
    lines = [
        f"{answer.singer} is comfortable from {low} to {high}",
        f"The melody goes from {answer.melody[0]} to {answer.melody[1]} on the record, in "
        f"{answer.recorded.key.name}",
        "",
    ]
    if answer.nothing:
        return [*lines, *wrap(answer.nothing, width)]
    lines.append(f"  {'key':<12}{'moved':>6}  {'melody':<12}{'room below':>12}{'room above':>12}")
    lines += [_key_line(each) for each in answer.keys]
    if not answer.recorded.fits:
        lines += ["", "The record's own key does not fit."]
    return [*lines, "", *wrap(VOICE_CAUTION, width)]


def _key_line(each: SingersKey) -> str:
    notes = f"{each.low} to {each.high}"
    return (
        f"  {each.key.name:<12}{each.steps:>+6}  {notes:<12}{each.room_below:>12}"
        f"{each.room_above:>12}"
    )


def _charts(arranged: ArrangedVersion, width: int) -> list[str]:
    lines: list[str] = []
    shown: dict[tuple[str, ...], str] = {}
    for plan in arranged.parts:
        if plan.part is None:
            continue
        chart = chart_lines(arranged, plan, width)
        if not chart:
            continue
        interval = part_interval(arranged, plan)
        written = f", written {interval.name}" if interval.semitones % 12 else ""
        source = chords_of(arranged, plan).name
        borrowed = f": the chords of {source}" if source != plan.name else ""
        same = shown.get(tuple(chart))
        lines.append("")
        if same:
            lines.append(f"Chart of {plan.name}{written}: the same as that of {same}")
            lines += voicing_lines(arranged, plan, width)
            continue
        shown[tuple(chart)] = plan.name
        lines += [f"Chart of {plan.name}{written}{borrowed}", *chart]
        lines += voicing_lines(arranged, plan, width)
    return lines


def _caution(arranged: ArrangedVersion) -> str:
    wide = any(
        plan.way is not None
        and plan.way.stretch_mm >= WIDE_MM
        and plan.way.kept < len(plan.way.hands)
        for plan in arranged.parts
    )
    return STRAIN_CAUTION if wide else ""


def _row(label: str, text: str, width: int) -> list[str]:
    return _hang(f"{label:<{_LABEL}}", text, width)


def _hang(head: str, text: str, width: int) -> list[str]:
    """Text behind a head, wrapped under itself."""
    lines = wrap(text, max(width - len(head), 20)) or [""]
    return [head + lines[0], *(" " * len(head) + line for line in lines[1:])]
