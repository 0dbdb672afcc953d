"""The simplest fraction in an interval, by continued fractions (common practice, no source)."""

from __future__ import annotations

from fractions import Fraction


def simplest_between(
    low: Fraction, high: Fraction, *, low_in: bool = True, high_in: bool = False
) -> Fraction:
    """The fraction with the smallest denominator from `low` up to `high`, both at least 0.

    `low_in` and `high_in` say whether the ends themselves count. Of several whole numbers it is
    the lowest. Raises ValueError when the interval holds nothing.
    """
    if low > high or (low == high and not (low_in and high_in)):
        raise ValueError(f"nothing lies between {low} and {high}")
    whole = low.numerator // low.denominator
    if low == whole and low_in:
        return Fraction(whole)
    if whole + 1 < high or (whole + 1 == high and high_in):
        return Fraction(whole + 1)
    # No whole number inside: turn the fractional part upside down and look again.
    inverse_low = 1 / (high - whole)
    if low == whole:
        lowest = inverse_low.numerator // inverse_low.denominator
        inverse = Fraction(lowest if lowest == inverse_low and high_in else lowest + 1)
    else:
        inverse = simplest_between(inverse_low, 1 / (low - whole), low_in=high_in, high_in=low_in)
    return whole + 1 / inverse
