"""The patterns of a picking hand: strokes of many bars told as a few lines of a pattern.

Bars that have their strokes on the same steps, but for one, share a pattern; what each step is,
most of these bars say. The letters are those of `logbook.strings.picking`. Down and up are said
where the strings' order is heard in most of the bars; elsewhere the line takes the hand to go down
on even steps and up on odd ones, as alternate strumming does (common practice, no source), and
`HeardPattern.guessed` names those steps.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from logbook.errors import LogbookError
from logbook.listening.following import LaidBar
from logbook.listening.strokes import ACCENT_DB, HeardHand, HeardStroke
from logbook.strings.picking import read_pattern
from logbook.timing.meter import Meter

AGREE = 0.8  # of the bars whose direction is heard
LIKE_STEPS = 8  # steps to one difference and a half that is overlooked
_RATIOS = ((5, 4), (4, 3), (3, 2), (5, 3), (2, 1), (5, 2), (3, 1))
_FINGERS = {3: "i", 2: "m", 1: "a"}


@dataclass(frozen=True, kw_only=True, slots=True)
class HeardPattern:
    """A pattern as `logbook.strings.picking` reads it, and the bars that play it.

    sure: 0 to 1, the share of their strokes that are as the line says. guessed: steps (from 1)
    whose direction was not heard.
    """

    line: str
    grid: Fraction
    feel: str
    bars: tuple[int, ...]
    sure: float
    guessed: tuple[int, ...]


def feel_text(swing: float) -> str:
    """A heard swing as a session file has it: "straight", "swing" or "swing 3:2"."""
    if swing < 1.15:
        return "straight"
    said = min(_RATIOS, key=lambda one: abs(one[0] / one[1] - swing))
    return "swing" if said == (2, 1) else f"swing {said[0]}:{said[1]}"


def find_patterns(
    hand: HeardHand,
    bars: Sequence[LaidBar],
    *,
    fingers: bool = False,
    numbers: dict[int, tuple[int, ...]] | None = None,
) -> tuple[HeardPattern, ...]:
    """The patterns of some bars, most played first.

    fingers: whether the part is picked with fingers. numbers: by bar the string numbers of the
    chord's notes, low to high, where a chord is known.
    """
    by_bar: dict[int, dict[int, HeardStroke]] = {}
    for stroke in hand.strokes:
        by_bar.setdefault(stroke.bar, {})[stroke.step] = stroke
    meters = {bar.bar: bar.meter for bar in bars if bar.bar != 0}
    groups: list[list[int]] = []
    signs = {
        bar: frozenset((step, stroke.kind == "muted") for step, stroke in by_bar[bar].items())
        for bar in by_bar
        if bar in meters
    }
    usual = Counter((sign, meters[bar]) for bar, sign in signs.items())
    for (sign, meter), _ in usual.most_common():
        members = [bar for bar in signs if signs[bar] == sign and meters[bar] == meter]
        steps = round(float(meter.bar_length / hand.grid))
        for group in groups:
            most = max(1.5, 1.5 * steps / LIKE_STEPS)
            if meters[group[0]] == meter and _apart(sign, signs[group[0]]) <= most:
                group += members
                break
        else:
            groups.append(members)
    groups.sort(key=lambda group: (-len(group), min(group)))
    return tuple(
        pattern
        for group in groups
        if (pattern := _pattern(hand, by_bar, sorted(group), meters[group[0]], fingers, numbers))
    )


def _apart(a: frozenset[tuple[int, bool]], b: frozenset[tuple[int, bool]]) -> float:
    """Steps on which only one of two bars has a stroke; half for a hit against a stroke."""
    steps, others = {step for step, _ in a}, {step for step, _ in b}
    either = {step for step, _ in a ^ b}
    return len(steps ^ others) + 0.5 * len(either - (steps ^ others))


def _pattern(
    hand: HeardHand,
    by_bar: dict[int, dict[int, HeardStroke]],
    bars: Sequence[int],
    meter: Meter,
    fingers: bool,
    numbers: dict[int, tuple[int, ...]] | None,
) -> HeardPattern | None:
    steps = round(float(meter.bar_length / hand.grid))
    beat = meter.felt_beat_length / hand.grid
    cells: list[str] = []
    guessed: list[int] = []
    right = total = 0
    for step in range(steps):
        here = [(bar, by_bar[bar][step]) for bar in bars if step in by_bar[bar]]
        present = len(here) * 2 > len(bars)
        total += max(len(here), len(bars) if present else 0)
        if not present:
            cells.append(".")
            continue
        kind = Counter(stroke.kind for _, stroke in here).most_common(1)[0][0]
        mine = [(bar, stroke) for bar, stroke in here if stroke.kind == kind]
        right += len(mine)
        way, heard = _direction([stroke for _, stroke in mine], step, beat)
        if kind == "muted":
            cell = "x"
        elif kind == "strum":
            cell = "D" if way == "down" else "U"
            if not heard:
                guessed.append(step + 1)
        else:
            cell = _single(mine, way, fingers, numbers or {})
        level = sum(stroke.level_db for _, stroke in mine) / len(mine)
        cells.append((">" if level > ACCENT_DB and kind != "muted" else "") + cell)
    if all(cell == "." for cell in cells):
        return None
    feel = feel_text(hand.swing)
    line = "".join(cells)
    try:
        pattern = read_pattern(line, f"1/{hand.grid.denominator}", meter, feel)
    except LogbookError:
        return None
    return HeardPattern(
        line=str(pattern),
        grid=hand.grid,
        feel=feel,
        bars=tuple(bars),
        sure=round(right / max(1, total), 2),
        guessed=tuple(guessed),
    )


def _direction(strokes: Sequence[HeardStroke], step: int, beat: Fraction) -> tuple[str, bool]:
    """Which way the hand goes, and whether that was heard."""
    said = Counter(stroke.direction for stroke in strokes if stroke.direction)
    if said:
        way, count = said.most_common(1)[0]
        whole = sum(said.values())
        if count >= 3 and count >= AGREE * whole and 3 * whole >= len(strokes):
            return way, True
    inside = step % beat
    odd = inside % 2 if beat.denominator == 1 else step % 2
    return ("up" if odd else "down"), False


def _single(
    mine: Sequence[tuple[int, HeardStroke]],
    way: str,
    fingers: bool,
    numbers: dict[int, tuple[int, ...]],
) -> str:
    """The cell of a stroke on one or two strings."""
    votes: Counter[tuple[int, ...]] = Counter()
    lowest = 0
    known = 0
    for bar, stroke in mine:
        names = numbers.get(bar, ())
        if not stroke.strings or not names:
            continue
        known += 1
        lowest += stroke.strings == (0,)
        votes[tuple(names[n] for n in stroke.strings if n < len(names))] += 1
    if not known:
        return "p" if fingers else "B"
    if 2 * lowest >= known:
        return "p" if fingers else "B"
    strings = votes.most_common(1)[0][0]
    if not fingers:
        return ("D" if way == "down" else "U") + "".join(map(str, strings))
    plucked = [f"p{n}" if n > 3 else _FINGERS[n] for n in strings]
    return plucked[0] if len(plucked) == 1 else "[" + "".join(plucked) + "]"
