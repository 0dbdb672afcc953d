"""Staff notation as pictures: MusicXML drawn by Verovio, where it is installed (extra `engrave`).

Without it a page says the same notes in words, as text does. Tempo marks are left out, since the
sheet's head says them and their sign needs a font of its own; what the drawing says in a style of
its own becomes attributes, since a page allows no styles but its own.
"""

from __future__ import annotations

import re
from functools import lru_cache
from zlib import crc32

_TENTHS_A_POINT = 10 * 25.4 / 72
_SIZE = 0.9  # of a staff 7.2 mm high: 6.5 mm, read from a music stand (common practice, no source)
_STROKED = re.compile(r"<(path|rect|ellipse|polygon|polyline)(?=\s)(?![^>]*\bstroke=)")
_STYLE = re.compile(r"<style.*?</style>", re.S)
_MARKS = re.compile(r'<g id="[^"]*" class="[^"]*\bplaceholder\b[^"]*">\s*<ellipse[^>]*/>\s*</g>')
_DEGREES = re.compile(r"<degree\b.*?</degree>", re.S)  # the name's text says them already
_SIGNS = str.maketrans("\uea64\uea66\ue260\ue262", "♭♯♭♯")
_TEMPO = re.compile(r"<direction\b(?:(?!</direction>).)*<metronome\b.*?</direction>", re.S)


@lru_cache(maxsize=64)
def engraved(score: str, width_points: float) -> tuple[str, ...]:
    """Return a score as SVG pictures, one to a system, as wide as asked for (1/72 inch).

    Empty where Verovio is not installed, or cannot read the score.
    """
    try:
        import verovio
    except (ImportError, OSError):
        return ()
    verovio.enableLog(verovio.LOG_OFF)
    toolkit = verovio.toolkit()
    toolkit.setOptions(
        {
            "adjustPageHeight": True,
            "breaks": "auto",
            "footer": "none",
            "header": "none",
            "pageHeight": 100,
            "pageMarginBottom": 20,
            "pageMarginLeft": 90,
            "pageMarginRight": 0,
            "pageMarginTop": 20,
            "pageWidth": round(width_points * _TENTHS_A_POINT / _SIZE),
            "scale": 50,
            "svgViewBox": True,
            "xmlIdSeed": crc32(score.encode()) or 1,
        }
    )
    if not toolkit.loadData(_DEGREES.sub("", _TEMPO.sub("", score))):
        return ()
    pages = range(1, int(toolkit.getPageCount()) + 1)
    return tuple(_plain(str(toolkit.renderToSVG(page))) for page in pages)


_INNER = re.compile(r'<svg class="definition-scale"[^>]*viewBox="0 0 (\d+) (\d+)"[^>]*>')
_OUTER = re.compile(r'<svg viewBox="0 0 (\d+) (\d+)"')


def _flat(svg: str) -> str:
    """A drawing in one picture instead of one within another, which not every printer draws."""
    inner, outer = _INNER.search(svg), _OUTER.search(svg)
    if inner is None or outer is None:
        return svg
    scale = int(outer[1]) / int(inner[1])
    start, end = svg[: inner.start()], svg[inner.end() :]
    body, _, tail = end.rpartition("</svg>")
    body = body.rstrip()
    return f'{start}<g transform="scale({scale:.6g})">{body.removesuffix("</svg>")}</g></svg>{tail}'


def _plain(svg: str) -> str:
    """A drawing without a style of its own."""
    svg = _flat(svg)
    bare = _MARKS.sub("", _STYLE.sub("", svg)).translate(_SIGNS)
    bare = bare.replace('font-family="Leipzig" font-size="720px"', 'font-size="405px"')
    return _STROKED.sub(r'<\1 stroke="currentColor"', bare)
