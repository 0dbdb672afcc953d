"""The identifiers that a log holds, as the credits print them.

What is stored should be right, since it was read before it was stored. An older log or another
program may have written it all the same, so here a wrong one is printed as it stands, with what
is wrong about it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from logbook.crediting.errors import CreditError
from logbook.crediting.identifiers import (
    format_ean,
    format_ipi,
    format_isni,
    format_isrc,
    format_iswc,
)
from logbook.records.log import Project
from logbook.records.people import Person
from logbook.records.songs import Song, Version


@dataclass(frozen=True, kw_only=True, slots=True)
class Identified:
    """An identifier as printed.

    `letters` says which ("ISRC"), `stored` is the plain form, `printed` the standard's form with
    its letters; `problem` says why it cannot be right, and then `printed` is as it was written.
    """

    letters: str
    stored: str
    printed: str
    problem: str = ""


def song_identifiers(
    song: Song, version: Version | None, project: Project | None
) -> tuple[Identified, ...]:
    """Return the identifiers of song, recording and release, those that are logged."""
    found = (
        _identified("ISWC", song.iswc, format_iswc),
        _identified("ISRC", version.isrc if version else "", format_isrc),
        _identified("EAN", project.barcode if project else "", format_ean),
    )
    return tuple(one for one in found if one is not None)


def person_identifiers(person: Person) -> tuple[Identified, ...]:
    """Return a person's ISNI and IPI name number, those that are logged."""
    found = (
        _identified("ISNI", person.isni, format_isni),
        _identified("IPI", person.ipi, format_ipi),
    )
    return tuple(one for one in found if one is not None)


def _identified(letters: str, stored: str, printed: Callable[[str], str]) -> Identified | None:
    """Return one identifier, or None where nothing is logged."""
    if not stored.strip():
        return None
    try:
        return Identified(letters=letters, stored=stored, printed=printed(stored))
    except CreditError as error:
        return Identified(
            letters=letters, stored=stored, printed=f"{letters} {stored}", problem=str(error)
        )
