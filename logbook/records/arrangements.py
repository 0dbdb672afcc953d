"""Live and lesson plans made from a version, and set lists of them."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class ArrangedPart:
    """Who plays what in an arrangement.

    `part` names the version's part it comes from; empty fields stay as recorded. `way` is how
    the part gets to the new key: "same shapes", "retuned", "new shapes" or empty (the best one).
    `left_out` says the part is not played. `written_for` is a transposing instrument's pitch
    ("Bb", "Eb", "F", "octave", empty for concert).
    """

    part: str
    player: str = ""
    instrument: str = ""
    tuning: str = ""
    capo: str | None = None
    way: str = ""
    left_out: bool = False
    written_for: str = ""
    notes: str = ""


@dataclass(frozen=True, kw_only=True)
class ArrangedSection:
    """One section of the arranged form.

    `source` names the version's section (empty: newly written); `bars` its length (None: the
    source's); `times` how often it is played; a vamp goes round until the cue. `bpm` and `unit`
    set a tempo from here on (None: goes on), with `ramp` moving evenly to the next one. `moves`
    is what else is done with it, as the arranging room reads it ("up 2, rit 2 bars to 60").
    """

    name: str
    source: str = ""
    bars: int | None = None
    times: int = 1
    vamp: bool = False
    bpm: float | None = None
    unit: str = ""
    ramp: bool = False
    cue: str = ""
    moves: str = ""
    notes: str = ""


@dataclass(frozen=True, kw_only=True)
class Arrangement:
    """A plan made from the version it stands in; `name` is unique within that version.

    Empty `key`, None `bpm` and an empty `sections` mean: as on the record. `count_in_bars` is
    clicked before bar one.
    """

    name: str
    purpose: str = "live"
    key: str = ""
    bpm: float | None = None
    unit: str = ""
    count_in_bars: int = 1
    notes: str = ""
    sections: tuple[ArrangedSection, ...] = ()
    parts: tuple[ArrangedPart, ...] = ()


@dataclass(frozen=True, kw_only=True)
class SetListEntry:
    """One song of a set: which arrangement of which version.

    `place` is "opener", "closer" or empty; `with_next` keeps it together with the following one.
    An empty `arrangement` plays the version as recorded.
    """

    song: str
    version: str
    arrangement: str = ""
    place: str = ""
    with_next: bool = False
    notes: str = ""


@dataclass(frozen=True, kw_only=True)
class SetList:
    """Arrangements in the order they are played."""

    name: str
    date: str = ""
    place: str = ""
    notes: str = ""
    entries: tuple[SetListEntry, ...] = ()
