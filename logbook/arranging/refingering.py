"""A part under the way that was chosen to get to the key: its lines, capo, tuning and shapes.

Conventions. Fingers and ornaments stay where the hand does the same; a new hand gets fingers of its
own, and says what the record had.
"""

from __future__ import annotations

from dataclasses import replace

from logbook.arranging.adaptations import RETUNED, Adaptation
from logbook.arranging.hands import KEPT, MOVED, Hand, Recorded, Setup
from logbook.arranging.moved import Moved
from logbook.errors import LogbookError
from logbook.records.arrangements import ArrangedPart
from logbook.records.part_view import PartView
from logbook.records.parts import Part, Voicing
from logbook.records.places import Tuning as TuningRecord
from logbook.strings.capo import whole_capo, write_capos
from logbook.strings.fingering import propose_fingers
from logbook.strings.frets import CAPO, Position, count_frets, write_fingers
from logbook.strings.ornaments import read_ornaments, write_ornaments
from logbook.strings.tunings import StringTuning, find_tuning


def part_under_way(
    candidate: Part,
    part: Part,
    way: Adaptation,
    before: Setup,
    recorded: tuple[Recorded, ...],
    moved: Moved,
    place: PartView,
    said: ArrangedPart,
) -> tuple[Part, TuningRecord | None]:
    """The part under the chosen way, and a tuning that has to be logged with it."""
    hands = {hand.label: hand for hand in way.hands}
    places = {each.label: each.position for each in recorded}
    voicings = tuple(
        _fingered(new, old, hands.get(old.label), places.get(old.label), candidate, way, before)
        for new, old in zip(candidate.voicings, part.voicings, strict=True)
    )
    tuning_name, logged = part.tuning, None
    if way.rig.tuning != before.tuning:
        tuning_name, logged = _tuning_name(way.rig.tuning, said, place)
    return (
        replace(
            candidate,
            voicings=voicings,
            capo=write_capos(way.rig.capos) if way.rig.capos else "",
            tuning=tuning_name,
            shape_key=_shape_key(part, way, moved),
        ),
        logged,
    )


def _tuning_name(
    tuning: StringTuning, said: ArrangedPart, place: PartView
) -> tuple[str, TuningRecord | None]:
    """The name the tuning goes by in the log, and its record where it has none yet."""
    if said.tuning:
        return said.tuning, None
    for known in place.log.tunings:
        if known.strings == tuning.text and known.a4_hz == tuning.a4_hz:
            return known.name, None
    taken = {known.name for known in place.log.tunings}
    if tuning.name not in taken and tuning.a4_hz == place.version.a4_hz and _is_usual(tuning):
        return tuning.name, None
    name = tuning.name if tuning.name not in taken else f"{tuning.name} ({tuning.text})"
    return name, TuningRecord(
        name=name, strings=tuning.text, a4_hz=tuning.a4_hz, offset_cents=tuning.offset_cents
    )


def _is_usual(tuning: StringTuning) -> bool:
    try:
        return find_tuning(tuning.name).text == tuning.text and not tuning.offset_cents
    except LogbookError:
        return False


def _shape_key(part: Part, way: Adaptation, moved: Moved) -> str:
    """The key the hands think in; not said where the strings are tuned to something else."""
    if way.kind == RETUNED:
        return ""
    if all(hand.state == KEPT for hand in way.hands):
        return part.shape_key
    whole = whole_capo(way.rig.tuning, way.rig.capos)
    if moved.key is None or whole is None:
        return ""
    return moved.key.transpose(-whole).short


def _fingered(
    new: Voicing,
    old: Voicing,
    hand: Hand | None,
    before: Position | None,
    part: Part,
    way: Adaptation,
    rig: Setup,
) -> Voicing:
    """The voicing's line, fingers and the rest as the hand now has it."""
    if hand is None or hand.position is None or before is None:
        return new
    counted = old.counted or part.counted
    if hand.state == KEPT and count_frets(hand.position, counted) == count_frets(before, counted):
        return new
    frets = count_frets(hand.position, counted).text
    if hand.state == KEPT and counted == CAPO:
        frets = old.frets
    if hand.state in (KEPT, MOVED):
        return replace(new, frets=frets, ornaments=_ornaments(old, before, hand, counted))
    fingers = propose_fingers(hand.position)
    note = f"on the recording with {old.ornaments}" if old.ornaments else ""
    return replace(
        new,
        frets=frets,
        fingers=write_fingers(fingers) if fingers and any(fingers) else "",
        avoid="",
        ring="",
        ornaments="",
        notes="; ".join(filter(None, (old.notes, note))),
    )


def _ornaments(old: Voicing, before: Position, hand: Hand, counted: str) -> str:
    """Ornaments moved as far as their strings are; frets counted as the voicing's are."""
    if not old.ornaments or hand.position is None:
        return old.ornaments
    count = len(before)
    moved = []
    for each in read_ornaments(old.ornaments):
        was, now = before[count - each.string], hand.position[count - each.string]
        by = 0
        if was is not None and now is not None:
            by = now.fret - was.fret
            if counted == CAPO:
                by -= now.stop - was.stop
        # 0 is the open string in either count, and stays so.
        start, end = (fret + by if fret else 0 for fret in (each.start, each.end))
        if start < 0 or end < 0 or (start == end and each.start != each.end):
            continue
        moved.append(each._replace(start=start, end=end))
    return write_ornaments(tuple(moved))
