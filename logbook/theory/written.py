"""Chord symbols as people write them out, brought to the grammar that `symbols` reads.

Superscripts and full-width signs are their plain characters; words are signs ("B flat", "half dim",
"C on E", "suspended fourth"); a bass in the middle goes to the end (`C/E add9`). Each character
remembers where it stood, so that an error can still point at it. (Common practice, no source.)

Where the user says so, German names (H, B, Es, Fis, lower case for minor) and solfège (Do Re Mi)
are turned into letters first.
"""

from __future__ import annotations

import re
from collections.abc import Callable

from logbook.errors import LogbookError

SPELLINGS = ("letters", "german", "solfege")

_SINGLE = str.maketrans(
    "⁰¹²³⁴⁵⁶⁷⁸⁹₀₁₂₃₄₅₆₇₈₉₊₋⁺⁻⁽⁾ᵃᵇᵈᵍʲᵐⁿᵒˢᵘᴹ∅⌀˚▵▲‐‑‒⁄{}［］\u00a0\u2009\u202f\u3000’",
    "01234567890123456789+-+-()abdgjmnosuMøø°△△---/()()    '",
)  # fmt: skip
_NUMBERS = {
    "second": "2", "third": "3", "fourth": "4", "fifth": "5", "sixth": "6", "seventh": "7",
    "ninth": "9", "eleventh": "11", "thirteenth": "13", "five": "5", "seven": "7", "nine": "9",
    "eleven": "11", "thirteen": "13", "six": "6", "four": "4", "three": "3", "two": "2",
}  # fmt: skip
_NOTE = r"[A-G](?:[b#♭♯]|bb|##|x)?"
_SIGNS = {"flat": "b", "sharp": "#", "natural": ""}


def _sign(found: re.Match[str]) -> str:
    return found[1].upper() + _SIGNS[found[2].lower()]


def _capital(found: re.Match[str]) -> str:
    return found[1].capitalize()


def _number(found: re.Match[str]) -> str:
    return _NUMBERS[found[0].lower()]


_RULES: tuple[tuple[re.Pattern[str], str | Callable[[re.Match[str]], str]], ...] = tuple(
    (re.compile(pattern, flags), put)
    for pattern, flags, put in (
        (r"\b(?:" + "|".join(sorted(_NUMBERS, key=len, reverse=True)) + r")\b", re.I, _number),
        (r"(?<![A-Za-z])([A-Ga-g])[ -]?(flat|sharp|natural)(?![a-z])", re.I, _sign),
        (r"()(flat|sharp)(?:ed)?[ -]?(?=\d)", re.I, _sign),
        (r"(?<=\d)(?:th|nd|rd)\b", re.I, ""),
        (r"\bhalf[ -]?dim(?:inished|\.)?[ ]?7?", re.I, "ø"),
        (r"half[ -]?dim(?:inished|\.)?[ ]?7?", re.I, "ø"),
        (r"\bdominant[ ]?(?=\d)", re.I, ""),
        (r"\bdominant\b", re.I, "7"),
        (r"\bsuspended\b", re.I, "sus"),
        (r"[ ]*\bpower(?: chord)?\b", re.I, "5"),
        (r"[ ]+(?:chord|triad)$", re.I, ""),
        (r"(?<=[\d(])aug(?=\d)", 0, "#"),
        (r"(?<=[\d(])dim(?=5)", 0, "b"),
        (r"\(major[ ]?(?=\d)", re.I, "(maj"),
        (r"\b(mi|min|minor|m)[ /-]*(?:maj|major)[ ]?(?=\d)", re.I, "mmaj"),
        (r"(?<=[A-Za-z])\.(?=[ \d(A-Za-z]|$)|(?<=\d)\.$", 0, ""),
        (r"sus[ ]+(?=[24])", re.I, "sus"),
        (r"\^(?=\d)", 0, "maj"),
        (r"\^", 0, "maj7"),
        (r"(\d+)[ ]?(?:maj|Maj|MAJ|ma|j)(?![a-z\d])", 0, r"maj\1"),
        (r"(?<=[A-G#♯♭])j(?=\d)|(?<=[A-G]b)j(?=\d)|Mj(?=\d)", 0, "maj"),
        (rf"^({_NOTE})j$", 0, r"\1maj7"),
        (rf"[ ]+(?:on|over)[ ]+(?={_NOTE}$)", re.I, "/"),
        (rf"[ ,]+(?:with )?bass[ ]+(?={_NOTE}$)", re.I, "/"),
        (rf"(?<=/)({_NOTE})[ ]+bass$", re.I, r"\1"),
        (rf"^([^/]+)[ ]?/[ ]?({_NOTE})[ ]*(\(|add|no|omit|sus|[#b]\d)([^/]*)$", 0, r"\1\3\4/\2"),
        (
            r"^([a-g](?:[b#♭♯])?)(?=[ ]?m(?!aj|a\d|a$)|[ ]major\b)",
            0,
            _capital,
        ),
    )
)


