"""Lines of text with marked stretches, and how they are padded and broken.

A line is a tuple of stretches; a stretch is text and the name of a mark ("" for none). Marks
become colour or weight on a terminal and nothing in a file. Widths are terminal columns, so wide
characters count two.
"""

from __future__ import annotations

from collections.abc import Iterable

Stretch = tuple[str, str]
Line = tuple[Stretch, ...]

TIED = "\u00a0"
TITLE, NAME, LABEL, BAD, CARE, FAINT = "title", "name", "label", "bad", "care", "faint"
WORDS = "words"

_FIRST_ODD_WIDTH = "\u0300"  # below the combining marks every character takes one column


def cell_len(text: str) -> int:
    """Return how many columns of a terminal a text takes."""
    if text.isascii() or max(text) < _FIRST_ODD_WIDTH:
        return len(text)
    from rich.cells import cell_len as measured

    return measured(text)


def plain(text: str, mark: str = "") -> Line:
    """Return a line of one stretch."""
    return ((text, mark),) if text else ()


def line_text(line: Line) -> str:
    """Return a line without its marks and without blanks at its end."""
    return "".join(text for text, _ in line).rstrip()


def padded(text: str, width: int) -> str:
    """Return the text filled with blanks to `width` columns; longer text is as it was."""
    return text + " " * max(width - cell_len(text), 0)


def cut(text: str, width: int) -> str:
    """Return the text in at most `width` columns, with … where something is missing."""
    if cell_len(text) <= width:
        return text
    kept = ""
    for character in text:
        if cell_len(kept + character) >= width:
            break
        kept += character
    return kept + "…"


def wrapped(text: str, width: int, indent: str = "") -> list[str]:
    """Break text at blanks into lines of at most `width` columns; longer words are broken too.

    Every line but the first begins with `indent`. No line is broken at a TIED blank.
    """
    lines: list[str] = []
    line = start = ""
    for word in filter(None, text.replace("\n", " ").split(" ")):
        joined = f"{line} {word}" if line != start else line + word
        if cell_len(joined) <= width:
            line = joined
            continue
        if line != start:
            lines.append(line)
            start = indent
        while cell_len(start + word) > width and len(word) > 1:
            head = _head(word, width - len(start))
            lines.append(start + head)
            word, start = word[len(head) :], indent
        line = start + word
    if line != start:
        lines.append(line)
    return [each.replace(TIED, " ") for each in lines]


def _head(word: str, width: int) -> str:
    for end in range(1, len(word)):
        if cell_len(word[: end + 1]) > width:
            return word[:end]
    return word


def widest(texts: Iterable[str]) -> int:
    """Return the width of the widest text, 0 for none."""
    return max(map(cell_len, texts), default=0)
