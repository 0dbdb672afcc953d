"""Small chord diagrams for the top of a chart, drawn at sizes that can be read from the floor.

Sizes are in points. On stage finger digits are 10 and fret numbers 12 high, at home 8 and 8. The
fret number stands at the first row drawn, as counted from the nut.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import lru_cache
from typing import NamedTuple

from logbook.sheets.chords import ChordCard
from logbook.sheets.signs import with_signs
from logbook.sheets.svg_marks import SOLID, tag, text, text_width
from logbook.strings.capo import covers, whole_capo
from logbook.strings.stretch import fingered_frets
from logbook.strings.voicing import SoundingVoicing

_LEAST_ROWS = 4


class Measures(NamedTuple):
    """Heights of the name, the finger digits and the fret numbers; the rest follows."""

    name: float
    finger: float
    fret: float

    @property
    def gap(self) -> float:
        """Between two strings."""
        return self.finger * 1.18

    @property
    def row(self) -> float:
        """Between two frets."""
        return self.finger * 1.35

    @property
    def left(self) -> float:
        """Left of the strings, for a fret number of two digits."""
        return self.fret * 1.55


HOME, STAGE = Measures(11.0, 8.0, 8.0), Measures(20.0, 10.0, 12.0)


def diagram_width(strings: int, *, stage: bool) -> float:
    """Return how wide a diagram of so many strings is, with room around it."""
    size = STAGE if stage else HOME
    return size.left + (strings - 1) * size.gap + size.finger * 2.2


def small_diagrams(
    cards: Sequence[ChordCard], width: float, *, stage: bool, left_handed: bool
) -> tuple[list[str], float]:
    """Return the diagrams side by side, in as many rows as they need, and their height."""
    pieces, height = _row_of_diagrams(tuple(cards), width, stage, left_handed)
    return list(pieces), height


@lru_cache(maxsize=256)  # the same stand over a chart for the player and one for the student
def _row_of_diagrams(
    cards: tuple[ChordCard, ...],
    width: float,
    stage: bool,
    left_handed: bool,
) -> tuple[tuple[str, ...], float]:
    size = STAGE if stage else HOME
    pieces: list[str] = []
    x = y = tallest = 0.0
    shaped = any(card.shape and card.shape != card.concert for card in cards)
    for card in cards:
        assert card.drawn is not None, "only what can be drawn is drawn"
        names = with_signs(card.concert)
        wide = max(
            diagram_width(len(card.drawn.strings), stage=stage),
            size.left + text_width(names, size.name, bold=True) + size.finger,
        )
        # The number of a fret past the ninth needs more room before the strings.
        number = text_width(str(_frets(card.drawn)[0]), size.fret)
        lead = max(number + 1 - (size.left - size.finger * 0.75), 0.0)
        wide += lead
        if x and x + wide > width:
            x, y, tallest = 0.0, y + tallest + size.finger, 0.0
        high = _height(card.drawn, size, shaped)
        pieces += _diagram(card, names, x + lead, y, size, left_handed, shaped)
        x, tallest = x + wide, max(tallest, high)
    return tuple(pieces), y + tallest + size.finger


def _over(size: Measures, shaped: bool) -> float:
    """How much the names take above a diagram."""
    return size.name * (2.1 if shaped else 1.35)


def _height(voicing: SoundingVoicing, size: Measures, shaped: bool) -> float:
    first, last = _frets(voicing)
    return _over(size, shaped) + size.finger * 1.6 + (last - first + 1) * size.row


def _frets(voicing: SoundingVoicing) -> tuple[int, int]:
    """The first and last fret drawn."""
    top = whole_capo(voicing.tuning, voicing.capos) or 0
    fingered = list(fingered_frets(voicing.position))
    high = max(fingered, default=top)
    near = _LEAST_ROWS + (1 if voicing.capos and not top else 0)  # to show where the capo sits
    first = top + 1 if high <= top + near else min(fingered)
    return first, max(high, first + _LEAST_ROWS - 1)


def _partial_capos(
    voicing: SoundingVoicing, at: Callable[[int], float], roof: float, size: Measures
) -> Iterator[str]:
    """A bar with round ends behind its fret; one that lies above the frets drawn says its fret."""
    first, last = _frets(voicing)
    count = len(voicing.position)
    for capo in voicing.capos:
        held = sorted(at(index) for index in range(count) if covers(capo, count - index))
        if not held or capo.fret > last:
            continue
        hidden = capo.fret < first
        y = roof + (size.row * 0.18 if hidden else (capo.fret - first + 0.72) * size.row)
        thick = size.finger * 0.45
        yield tag("rect", class_="capo", x=held[0] - thick, y=y - thick / 2, rx=thick / 2,
                  width=held[-1] - held[0] + 2 * thick, height=thick, fill=SOLID)  # fmt: skip
        if hidden:
            edge = max(at(0), at(count - 1)) + size.finger * 0.5
            yield text(edge, y + size.fret * 0.36, f"c{capo.fret}", size=max(size.fret * 0.8, 8.0),
                       text_anchor="start", class_="fret")  # fmt: skip


def _diagram(
    card: ChordCard, names: str, x: float, y: float, size: Measures, left_handed: bool, shaped: bool
) -> Iterator[str]:
    voicing = card.drawn
    assert voicing is not None
    first, last = _frets(voicing)
    count = len(voicing.position)
    left = x + size.left
    roof = y + _over(size, shaped) + size.finger * 1.5
    floor = roof + (last - first + 1) * size.row

    def at(index: int) -> float:
        return left + (count - 1 - index if left_handed else index) * size.gap

    right = left + (count - 1) * size.gap
    yield text(left, y + size.name, names, size=size.name, font_weight="bold", class_="name")
    if card.shape and card.shape != card.concert:
        shape = max(size.name * 0.7, 8.0)
        yield text(left, y + size.name + shape * 1.15, with_signs(card.shape), size=shape,
                   class_="under")  # fmt: skip
    rows = "".join(
        f"M{left:g} {roof + row * size.row:g}H{right:g}" for row in range(last - first + 2)
    )
    strings = "".join(f"M{at(index):g} {roof:g}V{floor:g}" for index in range(count))
    yield tag("path", class_="grid", d=rows + strings, stroke_width=0.8)
    top = whole_capo(voicing.tuning, voicing.capos) or 0
    if first == top + 1:
        edge = f"M{left - 1:g} {roof:g}H{right + 1:g}"
        kind = "capo" if top else "nut"
        yield tag("path", class_=kind, d=edge, stroke_width=3.4, stroke_linecap="butt")
    yield text(left - size.finger * 0.75, roof + size.row * 0.5 + size.fret * 0.36, str(first),
               size=size.fret, text_anchor="end", class_="fret")  # fmt: skip
    fingers = voicing.fingers or (None,) * count
    for index, (stopped, finger) in enumerate(zip(voicing.position, fingers, strict=True)):
        cx = at(index)
        over = roof - size.finger * 0.75
        arm = size.finger * 0.32
        if stopped is None:
            cross = f"M{cx - arm:g} {over - arm:g}l{2 * arm:g} {2 * arm:g}"
            cross += f"m0 {-2 * arm:g}l{-2 * arm:g} {2 * arm:g}"
            yield tag("path", class_="mark", d=cross, stroke_width=1.2)
        elif not stopped.fingered:
            dashes = "1.2 2" if stopped.may_ring else None
            yield tag("circle", class_="mark", cx=cx, cy=over, r=arm, stroke_width=1.1,
                      stroke_dasharray=dashes)  # fmt: skip
        else:
            cy = roof + (stopped.fret - first + 0.5) * size.row
            yield from _dot(cx, cy, size, finger, hollow=stopped.harmonic or stopped.may_ring)
    if not top:
        yield from _partial_capos(voicing, at, roof, size)
    for barre in voicing.barres:
        if first <= barre.fret <= last:
            cy = roof + (barre.fret - first + 0.5) * size.row
            ends = sorted((at(count - barre.low), at(count - barre.high)))
            yield tag("path", class_="barre", d=f"M{ends[0]:g} {cy:g}H{ends[1]:g}",
                      stroke_width=size.finger * 0.5)  # fmt: skip


def _dot(x: float, y: float, size: Measures, finger: str | None, *, hollow: bool) -> Iterator[str]:
    radius = size.finger * 0.58
    if hollow:
        diamond = f"M{x:g} {y - radius:g}l{radius:g} {radius:g}l{-radius:g} {radius:g}"
        yield tag("path", class_="dot paper", d=f"{diamond}l{-radius:g} {-radius:g}z",
                  stroke_width=1.1, fill="#fff")  # fmt: skip
    else:
        yield tag("circle", class_="dot", cx=x, cy=y, r=radius, fill=SOLID)
    if finger:
        yield text(x, y + size.finger * 0.36, finger, size=size.finger, font_weight="bold",
                   text_anchor="middle", class_=None if hollow else "paper",
                   fill=None if hollow else "#fff")  # fmt: skip
