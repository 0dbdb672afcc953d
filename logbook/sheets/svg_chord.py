"""A chord diagram as SVG: the neck upright, as on paper, the bass side on the left.

Above the strings: a cross where one is not played, a ring where it sounds open, a dotted ring
where it may ring. The nut is a thick line; a capo is a bar where it sits, over the strings it
covers. Frets stand on the left as counted from the nut, with a whole capo also on the right as
counted from the capo. A dot is a finger, with its number where that is known; a bar joins the
strings under one finger; a diamond is a harmonic; a bent arrow an ornament.

Every string and every dot says what it is in `data-string` (1 is the highest) and `data-fret`
(from the nut). For a left hand the picture is turned round, its figures are not.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from logbook.sheets.svg_marks import SOLID, picture, tag, text
from logbook.strings.capo import covers, whole_capo
from logbook.strings.frets import CAPO, Stopped
from logbook.strings.ornaments import Ornament
from logbook.strings.stretch import fingered_frets
from logbook.strings.voicing import SoundingVoicing

STRING_GAP, FRET_GAP = 24.0, 27.0
LEFT, RIGHT = 54.0, 34.0
_HEAD, _FOOT, _HIDDEN = 26.0, 20.0, 30.0
_DOT = 9.4
_LEAST_ROWS, _MOST_ROWS_FROM_STOP = 4, 5
_LETTERS = {
    "hammer-on": "h",
    "pull-off": "p",
    "slide": "sl",
    "bend": "b",
    "trill": "tr",
    "vibrato": "v",
    "grace note": "gr",
}


class Grid(NamedTuple):
    """Where strings and frets lie on the picture.

    Frets `first` to `last` are drawn; `top` is the whole capo, 0 for none. `hidden` says that
    the frets between nut or capo and `first` are left out.
    """

    strings: int
    first: int
    last: int
    top: int
    hidden: bool
    left_handed: bool

    @property
    def roof(self) -> float:
        """The y of the line above the first fret drawn."""
        return _HEAD + (_HIDDEN if self.hidden else 0.0)

    @property
    def floor(self) -> float:
        """The y of the last fret's line."""
        return self.roof + (self.last - self.first + 1) * FRET_GAP

    def x(self, index: int) -> float:
        """The x of a string, counted from the bass side from 0."""
        place = self.strings - 1 - index if self.left_handed else index
        return LEFT + place * STRING_GAP

    def wire(self, fret: int) -> float:
        """The y of a fret's line; 0 frets above `first` is the roof."""
        return self.roof + (fret - self.first + 1) * FRET_GAP

    def cell(self, fret: int) -> float:
        """The y where a finger stands, a little behind its fret's line."""
        return self.wire(fret) - FRET_GAP * 0.48

    @property
    def ends(self) -> tuple[float, float]:
        """The x of the outer strings, left to right."""
        return LEFT, LEFT + (self.strings - 1) * STRING_GAP


def chord_svg(
    voicing: SoundingVoicing,
    *,
    label: str,
    ornaments: Sequence[Ornament] = (),
    counted: str = "nut",
    left_handed: bool = False,
) -> str:
    """Return one diagram; `label` is what it shows in words, `ornaments` are counted as said."""
    placed = [_from_nut(each, voicing, counted) for each in ornaments]
    grid = _grid(voicing, placed, left_handed)
    body = [
        *_frets(grid, voicing),
        *_strings(grid, voicing),
        *_stops(grid, voicing),
        *_marks(grid, voicing),
        *_barres(grid, voicing),
        *_dots(grid, voicing),
        *(piece for each in placed for piece in _ornament(grid, each)),
    ]
    width = picture_width(grid.strings)
    return picture(
        "chord",
        width,
        grid.floor + _FOOT,
        label,
        body,
        data_strings=grid.strings,
        data_first_fret=grid.first,
    )


def picture_width(strings: int) -> float:
    """Return how wide the diagram of so many strings is, margins included."""
    return LEFT + (strings - 1) * STRING_GAP + RIGHT


def _grid(voicing: SoundingVoicing, ornaments: Sequence[Ornament], left_handed: bool) -> Grid:
    top = whole_capo(voicing.tuning, voicing.capos) or 0
    frets = list(fingered_frets(voicing.position))
    frets += [fret for each in ornaments for fret in (each.start, each.end) if fret > top]
    high = max(frets, default=top)
    near = high <= top + _MOST_ROWS_FROM_STOP
    first = top + 1 if near else min(frets)
    last = max(high, first + _LEAST_ROWS - 1)
    return Grid(len(voicing.position), first, last, top, not near and first > top + 1, left_handed)


