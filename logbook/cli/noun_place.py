"""Where a noun's command works: which owner, and which record in it.

An owner is said by options (`--song`, `--part` ...), and what is not said is where `logbook here`
is. Names are found by an unambiguous beginning.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from logbook.cli.log import place_of
from logbook.cli.noun_owners import CHAINS, owners_of
from logbook.errors import LogbookError
from logbook.names import matches, none_called, several
from logbook.notebook.applying import StoreKnown, kind_of
from logbook.notebook.declare import Collection, Context, Noun, Record
from logbook.notebook.nouns import NOUNS
from logbook.store.finding import NAME_COLUMNS, NOWHERE, FoundRow, LogPlace, find, find_owner
from logbook.store.here import Here, read_here
from logbook.store.layout import SHAPES
from logbook.store.reading import read_one

if TYPE_CHECKING:
    from sqlalchemy import Connection


@dataclass(frozen=True, kw_only=True)
class Owner:
    """What a command works in: the owner's records outermost first, and where they are.

    `session` is the one that was said, to tell takes of one number apart.
    """

    word: str
    collection: Collection
    records: tuple[Record, ...]
    place: LogPlace
    found: FoundRow | None
    here: Here
    session: str = ""

    @property
    def siblings(self) -> tuple[Record, ...]:
        """The records of the noun that stand in the owner (none for the log itself)."""
        return getattr(self.records[-1], self.collection.attribute) if self.records else ()

    @property
    def titles(self) -> tuple[str, ...]:
        """What the owner and what it stands in are called."""
        nouns = [NOUNS[name] for name in CHAINS[self.word]]
        return tuple(noun.title_of(each) for noun, each in zip(nouns, self.records, strict=True))

    @property
    def listed(self) -> bool:
        """Whether the owner states these records as one list."""
        return SHAPES[kind_of(self.collection.noun)].listed

    def context(self, known: StoreKnown, folder: str = "") -> Context:
        """Return the context in which values of the noun are read."""
        return Context(known=known, owners=self.records, folder=folder, session=self.here.session)


def find_place(connection: Connection, word: str, whose: Mapping[str, str]) -> Owner:
    """Find what a noun's command works in, by what is said and where `here` is.

    Raises LogbookError where that is not clear.
    """
    owners = owners_of(word)
    owner = _which(word, owners, whose)
    here = read_here(connection)
    if owner == "log":
        return Owner(
            word=owner,
            collection=owners[owner],
            records=(),
            place=NOWHERE,
            found=None,
            here=here,
        )
    chain = CHAINS[owner]
    if chain[0] != "song":
        name = whose.get(owner, "") or (here.session if owner == "session" else "")
        if not name:
            raise LogbookError(f"no {owner} is named", f"say which, with --{owner} NAME")
        found = find(connection, kind_of(owner), name)
        record = _read(connection, found)
        words: dict[str, Any] = {owner: found.name}
        place = NOWHERE._replace(**words)
        return Owner(
            word=owner,
            collection=owners[owner],
            records=(record,),
            place=place,
            found=found,
            here=here,
        )
    return _in_song(connection, owner, owners[owner], whose, here)


def _which(word: str, owners: dict[str, Collection], whose: Mapping[str, str]) -> str:
    if len(owners) == 1:
        return next(iter(owners))
    for owner in ("take", "part", "version", "session", "song"):
        if owner in owners and whose.get(owner):
            return owner
    if "log" in owners:
        return "log"
    if set(owners) == {"session", "part"}:
        return "part"
    names = ", ".join(f"--{owner}" for owner in owners)
    raise LogbookError(
        f"it is not clear what the {word} belongs to", f"name it with one of {names}"
    )


def _in_song(
    connection: Connection, owner: str, collection: Collection, whose: Mapping[str, str], here: Here
) -> Owner:
    names = {name: whose.get(name, "") for name in ("song", "version", "part", "session")}
    if names["song"]:
        names["song"] = find(connection, "song", names["song"]).name
    if not (names["song"] or here.song):
        raise LogbookError(
            "no song is named, and none is current",
            "name it with --song, or say where you are with logbook here SONG",
        )
    place = place_of(here, names["song"], names["version"], names["part"], names["session"])
    records: list[Record] = []
    found: FoundRow | None = None
    full = NOWHERE
    for name in CHAINS[owner]:
        step: dict[str, Any] = {
            name: getattr(place, name) if name in names else whose.get(name, "")
        }
        if name == "take":
            number = _number(whose.get("take", ""))
            session = _session_of(records[-1].takes, str(number), whose.get("session", ""), here)
            step = {"take": number, "session": session}
        if name == "comp" and not step["comp"]:
            step["comp"] = _final(records[-1])
        found = find_owner(connection, name, full._replace(**step))
        if name == "song":
            records.append(_read(connection, found))
        elif name == "take":
            take = _read(connection, found)
            step["session"] = take.session
            records.append(take)
        else:
            inside = next(each for each in NOUNS[_above(name)].collections if each.noun == name)
            several = getattr(records[-1], inside.attribute)
            records.append(next(each for each in several if each.name == found.name))
        full = full._replace(**(step if name == "take" else {name: found.name}))
    return Owner(
        word=owner,
        collection=collection,
        records=tuple(records),
        place=full,
        found=found,
        here=here,
        session=whose.get("session", ""),
    )


def _above(name: str) -> str:
    return CHAINS[name][-2]


def _final(part: Record) -> str:
    """The comp that is meant where none is named: the final one, else the only one."""
    return next((each.name for each in part.comps if each.final), "")


def _number(text: str) -> int:
    if not text.isdecimal():
        raise LogbookError("it is not clear which take is meant", "name it with --take 3")
    return int(text)


def _read(connection: Connection, found: FoundRow) -> Record:
    row = read_one(connection, found.kind, found.id)
    if row is None:
        raise LogbookError(f"{found.name} is no longer in the log", "look again")
    return row.record


def find_record(
    connection: Connection, noun: Noun, owner: Owner, name: str
) -> tuple[Record, FoundRow | None]:
    """Find one of a noun's records by what a person calls it.

    The second is the row, where the noun's records are kept apart from their owner's list.
    """
    kind = kind_of(noun.word)
    if noun.word in ("song", "version", "part", "session"):
        name = name or getattr(owner.here, noun.word)
    if not name.strip():
        raise LogbookError(f"it is not clear which {noun.word} is meant", "name it")
    if kind in NAME_COLUMNS and not owner.listed:
        place = owner.place
        if kind == "take":
            session = _session_of(owner.siblings, name, owner.session, owner.here)
            place = place._replace(session=session)
        found = find(connection, kind, name, place)
        return _read(connection, found), found
    return _among(noun, owner.siblings, name), None


def _session_of(takes: tuple[Record, ...], number: str, whose: str, here: Here) -> str:
    """Return the session of the take that is meant: the one that is said, else the current one."""
    current = any((str(each.number), each.session) == (number, here.session) for each in takes)
    return whose or (here.session if current else "")


def _among(noun: Noun, siblings: tuple[Record, ...], name: str) -> Record:
    """Find a record by its title, its number in the list, or the beginning of what it is called."""
    called: list[tuple[str, Record]] = []
    for number, each in enumerate(siblings, 1):
        own = noun.title_of(each)
        called.append((own if noun.key else str(number), each))
        called.append((str(getattr(each, noun.fields[0].attributes[0])), each))
        if not noun.key:
            called.append((own, each))
    exact = [each for title, each in called if title == name]
    if len({id(each) for each in exact}) == 1:
        return exact[0]
    found = exact or [each for _, each in matches(name, called, called=lambda pair: pair[0])]
    if len({id(each) for each in found}) == 1:
        return found[0]
    if found:
        titles = list(dict.fromkeys(noun.title_of(each) for each in found))
        raise several(name, titles, noun.plural)
    titles = list(dict.fromkeys(title for title, _ in called))
    raise none_called(name, titles, noun.word)
