"""Recordings beside pages: their size said before they are written, what is missing after."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from logbook.cli.asking import progress
from logbook.cli.printing import remark, say

if TYPE_CHECKING:
    from logbook.playing.making import Sizes
    from logbook.sheets.play_files import Planned


def make_all(planned: Planned, folder: Path) -> Planned:
    """Say how much there is to make, make it, and say what could not be had."""
    from logbook.sheets.play_files import make_sounds

    sizes = planned.sizes(folder)
    say(_said(sizes, folder))
    with progress(sizes.sounds, "making recordings") as done:
        made, failed = make_sounds(planned, folder, done)
    for each in (*planned.missing, *failed):
        remark(each)
    return made


def _said(sizes: Sizes, folder: Path) -> str:
    minutes, seconds = divmod(round(sizes.seconds), 60)
    word = "recording" if sizes.sounds == 1 else "recordings"
    there = f", {sizes.there} of them there already" if sizes.there else ""
    size = sizes.bytes_about / 1e6
    return (
        f"{folder}: {sizes.sounds} {word}, {minutes}:{seconds:02d} in all, "
        f"about {size:.1f} MB{there}"
    )
