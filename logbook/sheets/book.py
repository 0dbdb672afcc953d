"""The book: the whole log as pages that link to each other, as plain data.

`plan_book` says which pages there are and what each depends on (its key); whoever writes the
book makes only those pages whose key is new, the first while others are still planned. A song has
a page for each of its sheets and one for its takes; releases, set lists, sessions, instruments and
people have one each; the index names them all, with words to search by.

Addresses are as in `book_names`; every page of a kind stands in that kind's folder.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from functools import cached_property
from hashlib import sha256
from typing import TYPE_CHECKING, NamedTuple

from logbook.plaintext import clean
from logbook.records.log import Log, Project
from logbook.records.songs import Song
from logbook.sheets.book_links import Link, Named, ThingPage
from logbook.sheets.book_names import addresses
from logbook.sheets.book_takes import takes_page, takes_path
from logbook.sheets.book_things import things_of
from logbook.sheets.book_words import words_in
from logbook.sheets.signs import with_signs

if TYPE_CHECKING:
    from logbook.sheets.play_data import Plays

FOLDERS = {
    "song": "songs",
    "release": "releases",
    "set list": "setlists",
    "session": "sessions",
    "instrument": "instruments",
    "person": "people",
}
INDEX = "index.html"


class IndexEntry(NamedTuple):
    """One line of the index: the page, what it is of, more about it, and words to search by."""

    link: Link
    kind: str
    words: str


class SongPages(NamedTuple):
    """What a song's pages are made from: a slice of the log, and the links they carry.

    `key` is the digest of all that; `paths` the page of each sheet; `plays` what pages that play
    have to know, None without recordings. `takes` is the page of its takes but for what stands
    in it, None without takes.
    """

    title: str
    log: Log
    paths: tuple[tuple[str, str], ...]
    related: tuple[Link, ...]
    key: str
    plays: Plays | None = None
    takes: ThingPage | None = None


IN_THE_BOOK = ("player", "lesson", "live", "credits")
"""The sheets of a song that have pages; its chart stands on the player's."""


class Book:
    """Every page of the book, and the index.

    Songs are planned one after another as they are asked for, and may be read as late as that;
    `things` and `entries` are what follows from all of them.
    """

    def __init__(
        self, rest: Log, titles: Iterable[str], songs: Iterable[Song], plays: Mapping[str, Plays]
    ) -> None:
        """`rest` is the log without its songs, `titles` what those are called."""
        self._rest = rest
        self._named = _named(rest, titles)
        self._coming = iter(songs)
        self._plays = plays
        self._read: list[Song] = []
        self._releases: dict[str, list[Project]] = {}
        for project in rest.projects:
            for title in dict.fromkeys(track.song for track in project.tracks):
                self._releases.setdefault(title, []).append(project)
        self._entries: list[IndexEntry] = []

    @property
    def count(self) -> int:
        """How many songs and other things there are, and the index."""
        return 1 + sum(map(len, self._named.pages.values()))

    @property
    def paths(self) -> Iterator[str]:
        """Where pages stand of which that is known beforehand: all but those of takes."""
        for kind, pages in self._named.pages.items():
            for path in pages.values():
                yield from (each for _, each in _sheet_paths(path)) if kind == "song" else (path,)
        yield INDEX

    def songs(self) -> Iterator[SongPages]:
        """Plan the pages of the songs that were not asked for before."""
        for song in self._coming:
            self._read.append(song)
            sliced = _slice(self._rest, song, self._releases.get(song.title, ()))
            pages = _song_pages(sliced, song, self._named, self._plays.get(song.title))
            self._entries.append(_song_entry(pages))
            yield pages

    @cached_property
    def things(self) -> tuple[ThingPage, ...]:
        """The pages of all that is not a song."""
        for _ in self.songs():
            pass
        return tuple(things_of(replace(self._rest, songs=tuple(self._read)), self._named))

    @cached_property
    def entries(self) -> tuple[IndexEntry, ...]:
        """The lines of the index."""
        things = self.things
        return (*self._entries, *map(_thing_entry, things))


def plan_book(log: Log, plays: Mapping[str, Plays] | None = None) -> Book:
    """Return what the book of a log is made of; `plays` has what songs that play have to know."""
    titles = [song.title for song in log.songs]
    return Book(replace(log, songs=()), titles, log.songs, plays or {})


def _named(log: Log, titles: Iterable[str]) -> Named:
    def pages(kind: str, names: Iterable[str], ending: str = ".html") -> Mapping[str, str]:
        folder = FOLDERS[kind]
        return {name: f"{folder}/{at}{ending}" for name, at in addresses(names).items()}

    return Named(
        {
            "song": pages("song", titles),
            "release": pages("release", (each.title for each in log.projects)),
            "set list": pages("set list", (each.name for each in log.setlists)),
            "session": pages("session", (each.name for each in log.sessions)),
            "instrument": pages("instrument", (each.name for each in log.instruments)),
            "person": pages("person", (each.name for each in log.people)),
        }
    )


