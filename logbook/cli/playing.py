"""Recordings beside pages: their size said before they are written, what is missing after."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from logbook.cli.asking import progress
from logbook.cli.printing import remark, say
from logbook.errors import LogbookError

if TYPE_CHECKING:
    from logbook.playing.making import AudioSizes
    from logbook.records.log import Log
    from logbook.sheets.looks import Wanted
    from logbook.sheets.play_files import Planned

AudioOption = Annotated[
    bool,
    typer.Option("--audio", help="Put recordings beside a page, to be played from any bar."),
]


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


def plays_beside(log: Log, song: str, kind: str, out: Path, wanted: Wanted | None = None) -> str:
    """Make the recordings of a song beside a page; return what the page has to know of them.

    `wanted` is what a live sheet is made of.
    """
    from logbook.sheets.play_files import SOUNDS, page_texts, plan_sounds

    folder = out.with_name(f"{out.stem}-{SOUNDS}")
    only = replace(log, songs=tuple(each for each in log.songs if each.title == song))
    planned = make_all(plan_sounds(only), folder)
    return page_texts(log, planned, folder.name, wanted)[song].of(kind)


def check_audio(form: str, out: Path | None) -> None:
    """Refuse recordings where there is no page beside which they could lie."""
    if form != "html":
        raise LogbookError(f"recordings go beside a page, not with {form}", "add --as html")
    if out is None:
        raise LogbookError("recordings lie beside a page in a file", "add --out FILE.html")


def _said(sizes: AudioSizes, folder: Path) -> str:
    if not sizes.sounds:
        return "no recordings to put beside the page: parts are plucked as they are logged"
    minutes, seconds = divmod(round(sizes.seconds), 60)
    word = "recording" if sizes.sounds == 1 else "recordings"
    there = f", {sizes.there} of them there already" if sizes.there else ""
    size = sizes.bytes_about / 1e6
    return (
        f"{folder}: {sizes.sounds} {word}, {minutes}:{seconds:02d} in all, "
        f"about {size:.1f} MB{there}"
    )
