"""Identifiers of recordings, songs, people and releases: read as typed, stored plain, printed.

`read_x` takes what a person types or pastes, with or without separators, spaces and the letters
in front ("ISRC aa-6q7-20-00047"), and returns the plain stored form ("AA6Q72000047").
`format_x` takes the plain form and returns the form in which the standard wants it printed; with
`letters=False` without the letters in front, for a column that is already headed by them.
Both raise `CreditError` for anything else; a wrong check digit says which one was expected.

Sources: ISO 3901 (ISRC), ISO 15707 (ISWC), ISO 27729 (ISNI), GS1 General Specifications (EAN, UPC);
IPI name number: eleven digits of which the last two are the check. An ISRC has no check digit, so
only its form can be tested.
"""

from __future__ import annotations

import re
from collections.abc import Callable

from logbook.crediting.check_digits import gs1_mod_10, ipi_mod_101, iswc_mod_10, mod_11_2
from logbook.crediting.errors import CreditError

_SEPARATORS = re.compile("[\\s.:·_\u00ad\u200b\u2010-\u2015\u2060\u2212\ufeff-]+")
_PREFIXES = {
    "ISRC": re.compile(r"(?:urn:)?isrc\s*(?:code)?\s*[:.#=-]?\s*", re.I),
    "ISWC": re.compile(r"(?:urn:)?iswc\s*(?:code)?\s*[:.#=-]?\s*", re.I),
    "ISNI": re.compile(
        r"(?:https?://)?(?:www\.)?isni\.org/(?:isni/)?|(?:urn:)?isni\s*[:.#=-]?\s*", re.I
    ),
    "IPI": re.compile(
        r"(?:cae\s*/?\s*ipi|ipi|cae)\s*(?:name)?\s*(?:number|no|nr)?\s*[:.#=-]?\s*", re.I
    ),
    "EAN or UPC": re.compile(r"(?:ean|gtin|jan|upc(?:\s*-?\s*a\b)?|barcode)\s*[:.#=-]?\s*", re.I),
}
_LOOK_ALIKES = {"O": "0", "I": "1", "L": "1"}


def read_isrc(text: str) -> str:
    """Return the twelve plain characters of a recording code, such as "AA6Q72000047"."""
    want = "an ISRC is two letters, three letters or digits, two digits for the year and five more"
    example = f"{want}, such as AA-6Q7-20-00047"
    plain = _compact(text)
    # "ISRC1 20 00047" can be a code in its own right: the letters go only from longer text
    if len(plain) != 12:
        plain = _compact(_without_letters(text, "ISRC"))
    _want_length(text, plain, "ISRC", (12,), "characters", example)
    for place, character in enumerate(plain, start=1):
        if place <= 2 and not _is_letter(character):
            raise CreditError(
                f"The ISRC {text.strip()!r} has {character!r} as character {place}, where only a "
                "letter can stand",
                example,
            )
        if place <= 5 and not (_is_letter(character) or _is_digit(character)):
            raise CreditError(
                f"The ISRC {text.strip()!r} has {character!r} as character {place}, where only a "
                "letter or a digit can stand",
                example,
            )
    _want_digits(text, plain, "ISRC", range(5, 12), example)
    return plain


def format_isrc(plain: str, *, letters: bool = True) -> str:
    """Return "ISRC AA-6Q7-20-00047" (ISO 3901, visual presentation)."""
    code = read_isrc(plain)
    return _lettered("ISRC", f"{code[:2]}-{code[2:5]}-{code[5:7]}-{code[7:]}", letters)


def read_iswc(text: str) -> str:
    """Return the eleven plain characters of a work code, such as "T0345246801"."""
    example = "an ISWC is a T, nine digits and a check digit, such as T-034.524.680-1"
    plain = _compact(_without_letters(text, "ISWC"))
    if plain and not plain.startswith("T"):
        raise CreditError(f"The ISWC {text.strip()!r} does not begin with T", example)
    _want_length(text, plain, "ISWC", (11,), "characters", example)
    _want_digits(text, plain, "ISWC", range(1, 11), example)
    _want_check("ISWC", text, plain, iswc_mod_10(plain[1:10]), _print_iswc)
    return plain


def format_iswc(plain: str, *, letters: bool = True) -> str:
    """Return "ISWC T-034.524.680-1" (ISO 15707)."""
    return _lettered("ISWC", _print_iswc(read_iswc(plain)), letters)


def read_isni(text: str) -> str:
    """Return the sixteen plain characters of a name identifier; the last one may be an X.

    The address form (https://isni.org/isni/...) is read too.
    """
    example = "an ISNI is sixteen digits of which the last, the check character, may be an X"
    plain = _compact(_without_letters(text, "ISNI"))
    _want_length(text, plain, "ISNI", (16,), "characters", example)
    _want_digits(text, plain, "ISNI", range(15), example)
    if not (_is_digit(plain[15]) or plain[15] == "X"):
        raise CreditError(f"The ISNI {text.strip()!r} ends in {plain[15]!r}", example)
    _want_check("ISNI", text, plain, mod_11_2(plain[:15]), _print_isni)
    return plain


def format_isni(plain: str, *, letters: bool = True) -> str:
    """Return "ISNI 0000 0002 1825 0097" (ISO 27729: four blocks of four)."""
    return _lettered("ISNI", _print_isni(read_isni(plain)), letters)


