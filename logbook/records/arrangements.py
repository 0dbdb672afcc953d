"""Live and lesson plans made from a version, and set lists of them."""

from __future__ import annotations

from dataclasses import dataclass, field

from logbook.records.fields import holds, needed, noted, written


@dataclass(frozen=True, kw_only=True)
class ArrangedPart:
    """Who plays what in an arrangement.

    `part` names the version's part it comes from; empty fields stay as recorded. `way` is how
    the part gets to the new key: "same shapes", "retuned", "new shapes" or empty (the best one).
    `left_out` says the part is not played. `written_for` is a transposing instrument's pitch
    ("Bb", "Eb", "F", "octave", empty for concert).
    """

    part: str = field(metadata=needed("the version's part", "guitar", "part_name", stored=">part"))
    player: str = written(
        "", "who plays it", "Ada Fenrush", lambda on: on.known("person"), stored=">person"
    )
    instrument: str = written(
        "",
        "on which instrument",
        "the larch guitar",
        lambda on: on.known("instrument"),
        stored=">instrument",
    )
    tuning: str = written("", "in which tuning", "standard", "tuning_name", stored=">tuning")
    capo: str | None = written(
        None, "with which capo, 0 for none (not said: as recorded)", "3", "_arranged_capo"
    )
    way: str = written(
        "",
        "how it gets to the new key",
        "same shapes",
        lambda on: on.one_of("same shapes", "retuned", "new shapes"),
    )
    left_out: bool = written(False, "not played", "true", "yes_no", flag=True)
    written_for: str = written(
        "", "a transposing instrument's pitch: Bb, Eb, F, octave", "Bb", "_written_for"
    )
    notes: str = noted()


@dataclass(frozen=True, kw_only=True)
class ArrangedSection:
    """One section of the arranged form.

    `source` names the version's section (empty: newly written); `bars` its length (None: the
    source's); `times` how often it is played; a vamp vamps till the cue. `bpm` and `unit`
    set a tempo from here on (None: goes on), with `ramp` moving evenly to the next one. `moves`
    is what else is done with it, as the arranging room reads it ("up 2, rit 2 bars to 60").
    """

    name: str = field(metadata=needed("what it is called", "chorus", "name"))
    source: str = written(
        "", "the version's section it comes from (empty: new)", "chorus", "_source_name"
    )
    bars: int | None = written(
        None,
        "its length (empty: as recorded)",
        "8",
        lambda on: on.maybe(on._bars),
        called="length",
    )
    times: int = written(1, "how often it is played", "2", "_times")
    vamp: bool = written(False, "vamps till the cue", "true", "yes_no", flag=True)
    bpm: float | None = written(
        None, "tempo from here on", "84", lambda on: on.maybe(on.read_bpm), write="short"
    )
    unit: str = written("", "the note value of a beat", "1/4", "read_unit")
    ramp: bool = written(False, "moves evenly to the next tempo", "true", "yes_no", flag=True)
    cue: str = written("", "what tells players to go on", "nod", "text")
    moves: str = written(
        "", "what else is done with it, separated by commas", "up 2, rit 2 bars to 60", "_moves"
    )
    notes: str = noted()


@dataclass(frozen=True, kw_only=True)
class Arrangement:
    """A plan made from the version it stands in; `name` is unique within that version.

    Empty `key`, None `bpm` and an empty `sections` mean: as on the record. `count_in_bars` is
    clicked before bar one.
    """

    name: str = field(metadata=needed("what it is called", "pub", "name"))
    purpose: str = written("live", "what it is for", "live", "text")
    key: str = written("", "its key (empty: as recorded)", "C", "key_name")
    bpm: float | None = written(
        None,
        "its tempo (empty: as recorded)",
        "84",
        lambda on: on.maybe(on.read_bpm),
        write="short",
    )
    unit: str = written("", "the note value of a beat", "1/4", "read_unit")
    count_in_bars: int = written(
        1, "bars clicked before bar one", "1", lambda on: on.whole(0, 16), key="count_in"
    )
    notes: str = noted()
    sections: tuple[ArrangedSection, ...] = holds(
        "arranged-section", "sections section form", whole=True
    )
    parts: tuple[ArrangedPart, ...] = holds("arranged-part", "parts part")


@dataclass(frozen=True, kw_only=True)
class SetListEntry:
    """One song of a set: which arrangement of which version.

    `place` is "opener", "closer" or empty; `with_next` keeps it together with the following one.
    An empty `arrangement` plays the version as recorded.
    """

    song: str = field(metadata=needed("which song", "Low Water", "_song", stored="song"))
    version: str = field(
        metadata=needed("which version of it", "album", "_version", stored=">version")
    )
    arrangement: str = written(
        "", "which arrangement (empty: as recorded)", "pub", "_arrangement", stored=">arrangement"
    )
    place: str = written(
        "",
        "opener or closer, where it has to be",
        "opener",
        lambda on: on.one_of("opener", "closer"),
    )
    with_next: bool = written(
        False, "stays together with the next one", "true", "yes_no", flag=True
    )
    notes: str = noted()


@dataclass(frozen=True, kw_only=True)
class SetList:
    """Arrangements in the order they are played."""

    name: str = field(metadata=needed("what it is called", "harbour fair", "name"))
    date: str = written("", "when", "2026-06-20", "iso_date")
    place: str = written("", "where", "the slipway", "text")
    notes: str = noted()
    entries: tuple[SetListEntry, ...] = holds(
        "setlist-entry", "songs song entries entry", whole=True
    )
