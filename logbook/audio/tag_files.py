"""A file opened for its tags, in one of two ways: by the tag library, or chunk by chunk."""

from __future__ import annotations

import os
import shutil
from pathlib import Path
from typing import Any, Protocol

from logbook.audio import tags as tag_names
from logbook.audio.chunk_writing import ID3_CHUNKS, id3_bytes, read_tag_chunks, write_chunks
from logbook.audio.errors import AudioError, Reason
from logbook.audio.facts import AudioInfo
from logbook.audio.id3 import check_id3, read_id3_bytes
from logbook.audio.mutagen_types import mutagen_type
from logbook.audio.tag_fields import FileTags, set_id3, set_mp4, set_text, set_vorbis
from logbook.audio.tags import Tags
from logbook.audio.text_chunks import AIFF_TEXT, riff_text_chunk

_LIBRARY_TYPES = {"FLAC": "FLAC", "Vorbis": "OggVorbis", "Opus": "OggOpus", "MP3": "MP3"}


class TagFile(Protocol):
    """A file opened for its tags."""

    whole_tempo: bool
    """Whether its tags hold a tempo in whole beats only."""

    def names(self) -> Tags:
        """The fields by our names (see `logbook.audio.tags`), with what was put in."""

    def put(self, tags: FileTags) -> None:
        """Puts the fields in; nothing is written."""

    def write_to(self, target: Path) -> None:
        """Writes the file with its fields to `target`, which is another path."""


_TAGGED = frozenset(("FLAC", "MP3", "M4A", "Ogg"))


def open_tags(path: Path, info: AudioInfo) -> TagFile:
    """The file at `path`, of which `info` was read, opened for its tags."""
    if info.container in ("WAV", "RF64", "AIFF", "AIFF-C"):
        return _ChunkFile(path, info)
    if info.container not in _TAGGED:
        raise AudioError(
            path,
            Reason.UNWRITABLE,
            f"tags of {info.container} files are read and written nowhere here",
            "write them into a WAV or FLAC of the same sound",
        )
    return _LibraryFile(path, info)


class _LibraryFile:
    """FLAC, MP3, M4A and Ogg: mutagen writes into a copy."""

    def __init__(self, path: Path, info: AudioInfo) -> None:
        self._path = path
        self._container = info.container
        self.whole_tempo = info.container in ("MP3", "M4A")
        kind = "MP4" if info.container == "M4A" else _LIBRARY_TYPES[info.codec]
        self._file: Any
        if kind == "MP3":
            self._file = _Id3Only(path)
        else:
            self._file = mutagen_type(kind)(path)
            if self._file.tags is None:
                self._file.add_tags()

    def names(self) -> Tags:
        if self._container == "M4A":
            return tag_names.from_mp4(self._file.tags)[0]
        if self._container == "MP3":
            return tag_names.from_id3_frames(self._file.tags.items())[0]
        return tag_names.from_vorbis(self._file.tags)[0]

    def put(self, tags: FileTags) -> None:
        setters = {"M4A": set_mp4, "MP3": set_id3}
        setters.get(self._container, set_vorbis)(self._file.tags, tags)

    def write_to(self, target: Path) -> None:
        shutil.copyfile(self._path, target)
        self._file.save(os.fspath(target))


class _Id3Only:
    """The ID3 tag of an MP3 file, empty if it has none, without a look at its sound."""

    def __init__(self, path: Path) -> None:
        with open(path, "rb") as file:
            check_id3(read_id3_bytes(file))
        self.tags: Any = mutagen_type("ID3")()
        try:
            self.tags.load(os.fspath(path))
        except mutagen_type("ID3NoHeaderError"):
            self.tags = mutagen_type("ID3")()

    def save(self, path: str) -> None:
        self.tags.save(path)


class _ChunkFile:
    """WAV, RF64 and AIFF: an ID3 chunk, and the format's own text chunks kept in step with it.

    Text chunks are written where the file has some already (a broadcast chunk counts: programs
    that read one look for INFO beside it and not for ID3). Otherwise ID3 alone says everything.
    """

    whole_tempo = True

    def __init__(self, path: Path, info: AudioInfo) -> None:
        self._path = path
        self._aiff = info.container.startswith("AIFF")
        found = read_tag_chunks(path)
        self._frames, self._text = found.frames, found.text
        self._with_text = bool(found.text) or found.broadcast

    def names(self) -> Tags:
        frames = tag_names.from_id3_frames(self._frames.items())[0]
        return {**tag_names.from_text(self._text)[0], **frames}

    def put(self, tags: FileTags) -> None:
        set_id3(self._frames, tags)
        if self._with_text:
            set_text(self._text, tags, aiff=self._aiff)

    def write_to(self, target: Path) -> None:
        id3 = id3_bytes(self._frames) if self._frames else b""
        if self._aiff:
            drop = ID3_CHUNKS | frozenset(AIFF_TEXT)
            append = [
                (name.encode("ascii"), value.encode("utf-8"))
                for name, values in self._text.items()
                for value in values
            ]
            append += [(b"ID3 ", id3)] if id3 else []
        else:
            drop = ID3_CHUNKS | {b"INFO"}
            append = [(b"id3 ", id3)] if id3 else []
            append += [(b"LIST", riff_text_chunk(self._text))] if self._text else []
        write_chunks(self._path, target, drop, append)