def read_ipi(text: str) -> str:
    """Return the eleven plain digits of an IPI name number.

    Nine or ten digits, as older lists print them, are filled up with zeros in front.
    """
    example = "an IPI name number is eleven digits of which the last two are check digits"
    plain = _compact(_without_letters(text, "IPI"))
    if re.fullmatch(r"I\d{10}", plain, re.ASCII):
        raise CreditError(
            f"{text.strip()!r} is an IPI base number, not an IPI name number", example
        )
    _want_length(text, plain, "IPI name number", (9, 10, 11), "digits", example)
    _want_digits(text, plain, "IPI name number", range(len(plain)), example)
    plain = plain.zfill(11)
    _want_check("IPI name number", text, plain, ipi_mod_101(plain[:9]), str)
    return plain


def format_ipi(plain: str, *, letters: bool = True) -> str:
    """Return "IPI 00000000199" (common practice, no source for the printed form)."""
    return _lettered("IPI", read_ipi(plain), letters)


def read_ean(text: str) -> str:
    """Return the plain digits of a release's EAN (13 or 8 digits) or UPC (12 digits).

    Fourteen digits that begin with 0 are the same number filled up, and lose the 0. The short
    form of a UPC with zeros left out is not read.
    """
    example = "an EAN has thirteen digits (a short one eight), a UPC twelve, the last a check digit"
    after_letters = _without_letters(text, "EAN or UPC")
    plain = _compact(after_letters)
    if after_letters != text.strip():
        plain = _without_kind(plain)
    if len(plain) == 14 and plain.startswith("0"):  # the same number, filled up
        plain = plain[1:]
    _want_length(text, plain, "EAN or UPC", (8, 12, 13), "digits", example)
    _want_digits(text, plain, "EAN or UPC", range(len(plain)), example)
    _want_check(_ean_name(plain), text, plain, gs1_mod_10(plain[:-1]), _print_ean)
    return plain


def format_ean(plain: str, *, letters: bool = True) -> str:
    """Return "EAN 6 291041 500213" or "UPC 0 36000 29145 2", grouped as below the bars."""
    digits = read_ean(plain)
    return _lettered(_ean_name(digits), _print_ean(digits), letters)


def _print_iswc(plain: str) -> str:
    """Return T-034.524.680-1 from its plain form."""
    return f"{plain[0]}-{plain[1:4]}.{plain[4:7]}.{plain[7:10]}-{plain[10]}"


def _print_isni(plain: str) -> str:
    """Return four blocks of four."""
    return " ".join(plain[start : start + 4] for start in range(0, 16, 4))


def _print_ean(plain: str) -> str:
    """Return the digits grouped as they stand below the bars."""
    if len(plain) == 8:
        return f"{plain[:4]} {plain[4:]}"
    if len(plain) == 12:
        return f"{plain[0]} {plain[1:6]} {plain[6:11]} {plain[11]}"
    return f"{plain[0]} {plain[1:7]} {plain[7:]}"


def _without_kind(plain: str) -> str:
    """Return the digits without the 13 of "EAN-13 ...", where as many digits follow it."""
    for kind in ("8", "12", "13", "14"):
        if plain.startswith(kind) and len(plain) == len(kind) + int(kind):
            return plain[len(kind) :]
    return plain


def _ean_name(plain: str) -> str:
    """Return which of the two it is by its length."""
    return "UPC" if len(plain) == 12 else "EAN"


def _lettered(name: str, printed: str, letters: bool) -> str:
    """Return the printed form, with the letters of the standard in front if wanted."""
    return f"{name} {printed}" if letters else printed


def _without_letters(text: str, name: str) -> str:
    """Return `text` without the identifier's letters in front."""
    stripped = text.strip()
    found = _PREFIXES[name].match(stripped)
    return stripped[found.end() :] if found else stripped


def _compact(text: str) -> str:
    """Return `text` without separators, in capitals."""
    return _SEPARATORS.sub("", text).upper()


def _is_digit(character: str) -> bool:
    """Tell whether this is one of 0 to 9 (and no other script's digit)."""
    return "0" <= character <= "9"


def _is_letter(character: str) -> bool:
    """Tell whether this is one of A to Z."""
    return "A" <= character <= "Z"


def _want_length(
    text: str, plain: str, name: str, lengths: tuple[int, ...], unit: str, remedy: str
) -> None:
    """Raise unless `plain` has one of the lengths."""
    if not plain or plain == name:
        raise CreditError(f"The {name} is empty", remedy)
    said = unit.removesuffix("s") if len(plain) == 1 else unit
    if len(plain) not in lengths:
        raise CreditError(f"The {name} {text.strip()!r} has {len(plain)} {said}", remedy)


def _want_digits(text: str, plain: str, name: str, places: range, remedy: str) -> None:
    """Raise unless digits stand at these places, counted from 0."""
    for place in places:
        character = plain[place]
        if _is_digit(character):
            continue
        meant = _LOOK_ALIKES.get(character)
        hint = f" (perhaps the digit {meant} was meant)" if meant else ""
        raise CreditError(
            f"The {name} {text.strip()!r} has {character!r} as character {place + 1}, where only "
            f"a digit can stand{hint}",
            remedy,
        )


def _want_check(
    name: str, text: str, plain: str, expected: str, printed: Callable[[str], str]
) -> None:
    """Raise unless `plain` ends in the expected check digits."""
    count = len(expected)
    if plain[-count:] == expected:
        return
    kind = "check digits are" if count == 2 else "check digit is"
    right = printed(plain[:-count] + expected)
    raise CreditError(
        f"The {name} {text.strip()!r} cannot be right: its {kind} {plain[-count:]}, "
        f"and {expected} was expected",
        f"look for a mistyped digit, or write {right} if all the others are right",
    )
