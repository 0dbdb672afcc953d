"""Words in MusicXML: each line of the lyrics at the note, or the rest, that it begins with.

Conventions. The words stand in the parts that are sung, and where there is none in the first part
(common practice, no source). A line without a melody of its own is one lyric, at the note that
sounds where the line begins.

Source: MusicXML 4.0 (W3C Music Notation Community Group), element lyric, from memory; the tests
hold every file against its schema.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from xml.etree import ElementTree

from logbook.arranging.xml_head import Score, add_text

Element = ElementTree.Element
_sub = ElementTree.SubElement

Words = dict[int, list[tuple[Fraction, str]]]
"""The lines that begin in each bar: how far into it, in whole notes, and the words."""


def write_words(measure: Element, score: Score, words: Sequence[tuple[Fraction, str]]) -> None:
    """Write the lines that begin in a bar under the notes they begin with."""
    notes = list(_notes(measure))
    if not notes:
        return
    for at, text in words:
        ticks = at * 4 * score.divisions
        _, note = max(
            (each for each in enumerate(notes) if each[1][0] <= ticks), default=(0, notes[0])
        )
        held = note[1].find("lyric/text")
        if held is not None:
            held.text = f"{held.text} / {text}"
            continue
        lyric = _sub(note[1], "lyric", number="1")
        add_text(lyric, "syllabic", "single")
        add_text(lyric, "text", text)
        _sub(lyric, "end-line")


def _notes(measure: Element) -> Iterator[tuple[int, Element]]:
    """The notes and rests of the first staff, each with where it begins in divisions."""
    at = 0
    for note in measure.findall("note"):
        if note.find("chord") is not None or note.findtext("staff", "1") != "1":
            continue
        yield at, note
        at += int(note.findtext("duration", "0"))
