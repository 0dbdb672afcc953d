"""What the stage of a page that plays shows: a chart in short, every chord in twelve keys."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING, Any

from logbook.arranging.charts import move_name
from logbook.sheets.charts import ChartBar, ChartSection, upbeat_of
from logbook.sheets.signs import with_dashes, with_signs
from logbook.sheets.text_chart import HELD, SILENT, SLASH, bar_tokens
from logbook.strings.capo import whole_capo
from logbook.theory.keys import Key

if TYPE_CHECKING:
    from logbook.sheets.live import LivePart
    from logbook.sheets.player import PartSheet

SEMITONES = 12
_SIGNS = (HELD, SLASH, SILENT)


def stage_of(sheet: PartSheet | LivePart, key: Key | None) -> dict[str, Any]:
    """Return the chart in short: sections with their bars, and every chord in twelve keys.

    With a whole capo a shape's name is the concert name moved down by the capo, so the same
    twelve names serve as shapes.
    """
    names: dict[str, int] = {}
    spelled: list[list[str]] = []
    shapes: list[str] = []

    def number(concert: str, shape: str) -> int:
        at = names.setdefault(f"{concert}\0{shape}", len(names))
        if at == len(spelled):
            spelled.append([with_signs(each) for each in _in_all_keys(concert, key)])
            shapes.append(with_signs(shape or concert))
        return at

    sections = [
        {
            "name": each.name or "outside the form",
            "said": each.said,
            "rows": [
                [_stage_bar(bar, number, starts_row=bar is row[0]) for bar in row]
                for row in each.rows
            ],
        }
        for each in _with_upbeat(sheet.chart)
    ]
    drawn = next((card.drawn for card in sheet.chords if card.drawn is not None), None)
    whole = (whole_capo(drawn.tuning, drawn.capos) or 0) if drawn and drawn.capos else 0
    partly = bool(drawn and drawn.capos) and not whole
    return {
        "sections": sections,
        "names": spelled,
        "shapes": shapes,
        "capo": whole,
        "capoSaid": with_dashes(sheet.rig.capo) if partly else "",
        "strings": bool(sheet.rig.strings),
    }


def _with_upbeat(chart: tuple[ChartSection, ...]) -> tuple[ChartSection, ...]:
    """Set a pick-up before bar 1, in the row of the section that begins there."""
    upbeat = upbeat_of(chart)
    if not upbeat:
        return chart
    _, first, *rest = chart
    row, *more = first.rows
    return (first._replace(rows=((*upbeat, *row), *more)), *rest)


def _stage_bar(bar: ChartBar, number: Callable[[str, str], int], *, starts_row: bool) -> list[Any]:
    """A bar: its number, what stands over it, its signs and chords, some with a count ("@2&")."""
    tokens: list[Any] = []
    for concert, shape, _ in bar_tokens(bar, starts_row=starts_row):
        name, at, count = concert.partition("@")
        if concert in _SIGNS:
            tokens.append(concert)
        else:
            tokens.append([number(name, shape), at + count] if at else number(name, shape))
    return [bar.bar, with_dashes(bar.said), tokens]


def _in_all_keys(name: str, key: Key | None) -> Iterable[str]:
    yield name
    for by in range(1, SEMITONES):
        yield move_name(name, by, key.transpose(by) if key else None, key)
