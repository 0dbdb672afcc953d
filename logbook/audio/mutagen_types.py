"""The one place where mutagen's classes are fetched: on demand, and untyped as they are."""

from __future__ import annotations

from importlib import import_module
from typing import Any

_WHERE = {
    "AIFF": "mutagen.aiff",
    "FLAC": "mutagen.flac",
    "ID3": "mutagen.id3",
    "MP4": "mutagen.mp4",
    "OggOpus": "mutagen.oggopus",
    "OggVorbis": "mutagen.oggvorbis",
    "WAVE": "mutagen.wave",
}


def mutagen_type(name: str) -> Any:
    """The mutagen class of that name, such as `FLAC`."""
    return getattr(import_module(_WHERE[name]), name)
