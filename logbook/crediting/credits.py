"""The credits of a song, of one of its versions, or of a release, worked out from the log.

This is plain data; `logbook.crediting.wording` says it in words, as CSV rows and for JSON.
Everything is merged and in an order that does not depend on the order of the log.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from logbook.crediting.errors import CreditError
from logbook.crediting.identified import Identified, song_identifiers
from logbook.crediting.label import (
    UNCREDITED,
    asked_by_a_label,
    recording_facts,
    release_facts,
)
from logbook.crediting.lines import CREDITED, NOT_SAID, NOT_USED, CreditLine, credit_lines
from logbook.crediting.missing import Missing, missing_things
from logbook.crediting.people import Names, credited_name
from logbook.crediting.shares import ShareReport, check_shares
from logbook.names import fold
from logbook.records.log import Log, Project
from logbook.records.people import Person, Share
from logbook.records.songs import Song, Version

STANDING: Final = (
    "This is a record of what people said, not a contract. Rights are the business of a lawyer "
    "or a collecting society."
)


@dataclass(frozen=True, kw_only=True, slots=True)
class HeldShare:
    """A share with the person who holds it."""

    person: Person
    share: Share


@dataclass(frozen=True, kw_only=True, slots=True)
class Credits:
    """Who gets named for one version of a song (or, where `version` is empty, for the song).

    `lines` are the credits; `not_used` are those whose part or session is not heard, `not_said`
    those of whom nobody said it, `uncredited` those who do not want to be named. `missing` is what
    is still to be asked, and `asked` what a label asks of a release besides. `facts` are those of
    the recording as (what, said), `release_facts` those of the release.
    """

    song: str
    version: str = ""
    date: str = ""
    release: str = ""
    identifiers: tuple[Identified, ...] = ()
    lines: tuple[CreditLine, ...] = ()
    not_used: tuple[CreditLine, ...] = ()
    not_said: tuple[CreditLine, ...] = ()
    shares: tuple[HeldShare, ...] = ()
    share_report: ShareReport
    missing: tuple[Missing, ...] = ()
    uncredited: tuple[CreditLine, ...] = ()
    facts: tuple[tuple[str, str], ...] = ()
    release_facts: tuple[tuple[str, str], ...] = ()
    asked: tuple[Missing, ...] = ()


def credits_of_version(
    log: Log, song: Song, version: Version | None, project: Project | None = None
) -> Credits:
    """Return the credits of one version of a song, or with None of the composition alone.

    `log` gives the people, instruments and sessions; `project` the release it is credited for.
    """
    names = Names(log.people)
    lines = credit_lines(song, version, log.people, log.instruments, log.sessions)
    shares = _held(song, names)
    report = check_shares(
        [held.share.share for held in shares if held.share.side != "publisher"],
        [held.share.share for held in shares if held.share.side == "publisher"],
    )
    return Credits(
        song=song.title,
        version=version.name if version else "",
        date=version.date if version else "",
        release=project.title if project else "",
        identifiers=song_identifiers(song, version, project),
        lines=tuple(
            line for line in lines if line.standing == CREDITED and line.billing != UNCREDITED
        ),
        uncredited=tuple(line for line in lines if line.billing == UNCREDITED),
        facts=recording_facts(version, lines) if version else (),
        release_facts=release_facts(project) if project else (),
        asked=tuple(asked_by_a_label(version, project, lines)) if version and project else (),
        not_used=tuple(line for line in lines if line.standing == NOT_USED),
        not_said=tuple(line for line in lines if line.standing == NOT_SAID),
        shares=shares,
        share_report=report,
        missing=missing_things(song, version, project, lines, report, names, log.sessions),
    )


def credits_of_song(log: Log, title: str) -> tuple[Credits, ...]:
    """Return the credits of every version of a song, in the log's order.

    A song without versions has those of the composition. Raises `CreditError` when no song has
    the title.
    """
    song = _song(log, title)
    if not song.versions:
        return (credits_of_version(log, song, None),)
    return tuple(credits_of_version(log, song, version) for version in song.versions)


def credits_of_project(log: Log, title: str) -> tuple[Credits, ...]:
    """Return the credits of every track of a project, in the order of its tracks.

    Raises `CreditError` when there is no such project, song or version.
    """
    for project in log.projects:
        if fold(project.title) == fold(title):
            break
    else:
        raise CreditError(f"No project is called {title!r}", _known(p.title for p in log.projects))
    found = []
    for track in project.tracks:
        song = _song(log, track.song)
        found.append(credits_of_version(log, song, _version(song, track.version), project))
    return tuple(found)


def _held(song: Song, names: Names) -> tuple[HeldShare, ...]:
    """Return the shares with their holders: writers first, the largest share first."""
    held = [HeldShare(person=names.person(share.person), share=share) for share in song.shares]
    return tuple(
        sorted(
            held,
            key=lambda one: (
                one.share.side == "publisher",
                -one.share.share,
                fold(credited_name(one.person)),
                fold(one.person.name),
                one.share.agreed_on,
                one.share.agreed_by,
                one.share.notes,
            ),
        )
    )


def _song(log: Log, title: str) -> Song:
    """Return the song with this title."""
    for song in log.songs:
        if fold(song.title) == fold(title):
            return song
    raise CreditError(f"No song is called {title!r}", _known(song.title for song in log.songs))


def _version(song: Song, name: str) -> Version:
    """Return the song's version with this name; the only one when no name is given."""
    if not name.strip() and len(song.versions) == 1:
        return song.versions[0]
    for version in song.versions:
        if fold(version.name) == fold(name):
            return version
    raise CreditError(
        f"{song.title!r} has no version called {name!r}",
        _known(version.name for version in song.versions),
    )


def _known(words: Iterable[str]) -> str:
    """Return what there is to choose from."""
    known = ", ".join(repr(word) for word in words)
    return f"the log has {known}" if known else "the log has none yet"
