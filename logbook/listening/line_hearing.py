"""A single line heard from a file: see `logbook.listening.hear_notes`."""

from __future__ import annotations

from dataclasses import replace
from math import isfinite
from pathlib import Path

from logbook.listening.decoding import DecodedSound, decode
from logbook.listening.extra import ListeningError
from logbook.listening.heard import HeardNote
from logbook.listening.line_notes import line_notes
from logbook.listening.pitch_track import track_pitch


def hear_line(path: Path, *, start: float = 0.0, end: float | None = None) -> tuple[HeardNote, ...]:
    """The notes of a single line in a file. Raises ListeningError."""
    return line_of(decode(path), start=start, end=end)


def line_of(
    sound: DecodedSound, *, start: float = 0.0, end: float | None = None
) -> tuple[HeardNote, ...]:
    """The notes of a single line from `start` to `end`, seconds. Raises ListeningError."""
    last = sound.seconds if end is None else end
    if not (isfinite(start) and isfinite(last)) or last <= start:
        raise ListeningError(
            f"the stretch from {start:g} to {last:g} s has no length",
            "give its start before its end",
        )
    if start < -0.05 or last > sound.seconds + 0.1:
        raise ListeningError(
            f"the stretch from {start:g} to {last:g} s is not within the file, "
            f"which has {sound.seconds:.2f} s",
            "give seconds inside the file, from its start",
        )
    first = max(0, round(start * sound.rate))
    samples = sound.samples[first : round(last * sound.rate)]
    begins = first / sound.rate
    return tuple(
        replace(note, start=round(note.start + begins, 4), end=round(note.end + begins, 4))
        for note in line_notes(track_pitch(samples, sound.rate))
    )
