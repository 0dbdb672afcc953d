"""What stands in the room: tunings, instruments, and the sessions themselves."""

from __future__ import annotations

from dataclasses import dataclass

from logbook.records.people import Role


@dataclass(frozen=True, kw_only=True)
class Tuning:
    """A string's open pitch for each string, low to high as strung ("D2 A2 D3 G3 A3 D4").

    `strings` keeps the written line, courses included; `a4_hz` and `offset_cents` say what
    the room was tuned to.
    """

    name: str
    strings: str
    a4_hz: float = 440.0
    offset_cents: float = 0.0
    notes: str = ""


@dataclass(frozen=True, kw_only=True)
class Instrument:
    """One physical instrument.

    `kind` is a plain word (guitar, mandolin, bass, voice ...); `scale_mm` the scale length in
    millimetres; `frets` the number of frets; `tuning` names the usual tuning; `transposition`
    is the written-minus-sounding distance in semitones (guitar 12, B-flat clarinet 2).
    """

    name: str
    kind: str = ""
    owner: str = ""
    strings: int | None = None
    scale_mm: float | None = None
    frets: int | None = None
    tuning: str = ""
    gauge: str = ""
    transposition: int | None = None
    notes: str = ""


@dataclass(frozen=True, kw_only=True)
class Session:
    """A day or block of work at a place.

    Dates are ISO ("2026-05-02"). `file_pattern` says how its recorder named files
    ("{part}_{take}"). `people` is who was there and what they did.
    """

    name: str
    date: str = ""
    end_date: str = ""
    place: str = ""
    gear: str = ""
    file_pattern: str = ""
    notes: str = ""
    people: tuple[Role, ...] = ()
