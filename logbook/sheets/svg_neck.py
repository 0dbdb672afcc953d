"""A move from one chord to the next, drawn on the neck as the player looks down at it.

The neck lies on its side, string 1 on top, the nut on the left (on the right for a left hand).
A ring is where a finger was, a dot where it goes, a dot in a ring one that stays; an arrow leads
a finger from the one to the other. All moves of a section show the same stretch of neck
where that is short enough to be read.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import NamedTuple

from logbook.sheets.svg_marks import SOLID, picture, tag, text
from logbook.strings.capo import Capos, covers, whole_capo
from logbook.strings.frets import Stopped
from logbook.strings.stretch import fingered_frets
from logbook.strings.voicing import SoundingVoicing

_FRET, _STRING = 46.0, 19.0
_LEFT, _TOP, _FOOT = 28.0, 13.0, 30.0
_DOT = 7.2
_LEAST_FRETS, _MOST_FRETS = 4, 7


class _Neck(NamedTuple):
    """The stretch of neck that is drawn, and where strings and frets lie on it."""

    strings: int
    top: int
    capos: Capos
    first: int
    last: int
    left_handed: bool

    @property
    def span(self) -> int:
        return self.last - self.first + 1

    @property
    def fret(self) -> float:
        return min(_FRET, _FRET * _MOST_FRETS / self.span)

    @property
    def width(self) -> float:
        return 2 * _LEFT + self.span * self.fret

    @property
    def height(self) -> float:
        return _TOP + (self.strings - 1) * _STRING + _FOOT

    def turned(self, x: float) -> float:
        """Mirror a place for a left hand."""
        return self.width - x if self.left_handed else x

    def wire(self, fret: int) -> float:
        return self.turned(_LEFT + (fret - self.first + 1) * self.fret)

    def cell(self, fret: int) -> float:
        if fret < self.first:
            return self.turned(_LEFT - 11)
        return self.turned(_LEFT + (fret - self.first + 0.55) * self.fret)

    def y(self, number: int) -> float:
        return _TOP + (number - 1) * _STRING


Place = tuple[int, int]
"""A string's number and the fret from the nut."""


def move_svg(
    before: SoundingVoicing,
    after: SoundingVoicing,
    section: Sequence[SoundingVoicing],
    *,
    label: str,
    left_handed: bool = False,
) -> str:
    """Return one move; `section` is every voicing of its section, by which the stretch is set."""
    neck = _neck_of(section, left_handed)
    if neck.span > _MOST_FRETS:
        neck = _neck_of((before, after), left_handed)
    return _drawn(before, after, neck, label)


def _neck_of(voicings: Sequence[SoundingVoicing], left_handed: bool) -> _Neck:
    some = voicings[0]
    top = whole_capo(some.tuning, some.capos) or 0
    frets = [fret for each in voicings for fret in fingered_frets(each.position)]
    high = max(frets, default=top)
    first = top + 1 if high <= top + 6 else min(frets)
    last = max(high, first + _LEAST_FRETS - 1)
    return _Neck(len(some.position), top, some.capos, first, last, left_handed)


@lru_cache(maxsize=1024)  # the same move comes in several songs
def _drawn(before: SoundingVoicing, after: SoundingVoicing, neck: _Neck, label: str) -> str:
    was, now = _held(before), _held(after)
    body = [*_frets(neck), *_strings(neck), *_stops(neck)]
    body += [_ring(neck, place, now.get(place), finger) for place, finger in was.items()]
    body += [_arrow(neck, *path) for path in _paths(was, now)]
    for place, finger in now.items():
        body += _dot(neck, place, finger)
    body += _open_marks(neck, after)
    return picture("neck", neck.width, neck.height, label, body)


def _ring(neck: _Neck, place: Place, then: str | None, finger: str | None) -> str:
    """Where a finger was: a ring, whole where it stays, wider where there is a dot now."""
    stays = then is not None and then == finger
    return tag(
        "circle",
        class_="was",
        cx=neck.cell(place[1]),
        cy=neck.y(place[0]),
        r=_DOT + (2.4 if then is not None else 0.4),
        stroke_width=1.3,
        stroke_dasharray=None if stays else "2.5 2.5",
        data_string=place[0],
        data_fret=place[1],
    )


def _dot(neck: _Neck, place: Place, finger: str | None) -> list[str]:
    x, y = neck.cell(place[1]), neck.y(place[0])
    about = {"data_string": place[0], "data_fret": place[1]}
    drawn = [tag("circle", class_="dot", cx=x, cy=y, r=_DOT, fill=SOLID, **about)]
    if finger:
        drawn.append(
            text(x, y + 3.8, finger, size=11, font_weight="bold", fill="#fff", class_="paper")
        )
    return drawn


def _held(voicing: SoundingVoicing) -> dict[Place, str | None]:
    count = len(voicing.position)
    fingers = voicing.fingers or (None,) * count
    return {
        (count - index, at.fret): finger
        for index, (at, finger) in enumerate(zip(voicing.position, fingers, strict=True))
        if at is not None and at.fingered
    }


