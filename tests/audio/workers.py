"""What tests of sound files have done by processes of their own."""

from __future__ import annotations

from pathlib import Path

from logbook.audio.tag_fields import FileTags
from logbook.audio.tagging import write_in_place


def tag_without_end(path: str) -> None:
    """Write one title and another over it until somebody kills this."""
    take = Path(path)
    print("ready", flush=True)
    while True:
        for title in ("Flow " + "x" * 4000, "Ebb"):
            write_in_place(take, FileTags(title=title), within=take.parent)
