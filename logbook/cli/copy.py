"""`logbook copy`: voicings, charts, patterns and versions from one place to another."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated

import typer

from logbook.cli.apps import examples, new_app
from logbook.cli.log import changing, place_of
from logbook.cli.printing import say
from logbook.errors import LogbookError

if TYPE_CHECKING:
    from logbook.records import Part, Song, Version
    from logbook.store.changing import Change

app = new_app(
    "Copy voicings, a chart, patterns, words or a version to another part, version or song. "
    "Anything of the same name there is replaced; one undo takes all of it back.",
    examples=(
        "logbook copy voicings guitar high",
        "logbook copy chart guitar high --only B",
        "logbook copy version album live",
    ),
)

Source = Annotated[str, typer.Argument(metavar="FROM", help="The part it comes from.")]
Target = Annotated[str, typer.Argument(metavar="TO", help="The part it goes to.")]
SongName = Annotated[str, typer.Option("--song", metavar="NAME", help="The song it comes from.")]
VersionName = Annotated[
    str, typer.Option("--version", "-v", metavar="NAME", help="The version it comes from.")
]
ToSong = Annotated[str, typer.Option("--to-song", metavar="NAME", help="Another song to go to.")]
ToVersion = Annotated[
    str, typer.Option("--to-version", metavar="NAME", help="Another version to go to.")
]
Only = Annotated[
    list[str] | None,
    typer.Option("--only", metavar="SECTION", help="This section alone; give it for each."),
]


@dataclass(frozen=True)
class Ends:
    """Where something comes from and where it goes."""

    song: Song
    version: Version
    part: Part
    to_song: Song
    to_version: Version
    to_part: Part


@app.command("voicings", epilog=examples("logbook copy voicings guitar high --to-song 'New One'"))
def voicings(
    source: Source,
    target: Target,
    song: SongName = "",
    version: VersionName = "",
    to_song: ToSong = "",
    to_version: ToVersion = "",
) -> None:
    """Copy all voicings of a part."""
    from dataclasses import replace

    with changing() as (_, change):
        ends = _ends(change, source, target, song, version, to_song, to_version)
        counted = ends.part.counted if ends.part.counted != ends.to_part.counted else ""
        copied = [replace(v, counted=v.counted or counted) for v in ends.part.voicings]
        _put(change, ends, voicings=tuple(copied))
    say(f"copied {len(copied)} voicings of {source} to {_to(ends)}")


@app.command("patterns", epilog=examples("logbook copy patterns guitar high"))
def patterns(
    source: Source,
    target: Target,
    song: SongName = "",
    version: VersionName = "",
    to_song: ToSong = "",
    to_version: ToVersion = "",
) -> None:
    """Copy all patterns of a part."""
    with changing() as (_, change):
        ends = _ends(change, source, target, song, version, to_song, to_version)
        _put(change, ends, patterns=ends.part.patterns)
    say(f"copied {len(ends.part.patterns)} patterns of {source} to {_to(ends)}")


@app.command("chart", epilog=examples("logbook copy chart guitar high --only B"))
def chart(
    source: Source,
    target: Target,
    only: Only = None,
    song: SongName = "",
    version: VersionName = "",
    to_song: ToSong = "",
    to_version: ToVersion = "",
) -> None:
    """Copy a part's chart, with the voicings and patterns it names that are not there yet."""
    from logbook.records.same_again import chart_of, named_by

    with changing() as (_, change):
        ends = _ends(change, source, target, song, version, to_song, to_version)
        copied = chart_of(ends.part, ends.version.form, only or ())
        new_voicings, new_patterns = named_by(copied, ends.part, ends.to_part)
        _put(change, ends, voicings=new_voicings, patterns=new_patterns)
        _put(change, ends, chart=copied)
    where = f" in {' and '.join(only)}" if only else ""
    say(f"copied the chart of {source}{where} to {_to(ends)}")


