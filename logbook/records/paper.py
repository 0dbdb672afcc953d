"""The studio's paper work of a session: what is plugged in where, and who worked when."""

from __future__ import annotations

from dataclasses import dataclass, field

from logbook.records.fields import needed, noted, written


@dataclass(frozen=True, kw_only=True)
class InputChannel:
    """One channel of a session's input list.

    `channel` is its number or name on the desk or the box ("3", "1-2" for a pair, "DI 1"); `pad`
    says pad and phantom power in words, `track` where it is recorded.
    """

    channel: str = field(metadata=needed("its number on the desk or the box", "3", "_channel"))
    source: str = field(metadata=needed("what is on it", "snare top", "name"))
    microphone: str = written("", "which microphone or line box", "small dynamic", "text")
    preamp: str = written("", "which preamp, and how far up", "rack 3, 40 dB", "text")
    pad: str = written("", "pad and phantom power", "20 dB, phantom off", "text")
    placed: str = written(
        "",
        "where the microphone stands",
        "two fingers over the rim",
        "text",
        key="position",
    )
    track: str = written("", "which track it is recorded on", "3", "text")
    notes: str = noted()


@dataclass(frozen=True, kw_only=True)
class Hours:
    """When somebody worked at a session.

    `started_at` is a day and a clock time ("2026-05-02 10:00", with a zone where that matters:
    "+02:00"), `ended_at` a clock time, which may be after midnight, or with its day; empty while
    nobody said.
    `breaks` are lengths or clock times with commas between ("13:00-13:45, 15 min").
    """

    person: str = field(
        metadata=needed("who", "Ada Fenrush", lambda on: on.known("person"), stored=">person")
    )
    started_at: str = field(
        metadata=needed("when they began", "2026-05-02 10:00", "_start", key="start")
    )
    ended_at: str = written("", "when they stopped", "18:30", "_end", key="end")
    breaks: str = written("", "their breaks", "13:00-13:45, 15 min", "_breaks")
    notes: str = noted()
