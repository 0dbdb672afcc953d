"""A section of a chart as it is written, for all the bars it is played in."""

from __future__ import annotations

from typing import NamedTuple

from logbook.sheets.charts import ChartBar, ChartSection

SEGNO, TO_CODA, CODA, FINE = "segno", "to coda", "coda", "fine"
AL_CODA, AL_FINE = "D.S. al coda", "D.S. al fine"


class Folded(NamedTuple):
    """A section as it is written: `times` over, and which later bars are the same (`again`).

    The bars all passes share stand in the section's rows, those in which they part in `endings`.
    `jumped` are passes after a jump, which take the last ending. `signs` are what stands at it:
    "segno" and "coda" at its beginning, the others at its end. `upbeat` is the pick-up before its
    first bar, which is in no pass. `back_from` is the bar that is played after the jump at its end,
    0 without one, and `back_at` the tempo there, where that is not the one written.
    """

    section: ChartSection
    times: int = 1
    again: tuple[str, ...] = ()
    endings: tuple[tuple[ChartBar, ...], ...] = ()
    signs: tuple[str, ...] = ()
    upbeat: tuple[ChartBar, ...] = ()
    jumped: tuple[str, ...] = ()
    back_from: int = 0
    back_at: str = ""

    @property
    def rows(self) -> tuple[tuple[ChartBar, ...], ...]:
        """Its rows of bars, the pick-up at the head of the first; then a row for each ending."""
        first, *more = self.section.rows
        return ((*self.upbeat, *first), *more, *self.endings)

    def ending_of(self, row: int) -> int:
        """The number of the ending that a row belongs to, 0 for none."""
        return max(row - len(self.section.rows) + 1, 0)


def section_passes(folded: Folded) -> str:
    """The bars of every pass through a written section: "1-8 17-24"."""
    return " ".join((folded.section.bars, *folded.again, *folded.jumped))


def bar_passes(folded: Folded, bar: ChartBar) -> str:
    """The numbers a written bar has as it is played: "1 9 17" for one that is folded."""
    if not (folded.again or folded.jumped or folded.endings) or bar in folded.upbeat:
        return str(bar.bar)
    starts = [_start(bars) for bars in (folded.section.bars, *folded.again)]
    jumped = [_start(bars) for bars in folded.jumped]
    endings = folded.endings
    own = next((at for at, ending in enumerate(endings) if bar in ending), None)
    if own is None:
        return " ".join(str(start + bar.bar - starts[0]) for start in (*starts, *jumped))
    # The first ending belongs to every other pass, the second to those between and after a jump.
    first = starts[own] if own < len(starts) else bar.bar
    passes = starts[own :: len(endings)] + (jumped if own == len(endings) - 1 else [])
    return " ".join(str(start + bar.bar - first) for start in passes)


def _start(bars: str) -> int:
    return int(bars.partition("-")[0])
