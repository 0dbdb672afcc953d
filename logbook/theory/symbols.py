"""The reader of chord symbols as musicians write them.

`scan` reads the grammar of charts; what is written out in words or with special signs is brought to
it by `written`; the short chord grammar of Harte et al. (2005) is read here. Whatever does not read
is answered with where it stopped and with the nearest symbol that reads.
"""

from __future__ import annotations

import re
from functools import lru_cache

from logbook.errors import LogbookError
from logbook.theory.chord_symbol import ChordSymbol, ChordSymbolError
from logbook.theory.degrees import degree_fifths
from logbook.theory.keys import Key
from logbook.theory.kinds import all_kinds
from logbook.theory.notes import fifths_to_name, name_to_fifths, read_note
from logbook.theory.scan import ORDER, SOLFEGE_D, Scan
from logbook.theory.written import in_letters, written_out

__all__ = [
    "ChordSymbol", "ChordSymbolError", "nearest_symbol", "read_symbol", "reads", "transpose_symbol",
]  # fmt: skip

_LONGEST = 60  # nobody writes a longer one out
_NO_CHORD_SPELLINGS = frozenset(
    ("N.C.", "N.C", "NC.", "NC", "N/C", "N", "NOCHORD", "TACET", "TAC.")
)


@lru_cache(maxsize=2048)  # the same few symbols are read over and over, on every sheet
def read_symbol(text: str, spelling: str = "letters") -> ChordSymbol:
    """Read a chord symbol: "Bbm7b5/Eb", "C-7", "F#ø", "G7alt", "C on E", "C⁷", "C:maj/3", "N.C.".

    `spelling` says how the text names its notes: "letters", "german" (H is B, B is Bb, lower case
    is minor) or "solfege". Raises ChordSymbolError pointing at the character that does not fit and
    proposing the nearest symbol that reads, LogbookError for a spelling that is not kept.
    """
    if spelling != "letters":
        return read_symbol(in_letters(text, spelling))
    bare = text.strip().strip("()[]").upper().replace(" ", "")
    if bare in _NO_CHORD_SPELLINGS:
        return ChordSymbol("", None, (), frozenset(), None, None, "")
    if ":" in text and (read := _read_harte(text.strip())):
        return read
    try:
        return Scan(text).read()
    except ChordSymbolError as stopped:
        problem = stopped
    problem.propose = nearest_symbol
    if len(text) > _LONGEST:
        raise problem
    plain = written_out(text)
    if plain.text != text and not SOLFEGE_D.match(text.strip()):
        try:
            return Scan(plain.text).read()
        except ChordSymbolError:
            pass
    raise problem


def split_symbols(line: str, spelling: str = "letters") -> list[str]:
    """The chord symbols of a line, parted by spaces, bar lines or commas.

    "C | C on E, Am" is three. They are given in letters; whether they read is not looked at.
    """
    joined = re.sub(r"\s+(?:on|over)\s+(?=[A-Ha-h][b#♭♯]?(?:\s|$|[|,]))", "/", line)
    words = re.sub(r"[|,]", " ", joined).split()
    return [in_letters(word, spelling) for word in words]


def reads(text: str) -> bool:
    """Whether a text reads as a chord symbol."""
    try:
        read_symbol(text)
    except LogbookError:
        return False
    return True


# The short grammar of Harte et al. (2005): a shorthand, degrees added, degrees left out, a bass.
_HARTE = re.compile(
    r"(?P<root>[A-G](?:b+|#+)?):(?P<kind>[a-z]*\d*)"
    r"(?:\((?P<list>\*?[b#]*\d+(?:,\*?[b#]*\d+)*)\))?(?:/(?P<bass>[b#]*\d+))?"
)
_HARTE_DEGREES = {
    "1": "R", "b2": "b9", "#2": "#9", "b4": "3", "#4": "#11", "b8": "7", "8": "R", "#6": "b7",
    "b10": "b3", "10": "3", "b12": "b5", "12": "5", "#12": "#5",
}  # fmt: skip


