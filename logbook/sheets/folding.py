"""A chart folded as a copyist folds it: what comes again is written once.

Sections that follow each other with the same bars are one, played x2; two that only part at their
end are one with a first and a second ending; a run of sections that comes back later is played
dal segno, to the end (al fine) or with another ending (al coda). Where a player was told to jump,
what comes after the jump is not written again. What goes round within a section has repeat signs.
Nothing is folded that differs in a chord, a pattern, a mark or a remark; words that differ stand
below each other, numbered by the pass they are sung in (common practice, no source).
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import NamedTuple

from logbook.sheets.charts import BARS_A_ROW, PICKUP, ChartBar, ChartSection
from logbook.sheets.once import once
from logbook.timing.bars import parse_range

SEGNO, TO_CODA, CODA, FINE = "segno", "to coda", "coda", "fine"
AL_CODA, AL_FINE = "D.S. al coda", "D.S. al fine"
_SIGNS = frozenset(
    {SEGNO, TO_CODA, CODA, FINE, AL_CODA, AL_FINE, "D.S.", "D.C.", "D.C. al coda", "D.C. al fine"}
)
_LONGEST_ENDING = 2
_JUMPED = re.compile(r"after the D\.[SC]\.(?:[;,]\s*)?")
_ENDING = re.compile(r"\w+ ending(?:[;,]\s*)?")
_LEAST_SECTIONS, _LEAST_BARS = 2, 8  # a shorter run is easier read than sprung to


_Key = tuple[object, object]
"""What is played in a written section, and how many times, or with which second ending."""


class Folded(NamedTuple):
    """A section as it is written: `times` over, and which later bars are the same (`again`).

    The bars all passes share stand in the section's rows, those in which they part in `endings`.
    `jumped` are passes after a jump, which take the last ending. `signs` are what stands at it:
    "segno" and "coda" at its beginning, the others at its end. `upbeat` is the pick-up before its
    first bar, which is in no pass.
    """

    section: ChartSection
    times: int = 1
    again: tuple[str, ...] = ()
    endings: tuple[tuple[ChartBar, ...], ...] = ()
    signs: tuple[str, ...] = ()
    upbeat: tuple[ChartBar, ...] = ()
    jumped: tuple[str, ...] = ()

    @property
    def rows(self) -> tuple[tuple[ChartBar, ...], ...]:
        """Its rows of bars, the pick-up at the head of the first; then a row for each ending."""
        first, *more = self.section.rows
        return ((*self.upbeat, *first), *more, *self.endings)

    def ending_of(self, row: int) -> int:
        """The number of the ending that a row belongs to, 0 for none."""
        return max(row - len(self.section.rows) + 1, 0)


@once(8)  # a chart is drawn for paper and for the screen
def fold(sections: Sequence[ChartSection]) -> tuple[Folded, ...]:
    """Return the sections of a chart, each written once as far as that can be read."""
    playing = _with_patterns(sections)
    folded: list[tuple[Folded, _Key]] = []
    at = 0
    while at < len(sections):
        section, key = sections[at], playing[at]
        same = at + 1
        while same < len(sections) and playing[same] == key and section.name:
            same += 1
        ending = _ending(sections, playing, at) if same == at + 1 else 0
        if ending:
            folded.append((_with_endings(sections[at], sections[at + 1], ending),
                           (key, playing[at + 1])))  # fmt: skip
            at += 2
            continue
        again = tuple(each.bars for each in sections[at + 1 : same])
        if again:
            section = _without_ending(section)
        folded.append((Folded(section, same - at, again), (key, same - at)))
        at = same
    if any(_JUMPED.match(each.said) for each in sections):
        written = _without_jumps(folded)
    else:
        written = _dal_segno([each for each, _ in folded], [key for _, key in folded])
    every = {bar.bar: bar for section in sections for bar in _bars(section)}
    keys = {section.bars: key for section, key in zip(sections, playing, strict=True)}
    written = tuple(
        _with_said_signs(_going_round(each, keys[each.section.bars])) for each in written
    )
    return _with_upbeat([_with_all_words(each, every) for each in written])


def _with_upbeat(folded: list[Folded]) -> tuple[Folded, ...]:
    """Set a pick-up as a short bar before bar 1, in the line of the section that begins there."""
    if len(folded) < 2 or folded[0].section.name != PICKUP or not folded[1].section.has_bars:
        return tuple(folded)
    pickup, first, *rest = folded
    bars = _bars(pickup.section)
    silent = pickup.section.tacet or pickup.section.tune or not pickup.section.charted
    if len(bars) != 1 or bars[0].first_beat == 1 or silent:
        return tuple(folded)
    (row, *more), pattern = first.section.rows, bars[0].pattern
    if pattern and not row[0].pattern:
        row = (row[0]._replace(pattern=pattern), *row[1:])
    section = first.section._replace(rows=(row, *more))
    return (first._replace(section=section, upbeat=tuple(bars)), *rest)


def _with_all_words(folded: Folded, every: Mapping[int, ChartBar]) -> Folded:
    """Set the words of every pass under the bars of a section that is written once.

    They are numbered by the pass, except where all passes have the same.
    """
    later = (*folded.again, *folded.jumped)
    if not later:
        return folded
    first = parse_range(folded.section.bars).start.bar
    steps = [0, *(parse_range(bars).start.bar - first for bars in later)]
    passes = [
        {
            bar.bar: tuple(
                sung._replace(verse=number)
                for sung in (every[bar.bar + step].words if bar.bar + step in every else ())
            )
            for bar in _bars(folded.section)
        }
        for number, step in enumerate(steps, 1)
    ]
    plain = [{bar: [sung[:2] for sung in words] for bar, words in one.items()} for one in passes]
    if all(each == plain[0] for each in plain):
        return folded
    rows = tuple(
        tuple(
            bar._replace(words=tuple(sung for one in passes for sung in one[bar.bar]))
            for bar in row
        )
        for row in folded.section.rows
    )
    return folded._replace(section=folded.section._replace(rows=rows))


def _going_round(folded: Folded, played: tuple[object, ...]) -> Folded:
    """Write what goes round within a section once, where the section itself is written once.

    `played` is its key, which ends with what is played in each bar.
    """
    bars = _bars(folded.section)
    plain = folded.times == 1 and not (folded.again or folded.jumped or folded.endings)
    if not plain or folded.signs or not folded.section.has_bars:
        return folded
    each = played[-len(bars) :]
    for length in range(BARS_A_ROW, len(bars) // 2 + 1):
        times, over = divmod(len(bars), length)
        if not over and each == each[:length] * times:
            break
    else:
        return folded
    first = bars[0].bar
    spans = [f"{start}-{start + length - 1}" for start in range(first, first + len(bars), length)]
    rows = tuple(
        tuple(bars[at : min(at + BARS_A_ROW, length)]) for at in range(0, length, BARS_A_ROW)
    )
    section = folded.section._replace(bars=spans[0], rows=rows)
    return folded._replace(section=section, times=times, again=tuple(spans[1:]))


def _with_said_signs(folded: Folded) -> Folded:
    """Set the signs of a road map that was said as signs; what comes after a jump has none."""
    said, signs = [], list(folded.signs)
    after = _JUMPED.match(folded.section.said)
    for words in folded.section.said.split("; "):
        sign = words.removeprefix("then ")
        if sign not in _SIGNS:
            said.append(words)
        elif not after:
            signs.append(sign)
    section = folded.section._replace(said="; ".join(said))
    return folded._replace(section=section, signs=tuple(dict.fromkeys(signs)))


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


def _with_patterns(sections: Sequence[ChartSection]) -> list[tuple[object, ...]]:
    """What is played in each section, with the pattern that is on in every bar."""
    pattern = ""
    keys = []
    opening = True  # the first meter and tempo hold for what comes again as well
    for section in sections:
        bars: list[object] = []
        for bar in _bars(section):
            pattern = bar.pattern or pattern
            marks, opening = (() if opening else bar.marks), opening and bar.bar < 1
            bars.append(
                (bar.first_beat, bar.beats, bar.held and bar.held[2:], bar.chords, pattern,
                 marks, bar.notes, bar.tune)
            )  # fmt: skip
        keys.append(
            (
                section.name,
                _ENDING.sub("", _JUMPED.sub("", section.said)),
                section.tacet,
                section.charted,
                section.tune,
                *bars,
            )
        )
    return keys


def _bars(section: ChartSection) -> list[ChartBar]:
    return [bar for row in section.rows for bar in row]


def _ending(
    sections: Sequence[ChartSection], playing: Sequence[tuple[object, ...]], at: int
) -> int:
    """In how many last bars a section and the one after it part; 0 where they are no pair."""
    if at + 1 >= len(sections) or not sections[at].name:
        return 0
    first, second = playing[at], playing[at + 1]
    count = len(_bars(sections[at]))
    if len(first) != len(second) or count < 2 * _LONGEST_ENDING:
        return 0
    for bars in range(1, _LONGEST_ENDING + 1):
        if first[:-bars] == second[:-bars]:
            return bars
    return 0


def _without_ending(section: ChartSection) -> ChartSection:
    """A section that no longer says which ending it has: it stands for all of its passes."""
    return section._replace(said=_ENDING.sub("", section.said))


def _with_endings(first: ChartSection, second: ChartSection, ending: int) -> Folded:
    shared, one = _bars(first)[:-ending], _bars(first)[-ending:]
    rows = tuple(tuple(shared[at : at + BARS_A_ROW]) for at in range(0, len(shared), BARS_A_ROW))
    first = _without_ending(first)._replace(rows=rows)
    return Folded(first, 2, (second.bars,), (tuple(one), tuple(_bars(second)[-ending:])))


def _without_jumps(folded: Sequence[tuple[Folded, _Key]]) -> tuple[Folded, ...]:
    """Leave out what comes after a jump, where all of it is as it was before.

    What is repeated before the jump is played once after it.
    """
    kept: list[tuple[Folded, _Key]] = []
    at = 0
    while at < len(folded):
        end = at
        while end < len(folded) and _JUMPED.match(folded[end][0].section.said):
            end += 1
        places = [_place(key, kept) for _, key in folded[at:end]]
        if None in places or end == at:
            end = max(end, at + 1)
            kept += folded[at:end]
        else:
            for place, (later, _) in zip(places, folded[at:end], strict=True):
                assert place is not None
                written, own = kept[place]
                more = (later.section.bars, *later.again)
                if written.endings and not later.endings:
                    written = written._replace(jumped=(*written.jumped, *more))
                else:
                    written = written._replace(again=(*written.again, *more))
                kept[place] = (written, own)
        at = end
    return tuple(each for each, _ in kept)


def _place(key: _Key, kept: Sequence[tuple[Folded, _Key]]) -> int | None:
    """Which section written so far is played again: as it was, or with its last ending."""
    keys = [_once(own) for _, own in kept]
    if _once(key) in keys:
        return keys.index(_once(key))
    played = [own[1] if written.endings else None for written, own in kept]
    return played.index(key[0]) if key[1] == 1 and key[0] in played else None


def _once(key: _Key) -> _Key:
    played, times = key
    return (played, 1) if isinstance(times, int) else key


def _dal_segno(folded: list[Folded], keys: list[_Key]) -> tuple[Folded, ...]:
    """Fold the longest run of sections that comes back."""
    count = len(folded)
    best = (0, 0, 0)
    for first in range(count):
        for again in range(first + _LEAST_SECTIONS, count):
            length = 0
            while (
                first + length < again
                and again + length < count
                and keys[first + length] == keys[again + length]
                and folded[first + length].section.charted
            ):
                length += 1
            best = max(best, (length, -first, -again))
    length, first, again = best[0], -best[1], -best[2]
    bars = sum(len(_bars(each.section)) for each in folded[again : again + length])
    if length < _LEAST_SECTIONS or bars < _LEAST_BARS:
        return tuple(folded)
    tail = folded[again + length :]
    kept = folded[:again]
    for at in range(length):
        later = folded[again + at]
        kept[first + at] = kept[first + at]._replace(
            again=(*kept[first + at].again, later.section.bars, *later.again)
        )
    kept[first] = _signed(kept[first], SEGNO)
    last = first + length - 1
    kept[last] = _signed(kept[last], TO_CODA if tail else FINE)
    kept[-1] = _signed(kept[-1], AL_CODA if tail else AL_FINE)
    if tail:
        tail[0] = _signed(tail[0], CODA)
    return (*kept, *tail)


def _signed(folded: Folded, sign: str) -> Folded:
    return folded._replace(signs=(*folded.signs, sign))
