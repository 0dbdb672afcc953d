"""Chord frames of MusicXML: frets, fingers, barres and the first fret of each voicing.

Conventions. A frame counts frets from a whole capo, which the part's staff details state, so that
strings sound as tuned plus capo. Under a partial capo frets are counted from the nut, and a
covered open string stands at the capo's fret. String 1 is the highest, as players count and the
format does. A shape within the first four frets is drawn from the nut or capo.

Source: MusicXML 4.0 (W3C Music Notation Community Group), element frame, from memory.
"""

from __future__ import annotations

from xml.etree import ElementTree

from logbook.arranging.parts import PartPlan
from logbook.arranging.performance import readable_positions
from logbook.strings.capo import whole_capo
from logbook.strings.frets import Fingers, Position, read_fingers

Element = ElementTree.Element
_sub = ElementTree.SubElement
_FRETS_SHOWN = 4


def frames_of(plan: PartPlan) -> dict[str, Element]:
    """The frame of each of a part's voicings, by label; none where no tuning is known."""
    rig = plan.after
    if rig is None or plan.part is None:
        return {}
    partial = whole_capo(rig.tuning, rig.capos) is None
    frames = {}
    positions = readable_positions(plan.part, rig.tuning)
    for voicing in plan.part.voicings:
        position = positions.get(voicing.label)
        if position is None or not any(position):
            continue
        fingers: Fingers = (None,) * len(position)
        if voicing.fingers:
            fingers = read_fingers(voicing.fingers, strings=len(position))
        frames[voicing.label] = frame_of(position, fingers, from_nut=partial)
    return frames


def frame_of(position: Position, fingers: Fingers, *, from_nut: bool = False) -> Element:
    """A chord frame: a fret for each string that sounds, fingers and barres where known."""
    count = len(position)
    frets = [None if at is None else at.fret if from_nut else at.fret - at.stop for at in position]
    pressed = [fret for fret in frets if fret]
    high = max(pressed, default=0)
    first = 1 if high <= _FRETS_SHOWN else min(pressed)
    frame = Element("frame")
    _text(frame, "frame-strings", str(count))
    _text(frame, "frame-frets", str(max(_FRETS_SHOWN, high - first + 1)))
    if first > 1:
        _text(frame, "first-fret", str(first))
    barred = _barres(frets, fingers)
    for index, fret in enumerate(frets):
        if fret is None:
            continue
        note = _sub(frame, "frame-note")
        _text(note, "string", str(count - index))
        _text(note, "fret", str(fret))
        finger = fingers[index]
        if finger is not None and fret:
            _text(note, "fingering", finger)
        if index in barred:
            _sub(note, "barre", type=barred[index])
    return frame


def _barres(frets: list[int | None], fingers: Fingers) -> dict[int, str]:
    """Where a finger that holds several strings begins and ends."""
    held: dict[tuple[str, int], list[int]] = {}
    for index, (fret, finger) in enumerate(zip(frets, fingers, strict=True)):
        if fret and finger:
            held.setdefault((finger, fret), []).append(index)
    ends: dict[int, str] = {}
    for strings in held.values():
        if len(strings) > 1:
            ends[strings[0]], ends[strings[-1]] = "start", "stop"
    return ends


def _text(parent: Element, tag: str, text: str) -> None:
    _sub(parent, tag).text = text
