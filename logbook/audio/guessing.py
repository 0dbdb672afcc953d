"""Which take a file is: what its name, its broadcast chunk and its iXML chunk say of it.

Each thing known comes with the evidence for it. Where two of them contradict each other, or one
can be read several ways, nothing is decided: the conflict is put in a sentence instead.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence, Set
from dataclasses import dataclass
from enum import StrEnum
from pathlib import PurePath
from typing import Generic, NamedTuple, TypeVar

from logbook.audio.facts import AudioInfo, BroadcastInfo, IxmlInfo
from logbook.audio.patterns import (
    NamePattern,
    NameReading,
    iso_date,
    known_readings,
    same_name,
    steps_of,
    take_number,
)

T = TypeVar("T", str, int)

_TAKE_IN_TEXT = re.compile(r"(?<![a-z])[sz]?take[ _]*[=:#]?[ _]*0*([0-9]{1,4})(?![0-9])", re.I)


_FEW_PARTS = 500  # with more, looking for each of them costs more than it spares
_LONGEST_DESCRIPTION = 1024  # characters; the broadcast chunk holds 256


class NameEvidence(StrEnum):
    """Where a thing is known from."""

    FILE_NAME = "file name"
    BROADCAST = "broadcast chunk"
    IXML = "iXML chunk"
    TAGS = "tags"


@dataclass(frozen=True, slots=True)
class Finding(Generic[T]):
    """A thing known of a file, and everything that says so."""

    value: T
    evidence: tuple[NameEvidence, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Guess:
    """What is known of a file; None for what is not, with the sentences that say why.

    `pattern` is the one that read the name, empty if none did. A file can be assigned when
    `part` and `take` are known and `conflicts` is empty.
    """

    song: Finding[str] | None = None
    part: Finding[str] | None = None
    take: Finding[int] | None = None
    date: Finding[str] | None = None
    mic: Finding[str] | None = None
    version: Finding[str] | None = None
    session: Finding[str] | None = None
    circled: bool | None = None
    pattern: str = ""
    conflicts: tuple[str, ...] = ()


def guess(
    info: AudioInfo,
    *,
    patterns: Iterable[NamePattern],
    parts: Iterable[str],
    songs: Iterable[str] = (),
    path: PurePath | str | None = None,
) -> Guess:
    """What can be told of the file, given the session's patterns and the log's parts and songs.

    Of the patterns that read the name in exactly one way known to the log the one is taken that
    tells most, and of several the first. `path` is
    the path the name is read from (for patterns with folders), by default the file's own. A part
    or song that the name does not tell may stand in the broadcast description, between commas or
    dashes ("Low Water, guitar, take 2"), or be the scene of the iXML chunk.
    """
    known = known_names(parts, songs)
    return guess_among(info, patterns=list(patterns), known=known, path=path)


class KnownNames(NamedTuple):
    """The log's parts and songs, by the form in which names are compared."""

    parts: Mapping[str, str]
    songs: Mapping[str, str]
    versions: Mapping[str, str] = {}
    sessions: Mapping[str, str] = {}


def known_names(
    parts: Iterable[str],
    songs: Iterable[str],
    versions: Iterable[str] = (),
    sessions: Iterable[str] = (),
) -> KnownNames:
    """The log's names, made ready once for many files."""
    return KnownNames(
        *({same_name(name): name for name in names} for names in (parts, songs, versions, sessions))
    )


def guess_among(
    info: AudioInfo,
    *,
    patterns: Sequence[NamePattern],
    known: KnownNames,
    path: PurePath | str | None = None,
) -> Guess:
    """`guess`, with the log's names made ready."""
    pattern, reading, conflicts = _from_name(path or info.path, patterns, known)
    takes = _takes(reading, info.broadcast, info.ixml)
    dates = _dates(reading, info.broadcast)
    songs_said = _songs(reading, info.tags, info.ixml, known.songs)
    songs_said = songs_said or _in_chunks(info, known.songs)
    part = known.parts.get(same_name(reading.part or "")) if reading else None
    parts_said = [(NameEvidence.FILE_NAME, part)] if part else _in_chunks(info, known.parts)
    if parts_said and not part:
        # What the name says of parts the log does not know is no conflict then.
        conflicts = []
    return Guess(
        song=_agreed("song", songs_said, conflicts),
        part=_agreed("part", parts_said, conflicts),
        take=_agreed("take", takes, conflicts),
        date=_agreed("date", dates, conflicts),
        mic=_said(reading.mic if reading else None),
        version=_said(known.versions.get(same_name(reading.version or "")) if reading else None),
        session=_said(known.sessions.get(same_name(reading.session or "")) if reading else None),
        circled=info.ixml.circled if info.ixml else None,
        pattern=pattern,
        conflicts=tuple(conflicts),
    )


def _said(value: str | None) -> Finding[str] | None:
    return Finding(value, (NameEvidence.FILE_NAME,)) if value else None


