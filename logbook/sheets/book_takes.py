"""Pages about takes, releases and set lists: what there is of each, and where it leads."""

from __future__ import annotations

from collections.abc import Iterator

from logbook.plaintext import clean
from logbook.records.arrangements import SetList
from logbook.records.log import Project
from logbook.records.parts import Take
from logbook.records.songs import Song
from logbook.sheets.blocks import Heading
from logbook.sheets.book_links import Link, Named, ThingPage
from logbook.sheets.book_words import words_in
from logbook.sheets.releases import release_facts

TAKES = "takes"


def takes_path(song_path: str) -> str:
    """Where the page of a song's takes stands, from where its own page does."""
    return f"{song_path.removesuffix('.html')}__{TAKES}.html"


def takes_pages(song: Song, named: Named) -> Iterator[ThingPage]:
    """Yield the page of a song's takes, where it has any: every take of every part in a line."""
    several = len(song.versions) > 1
    rows = []
    sessions: dict[str, None] = {}
    for version in song.versions:
        for part in version.parts:
            whose = f"{version.name}, {part.name}" if several else part.name
            for take in part.takes:
                rows.append((clean(f"{whose} {take.number}"), clean(_take_said(take))))
                sessions.setdefault(take.session)
    if not rows:
        return
    title = clean(song.title)
    links: list[tuple[str, tuple[Link, ...]]] = []
    for heading, found in (
        ("Song", [named.link("song", song.title)]),
        ("Sessions", [named.link("session", name) for name in sessions]),
    ):
        there = tuple(link for link in found if link is not None)
        if there:
            links.append((heading, there))
    path = takes_path(named.pages["song"][song.title])
    pictures = tuple(
        photo for version in song.versions for part in version.parts for photo in part.photographs
    )
    blocks = (Heading(2, "How it stood"),) if pictures else ()
    page = ThingPage(path, title, TAKES, tuple(rows), tuple(links))
    yield page._replace(blocks=blocks, photographs=pictures)


def _take_said(take: Take) -> str:
    punches = (
        f"punch-in {each.bars}" + (f" ({each.why})" if each.why else "") for each in take.punch_ins
    )
    files = (file.path for file in take.files)
    said = (
        take.result,
        f"bars {take.bars}" if take.bars else "",
        take.session,
        *punches,
        take.notes,
        *files,
    )
    return "; ".join(filter(None, said))


def release_page(project: Project, named: Named) -> ThingPage:
    """Return the page of a release: its label copy in facts, and its tracks in order."""
    facts = release_facts(project)
    tracks = (
        named.link("song", track.song, f"track {number}, {track.version}")
        for number, track in enumerate(project.tracks, start=1)
    )
    return _listed(
        named.pages["release"][project.title], project.title, "release", facts, "Tracks", tracks,
        words_in(project),
    )  # fmt: skip


def setlist_page(setlist: SetList, named: Named) -> ThingPage:
    """Return the page of a set list: when and where, and its songs in order."""
    facts = (("date", setlist.date), ("place", setlist.place), ("notes", setlist.notes))
    songs = (
        named.link(
            "song",
            entry.song,
            ", ".join(filter(None, (f"{number}", entry.version, entry.arrangement))),
        )
        for number, entry in enumerate(setlist.entries, start=1)
    )
    return _listed(
        named.pages["set list"][setlist.name], setlist.name, "set list", facts, "Songs", songs,
        words_in(setlist),
    )  # fmt: skip


def _listed(
    path: str,
    name: str,
    kind: str,
    facts: tuple[tuple[str, str], ...],
    heading: str,
    links: Iterator[Link | None],
    words: str,
) -> ThingPage:
    there = tuple(link for link in links if link is not None)
    return ThingPage(
        path,
        clean(name),
        kind,
        tuple((label, clean(text)) for label, text in facts if text),
        ((heading, there),) if there else (),
        words,
    )
