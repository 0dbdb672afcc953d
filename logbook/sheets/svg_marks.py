"""Small pieces of SVG that all pictures are put together from.

Pictures are drawn in the colour of the text around them (`currentColor`), so that they follow a
light page, a dark one and paper alike. What must show the page through (a figure inside a dot)
has the class `paper`. Every text is escaped here.
"""

from __future__ import annotations

from html import escape

FONT = "Helvetica, Arial, sans-serif"


def attributes(**values: object) -> str:
    """Return attributes as they stand in a tag; `_` in a name is written `-`, None left out."""
    return "".join(
        f' {name.rstrip("_").replace("_", "-")}="{escape(_number(value))}"'
        for name, value in values.items()
        if value is not None
    )


def _number(value: object) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".") if isinstance(value, float) else str(value)


def tag(name: str, **values: object) -> str:
    """Return an element that holds nothing."""
    return f"<{name}{attributes(**values)}/>"


def text(x: float, y: float, said: str, *, size: float, **values: object) -> str:
    """Return text that stands in the middle over x, its foot at y."""
    given = {"text_anchor": "middle", "font_size": size, "fill": "currentColor", **values}
    return f"<text{attributes(x=x, y=y, **given)}>{escape(said)}</text>"


def picture(kind: str, width: float, height: float, label: str, body: str, **values: object) -> str:
    """Return a whole picture; `label` says in words what it shows."""
    opening = attributes(
        class_=kind,
        role="img",
        aria_label=label,
        viewBox=f"0 0 {_number(width)} {_number(height)}",
        width=width,
        height=height,
        font_family=FONT,
        fill="none",
        stroke_linecap="round",
        **values,
    )
    return f'<svg xmlns="http://www.w3.org/2000/svg"{opening}>{body}</svg>'
