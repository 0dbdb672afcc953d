"""From one voicing to the next: what stays, what moves and how far, and the lines that sing.

A string stays when it is stopped at the same fret and sounds before and after. A finger stays
when it holds the same string at the same fret, and slides when it keeps its string and changes
fret. The line of the guide tones leads each third and seventh to the nearest one of the next
chord (common practice, no source); a chord without a seventh has none, and the line rests.
"""

from collections.abc import Sequence
from itertools import pairwise, permutations
from typing import NamedTuple

from logbook.errors import LogbookError
from logbook.strings.instruments import fret_gap_mm
from logbook.strings.stretch import fingered_frets
from logbook.strings.voicing import SoundingVoicing, StringView

STAYS = "stays"
MOVES = "moves"
PRESSED = "pressed"
RELEASED = "released"
JOINS = "joins"
DROPS = "drops"


class StringMove(NamedTuple):
    """What one string does between two voicings.

    `kind` is "stays", "moves" (from fret to fret), "pressed" (open to fretted), "released"
    (fretted to open), "joins" (was not played) or "drops" (is no longer). Frets are from the
    nut, where the string is stopped (an open string at its capo); `frets` how far up (down is
    negative) and `mm` the way along the neck, both 0 where it joins or drops.
    """

    string: int
    kind: str
    before: int | None
    after: int | None
    frets: int
    mm: float


class ChordChange(NamedTuple):
    """All that changes between two voicings of a part.

    `stays` are the players' numbers of strings that stay, `moves` every other string that
    sounds before or after. `fingers_stay` and `fingers_slide` are fingers; `hand_frets` and
    `hand_mm` the way of the hand, from lowest to lowest fingered fret; `top` the step of the
    highest note in semitones.
    """

    stays: tuple[int, ...]
    moves: tuple[StringMove, ...]
    fingers_stay: tuple[str, ...]
    fingers_slide: tuple[str, ...]
    hand_frets: int
    hand_mm: float
    top: int


class LineNote(NamedTuple):
    """One note of a line: its name, MIDI number, string, and the step to it in semitones.

    `degree` is its degree in its chord; `step` is None at the start of the line and after a
    rest.
    """

    note: str
    midi: int
    string: int
    degree: str | None
    step: int | None


def moves_between(before: SoundingVoicing, after: SoundingVoicing) -> ChordChange:
    """Return what changes from one voicing to the next.

    Raises LogbookError where the two are on different numbers of strings.
    """
    if len(before.position) != len(after.position):
        raise LogbookError(
            f"{len(before.position)} and {len(after.position)} strings cannot be compared",
            "give two voicings of the same part",
        )
    stays: list[int] = []
    moves: list[StringMove] = []
    count = len(before.position)
    for index, (was, now) in enumerate(zip(before.position, after.position, strict=True)):
        number = count - index
        if was is None and now is None:
            continue
        if was is None or now is None:
            kind = JOINS if was is None else DROPS
            frets = (None if was is None else was.fret, None if now is None else now.fret)
            moves.append(StringMove(number, kind, *frets, 0, 0.0))
        elif was.fret == now.fret:
            stays.append(number)
        else:
            kind = RELEASED if not now.fingered else MOVES if was.fingered else PRESSED
            way = fret_gap_mm(after.scale_mm, was.fret, now.fret)
            moves.append(StringMove(number, kind, was.fret, now.fret, now.fret - was.fret, way))
    hand = [min(fingered_frets(voicing.position), default=None) for voicing in (before, after)]
    low_before, low_after = hand
    still = low_before is None or low_after is None
    return ChordChange(
        tuple(reversed(stays)),
        tuple(reversed(moves)),
        _common_fingers(before, after, slides=False),
        _common_fingers(before, after, slides=True),
        0 if low_before is None or low_after is None else low_after - low_before,
        0.0 if still else fret_gap_mm(after.scale_mm, low_before or 0, low_after or 0),
        max(after.midi) - max(before.midi),
    )


def _common_fingers(
    before: SoundingVoicing, after: SoundingVoicing, *, slides: bool
) -> tuple[str, ...]:
    if before.fingers is None or after.fingers is None:
        return ()
    rows = zip(before.fingers, after.fingers, before.position, after.position, strict=True)
    return tuple(
        sorted(
            {
                finger
                for finger, then, was, now in rows
                if finger is not None
                and finger == then
                and was is not None
                and now is not None
                and (was.fret != now.fret) == slides
            }
        )
    )


def section_changes(voicings: Sequence[SoundingVoicing]) -> tuple[ChordChange, ...]:
    """Return the changes between the voicings of a section, in their order."""
    return tuple(moves_between(before, after) for before, after in pairwise(voicings))


def top_line(voicings: Sequence[SoundingVoicing]) -> tuple[LineNote, ...]:
    """Return the highest note of each voicing in turn."""
    line: list[LineNote] = []
    for voicing in voicings:
        view = max(_sounding(voicing), key=lambda each: each[0])[1]
        line.append(_line_note(view, line[-1] if line else None))
    return tuple(line)


def guide_tone_lines(
    voicings: Sequence[SoundingVoicing],
) -> tuple[tuple[LineNote | None, ...], ...]:
    """Return the two lines of thirds and sevenths, each led to the nearest; None is a rest.

    Where a guide tone is doubled, its lowest sounding note counts.
    """
    lines: tuple[list[LineNote | None], list[LineNote | None]] = ([], [])
    for voicing in voicings:
        pair = _guide_pair(voicing)
        if pair is None:
            for line in lines:
                line.append(None)
            continue
        last = [line[-1] if line else None for line in lines]
        ordered = min(permutations(pair), key=lambda views: _way(last, views))
        for line, view, before in zip(lines, ordered, last, strict=True):
            line.append(_line_note(view, before))
    return tuple(map(tuple, lines))


def _sounding(voicing: SoundingVoicing) -> list[tuple[int, StringView]]:
    return [
        (view.midi, view)
        for view in voicing.strings
        if view.midi is not None and view.midi in voicing.midi
    ]


def _guide_pair(voicing: SoundingVoicing) -> tuple[StringView, StringView] | None:
    degrees = dict.fromkeys(tone.degree for tone in voicing.guide_tones)
    if len(degrees) != 2:
        return None
    lowest = [
        min(
            (item for item in _sounding(voicing) if item[1].degree == degree),
            default=None,
            key=lambda item: item[0],
        )
        for degree in degrees
    ]
    views = sorted(item for item in lowest if item is not None)
    return (views[0][1], views[1][1]) if len(views) == 2 else None


def _way(last: Sequence[LineNote | None], views: Sequence[StringView]) -> tuple[int, int]:
    """How far two guide tones are led: first the steps whatever the octave, then the real ones."""
    ways = [
        view.midi - before.midi
        for before, view in zip(last, views, strict=True)
        if before is not None and view.midi is not None
    ]
    return sum(min(way % 12, -way % 12) for way in ways), sum(map(abs, ways))


def _line_note(view: StringView, before: LineNote | None) -> LineNote:
    midi = view.midi or 0
    step = None if before is None else midi - before.midi
    return LineNote(view.note or "", midi, view.number, view.degree, step)
