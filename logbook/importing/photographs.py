"""Photographs of settings: known by the digest of their file, shown, lost or changed.

Conventions. A digest is SHA-256 over the whole file, written "sha256:" and hexadecimal. Pictures
are told by their first bytes: JPEG, PNG, GIF and WebP can be shown on a page, others only named.
"""

from __future__ import annotations

import hashlib
import os
import stat
from dataclasses import replace
from pathlib import Path
from typing import NamedTuple

from logbook.errors import LogbookError
from logbook.records import Photograph

LARGEST = 64 * 2**20
"""Bytes of a photograph from which on it is not read: no camera makes such a file."""


class SeenPhotograph(NamedTuple):
    """A photograph as it lies on the disk.

    `state` is "there", "changed" (another file at its place), "lost", or "new" while the log knows
    no digest of it. `media` and `data` are what a page shows, empty where it cannot.
    """

    photograph: Photograph
    state: str
    media: str = ""
    data: bytes = b""


def see(photograph: Photograph) -> SeenPhotograph:
    """Look at a photograph where the log says it is."""
    try:
        data = _read(Path(photograph.path))
    except LogbookError:
        return SeenPhotograph(photograph, "lost")
    state = "there"
    if not photograph.digest:
        state = "new"
    elif digest_of(data) != photograph.digest:
        state = "changed"
    media = media_of(data)
    return SeenPhotograph(photograph, state, media, data if media else b"")


def taken_in(photograph: Photograph) -> Photograph:
    """Return a photograph with the digest of the file that is there now. Raises LogbookError."""
    return replace(photograph, digest=digest_of(_read(Path(photograph.path))))


def digest_of(data: bytes) -> str:
    """Return the digest of a file's bytes."""
    return f"sha256:{hashlib.sha256(data).hexdigest()}"


def media_of(data: bytes) -> str:
    """Return the media type of a picture that a page can show; empty for anything else."""
    if data.startswith(b"\xff\xd8\xff"):
        return "image/jpeg"
    if data.startswith(b"\x89PNG\r\n\x1a\n"):
        return "image/png"
    if data.startswith((b"GIF87a", b"GIF89a")):
        return "image/gif"
    if data[:4] == b"RIFF" and data[8:12] == b"WEBP":
        return "image/webp"
    return ""


def _read(path: Path) -> bytes:
    name = path.name or str(path)
    try:
        found = os.stat(path)
        if not stat.S_ISREG(found.st_mode):
            raise LogbookError(f"{name} is no file", "name the photograph itself")
        if found.st_size > LARGEST:
            raise LogbookError(f"{name} is too large for a photograph", "save it smaller")
        return path.read_bytes()
    except (OSError, ValueError) as error:
        raise LogbookError(f"{name} is not there", "say where it is") from error
