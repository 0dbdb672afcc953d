"""The one place where mutagen's classes are fetched: on demand, and untyped as they are."""

from __future__ import annotations

from importlib import import_module
from typing import Any

_WHERE = {
    "AIFF": "mutagen.aiff",
    "FLAC": "mutagen.flac",
    "MP4": "mutagen.mp4",
    "MP4FreeForm": "mutagen.mp4",
    "OggOpus": "mutagen.oggopus",
    "OggVorbis": "mutagen.oggvorbis",
    "WAVE": "mutagen.wave",
}


def mutagen_type(name: str) -> Any:
    """The mutagen class of that name, such as `FLAC`; other names are those of ID3 frames."""
    return getattr(import_module(_WHERE.get(name, "mutagen.id3")), name)
