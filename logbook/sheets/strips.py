"""A comp to scale, as plain data: what stands where, and what was left of the takes.

Places are in bars from the strip's first one, which is the form's first or an earlier one that
something stands in; a part of a bar counts as its fraction. Pieces that go straight on in a take
are one run.
"""

from __future__ import annotations

import math
from fractions import Fraction
from typing import NamedTuple

from logbook.editing.clips import TakeAudio
from logbook.editing.comp import EditPiece
from logbook.editing.surveyed import CompSurvey
from logbook.editing.takes import TakeId, TakeResult, TakeSpan, take_of
from logbook.editing.words import take_said
from logbook.records.part_view import PartView
from logbook.records.take_files import take_audio
from logbook.timing.bars import BarRange
from logbook.timing.tempo_map import TempoMap

Stretch = tuple[float, float]

_ROWS = 3  # of good takes that nothing is used of
_GOOD = (TakeResult.KEEPER, TakeResult.COMPLETE)


class StripSound(NamedTuple):
    """Where the sound of a stretch is found: a file, and seconds from its beginning."""

    path: str
    start_s: float
    end_s: float


class StripRun(NamedTuple):
    """A stretch of the finished part: where it stands, of which take, and which bars of it.

    `moved` says that these are other bars than those it stands at, `fade` how long the crossfade
    at its beginning is, in bars. `sound` is None where no file of the take is logged.
    """

    at: Stretch
    take: str
    bars: str
    source: str
    moved: bool
    fade: float
    sound: StripSound | None = None


class StripTake(NamedTuple):
    """A take above the strip: what was recorded, what of it is used, what was punched in.

    `sound` says for each used stretch where its sound is found.
    """

    name: str
    result: str
    recorded: tuple[Stretch, ...]
    used: tuple[Stretch, ...]
    punched: tuple[Stretch, ...]
    sound: tuple[StripSound | None, ...] = ()


class Strip(NamedTuple):
    """A comp to scale; `first` is the bar it begins with, `length` how many bars it is long.

    `spare` are good takes nothing is used of that have no row of their own, `left_out` how many
    other takes are not shown.
    """

    first: int
    length: float
    sections: tuple[tuple[str, Stretch], ...]
    takes: tuple[StripTake, ...]
    runs: tuple[StripRun, ...]
    left_out: int = 0
    spare: tuple[str, ...] = ()


class _StripRun(NamedTuple):
    take: TakeId
    bars: BarRange
    source: BarRange
    fade_ms: Fraction


def strip_of(view: PartView, survey: CompSurvey) -> Strip:
    """Return a comp to scale. Raises LogbookError where bars cannot be read."""
    bars = view.bars
    runs = _runs(survey, view.takes, bars)
    heard = [take for take in view.takes if any(run.take == take.id for run in runs)]
    good = [take for take in view.takes if take.result in _GOOD and take not in heard]
    shown = [take for take in view.takes if take in heard or (take in good and len(good) <= _ROWS)]
    spare = [take for take in good if take not in shown]
    sounds = _Sounds(view)
    starts = [run.bars.start.bar for run in runs]
    starts += [section.bars.start.bar for section in view.form]
    first = min(starts, default=1)
    origin = bars.bar_start(first) if first >= 1 else Fraction(0)

    def place(stretch: BarRange) -> Stretch:
        start, end = bars.span_of(stretch)
        return (
            float(bars.bars_between(origin, start)) if start >= origin else 0.0,
            float(bars.bars_between(origin, end)) if end >= origin else 0.0,
        )

    found = tuple(
        StripRun(
            place(run.bars),
            take_said(run.take, view.takes),
            str(run.bars),
            str(run.source),
            run.source != run.bars,
            _in_bars(run, bars),
            sounds.of(run),
        )
        for run in runs
    )
    sections = tuple((each.name, place(each.bars)) for each in view.form)
    takes = tuple(
        StripTake(
            take_said(take.id, view.takes),
            take.result.value if take.result else "",
            (place(take.bars),) if take.bars else (),
            tuple(place(run.source) for run in runs if run.take == take.id),
            tuple(place(punch.bars) for punch in take.punch_ins),
            tuple(sounds.of(run) for run in runs if run.take == take.id),
        )
        for take in shown
    )
    ends = [end for _, (_, end) in sections] + [run.at[1] for run in found]
    ends += [end for take in takes for _, end in (*take.recorded, *take.used)]
    return Strip(
        first,
        max(ends, default=1.0),
        sections,
        takes,
        found,
        len(view.takes) - len(shown) - len(spare),
        tuple(take_said(take.id, view.takes) for take in spare),
    )


