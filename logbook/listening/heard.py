"""What was heard in a stretch of a recording, as plain data, and what may be asked.

Notes are MIDI numbers as they sound. Frets stand low to high as the strings do, count from the
nut, an open string is 0 (it rings at the capo), and None is not played.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite
from operator import index

from logbook.listening.extra import ListeningError

Frets = tuple[int | None, ...]

MOST_STRINGS = 12
LAST_FRET = 24
LOWEST_OPEN, HIGHEST_OPEN = 16, 88  # MIDI: below a bass's low B, above a ukulele's high A


@dataclass(frozen=True, kw_only=True, slots=True)
class HeardVoicing:
    """One reading of a stretch: a grip, what sounds with it (low to high), and how sure.

    confidence: 0 to 1; of the first readings said with 0.9, nine in ten have the right notes.
    """

    frets: Frets
    notes: tuple[int, ...]
    confidence: float


@dataclass(frozen=True, kw_only=True, slots=True)
class HeardSpan:
    """What sounds from `start` to `end` (seconds in the file).

    notes: of the best reading, low to high, each once; where no reading is left, what was heard
    note by note. voicings: best first, no two with the same notes unless only grips that were
    logged are ranked. silent: nothing sounds that could be told.
    """

    start: float
    end: float
    notes: tuple[int, ...]
    voicings: tuple[HeardVoicing, ...]
    silent: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class HeardNote:
    """One note of a single line: from `start` to `end` (seconds in the file), and how sure (0-1).

    midi: the note, in the tuning of the recording as a whole; cents: how far from it the middle of
    what is sung or played lies.
    """

    start: float
    end: float
    midi: int
    cents: float
    confidence: float


@dataclass(frozen=True, kw_only=True, slots=True)
class AskedHearing:
    """What a recording is heard for, checked: spans, open strings, capo, and grips to choose from.

    `logged` is None where any playable grip may be heard.
    """

    spans: tuple[tuple[float, float], ...]
    open_strings: tuple[int, ...]
    capo: int
    logged: tuple[Frets, ...] | None


def asked_for(
    spans: Sequence[tuple[float, float]],
    open_strings: Sequence[int],
    capo: int,
    logged: Sequence[Sequence[int | None]] | None,
    seconds: float,
) -> AskedHearing:
    """Check what is asked of a recording of that length; raises ListeningError.

    A span may stand over the end of the file by a tenth of a second, which rounding does.
    """
    strings = tuple(_whole(note, "an open string") for note in open_strings)
    if not 1 <= len(strings) <= MOST_STRINGS:
        raise ListeningError(
            f"{len(strings)} open strings were given" if strings else "no open strings were given",
            f"give the MIDI number of each of 1 to {MOST_STRINGS} strings, low to high",
        )
    for note in strings:
        if not LOWEST_OPEN <= note <= HIGHEST_OPEN:
            raise ListeningError(
                f"an open string cannot sound at MIDI number {note}",
                f"give numbers from {LOWEST_OPEN} to {HIGHEST_OPEN}, 40 being a guitar's low E",
            )
    capo = _whole(capo, "the capo")
    if not 0 <= capo < LAST_FRET:
        raise ListeningError(
            f"a capo cannot be at fret {capo}", f"give a fret from 0 (none) to {LAST_FRET - 1}"
        )
    grips = None if logged is None else tuple(_grip(g, len(strings), capo) for g in logged)
    return AskedHearing(
        spans=_checked_spans(spans, seconds), open_strings=strings, capo=capo, logged=grips
    )


def _whole(value: object, what: str) -> int:
    try:
        return index(value)  # type: ignore[arg-type]
    except TypeError:
        raise ListeningError(
            f"{what} was given as {value!r}", "give a whole number, as MIDI and frets are counted"
        ) from None


def _checked_spans(
    spans: Sequence[tuple[float, float]], seconds: float
) -> tuple[tuple[float, float], ...]:
    out: list[tuple[float, float]] = []
    for number, span in enumerate(spans, 1):
        try:
            start, end = (float(value) for value in span)
        except (TypeError, ValueError):
            raise ListeningError(
                f"span {number} is not a start and an end", "give two times in seconds"
            ) from None
        where = f"span {number} ({start:g} to {end:g} s)"
        if not (isfinite(start) and isfinite(end)) or end <= start:
            raise ListeningError(f"{where} has no length", "give its start before its end")
        if start < -0.05 or end > seconds + 0.1:
            raise ListeningError(
                f"{where} is not within the file, which has {seconds:.2f} s",
                "give spans inside the file, in seconds from its start",
            )
        if out and start < out[-1][1] - 0.05:
            raise ListeningError(
                f"{where} begins before the span before it has ended",
                "give the spans in order and apart",
            )
        out.append((start, end))
    return tuple(out)


def _grip(frets: Sequence[int | None], strings: int, capo: int) -> Frets:
    text = " ".join("x" if f is None else str(f) for f in frets)
    if len(frets) != strings:
        raise ListeningError(
            f"the logged grip {text} has {len(frets)} strings where there are {strings}",
            "give a fret, 0 or None for every string",
        )
    grip = tuple(None if f is None else _whole(f, "a fret") for f in frets)
    if all(f is None for f in grip):
        raise ListeningError(f"the logged grip {text} plays no string", "give one string a fret")
    for fret in grip:
        if fret is not None and not (fret == 0 or capo < fret <= LAST_FRET):
            raise ListeningError(
                f"fret {fret} of the logged grip {text} cannot be held with a capo at {capo}",
                f"give 0 for an open string, or a fret from {capo + 1} to {LAST_FRET} from the nut",
            )
    return grip


def sounding(frets: Frets, open_strings: Sequence[int], capo: int) -> tuple[int, ...]:
    """MIDI numbers that sound, each once, low to high: open pitch + max(capo, fret)."""
    pairs = zip(open_strings, frets, strict=True)
    return tuple(sorted({note + max(capo, fret) for note, fret in pairs if fret is not None}))
