"""An arrangement as a band reads it: head, form, parts, charts, what differs from the record.

The figures come from the arranging room; here they are only put into words.
"""

from __future__ import annotations

from collections.abc import Sequence

from logbook.arranging.arrange import ArrangedVersion
from logbook.arranging.difference import rounded_tempo, tempo_text, total_text
from logbook.arranging.form import Passage
from logbook.arranging.lengths import (
    Backing,
    PatternPace,
    SectionLength,
    backing_of,
    delay_times,
    length_text,
    lengths_of,
    paces_of,
)
from logbook.arranging.parts import PartPlan
from logbook.arranging.road_words import passage_words
from logbook.arranging.transposing import part_interval, written_key
from logbook.records.context import meters_of
from logbook.sheets.arranged_answers import difference_block, way_figures
from logbook.sheets.arranged_charts import chart_blocks
from logbook.sheets.arranged_data import to_data
from logbook.sheets.blocks import Block, Facts, Heading, Items, Paragraph, Table
from logbook.sheets.looks import Sheet, Wanted
from logbook.strings.stretch import STRAIN_CAUTION, WIDE_MM
from logbook.timing.tempo import NoteValue

_LABELS = 10
_LONGEST_NAME = 24


def build(subject: ArrangedVersion, wanted: Wanted) -> Sheet:
    """Return an arrangement, ready to be drawn."""
    del wanted
    rows = (("section", "times", "bars", "seconds", "seconds on the recording", "tempo"),
            *_form_rows(subject))  # fmt: skip
    return Sheet("arrangement", subject.title, to_data(subject), _blocks(subject), rows)


def _blocks(arranged: ArrangedVersion) -> tuple[Block, ...]:
    blocks: list[Block] = _head(arranged)
    if arranged.version.form:
        blocks += [Heading(3, "Form"), _form(arranged)]
    if arranged.version.tempos:
        begins = f" at {rounded_tempo(str(arranged.time.starts))}" if arranged.time.starts else ""
        blocks += [
            Heading(3, f"Note values in milliseconds{begins}"),
            value_table(delay_times(arranged)),
        ]
    if arranged.parts:
        blocks += [Heading(3, "Parts"), *(_part(plan, arranged) for plan in arranged.parts)]
    blocks += chart_blocks(arranged)
    blocks += [Heading(3, "Changes from the recording"), difference_block(arranged)]
    if arranged.remarks:
        blocks += [Heading(3, "Remarks"), Items(arranged.remarks)]
    if _is_wide(arranged):
        blocks.append(Paragraph(STRAIN_CAUTION))
    return tuple(blocks)


def _head(arranged: ArrangedVersion) -> list[Block]:
    arrangement = arranged.arrangement
    purpose = f"for a {arrangement.purpose} setting" if arrangement.purpose else ""
    purpose = {"live": "for the stage", "lesson": "for a lesson"}.get(arrangement.purpose, purpose)
    source = ", ".join(filter(None, (f"from the version {arranged.recorded.name}", purpose)))
    blocks: list[Block] = [Heading(2, arranged.title, quiet=True), Paragraph(source)]
    if arrangement.notes:
        blocks.append(Paragraph(arrangement.notes))
    rows = []
    if arranged.key is not None and arranged.old_key is not None:
        record = f" (recorded: {arranged.old_key.name}{_moved(arranged.steps)})"
        changed = arranged.key != arranged.old_key
        rows.append(("Key", arranged.key.name + (record if changed else "")))
    if arranged.version.tempos:
        now, then = tempo_text(arranged.version), tempo_text(arranged.recorded)
        record = f" (recorded: {then or 'not said'})" if now != then else ""
        rows.append(("Tempo", now + record))
    rows.append(("Meter", ", ".join(str(each.meter) for each in meters_of(arranged.version))))
    if arranged.version.tempos:
        rows += _lengths(arranged)
    return [*blocks, Facts(tuple(rows), column=_LABELS)]


def _moved(steps: int) -> str:
    if not steps:
        return ""
    word = "semitone" if abs(steps) == 1 else "semitones"
    return f", {abs(steps)} {word} {'up' if steps > 0 else 'down'}"


def _lengths(arranged: ArrangedVersion) -> list[tuple[str, str]]:
    lengths = lengths_of(arranged)
    text = total_text(lengths)
    if lengths.recorded is not None:
        text += f" (recorded: {length_text(lengths.recorded)})"
    count = arranged.arrangement.count_in_bars
    if count:
        word = "bar" if count == 1 else "bars"
        text += f"; count-in {count} {word}, {length_text(lengths.count_in)}"
    rows = [("Length", text)]
    backing = backing_of(arranged)
    if backing is not None and (backing.factor != 1 or backing.for_key_cents):
        rows.append(("Backing", backing_text(backing)))
    return rows