def _from_name(
    path: PurePath | str, patterns: Sequence[NamePattern], names: KnownNames
) -> tuple[str, NameReading | None, list[str]]:
    """The pattern that reads the name one way only and tells most; else what stands against it."""
    parts, songs = names.parts.keys(), names.songs.keys()
    best: tuple[str, NameReading] | None = None
    unknown: list[str] = []
    ambiguous: list[str] = []
    steps = steps_of(path)
    hopeless = _names_none_of(steps, parts)
    for pattern in patterns:
        if hopeless and unknown and pattern.has_part:
            continue  # it can tell nothing, and what is said of the name is said already
        readings = pattern.readings_of(steps)
        known = known_readings(readings, parts, songs, names.versions.keys(), names.sessions.keys())
        if len(known) == 1:
            if best is None or known[0].told > best[1].told:
                best = pattern.text, known[0]
        elif known:
            ambiguous.append(
                f"{pattern.text} reads the name in {len(known)} ways: "
                + "; ".join(_reading_text(reading) for reading in known[:3])
            )
        elif readings and not unknown:
            unknown.append(_unknown(readings[0], parts, songs))
    return (*best, []) if best else ("", None, ambiguous or unknown)


def _names_none_of(steps: Sequence[str], parts: Set[str]) -> bool:
    """Whether no part of the log can stand in the name, which spares trying the patterns."""
    if len(parts) > _FEW_PARTS:
        return False
    name = same_name(" ".join(steps))
    return not any(part in name for part in parts)


def _reading_text(reading: NameReading) -> str:
    claims = (("song", reading.song), ("part", reading.part), ("take", reading.take))
    return ", ".join(f"{name} {value}" for name, value in claims if value is not None)


def _unknown(reading: NameReading, parts: Set[str], songs: Set[str]) -> str:
    claims = [
        f"no {what} {value!r} in the log"
        for what, value, known in (("song", reading.song, songs), ("part", reading.part, parts))
        if value is not None and same_name(value) not in known
    ]
    return " and ".join(claims)


def _takes(
    reading: NameReading | None, broadcast: BroadcastInfo | None, ixml: IxmlInfo | None
) -> list[tuple[NameEvidence, int]]:
    claims: list[tuple[NameEvidence, int | None]] = []
    if reading:
        claims.append((NameEvidence.FILE_NAME, reading.take))
    if broadcast:
        found = _TAKE_IN_TEXT.search(broadcast.description)
        claims.append((NameEvidence.BROADCAST, int(found.group(1)) if found else None))
    if ixml:
        claims.append((NameEvidence.IXML, take_number(ixml.take or "")))
    return [(evidence, take) for evidence, take in claims if take is not None]


def _dates(
    reading: NameReading | None, broadcast: BroadcastInfo | None
) -> list[tuple[NameEvidence, str]]:
    claims: list[tuple[NameEvidence, str]] = []
    if reading and reading.date:
        claims.append((NameEvidence.FILE_NAME, reading.date))
    # EBU Tech 3285 lets any separator stand between year, month and day.
    date = iso_date(re.sub(r"[^0-9]", "-", broadcast.date)) if broadcast else None
    if date:
        claims.append((NameEvidence.BROADCAST, date))
    return claims


def _songs(
    reading: NameReading | None,
    tags: Mapping[str, tuple[str, ...]],
    ixml: IxmlInfo | None,
    known: Mapping[str, str],
) -> list[tuple[NameEvidence, str]]:
    """Songs of the log that are named; a title or project the log does not know says nothing."""
    claims: list[tuple[NameEvidence, str | None]] = []
    if reading:
        claims.append((NameEvidence.FILE_NAME, reading.song))
    if ixml:
        claims.append((NameEvidence.IXML, ixml.project))
    claims += [(NameEvidence.TAGS, title) for title in tags.get("title", ())]
    return [
        (evidence, known[same_name(name)])
        for evidence, name in claims
        if name and same_name(name) in known
    ]


def _in_chunks(info: AudioInfo, known: Mapping[str, str]) -> list[tuple[NameEvidence, str]]:
    """Names of the log that stand by themselves in the broadcast description or the iXML scene."""
    claims: dict[tuple[NameEvidence, str], None] = {}
    if info.broadcast:
        for phrase in _phrases(info.broadcast.description):
            if phrase in known:
                claims[NameEvidence.BROADCAST, known[phrase]] = None
    scene = same_name(info.ixml.scene or "") if info.ixml else ""
    if scene in known:
        claims[NameEvidence.IXML, known[scene]] = None
    return list(claims)


def _phrases(description: str) -> Iterator[str]:
    """A description's pieces between commas, dashes and line breaks, without the take's number."""
    for piece in re.split(r"[,;|/:\r\n]| - ", description[:_LONGEST_DESCRIPTION]):
        yield same_name(_TAKE_IN_TEXT.sub(" ", piece))


def _agreed(
    what: str, claims: list[tuple[NameEvidence, T]], conflicts: list[str]
) -> Finding[T] | None:
    """What all the evidence agrees on; otherwise a conflict is added and nothing is known."""
    if not claims:
        return None
    if len({value for _, value in claims}) > 1:
        conflicts.append(
            f"{what}: " + ", ".join(f"the {evidence} says {value}" for evidence, value in claims)
        )
        return None
    return Finding(claims[0][1], tuple(dict.fromkeys(evidence for evidence, _ in claims)))
