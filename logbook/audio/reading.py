"""Reading an audio file: what it is, how long, what its tags and chunks say, its digest.

The format is told by the bytes, never by the extension. Whatever the bytes are, the answer is an
`AudioInfo` or an `AudioError`.
"""

from __future__ import annotations

import errno
import os
import stat
from collections.abc import Callable
from io import BufferedReader
from pathlib import Path
from typing import BinaryIO

from logbook.audio import tags
from logbook.audio.digest import digest_of_sound
from logbook.audio.errors import AudioError, Reason
from logbook.audio.facts import AudioInfo
from logbook.audio.id3 import read_id3_bytes
from logbook.audio.layout import FormatError, Layout
from logbook.audio.mutagen_types import mutagen_type

_FORMATS = (
    "WAV, W64, AIFF, CAF, FLAC, WavPack, MP3, M4A, AAC, Ogg Vorbis, Opus and the sound of films"
    " are read"
)
_OTHERS = frozenset((b"caff", b"riff", b"wvpk", b"\x1a\x45\xdf\xa3", b"RIFF"))
_WITHOUT_TAGS = frozenset(("CAF", "W64", "WavPack", "AAC", "Matroska", "AVI"))


def read_audio(
    path: Path | str, *, digest: bool = True, on_bytes: Callable[[int], None] | None = None
) -> AudioInfo:
    """What the audio file at `path` is and says.

    With `digest` all of its sound is read once, in constant memory, and `on_bytes` is told how
    many bytes were read since it was last told. Raises `AudioError`, and nothing else, for a file
    that is empty, foreign, corrupt, truncated or unreadable.
    """
    path = Path(path)
    try:
        with _opened(path) as file:
            before = os.fstat(file.fileno())
            layout = _layout(file, before.st_size, proved=digest)
            named, raw, tag_warnings = _tags(file, layout)
            sum_ = digest_of_sound(file, layout, on_bytes) if digest else None
            after = os.fstat(file.fileno())
    except FormatError as error:
        raise AudioError(path, error.reason, error.problem, error.remedy) from None
    except OSError as error:
        if error.errno == errno.EINVAL:  # a header that sends the reader to before the start
            raise AudioError(path, Reason.CORRUPT, "its header is broken") from error
        raise AudioError(
            path, Reason.UNREADABLE, f"cannot be read: {error.strerror or error}"
        ) from None
    except Exception as error:
        # Bytes from outside: whatever a parser trips over in them, the file is what is broken.
        raise AudioError(
            path, Reason.CORRUPT, f"its header is broken ({type(error).__name__})"
        ) from error
    if (before.st_size, before.st_mtime_ns) != (after.st_size, after.st_mtime_ns):
        raise AudioError(
            path, Reason.UNREADABLE, "still being written", "import it once it is done"
        )
    return AudioInfo(
        path=path,
        container=layout.container,
        codec=layout.codec,
        rate_hz=layout.rate_hz,
        depth_bits=layout.depth_bits,
        channels=layout.channels,
        frames=layout.frames,
        size_bytes=before.st_size,
        modified_ns=before.st_mtime_ns,
        digest=sum_,
        tags=named,
        raw_tags=raw,
        broadcast=layout.broadcast,
        cues=layout.cues,
        ixml=layout.ixml,
        warnings=(*layout.warnings, *tag_warnings),
    )


def read_layout(file: BufferedReader) -> Layout:
    """The header of an open file in plain data. Raises `FormatError` for one that is not read."""
    return _layout(file, os.fstat(file.fileno()).st_size, proved=False)


def audio_digest(path: Path) -> str:
    """The digest of the sound in the file at `path`, 64 hexadecimal digits.

    Raises `AudioError` as `read_audio` does.
    """
    digest = read_audio(path).digest
    assert digest is not None  # it was asked for
    return digest


def _opened(path: Path) -> BufferedReader:
    """The file, open; a pipe, a device or a folder is refused before it can block anything."""
    if "\0" in str(path):
        raise FormatError(Reason.UNREADABLE, "a path with a NUL character in it")
    if not stat.S_ISREG(os.stat(path).st_mode):
        raise FormatError(Reason.UNREADABLE, "not a regular file")
    return open(path, "rb")


