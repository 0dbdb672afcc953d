"""The page a line is written on: the records as they come to be, and what is to be answered.

Meaning functions change the page; nothing here knows a database. What a line needs and nobody has
said yet is made: the version of a new song, a part of it, the session of the day.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

from logbook.errors import LogbookError
from logbook.notebook.days import is_on
from logbook.notebook.lines.kinds import fold, kind_in
from logbook.notebook.lines.where import Where
from logbook.notebook.lines.words import one_named
from logbook.records import Instrument, Part, Person, Session, Song, Tuning, Version
from logbook.strings.instruments import KINDS
from logbook.strings.tunings import find_tuning, parse_tuning

FIRST_VERSION = "recording"
FIRST_PART = "guitar"


@dataclass(frozen=True, kw_only=True)
class Write:
    """One record to put into the log: what it stands in (song, version, part) and its fields.

    `given` None means a whole new record; with `renamed` the record only gets another name.
    """

    record: Any
    owner: tuple[str, ...] = ()
    given: frozenset[str] | None = None
    renamed: str = ""


@dataclass(frozen=True, kw_only=True)
class LineOutcome:
    """What a line comes to: what is written, where the work is now, and the answer."""

    writes: tuple[Write, ...]
    where: Where
    told: str
    sounds: str = ""
    made: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()


class Page:
    """The records around a line, changed one by one, with every change written down."""

    def __init__(
        self,
        where: Where,
        song: Callable[[str], Song | None] = lambda title: None,
        session: Callable[[str], Session | None] = lambda name: None,
    ) -> None:
        self.where = where
        self.find_song = song
        self.find_session = session
        self.writes: list[Write] = []
        self.told: list[str] = []
        self.sounds: list[str] = []
        self.made: list[str] = []
        self.warnings: list[str] = []

    def outcome(self) -> LineOutcome:
        """What the page has come to."""
        return LineOutcome(
            writes=tuple(self.writes),
            where=self.where,
            told="; ".join(self.told),
            sounds="; ".join(self.sounds),
            made=tuple(dict.fromkeys(self.made)),
            warnings=tuple(dict.fromkeys(self.warnings)),
        )

    # Where the work is

    def song(self) -> Song:
        """The current song. Raises LogbookError where none is named."""
        if self.where.song is None:
            raise LogbookError(
                "no song is named yet", "begin with a line such as song Saltpan Road"
            )
        return self.where.song

    def version(self) -> Version:
        """The current version; a song's first one is made when it is needed."""
        song = self.song()
        found = self.where.version_record
        if found is None and len(song.versions) > 1:
            names = ", ".join(each.name for each in song.versions)
            raise LogbookError(
                f"{song.title} has several versions", f"say which: version NAME ({names})"
            )
        if found is None:
            found = song.versions[0] if song.versions else Version(name=FIRST_VERSION)
            if not song.versions:
                self.new_version(found)
            self.where = self.where.with_version(found)
        return found

    def new_version(self, version: Version) -> None:
        """Write a new version and make it the current one."""
        self.write(version, (self.song().title,))
        self.where = self.where.with_version(version)

    def part(self) -> Part:
        """The current part; a version's first one is made when it is needed."""
        version = self.version()
        found = self.where.part_record
        if found is None and len(version.parts) > 1:
            names = ", ".join(each.name for each in version.parts)
            raise LogbookError("no part is current", f"say which: part NAME ({names})")
        if found is None:
            if version.parts:
                found = version.parts[0]
            else:
                found = Part(name=FIRST_PART)
                self.new_part(found)
            self.where = self.where.with_part(found)
        return found

    def new_part(self, part: Part) -> None:
        """Write a new part and make it the current one."""
        self.write(part, (self.song().title, self.version().name))
        self.where = self.where.with_part(part)
        self.made.append(f"part {part.name}")

    def session(self) -> Session:
        """The session that takes go into; a new day begins its own."""
        found, today = self.where.session, self.where.today
        if found is not None and (
            self.where.session_said or is_on(found.date, found.end_date, today)
        ):
            return found
        begun = self.find_session(today) or Session(name=today, date=today)
        if found is not None:
            self.warnings.append(
                f"{found.name} was on {found.date}, so this went into today's session {begun.name};"
                f" `session {found.name}` before it would log it there"
            )
        if begun.name not in self.where.sessions:
            self.write(begun)
            self.made.append(f"session {begun.name}")
        self.where = replace(self.where, session=begun, sessions=(*self.where.sessions, begun.name))
        return begun

    # Writing

    def write(self, record: Any, owner: tuple[str, ...] = (), *fields: str) -> None:
        """Write down that a record comes, or that these fields of it change."""
        self.writes.append(
            Write(record=record, owner=owner, given=frozenset(fields) if fields else None)
        )

    def change_song(self, **fields: Any) -> None:
        """Change fields of the current song."""
        song = replace(self.song(), **fields)
        self.write(Song(title=song.title, **fields), (), *fields)
        self.where = replace(self.where, song=song)

    def change_version(self, **fields: Any) -> None:
        """Change fields of the current version; lists are given whole."""
        version = self.version()
        self.write(Version(name=version.name, **fields), (self.song().title,), *fields)
        self.where = self.where.with_version(replace(version, **fields))

    def change_part(self, **fields: Any) -> None:
        """Change fields of the current part; lists are given whole, what is keyed is merged."""
        part = self.part()
        owner = (self.song().title, self.version().name)
        self.write(Part(name=part.name, **fields), owner, *fields)
        self.where = self.where.with_part(replace(part, **fields))

    def change_other(self, part: Part, **fields: Any) -> None:
        """Change fields of another part of the version."""
        owner = (self.song().title, self.version().name)
        self.write(Part(name=part.name, **fields), owner, *fields)
        current = self.where.part
        self.where = replace(self.where.with_part(replace(part, **fields)), part=current)

    @property
    def owner(self) -> tuple[str, str, str]:
        """What the current part's own things stand in."""
        return self.song().title, self.version().name, self.part().name

    # Things known by name

    def person(self, name: str) -> str:
        """The log's name for somebody; a new name is taken in and said."""
        if known := one_named(name, self.where.people):
            return known
        self.write(Person(name=name))
        self.where = replace(self.where, people=(*self.where.people, name))
        self.made.append(f"person {name}")
        return name

    def instrument(self, name: str, kind: str) -> str:
        """The log's name for an instrument; a new one is taken in, in its kind's usual tuning."""
        if known := one_named(name, [each.name for each in self.where.instruments]):
            return known
        known_kind = KINDS.get(kind)
        new = Instrument(
            name=name, kind=kind, tuning=self.tuning(known_kind.tuning) if known_kind else ""
        )
        self.write(new)
        self.where = replace(self.where, instruments=(*self.where.instruments, new))
        said = f"instrument {name}"
        if known_kind:
            said += f" ({kind} in {new.tuning} tuning)" if new.tuning != kind else f" ({kind})"
        self.made.append(said)
        return name

    def tuning(self, said: str) -> str:
        """The log's name for a tuning, usual or written out; a new one is taken in."""
        same = next((each for each in self.where.tunings if fold(each.name) == fold(said)), None)
        if same:
            return same.name
        if len(said.split()) > 3 and said[:1] in "ABCDEFG" and any(c.isdigit() for c in said):
            strung = parse_tuning(said)
            name = "".join(each.split("/")[0].rstrip("0123456789@") for each in said.split())
        else:
            strung = find_tuning(said)
            name = strung.name
        new = Tuning(name=name, strings=strung.text)
        if name not in [each.name for each in self.where.tunings]:
            self.write(new)
            self.where = replace(self.where, tunings=(*self.where.tunings, new))
        return name


def kind_of(*texts: str) -> str:
    """The kind of instrument that the first of these texts to name one speaks of."""
    return next((kind for text in texts if (kind := kind_in(text))), "")


def day_text(date: str) -> str:
    """A day as people say it: 2 May 2026; a year or month alone as it is."""
    if len(date) != 10:
        return date
    day = datetime.date.fromisoformat(date)
    return f"{day.day} {day:%B %Y}"
