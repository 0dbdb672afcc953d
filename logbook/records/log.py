"""The whole log, or the slice of it that one song needs."""

from __future__ import annotations

from dataclasses import dataclass

from logbook.records.arrangements import SetList
from logbook.records.files import AudioFile
from logbook.records.people import Person
from logbook.records.places import Instrument, Session, Tuning
from logbook.records.remarks import Remark
from logbook.records.songs import Song


@dataclass(frozen=True, kw_only=True)
class Track:
    """A version's place on a release."""

    song: str
    version: str


@dataclass(frozen=True, kw_only=True)
class Project:
    """A release or other body of work: title (unique), EAN or UPC (stored plain), tracks."""

    title: str
    barcode: str = ""
    date: str = ""
    notes: str = ""
    tracks: tuple[Track, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Log:
    """Everything, or a slice: then people, tunings, instruments and sessions are those named."""

    people: tuple[Person, ...] = ()
    tunings: tuple[Tuning, ...] = ()
    instruments: tuple[Instrument, ...] = ()
    sessions: tuple[Session, ...] = ()
    songs: tuple[Song, ...] = ()
    projects: tuple[Project, ...] = ()
    setlists: tuple[SetList, ...] = ()
    remarks: tuple[Remark, ...] = ()
    files: tuple[AudioFile, ...] = ()  # those that hang on nothing yet
