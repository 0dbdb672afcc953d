"""Small pieces of SVG that all pictures are put together from.

Pictures are drawn in the colour of the text around them (`currentColor`), so that they follow a
light page, a dark one and paper alike. What must show the page through (a figure inside a dot)
has the class `paper`. Every text is escaped here.

Lines are what a picture draws unless told otherwise; figures and letters are drawn last, above
everything. A page may hold a hundred pictures, so nothing is said twice in one.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import cache, lru_cache
from html import escape

FONT = "Helvetica, Arial, sans-serif"
FIGURES = 'fill="currentColor" stroke="none"'
SOLID = "currentColor"
_BOLD = 1.12
_OFTEN = 16  # longer texts hardly ever come again
_WIDE, _NARROW = "MWmw@—", "ijlt.,;:|!'()[]/ "


def attributes(values: dict[str, object]) -> str:
    """Return attributes as they stand in a tag; `_` in a name is written `-`, None left out."""
    said = ""
    for name, value in values.items():
        if value is None:
            continue
        if isinstance(value, str):
            if len(value) <= _OFTEN:
                said += _attribute(name, value)
                continue
            value = escape(value)
        elif isinstance(value, float):
            value = f"{value:.1f}".removesuffix(".0")
        said += f' {_written(name)}="{value}"'
    return said


@lru_cache(maxsize=4096)
def _attribute(name: str, value: str) -> str:
    return f' {_written(name)}="{escape(value)}"'


def number_text(value: float) -> str:
    """Return a number as it stands in an attribute: to a tenth."""
    return f"{value:.1f}".removesuffix(".0")


@cache
def _written(name: str) -> str:
    return name.rstrip("_").replace("_", "-")


def tag(name: str, **values: object) -> str:
    """Return an element that holds nothing."""
    return f"<{name}{attributes(values)}/>"


@lru_cache(maxsize=4096)
def escaped(said: str) -> str:
    """Return a short text that comes often, as a name of a chord, as it stands in a picture."""
    return escape(said)


def text(x: float, y: float, said: str, *, size: float | None = None, **values: object) -> str:
    """Return text that stands in the middle over x, its foot at y; 12 units high unless said."""
    given = {"x": x, "y": y, "font_size": size, **values}
    return f"<text{attributes(given)}>{escape(said)}</text>"


def text_width(said: str, size: float, *, bold: bool = False) -> float:
    """Return about how wide a text is set, in the unit of its size.

    Estimated from the widths of a sans serif (Helvetica's metrics, rounded up), since the reader's
    computer may have another one; of a wide one, bold letters are an eighth wider.
    """
    return _ems(said) * size * (_BOLD if bold else 1.0)


@lru_cache(maxsize=4096)
def _ems(said: str) -> float:
    return sum(
        0.95 if each in _WIDE else 0.36 if each in _NARROW else 0.72 if each.isupper() else 0.64
        for each in said
    )


def segno(x: float, y: float, high: float) -> Iterator[str]:
    """The sign from which a dal segno goes on, around this middle; few fonts have it."""
    half = high / 2
    bow = (
        f"M{x + half * 0.5:.1f} {y - half * 0.6:.1f}"
        f"C{x + half * 0.2:.1f} {y - half * 1.2:.1f} {x - half:.1f} {y - half:.1f}"
        f" {x - half * 0.4:.1f} {y - half * 0.25:.1f}"
        f"S{x + half:.1f} {y + half * 0.35:.1f} {x + half * 0.3:.1f} {y + half * 0.85:.1f}"
        f"S{x - half * 0.5:.1f} {y + half:.1f} {x - half * 0.5:.1f} {y + half * 0.6:.1f}"
    )
    yield tag("path", class_="segno", d=bow, stroke_width=high * 0.11)
    slash = f"M{x - half * 0.65:.1f} {y + half:.1f}L{x + half * 0.65:.1f} {y - half:.1f}"
    yield tag("path", class_="segno", d=slash, stroke_width=high * 0.07)
    for side in (-1, 1):
        yield tag("circle", class_="segno", cx=x + side * half * 0.7, cy=y + side * half * 0.15,
                  r=high * 0.07, fill=SOLID, stroke="none")  # fmt: skip


def coda_sign(x: float, y: float, high: float) -> Iterator[str]:
    """The sign of the coda, around this middle."""
    half = high / 2
    yield tag("ellipse", class_="coda", cx=x, cy=y, rx=half * 0.55, ry=half * 0.75,
              stroke_width=high * 0.1)  # fmt: skip
    cross = f"M{x - half * 0.9:.1f} {y:.1f}h{half * 1.8:.1f}M{x:.1f} {y - half:.1f}v{high:.1f}"
    yield tag("path", class_="coda", d=cross, stroke_width=high * 0.07)


def picture(
    kind: str, width: float, height: float, label: str, pieces: Iterable[str], **values: object
) -> str:
    """Return a whole picture; `label` says in words what it shows."""
    opening = attributes(
        {
            "class_": kind,
            "role": "img",
            "aria_label": label,
            "viewBox": f"0 0 {width:g} {height:g}",
            "width": width,
            "height": height,
            "fill": "none",
            "stroke": SOLID,
            "stroke_linecap": "round",
            "font_family": FONT,
            "font_size": 12,
            "text_anchor": "middle",
            **values,
        }
    )
    lines: list[str] = []
    figures: list[str] = []
    for piece in pieces:
        (figures if piece.startswith("<text") else lines).append(piece)
    letters = f"<g {FIGURES}>{''.join(figures)}</g>" if figures else ""
    return f'<svg xmlns="http://www.w3.org/2000/svg"{opening}>{"".join(lines)}{letters}</svg>'