# Songs


def _song_pages(sliced: Log, song: Song, named: Named, plays: Plays | None) -> SongPages:
    paths = _sheet_paths(named.pages["song"][song.title])
    related = tuple(_related(sliced, song, named))
    takes = takes_page(song, named, plays.recorded if plays else "")
    key = digest_of(sliced, paths, related, takes, *filter(None, (plays,)))
    return SongPages(song.title, sliced, paths, related, key, plays, takes)


def _sheet_paths(path: str) -> tuple[tuple[str, str], ...]:
    """The sheets of a song, each with where its page stands."""
    stem = path.removesuffix(".html")
    # Two underscores cannot come about in an address, so no other song's page is met.
    return tuple(
        (kind, path if kind == "player" else f"{stem}__{kind}.html") for kind in IN_THE_BOOK
    )


def digest_of(*values: object) -> str:
    """The digest of plain records: the same for equal ones, in every run."""
    return sha256(repr(values).encode("utf-8", "surrogatepass")).hexdigest()


def _slice(log: Log, song: Song, projects: Sequence[Project]) -> Log:
    """The part of a log that a song's sheets say something of; `projects` are what it is on."""
    people, instruments, sessions, tunings = _names_in(song)
    kept_sessions = tuple(each for each in log.sessions if each.name in sessions)
    people |= {role.person for session in kept_sessions for role in session.people}
    kept_instruments = tuple(each for each in log.instruments if each.name in instruments)
    tunings |= {each.tuning for each in kept_instruments}
    return replace(
        log,
        people=tuple(each for each in log.people if each.name in people),
        tunings=tuple(each for each in log.tunings if each.name in tunings),
        instruments=kept_instruments,
        sessions=kept_sessions,
        songs=(song,),
        projects=tuple(projects),
        setlists=(),
        files=(),
    )


def _names_in(song: Song) -> tuple[set[str], set[str], set[str], set[str]]:
    """The people, instruments, sessions and tunings that a song's records name."""
    people = {share.person for share in song.shares} | {role.person for role in song.roles}
    instruments: set[str] = set()
    sessions: set[str] = set()
    tunings: set[str] = set()
    for version in song.versions:
        people.update(role.person for role in version.roles)
        for part in version.parts:
            people.add(part.player)
            people.update(role.person for role in part.roles)
            instruments.add(part.instrument)
            tunings.add(part.tuning)
            sessions.update(take.session for take in part.takes)
            sessions.update(overdub.session for overdub in part.overdubs)
        for arrangement in version.arrangements:
            for arranged in arrangement.parts:
                people.add(arranged.player)
                instruments.add(arranged.instrument)
                tunings.add(arranged.tuning)
    return people, instruments, sessions, tunings


def _related(log: Log, song: Song, named: Named) -> Iterator[Link]:
    """Links from a song to the pages of what it names."""
    for session in log.sessions:
        yield from _there(named.link("session", session.name, "session"))
    used = {part.instrument for version in song.versions for part in version.parts}
    for instrument in log.instruments:
        if instrument.name in used:
            yield from _there(named.link("instrument", instrument.name, "instrument"))
    for person in log.people:
        yield from _there(named.link("person", person.name, "person"))
    for project in log.projects:
        yield from _there(named.link("release", project.title, "release"))
    if any(part.takes for version in song.versions for part in version.parts):
        yield Link(takes_path(named.pages["song"][song.title]), "Takes", "every take of the song")


def _there(link: Link | None) -> tuple[Link, ...]:
    return () if link is None else (link,)


# The index


def _thing_entry(thing: ThingPage) -> IndexEntry:
    words = " ".join([thing.title, *(text for _, text in thing.facts), thing.words])
    aside = next((text for label, text in thing.facts if label in ("kind", "date")), "")
    return IndexEntry(Link(thing.path, thing.title, aside), thing.kind, words)


def _song_entry(pages: SongPages) -> IndexEntry:
    (song,) = pages.log.songs
    keys = dict.fromkeys(version.key for version in song.versions if version.key)
    writers = [share.person for share in song.shares if share.side == "writer"]
    words = [song.title, *writers, song.iswc, *(link.text for link in pages.related)]
    for version in song.versions:
        words += [version.name, version.key, version.isrc]
        for part in version.parts:
            words += [part.name, part.tuning, *(f"capo {part.capo}" for _ in part.capo[:1])]
            words += [each.name or each.label for each in part.voicings]
        words += [each.name for each in version.arrangements]
    words += [project.title for project in pages.log.projects]
    words += [words_in(each) for each in (song, *pages.log.tunings)]
    said = clean(", ".join([*map(with_signs, keys), *writers]))
    seen = clean(" ".join(dict.fromkeys(filter(None, words))))
    return IndexEntry(Link(pages.paths[0][1], clean(song.title), said), "song", seen)
