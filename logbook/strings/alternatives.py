"""Other ways to finger a voicing: which of those that the finder finds are worth showing."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

from logbook.strings.capo import Capos
from logbook.strings.finder import Fingering, Limits, find_same_notes, find_voicings
from logbook.strings.frets import Position
from logbook.strings.tunings import StringTuning
from logbook.strings.voicing import SoundingVoicing


def other_ways(
    voicing: SoundingVoicing,
    *,
    same_notes: bool = False,
    limits: Limits | None = None,
    most: int | None = 8,
) -> tuple[Fingering, ...]:
    """Return the closest other voicings of the same chord, or of the exact same notes.

    One that only leaves out strings of the recorded voicing, or of one closer to it, is passed
    over; with `most` None every playable voicing is returned, those too. None are returned for
    notes that deserve no name, unless the same notes are wanted.
    """
    limits = limits or Limits()
    if limits.scale_mm is None:
        limits = limits._replace(scale_mm=voicing.scale_mm)
    recorded = tuple(-1 if view.midi is None else view.midi for view in voicing.strings)
    if same_notes:
        found = find_same_notes(
            voicing.midi, voicing.tuning, voicing.capos, near=voicing.position, limits=limits
        )
    elif not (voicing.concert[0].named or voicing.chord == voicing.name):
        return ()
    elif most is not None:
        return _closest(
            voicing.chord, voicing.tuning, voicing.capos, voicing.position, recorded, limits, most
        )
    else:
        found = find_voicings(
            voicing.chord, voicing.tuning, voicing.capos, near=voicing.position, limits=limits
        )
    if most is None:
        return tuple(way for way in found if way.notes != recorded)
    return _fullest(found, [recorded], most)


@lru_cache(maxsize=4096)  # the same shapes stand in many songs
def _closest(
    chord: str,
    tuning: StringTuning,
    capos: Capos,
    near: Position,
    recorded: tuple[int, ...],
    limits: Limits,
    most: int,
) -> tuple[Fingering, ...]:
    """The closest voicings of a chord to one on the neck, whose notes are `recorded`."""
    found = find_voicings(chord, tuning, capos, near=near, limits=limits)
    return _fullest(found, [recorded], most)


def chord_ways(
    chord: str,
    tuning: StringTuning,
    capos: Capos = (),
    *,
    limits: Limits | None = None,
    most: int | None = 8,
) -> tuple[Fingering, ...]:
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


def _fullest(
    found: Sequence[Fingering], listed: list[tuple[int, ...]], most: int
) -> tuple[Fingering, ...]:
    kept: list[Fingering] = []
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