def _layout(file: BinaryIO, size: int, *, proved: bool) -> Layout:
    """The header of the file in plain data, by the reader its first bytes ask for."""
    head = file.read(12)
    if not head:
        raise FormatError(Reason.EMPTY, "an empty file")
    layout = _by_format(file, size, head, proved=proved)
    if layout.frames <= 0:
        raise FormatError(Reason.EMPTY, f"a {layout.container} header with no sound behind it")
    return layout


def _by_format(file: BinaryIO, size: int, head: bytes, *, proved: bool) -> Layout:
    if head[:4] in (b"RIFF", b"RF64", b"BW64") and head[8:12] == b"WAVE":
        from logbook.audio.wav import read_wav

        return read_wav(file, size)
    if head[:4] == b"FORM" and head[8:12] in (b"AIFF", b"AIFC"):
        from logbook.audio.aiff import read_aiff

        return read_aiff(file, size)
    if head[:4] == b"OggS":
        from logbook.audio.ogg import read_ogg

        return read_ogg(file, size)
    if head[4:8] == b"ftyp":
        from logbook.audio.mp4 import read_mp4

        return read_mp4(file, size)
    if head[:4] == b"fLaC" or (head[:3] == b"ID3" and _behind_id3(file) == b"fLaC"):
        from logbook.audio.flac import read_flac

        return read_flac(file, size, proved=proved)
    if head[:4] in _OTHERS or (head[:1] == b"\xff" and head[1:2] != b"\xd8"):
        from logbook.audio.other_forms import read_other

        other = read_other(file, size, head)
        if other is not None:
            return other
    if head[:3] == b"ID3" or (head[:1] == b"\xff" and head[1:2] != b"\xd8"):
        from logbook.audio.mpeg import read_mp3

        return read_mp3(file, size)
    if not head.strip(b"\0"):
        raise FormatError(Reason.FOREIGN, "nothing but zeros at its start", _FORMATS)
    from logbook.audio.other_forms import name_of

    named = name_of(head)
    said = "not an audio file that is read here"
    raise FormatError(Reason.FOREIGN, f"{named}, {said}" if named else said, _FORMATS)


def _behind_id3(file: BinaryIO) -> bytes:
    from logbook.audio.mpeg import id3v2_end

    file.seek(id3v2_end(file))
    return file.read(4)


def _tags(file: BinaryIO, layout: Layout) -> tuple[tags.Tags, tags.Tags, list[str]]:
    """Tags by our names and by the file's; broken ones are a warning, for the sound is good."""
    try:
        named, raw = _tags_by_format(file, layout)
    except Exception:
        # Bytes from outside again; see `read_audio`.
        return {}, {}, ["its tags are broken and were left out"]
    return named, raw, []


def _tags_by_format(file: BinaryIO, layout: Layout) -> tuple[tags.Tags, tags.Tags]:
    named, raw = tags.from_text(layout.text)
    if layout.container in _WITHOUT_TAGS:
        return named, raw
    file.seek(0)
    if layout.container in ("WAV", "RF64", "AIFF", "AIFF-C"):
        if layout.id3:
            more, more_raw = tags.from_id3(layout.id3)
            return {**named, **more}, {**raw, **more_raw}
        return named, raw
    if layout.container == "MP3":
        data = read_id3_bytes(file)
        if data:
            return tags.from_id3(data)
        file.seek(max(0, file.seek(0, os.SEEK_END) - 128))
        if file.read(3) == b"TAG":  # the short tag at the end, which the library looks for itself
            return tags.from_id3_frames(mutagen_type("ID3")(file).items())
        return named, raw
    if layout.container == "M4A":
        return tags.from_mp4(mutagen_type("MP4")(file).tags or {})
    kind = {"FLAC": "FLAC", "Opus": "OggOpus", "Vorbis": "OggVorbis"}[layout.codec]
    return tags.from_vorbis(mutagen_type(kind)(file).tags or ())
