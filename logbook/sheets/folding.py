"""A chart folded as a copyist folds it: what comes again is written once.

Sections that follow each other with the same bars are one, played x2; two that only part at their
end are one with a first and a second ending; a run of sections that comes back later is played
dal segno, to the end (al fine) or with another ending (al coda). Where a player was told to jump,
what comes after the jump is not written again. What goes round within a section has repeat signs.
Nothing is folded that differs in a chord, a pattern, a meter or a remark; words that differ stand
below each other, numbered by the pass they are sung in (common practice, no source). A mark that a
later pass needs stands at the written bar, and a tempo that a jump changes at the jump.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from logbook.sheets.charts import BARS_A_ROW, ChartBar, ChartSection, upbeat_of
from logbook.sheets.folded import AL_CODA, AL_FINE, CODA, FINE, SEGNO, TO_CODA, Folded
from logbook.sheets.folding_alike import (
    ENDING,
    JUMPED,
    Played,
    comes_back,
    played_in,
)
from logbook.sheets.folding_marks import patterns_on, with_all_marks
from logbook.sheets.once import once
from logbook.timing.bars import parse_range

_SIGNS = frozenset(
    {SEGNO, TO_CODA, CODA, FINE, AL_CODA, AL_FINE, "D.S.", "D.C.", "D.C. al coda", "D.C. al fine"}
)
_LONGEST_ENDING = 2
_LEAST_SECTIONS, _LEAST_BARS = 2, 8  # a shorter run is easier read than sprung to


_Key = tuple[Played, int | Played]
"""What is played in a written section, and how many times, or with which second ending."""


@once(8)  # a chart is drawn for paper and for the screen
def fold(sections: Sequence[ChartSection]) -> tuple[Folded, ...]:
    """Return the sections of a chart, each written once as far as that can be read."""
    playing = played_in(sections)
    folded: list[tuple[Folded, _Key]] = []
    at = 0
    while at < len(sections):
        section, key = sections[at], playing[at]
        same = at + 1
        while same < len(sections) and playing[same] == key and section.name:
            key = key.or_marked(playing[same])
            same += 1
        ending = _ending(sections, playing, at) if same == at + 1 else 0
        if ending:
            folded.append((_with_endings(sections[at], sections[at + 1], ending),
                           (key.or_marked(playing[at + 1]), playing[at + 1])))  # fmt: skip
            at += 2
            continue
        again = tuple(each.bars for each in sections[at + 1 : same])
        if again:
            section = _without_ending(section)
        folded.append((Folded(section, same - at, again), (key, same - at)))
        at = same
    if any(JUMPED.match(each.said) for each in sections):
        written = _without_jumps(folded)
    else:
        written = _dal_segno([each for each, _ in folded], [key for _, key in folded])
    every = {bar.bar: bar for section in sections for bar in _bars(section)}
    keys = {section.bars: key for section, key in zip(sections, playing, strict=True)}
    written = tuple(
        _with_said_signs(_going_round(each, keys[each.section.bars])) for each in written
    )
    worded = [_with_all_words(each, every) for each in written]
    return _with_upbeat(with_all_marks(worded, every, patterns_on(sections)))


def _with_upbeat(folded: list[Folded]) -> tuple[Folded, ...]:
    """Set a pick-up as a short bar before bar 1, in the line of the section that begins there."""
    bars = upbeat_of([each.section for each in folded[:2]])
    if not bars:
        return tuple(folded)
    _, first, *rest = folded
    (row, *more), pattern = first.section.rows, bars[0].pattern
    if pattern and not row[0].pattern:
        row = (row[0]._replace(pattern=pattern), *row[1:])
    section = first.section._replace(rows=(row, *more))
    return (first._replace(section=section, upbeat=bars), *rest)


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


def _going_round(folded: Folded, played: Played) -> Folded:
    """Write what goes round within a section once, where the section itself is written once."""
    bars = _bars(folded.section)
    plain = folded.times == 1 and not (folded.again or folded.jumped or folded.endings)
    section = folded.section
    silent = section.tacet or not section.charted  # its bars are drawn for what is sung in them
    if not plain or folded.signs or silent or not section.has_bars:
        return folded
    each = played.timed_bars
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
    section = section._replace(bars=spans[0], rows=rows)
    return folded._replace(section=section, times=times, again=tuple(spans[1:]))


def _with_said_signs(folded: Folded) -> Folded:
    """Set the signs of a road map that was said as signs; what comes after a jump has none."""
    said, signs = [], list(folded.signs)
    after = JUMPED.match(folded.section.said)
    for words in folded.section.said.split("; "):
        sign = words.removeprefix("then ")
        if sign not in _SIGNS:
            said.append(words)
        elif not after:
            signs.append(sign)
    section = folded.section._replace(said="; ".join(said))
    signs = [_told(sign, folded.back_at) for sign in dict.fromkeys(signs)]
    return folded._replace(section=section, signs=tuple(signs))


def _told(sign: str, tempo: str) -> str:
    """A jump with the tempo it goes back at, where that is not the one that is written there."""
    return f"{sign} at {tempo}" if tempo and _jumps(sign) else sign


def _jumps(sign: str) -> bool:
    return sign.startswith(("D.S.", "D.C."))


def _bars(section: ChartSection) -> list[ChartBar]:
    return [bar for row in section.rows for bar in row]


def _ending(sections: Sequence[ChartSection], playing: Sequence[Played], at: int) -> int:
    """In how many last bars a section and the one after it part; 0 where they are no pair."""
    if at + 1 >= len(sections) or not sections[at].name:
        return 0
    first, second = playing[at], playing[at + 1]
    one, other = first.timed_bars, second.timed_bars
    alike = first.head == second.head and len(one) == len(other)
    if not alike or len(one) < 2 * _LONGEST_ENDING:
        return 0
    for bars in range(1, _LONGEST_ENDING + 1):
        if one[:-bars] == other[:-bars]:
            return bars
    return 0


def _without_ending(section: ChartSection) -> ChartSection:
    """A section that no longer says which ending it has: it stands for all of its passes."""
    return section._replace(said=ENDING.sub("", section.said))


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
        while end < len(folded) and JUMPED.match(folded[end][0].section.said):
            end += 1
        told = bool(kept) and _tells_a_jump(kept[-1][0])
        places = [
            _place(key, kept, told=told, jumped=not number)
            for number, (_, key) in enumerate(folded[at:end])
        ]
        if None in places or end == at:
            end = max(end, at + 1)
            kept += folded[at:end]
        else:
            jumping = len(kept) - 1
            for place, later in zip(places, folded[at:end], strict=True):
                assert place is not None
                kept[place] = _played_again(kept[place], later[0])
            if places[0] is not None and told:
                back = _back_at(kept[places[0]], folded[at])
                before, key = kept[jumping]
                kept[jumping] = (_jumping(before, folded[at][0], back), key)
        at = end
    return tuple(each for each, _ in kept)


def _played_again(kept: tuple[Folded, _Key], later: Folded) -> tuple[Folded, _Key]:
    """A written section with the bars it is played in after a jump."""
    written, key = kept
    more = (later.section.bars, *later.again)
    if written.endings and not later.endings:
        return written._replace(jumped=(*written.jumped, *more)), key
    return written._replace(again=(*written.again, *more)), key


def _tells_a_jump(folded: Folded) -> bool:
    """Whether a jump is printed at the end of a section, which none is within what is jumped to."""
    words = (each.removeprefix("then ") for each in folded.section.said.split("; "))
    said = any(each in _SIGNS and _jumps(each) for each in words)
    return said and not JUMPED.match(folded.section.said)


def _back_at(written: tuple[Folded, _Key], again: tuple[Folded, _Key]) -> str:
    """The tempo of what is jumped to, where it is not the written one."""
    tempos = again[1][0].tempos[:1]
    return "" if tempos == written[1][0].tempos[:1] else "".join(tempos)


def _place(
    key: _Key, kept: Sequence[tuple[Folded, _Key]], *, told: bool, jumped: bool
) -> int | None:
    """Which section written so far is played again: as it was, or with its last ending."""
    for place, (_, own) in enumerate(kept):
        if _comes_back(own, key, told=told, jumped=jumped):
            return place
    if isinstance(key[1], Played) or key[1] > 1:
        return None
    for place, (written, (_, last)) in enumerate(kept):
        if (
            written.endings
            and isinstance(last, Played)
            and comes_back(last, key[0], told=told, jumped=jumped)
        ):
            return place
    return None


def _comes_back(own: _Key, key: _Key, *, told: bool, jumped: bool) -> bool:
    """Whether all passes of a section come back, a repeat once."""
    if not comes_back(own[0], key[0], told=told, jumped=jumped):
        return False
    if isinstance(own[1], Played) and isinstance(key[1], Played):
        return comes_back(own[1], key[1], told=told)
    return not isinstance(own[1], Played) and not isinstance(key[1], Played)


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
                and _as_often(keys[first + length], keys[again + length])
                and _comes_back(
                    keys[first + length], keys[again + length], told=True, jumped=not length
                )
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
    back = _back_at((kept[first], keys[first]), (folded[again], keys[again]))
    kept[-1] = _jumping(_signed(kept[-1], AL_CODA if tail else AL_FINE), folded[again], back)
    if tail:
        tail[0] = _signed(tail[0], CODA)
    return (*kept, *tail)


def _jumping(folded: Folded, to: Folded, back_at: str) -> Folded:
    return folded._replace(back_from=_bars(to.section)[0].bar, back_at=back_at)


def _as_often(one: _Key, other: _Key) -> bool:
    """Whether a section is played as many times, or has a second ending, both times."""
    return one[1] == other[1] or (isinstance(one[1], Played) and isinstance(other[1], Played))


def _signed(folded: Folded, sign: str) -> Folded:
    return folded._replace(signs=(*folded.signs, sign))
