"""What can be heard of a version: finished parts, takes, comps and mixes.

Every sound has a key, which is the digest of all it is made from: a file of that name never has
to be made twice. Where a sound lies in the music is known before it is made.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from functools import cached_property
from hashlib import sha256
from pathlib import Path
from typing import NamedTuple

from logbook.audio.errors import AudioError
from logbook.audio.facts import AudioInfo
from logbook.audio.reading import read_audio
from logbook.editing.clips import Clip
from logbook.listening.part import place_of_file, short_id
from logbook.playing.opus import size_of
from logbook.playing.parts import TAIL_S
from logbook.records.files import AudioFile
from logbook.records.part_view import PartView
from logbook.records.parts import Part
from logbook.records.take_files import clips_found, starts_in_music, take_audio

FINISHED, COMP, TAKE, MIX = "finished", "comp", "take", "mix"
_MAKING = "1"
"""Goes into every key: another way of making sounds makes other files."""


class Sound(NamedTuple):
    """One sound: what it is, where it lies in the music, and what it is made from.

    `starts_at` is where its first sample stands, in seconds from the music's start (below 0 with
    a count-in); `bars` the bars a take covers, empty where it holds whatever it is long. `files`
    are what it is read from, `clips` what a comp is joined from.
    """

    key: str
    kind: str
    label: str
    said: str
    starts_at: float
    seconds: float
    channels: int
    bars: str = ""
    take: str = ""
    files: tuple[str, ...] = ()
    clips: tuple[Clip, ...] = ()

    @property
    def bytes_about(self) -> int:
        """About how large its file will be."""
        return size_of(self.seconds, self.channels)


class PartSounds(NamedTuple):
    """The sounds of a part, best first, and a sentence about each file that is missing."""

    sounds: tuple[Sound, ...]
    missing: tuple[str, ...]


class _Filled(PartView):
    """A part whose files are those that can be heard, and no others."""

    @cached_property
    def recorded(self) -> Part:
        """The part as it is; what is not on the disk is not looked for again."""
        return self.part


def sounds_of(place: PartView) -> PartSounds:
    """Return what can be heard of a part. Raises LogbookError where takes cannot be read."""
    missing: list[str] = []
    filled = _Filled(place.log, place.song, place.version, _filled(place, missing))
    sounds = list(_finished(filled))
    takes = list(_takes(filled))
    if not sounds:
        sounds += _comp(filled, missing)
    sounds += takes
    return PartSounds(tuple(sounds), tuple(missing))


def mixes_of(place: PartView) -> PartSounds:
    """Return the mixes of a part's version, which every part can be heard in."""
    missing: list[str] = []
    files = _known(place.version.files, f"{place.song.title}, {place.version.name}", missing)
    sounds = [
        _of_file(file, MIX, f"mix {Path(file.path).stem}", place, Fraction(0)) for file in files
    ]
    return PartSounds(tuple(sounds), tuple(missing))


def _filled(place: PartView, missing: list[str]) -> Part:
    """The part with only those files that are there, and what their headers say filled in."""
    part = place.recorded
    takes = tuple(
        replace(take, files=_known(take.files, f"{place.title}, take {take.number}", missing))
        for take in part.takes
    )
    return replace(part, takes=takes, files=_known(part.files, place.title, missing))


def _known(files: tuple[AudioFile, ...], whose: str, missing: list[str]) -> tuple[AudioFile, ...]:
    found = []
    for file in files:
        path = place_of_file(file)
        if not path.is_file():
            missing.append(f"{whose}: {file.path} is not where the log says")
            continue
        if file.rate_hz and file.frames and file.digest and file.channels:
            found.append(file)
            continue
        try:
            info = read_audio(path)
        except AudioError as error:
            missing.append(f"{whose}: {error.problem}")
            continue
        found.append(_with_facts(file, info))
    return tuple(found)


def _with_facts(file: AudioFile, info: AudioInfo) -> AudioFile:
    """A file that was never imported, with what its header says."""
    clock = info.broadcast.time_reference_samples if info.broadcast else None
    return replace(
        file,
        rate_hz=info.rate_hz,
        frames=info.frames,
        channels=info.channels,
        digest=info.digest or "",
        time_reference=clock if file.time_reference is None else file.time_reference,
    )


def _of_file(file: AudioFile, kind: str, label: str, view: PartView, at: Fraction) -> Sound:
    assert file.rate_hz
    assert file.frames
    return Sound(
        key=_key(file.digest or f"{file.folder}/{file.path}/{file.size}/{file.modified}"),
        kind=kind,
        label=label,
        said="",
        starts_at=float(starts_in_music(view, file, at)),
        seconds=file.frames / file.rate_hz,
        channels=file.channels or 1,
        files=(str(place_of_file(file)),),
    )


def _key(*made_from: object) -> str:
    said = repr((_MAKING, *made_from))
    return sha256(said.encode("utf-8", "surrogatepass")).hexdigest()[:24]


def _finished(view: PartView) -> Iterator[Sound]:
    several = len(view.part.files) > 1
    for file in view.part.files:
        label = f"finished, {Path(file.path).stem}" if several else "finished"
        yield _of_file(file, FINISHED, label, view, Fraction(0))


def _takes(view: PartView) -> Iterator[Sound]:
    """Every file of every take, in the order of the takes."""
    known = view.takes
    records = dict(zip((take.id for take in known), view.part.takes, strict=True))
    for audio in take_audio(view):
        record = records[audio.take]
        file = next(
            each for each in record.files if str(place_of_file(each)) == str(Path(audio.path))
        )
        span = next(take for take in known if take.id == audio.take)
        name = str(short_id(span, known))
        label = f"take {name}"
        if len(record.files) > 1:
            label += f", {file.microphone or Path(file.path).stem}"
        yield _of_file(file, TAKE, label, view, Fraction(0))._replace(
            said="; ".join(filter(None, (record.result, record.notes))),
            bars=record.bars,
            take=name,
            starts_at=float(audio.starts_at),
        )


def _comp(view: PartView, missing: list[str]) -> list[Sound]:
    """The comp that counts, joined from the files of its takes."""
    if view.comp is None or not view.comp.pieces:
        return []
    clips, without = clips_found(view, view.comp)
    missing += [f"{view.title}, comp: bars {each}" for each in without]
    if not clips:
        return []
    digests = {
        str(place_of_file(file)): file.digest for take in view.part.takes for file in take.files
    }
    ends = max(Fraction(clip.at_frame + clip.fills, clip.audio.rate_hz) for clip in clips)
    made_from = [
        (digests.get(str(Path(c.audio.path)), c.audio.path), c.first_frame, c.frames, c.at_frame,
         c.fills, c.audio.rate_hz, str(c.piece.crossfade_ms))
        for c in clips
    ]  # fmt: skip
    return [
        Sound(
            key=_key(COMP, *made_from),
            kind=COMP,
            label=f"comp {view.comp.name}".strip(),
            said="joined from the takes as the edits say",
            starts_at=0.0,
            seconds=float(ends) + TAIL_S,
            channels=2,
            files=tuple(dict.fromkeys(clip.audio.path for clip in clips)),
            clips=clips,
        )
    ]