def _paths(was: dict[Place, str | None], now: dict[Place, str | None]) -> list[tuple[Place, Place]]:
    """Where each finger goes that holds one string before and after, and does not stay."""
    paths = []
    for finger in sorted({each for each in was.values() if each}):
        starts = [place for place, held in was.items() if held == finger]
        ends = [place for place, held in now.items() if held == finger]
        if len(starts) == len(ends) == 1 and starts != ends:
            paths.append((starts[0], ends[0]))
    return paths


def _arrow(neck: _Neck, start: Place, end: Place) -> str:
    """A bent arrow from ring to dot, bowed so that one between neighbours can be seen."""
    x1, y1 = neck.cell(start[1]), neck.y(start[0])
    x2, y2 = neck.cell(end[1]), neck.y(end[0])
    length = ((x2 - x1) ** 2 + (y2 - y1) ** 2) ** 0.5
    bow = max(16.0, 0.22 * length)
    # The bow lies to the right of the way, as seen by whoever goes it.
    cx = (x1 + x2) / 2 - (y2 - y1) / length * bow
    cy = (y1 + y2) / 2 + (x2 - x1) / length * bow
    x1, y1 = _towards(x1, y1, cx, cy, _DOT + 1.5)
    x2, y2 = _towards(x2, y2, cx, cy, _DOT + 2)
    dx, dy = x2 - cx, y2 - cy
    size = max((dx**2 + dy**2) ** 0.5, 0.1)
    dx, dy = dx / size, dy / size
    wings = "".join(
        f"M{x2 - 5 * dx + side * 3 * dy:.1f} {y2 - 5 * dy - side * 3 * dx:.1f}L{x2:.1f} {y2:.1f}"
        for side in (1, -1)
    )
    return tag(
        "path",
        class_="way",
        d=f"M{x1:.1f} {y1:.1f}Q{cx:.1f} {cy:.1f} {x2:.1f} {y2:.1f}{wings}",
        stroke_width=1.4,
    )


def _towards(x: float, y: float, to_x: float, to_y: float, by: float) -> tuple[float, float]:
    """The point `by` away from a place, on the way to another."""
    length = max(((to_x - x) ** 2 + (to_y - y) ** 2) ** 0.5, 0.1)
    return x + (to_x - x) / length * by, y + (to_y - y) / length * by


def _frets(neck: _Neck) -> list[str]:
    top, floor = neck.y(1), neck.y(neck.strings)
    lines = "".join(
        f"M{neck.wire(fret):g} {top:g}V{floor:g}" for fret in range(neck.first, neck.last + 1)
    )
    drawn = [tag("path", class_="frets", d=lines, stroke_width=0.8)]
    drawn += [
        text(neck.cell(fret), floor + 22, str(fret), size=11)
        for fret in range(neck.first, neck.last + 1)
    ]
    return drawn


def _strings(neck: _Neck) -> list[str]:
    left, right = sorted((neck.turned(_LEFT), neck.turned(neck.width - _LEFT)))
    lines = "".join(f"M{left:g} {neck.y(n):g}H{right:g}" for n in range(1, neck.strings + 1))
    return [tag("path", class_="strings", d=lines)]


def _stops(neck: _Neck) -> list[str]:
    """The nut or the whole capo at the end, and partial capos where they sit."""
    x, top, floor = neck.turned(_LEFT), neck.y(1), neck.y(neck.strings)
    if neck.top:
        return (
            _capo(x, top, floor, neck.top, "start" if neck.left_handed else "end")
            if neck.first == neck.top + 1
            else []
        )
    drawn = []
    if neck.first == 1:
        drawn.append(
            tag(
                "path",
                class_="nut",
                d=f"M{x:g} {top:g}V{floor:g}",
                stroke_width=4,
                stroke_linecap="butt",
            )
        )
    for capo in neck.capos:
        covered = [neck.y(n) for n in range(1, neck.strings + 1) if covers(capo, n)]
        if covered and neck.first <= capo.fret <= neck.last:
            middle = neck.wire(capo.fret) - (-11 if neck.left_handed else 11)
            drawn += _capo(middle, min(covered), max(covered), capo.fret)
    return drawn


def _capo(x: float, top: float, floor: float, fret: int, anchor: str | None = None) -> list[str]:
    bar = tag(
        "rect",
        class_="capo",
        x=x - 4,
        y=top - 5,
        width=8,
        height=floor - top + 10,
        rx=4,
        fill=SOLID,
        data_capo=fret,
    )
    # At the edge of the picture the word keeps inside it.
    inwards = {"end": 7.0, "start": -7.0}.get(anchor or "", 0.0)
    return [bar, text(x + inwards, floor + 22, f"capo {fret}", size=9, text_anchor=anchor)]


def _open_marks(neck: _Neck, after: SoundingVoicing) -> list[str]:
    """At the nut's end: which strings the next chord leaves open, and which it leaves out."""
    drawn = []
    x = neck.turned(_LEFT - 13)
    count = len(after.position)
    for index, at in enumerate(after.position):
        y = neck.y(count - index)
        if at is None:
            drawn.append(tag("path", d=f"M{x - 3:g} {y - 3:g}l6 6m0 -6l-6 6", stroke_width=1.2))
        elif _is_open(at):
            drawn.append(tag("circle", cx=x, cy=y, r=3.4, stroke_width=1.2))
    return drawn


def _is_open(at: Stopped) -> bool:
    return not at.fingered
