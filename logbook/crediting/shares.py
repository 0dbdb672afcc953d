"""Shares of a song: exact fractions, and whether they make a whole.

Conventions. A share is a fraction from 0 to 1. Two ways of counting are in use (common practice,
no source), and the figures say which one was meant:

- The writers' shares make one whole, and the publishers' shares make another whole of their own.
  This holds when no publisher is logged, or when either side makes a whole by itself.
- Writers and publishers together make one whole. This holds otherwise.

When no publisher is logged nothing is missing: a song need not have one.
Nothing is rounded where shares are counted: three times 33.33 % leaves 1/10000, and the report
says so. Where they are printed as percentages, hundredths are shared out so that they add up to
what the shares make (largest remainders first, of equal ones the first named; common practice).
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from logbook.crediting.errors import CreditError

_DECIMAL = r"\d{0,9}(?:[.,]\d{1,12})?"
_FRACTION: Final = re.compile(r"(\d{1,9})\s*[/⁄]\s*(\d{1,9})", re.ASCII)
_NUMBER: Final = re.compile(rf"({_DECIMAL})\s*(%|per\s?cent|percent|pct)?", re.ASCII | re.I)
_REMEDY: Final = (
    "write a fraction such as 1/3, a percentage such as 33.3 %, or a decimal such as 0.5"
)
_ROUNDING: Final = Fraction(1, 50)


def read_share(value: str | int | float | Fraction) -> Fraction:
    """Return the exact share, 0 to 1, that was written as "1/2", "50%", "0.333" or "33,33 %".

    A decimal is taken at its word: 0.333 is 333/1000. Raises `CreditError` for anything else,
    for a negative share and for one of more than the whole.
    """
    text = str(value).strip()
    share = _parse(unicodedata.normalize("NFKC", text))  # "½" becomes "1⁄2"
    if share is None:
        raise CreditError(f"{text!r} is not a share" if text else "The share is empty", _REMEDY)
    if share > 1:
        raise CreditError(
            f"A share of {text} is more than the whole",
            f"write {text} % if a percentage was meant"
            if share <= 100 and "%" not in text and "/" not in text
            else _REMEDY,
        )
    return share


ROUNDED: Final = (
    "rounded to hundredths that add up to the whole: the largest remainders are rounded up, of "
    "equal ones the first named"
)


def percentages(shares: Iterable[Fraction]) -> tuple[Fraction, ...]:
    """Return shares as percentages of two decimals that add up to what the shares make.

    The total itself is rounded to hundredths where it has more decimals: 1/3, 1/3, 1/3 become
    33.34, 33.33 and 33.33.
    """
    hundredths = [share * 10_000 for share in shares]
    floors = [each.numerator // each.denominator for each in hundredths]
    left = round(sum(hundredths, Fraction(0))) - sum(floors)
    by_remainder = sorted(range(len(floors)), key=lambda n: (floors[n] - hundredths[n], n))
    for place in by_remainder[:left]:
        floors[place] += 1
    return tuple(Fraction(each, 100) for each in floors)


def percentage_text(percent: Fraction) -> str:
    """Return a percentage of two decimals: "33.34"."""
    hundredths = int(percent * 100)
    return f"{hundredths // 100}.{hundredths % 100:02d}"


@dataclass(frozen=True, slots=True)
class ShareReport:
    """What the shares of a song add up to, and what is wrong with that.

    `convention` says how they were counted; `problems` is empty when they make a whole.
    """

    writers_total: Fraction
    publishers_total: Fraction | None
    convention: str
    problems: tuple[str, ...]

    @property
    def verdict(self) -> str:
        """What the shares total, or should where they do not."""
        if self.problems:
            return self.convention
        return self.convention.replace("should total", "total").replace("so should", "so do")

    @property
    def counts_together(self) -> bool:
        """Whether writers and publishers make one whole together."""
        return self.convention == _TOGETHER


_TOGETHER: Final = "the writers' and publishers' shares together should total 100 %"


def check_shares(writers: Iterable[Fraction], publishers: Iterable[Fraction]) -> ShareReport:
    """Return whether the shares total 100 % and, if not, by how much they do not."""
    writer_shares, publisher_shares = tuple(writers), tuple(publishers)
    writers_total = sum(writer_shares, Fraction(0))
    if not publisher_shares:
        convention = "the writers' shares should total 100 %; no publisher is logged"
        problems = [_gap("the writers' shares", writers_total)] if writer_shares else []
        return ShareReport(writers_total, None, convention, tuple(filter(None, problems)))
    publishers_total = sum(publisher_shares, Fraction(0))
    if writers_total == 1 or publishers_total == 1:
        convention = "the writers' shares should total 100 %, and so should the publishers' shares"
        problems = [
            _gap("the writers' shares", writers_total),
            _gap("the publishers' shares", publishers_total),
        ]
    else:
        convention = _TOGETHER
        problems = [
            _gap("the writers' and publishers' shares together", writers_total + publishers_total)
        ]
    return ShareReport(writers_total, publishers_total, convention, tuple(filter(None, problems)))


def _gap(whose: str, total: Fraction) -> str:
    """Return the sentence about shares that make no whole, or nothing when they do."""
    if total == 1:
        return ""
    gap = abs(1 - total)
    verb = "is missing" if total < 1 else "is too much"
    hint = " (rounded? thirds are written 1/3)" if gap < _ROUNDING else ""
    return f"{whose} total {total}; {gap} {verb}{hint}"


def _parse(text: str) -> Fraction | None:
    """Return the number that `text` spells, or None."""
    if found := _FRACTION.fullmatch(text):
        above, below = int(found[1]), int(found[2])
        return Fraction(above, below) if below else None
    found = _NUMBER.fullmatch(text)
    if found is None or not found[1]:
        return None
    number = Fraction("0" + found[1].replace(",", "."))
    return number / 100 if found[2] else number
