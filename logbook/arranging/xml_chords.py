"""Chord symbols as MusicXML harmony elements.

Conventions. Of the kinds that MusicXML names, the one that claims most of the chord's degrees and
least beside them is taken; what differs is said as degrees: added, altered or subtracted. The
text shown is the suffix as charts write it. Its thirteenths hold an eleventh, which ours leave
out, so a thirteenth is written as a ninth with the thirteenth added.

Source: MusicXML 4.0 (W3C Music Notation Community Group), data types kind-value and
degree-type-value, from memory.
"""

from __future__ import annotations

from typing import NamedTuple
from xml.etree import ElementTree

from logbook.errors import LogbookError
from logbook.theory.chord_symbol import ChordSymbol
from logbook.theory.notes import name_to_fifths
from logbook.theory.symbols import read_symbol

Element = ElementTree.Element
_sub = ElementTree.SubElement

_KINDS = {
    "major": "R 3 5", "minor": "R b3 5", "augmented": "R 3 #5", "diminished": "R b3 b5",
    "dominant": "R 3 5 b7", "major-seventh": "R 3 5 7", "minor-seventh": "R b3 5 b7",
    "diminished-seventh": "R b3 b5 bb7", "augmented-seventh": "R 3 #5 b7",
    "half-diminished": "R b3 b5 b7", "major-minor": "R b3 5 7", "major-sixth": "R 3 5 6",
    "minor-sixth": "R b3 5 6", "dominant-ninth": "R 3 5 b7 9", "major-ninth": "R 3 5 7 9",
    "minor-ninth": "R b3 5 b7 9", "dominant-11th": "R 3 5 b7 9 11", "major-11th": "R 3 5 7 9 11",
    "minor-11th": "R b3 5 b7 9 11", "suspended-second": "R 2 5", "suspended-fourth": "R 4 5",
    "power": "R 5",
}  # fmt: skip
_ADDED, _LEFT_OUT, _SEVENTH = 2, 3, 20


class _Choice(NamedTuple):
    """A kind and how its degrees have to be changed: ("add", 9, 0), ("alter", 5, -1)."""

    kind: str
    changes: tuple[tuple[str, int, int], ...]


def harmony_of(name: str, frame: Element | None) -> Element:
    """Return the harmony element of a chord name, with a frame if there is one.

    A name that is not a chord symbol is written as a chord of kind "other" with the name as text.
    """
    harmony = Element("harmony")
    try:
        symbol = read_symbol(name)
    except LogbookError:
        symbol = None
    if symbol is None or symbol.is_no_chord:
        root = _sub(harmony, "root")
        _text(root, "root-step", "C").set("text", "")
        kind = _text(harmony, "kind", "none" if symbol else "other")
        kind.set("text", "N.C." if symbol else name)
    else:
        _write_symbol(harmony, symbol)
    if frame is not None:
        harmony.append(frame)
    return harmony


def _write_symbol(harmony: Element, symbol: ChordSymbol) -> None:
    _write_note(_sub(harmony, "root"), "root", symbol.root)
    choice = kind_of(symbol.degrees)
    kind = _text(harmony, "kind", choice.kind)
    kind.set("text", symbol.suffix)
    if symbol.bass is not None:
        _write_note(_sub(harmony, "bass"), "bass", symbol.bass)
    for word, number, alter in choice.changes:
        degree = _sub(harmony, "degree")
        # The suffix says it already.
        degree.set("print-object", "no")
        _text(degree, "degree-value", str(number))
        _text(degree, "degree-alter", str(alter))
        _text(degree, "degree-type", word)


def kind_of(degrees: tuple[str, ...]) -> _Choice:
    """The kind that fits degrees best, and what is left to say as degrees."""
    wanted = set(degrees)
    return min((_changed(kind, wanted) for kind in _KINDS), key=_cost)


def _cost(choice: _Choice) -> int:
    return sum(_weight(word, number) for word, number, _ in choice.changes)


def _weight(word: str, number: int) -> int:
    if number == 7:
        # Readers differ on whether an added seventh is the flat one: start from a seventh chord.
        return _SEVENTH
    return _LEFT_OUT if word == "subtract" else _ADDED


def _changed(kind: str, wanted: set[str]) -> _Choice:
    claimed = set(_KINDS[kind].split())
    missing = sorted(claimed - wanted, key=_number)
    extra = sorted(wanted - claimed, key=_number)
    changes: list[tuple[str, int, int]] = []
    for degree in missing:
        number = _number(degree)
        instead = next((each for each in extra if _number(each) == number), None)
        if instead is None:
            changes.append(("subtract", number, 0))
        else:
            extra.remove(instead)
            changes.append(("alter", number, _sharps(instead) - _sharps(degree)))
    changes += [("add", _number(degree), _added_alter(degree)) for degree in extra]
    return _Choice(kind, tuple(changes))


def _number(degree: str) -> int:
    return 1 if degree == "R" else int(degree.lstrip("b#"))


def _sharps(degree: str) -> int:
    return degree.count("#") - degree.count("b")


def _added_alter(degree: str) -> int:
    """An added degree is counted from a dominant ninth: its plain seventh is the flat one."""
    if degree in ("7", "b7", "bb7"):
        return {"7": 1, "b7": 0, "bb7": -1}[degree]
    return _sharps(degree)


def _write_note(parent: Element, prefix: str, name: str) -> None:
    alter = (name_to_fifths(name) - name_to_fifths(name[0])) // 7
    _text(parent, f"{prefix}-step", name[0])
    if alter:
        _text(parent, f"{prefix}-alter", str(alter))


def _text(parent: Element, tag: str, text: str) -> Element:
    child = _sub(parent, tag)
    child.text = text
    return child
