"""What the nouns' commands do to chart and form: lines that replace, sections that carry along."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING

from logbook.cli.noun_place import Owner
from logbook.cli.noun_show import change_data
from logbook.cli.printing import print_json, remark, say
from logbook.errors import LogbookError
from logbook.names import quoted
from logbook.notebook.applying import kind_of
from logbook.notebook.declare import Context, Record
from logbook.notebook.nouns import NOUNS
from logbook.records.chord_names import with_symbols
from logbook.store.layout import SHAPES

if TYPE_CHECKING:
    from logbook.store.changing import Change


def put_chart_line(
    change: Change, owner: Owner, line: str, context: Context, *, as_json: bool
) -> None:
    """Put a chart line in the place of what stood in its bars."""
    from logbook.notebook.chart_lines import with_line
    from logbook.notebook.chart_printing import write_chart_lines

    chart, replaced = with_line(owner.siblings, line, context)
    new = [each for each in chart if each not in owner.siblings]
    if not new and chart == owner.siblings:
        raise LogbookError(f"{quoted(line)} adds nothing new", "it is in the log already")
    state_list(change, owner, chart)
    if as_json:
        print_json([change_data(NOUNS["chart-entry"], owner, "added", each) for each in new])
        return
    shown = write_chart_lines(tuple(new) or chart, context)
    for text in shown:
        say(f"{'replaced by' if replaced else 'added'} {text}")


def chart_namesakes(
    change: Change, owner: Owner, form: Sequence[Record], new: Sequence[Record]
) -> None:
    """A section that comes again is charted as the others of its name are."""
    from logbook.notebook.form_changes import carry_form
    from logbook.records.form_edits import Edited, fill_namesakes

    version = replace(owner.records[-1], form=tuple(form))
    filled = fill_namesakes(version, {each.start for each in new})
    carry_form(change, owner.place, version, Edited(filled, ()))


def restate_form(change: Change, owner: Owner, old: Record, new: Record) -> Record:
    """Set a whole new form, and take along what stood in the old one."""
    from logbook.notebook.form_changes import carry_form
    from logbook.records.form_edits import restated

    edited = restated(old, new.form)
    place = owner.place._replace(version=old.name)
    for each in carry_form(change, place, old, edited):
        remark(each)
    return new


def state_list(change: Change, owner: Owner, records: Sequence[Record]) -> None:
    """Have the owner's list say exactly these records, in the order of their bars if they have."""
    from logbook.store.editing import edit as edit_row

    assert owner.found is not None
    order = SHAPES[kind_of(owner.collection.noun)].order
    if order:
        records = sorted(
            records, key=lambda each: tuple(Fraction(getattr(each, name)) for name in order)
        )
    if owner.collection.noun == "chart-entry":
        _put_symbols(change, owner, records)
    edit_row(change, owner.found, {owner.collection.attribute: tuple(records)})


def _put_symbols(change: Change, owner: Owner, chart: Sequence[Record]) -> None:
    """Have a voicing, without frets or notes, for each chord that the chart only names."""
    from logbook.records.kits import kit_patterns
    from logbook.store.writing import put

    part = owner.records[-1]
    new = with_symbols(replace(part, chart=tuple(chart))).voicings[len(part.voicings) :]
    for each in new:
        put(change, each, owner.place)
    kit = kit_patterns(part)
    bare = [each.label for each in new if each.label not in kit]
    if bare:
        remark(f"{', '.join(bare)}: by name alone, no frets or notes yet")
