"""Other ways to finger a voicing, and the way from one to the next, as data and as lines.

The search itself is in `finder`, the comparison in `moves`; here is what a player reads of them.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from logbook.strings.finder import Found, Limits, find_same_notes, find_voicings
from logbook.strings.fingering import propose_fingers
from logbook.strings.frets import CAPO, NUT, count_frets, write_fingers
from logbook.strings.moves import DROPS, JOINS, Change, LineNote, guide_tone_lines, top_line
from logbook.strings.report import hang
from logbook.strings.stretch import STRAIN_CAUTION
from logbook.strings.voicing import Voicing
from logbook.theory.pitch import midi_to_name


def other_ways(
    voicing: Voicing, *, same_notes: bool = False, limits: Limits | None = None, most: int = 8
) -> tuple[Found, ...]:
    """Return the closest other voicings of the same chord, or of the exact same notes.

    One that only leaves out strings of the recorded voicing, or of one closer to it, is passed
    over. None are returned for notes that deserve no name, unless the same notes are wanted.
    """
    limits = limits or Limits()
    if limits.scale_mm is None:
        limits = limits._replace(scale_mm=voicing.scale_mm)
    if same_notes:
        found = find_same_notes(
            voicing.midi, voicing.tuning, voicing.capos, near=voicing.position, limits=limits
        )
    elif voicing.concert[0].named or voicing.chord == voicing.name:
        found = find_voicings(
            voicing.chord, voicing.tuning, voicing.capos, near=voicing.position, limits=limits
        )
    else:
        return ()
    listed = [_notes(voicing)]
    others: list[Found] = []
    for way in found:
        if len(others) == most:
            break
        if not any(_only_leaves_out(way.notes, richer) for richer in listed):
            others.append(way)
            listed.append(way.notes)
    return tuple(others)


def _only_leaves_out(notes: tuple[int, ...], richer: tuple[int, ...]) -> bool:
    """Say whether every string that sounds does the same in the richer voicing."""
    return all(note in (-1, other) for note, other in zip(notes, richer, strict=True))


def _notes(voicing: Voicing) -> tuple[int, ...]:
    return tuple(-1 if view.midi is None else view.midi for view in voicing.strings)


def ways_to_dicts(ways: Sequence[Found], voicing: Voicing) -> list[dict[str, Any]]:
    """Return other ways as plain data: both counts, notes with octave, fingers, reach in mm."""
    return [
        {
            "from_nut": count_frets(way.position, NUT).text,
            "from_capo": count_frets(way.position, CAPO).text,
            "notes": _names(way, voicing),
            "midi": [note for note in way.notes if note >= 0],
            "fingers": _fingers(way),
            "stretch_mm": round(way.stretch_mm, 1),
            "distance": way.distance,
            "caution": STRAIN_CAUTION,
        }
        for way in ways
    ]


def ways_to_lines(ways: Sequence[Found], voicing: Voicing, *, width: int = 80) -> list[str]:
    """Return a line for each other way, counted as the recorded one, and the caution."""
    if not ways:
        return ["No other way was found within the reach and the fingers given."]
    counted = voicing.line.counted
    frets = [count_frets(way.position, counted).text for way in ways]
    fingers = [_fingers(way) for way in ways]
    wide, broad = max(map(len, frets)), max(map(len, fingers))
    lines = [f"Other ways, the closest first (frets from the {counted}, fingers, reach, notes)"]
    lines += [
        f"{fret.ljust(wide)}   {finger.ljust(broad)}  {way.stretch_mm:4.0f} mm  "
        + " ".join(_names(way, voicing))
        for way, fret, finger in zip(ways, frets, fingers, strict=True)
    ]
    return lines if voicing.caution else [*lines, *hang("Caution", STRAIN_CAUTION, width)]


def _names(way: Found, voicing: Voicing) -> list[str]:
    names = {view.midi: view.note for view in voicing.strings if view.note is not None}
    return [names.get(note) or midi_to_name(note, voicing.key) for note in way.notes if note >= 0]


def _fingers(way: Found) -> str:
    return write_fingers(propose_fingers(way.position) or ())


def change_to_line(change: Change) -> str:
    """Say a change in a line: what stays, what moves and how far."""
    parts = []
    if change.stays:
        strings = ", ".join(map(str, change.stays))
        many = len(change.stays) > 1
        parts.append(f"strings {strings} stay" if many else f"string {strings} stays")
    for move in change.moves:
        if move.kind in (JOINS, DROPS):
            parts.append(f"string {move.string} {move.kind}")
        else:
            parts.append(f"string {move.string} {move.kind} {move.before} to {move.after}")
    if change.fingers_stay:
        plural = "s" if len(change.fingers_stay) > 1 else ""
        parts.append(f"finger{plural} {' and '.join(change.fingers_stay)} kept down")
    if change.hand_frets:
        way = "up" if change.hand_frets > 0 else "down"
        parts.append(f"hand {abs(change.hand_frets)} {way}, {change.hand_mm:.0f} mm")
    return "; ".join(parts) or "nothing moves"


def change_to_dict(change: Change) -> dict[str, Any]:
    """Return a change as plain data; frets from the nut, distances in mm."""
    return {
        **change._asdict(),
        "moves": [{**move._asdict(), "mm": round(move.mm, 1)} for move in change.moves],
        "hand_mm": round(change.hand_mm, 1),
    }


def lines_to_dict(voicings: Sequence[Voicing]) -> dict[str, Any]:
    """Return the line of the top notes and the lines of the guide tones as plain data."""
    return {
        "top": [note._asdict() for note in top_line(voicings)],
        "guide_tones": [
            [None if note is None else note._asdict() for note in line]
            for line in guide_tone_lines(voicings)
        ],
    }


def lines_to_lines(voicings: Sequence[Voicing]) -> list[str]:
    """Return the line of the top notes and the lines of the guide tones, a line of text each."""
    lines = ["Top line     " + " ".join(note.note for note in top_line(voicings))]
    guides = guide_tone_lines(voicings)
    if any(note is not None for note in guides[0]):
        labels = ("Guide tones  ", "             ")
        lines += [label + _guide(line) for label, line in zip(labels, guides, strict=True)]
    return lines


def _guide(line: Sequence[LineNote | None]) -> str:
    return " ".join("-" if note is None else f"{note.note} ({note.degree})" for note in line)
