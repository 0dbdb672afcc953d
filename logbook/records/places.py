"""What stands in the room: tunings, instruments, and the sessions themselves."""

from __future__ import annotations

from dataclasses import dataclass, field

from logbook.records.fields import holds, needed, noted, written
from logbook.records.paper import Hours, InputChannel
from logbook.records.people import Role
from logbook.records.recalls import Photograph, Recall


@dataclass(frozen=True, kw_only=True)
class Tuning:
    """A string's open pitch for each string, low to high as strung ("D2 A2 D3 G3 A3 D4").

    `strings` keeps the written line, courses included; `a4_hz` and `offset_cents` say what
    the room was tuned to.
    """

    name: str = field(metadata=needed("what it is called", "DADGAD", "name"))
    strings: str = field(
        metadata=needed(
            "open pitches, low to high; courses as E3/E2, a short string as G4@5",
            "D2 A2 D3 G3 A3 D4",
            "_strings",
        )
    )
    a4_hz: float = written(
        440.0, "what A4 is tuned to, in hertz", "442", "a4_hertz", key="a4", write="short"
    )
    offset_cents: float = written(
        0.0,
        "how far above A4 the instrument is tuned, in cents",
        "-15",
        "_cents",
        key="cents",
        write="short",
    )
    notes: str = noted()


@dataclass(frozen=True, kw_only=True)
class Instrument:
    """One physical instrument.

    `kind` is a plain word (guitar, mandolin, bass, voice ...); `scale_mm` the scale length in
    millimetres; `frets` the number of frets; `tuning` names the usual tuning; `transposition`
    is the written-minus-sounding distance in semitones (guitar 12, B-flat clarinet 2).
    """

    name: str = field(metadata=needed("what it is called", "the larch guitar", "name"))
    kind: str = written(
        "",
        "what it is: guitar, acoustic guitar, classical guitar, bass, mandolin, voice ...",
        "acoustic guitar",
        "_kind",
    )
    owner: str = written("", "whose it is", "Ada Fenrush", "text")
    strings: int | None = written(
        None, "how many strings (courses)", "6", lambda on: on.maybe(on.whole(1, 60))
    )
    scale_mm: float | None = written(
        None,
        "scale length in mm",
        "645",
        lambda on: on.maybe(on.number(50, 3000, "mm")),
        key="scale",
        write="short",
    )
    frets: int | None = written(None, "how many frets", "20", lambda on: on.maybe(on.whole(0, 36)))
    tuning: str = written(
        "", "its usual tuning, by name", "standard", "tuning_name", stored=">tuning"
    )
    gauge: str = written("", "string gauge", "12-53", "text")
    transposition: int | None = written(
        None,
        "written minus sounding pitch in semitones (guitar 12)",
        "12",
        lambda on: on.maybe(on.whole(-48, 48)),
    )
    notes: str = noted()


@dataclass(frozen=True, kw_only=True)
class Session:
    """A day or block of work at a place.

    Dates are ISO ("2026-05-02"). `file_pattern` says how its recorder named files
    ("{part}_{take}"). `people` is who was there and what they did, `inputs` its input list, `hours`
    who worked when; `recall` and `photographs` are how things stood.
    """

    name: str = field(metadata=needed("what it is called", "day one", "name"))
    date: str = written("", "its (first) day", "2026-05-02", "iso_date")
    end_date: str = written(
        "", "its last day, if it went on", "2026-05-03", "iso_date", key="until"
    )
    started_at: str = written(
        "",
        "when it began, with the time zone",
        "2026-05-02 10:00 +02:00",
        lambda on: on.through(on.read_moment),
        key="start",
    )
    ended_at: str = written(
        "",
        "when it was over, with the time zone",
        "2026-05-02 18:30 +02:00",
        lambda on: on.through(on.read_moment),
        key="end",
    )
    place: str = written("", "where", "the boathouse", "text")
    gear: str = written("", "gear notes", "two ribbons, one preamp", "text")
    file_pattern: str = written("", "how its recorder named files", "{part}_{take}", "text")
    notes: str = noted()
    people: tuple[Role, ...] = holds("role", "people role person")
    inputs: tuple[InputChannel, ...] = holds("input", "inputs input")
    hours: tuple[Hours, ...] = holds("hours", "hours")
    recall: tuple[Recall, ...] = holds("recall", "recall")
    photographs: tuple[Photograph, ...] = holds("photograph", "photographs photograph")
