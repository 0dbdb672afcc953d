"""Whole numbers as people write them: digits, and not more of them than anything is counted in."""

from __future__ import annotations

from logbook.errors import LogbookError

MOST_DIGITS = 9


def read_whole(digits: str) -> int:
    """Return the number that a text of digits writes.

    Raises LogbookError for more than nine digits: no bar, fret or take is counted so far, and
    neither Python nor a database holds numbers of any length.
    """
    if len(digits) > MOST_DIGITS:
        shown = f"{digits[:MOST_DIGITS]}..."
        raise LogbookError(
            f"the number {shown} has {len(digits)} digits", f"write one of {MOST_DIGITS} at most"
        )
    return int(digits)


MOST_BARS = 9_999
MOST_BEATS = 999
MOST_FRET = 48


def read_up_to(most: int, digits: str, what: str) -> int:
    """Return the number that a text of digits writes, `most` at the most.

    One digit too many must not make a chart of a million bars or a neck of as many frets: the
    limits are far beyond what is played. Raises LogbookError naming `what` is counted.
    """
    number = read_whole(digits)
    if number > most:
        raise LogbookError(f"there is no {what} {digits}", f"write one of {most} at most")
    return number