def _read_harte(text: str) -> ChordSymbol | None:
    """A symbol in that grammar, None where the text is none."""
    found = _HARTE.fullmatch(text)
    if found is None:
        return None
    kind = found["kind"] or ("1" if found["list"] else "maj")
    if kind == "minmaj7":
        kind = "min(maj7)"
    scan = Scan(f"{found['root']}:{kind}")
    try:
        scan.read()
    except ChordSymbolError:
        return None
    held = scan.degrees
    for item in (found["list"] or "").split(","):
        written = item.lstrip("*")
        degree = _HARTE_DEGREES.get(written, written)
        if not item:
            continue
        if degree not in ORDER and degree not in ("2", "9"):
            return None
        held = held - {degree} if item.startswith("*") else held | {degree}
    scan.degrees = set(held)
    root = name_to_fifths(found["root"])
    bass = None
    if found["bass"]:
        degree = _HARTE_DEGREES.get(found["bass"], found["bass"])
        if int(degree.lstrip("b#R") or 1) > 13:
            return None
        bass = root + degree_fifths(degree)
    return scan.symbol(root, bass)


def transpose_symbol(
    text: str, semitones: int, key: str | Key | None = None, *, old: str | Key | None = None
) -> str:
    """A chord symbol moved by semitones: normalised text.

    `key` is the key it arrives in and `old` the one it leaves, else the one as far below: the root
    moves by fifths as the key does. Without a key the root takes its plain name. Raises a
    LogbookError where the symbol or a key cannot be read.
    """
    return read_symbol(text).transpose(semitones, key, old=old).symbol


# What is proposed instead of something that cannot be read.
_INSTEAD = (
    (re.compile(r"sus\(?[#♯+]4\)?"), "sus4"), (re.compile(r"sus\(?[b♭-]2\)?"), "sus2"),
    (re.compile(r"9/6"), "6/9"), (re.compile(r"^([A-G][b#]?)7(?:dim|°|o)"), r"\1dim7"),
    (re.compile(r"^([A-G][b#]?)0"), r"\1dim"), (re.compile(r"mj"), "maj"),
    (re.compile(r"7/4|4/7|7-4"), "7sus4"), (re.compile(r"alt7"), "7alt"),
    (re.compile(r"^([A-G][b#]?)2/4|4/2"), r"\1sus2sus4"),
)  # fmt: skip


def nearest_symbol(text: str) -> str:
    """The symbol nearest to a text that does not read; itself where it does, "" for no note.

    Names that other countries write are turned into letters (H7 is B7, Sol7 is G7); of what is
    left, the longest beginning that reads or the kind written most like it.
    """
    wanted = text.strip()[:_LONGEST]
    if reads(wanted):
        return wanted
    for candidate in _turned(wanted):
        if candidate != wanted and reads(candidate):
            return candidate
    capital = wanted[:1].upper() + wanted[1:]
    read = read_note(capital)
    if read is None:
        return ""
    root = fifths_to_name(read.fifths)
    rest = capital[read.end :]
    starts = [root + rest[:end] for end in range(len(rest), -1, -1)]
    closed = root + rest + ")" * max(0, rest.count("(") - rest.count(")"))
    likely = [closed, *starts, *(root + suffix for suffix in _suffixes())]
    whole = root + rest
    ranked = sorted(set(likely), key=lambda each: (-_likeness(each, whole), len(each), each))
    return next(each for each in ranked if reads(each)).strip(" ,")


def _turned(text: str) -> list[str]:
    """The text with what stands in the way turned round: other names, signs, a basses' H."""
    german, solfege = in_letters(text, "german"), in_letters(text, "solfege")
    bass = re.sub(r"/[Hh]$", "/B", text)
    found = [german] if text[:1] in "Hh" else []
    found += [solfege, bass, text[:1].upper() + text[1:]]
    for pattern, put in _INSTEAD:
        found.append(pattern.sub(put, text))
    degree = re.fullmatch(r"([A-G][b#]?)([^/]*)/([b#]*\d+)", text)
    if degree:
        found.append(f"{degree[1]}:{degree[2] or 'maj'}/{degree[3]}")
    return [_settled(each) for each in found if each]


def _settled(text: str) -> str:
    """A text as its normal symbol where it reads in the grammar of Harte, else as it is."""
    return read_symbol(text).symbol if ":" in text and reads(text) else text


@lru_cache(maxsize=1)
def _suffixes() -> tuple[str, ...]:
    return tuple(kind.suffix for kind in all_kinds())


def _likeness(candidate: str, text: str) -> float:
    from difflib import SequenceMatcher  # slow to load, and only mistakes need it

    return SequenceMatcher(None, candidate, text, autojunk=False).ratio()
