"""What a label wants to know of a recording and its release, and what of it is not logged.

Conventions. The display artist is the version's own, else its main artists; whoever is featured
stands behind it. (P) and (C) are the phonogram and copyright lines. What has to be known before a
release can go out (its artist, both lines, a date, the recording's language, genre, whether it is
explicit, its first publication, an ISRC) is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Final

from logbook.crediting.lines import CREDITED, CreditLine
from logbook.crediting.missing import Missing
from logbook.crediting.people import credited_name
from logbook.records.log import Project
from logbook.records.songs import Version

FEATURED: Final = "featured"
CONTRACTED: Final = "contracted"
UNCREDITED: Final = "uncredited"


def display_artist(version: Version, lines: Iterable[CreditLine]) -> str:
    """Return who a recording is by: "Ada Fenrush feat. Bo Tern"; empty where nobody said it."""
    credited = [line for line in lines if line.standing == CREDITED]
    main = [credited_name(line.person) for line in credited if line.role == "main artist"]
    artist = version.artist or " & ".join(dict.fromkeys(main))
    named = (credited_name(line.person) for line in credited if line.billing == FEATURED)
    featured = [name for name in dict.fromkeys(named) if name not in artist]
    if not artist or not featured or "feat." in artist:
        return artist
    return f"{artist} feat. {' & '.join(featured)}"


def recording_facts(version: Version, lines: Iterable[CreditLine]) -> tuple[tuple[str, str], ...]:
    """Return what is said of a recording for its label, as (what, said)."""
    every = tuple(lines)
    contracted = dict.fromkeys(
        credited_name(line.person) for line in every if line.billing == CONTRACTED
    )
    facts = (
        ("artist", display_artist(version, every)),
        ("language", version.language),
        ("genre", version.genre),
        ("explicit", version.explicit),
        ("published", version.published),
        ("(P)", version.phonogram),
        ("contracted", ", ".join(contracted)),
    )
    return tuple(fact for fact in facts if fact[1])


def release_facts(project: Project) -> tuple[tuple[str, str], ...]:
    """Return what is said of a release, as (what, said)."""
    facts = (
        ("artist", project.artist),
        ("date", project.date),
        ("genre", project.genre),
        ("(P)", project.phonogram),
        ("(C)", project.copyright),
    )
    return tuple(fact for fact in facts if fact[1])


def asked_by_a_label(
    version: Version, project: Project, lines: Iterable[CreditLine]
) -> Iterator[Missing]:
    """Yield what a label asks of a recording on a release that nobody has logged."""
    wanted = (
        ("display artist", display_artist(version, lines) or project.artist, "artist"),
        ("language", version.language, "language"),
        ("genre", version.genre or project.genre, "genre"),
        ("word on explicit or clean", version.explicit, "explicit"),
        ("date of first publication", version.published or project.date, "published"),
        ("phonogram line", version.phonogram or project.phonogram, "phonogram"),
        ("copyright line of the release", project.copyright, "copyright of the project"),
    )
    for what, said, field in wanted:
        if not said:
            yield Missing(kind=f"no {what}", what=f"no {what}", remedy=f"set its {field}")
