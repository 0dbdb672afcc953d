"""From the log to credit lines: who did what, on what, and whether it is heard.

What the log knows is not asked again. A writer's share makes a writer, a publisher's a publisher;
a player on a part that is heard is a performer with the part's instrument; whoever worked at a
session from which something is heard worked on the version. What was not used, and what nobody
decided, is kept in lines of its own standing and is never mixed with the credits.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Final

from logbook.crediting.heard import part_is_heard, sessions_of
from logbook.crediting.people import Names, credited_name
from logbook.crediting.roles import PART, SESSION, SONG, VERSION, find_role, sleeve_order
from logbook.names import fold
from logbook.records.people import Person, Role
from logbook.records.places import Instrument, Session
from logbook.records.songs import Song, Version

CREDITED: Final = "credited"
NOT_SAID: Final = "not said"
NOT_USED: Final = "not used"
_WIDE_FIRST: Final = (SONG, VERSION, SESSION, PART)
_NARROW_FIRST: Final = (PART, SESSION, VERSION, SONG)
_SHARES_COVERED_BY: Final = ("writer", "composer", "lyricist", "translator", "arranger")
_BY_HEARD: Final = {True: CREDITED, None: NOT_SAID, False: NOT_USED}


@dataclass(frozen=True, kw_only=True, slots=True)
class CreditLine:
    """One person in one role, with one instrument if it is played.

    `where` is the kind of thing the role stands on (song, version, session, part) and `places`
    the names of those things; `standing` is "credited", "not said" (nobody said whether it is
    heard) or "not used". `billing` is "featured", "contracted", "uncredited" or empty.
    """

    person: Person
    role: str
    instrument: str = ""
    where: str
    places: tuple[str, ...] = ()
    standing: str = CREDITED
    billing: str = ""


def credit_lines(
    song: Song,
    version: Version | None,
    people: Iterable[Person],
    instruments: Iterable[Instrument] = (),
    sessions: Iterable[Session] = (),
) -> tuple[CreditLine, ...]:
    """Return every line of a song (and of one version of it), merged and in sleeve order.

    Lines are ordered by standing, then as roles stand on a sleeve, then by the credited name in
    alphabetical order, which puts nobody first.
    """
    names = Names(people)
    kinds = {
        fold(instrument.name): instrument.kind or instrument.name for instrument in instruments
    }
    found = [*_song_lines(song, names)]
    if version is not None:
        found += [
            *_part_lines(version, names, kinds),
            *_version_lines(version, names, kinds),
            *_session_lines(version, sessions, names, kinds),
        ]
    return _merged(_without_bare_players(found))


def line_order(line: CreditLine) -> tuple[int, int, str, str, str, str]:
    """Return the key that puts lines in order."""
    return (
        (CREDITED, NOT_SAID, NOT_USED).index(line.standing),
        sleeve_order(line.role),
        line.role,
        fold(credited_name(line.person)),
        fold(line.person.name),
        fold(line.instrument),
    )


def _song_lines(song: Song, names: Names) -> Iterator[CreditLine]:
    """Yield the song's roles, and its writers and publishers by their shares.

    A share makes nobody a plain writer who is down for a writing role already.
    """
    lines = [_role_line(role, names, {}, SONG, song.title) for role in song.roles]
    yield from lines
    writing = {fold(line.person.name) for line in lines if line.role in _SHARES_COVERED_BY}
    for share in song.shares:
        person = names.person(share.person)
        if share.side == "publisher":
            yield CreditLine(person=person, role="publisher", where=SONG, places=(song.title,))
        elif fold(person.name) not in writing:
            yield CreditLine(person=person, role="writer", where=SONG, places=(song.title,))


def _version_lines(version: Version, names: Names, kinds: dict[str, str]) -> Iterator[CreditLine]:
    """Yield the version's roles; one who only plays what was not used goes with that."""
    played: dict[tuple[str, str], set[str]] = {}
    for line in _part_lines(version, names, kinds):
        if line.role == "performer":
            key = (fold(line.person.name), fold(line.instrument))
            played.setdefault(key, set()).add(line.standing)
    for role in version.roles:
        line = _role_line(role, names, kinds, VERSION, version.name)
        key = (fold(line.person.name), fold(line.instrument))
        if line.role == "performer" and played.get(key) == {NOT_USED}:
            line = replace(line, standing=NOT_USED)
        yield line


