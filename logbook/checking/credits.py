"""Shares, identifiers and players: what the credits would get wrong."""

from __future__ import annotations

from collections.abc import Iterator

from logbook.checking.problem import MISSING, Problem
from logbook.crediting.heard import part_is_heard
from logbook.crediting.identified import person_identifiers, song_identifiers
from logbook.crediting.shares import check_shares
from logbook.records.log import Log
from logbook.records.songs import Song


def shares(_log: Log, song: Song) -> Iterator[Problem]:
    """Yield by how much the writers' and publishers' shares do not make a whole."""
    by_side = {
        side: [share.share for share in song.shares if share.side == side]
        for side in ("writer", "publisher")
    }
    report = check_shares(by_side["writer"], by_side["publisher"])
    for problem in report.problems:
        yield Problem(
            "shares",
            song.title,
            problem,
            report.convention,
            "ask what was agreed; who owns what is a lawyer's business, not a program's",
        )


def identifiers(log: Log, song: Song) -> Iterator[Problem]:
    """Yield identifiers of the song, its versions, releases and people that cannot be right."""
    wrong = [
        (song.title, found)
        for version in (None, *song.versions)
        for found in song_identifiers(song, version, None)
        if found.letters == ("ISRC" if version else "ISWC")
    ]
    for project in log.projects:
        if any(track.song == song.title for track in project.tracks):
            wrong += [
                (project.title, found)
                for found in song_identifiers(song, None, project)
                if found.letters == "EAN"
            ]
    named = _named(log, song)
    for person in log.people:
        if person.name in named:
            wrong += [(person.name, found) for found in person_identifiers(person)]
    for where, found in wrong:
        if found.problem:
            yield Problem(
                "identifier",
                where,
                found.problem,
                f"{found.letters} {found.stored} is in the log",
                "copy it again from where it was given",
            )


def players(log: Log, song: Song) -> Iterator[Problem]:
    """Yield people who play a part that nobody said is heard, and have no other role either."""
    for version in song.versions:
        roles = (*song.roles, *version.roles, *(r for part in version.parts for r in part.roles))
        credited = {role.person for role in roles}
        credited |= {part.player for part in version.parts if part_is_heard(part)}
        for part in version.parts:
            if part.player and part.player not in credited and part_is_heard(part) is None:
                yield Problem(
                    "player without role",
                    f"{song.title}, {version.name}, {part.name}",
                    f"{part.player} plays here, and has no role on the version",
                    "nobody said whether the part is heard, and no take is its keeper",
                    "rate a take as keeper, log the comp, or say whether the part is heard",
                    MISSING,
                )


def _named(log: Log, song: Song) -> set[str]:
    """Return the names of everybody who stands in the song."""
    named = {share.person for share in song.shares} | {role.person for role in song.roles}
    sessions = set()
    for version in song.versions:
        named |= {role.person for role in version.roles}
        for part in version.parts:
            named |= {part.player, *(role.person for role in part.roles)}
            sessions |= {take.session for take in part.takes}
    for session in log.sessions:
        if session.name in sessions:
            named |= {role.person for role in session.people}
    return named
