"""`logbook comp SONG PART`: the comp told, drawn and handed on."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from logbook.cli.answering import answer, answer_csv, answer_json
from logbook.cli.apps import examples
from logbook.cli.log import opened
from logbook.cli.nouns import noun_app
from logbook.cli.options import JsonOption, SongArgument, VersionOption
from logbook.cli.printing import remark, say, width
from logbook.errors import LogbookError

if TYPE_CHECKING:
    from logbook.records.context import Place

FORMS = ("text", "csv", "timeline", "json")


def show(
    song: SongArgument = "",
    part: Annotated[str, typer.Argument(metavar="[PART]", help="Which part.")] = "",
    version: VersionOption = "",
    comp: Annotated[
        str, typer.Option("--comp", "-c", metavar="NAME", help="Another comp than the final one.")
    ] = "",
    form: Annotated[
        str, typer.Option("--as", metavar="text|csv|timeline|json", help="In which form.")
    ] = "text",
    out: Annotated[
        Path | None, typer.Option("--out", "-o", metavar="FILE", help="Write it to a file.")
    ] = None,
    as_json: JsonOption = False,
) -> None:
    """Show a comp: as a sentence and a bar map, as rows (csv), or as a timeline file."""
    from logbook.sheets.comps import clips_found, comp_csv_rows, comp_lines, comp_sheet

    form = "json" if as_json else form
    if form not in FORMS:
        raise LogbookError(f"a comp cannot be shown as {form}", f"use {', '.join(FORMS)}")
    place = _place(song, version, part)
    if form == "timeline":
        _write_timeline(place, comp, out)
    elif form == "csv":
        answer_csv(comp_csv_rows(place, comp), out)
        for why in clips_found(place, comp)[1]:
            remark(f"without frames: {why}")
    elif form == "json":
        sheet = comp_sheet(place, comp)
        answer_json({key: value for key, value in vars(sheet).items() if key != "survey"}, out)
    else:
        sheet = comp_sheet(place, comp)
        answer("\n".join(comp_lines(place, sheet, width())), out)


def _place(song: str, version: str, part: str) -> Place:
    """Return the one part that is meant; without a name, the one that has a comp."""
    from logbook.cli.song_log import read_song
    from logbook.records.context import Place

    with opened() as store:
        found = read_song(store, song, version, part)
    places = [
        Place(found.log, found.song, each, one)
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
        f"it is not said which part of {found.song.title} is meant",
        f"name one of {', '.join(place.part.name for place in places)}"
        + (" and its --version" if len({place.version.name for place in places}) > 1 else ""),
    )


def _write_timeline(place: Place, comp: str, out: Path | None) -> None:
    from logbook.editing.timeline import write_timeline
    from logbook.sheets.comps import comp_clips

    if out is None:
        raise LogbookError("a timeline is a file", "say where it goes: --out guitar.otio")
    if out.suffix != ".otio":
        out = out.with_name(out.name + ".otio")
    write_timeline(out, place.title, comp_clips(place, comp))
    say(f"wrote {out}")


app = noun_app("comp", default="show", without=("show",))
app.command(
    "show",
    epilog=examples(
        'logbook comp "Low Water" guitar',
        'logbook comp "Low Water" guitar --as csv',
        'logbook comp add second --pieces "1-16 take 2" --pieces "17-32 take 5"',
    ),
)(show)