def backing_text(backing: Backing) -> str:
    """What a backing track needs: stretch, or the pitch change if only played at another speed."""
    words = []
    if backing.factor != 1:
        done, moves = ("slowed", "drops") if backing.factor > 1 else ("sped up", "raises")
        speed = 100 / float(backing.factor)
        words.append(
            f"a recorded track is {done} to {speed:.4g} %: varispeed {moves} it"
            f" {abs(backing.cents):.0f} cents"
        )
    if backing.for_key_cents:
        words.append(f"the key asks for {backing.for_key_cents:+d} cents")
    return "; ".join(words)


def _firsts(arranged: ArrangedVersion) -> list[Passage]:
    return [each for each in arranged.form.passages if each.number == 1]


def _section_lengths(arranged: ArrangedVersion) -> dict[int, SectionLength]:
    """The length of each section by its first bar; empty without a tempo."""
    if not arranged.version.tempos:
        return {}
    sections = iter(lengths_of(arranged).sections)
    return {passage.start: next(sections) for passage in _firsts(arranged)}


def _form(arranged: ArrangedVersion) -> Facts:
    by_start = _section_lengths(arranged)
    varied = len({str(each.tempo) for each in by_start.values()}) > 1
    rows: list[tuple[str, str]] = []
    for passage in _firsts(arranged):
        length = by_start.get(passage.start)
        rows.append((_named(passage), _passage(passage, length, varied)))
        said = passage.said
        if said is not None:
            words = "; ".join(passage_words(passage))
            rows += (("", f"{word}{note}") for word, note in
                     (("", words), ("cue: ", said.cue), ("", said.notes)) if note)  # fmt: skip
    widest = max((len(label) for label, _ in rows), default=0)
    return Facts(tuple(rows), column=widest + 2)


def _passage(passage: Passage, length: SectionLength | None, varied: bool) -> str:
    text = _bars(passage)
    if length is not None:
        text += f", {length_text(length.seconds)}"
        if length.recorded is not None and length.recorded != length.seconds:
            once = " once through" if length.times > 1 else ""
            text += f" (recorded: {length_text(length.recorded)}{once})"
        if length.recorded is None:
            text += " (new)"
        if varied:
            text += f", from {rounded_tempo(str(length.tempo))}"
    return text + (", a vamp of open length, counted once" if passage.vamp else "")


def _bars(passage: Passage) -> str:
    last = passage.start + passage.bars * passage.times - 1
    return f"bars {passage.start}-{last}" if last > passage.start else f"bar {last}"


def _form_rows(arranged: ArrangedVersion) -> list[tuple[object, ...]]:
    by_start = _section_lengths(arranged)
    return [
        (
            passage.name,
            passage.times,
            _bars(passage).partition(" ")[2],
            round(float(length.seconds), 3) if length else "",
            round(float(length.recorded), 3) if length and length.recorded is not None else "",
            str(length.tempo) if length else "",
        )
        for passage in _firsts(arranged)
        for length in [by_start.get(passage.start)]
    ]


def _named(passage: Passage) -> str:
    """A section's name, cut to fit, and how often it is played."""
    name = passage.name
    if len(name) > _LONGEST_NAME:
        name = f"{name[: _LONGEST_NAME - 3]}..."
    return name + (f" x{passage.times}" if passage.times > 1 else "")


def value_table(values: Sequence[NoteValue]) -> Table:
    """A table of note values: straight, dotted and triplet in milliseconds."""
    return Table(
        ("note", "straight", "dotted", "triplet"),
        tuple(
            (values[at].name, *(f"{float(each.milliseconds):.1f}" for each in values[at : at + 3]))
            for at in range(0, len(values), 3)
        ),
    )


def _part(plan: PartPlan, arranged: ArrangedVersion) -> Facts:
    if plan.part is None:
        return Facts(((f"{plan.name}:", "left out"),))
    part = plan.part
    lines = [", ".join(filter(None, (part.player, part.instrument)))]
    if plan.after is not None and plan.before is not None:
        tuning = plan.after.tuning
        text = f"{tuning.name} ({tuning.text}), {_capo(plan, now=True)}"
        if plan.after != plan.before:
            was = "" if tuning == plan.before.tuning else f"{plan.before.tuning.name}, "
            text += f"; recorded: {was}{_capo(plan, now=False)}"
        lines.append(text)
    if plan.way is not None and plan.way.hands:
        lines.append(f"{plan.way.kind}: {way_figures(plan.way)}")
    interval = part_interval(arranged, plan)
    if plan.said.written_for and arranged.key is not None:
        lines.append(f"written {interval.name}, in {written_key(arranged.key, interval).name}")
    lines.append(plan.said.notes)
    if arranged.version.tempos:
        lines += (pace_text(pace) for pace in paces_of(arranged) if pace.part == plan.name)
    said = [line for line in lines if line] or [""]
    return Facts(((f"{plan.name}:", said[0]), *(("", line) for line in said[1:])))


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
    return f"{text} (recorded: {pace.then:.1f} and {pace.then_fastest:.1f})"


def _is_wide(arranged: ArrangedVersion) -> bool:
    return any(
        plan.way is not None
        and plan.way.stretch_mm >= WIDE_MM
        and plan.way.kept < len(plan.way.hands)
        for plan in arranged.parts
    )
