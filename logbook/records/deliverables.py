"""What leaves the house of a version: masters, instrumentals, stems, and how far each has come."""

from __future__ import annotations

from dataclasses import dataclass, field

from logbook.records.fields import needed, noted, written

USUAL_KINDS = ("master", "instrumental", "a cappella", "TV track", "stems")
"""What is usually asked for, as it is called."""

VOICE_KINDS = ("instrumental", "a cappella", "TV track")
"""Those that only make sense where somebody sings."""

STATES = ("wanted", "in work", "ready", "delivered", "not wanted")


@dataclass(frozen=True, kw_only=True)
class Deliverable:
    """One thing to be handed over of the version it stands in.

    `kind` is one of `USUAL_KINDS` or a name of one's own, `mix` says which mix or revision of it.
    `files` are paths, of stems several. `delivered_on` is an ISO date.
    """

    kind: str = field(
        metadata=needed("master, instrumental, a cappella, TV track, stems ...", "stems", "_kind")
    )
    mix: str = written("", "which mix or revision of it it is", "3", "text")
    rate_hz: int | None = written(
        None,
        "sample rate in hertz",
        "48000",
        lambda on: on.maybe(on.sample_rate),
        key="rate",
    )
    depth_bits: int | None = written(
        None, "bits a sample", "24", lambda on: on.maybe(on.whole(1, 64, "bit")), key="depth"
    )
    status: str = written(
        "wanted",
        "wanted, in work, ready, delivered or not wanted",
        "ready",
        "_status",
        always=True,
    )
    delivered_to: str = written("", "who gets it", "Slack Water Records", "text", key="to")
    delivered_on: str = written("", "the day it went out", "2026-06-01", "iso_date", key="on")
    files: tuple[str, ...] = written(
        (), "its file; of stems each", "masters/low-water.wav", "_files", key="file", write="list",
        many=True,
    )  # fmt: skip
    notes: str = noted()
