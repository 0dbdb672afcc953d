"""One reading of one chord symbol, left to right: the grammar that `symbols` reads.

Root, quality, extension, then alterations, additions, omissions and suspensions in any order
(brackets, commas and spaces between them are free), then a slash and a bass note. Spellings are
common practice; the kinds are checked against MusicXML 4.0 (W3C) and Harte et al. (2005) in
tests/reference.
"""

from __future__ import annotations

import re

from logbook.theory.chord_symbol import ChordSymbol, ChordSymbolError, suffix_of
from logbook.theory.degrees import degree_semitones
from logbook.theory.notes import fifths_to_name, fifths_to_pitch_class, read_note

# Longest first within each quality. A lone m, M, - or + is read by `_read_quality`.
_QUALITIES = (
    ("major", "maj"), ("Major", "maj"), ("MAJ", "maj"), ("Maj", "maj"), ("maj", "maj"),
    ("Ma", "maj"), ("MA", "maj"), ("ma", "maj"), ("Δ", "delta"), ("△", "delta"), ("∆", "delta"),
    ("minor", "min"), ("Minor", "min"), ("MIN", "min"), ("Min", "min"), ("min", "min"),
    ("Mi", "min"), ("MI", "min"), ("mi", "min"),
    ("half-diminished", "hdim"), ("half-dim", "hdim"), ("halfdim", "hdim"), ("hdim", "hdim"),
    ("ø", "hdim"), ("Ø", "hdim"), ("ᴓ", "hdim"),
    ("diminished", "dim"), ("Dim", "dim"), ("DIM", "dim"), ("dim", "dim"),
    ("°", "dim"), ("º", "dim"), ("o", "dim"),
    ("augmented", "aug"), ("Aug", "aug"), ("AUG", "aug"), ("aug", "aug"),
    ("dom", "dom"), ("M", "maj"), ("m", "min"), ("−", "min"), ("–", "min"), ("-", "min"),
    ("+", "aug"),
)  # fmt: skip
_TRIADS = {
    "": ("3", "5"), "maj": ("3", "5"), "delta": ("3", "5"), "dom": ("3", "5"), "min": ("b3", "5"),
    "dim": ("b3", "b5"), "hdim": ("b3", "b5"), "aug": ("3", "#5"),
}  # fmt: skip
_SEVENTHS = {"maj": "7", "delta": "7", "dim": "bb7"}
_STACKS = {"7": (), "9": ("9",), "11": ("9", "11"), "13": ("9", "13")}
_ADDABLE = {"2": "9", "3": "3", "9": "9", "4": "11", "11": "11", "6": "6", "13": "13"}
_ALTERABLE = {
    "b5": "b5", "#5": "#5", "b9": "b9", "#9": "#9", "#11": "#11", "b13": "b13", "b6": "b6",
    "#4": "#11", "b2": "b9", "#2": "#9",
}  # fmt: skip
_SIGNS = {"b": "b", "♭": "b", "-": "b", "−": "b", "#": "#", "♯": "#", "+": "#"}
_TENSIONS = ("13", "11", "9", "6")
_AFTER_SLASH = (
    "maj", "Maj", "M7", "M9", "M11", "M13", "sus", "no", "omit", "add", *_TENSIONS, *(
        sign + number for sign in "b♭#♯" for number in ("5", "9", "11", "13")
    ),
)  # fmt: skip
ORDER = (
    "R", "2", "b3", "3", "4", "b5", "5", "#5", "b6", "6", "bb7", "b7", "7",
    "b9", "9", "#9", "11", "#11", "b13", "13",
)  # fmt: skip

_NO_SUSPENSIONS = frozenset(sign + number for sign in "#b♯♭+-" for number in "24")
SOLFEGE_D = re.compile(r"Do(?!mit)")

_AFTER_ROOT = "after the root write a quality such as m, dim, aug, sus4 or 5, or a number 6 to 13"
_AFTER_KIND = "write a change such as b5, #9, add9, no3 or sus4, or a bass such as /E"