class WrittenName:
    """A text on its way to plain grammar: what it is now, and where each character stood."""

    def __init__(self, text: str) -> None:
        self.text = "".join(
            chr(ord(char) - 0xFEE0) if "！" <= char <= "～" else char for char in text
        ).translate(_SINGLE)
        self.places = list(range(len(text) + 1))

    def replace(self, pattern: re.Pattern[str], put: str | Callable[[re.Match[str]], str]) -> None:
        """Put something else in every place where the pattern fits."""
        out: list[str] = []
        places: list[int] = []
        at = 0
        for found in pattern.finditer(self.text):
            new = put(found) if callable(put) else found.expand(put)
            out += (self.text[at : found.start()], new)
            places += self.places[at : found.start()] + [self.places[found.start()]] * len(new)
            at = found.end()
        if at or out:
            out.append(self.text[at:])
            self.places = places + self.places[at:]
            self.text = "".join(out)

    def place(self, position: int) -> int:
        """Where a character of the text now stood when it was written."""
        return self.places[min(position, len(self.places) - 1)]


def written_out(text: str) -> WrittenName:
    """A chord symbol brought to plain grammar."""
    plain = WrittenName(text)
    bare = re.fullmatch(r"\s*[(\[](.+)[)\]]\s*", plain.text)
    if bare and not re.search(r"[()\[\]]", bare[1]):  # (Am7): all of it in brackets
        plain.replace(re.compile(r"^\s*[(\[]|[)\]]\s*$"), "")
    for pattern, put in _RULES:
        plain.replace(pattern, put)
    return plain


# German names and solfège

_GERMAN = re.compile(r"(Ases|Eses|(?:As|Es)(?!us)|[A-H](?:isis|eses|is|es)?)(.*)", re.S)
_GERMAN_MINOR = re.compile(r"(ases|eses|(?:as|es)(?!us)|[a-h](?:isis|eses|is|es)?)(.*)", re.S)
_GERMAN_TAIL = {"isis": "##", "eses": "bb", "is": "#", "es": "b", "ses": "bb", "s": "b", "": ""}
_SOLFEGE = {"do": "C", "ut": "C", "re": "D", "ré": "D", "mi": "E", "fa": "F", "sol": "G",
            "la": "A", "si": "B"}  # fmt: skip
_SOLFEGE_NOTE = re.compile(
    r"(do|ut|re|ré|mi|fa|sol|la|si)[ ]?(bémol|bemolle|bemol|dièse|diesis|diese)?(.*)",
    re.S | re.I,
)
_SOLFEGE_MODES = re.compile(r"maggiore|majeur|mayor|minore|mineur|menor", re.I)
_MODES = {"ma": "major", "mi": "minor", "me": "minor"}
_SOLFEGE_SIGNS = {"bém": "b", "bem": "b", "diè": "#", "die": "#"}


def read_spelling(text: str) -> str:
    """A spelling by its name: letters, german, solfege. Raises LogbookError for any other."""
    plain = text.strip().casefold().replace("solfège", "solfege").replace("deutsch", "german")
    if plain not in ("", *SPELLINGS):
        raise LogbookError(f"{text!r} is not a spelling", f"write one of {', '.join(SPELLINGS)}")
    return plain or "letters"


def in_letters(text: str, spelling: str) -> str:
    """A chord symbol, note or key in the letters used here, read as `spelling` writes it.

    ("H7", "german") -> "B7", ("es", "german") -> "Ebm", ("Sib7/Re", "solfege") -> "Bb7/D". What
    does not read that way stays as it is. Raises LogbookError for a spelling that is not kept.
    """
    kept = read_spelling(spelling)
    if kept == "letters" or not text.strip():
        return text
    head, slash, bass = text.strip().partition("/")
    if slash and bass[:1].isdigit():  # 6/9
        head, bass = text.strip(), ""
        upper, cut, low = head.rpartition("/")
        head, bass = (upper, low) if cut and not low[:1].isdigit() else (head, "")
    turn = _from_german if kept == "german" else _from_solfege
    return turn(head, chord=True) + (f"/{turn(bass, chord=False)}" if bass else "")


def _from_german(text: str, *, chord: bool) -> str:
    found = _GERMAN.fullmatch(text)
    minor = ""
    if found is None and (found := _GERMAN_MINOR.fullmatch(text)) and chord:
        written = bool(re.match(r"\s*-?(m|dur|-)", found[2], re.I))
        minor = "" if written else "m"
    if found is None:
        return text
    letter, tail = found[1][0].upper(), found[1][1:]
    sign = _GERMAN_TAIL.get(tail, "")
    if letter == "B":
        name = "B" if found[2][:1] in ("b", "♭") else "Bb"
    else:
        name = ("B" if letter == "H" else letter) + sign
    return name + minor + found[2]


def in_solfege(text: str) -> str:
    """The solfège name that a text starts with as no letter does: "Sol7" -> "Sol", else empty."""
    found = re.match(r"\s*(Do|Ut|Re|Ré|Mi|Fa|Sol|La|Si)(?=$|[b#♭♯m\d/ 7])", text)
    return found[1] if found else ""


def _from_solfege(text: str, *, chord: bool) -> str:
    found = _SOLFEGE_NOTE.fullmatch(text)
    if found is None:
        return text
    sign = _SOLFEGE_SIGNS.get((found[2] or "")[:3].lower(), "")
    tail = _SOLFEGE_MODES.sub(lambda mode: _MODES[mode[0][:2].lower()], found[3])
    return _SOLFEGE[found[1].lower()] + sign + tail
