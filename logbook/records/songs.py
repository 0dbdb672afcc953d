"""Songs and their versions: key, meter, tempo, form."""

from __future__ import annotations

from dataclasses import dataclass

from logbook.records.arrangements import Arrangement
from logbook.records.files import AudioFile
from logbook.records.parts import Part
from logbook.records.people import Role, Share


@dataclass(frozen=True, kw_only=True)
class FormSection:
    """One section of the form: `start` is its first bar, `bars` its length in bars (> 0)."""

    name: str
    start: int
    bars: int
    notes: str = ""


@dataclass(frozen=True, kw_only=True)
class MeterChange:
    """A meter ("6/8") that holds from `bar` on."""

    bar: int
    meter: str


@dataclass(frozen=True, kw_only=True)
class TempoChange:
    """A tempo that holds from `bar` and `beat` on.

    `bpm` counts beats of `unit` a minute; `unit` is a note value as a fraction of a whole note
    ("1/4", "3/8") or empty for the meter's felt beat. `beat` counts from 1 and may be a fraction
    ("5/2"). A ramp glides to `ramp_bpm` beats of `ramp_unit` (empty: of `unit`), reached at the
    place `ramp_end` ("37", "36.3"); without one `ramp_bpm` is None.
    """

    bar: int
    bpm: float
    beat: str = "1"
    unit: str = ""
    ramp_bpm: float | None = None
    ramp_unit: str = ""
    ramp_end: str = ""


@dataclass(frozen=True, kw_only=True)
class Version:
    """One recorded or performed form of a song.

    `key` is the concert key ("Db", "Bb minor"); `pickup_beats` the length of a pick-up bar in
    beats of the first meter ("1", "3/2", empty for none), which is bar 0; `bar_one_at` the place
    of bar 1 on the recorder's clock ("10:02:15.5"), for placing files with a time reference;
    `a4_hz` the reference of the recording; `melody_low` and `melody_high` the sung range.
    `files` are mixes of the whole version; takes' files stand in the takes.
    """

    name: str
    key: str = ""
    pickup_beats: str = ""
    sample_rate_hz: int | None = None
    isrc: str = ""
    date: str = ""
    bar_one_at: str = ""
    a4_hz: float = 440.0
    melody_low: str = ""
    melody_high: str = ""
    notes: str = ""
    meters: tuple[MeterChange, ...] = ()
    tempos: tuple[TempoChange, ...] = ()
    form: tuple[FormSection, ...] = ()
    parts: tuple[Part, ...] = ()
    roles: tuple[Role, ...] = ()
    files: tuple[AudioFile, ...] = ()
    arrangements: tuple[Arrangement, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Song:
    """The composition: title (unique), writers and their shares, ISWC (stored plain)."""

    title: str
    iswc: str = ""
    notes: str = ""
    shares: tuple[Share, ...] = ()
    roles: tuple[Role, ...] = ()
    versions: tuple[Version, ...] = ()
