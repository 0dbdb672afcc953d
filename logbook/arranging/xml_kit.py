"""A drum part in MusicXML: its strokes on a percussion staff, each piece an instrument.

Conventions. All strokes are in one voice; what falls together is a chord. A stroke is written as
long as the time to the next one, but not past its felt beat; what is left of a bar is rests.
Cymbals and sticks have crosses, an open hi-hat a circled one, a ghost note its head in parentheses;
a flam is a grace note before it (common practice, no source).

Source: MusicXML 4.0 (W3C Music Notation Community Group), elements unpitched, score-instrument and
midi-unpitched (note number plus one), from memory; the tests hold every file against its schema.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from itertools import pairwise
from xml.etree import ElementTree

from logbook.arranging.drumming import DrumStroke
from logbook.arranging.xml_head import Score, add_text
from logbook.arranging.xml_notes import values_of, write_value
from logbook.records.kits import kit_patterns
from logbook.records.parts import Part
from logbook.strings.kit import PIECES, KitPiece, pieces_of

Element = ElementTree.Element
_sub = ElementTree.SubElement
_CHANNEL = "10"


def list_pieces(listed: Element, number: str, part: Part) -> None:
    """Name the pieces a part plays as the instruments of its entry in the list of parts."""
    pieces = _pieces(part)
    for piece in pieces:
        instrument = _sub(listed, "score-instrument", id=_id(number, piece))
        add_text(instrument, "instrument-name", piece.name)
    for piece in pieces:
        midi = _sub(listed, "midi-instrument", id=_id(number, piece))
        add_text(midi, "midi-channel", _CHANNEL)
        add_text(midi, "midi-unpitched", str(piece.midi + 1))


def _pieces(part: Part) -> list[KitPiece]:
    found: dict[str, KitPiece] = {}
    for pattern in kit_patterns(part).values():
        found |= {each.name: each for each in pieces_of(pattern.line)}
    return [each for each in PIECES.values() if each.name in found]


def _id(number: str, piece: KitPiece) -> str:
    return f"{number}-I{piece.midi + 1}"


def write_drums(
    measure: Element,
    number: str,
    strokes: tuple[DrumStroke, ...],
    span: tuple[Fraction, Fraction, Fraction, Fraction],
    score: Score,
) -> None:
    """Write the strokes of a bar: where it begins, its length, a felt beat, and what leads in."""
    start, length, beat, lead = span
    here: dict[Fraction, list[DrumStroke]] = {}
    for each in strokes:
        if start <= each.start < start + length:
            here.setdefault(each.start - start, []).append(each)
    if not here:
        note = _sub(measure, "note")
        _sub(note, "rest", measure="yes")
        add_text(note, "duration", str(score.ticks(length)))
        add_text(note, "voice", "1")
        return
    for at, until, struck in _values(here, length, beat, lead):
        for place, value in enumerate(values_of(until - at)):
            if place or not struck:
                _rest(measure, value, score)
                continue
            ordered = sorted(struck, key=lambda each: each.piece.midi)
            for stroke in ordered:
                if stroke.hit.cell == "f":
                    _grace(measure, number, stroke)
            for order, stroke in enumerate(ordered):
                _note(measure, number, stroke, value, score, chord=order > 0)


def _values(
    here: dict[Fraction, list[DrumStroke]], length: Fraction, beat: Fraction, lead: Fraction
) -> Iterator[tuple[Fraction, Fraction, list[DrumStroke]]]:
    """The strokes and rests of a bar, cut at every felt beat."""
    places = {Fraction(0), length, *here}
    places |= {lead + n * beat for n in range(int((length - lead) / beat) + 1)}
    ordered = sorted(place for place in places if place <= length)
    for at, until in pairwise(ordered):
        yield at, until, here.get(at, [])


def _rest(measure: Element, value: Fraction, score: Score) -> None:
    note = _sub(measure, "note")
    _sub(note, "rest")
    add_text(note, "duration", str(score.ticks(value)))
    add_text(note, "voice", "1")
    write_value(note, value)


def _grace(measure: Element, number: str, stroke: DrumStroke) -> None:
    note = _sub(measure, "note")
    _sub(note, "grace", slash="yes")
    _head(note, number, stroke)
    add_text(note, "voice", "1")
    add_text(note, "type", "16th")
    _crossed(note, stroke)


def _note(
    measure: Element, number: str, stroke: DrumStroke, value: Fraction, score: Score, *, chord: bool
) -> None:
    note = _sub(measure, "note")
    if chord:
        _sub(note, "chord")
    _head(note, number, stroke, ticks=score.ticks(value))
    add_text(note, "voice", "1")
    write_value(note, value)
    _crossed(note, stroke)
    if stroke.hit.cell == "X":
        _sub(_sub(_sub(note, "notations"), "articulations"), "accent")


def _head(note: Element, number: str, stroke: DrumStroke, ticks: int = 0) -> None:
    unpitched = _sub(note, "unpitched")
    add_text(unpitched, "display-step", stroke.piece.place[0])
    add_text(unpitched, "display-octave", stroke.piece.place[1:])
    if ticks:
        add_text(note, "duration", str(ticks))
    _sub(note, "instrument", id=_id(number, stroke.piece))


def _crossed(note: Element, stroke: DrumStroke) -> None:
    if stroke.hit.cell == "o":
        add_text(note, "notehead", "circle-x")
    elif stroke.piece.cross or stroke.hit.cell == "g":
        head = add_text(note, "notehead", "x" if stroke.piece.cross else "normal")
        if stroke.hit.cell == "g":
            head.set("parentheses", "yes")
