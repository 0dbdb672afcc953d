"""Other ways to finger a voicing, and the way from one to the next, as data and as lines.

The search itself is in `finder`, the comparison in `moves`; here is what a player reads of them.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from logbook.strings.capo import Capos
from logbook.strings.finder import Found, Limits, find_same_notes, find_voicings
from logbook.strings.fingering import propose_fingers
from logbook.strings.frets import CAPO, NUT, count_frets, write_fingers
from logbook.strings.moves import DROPS, JOINS, Change, LineNote, guide_tone_lines, top_line
from logbook.strings.stretch import FINGER_LIMIT, STRAIN_CAUTION
from logbook.strings.tunings import Tuning
from logbook.strings.voicing import Voicing
from logbook.theory.degrees import degree_in_chord, degree_note
from logbook.theory.keys import Key
from logbook.theory.pitch import midi_to_name, octave_of
from logbook.theory.symbols import read_symbol


def other_ways(
    voicing: Voicing,
    *,
    same_notes: bool = False,
    limits: Limits | None = None,
    most: int | None = 8,
) -> tuple[Found, ...]:
    """Return the closest other voicings of the same chord, or of the exact same notes.

    One that only leaves out strings of the recorded voicing, or of one closer to it, is passed
    over; with `most` None every playable voicing is returned, those too. None are returned for
    notes that deserve no name, unless the same notes are wanted.
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
    recorded = tuple(-1 if view.midi is None else view.midi for view in voicing.strings)
    if most is None:
        return tuple(way for way in found if way.notes != recorded)
    return _fullest(found, [recorded], most)


def chord_ways(
    chord: str,
    tuning: Tuning,
    capos: Capos = (),
    *,
    limits: Limits | None = None,
    most: int | None = 8,
) -> tuple[Found, ...]:
    """Return the voicings of a chord that are taught, then the easiest; `most` None: every one.

    One that only leaves out strings of an easier one is passed over where there is a limit, but
    for those that are taught.
    """
    found = find_voicings(chord, tuning, capos, limits=limits)
    if most is None:
        return found
    taught = [way for way in found if way.taught][:most]
    others = [way for way in found if not way.taught]
    return (*taught, *_fullest(others, [way.notes for way in taught], most - len(taught)))


def _fullest(found: Sequence[Found], listed: list[tuple[int, ...]], most: int) -> tuple[Found, ...]:
    kept: list[Found] = []
    for way in found:
        if len(kept) == most:
            break
        if not any(_only_leaves_out(way.notes, richer) for richer in listed):
            kept.append(way)
            listed.append(way.notes)
    return tuple(kept)


def _only_leaves_out(notes: tuple[int, ...], richer: tuple[int, ...]) -> bool:
    """Say whether every string that sounds does the same in the richer voicing."""
    return all(note in (-1, other) for note, other in zip(notes, richer, strict=True))


def ways_to_dicts(
    ways: Sequence[Found], chord: str, key: Key | None = None, *, fingers: int = FINGER_LIMIT
) -> list[dict[str, Any]]:
    """Return ways to finger a chord as plain data.

    Both counts, notes with octave (spelled by the key, else from the chord's root), fingers,
    reach in mm and the rank. `fingers` is how many the player has for it.
    """
    return [
        {
            "from_nut": count_frets(way.position, NUT).text,
            "from_capo": count_frets(way.position, CAPO).text,
            "notes": _names(way, chord, key),
            "midi": [note for note in way.notes if note >= 0],
            "fingers": _fingers(way, fingers),
            "stretch_mm": round(way.stretch_mm, 1),
            "distance": way.distance,
            "caution": STRAIN_CAUTION,
        }
        for way in ways
    ]


def ways_to_lines(
    ways: Sequence[Found],
    chord: str,
    key: Key | None = None,
    *,
    counted: str = NUT,
    fingers: int = FINGER_LIMIT,
) -> list[str]:
    """Return a line for each way to finger a chord, frets counted as said."""
    frets = [count_frets(way.position, counted).text for way in ways]
    hands = [_fingers(way, fingers) for way in ways]
    wide, broad = max(map(len, frets), default=0), max(map(len, hands), default=0)
    return [
        f"{fret.ljust(wide)}   {hand.ljust(broad)}  {way.stretch_mm:4.0f} mm  "
        + " ".join(_names(way, chord, key))
        for way, fret, hand in zip(ways, frets, hands, strict=True)
    ]


def _names(way: Found, chord: str, key: Key | None) -> list[str]:
    notes = [note for note in way.notes if note >= 0]
    symbol = read_symbol(chord) if key is None and not chord.startswith("(") else None
    if symbol is None or symbol.root_pc is None:
        return [midi_to_name(note, key) for note in notes]
    names = []
    for note in notes:
        name = degree_note(symbol.root, degree_in_chord(note - symbol.root_pc, symbol.degrees))
        names.append(f"{name}{octave_of(note, name)}")
    return names


def _fingers(way: Found, fingers: int) -> str:
    return write_fingers(propose_fingers(way.position, fingers=fingers) or ())


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
