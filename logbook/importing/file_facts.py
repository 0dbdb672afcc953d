"""From what the audio room read of a file to the log's record of it, and back."""

from __future__ import annotations

import dataclasses
from pathlib import Path

from logbook.audio.facts import AudioInfo, BroadcastInfo, IxmlInfo
from logbook.records import AudioFile, Cue

_LARGEST = 2**63 - 1

FACTS = tuple(
    field.name
    for field in dataclasses.fields(AudioFile)
    if field.name
    not in (
        *("path", "folder", "microphone", "also", "notes"),
        *("measurement", "heard_doubles", "heard_chords"),
    )
)
"""The fields of a record that the file itself says."""


def record_of(info: AudioInfo, *, folder: str, path: str, microphone: str = "") -> AudioFile:
    """Return the record of a file that was read; `path` is its place inside `folder`."""
    said, ixml = info.broadcast, info.ixml
    return AudioFile(
        path=path,
        folder=folder,
        microphone=microphone,
        digest=info.digest or "",
        container=info.container,
        codec=info.codec,
        rate_hz=info.rate_hz,
        depth_bits=info.depth_bits,
        channels=info.channels,
        frames=info.frames,
        size=info.size_bytes,
        modified=info.modified_ns,
        tags=tags_of(info),
        description=storable(said.description) if said else "",
        originator=storable(said.originator) if said else "",
        originated_at=storable(f"{said.date} {said.time}".strip()) if said else "",
        time_reference=_large(said.time_reference_samples) if said else None,
        loudness_lufs=said.loudness_lufs if said else None,
        loudness_range_lu=said.loudness_range_lu if said else None,
        max_true_peak_dbtp=said.max_true_peak_dbtp if said else None,
        ixml_take=storable(ixml.take or "") if ixml else "",
        ixml_note=storable(ixml.note or "") if ixml else "",
        ixml_scene=storable(ixml.scene or "") if ixml else "",
        ixml_tracks=tuple(map(storable, ixml.tracks)) if ixml and any(ixml.tracks) else (),
        ixml_circled=ixml.circled if ixml else None,
        cues=tuple(
            Cue(frame=cue.position_frames, label=storable(cue.label))
            for cue in info.cues
            if cue.position_frames <= _LARGEST
        ),
    )


def tags_of(info: AudioInfo) -> tuple[tuple[str, str], ...]:
    """Return the file's tags under our names as pairs, one for each value."""
    return tuple(
        (storable(name), storable(value)) for name, values in info.tags.items() for value in values
    )


def info_of(record: AudioFile) -> AudioInfo:
    """Return what tells which take a file of the log is, as if it had just been read."""
    tags: dict[str, tuple[str, ...]] = {}
    for name, value in record.tags:
        tags[name] = (*tags.get(name, ()), value)
    date, _, time = record.originated_at.partition(" ")
    broadcast = BroadcastInfo(
        version=0,
        description=record.description,
        originator=record.originator,
        originator_reference="",
        date=date,
        time=time,
        time_reference_samples=record.time_reference or 0,
    )
    stamped = record.time_reference is not None
    ixml = IxmlInfo(
        scene=record.ixml_scene or None,
        take=record.ixml_take or None,
        note=record.ixml_note or None,
        circled=record.ixml_circled,
        tracks=record.ixml_tracks,
    )
    return AudioInfo(
        path=Path(record.path),
        container=record.container,
        codec=record.codec,
        rate_hz=record.rate_hz or 1,
        depth_bits=record.depth_bits,
        channels=record.channels or 1,
        frames=record.frames or 0,
        size_bytes=record.size or 0,
        modified_ns=record.modified or 0,
        digest=record.digest,
        tags=tags,
        broadcast=broadcast if stamped else None,
        ixml=ixml if ixml != IxmlInfo() else None,
    )


def storable(text: str) -> str:
    """Return text that a database can hold: no zero characters, no half ones."""
    if text.isprintable() and "\x00" not in text:
        return text
    return text.replace("\x00", " ").encode("utf-8", "replace").decode("utf-8")


def _large(number: int) -> int | None:
    return number if 0 <= number <= _LARGEST else None
