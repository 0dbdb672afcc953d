"""Beams in MusicXML: short notes of one felt beat are joined, as they are counted.

Conventions. Notes shorter than a quarter that follow each other within a felt beat have a beam, and
shorter ones a further beam; a rest, or a beat that begins, ends it (common practice, no source).

Source: MusicXML 4.0 (W3C Music Notation Community Group), element beam, from memory; the tests hold
every file against its schema.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from itertools import groupby
from typing import NamedTuple
from xml.etree import ElementTree

Element = ElementTree.Element
_BEAMS = {"eighth": 1, "16th": 2, "32nd": 3, "64th": 4}
_BEHIND = ("notations", "lyric", "play", "listen")


class _Short(NamedTuple):
    """A short note: the beat it stands in, the beams it has, and whether it follows the last."""

    beat: int
    beams: int
    note: Element


def write_beams(measure: Element, divisions: int, beat: Fraction, lead: Fraction) -> None:
    """Join the short notes of a bar; `beat` is a felt beat and `lead` what comes before the first.

    `divisions` are those of a quarter, the lengths whole notes.
    """
    for voice in ("1", "5"):
        for run in _runs(measure, voice, divisions, beat, lead):
            if len(run) > 1:
                _join(run)


def _runs(
    measure: Element, voice: str, divisions: int, beat: Fraction, lead: Fraction
) -> Iterator[list[_Short]]:
    at = 0
    run: list[_Short] = []
    for note in measure.findall("note"):
        if note.findtext("voice", "1") != voice or note.find("chord") is not None:
            continue
        wholes = Fraction(at, 4 * divisions)
        place = -1 if wholes < lead else int((wholes - lead) / beat)
        beams = _BEAMS.get(note.findtext("type", ""), 0)
        short = beams and note.find("rest") is None and note.find("grace") is None
        if run and (not short or run[-1].beat != place):
            yield run
            run = []
        if short:
            run.append(_Short(place, beams, note))
        at += int(note.findtext("duration", "0"))
    if run:
        yield run


def _join(run: list[_Short]) -> None:
    for level in range(1, max(each.beams for each in run) + 1):
        for beamed, group in groupby(run, key=lambda each: each.beams >= level):
            notes = list(group)
            if not beamed:
                continue
            if len(notes) == 1:
                first = notes[0].note is run[0].note
                _write(notes[0].note, level, "forward hook" if first else "backward hook")
                continue
            for place, each in enumerate(notes):
                last = place == len(notes) - 1
                word = "begin" if place == 0 else "end" if last else "continue"
                _write(each.note, level, word)


def _write(note: Element, level: int, word: str) -> None:
    beam = Element("beam", number=str(level))
    beam.text = word
    places = [place for place, child in enumerate(note) if child.tag in _BEHIND]
    note.insert(min(places, default=len(note)), beam)
