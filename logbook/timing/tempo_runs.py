"""The tempo of played bars in few words: runs of bars at one tempo, as they are kept and told.

A run's text is its bars and their tempo in beats a minute of the map's beat: "1-6 110.00,
7 113.30, 8-16 110.00".
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

ALIKE = 5e-4  # of the tempo: bars no further apart are told as one run
ODD_BARS = 2
ODD = 0.01  # least a rushed bar differs from those around it, and most these from one another
SLOWEST_BPM, FASTEST_BPM = 40.0, 220.0  # of a beat that is counted: common practice, no source
_RUN = re.compile(r"(-?\d+)(?:-(\d+))?\s+(\d+(?:\.\d+)?)")


@dataclass(frozen=True, slots=True)
class TempoRun:
    """Bars `first` to `last`, played at `bpm` beats a minute."""

    first: int
    last: int
    bpm: float

    def __str__(self) -> str:
        """Return its text."""
        bars = str(self.first) if self.first == self.last else f"{self.first}-{self.last}"
        return f"{bars} {self.bpm:.2f}"


@dataclass(frozen=True, slots=True)
class OddRun:
    """A bar or two at another tempo than those around: `bpm` where `around` is played."""

    first: int
    last: int
    bpm: float
    around: float

    @property
    def word(self) -> str:
        """Rushed or dragged."""
        return "rushed" if self.bpm > self.around else "dragged"


def runs_of(bars: Iterable[tuple[int, float]]) -> tuple[TempoRun, ...]:
    """Return neighbouring bars (number and beats a minute) at one tempo as runs."""
    runs: list[TempoRun] = []
    for bar, bpm in bars:
        last = runs[-1] if runs else None
        if last and bar == last.last + 1 and abs(bpm / last.bpm - 1.0) < ALIKE:
            runs[-1] = TempoRun(last.first, bar, last.bpm)
        else:
            runs.append(TempoRun(bar, bar, bpm))
    return tuple(runs)


def runs_text(runs: Sequence[TempoRun]) -> str:
    """Return the text of runs; `read_runs` reads it."""
    return ", ".join(map(str, runs))


def read_runs(text: str) -> tuple[TempoRun, ...]:
    """Return the runs of a text; what is no run is left out."""
    found = (_RUN.fullmatch(piece.strip()) for piece in text.split(","))
    return tuple(
        TempoRun(int(each[1]), int(each[2] or each[1]), float(each[3])) for each in found if each
    )


def against(runs: Sequence[TempoRun], planned: Callable[[int], float]) -> tuple[TempoRun, ...]:
    """Return runs whose tempo is the share of the map's, 1 for what is played as planned."""
    bars = ((bar, run.bpm) for run in runs for bar in range(run.first, run.last + 1))
    return runs_of((bar, bpm / planned(bar)) for bar, bpm in bars)


def odd_runs(
    runs: Sequence[TempoRun], planned: Callable[[int], float] | None = None
) -> tuple[OddRun, ...]:
    """Return the bars that were rushed or dragged while those on both sides agree.

    planned: beats a minute of each bar by the map; what the map itself changes is not odd.
    """
    odd = []
    if planned is not None:
        moved = against(runs, planned)
        return tuple(
            OddRun(
                each.first,
                each.last,
                each.bpm * planned(each.first),
                each.around * planned(each.first),
            )
            for each in odd_runs(moved)
        )
    for before, run, after in zip(runs, runs[1:], runs[2:], strict=False):
        around = 0.5 * (before.bpm + after.bpm)
        if (
            run.last - run.first < ODD_BARS
            and abs(before.bpm / after.bpm - 1.0) < ODD
            and min(abs(run.bpm / each.bpm - 1.0) for each in (before, after)) >= ODD
        ):
            odd.append(OddRun(run.first, run.last, run.bpm, around))
    return tuple(odd)


def half_and_double(bpm: float) -> tuple[tuple[float, str], ...]:
    """Return what a tempo may be as well, where nothing says which is meant, and how."""
    readings = ((0.5 * bpm, "half time"), (2.0 * bpm, "double time"))
    return tuple(each for each in readings if SLOWEST_BPM <= each[0] <= FASTEST_BPM)
