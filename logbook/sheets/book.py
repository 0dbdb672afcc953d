"""The book: the whole log as pages that link to each other, as plain data.

`plan_book` says which pages there are and what each depends on (its key); whoever writes the
book makes only those pages whose key is new. A song has a page for each of its sheets and one
for its takes; releases, set lists, sessions, instruments and people have one each; the index names
them all, with words to search by.

Addresses are as in `book_names`; every page of a kind stands in that kind's folder.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from hashlib import sha256
from typing import TYPE_CHECKING, NamedTuple

from logbook.plaintext import clean
from logbook.records.log import Log
from logbook.records.songs import Song
from logbook.sheets.book_links import Link, Named, ThingPage
from logbook.sheets.book_names import addresses
from logbook.sheets.book_takes import TAKES, takes_path
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
    have to know, None without recordings.
    """

    title: str
    log: Log
    paths: tuple[tuple[str, str], ...]
    related: tuple[Link, ...]
    key: str
    plays: Plays | None = None


IN_THE_BOOK = ("player", "lesson", "live", "credits")
"""The sheets of a song that have pages; its chart stands on the player's."""


class Book(NamedTuple):
    """Every page of the book, and the index."""

    songs: tuple[SongPages, ...]
    things: tuple[ThingPage, ...]
    entries: tuple[IndexEntry, ...]


def plan_book(log: Log, plays: Mapping[str, Plays] | None = None) -> Book:
    """Return what the book of a log is made of; `plays` has what songs that play have to know."""
    named = _named(log)
    known = plays or {}
    songs = tuple(_song_pages(log, song, named, known.get(song.title)) for song in log.songs)
    things = tuple(things_of(log, named, known))
    return Book(songs, things, tuple(_entries(songs, things)))


def _named(log: Log) -> Named:
    def pages(kind: str, names: Iterable[str], ending: str = ".html") -> Mapping[str, str]:
        folder = FOLDERS[kind]
        return {name: f"{folder}/{at}{ending}" for name, at in addresses(names).items()}

    return Named(
        {
            "song": pages("song", (song.title for song in log.songs)),
            "release": pages("release", (each.title for each in log.projects)),
            "set list": pages("set list", (each.name for each in log.setlists)),
            "session": pages("session", (each.name for each in log.sessions)),
            "instrument": pages("instrument", (each.name for each in log.instruments)),
            "person": pages("person", (each.name for each in log.people)),
        }
    )


# Songs


def _song_pages(log: Log, song: Song, named: Named, plays: Plays | None = None) -> SongPages:
    sliced = _slice(log, song)
    path = named.pages["song"][song.title]
    stem = path.removesuffix(".html")
    # Two underscores cannot come about in an address, so no other song's page is met.
    paths = tuple(
        (kind, path if kind == "player" else f"{stem}__{kind}.html") for kind in IN_THE_BOOK
    )
    related = tuple(_related(sliced, song, named))
    key = digest_of(sliced, paths, related, *filter(None, (plays,)))
    return SongPages(song.title, sliced, paths, related, key, plays)


def digest_of(*values: object) -> str:
    """The digest of plain records: the same for equal ones, in every run."""
    return sha256(repr(values).encode("utf-8", "surrogatepass")).hexdigest()


def _slice(log: Log, song: Song) -> Log:
    """The part of a log that a song's sheets say something of."""
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
        projects=tuple(
            each for each in log.projects if any(t.song == song.title for t in each.tracks)
        ),
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


def _entries(songs: Iterable[SongPages], things: Iterable[ThingPage]) -> Iterator[IndexEntry]:
    for pages in songs:
        yield _song_entry(pages)
    for thing in things:
        facts = [text for _, text in thing.facts]
        if thing.kind == TAKES:
            continue  # the song's own line finds them
        words = " ".join([thing.title, *facts, thing.words])
        aside = next((text for label, text in thing.facts if label in ("kind", "date")), "")
        yield IndexEntry(Link(thing.path, thing.title, aside), thing.kind, words)


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
