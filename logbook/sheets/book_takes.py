"""Pages about takes, releases and set lists: what there is of each, and where it leads."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from logbook.plaintext import clean
from logbook.records.arrangements import SetList
from logbook.records.log import Project
from logbook.records.parts import Part, Take
from logbook.records.songs import Song, Version
from logbook.sheets.blocks import Block, Heading, Table
from logbook.sheets.book_links import Link, Named, ThingPage
from logbook.sheets.book_words import words_in
from logbook.sheets.releases import release_facts

TAKES = "takes"
_TAKES_HEAD = ("take", "result", "bars", "session", "punch-ins", "files", "notes")


def takes_path(song_path: str) -> str:
    """Where the page of a song's takes stands, from where its own page does."""
    return f"{song_path.removesuffix('.html')}__{TAKES}.html"


def takes_page(song: Song, named: Named, plays: str = "") -> ThingPage | None:
    """Return the page of a song's takes without what stands in it, None for a song without."""
    takes = [take for version in song.versions for part in version.parts for take in part.takes]
    if not takes:
        return None
    sessions = dict.fromkeys(take.session for take in takes)
    links: list[tuple[str, tuple[Link, ...]]] = []
    for heading, found in (
        ("Song", [named.link("song", song.title)]),
        ("Sessions", [named.link("session", name) for name in sessions]),
    ):
        there = tuple(link for link in found if link is not None)
        if there:
            links.append((heading, there))
    path = takes_path(named.pages["song"][song.title])
    return ThingPage(path, clean(song.title), TAKES, (), tuple(links), plays=plays)


def with_takes(page: ThingPage, song: Song) -> ThingPage:
    """Return the page with every take of every part in a row."""
    parts = [(version, part) for version in song.versions for part in version.parts if part.takes]
    several = len(song.versions) > 1
    blocks = [block for each in parts for block in _takes_of(*each, several=several)]
    pictures = tuple(
        photo for version in song.versions for part in version.parts for photo in part.photographs
    )
    if pictures:
        blocks.append(Heading(2, "Settings"))
    return page._replace(blocks=tuple(blocks), photographs=pictures)


def _takes_of(version: Version, part: Part, *, several: bool) -> tuple[Block, ...]:
    """A part's takes in a table without the columns that nothing stands in."""
    rows = [
        (
            str(take.number),
            take.result,
            take.bars,
            take.session,
            "; ".join(
                f"{each.bars} ({each.why})" if each.why else each.bars for each in take.punch_ins
            ),
            ", ".join(file.path for file in take.files),
            take.notes,
        )
        for take in part.takes
    ]
    kept = [at for at in range(len(_TAKES_HEAD)) if at == 0 or any(row[at] for row in rows)]
    heading = Heading(
        2,
        clean(f"{version.name}, {part.name}" if several else part.name),
        of_version=clean(version.name),
        about=clean(part.name),
    )
    table = Table(
        tuple(_TAKES_HEAD[at] for at in kept),
        tuple(tuple(clean(row[at]) for at in kept) for row in rows),
        takes=tuple(clean(name) for name in _names(part.takes)),
    )
    return heading, table


def _names(takes: Sequence[Take]) -> Iterator[str]:
    """Takes as a page that plays names them: with their session where the number is shared."""
    counts = Counter(take.number for take in takes)
    for take in takes:
        of = f" of {take.session}" if take.session and counts[take.number] > 1 else ""
        yield f"{take.number}{of}"


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