def _from_nut(ornament: Ornament, voicing: SoundingVoicing, counted: str) -> Ornament:
    """An ornament with its frets on the neck; an open string is where the string is stopped."""
    at = _at(voicing, ornament.string)
    stop = at.stop if at else 0

    def fret(written: int) -> int:
        return stop if written == 0 else written + (stop if counted == CAPO else 0)

    return ornament._replace(start=fret(ornament.start), end=fret(ornament.end))


def _at(voicing: SoundingVoicing, number: int) -> Stopped | None:
    index = len(voicing.position) - number
    return voicing.position[index] if 0 <= index < len(voicing.position) else None


def _frets(grid: Grid, voicing: SoundingVoicing) -> list[str]:
    left, right = grid.ends
    start = grid.first - 1 if grid.hidden else grid.first
    lines = "".join(
        f"M{left:g} {grid.wire(fret):g}H{right:g}" for fret in range(start, grid.last + 1)
    )
    drawn = [tag("path", class_="frets", d=lines, stroke_width=1)]
    both = bool(grid.top) and bool(voicing.capos)
    for fret in range(grid.first, grid.last + 1):
        bold = "bold" if fret == grid.first else None
        y = grid.cell(fret) + 4
        drawn.append(text(LEFT - 21, y, str(fret), size=13, font_weight=bold))
        if both:
            drawn.append(
                text(
                    right + 21,
                    y,
                    str(fret - grid.top),
                    size=13,
                    font_weight=bold,
                    font_style="italic",
                )
            )
    return drawn


def _strings(grid: Grid, voicing: SoundingVoicing) -> list[str]:
    drawn = []
    for index, string in enumerate(voicing.tuning.strings):
        x = grid.x(index)
        # A short string (a banjo's fifth) begins at its own peg, up the neck.
        begins = _HEAD if string.start < grid.first else grid.wire(string.start)
        begins = min(begins, grid.floor - 6)
        thick = 0.9 + 1.1 * (grid.strings - 1 - index) / max(grid.strings - 1, 1)
        number = grid.strings - index
        drawn.append(
            tag(
                "line",
                class_="string",
                x1=x,
                x2=x,
                y1=begins,
                y2=grid.floor,
                stroke_width=thick,
                data_string=number,
            )
        )
        if string.start >= grid.first:
            drawn.append(tag("circle", cx=x, cy=begins, r=3, fill=SOLID))
        name = string.name.rstrip("-0123456789")
        drawn.append(text(x, grid.floor + 15, name, class_="string-name"))
    return drawn


def _stops(grid: Grid, voicing: SoundingVoicing) -> list[str]:
    """The nut, and the capos where they sit."""
    left, right = grid.ends
    drawn = []
    if grid.top:
        drawn += [
            _bar(left, right, _HEAD, ("capo", grid.top)),
            text(LEFT - 21, _HEAD + 4, str(grid.top), size=13),
            text(right + 22, _HEAD + 3, "capo", size=10),
        ]
    else:
        drawn.append(
            tag(
                "path",
                class_="nut",
                d=f"M{left:g} {_HEAD:g}H{right:g}",
                stroke_width=5,
                stroke_linecap="butt",
            )
        )
    if grid.hidden:
        # The neck between here and the first fret drawn is left out: a gap in the strings.
        drawn.append(
            tag(
                "rect",
                class_="paper",
                x=left - 4,
                y=_HEAD + 17,
                width=right - left + 8,
                height=7,
                fill="#fff",
                stroke="none",
                data_left_out="yes",
            )
        )
    if not grid.top:
        drawn += _partial_capos(grid, voicing)
    return drawn


def _partial_capos(grid: Grid, voicing: SoundingVoicing) -> list[str]:
    drawn = []
    for capo in voicing.capos:
        covered = [
            grid.x(index) for index in range(grid.strings) if covers(capo, grid.strings - index)
        ]
        behind = capo.fret < grid.first
        y = _HEAD + 9 if behind else grid.cell(capo.fret) + 3
        if covered and capo.fret <= grid.last:
            drawn.append(_bar(min(covered), max(covered), y, ("capo", capo.fret)))
            right = grid.ends[1]
            said = f"capo {capo.fret}" if behind else "capo"
            drawn.append(
                text(right + (18 if behind else 22), y + 3.5, said, size=9 if behind else 10)
            )
    return drawn