class _Sounds:
    """Finds the sound of runs in the first file of their takes."""

    def __init__(self, view: PartView) -> None:
        self._bars = view.bars
        self._files: dict[TakeId, TakeAudio] = {}
        for audio in take_audio(view):
            self._files.setdefault(audio.take, audio)

    def of(self, run: _StripRun) -> StripSound | None:
        """Return where a run's sound is found; None for a take without files, or from elsewhere."""
        audio = self._files.get(run.take)
        if audio is None:
            return None
        start = self._bars.seconds_at(run.source.start) - audio.starts_at
        end = self._bars.seconds_at(run.source.end) - audio.starts_at
        return StripSound(audio.path, float(start), float(end))


def _runs(survey: CompSurvey, takes: tuple[TakeSpan, ...], bars: TempoMap) -> list[_StripRun]:
    runs: list[_StripRun] = []
    for piece in survey.pieces:
        take = _take(piece, takes)
        before = runs[-1] if runs else None
        if before and before.take == take and _goes_on(before, piece, bars):
            runs[-1] = before._replace(
                bars=BarRange(before.bars.start, piece.bars.end),
                source=BarRange(before.source.start, piece.source.end),
            )
        else:
            runs.append(_StripRun(take, piece.bars, piece.source, piece.crossfade_ms))
    return runs


def _take(piece: EditPiece, takes: tuple[TakeSpan, ...]) -> TakeId:
    found = take_of(takes, piece.take)
    return found.id if found else piece.take


def _goes_on(run: _StripRun, piece: EditPiece, bars: TempoMap) -> bool:
    if piece.take.version:
        # Its bars are counted by another map.
        return run.bars.end == piece.bars.start and run.source.end == piece.source.start
    return (
        bars.span_of(run.bars)[1] == bars.span_of(piece.bars)[0]
        and bars.span_of(run.source)[1] == bars.span_of(piece.source)[0]
    )


def _in_bars(run: _StripRun, bars: TempoMap) -> float:
    """How long a run's crossfade is where it stands."""
    if not run.fade_ms:
        return 0.0
    start, end = bars.span_of(run.bars)
    seconds = bars.seconds_of(run.bars)
    if not seconds:
        return 0.0
    return float(run.fade_ms / 1000 / seconds * bars.bars_between(start, end))


def strip_lines(strip: Strip, bars: int) -> tuple[Strip, ...]:
    """Return a strip cut into lines of so many bars, for a page that is narrow."""
    lines = max(1, -(-math.ceil(strip.length) // bars))
    return tuple(_cut(strip, at * bars, bars) for at in range(lines))


def _cut(strip: Strip, start: int, bars: int) -> Strip:
    length = min(float(bars), strip.length - start)

    def inside(stretch: Stretch) -> Stretch | None:
        low, high = max(stretch[0] - start, 0.0), min(stretch[1] - start, length)
        return (low, high) if high > low else None

    def sound_of(sound: StripSound | None, whole: Stretch, here: Stretch) -> StripSound | None:
        if sound is None or whole[1] <= whole[0]:
            return None
        scale = (sound.end_s - sound.start_s) / (whole[1] - whole[0])
        first = sound.start_s + (here[0] + start - whole[0]) * scale
        return StripSound(sound.path, first, first + (here[1] - here[0]) * scale)

    def all_inside(stretches: tuple[Stretch, ...]) -> tuple[Stretch, ...]:
        return tuple(found for each in stretches if (found := inside(each)))

    runs = []
    for run in strip.runs:
        if here := inside(run.at):
            begins = run.at[0] >= start
            sound = sound_of(run.sound, run.at, here)
            runs.append(run._replace(at=here, fade=run.fade if begins else 0.0, sound=sound))
    takes = []
    for take in strip.takes:
        sounds = take.sound or (None,) * len(take.used)
        used = [
            (here, sound_of(sound, whole, here))
            for whole, sound in zip(take.used, sounds, strict=True)
            if (here := inside(whole))
        ]
        takes.append(
            take._replace(
                recorded=all_inside(take.recorded),
                used=tuple(here for here, _ in used),
                sound=tuple(sound for _, sound in used),
                punched=all_inside(take.punched),
            )
        )
    sections = tuple((name, found) for name, each in strip.sections if (found := inside(each)))
    return strip._replace(
        first=strip.first + start,
        length=min(float(bars), strip.length),  # all lines to one scale
        sections=sections,
        takes=tuple(takes),
        runs=tuple(runs),
    )
