"""What is to stand in the tags of a song's files, worked out from its credits.

Conventions. Every file of a version gets its writers, ISRC, ISWC, tempo and key. A mix gets
everybody who is credited and its place on the release; a take or a finished part its own player,
and whoever worked on it: nobody who mixed or mastered did so on a take. No two files of a song get
one title: what tells them apart (session, microphone, else the file's name) is put to it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from logbook.audio.errors import AudioError, Reason
from logbook.audio.scanning import KnownFile, stat_known
from logbook.audio.tag_fields import Credit, FileTags, Performer, TagError
from logbook.audio.tagging import TagPlan, WrittenTags, plan_tags, write_copy, write_in_place
from logbook.crediting.credits import Credits, credits_of_version
from logbook.crediting.lines import CreditLine
from logbook.crediting.people import credited_name
from logbook.crediting.roles import PART, SESSION
from logbook.errors import LogbookError
from logbook.importing.file_facts import FACTS, record_of
from logbook.importing.file_index import digest_at
from logbook.names import fold
from logbook.records import AudioFile, Log, Part, Project, Song, Take, Version
from logbook.records.context import by_name, exact
from logbook.store.changing import Change
from logbook.store.file_rows import FileChange, change_files, read_files
from logbook.theory.keys import parse_key

_WRITING = ("writer", "composer", "lyricist")
_AFTERWARDS = ("mixer", "assistant mixer", "mastering engineer", "mastering assistant")


@dataclass(frozen=True, kw_only=True, slots=True)
class ToTag:
    """One file with what is to stand in it; `hangs_on` says what it is, `part` which
    part (empty: a mix), `notes` what to know."""

    file: AudioFile
    tags: FileTags
    hangs_on: str
    part: str = ""
    notes: tuple[str, ...] = ()

    @property
    def place(self) -> Path:
        """Where it lies."""
        return Path(self.file.folder, self.file.path)


@dataclass(frozen=True, slots=True)
class _On:
    """What a file attach-alls on: a take of a part, a part, or the whole version."""

    part: Part | None = None
    take: Take | None = None


def files_to_tag(log: Log, song: Song, versions: Iterable[Version]) -> Iterator[ToTag]:
    """Yield every file of these versions with its tags: mixes first, then part by part."""
    for version in versions:
        project = _project(log, song, version)
        credits = credits_of_version(log, song, version, project)
        titles = _titles(song, version)
        for on, files in _held(version):
            for file in files:
                notes: list[str] = []
                tags = _tags(log, song, version, project, credits, on, notes)
                tags = replace(tags, title=next(titles))
                yield ToTag(
                    file=file,
                    tags=tags,
                    hangs_on=_owner_label(song, version, on),
                    part=on.part.name if on.part else "",
                    notes=tuple(notes),
                )


def _project(log: Log, song: Song, version: Version) -> Project | None:
    """The first release the version is on."""
    return next(
        (
            project
            for project in log.projects
            for track in project.tracks
            if (track.song, track.version) == (song.title, version.name)
        ),
        None,
    )


def _held(version: Version) -> Iterator[tuple[_On, tuple[AudioFile, ...]]]:
    yield _On(), version.files
    for part in version.parts:
        yield _On(part), part.files
        for take in part.takes:
            yield _On(part, take), take.files


def _owner_label(song: Song, version: Version, on: _On) -> str:
    names = [song.title, version.name]
    if on.part is None:
        return ", ".join([*names, "mix"])
    names.append(on.part.name)
    return ", ".join([*names, f"take {on.take.number}" if on.take else "finished"])


def _titles(song: Song, version: Version) -> Iterator[str]:
    """The title of each file that the version holds, in their order; no two are the same."""
    held = [(on, file) for on, files in _held(version) for file in files]
    plain = [_words(song, version, on) for on, _ in held]
    hints = [
        (
            on.take.session if on.take else "",
            file.microphone,
            Path(file.path).stem,
            file.path,
            file.folder,
        )
        for on, file in held
    ]
    taken: set[str] = set()
    for place in range(len(held)):
        alike = [n for n in range(len(held)) if n != place and plain[n] == plain[place]]
        words = list(plain[place])
        for level, hint in enumerate(hints[place]):
            # Only what tells it from another file is said.
            others = [n for n in alike if hints[n][level] != hint]
            if alike and hint and others:
                words.append(hint)
                alike = [n for n in alike if n not in others]
        title = f"{song.title} ({', '.join(words)})" if words else song.title
        number, unique = 2, title
        while unique.casefold() in taken:
            unique, number = f"{title} ({number})", number + 1
        taken.add(unique.casefold())
        yield unique


def _words(song: Song, version: Version, on: _On) -> tuple[str, ...]:
    """What a title says in brackets: version, part and take."""
    names = [version.name] if len(song.versions) > 1 else []
    if on.part is not None:
        names.append(on.part.name)
    if on.take is not None:
        names.append(f"take {on.take.number}")
    return tuple(names)


def _tags(
    log: Log,
    song: Song,
    version: Version,
    project: Project | None,
    credits: Credits,
    on: _On,
    notes: list[str],
) -> FileTags:
    lines = tuple(_lines(credits, on))
    others = [each for each in lines if each.role not in (*_WRITING, "performer", "main artist")]
    tags = FileTags(
        album=project.title if project else "",
        iswc=song.iswc,
        artist=", ".join(_named(lines, "main artist")),
        writers=_named(lines, "writer"),
        composers=_named(lines, "composer"),
        lyricists=_named(lines, "lyricist"),
        performers=tuple(
            Performer(credited_name(each.person), each.instrument)
            for each in lines
            if each.role == "performer"
        ),
        credits=tuple(Credit(each.role, credited_name(each.person)) for each in others),
        isrc=version.isrc,
    )
    if project is not None and on.part is None:
        tags = _on_release(tags, log, song, version, project, notes)
    return _with_music(tags, log, version, project, on, notes)


def _on_release(
    tags: FileTags, log: Log, song: Song, version: Version, project: Project, notes: list[str]
) -> FileTags:
    """Add a mix's place on the release, and what the release is."""
    tracks = [(track.song, track.version) for track in project.tracks]
    tags = replace(
        tags,
        album_artist=_album_artist(log, project),
        track=tracks.index((song.title, version.name)) + 1,
        tracks=len(tracks),
        barcode=project.barcode,
    )
    return _with(tags, lambda known: replace(known, release_date=project.date), notes)


