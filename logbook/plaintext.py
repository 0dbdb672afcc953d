"""Text from people made safe to print on a terminal and to open in a spreadsheet.

Names, notes and file names come from anywhere. A terminal obeys control codes hidden in them,
a bidirectional override makes a line read as something else, and a spreadsheet runs a cell that
begins like a formula. Nothing is lost here: what would act is made visible instead.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import takewhile

_BIDI_CONTROLS = frozenset(
    "\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"
)
_MONTH = "(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*"
_MADE_OVER = re.compile(
    rf"\d{{1,4}}\s*[/]\s*\d{{1,4}}(?:\s*[/]\s*\d{{1,4}})?"  # 1/2, 3/4/25
    rf"|\d{{1,2}}\s*-\s*\d{{1,4}}(?:\s*-\s*\d{{1,4}})?"  # 3-8, but not 2026-05-02
    rf"|\d{{1,2}}\.\d{{1,2}}\.(?:\d{{2,4}})?"  # 3.4., 3.4.25
    rf"|\d{{1,4}}[\s./-]*{_MONTH}[\s./-]*(?:\d{{2,4}})?|{_MONTH}[\s./-]*\d{{1,4}}"  # 5 Mar, May 2
    rf"|\d{{1,2}}:\d{{2}}(?::\d{{2}})?"  # a time of day
    rf"|0\d+|\d{{12,}}[Xx]?|\d+[eE]\d+",  # digits that would be lost
    re.ASCII | re.IGNORECASE,
)
"""What spreadsheets take for a date, a time, or a number with fewer digits than were written."""
_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")


def clean(text: str, *, keep_newlines: bool = False) -> str:
    """Return `text` with everything that a terminal would act on made visible.

    Control codes become their picture (U+001B becomes ␛), bidirectional controls, C1 codes,
    lone surrogates and tag characters become their number (`<U+202E>`); a tab or a line break
    becomes one space, unless `keep_newlines` lets `\\n` stand.
    """
    if text.isprintable():
        return text
    return "".join(_harmless(character, keep_newlines) for character in text.replace("\r\n", "\n"))


def csv_cell(value: object) -> str:
    """Return `value` as the text of one CSV cell that no spreadsheet takes for a formula.

    Text that begins with `=`, `+`, `-`, `@`, a tab or a line break (also behind spaces) gets an
    apostrophe in front, and so does text that would be read as a date (`1/2`, `3-8`, `5 Mar`) or
    as a number that loses something (`007`, sixteen digits). Numbers and ISO dates stay what they
    are, `None` is an empty cell.
    """
    if value is None:
        return ""
    if isinstance(value, int | float):
        return str(value)
    text = str(value)
    starts_like_formula = text.startswith(_FORMULA_STARTS) or text.lstrip().startswith(
        _FORMULA_STARTS
    )
    return f"'{text}" if starts_like_formula or _MADE_OVER.fullmatch(text.strip()) else text


def _harmless(character: str, keep_newlines: bool) -> str:
    """Return what stands for one character."""
    code = ord(character)
    if character == "\n" and keep_newlines:
        return character
    if character in "\t\n\r\v\f\u0085\u2028\u2029":
        return " "
    if code < 0x20:
        return chr(0x2400 + code)
    if code == 0x7F:
        return "\u2421"
    acts = (
        0x80 <= code < 0xA0
        or character in _BIDI_CONTROLS
        or 0xD800 <= code < 0xE000
        or 0xE0000 <= code < 0xE0080
    )
    return f"<U+{code:04X}>" if acts else character


def in_common(names: Sequence[str]) -> str:
    """What names begin and end with, and a star for what they differ in."""
    begin = _same_start(names)
    ends = _same_start([name[len(begin) :][::-1] for name in names])[::-1]
    return f"{begin}*{ends}"


def _same_start(texts: Sequence[str]) -> str:
    """The letters that all of these texts begin with."""
    alike = takewhile(lambda letters: len(set(letters)) == 1, zip(*texts, strict=False))
    return "".join(letters[0] for letters in alike)
