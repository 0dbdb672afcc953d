"""Other ways to finger a voicing, and the way from one to the next, as data and as lines.

`strings/alternatives` chooses them; here is what a player reads of them.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, NamedTuple

from logbook.sheets.blocks import ANSWER_LABELS, Block, Facts, Paragraph, Table
from logbook.sheets.looks import Sheet, Wanted
from logbook.strings.finder import Fingering
from logbook.strings.fingering import propose_fingers
from logbook.strings.frets import CAPO, NUT, count_frets, write_fingers
from logbook.strings.moves import DROPS, JOINS, ChordChange, LineNote, guide_tone_lines, top_line
from logbook.strings.stretch import FINGER_LIMIT, STRAIN_CAUTION
from logbook.strings.voicing import SoundingVoicing
from logbook.theory.keys import Key
from logbook.theory.pitch import midi_to_name, spelled
from logbook.theory.symbols import read_symbol


def ways_to_dicts(
    ways: Sequence[Fingering], chord: str, key: Key | None = None, *, fingers: int = FINGER_LIMIT
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


class Fingerings(NamedTuple):
    """How a chord that is named can be held; `fingers` is how many the hand has for it."""

    chord: str
    ways: tuple[Fingering, ...]
    key: Key | None = None
    counted: str = NUT
    fingers: int = FINGER_LIMIT


def build(subject: Fingerings, wanted: Wanted) -> Sheet:
    """Return the ways to hold a chord, the easiest first, ready to be drawn."""
    del wanted
    table = ways_table(
        subject.ways,
        subject.chord,
        subject.key,
        counted=subject.counted,
        fingers=subject.fingers,
        caption=f"{subject.chord}, the easiest first",
    )
    ways = ways_to_dicts(subject.ways, subject.chord, subject.key, fingers=subject.fingers)
    return Sheet(
        "fingerings",
        subject.chord,
        {"chord": subject.chord, "ways": ways},
        (table, Facts((("Caution", STRAIN_CAUTION),), column=ANSWER_LABELS)),
        (table.head, *table.rows),
    )


def other_ways_blocks(
    voicing: SoundingVoicing, found: Sequence[Fingering], *, counted: str, fingers: int
) -> list[Block]:
    """The other ways to hold a voicing, the closest first."""
    if not found:
        return [
            Paragraph("Other ways: none within this reach and with these fingers."),
        ]
    blocks: list[Block] = [
        ways_table(
            found,
            voicing.chord,
            voicing.key,
            counted=counted,
            fingers=fingers,
            caption="Other ways, the closest first",
        )
    ]
    if not voicing.caution:
        blocks.append(Facts((("Caution", STRAIN_CAUTION),), column=ANSWER_LABELS))
    return blocks


def ways_table(
    ways: Sequence[Fingering],
    chord: str,
    key: Key | None = None,
    *,
    counted: str = NUT,
    fingers: int = FINGER_LIMIT,
    caption: str = "",
) -> Table:
    """Return a row for each way to finger a chord, frets counted as said."""
    return Table(
        (f"frets from the {counted}", "fingers", "reach", "notes"),
        tuple(
            (
                count_frets(way.position, counted).text,
                _fingers(way, fingers),
                f"{way.stretch_mm:.0f} mm",
                " ".join(_names(way, chord, key)),
            )
            for way in ways
        ),
        caption,
    )


def _names(way: Fingering, chord: str, key: Key | None) -> list[str]:
    notes = [note for note in way.notes if note >= 0]
    symbol = None if chord.startswith("(") else read_symbol(chord)
    if symbol is None or symbol.root_pc is None:
        return [midi_to_name(note, key) for note in notes]
    return [spelled(note, symbol.root, symbol.degrees, key) for note in notes]


def _fingers(way: Fingering, fingers: int) -> str:
    return write_fingers(propose_fingers(way.position, fingers=fingers) or ())


def change_to_line(change: ChordChange) -> str:
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


def change_to_dict(change: ChordChange) -> dict[str, Any]:
    """Return a change as plain data; frets from the nut, distances in mm."""
    return {
        **change._asdict(),
        "moves": [{**move._asdict(), "mm": round(move.mm, 1)} for move in change.moves],
        "hand_mm": round(change.hand_mm, 1),
    }


def lines_to_dict(voicings: Sequence[SoundingVoicing]) -> dict[str, Any]:
    """Return the line of the top notes and the lines of the guide tones as plain data."""
    return {
        "top": [note._asdict() for note in top_line(voicings)],
        "guide_tones": [
            [None if note is None else note._asdict() for note in line]
            for line in guide_tone_lines(voicings)
        ],
    }


def voice_leading(voicings: Sequence[SoundingVoicing]) -> tuple[tuple[str, str], ...]:
    """Return the line of the top notes and the lines of the guide tones, a labelled row each."""
    rows = [("Top line", " ".join(note.note for note in top_line(voicings)))]
    guides = guide_tone_lines(voicings)
    if any(note is not None for note in guides[0]):
        labels = ("Guide tones", "")
        rows += [(label, _guide(line)) for label, line in zip(labels, guides, strict=True)]
    return tuple(rows)


def _guide(line: Sequence[LineNote | None]) -> str:
    return " ".join("-" if note is None else f"{note.note} ({note.degree})" for note in line)