def _part_lines(version: Version, names: Names, kinds: dict[str, str]) -> Iterator[CreditLine]:
    """Yield each part's player as its performer, and the roles that stand on the part."""
    for part in version.parts:
        standing = _BY_HEARD[part_is_heard(part)]
        if part.player.strip():
            yield CreditLine(
                person=names.person(part.player),
                role="performer",
                instrument=_kind(part.instrument, kinds),
                where=PART,
                places=(part.name,),
                standing=standing,
            )
        for role in part.roles:
            line = _role_line(role, names, kinds, PART, part.name)
            if line.role == "performer" and not line.instrument:
                line = replace(line, instrument=_kind(part.instrument, kinds))
            yield replace(line, standing=standing)


def _session_lines(
    version: Version, sessions: Iterable[Session], names: Names, kinds: dict[str, str]
) -> Iterator[CreditLine]:
    """Yield who worked at the version's sessions; players there only by the parts they play."""
    heard = {fold(name): is_heard for name, is_heard in sessions_of(version).items()}
    players = {
        fold(line.person.name)
        for line in _part_lines(version, names, kinds)
        if line.role == "performer"
    }
    for session in sessions:
        key = fold(session.name)
        if key not in heard:
            continue
        for role in session.people:
            line = _role_line(role, names, kinds, SESSION, session.name)
            if line.role == "performer":
                if fold(line.person.name) not in players:
                    yield replace(line, standing=NOT_SAID)
            else:
                yield line if heard[key] else replace(line, standing=NOT_USED)


def _role_line(
    role: Role, names: Names, kinds: dict[str, str], where: str, place: str
) -> CreditLine:
    """Return the line that a logged role makes; a word not known stays as it was written."""
    known = find_role(role.role)
    return CreditLine(
        person=names.person(role.person),
        role=known.word if known else " ".join(role.role.split()),
        instrument=_kind(role.instrument, kinds),
        where=where,
        places=(place,),
        billing=role.billing,
    )


def _kind(instrument: str, kinds: dict[str, str]) -> str:
    """Return what kind of instrument it is, for the sleeve; without a record, its name."""
    return kinds.get(fold(instrument), " ".join(instrument.split()))


def _without_bare_players(lines: list[CreditLine]) -> Iterator[CreditLine]:
    """Leave out performers without an instrument who are credited with one anyway.

    A part without an instrument stays: that is a thing to ask about.
    """
    with_instrument = {
        fold(line.person.name)
        for line in lines
        if line.role == "performer" and line.instrument and line.standing == CREDITED
    }
    for line in lines:
        bare = line.role == "performer" and not line.instrument and line.where != PART
        if not (bare and fold(line.person.name) in with_instrument):
            yield line


def _merged(lines: Iterable[CreditLine]) -> tuple[CreditLine, ...]:
    """Return the lines with those of one person, role, instrument and standing made one.

    A merged line stands on the widest of the things named; a player's on the parts.
    """
    together: dict[tuple[str, str, str, str], list[CreditLine]] = {}
    for line in lines:
        key = (
            fold(line.person.name),
            line.role,
            fold(line.instrument),
            line.standing,
        )
        together.setdefault(key, []).append(line)
    merged = []
    for same in together.values():
        order = _NARROW_FIRST if same[0].role == "performer" else _WIDE_FIRST
        where = min((line.where for line in same), key=order.index)
        kept = [line for line in same if line.where == where]
        places = sorted({place for line in kept for place in line.places})
        spelling = min(line.instrument for line in same)
        billing = next((line.billing for line in same if line.billing), "")
        merged.append(
            replace(
                same[0], where=where, places=tuple(places), instrument=spelling, billing=billing
            )
        )
    return tuple(sorted(merged, key=line_order))
