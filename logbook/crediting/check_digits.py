"""The check digits of the identifiers on a credits sheet, each from its published scheme.

Every function takes the digits before the check digit, as text of ASCII digits, and returns the
check digit (or digits) as text. Weights are written out where the scheme is read left to right.

Sources: ISO/IEC 7064 (MOD 11-2, pure system); ISO 15707 (work code); GS1 General Specifications,
"How to calculate a check digit manually"; the rule for the party name number is the one that
common-works registration software applies (weights 10 down to 2, modulus 101), no standard.
"""

from __future__ import annotations


def mod_11_2(digits: str) -> str:
    """Return the check character ("0" to "9" or "X") by ISO/IEC 7064 MOD 11-2."""
    total = 0
    for digit in digits:
        total = (total + int(digit)) * 2 % 11
    value = (12 - total) % 11
    return "X" if value == 10 else str(value)


def gs1_mod_10(digits: str) -> str:
    """Return the GS1 check digit: weights 3, 1, 3 ... from the right, up to the next ten."""
    total = sum(int(digit) * (3, 1)[place % 2] for place, digit in enumerate(reversed(digits)))
    return str(-total % 10)


def iswc_mod_10(work_number: str) -> str:
    """Return the check digit of a work code: 1 for the T, then weights 1 to 9, up to a ten."""
    total = 1 + sum(weight * int(digit) for weight, digit in enumerate(work_number, start=1))
    return str(-total % 10)


def ipi_mod_101(name_number: str) -> str:
    """Return the two check digits of an IPI name number: weights 10 down to 2, up to a 101.

    A remainder of 0 and one of 1 (which would need the number 100) both give "00".
    """
    total = sum((10 - place) * int(digit) for place, digit in enumerate(name_number))
    return f"{-total % 101 % 100:02d}"
