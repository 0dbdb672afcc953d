"""People, what they did, and what share of a song is theirs."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction

from logbook.records.fields import needed, noted, written


@dataclass(frozen=True, kw_only=True)
class Person:
    """Somebody (or, for a publisher, some firm) the log names.

    `name` is what the log calls them and is unique; `credited_as` is the name on the sleeve,
    `full_name` the one in the papers. Identifiers are stored plain, without separators. `kind` is
    "person", "organisation" or empty. `low` and `high` are a singer's lowest and highest
    comfortable notes ("A3", "D5").
    """

    name: str = field(metadata=needed("what the log calls them", "Ada Fenrush", "name"))
    full_name: str = written("", "the name in the papers", "Adelaide Fenrush", "text")
    credited_as: str = written("", "the name on the sleeve", "Ada Fenrush", "text")
    kind: str = written(
        "", "person or organisation", "organisation", lambda on: on.one_of("person", "organisation")
    )
    other_names: tuple[str, ...] = written(
        (), "other names they go by", "A. Fenrush", "texts", write="list", many=True
    )
    isni: str = written(
        "",
        "name identifier (ISO 27729), with or without spaces",
        "0000 0002 1825 0097",
        lambda on: on.through(on.read_isni),
    )
    ipi: str = written("", "IPI name number", "00000000199", lambda on: on.through(on.read_ipi))
    low: str = written(
        "", "a singer's lowest comfortable note", "A3", lambda on: on.checked(on.name_to_midi)
    )
    high: str = written(
        "", "a singer's highest comfortable note", "D5", lambda on: on.checked(on.name_to_midi)
    )
    notes: str = noted()


@dataclass(frozen=True, kw_only=True)
class Role:
    """What a person did on the song, version, session or part this stands in.

    `person` names a Person; `role` is a word of the trade ("engineer"); `instrument` says
    with what, for a performer. `billing` is how they are named: "featured", "contracted",
    "uncredited" or empty.
    """

    person: str = field(
        metadata=needed("who", "Ada Fenrush", lambda on: on.known("person"), stored=">person")
    )
    role: str = field(metadata=needed("a word of the trade", "engineer", "_role_word"))
    instrument: str = written("", "with what, for a performer", "fiddle", "text")
    billing: str = written(
        "",
        "featured, contracted (plays for a fee, without a share) or uncredited",
        "featured",
        lambda on: on.one_of("featured", "contracted", "uncredited"),
    )
    notes: str = noted()


@dataclass(frozen=True, kw_only=True)
class Share:
    """A writer's or a publisher's share of a song, as an exact fraction from 0 to 1.

    `side` is "writer" or "publisher". `agreed_on` is an ISO date, `agreed_by` a note of who
    agreed: a record of what people said, not a contract.
    """

    person: str = field(
        metadata=needed("whose", "Ada Fenrush", lambda on: on.known("person"), stored=">person")
    )
    share: Fraction = field(
        metadata=needed(
            "how much of the whole, exactly", "1/2", "_share", write="str", stored="share"
        )
    )
    side: str = written("writer", "writer or publisher", "publisher", "_side")
    agreed_on: str = written("", "the day it was agreed", "2026-05-03", "iso_date")
    agreed_by: str = written("", "who agreed, in words", "both, at the boathouse table", "text")
    notes: str = noted()
