"""Words in MusicXML: a line of the lyrics under the notes it is sung to.

Conventions. The words stand in the parts that are sung, and where there is none in the first part
(common practice, no source). Where a melody has as many notes, from where a line begins to the next
line, as the line has syllables, each has its own note: words are parted at spaces, and syllables
where the writer parts them ("Salt-pan"); a note that is tied on, and a grace note, take none. Any
other line is one lyric, at the note or the rest that sounds where it begins: which of several notes
a syllable is held over nobody has said.

Source: MusicXML 4.0 (W3C Music Notation Community Group), elements lyric and syllabic, from memory;
the tests hold every file against its schema.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import pairwise
from typing import NamedTuple
from xml.etree import ElementTree

from logbook.arranging.xml_head import Score, add_text

Element = ElementTree.Element
_sub = ElementTree.SubElement

Words = dict[int, list[tuple[Fraction, str]]]
"""The lines that begin in each bar: how far into it, in whole notes, and the words."""


class _Note(NamedTuple):
    """A note or rest: the bar it stands in, counted in the order written, and ticks into it."""

    bar: int
    at: int
    element: Element


class _WordsLine(NamedTuple):
    bar: int
    at: Fraction
    text: str


def write_words(part: Element, score: Score, words: Words, *, melody: bool) -> None:
    """Write the lines of the lyrics under a part's notes; `melody` says that these are sung."""
    notes = list(_notes(part))
    order = {bar: number for number, bar in enumerate(score.numbers)}
    lines = [
        _WordsLine(order[bar], at * 4 * score.divisions, text)
        for bar, begun in sorted(words.items())
        for at, text in begun
    ]
    for line, after in pairwise([*lines, None]):
        assert line is not None
        end = (after.bar, after.at) if after else (len(score.numbers), Fraction(0))
        own = [each for each in notes if (line.bar, line.at) <= (each.bar, each.at) < end]
        sung = [each.element for each in own if melody and _takes_a_syllable(each.element)]
        syllables = list(_syllables(line.text))
        if len(syllables) == len(sung) > 1:
            for note, (text, place) in zip(sung, syllables, strict=True):
                _write(note, text, place, ends=note is sung[-1])
        elif (begun := _begun(notes, line)) is not None:
            _write(begun, line.text, "single", ends=True)


def _write(note: Element, text: str, place: str, *, ends: bool) -> None:
    held = note.find("lyric/text")
    if held is not None:
        held.text = f"{held.text} / {text}"
        return
    lyric = _sub(note, "lyric", number="1")
    add_text(lyric, "syllabic", place)
    add_text(lyric, "text", text)
    if ends:
        _sub(lyric, "end-line")


def _syllables(text: str) -> Iterator[tuple[str, str]]:
    """Each syllable of a line, and its place in its word as MusicXML says it."""
    for word in text.split():
        pieces = [piece for piece in word.split("-") if piece]
        if len(pieces) < 2:
            yield word, "single"
            continue
        yield pieces[0], "begin"
        yield from ((piece, "middle") for piece in pieces[1:-1])
        yield pieces[-1], "end"


def _takes_a_syllable(note: Element) -> bool:
    tied_on = any(tie.get("type") == "stop" for tie in note.findall("tie"))
    return not tied_on and note.find("rest") is None and note.find("grace") is None


def _begun(notes: Sequence[_Note], line: _WordsLine) -> Element | None:
    """The note of its bar that sounds where a line begins, or the first of that bar."""
    here = [each for each in notes if each.bar == line.bar]
    before = [each for each in here if each.at <= line.at]
    return (before[-1] if before else here[0]).element if here else None


def _notes(part: Element) -> Iterator[_Note]:
    """The notes and rests of the first staff's first voice of every bar, in order."""
    for bar, measure in enumerate(part.findall("measure")):
        at = 0
        for note in measure.findall("note"):
            if note.find("chord") is not None or note.findtext("staff", "1") != "1":
                continue
            yield _Note(bar, at, note)
            at += int(note.findtext("duration", "0"))