def _bar(left: float, right: float, y: float, capo: tuple[str, int]) -> str:
    return tag(
        "rect",
        class_=capo[0],
        x=left - 7,
        y=y - 4.5,
        width=right - left + 14,
        height=9,
        rx=4.5,
        fill=SOLID,
        data_capo=capo[1],
    )


def _marks(grid: Grid, voicing: SoundingVoicing) -> list[str]:
    """What stands above the strings that no finger holds."""
    drawn = []
    y = _HEAD - 14
    for index, at in enumerate(voicing.position):
        x, number = grid.x(index), grid.strings - index
        common = {"data_string": number, "stroke_width": 1.6}
        if at is None:
            cross = f"M{x - 4:g} {y - 4:g}l8 8m0 -8l-8 8"
            drawn.append(tag("path", class_="mark", d=cross, data_state="not played", **common))
        elif not at.fingered:
            state = "may ring" if at.may_ring else "open"
            dashes = "1.5 3" if at.may_ring else None
            drawn.append(
                tag(
                    "circle",
                    class_="mark",
                    cx=x,
                    cy=y,
                    r=4.6,
                    data_state=state,
                    stroke_dasharray=dashes,
                    **common,
                )
            )
    return drawn


def _barres(grid: Grid, voicing: SoundingVoicing) -> list[str]:
    drawn = []
    for barre in voicing.barres:
        if grid.first <= barre.fret <= grid.last:
            left, right = (grid.x(grid.strings - number) for number in (barre.low, barre.high))
            y = grid.cell(barre.fret)
            drawn.append(
                tag(
                    "line",
                    class_="barre",
                    x1=left,
                    x2=right,
                    y1=y,
                    y2=y,
                    stroke_width=9,
                    data_finger=barre.finger,
                )
            )
    return drawn


def _dots(grid: Grid, voicing: SoundingVoicing) -> list[str]:
    drawn = []
    fingers = voicing.fingers or (None,) * grid.strings
    for index, (at, finger) in enumerate(zip(voicing.position, fingers, strict=True)):
        if at is None or not at.fingered:
            continue
        x, y = grid.x(index), grid.cell(at.fret)
        about = {"data_string": grid.strings - index, "data_fret": at.fret, "data_finger": finger}
        if at.harmonic:
            diamond = f"M{x:g} {y - _DOT - 1:g}l{_DOT:g} {_DOT + 1:g}l-{_DOT:g} {_DOT + 1:g}"
            diamond += f"l-{_DOT:g} -{_DOT + 1:g}z"
            drawn.append(
                tag(
                    "path",
                    class_="dot harmonic paper",
                    d=diamond,
                    fill="#fff",
                    stroke_width=1.8,
                    **about,
                )
            )
        elif at.may_ring:
            drawn.append(
                tag(
                    "circle",
                    class_="dot optional paper",
                    cx=x,
                    cy=y,
                    r=_DOT,
                    fill="#fff",
                    stroke_width=1.6,
                    stroke_dasharray="2 3",
                    **about,
                )
            )
        else:
            drawn.append(tag("circle", class_="dot", cx=x, cy=y, r=_DOT, fill=SOLID, **about))
        if finger:
            hollow = at.harmonic or at.may_ring
            drawn.append(
                text(
                    x,
                    y + 4.2,
                    finger,
                    font_weight="bold",
                    class_=None if hollow else "paper",
                    fill=None if hollow else "#fff",
                )
            )
    return drawn


def _ornament(grid: Grid, ornament: Ornament) -> list[str]:
    """A bent arrow beside its string, from where it begins to where it ends."""
    index = grid.strings - ornament.string
    if not 0 <= index < grid.strings:
        return []
    begin, end = (
        grid.roof - 4 if fret < grid.first else grid.cell(fret)
        for fret in (ornament.start, ornament.end)
    )
    x = grid.x(index) + _DOT
    about = {"data_ornament": ornament.kind, "data_string": ornament.string}
    letter = _LETTERS.get(ornament.kind, "")
    if begin == end:
        return [text(x + 3, begin - 4, letter, size=10, font_style="italic", **about)]
    tip = -4 if end > begin else 4
    path = f"M{x - 3:g} {begin:g}Q{x + 9:g} {(begin + end) / 2:g} {x:g} {end:g}"
    path += f"m{1:g} {tip:g}l-1 {-tip:g}l5 {tip * 0.2:g}"
    arrow = tag("path", class_="ornament", d=path, stroke_width=1.4, **about)
    return [arrow, text(x + 8, (begin + end) / 2 + 3, letter, size=10, font_style="italic")]