@app.command("lyrics", epilog=examples("logbook copy lyrics album live"))
def lyrics(
    source: Annotated[str, typer.Argument(metavar="FROM", help="The version they come from.")],
    target: Annotated[str, typer.Argument(metavar="TO", help="The version they go to.")],
    song: SongName = "",
) -> None:
    """Copy a version's words to another, section by section."""
    from logbook.cli.printing import remark
    from logbook.records import Version
    from logbook.records.lyrics import words_for
    from logbook.store.finding import LogPlace
    from logbook.store.here import read_here
    from logbook.store.writing import put

    with changing() as (_, change):
        of = _song(change, song or read_here(change.connection).song)
        old, new = _version(of, source), _version(of, target)
        if old is new:
            raise LogbookError(
                f"{old.name} is both source and target", "name another version to copy to"
            )
        placed, lost = words_for(old.lyrics, old.form, new.form)
        put(change, Version(name=new.name, lyrics=placed), LogPlace(of.title), {"lyrics"})
    say(f"copied {len(placed)} lines of words of {old.name} to {new.name}, {of.title}")
    for each in lost:
        remark(f"{each.text!r} (bar {each.bar}) has no place in the form of {new.name}")


@app.command("version", epilog=examples("logbook copy version album live"))
def version(
    source: Annotated[str, typer.Argument(metavar="FROM", help="The version it comes from.")],
    name: Annotated[str, typer.Argument(metavar="NEW", help="What the new one is called.")],
    song: SongName = "",
    to_song: ToSong = "",
) -> None:
    """Copy a version with its parts, chords and charts, without takes, comps and files."""
    from logbook.records.same_again import copy_of_version
    from logbook.store.finding import LogPlace
    from logbook.store.here import read_here
    from logbook.store.writing import put

    with changing() as (_, change):
        here = read_here(change.connection)
        old_song = _song(change, song or here.song)
        old = next(e for e in old_song.versions if e.name == _named(source, old_song))
        new_song = _song(change, to_song) if to_song else old_song
        if any(each.name == name for each in new_song.versions):
            raise LogbookError(
                f"{new_song.title}: version {name} already exists", "give it another name"
            )
        put(change, copy_of_version(old, name), LogPlace(new_song.title))
    say(f"copied version {old.name} of {old_song.title} to {name} of {new_song.title}")


def _named(name: str, song: Song) -> str:
    from logbook.names import pick

    return pick(name, [each.name for each in song.versions], "version")


def _song(change: Change, name: str) -> Song:
    from logbook.store.finding import find
    from logbook.store.reading import read_one

    if not name:
        raise LogbookError("no song is named, and none is current", "name it with --song")
    row = read_one(change.connection, "song", find(change.connection, "song", name).id)
    assert row is not None
    song: Song = row.record
    return song


def _ends(
    change: Change,
    source: str,
    target: str,
    song: str,
    version: str,
    to_song: str,
    to_version: str,
) -> Ends:
    from logbook.names import pick
    from logbook.store.here import read_here

    here = read_here(change.connection)
    place = place_of(here, song, version)
    old_song = _song(change, place.song)
    old_version = _version(old_song, place.version if place.song == old_song.title else version)
    new_song = _song(change, to_song) if to_song else old_song
    fallback = to_version or ("" if to_song else old_version.name)
    new_version = _version(new_song, fallback)

    def part(of: Version, name: str) -> Part:
        chosen = pick(name, [each.name for each in of.parts], "part", f"logbook part add {name}")
        return next(each for each in of.parts if each.name == chosen)

    ends = Ends(
        old_song, old_version, part(old_version, source), new_song, new_version,
        part(new_version, target),
    )  # fmt: skip
    if ends.part is ends.to_part:
        raise LogbookError(
            f"{ends.part.name} is both source and target", "name another part to copy to"
        )
    return ends


def _version(song: Song, name: str) -> Version:
    if not name and len(song.versions) == 1:
        return song.versions[0]
    if not name:
        names = ", ".join(each.name for each in song.versions)
        raise LogbookError(
            f"it is not clear which version of {song.title} is meant",
            f"name it: {names}" if names else "add one with `logbook version add`",
        )
    return next(each for each in song.versions if each.name == _named(name, song))


def _put(change: Change, ends: Ends, **fields: object) -> None:
    from logbook.records import Part
    from logbook.store.finding import LogPlace
    from logbook.store.writing import put

    record = Part(name=ends.to_part.name, **fields)  # type: ignore[arg-type]
    put(change, record, LogPlace(ends.to_song.title, ends.to_version.name), set(fields))


def _to(ends: Ends) -> str:
    return f"{ends.to_part.name} of {ends.to_version.name}, {ends.to_song.title}"
