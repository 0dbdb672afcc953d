"""A file's tags under one set of names, whichever way its format writes them.

Sources: ID3v2.4 (id3.org, 2000), Vorbis comment field recommendations (xiph.org), RIFF INFO
(Multimedia Programming Interface and Data Specifications 1.0), AIFF 1.3 text chunks. The MP4
names are common practice, as are the Vorbis names beyond the recommended ones.

The names: title, artist, album, album_artist, composer, lyricist, writer, performer, credit,
date, released, genre, track, tracks, isrc, iswc, barcode, tempo, key, comment, copyright, encoder.
A performer reads `Name (instrument)`, a credit `role: Name`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from logbook.audio.id3 import load_id3

Tags = dict[str, tuple[str, ...]]

ROLE_FIELDS = ("producer", "engineer", "mixer", "arranger", "conductor")
"""Roles with a Vorbis comment or freeform MP4 atom of their own name (common practice)."""

_ID3 = {
    "TIT2": "title",
    "TPE1": "artist",
    "TALB": "album",
    "TPE2": "album_artist",
    "TCOM": "composer",
    "TEXT": "lyricist",
    "TDRC": "date",
    "TDRL": "released",
    "TXXX:ISWC": "iswc",
    "TXXX:BARCODE": "barcode",
    "TCON": "genre",
    "TRCK": "track",
    "TSRC": "isrc",
    "TBPM": "tempo",
    "TKEY": "key",
    "COMM": "comment",
    "TCOP": "copyright",
    "TSSE": "encoder",
}
_VORBIS = {
    "title": "title",
    "artist": "artist",
    "album": "album",
    "albumartist": "album_artist",
    "composer": "composer",
    "lyricist": "lyricist",
    "writer": "writer",
    "performer": "performer",
    "credit": "credit",
    "date": "date",
    "releasedate": "released",
    "genre": "genre",
    "tracknumber": "track",
    "tracktotal": "tracks",
    "isrc": "isrc",
    "iswc": "iswc",
    "barcode": "barcode",
    "bpm": "tempo",
    "tempo": "tempo",
    "key": "key",
    "initialkey": "key",
    "comment": "comment",
    "description": "comment",
    "copyright": "copyright",
    "encoder": "encoder",
}
_MP4 = {
    "\xa9nam": "title",
    "\xa9ART": "artist",
    "\xa9alb": "album",
    "aART": "album_artist",
    "\xa9wrt": "composer",
    "\xa9day": "date",
    "\xa9gen": "genre",
    "trkn": "track",
    "tmpo": "tempo",
    "\xa9cmt": "comment",
    "cprt": "copyright",
    "\xa9too": "encoder",
}
_TEXT = {
    "INAM": "title",
    "IART": "artist",
    "IPRD": "album",
    "IMUS": "composer",
    "IWRI": "writer",
    "ICRD": "date",
    "IGNR": "genre",
    "IPRT": "track",
    "ITRK": "track",
    "ICMT": "comment",
    "ICOP": "copyright",
    "ISFT": "encoder",
    "NAME": "title",
    "AUTH": "artist",
    "(c) ": "copyright",
    "ANNO": "comment",
}


def from_text(text: Mapping[str, tuple[str, ...]]) -> tuple[Tags, Tags]:
    """Tags of RIFF INFO or AIFF text chunks: (by our names, by the file's)."""
    return _renamed(text, _TEXT), dict(text)


def from_id3(data: bytes) -> tuple[Tags, Tags]:
    """Tags of an ID3 tag given as the bytes of the chunk or file that begins with it."""
    return from_id3_frames(load_id3(data).items())


def from_id3_frames(frames: Iterable[tuple[str, Any]]) -> tuple[Tags, Tags]:
    """Tags of ID3 frames as (key, frame) pairs of mutagen: (by our names, by the file's)."""
    raw: Tags = {}
    tags: Tags = {}
    for key, frame in frames:
        if frame.FrameID in ("TIPL", "TMCL", "IPLS"):
            pairs = [(role, name) for role, name in (tuple(p)[:2] for p in frame.people)]
            raw[key] = tuple(f"{role}: {name}" for role, name in pairs)
            if frame.FrameID == "TMCL":
                _add(
                    tags,
                    "performer",
                    [f"{name} ({role})" if role else name for role, name in pairs],
                )
            else:
                _add(tags, "credit", raw[key])
        elif hasattr(frame, "text"):
            texts = frame.text if isinstance(frame.text, list) else [frame.text]
            raw[key] = tuple(str(text) for text in texts)
            name = _ID3.get(key) or _ID3.get(frame.FrameID)
            if name and not (name == "comment" and frame.desc):
                _add(tags, name, raw[key])
    return tags, raw


def from_vorbis(comments: Iterable[tuple[str, str]]) -> tuple[Tags, Tags]:
    """Tags of Vorbis comments as (name, value) pairs; pictures are left out."""
    raw: Tags = {}
    for key, value in comments:
        if key.lower() not in ("metadata_block_picture", "coverart"):
            raw[key.lower()] = (*raw.get(key.lower(), ()), value)
    return _with_roles(_renamed(raw, _VORBIS), raw), raw


def from_mp4(atoms: Mapping[str, Any]) -> tuple[Tags, Tags]:
    """Tags of MP4 atoms as mutagen gives them; pictures are left out."""
    raw: Tags = {}
    for key, values in atoms.items():
        if key == "covr" or not isinstance(values, list):
            continue
        raw[key] = tuple(_mp4_text(value) for value in values)
    freeform = {
        key.rsplit(":", 1)[-1].lower(): values
        for key, values in raw.items()
        if key.startswith("----:")
    }
    tags = _renamed(raw, _MP4)
    for name, values in _renamed(freeform, _VORBIS).items():
        _add(tags, name, values)
    return _with_roles(tags, freeform), raw


def _with_roles(tags: Tags, raw: Mapping[str, tuple[str, ...]]) -> Tags:
    """Adds the credits that stand under their role's own name."""
    for role in ROLE_FIELDS:
        _add(tags, "credit", [f"{role}: {name}" for name in raw.get(role, ())])
    return tags


def _mp4_text(value: Any) -> str:
    if isinstance(value, bytes):
        return value.decode("utf-8", "replace")
    if isinstance(value, tuple):  # track and disc numbers: (number, of how many)
        return "/".join(str(number) for number in value if number)
    return str(value)


def _renamed(raw: Mapping[str, tuple[str, ...]], names: Mapping[str, str]) -> Tags:
    tags: Tags = {}
    for key, values in raw.items():
        if key in names:
            _add(tags, names[key], values)
    return tags


def _add(tags: Tags, name: str, values: Iterable[str]) -> None:
    known = tags.get(name, ())
    fresh = tuple(value for value in values if value and value not in known)
    if fresh:
        tags[name] = known + fresh
