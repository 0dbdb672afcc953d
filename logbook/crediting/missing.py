"""What a credits sheet still lacks, each with what to do about it.

Asked for are those whom a sleeve and a collecting society want named (common practice, no
source): writers with their IPI name numbers and shares, a producer, whoever recorded, mixed and
mastered, and players with instrument and full name; and the numbers of song and recording.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Final

from logbook.crediting.heard import sessions_of
from logbook.crediting.identified import person_identifiers, song_identifiers
from logbook.crediting.lines import CREDITED, NOT_SAID, CreditLine
from logbook.crediting.people import Names, credited_name, has_full_name
from logbook.crediting.roles import PART, find_role, near_roles
from logbook.crediting.shares import ShareReport
from logbook.editing.words import listed
from logbook.names import fold
from logbook.records.log import Project
from logbook.records.people import Person
from logbook.records.places import Session
from logbook.records.songs import Song, Version

_AFTERWARDS: Final = frozenset({"mixer", "mastering engineer"})
_MOST_DAYS: Final = 3
_WANTED_ON_A_RECORDING: Final = ("producer", "engineer", "mixer", "mastering engineer")


@dataclass(frozen=True, kw_only=True, slots=True)
class Missing:
    """One thing that is missing or wrong: `kind` for programs, `what` and `remedy` for people."""

    kind: str
    what: str
    remedy: str = ""


def missing_things(
    song: Song,
    version: Version | None,
    project: Project | None,
    lines: Iterable[CreditLine],
    report: ShareReport,
    names: Names,
    sessions: Iterable[Session] = (),
) -> tuple[Missing, ...]:
    """Return what is missing, in a fixed order: people and roles, shares, identifiers.

    `sessions` are all of the log: a day of mixing has no takes that say what it was for.
    """
    every = tuple(lines)
    credited = tuple(line for line in every if line.standing == CREDITED)
    return (
        *_missing_roles(credited, version, tuple(sessions)),
        *_unclear_roles(every),
        *_undecided(every),
        *_players(credited, version),
        *_shares(song, credited, report, names),
        *_identifiers(song, version, project),
        *_people(credited),
    )


def _missing_roles(
    credited: tuple[CreditLine, ...], version: Version | None, sessions: tuple[Session, ...]
) -> Iterator[Missing]:
    """Yield the questions that no credited role answers."""
    made = {role.makes for line in credited if (role := find_role(line.role))}
    if "writer" not in made:
        yield Missing(kind="no writer", what="no writer is named", remedy="log who wrote the song")
    if version is None:
        return
    for wanted in _WANTED_ON_A_RECORDING:
        if wanted not in made:
            article = "an" if wanted[0] in "aeiou" else "a"
            at = "on the version or at its session"
            if days := _days_of(wanted, version, sessions):
                at = f"on the version, if {listed(days)} for it"
            yield Missing(
                kind=f"no {wanted}",
                what=f"no {wanted} is named",
                remedy=f"log {article} {wanted} {at}",
            )
    if "performer" not in made:
        yield Missing(
            kind="no performer",
            what="no performer is named",
            remedy="log who plays the parts, and which parts are heard",
        )


def _days_of(wanted: str, version: Version, sessions: tuple[Session, ...]) -> list[str]:
    """Say who did this on days of mixing and mastering alone, of which no take says for what."""
    takes_of = {fold(name) for name in sessions_of(version)}
    days = []
    for session in sessions:
        made = [
            (role.person, known.makes) for role in session.people if (known := find_role(role.role))
        ]
        if fold(session.name) not in takes_of and {each for _, each in made} <= _AFTERWARDS:
            days += [f"{who}'s work at {session.name} was" for who, each in made if each == wanted]
    return days[:_MOST_DAYS]


def _unclear_roles(lines: tuple[CreditLine, ...]) -> Iterator[Missing]:
    """Yield roles that nobody in the trade knows, or that stand where they cannot."""
    for line in lines:
        role = find_role(line.role)
        who = credited_name(line.person)
        if role is None:
            near = near_roles(line.role, line.where) or near_roles(line.role)
            yield Missing(
                kind="unknown role",
                what=f"{who}: no role is called {line.role!r}"
                if line.role
                else f"{who}: the role is empty",
                remedy=f"perhaps {' or '.join(near)}" if near else "write a role of the trade",
            )
        elif line.where not in role.places:
            yield Missing(
                kind="misplaced role",
                what=f"{who} is down as {role.word} on a {line.where}",
                remedy=f"put it on the {' or '.join(role.places)}",
            )


def _undecided(lines: tuple[CreditLine, ...]) -> Iterator[Missing]:
    """Yield what nobody said to be heard or not."""
    for line in lines:
        if line.standing != NOT_SAID:
            continue
        where = ", ".join(line.places)
        if line.where == PART:
            yield Missing(
                kind="not said whether heard",
                what=f"nobody said whether {credited_name(line.person)} is heard on {where}",
                remedy="say for the part whether it is in the final version",
            )
        else:
            yield Missing(
                kind="performer without part",
                what=f"{credited_name(line.person)} played at {where}, but plays no logged part",
                remedy="log the part, or put the role on the version",
            )


def _players(credited: tuple[CreditLine, ...], version: Version | None) -> Iterator[Missing]:
    """Yield players without full name or instrument, and heard parts without a player."""
    without_name = {
        fold(line.person.name): line.person
        for line in credited
        if line.role == "performer" and not has_full_name(line.person)
    }
    for key in sorted(without_name):
        yield Missing(
            kind="no full name",
            what=f"{credited_name(without_name[key])} plays, but has no full name in the log",
            remedy="log the full name",
        )
    for line in credited:
        if line.role == "performer" and not line.instrument:
            yield Missing(
                kind="no instrument",
                what=f"no instrument is named for {credited_name(line.person)}",
                remedy="log the instrument of the part or of the role",
            )
    for part in version.parts if version else ():
        if not part.player.strip() and part.heard is not False:
            yield Missing(
                kind="no player",
                what=f"nobody is named as the player of the part {part.name!r}",
                remedy="log its player",
            )


def _shares(
    song: Song, credited: tuple[CreditLine, ...], report: ShareReport, names: Names
) -> Iterator[Missing]:
    """Yield shares that make no whole, and writers without one."""
    for problem in report.problems:
        yield Missing(
            kind="shares not whole",
            what=problem,
            remedy="ask the writers what was agreed",
        )
    writers = [line for line in credited if _writes(line)]
    holders = {
        fold(names.person(share.person).name) for share in song.shares if share.side == "writer"
    }
    if writers and not holders:
        yield Missing(
            kind="no shares",
            what="no writer's share is logged",
            remedy="log what the writers agreed",
        )
        return
    without = {
        fold(line.person.name): line.person
        for line in writers
        if fold(line.person.name) not in holders
    }
    for key in sorted(without):
        yield Missing(
            kind="writer without share",
            what=f"{credited_name(without[key])} is a writer, but no share is logged",
            remedy="log the share, 0 if there is none",
        )


def _identifiers(song: Song, version: Version | None, project: Project | None) -> Iterator[Missing]:
    """Yield the numbers of song, recording and release that are missing or cannot be right."""
    if not song.iswc.strip():
        yield Missing(
            kind="no ISWC", what="the song has no ISWC", remedy="a collecting society gives it"
        )
    if version is not None and not version.isrc.strip():
        yield Missing(
            kind="no ISRC",
            what="the version has no ISRC",
            remedy="the owner of the recording gives it",
        )
    if project is not None and not project.barcode.strip():
        yield Missing(
            kind="no EAN", what="the release has no EAN or UPC", remedy="its publisher gives it"
        )
    for found in song_identifiers(song, version, project):
        if found.problem:
            yield Missing(kind=f"wrong {found.letters}", what=found.problem)


def _people(credited: tuple[CreditLine, ...]) -> Iterator[Missing]:
    """Yield writers without IPI name number, and numbers that are wrong or that two people have."""
    people: dict[str, Person] = {fold(line.person.name): line.person for line in credited}
    writers = {fold(line.person.name) for line in credited if _writes(line)}
    holders: dict[str, list[str]] = {}
    for key in sorted(people):
        person = people[key]
        if key in writers and not person.ipi.strip():
            yield Missing(
                kind="no IPI",
                what=f"{credited_name(person)} is a writer without IPI name number",
                remedy="a writer's collecting society gives it",
            )
        for found in person_identifiers(person):
            if found.problem:
                yield Missing(
                    kind=f"wrong {found.letters}", what=f"{credited_name(person)}: {found.problem}"
                )
            holders.setdefault(found.printed, []).append(credited_name(person))
    for printed, who in sorted(holders.items()):
        if len(who) > 1:
            yield Missing(
                kind="same identifier",
                what=f"{' and '.join(who)} have the same {printed}",
                remedy="one of them is wrong, or they are one person under two names",
            )


def _writes(line: CreditLine) -> bool:
    """Tell whether this line makes somebody a writer of the song."""
    role = find_role(line.role)
    return role is not None and role.makes == "writer"
