"""People, what they did, and what share of a song is theirs."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True, kw_only=True)
class Person:
    """Somebody (or, for a publisher, some firm) the log names.

    `name` is what the log calls them and is unique; `credited_as` is the name on the sleeve,
    `full_name` the one in the papers. Identifiers are stored plain, without separators.
    `low` and `high` are a singer's lowest and highest comfortable notes ("A3", "D5").
    """

    name: str
    full_name: str = ""
    credited_as: str = ""
    other_names: tuple[str, ...] = ()
    isni: str = ""
    ipi: str = ""
    low: str = ""
    high: str = ""
    notes: str = ""


@dataclass(frozen=True, kw_only=True)
class Role:
    """What a person did on the song, version, session or part this stands in.

    `person` names a Person; `role` is a word of the trade ("engineer"); `instrument` says
    with what, for a performer.
    """

    person: str
    role: str
    instrument: str = ""
    notes: str = ""


@dataclass(frozen=True, kw_only=True)
class Share:
    """A writer's or a publisher's share of a song, as an exact fraction from 0 to 1.

    `side` is "writer" or "publisher". `agreed_on` is an ISO date, `agreed_by` a note of who
    agreed: a record of what people said, not a contract.
    """

    person: str
    share: Fraction
    side: str = "writer"
    agreed_on: str = ""
    agreed_by: str = ""
    notes: str = ""
