"""The whole log, or the slice of it that one song needs."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

from logbook.records.arrangements import SetList
from logbook.records.fields import holds, needed, noted, written
from logbook.records.files import AudioFile
from logbook.records.people import Person
from logbook.records.places import Instrument, Session, Tuning
from logbook.records.remarks import Remark
from logbook.records.songs import Song

if TYPE_CHECKING:
    from logbook.records.shared import SharedFile


@dataclass(frozen=True, kw_only=True)
class Track:
    """A version's place on a release."""

    song: str = field(metadata=needed("which song", "Low Water", "_song", stored="song"))
    version: str = field(
        metadata=needed("which version of it", "album", "_version", stored=">version")
    )


@dataclass(frozen=True, kw_only=True)
class Project:
    """A release or other body of work: title (unique), EAN or UPC (stored plain), tracks."""

    title: str = field(metadata=needed("its title", "Boathouse", "name"))
    barcode: str = written("", "EAN or UPC", "6 291041 500213", lambda on: on.through(on.read_ean))
    date: str = written("", "when it comes out", "2026-09-01", "iso_date")
    artist: str = written("", "who it is by, as it is displayed", "Ada Fenrush", "text")
    genre: str = written("", "its genre", "folk", "text")
    phonogram: str = written(
        "",
        "the phonogram line: year and owner of the recordings",
        "2026 Slack Water Records",
        lambda on: on.through(on.read_rights),
    )
    copyright: str = written(
        "",
        "the copyright line: year and owner of the release",
        "2026 Slack Water Records",
        lambda on: on.through(on.read_rights),
    )
    notes: str = noted()
    tracks: tuple[Track, ...] = holds("track", "tracks track", whole=True)


@dataclass(frozen=True, kw_only=True)
class Log:
    """Everything, or a slice: then people, tunings, instruments and sessions are those named."""

    people: tuple[Person, ...] = holds("person", "people person")
    tunings: tuple[Tuning, ...] = holds("tuning", "tunings tuning", labelled=True)
    instruments: tuple[Instrument, ...] = holds("instrument", "instruments instrument")
    sessions: tuple[Session, ...] = holds("session", "sessions session")
    songs: tuple[Song, ...] = holds("song", "songs song")
    projects: tuple[Project, ...] = holds("project", "projects project")
    setlists: tuple[SetList, ...] = holds("setlist", "setlists setlist")
    remarks: tuple[Remark, ...] = holds("remark", "remarks remark")
    files: tuple[AudioFile, ...] = holds("file", "files file", implied="implied_folder")

    @cached_property
    def shared_files(self) -> tuple[tuple[SharedFile, AudioFile], ...]:
        """The files that are of more than what they hang on, once for each other thing."""
        from logbook.records.shared import shared_files_of

        return shared_files_of(self)