def _album_artist(log: Log, project: Project) -> str:
    """Who the release is by: the main artist, where every track has the same."""
    artists = set()
    for track in project.tracks:
        song = by_title(log.songs, track.song)
        version = by_name(song.versions, track.version) if song else None
        if song is None or version is None:
            return ""
        lines = credits_of_version(log, song, version, project).lines
        artists.add(", ".join(_named(lines, "main artist")))
    return artists.pop() if len(artists) == 1 else ""


def by_title(songs: Iterable[Song], title: str) -> Song | None:
    """The song of this title, None where there is none."""
    return next((song for song in songs if song.title == title), None)


def _with_music(
    tags: FileTags,
    log: Log,
    version: Version,
    project: Project | None,
    on: _On,
    notes: list[str],
) -> FileTags:
    """Add date, tempo and key, those that a tag can hold."""
    date = version.date or (project.date if project else "")
    if on.take is not None:
        sessions = {session.name: session.date for session in log.sessions}
        date = sessions.get(on.take.session, "") or date
    tempo = exact(version.tempos[0].bpm) if version.tempos else None
    if len(version.tempos) > 1:
        notes.append("the tempo changes; the first one is written")
    tags = _with(tags, lambda known: replace(known, date=date), notes)
    tags = _with(tags, lambda known: replace(known, tempo_bpm=tempo), notes)
    return _with(tags, lambda known: replace(known, key=_key(version.key)), notes)