class Scan:
    """One reading of one text: a position and the degrees found so far."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = len(text) - len(text.lstrip())
        self.end = len(text.rstrip())
        self.degrees: set[str] = {"R"}
        self.stacked: set[str] = set()
        self.implied = False  # whether the seventh is only implied by a 9, 11 or 13
        self.depth = 0

    def read(self) -> ChordSymbol:
        """Read the whole text. Raises ChordSymbolError where it stops."""
        if SOLFEGE_D.match(self.text[self.at : self.end]):
            self.at += 1
            raise self.error("Do is C here, and D diminished is Ddim")
        root = self._read_root("a chord starts with its root, a capital A to G, as in Bb7")
        self.take(":")
        self._read_kind()
        while self.at < self.end and not self._at_bass():
            self._read_change()
        if self.depth:
            raise self.error("close the bracket")
        bass = None
        if self.at < self.end:
            self.at += 1
            self.take(" ")
            bass = self._read_root("after the slash write the bass note, as in C/E", small=True)
            if self.at < self.end:
                raise self.error("nothing may follow the bass note")
        return self.symbol(root, bass)

    def symbol(self, root: int, bass: int | None) -> ChordSymbol:
        """What was read, over a root and a bass given as places on the line of fifths."""
        self._settle()
        degrees = tuple(degree for degree in ORDER if degree in self.degrees)
        low = root if bass is None else bass
        return ChordSymbol(
            root=fifths_to_name(root),
            root_pc=fifths_to_pitch_class(root),
            degrees=degrees,
            intervals=frozenset(degree_semitones(degree) for degree in degrees),
            bass=None if bass is None or bass == root else fifths_to_name(bass),
            bass_pc=fifths_to_pitch_class(low),
            suffix=suffix_of(frozenset(degrees)),
        )

    def _settle(self) -> None:
        """One name for each note: what the changes together make of sixth, seventh and sus."""
        held = self.degrees
        if "bb7" in held and (not {"b3", "b5"} <= held or "#5" in held):  # no longer diminished
            held = held - {"bb7"} | {"6"}
        if "6" in held and held & {"b7", "7"}:  # above a seventh it is a thirteenth
            held = held - {"6"} | {"13"}
        if "3" in held:  # beside a third nothing is suspended
            held = {{"4": "11", "2": "9"}.get(degree, degree) for degree in held}
        if "2" in held:
            held = held - {"9"}
        if "4" in held:
            held = held - {"11"}
        self.degrees = held

    def error(self, remedy: str) -> ChordSymbolError:
        """The error that says that nothing fits here."""
        return ChordSymbolError(self.text, self.at, remedy)

    def take(self, *words: str) -> str:
        """Step over the first of these words that stands here; "" if none does."""
        for word in words:
            if self.text.startswith(word, self.at) and self.at + len(word) <= self.end:
                self.at += len(word)
                return word
        return ""

    def _at_bass(self) -> bool:
        """A slash that no change follows, as one does in Cm/maj7, C7/9 and C7/b9."""
        if self.depth or self.text[self.at] not in "/\\":
            return False
        after = self.text[self.at + 1 : self.end]
        return not after.startswith(_AFTER_SLASH)

    def _read_root(self, remedy: str, *, small: bool = False) -> int:
        read = read_note(self.text, self.at) if self.at < self.end else None
        if read is None or (self.text[self.at].islower() and not small):
            raise self.error(remedy)
        self.at = read.end
        return read.fifths

    # -- quality and extension ---------------------------------------------------------------

    def _read_kind(self) -> None:
        quality = self._read_quality()
        self.degrees.update(_TRIADS[quality])
        seventh = _SEVENTHS.get(quality, "b7")
        if quality == "hdim":
            self.degrees.add("b7")
        number = self._read_number(quality)
        if quality == "delta" and number not in ("7", "9", "11", "13"):
            self.degrees.add("7")
        if number in _STACKS:
            if self._take_major_sign():  # C7M
                seventh = "7"
            self.implied = seventh == "b7" and number != "7" and quality != "hdim"
            self.degrees.add(seventh)
            self.stacked.update(_STACKS[number])
            self.degrees.update(_STACKS[number])
        elif number in ("6", "69"):
            self.degrees.update(("6", "9") if number == "69" else ("6",))
        elif number == "5":
            self.degrees.discard("3")
        elif number == "2":
            self.degrees.add("9")
        elif number == "4":
            self._suspend("4")
        elif number == "1":
            self.degrees = {"R"}

    def _read_quality(self) -> str:
        if self.text.startswith(" ", self.at) and self.text[self.at + 1 : self.at + 2].isalpha():
            self.at += 1
        rest = self.text[self.at : self.end]
        if rest.startswith("madd"):  # not "ma" and then "dd"
            self.at += 1
            return "min"
        if rest.startswith("omit"):  # not a diminished sign
            return ""
        if rest.startswith(("-5", "−5", "+5", "+11")):  # an altered degree, not a quality
            return ""
        for word, quality in _QUALITIES:
            if rest.startswith(word):
                self.at += len(word)
                return quality
        return ""

    def _read_number(self, quality: str) -> str:
        self.take(" ")
        number = self.take("69", "6/9", "6,9", "6 9", "13", "11", "9", "7", "6", "5", "2", "4")
        if number.startswith("6") and len(number) > 1:
            return "69"
        if not number and self.text[self.at - 1 : self.at] == ":":
            return self.take("1")
        if number in ("5", "2", "4") and quality not in ("", "maj", "min"):
            self.at -= 1
            raise self.error(_AFTER_KIND)
        return number

    # -- what may follow ---------------------------------------------------------------------

    def _read_change(self) -> None:
        char = self.text[self.at]
        if char in " ,/\\":
            self.at += 1
        elif char in "([":
            self.depth += 1
            self.at += 1
        elif char in ")]":
            if not self.depth:
                raise self.error("there is no bracket to close")
            self.depth -= 1
            self.at += 1
        elif self.take("sus", "Sus", "SUS"):
            self._read_suspension()
        elif self.take("add", "Add", "ADD"):
            self._read_addition()
        elif self.take("no", "No", "NO", "omit", "Omit", "OMIT"):
            self._read_omission()
        elif not self.degrees & {"7", "bb7", "b3"} and self.take(
            "altered", "alt.", "alt", "Alt", "ALT"
        ):
            self._alter()
        elif self._read_major_seventh() or self._read_alteration() or self._read_tension():
            pass
        elif self.take("aug", "+"):
            self._fifth("#5")
        else:
            bare = self.degrees == {"R", "3", "5"} and self.text[self.at - 1] in "ABCDEFGb#♭♯"
            raise self.error(_AFTER_ROOT if bare else _AFTER_KIND)

    def _suspend(self, degree: str) -> None:
        self.degrees -= {"3", "b3"}
        self.degrees.add(degree)
        self.degrees.discard({"4": "11", "2": "9"}[degree])

    def _read_suspension(self) -> None:
        number = self.take("24", "2/4", "42", "4/2", "2", "4", "13", "11", "9", "7")
        if number in _STACKS:
            if not self.degrees & {"7", "bb7"}:
                self.degrees.add("b7")
            self.degrees.update(_STACKS[number])
            self.stacked.update(_STACKS[number])
            number = "4"
        for degree in number.replace("/", "") or "4":
            self._suspend(degree)
        if not number and self.text[self.at : self.end].lstrip("( ")[:2] in _NO_SUSPENSIONS:
            raise self.error("a suspension is sus2 or sus4; an altered fourth is #11, a second b9")

    def _read_sign(self) -> str:
        sign = _SIGNS.get(self.text[self.at : self.at + 1], "") if self.at < self.end else ""
        self.at += bool(sign)
        return sign

    def _read_addition(self) -> None:
        self.take(" ")
        if self.text.startswith("(", self.at):  # what stands in the brackets is added
            return
        sign = self._read_sign()
        start = self.at
        number = self.take("13", "11", "9", "6", "4", "3", "2")
        degree = _ALTERABLE.get(sign + number) if sign else _ADDABLE.get(number)
        if degree is None or (degree == "3" and not self.degrees & {"2", "4"}):
            self.at = start
            raise self.error("after add write 2, 4, 6, 9, 11 or 13, with b or # if needed")
        self.degrees.add(degree)

    def _read_omission(self) -> None:
        self.take(" ")
        start = self.at
        number = self.take("13", "11", "root", "1", "3", "5", "7", "9")
        if not number:
            self.at = start
            raise self.error("after no write the degree left out: 3, 5, 7, 9 or root")
        self.take("rd", "th", "st", "d")
        if number in ("root", "1"):
            self.degrees.discard("R")
        else:
            self.degrees -= {sign + number for sign in ("", "b", "#", "bb")}

    def _alter(self) -> None:
        self.degrees -= {"5", "9", "13"}
        self.degrees |= {"b7", "b5", "#5", "b9", "#9"}

    def _take_major_sign(self) -> bool:
        """Step over an M that stands alone after a number."""
        after = self.text[self.at + 1 : self.at + 2]
        return not after.isalnum() and self.at < self.end and bool(self.take("M"))

    def _read_major_seventh(self) -> bool:
        start = self.at
        word = self.take("maj", "Maj", "ma", "Ma", "M", "Δ", "△", "∆", "#7", "♯7")
        if not word and "b3" in self.degrees:
            word = self.take("+7")
        if not word:
            return False
        number = "7" if word[-1] == "7" else self.take("13", "11", "9", "7")
        if self.implied and number:  # Cm9(maj7)
            self.degrees.discard("b7")
        if (number or word in "Δ△∆") and not self.degrees & {"b7", "7", "bb7"}:
            self.implied = False
            self.degrees.add("7")
            self.degrees.update(_STACKS[number or "7"])
            self.stacked.update(_STACKS[number or "7"])
            return True
        self.at = start
        return False

    def _read_alteration(self) -> bool:
        start = self.at
        sign = self._read_sign()
        if not sign:
            return False
        number = self.take("13", "11", "9", "7", "6", "5", "4", "2")
        degree = _ALTERABLE.get(sign + number)
        if sign + number == "b7" and not self.degrees & {"b7", "7", "bb7"}:
            degree = "b7"
        if degree is None:
            self.at = start
            if number:
                raise self.error(f"{number} is not altered that way; " + _AFTER_KIND)
            return False
        if degree in ("b5", "#5"):
            self._fifth(degree)
            return True
        natural = degree.lstrip("b#")
        if natural in self.stacked:
            self.degrees.discard(natural)
        self.degrees.add(degree)
        return True

    def _fifth(self, degree: str) -> None:
        self.degrees.discard("5")
        self.degrees.add(degree)

    def _read_tension(self) -> bool:
        """A bare number in brackets or after a slash is an added tension: Cm7(11), C7/13."""
        if not self.depth and self.text[self.at - 1] not in "/\\,":
            return False
        number = self.take(*_TENSIONS)
        if number == "6" and "9" in self.stacked:
            self.at -= 2
            raise self.error("a sixth and a ninth are 6/9, and with a seventh the sixth is 13")
        if not number and not self.degrees & {"b7", "7", "bb7"} and self.take("7"):
            number = "b7"
        if number:
            self.degrees.add(number)
        return bool(number)
