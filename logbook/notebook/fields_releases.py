"""Set lists and projects, as both doors say them.

Lines: a set list's entry is `Low Water / album / pub`, with `opener:` or `closer:` in front and
` +` behind where the next song stays with it; a project's track is `Low Water / album`.
"""

from __future__ import annotations

from typing import Any

from logbook.crediting.identifiers import read_ean
from logbook.crediting.rights import read_rights
from logbook.errors import LogbookError
from logbook.names import alike, pick
from logbook.notebook import values
from logbook.notebook.declare import Context, LineForm, Noun, Value, members_of
from logbook.records import Project, SetList, SetListEntry, Song, Track


def _song(value: Value, context: Context) -> str:
    return str(values.known("song")(value, context))


def _versions(song: Song | None) -> list[str]:
    return [each.name for each in song.versions] if song else []


def _version_of(title: str, name: str, context: Context) -> str:
    """Return the version that is meant; the only one where none is named."""
    song = context.known.find("song", title)
    names = _versions(song)
    if name:
        return pick(name, names, f"version of {title}")
    if len(names) == 1:
        return names[0]
    if not names:
        raise LogbookError(f"{values.shown(title)} has no version yet", "add one first")
    raise LogbookError(
        f"{values.shown(title)} has {len(names)} versions", f"say which: {', '.join(names[:6])}"
    )


def _version(value: Value, context: Context) -> str:
    entry = context.owners[-1]
    return _version_of(entry.song, values.text(value, context), context)


def _arrangement(value: Value, context: Context) -> str:
    entry = context.owners[-1]
    return _arrangement_of(entry.song, entry.version, values.text(value, context), context)


def _arrangement_of(title: str, version: str, name: str, context: Context) -> str:
    if not name:
        return ""
    song = context.known.find("song", title)
    found = next((each for each in song.versions if each.name == version), None) if song else None
    names = [each.name for each in found.arrangements] if found else []
    return pick(name, names, f"arrangement of {title}")


def _read_track(line: str, context: Context) -> dict[str, Any]:
    song, version = _split(line, context)
    return {"song": song, "version": _version_of(song, version, context)}


def _split(line: str, context: Context) -> tuple[str, str]:
    """A song's title and what follows it; a title may have strokes of its own."""
    pieces = [each.strip() for each in line.split(" / ")]
    for count in range(len(pieces), 1, -1):
        title = " / ".join(pieces[:count])
        if any(alike(title, known) for known in context.known.names("song")):
            return _song(title, context), " / ".join(pieces[count:])
    return _song(pieces[0], context), " / ".join(pieces[1:])


def _begins_with_a_title(line: str, context: Context) -> bool:
    """Whether a line names a known song as it stands, such as one called "Opener: Dusk"."""
    pieces = [each.strip() for each in line.split(" / ")]
    titles = [" / ".join(pieces[:count]) for count in range(len(pieces), 0, -1)]
    return any(alike(title, known) for title in titles for known in context.known.names("song"))


def _write_track(track: Track, context: Context) -> str | None:
    return f"{track.song} / {track.version}"


def _read_entry(line: str, context: Context) -> dict[str, Any]:
    body = line.strip()
    place = ""
    with_next = body.endswith(" +")
    body = body.removesuffix(" +")
    word, colon, after = body.partition(":")
    if (
        colon
        and word.casefold() in ("opener", "closer")
        and not _begins_with_a_title(body, context)
    ):
        place, body = word.casefold(), after.strip()
    song, rest = _split(body, context)
    record = context.known.find("song", song)
    if any(alike(rest, name) for name in _versions(record)):
        version, arrangement = rest, ""
    else:
        version, _, arrangement = rest.partition(" / ")
    version = _version_of(song, version.strip(), context)
    arrangement = arrangement.strip()
    return {
        "song": song,
        "version": version,
        "arrangement": _arrangement_of(song, version, arrangement, context),
        "place": place,
        "with_next": with_next,
    }


def _write_entry(entry: SetListEntry, context: Context) -> str | None:
    if entry.notes:
        return None
    names = [entry.song, entry.version] + ([entry.arrangement] if entry.arrangement else [])
    place = f"{entry.place}: " if entry.place else ""
    return place + " / ".join(names) + (" +" if entry.with_next else "")


TRACK = Noun(
    word="track",
    plural="tracks",
    record=Track,
    key=("song", "version"),
    help="a version's place on a release",
    members=members_of(Track, __name__),
    line=LineForm(
        read=_read_track,
        write=_write_track,
        form="SONG / VERSION",
        example="Low Water / album",
    ),
)

PROJECT = Noun(
    word="project",
    plural="projects",
    record=Project,
    key=("title",),
    help="a release or other body of work",
    members=members_of(Project, __name__),
)

SETLIST_ENTRY = Noun(
    word="setlist-entry",
    plural="setlist-entries",
    record=SetListEntry,
    key=(),
    needs=("song", "version"),
    help="one song of a set",
    members=members_of(SetListEntry, __name__),
    line=LineForm(
        read=_read_entry,
        write=_write_entry,
        form="[opener:] SONG / VERSION [/ ARRANGEMENT] [+]",
        example="opener: Low Water / album / pub",
    ),
)

SETLIST = Noun(
    word="setlist",
    plural="setlists",
    record=SetList,
    key=("name",),
    help="arrangements in the order they are played",
    members=members_of(SetList, __name__),
)
