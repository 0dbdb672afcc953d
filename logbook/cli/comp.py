"""`logbook comp SONG PART`: the comp told, drawn and handed on."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from logbook.cli.apps import examples
from logbook.cli.comp_draft import draft
from logbook.cli.forms import (
    EVERY_SHEET,
    OpenOption,
    OutOption,
    PaperOption,
    form_of,
    form_option,
    hand_out,
)
from logbook.cli.log import opened
from logbook.cli.nouns import noun_app
from logbook.cli.options import JsonOption, SongArgument, VersionOption
from logbook.cli.playing import AudioOption, check_audio, plays_beside
from logbook.cli.printing import remark, say
from logbook.errors import LogbookError

if TYPE_CHECKING:
    from logbook.records.part_view import PartView

FORMS = (*EVERY_SHEET, "csv", "svg", "timeline")


def show(
    song: SongArgument = "",
    part: Annotated[str, typer.Argument(metavar="[PART]", help="Which part.")] = "",
    version: VersionOption = "",
    comp: Annotated[
        str, typer.Option("--comp", "-c", metavar="NAME", help="A comp other than the final one.")
    ] = "",
    form: Annotated[str, form_option(*FORMS)] = "",
    out: OutOption = None,
    open_it: OpenOption = False,
    paper: PaperOption = "A4",
    as_json: JsonOption = False,
    audio: AudioOption = False,
) -> None:
    """Show a comp: as a sentence and a bar map, as rows (csv), or as a timeline file."""
    chosen = form_of("a comp", FORMS, form, out, as_json=as_json)
    if audio:
        check_audio(chosen, out)
    place = _place(song, version, part)
    if chosen == "timeline":
        _write_timeline(place, comp, out)
        return
    from logbook.sheets.catalog import make_sheet
    from logbook.sheets.comps import AskedComp, log_with_comp, pieces_without_frames

    made = make_sheet("comp", AskedComp(place, comp))
    plays = ""
    if audio and out is not None:
        plays = plays_beside(log_with_comp(place, comp), place.song.title, "comp", out)
    hand_out(made, chosen, out, open_it=open_it, paper=paper, plays=plays)
    if chosen == "csv":
        for why in pieces_without_frames(place, comp):
            remark(f"without frames: {why}")


def _place(song: str, version: str, part: str) -> PartView:
    """Return the one part that is meant; without a name, the one that has a comp."""
    from logbook.cli.song_log import read_song
    from logbook.records.part_view import PartView

    with opened() as store:
        found = read_song(store, song, version, part)
    places = [
        PartView(found.log, found.song, each, one)
        for each in found.versions()
        for one in found.parts(each)
    ]
    with_comp = [place for place in places if place.part.comps]
    if not part and with_comp:
        places = with_comp
    if len(places) == 1:
        return places[0]
    if not places:
        raise LogbookError(f"{found.song.title} has no part yet", "add one with `logbook part add`")
    raise LogbookError(
        f"it is not clear which part of {found.song.title} is meant",
        f"name one of {', '.join(place.part.name for place in places)}"
        + (" and its --version" if len({place.version.name for place in places}) > 1 else ""),
    )


def _write_timeline(place: PartView, comp: str, out: Path | None) -> None:
    from logbook.editing.handles import missing_handles
    from logbook.editing.timeline import write_timeline
    from logbook.sheets.comps import comp_clips, handle_said

    if out is None:
        raise LogbookError("a timeline is a file", "say where it goes: --out guitar.otio")
    if out.suffix != ".otio":
        out = out.with_name(out.name + ".otio")
    clips = comp_clips(place, comp)
    write_timeline(out, place.title, clips)
    say(f"wrote {out}")
    for missing in missing_handles(clips):
        remark(f"the crossfade is shorter at bar {handle_said(missing)}")


app = noun_app("comp", default="show", without=("show",))
app.command(
    "show",
    epilog=examples(
        'logbook comp "Low Water" guitar',
        'logbook comp "Low Water" guitar --as csv',
        'logbook comp "Low Water" guitar --audio --out comp.html',
        'logbook comp add second --pieces "1-16 take 2" --pieces "17-32 take 5"',
    ),
)(show)
app.command(
    "draft",
    epilog=examples(
        'logbook comp draft "Low Water" voice',
        'logbook comp draft "Low Water" voice --accept --xfade 10',
    ),
)(draft)