def _with(tags: FileTags, put: Callable[[FileTags], FileTags], notes: list[str]) -> FileTags:
    """The tags with one more thing, or as they are where no tag can hold it."""
    try:
        return put(tags)
    except TagError as error:
        notes.append(f"left out: {error}")
        return tags


def _key(text: str) -> str:
    """A key as tags write it; as it stands where it is not a major or minor key."""
    try:
        return parse_key(text).short if text else ""
    except LogbookError:
        return text


def _named(lines: Iterable[CreditLine], role: str) -> tuple[str, ...]:
    return tuple(credited_name(each.person) for each in lines if each.role == role)


def _lines(credits: Credits, on: _On) -> Iterator[CreditLine]:
    """The credits that belong to what a file attach-alls on."""
    if on.part is None:
        yield from credits.lines
        return
    for each in (*credits.lines, *credits.not_said, *credits.not_used):
        if each.role == "performer":
            if each.where == PART and on.part.name in each.places:
                yield each
        elif each.where == PART:
            if on.part.name in each.places:
                yield each
        elif each.where == SESSION:
            if on.take is None or on.take.session in each.places:
                yield each
        elif each.role not in _AFTERWARDS and each in credits.lines:
            yield each


def see(to_tag: ToTag) -> TagPlan:
    """Say what would change in a file. Raises `AudioError` where it cannot be tagged."""
    _known(to_tag)
    return plan_tags(to_tag.place, to_tag.tags)


def copy(to_tag: ToTag, folder: Path, name: str) -> WrittenTags:
    """Write a tagged copy at `name` inside `folder`. Raises `AudioError`; then there is none."""
    _known(to_tag)
    return write_copy(to_tag.place, folder, to_tag.tags, name=name)


def in_place(to_tag: ToTag) -> WrittenTags:
    """Write the tags into the file itself. Raises `AudioError`; then it is as it was."""
    _known(to_tag)
    return write_in_place(to_tag.place, to_tag.tags, within=to_tag.file.folder)


def _known(to_tag: ToTag) -> None:
    """Raise `AudioError` unless the file at the place is the one the log knows."""
    file, place = to_tag.file, to_tag.place
    there = stat_known(place) if file.folder else None
    if there is None:
        raise AudioError(
            place, Reason.UNREADABLE, "not there", "`logbook files` says which are missing"
        )
    if not file.digest:
        raise AudioError(place, Reason.UNREADABLE, "not read yet", "import it first")
    if (
        there != KnownFile(file.size or 0, file.modified or 0)
        and digest_at(str(place)) != file.digest
    ):
        raise AudioError(
            place,
            Reason.UNWRITABLE,
            "not the file that the log knows: its sound is another",
            "import its folder first",
        )


def names_of_copies(files: Iterable[ToTag]) -> list[str]:
    """Return each file's place inside the folder for copies; no two get the same."""
    names: list[str] = []
    taken: set[str] = set()
    for each in files:
        name = each.file.path
        if fold(name) in taken:
            name = f"{Path(each.file.folder).name or 'other'}/{name}"
        number = 2
        while fold(name) in taken:
            name = f"{number}/{each.file.path}"
            number += 1
        taken.add(fold(name))
        names.append(name)
    return names


def learn(change: Change, tagged: Iterable[ToTag]) -> None:
    """Let the log know of files that were tagged in place: their tags, sizes and dates."""
    from logbook.audio.reading import read_audio

    ids = {(line.folder, line.path): line.id for line in read_files(change.connection)}
    changes = []
    for each in tagged:
        info = read_audio(each.place)
        row_id = ids.get((each.file.folder, each.file.path))
        if row_id is not None and info.digest == each.file.digest:
            record = record_of(info, folder=each.file.folder, path=each.file.path)
            changes.append(FileChange(row_id, record, FACTS))
    change_files(change, changes)
