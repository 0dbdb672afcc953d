"""`logbook comp draft`: a comp drafted from the votes, and accepted where that is said."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from logbook.cli.forms import EVERY_SHEET, OutOption, form_of, form_option, hand_out
from logbook.cli.log import opened, settings
from logbook.cli.options import JsonOption, SongArgument, VersionOption
from logbook.cli.printing import print_json, remark, say, shell_word
from logbook.errors import LogbookError

if TYPE_CHECKING:
    from logbook.records import Comp
    from logbook.records.part_view import PartView

FORMS = (*EVERY_SHEET, "csv")


def draft(
    song: SongArgument = "",
    part: Annotated[str, typer.Argument(metavar="[PART]", help="Which part.")] = "",
    version: VersionOption = "",
    accept: Annotated[
        bool, typer.Option("--accept", help="Put the draft into the log as a comp of the part.")
    ] = False,
    name: Annotated[
        str, typer.Option("--name", metavar="NAME", help="What the comp is to be called.")
    ] = "",
    replace: Annotated[
        bool, typer.Option("--replace", help="Replace the comp of that name.")
    ] = False,
    fade: Annotated[
        str, typer.Option("--xfade", metavar="MS", help="A crossfade at each join, as in 10.")
    ] = "",
    form: Annotated[str, form_option(*FORMS)] = "",
    out: OutOption = None,
    as_json: JsonOption = False,
) -> None:
    """Draft a comp from the votes: the best-voted take for each line, with as few joins as can be.

    Without --accept nothing is written. The final comp stays the final one.
    """
    from logbook.cli.song_log import read_song
    from logbook.cli.vote import part_voted_on
    from logbook.sheets.catalog import make_sheet
    from logbook.sheets.voted_comps import AskedVotes

    fade_ms = _milliseconds(fade)
    chosen = form_of("a draft", FORMS, form, out, as_json=as_json)
    with opened() as store:
        found = read_song(store, song, version, part)
        place = part_voted_on(found, part)
        if not accept:
            if name or replace:
                raise LogbookError(
                    "--name and --replace say where a draft goes", "add --accept to put it there"
                )
            hand_out(make_sheet("votes", AskedVotes(place, draft=True)), chosen, out)
            if chosen == "text" and out is None:
                words = [place.song.title, place.part.name]
                if len(place.song.versions) > 1:
                    words += ["--version", place.version.name]
                line = " ".join(map(shell_word, words))
                remark(f"nothing is written yet; logbook comp draft {line} --accept does")
            return
        comp = _comp(place, name, fade_ms, replace=replace)
        from logbook.store.finding import LogPlace
        from logbook.store.writing import put

        with store.change(settings.command) as change:
            where = LogPlace(place.song.title, place.version.name, place.part.name)
            put(change, comp, where)
    final = next((each.name for each in place.part.comps if each.final), "")
    if as_json:
        print_json({"comp": comp, "final": comp.final})
        return
    say(f"{'replaced' if _there(place, comp.name) else 'added'} {comp.name} ({place.title})")
    if final and not comp.final:
        say(
            f"{final} is still the final comp; to have {comp.name} heard:"
            f" logbook comp edit {shell_word(comp.name)} --final"
        )


def _there(place: PartView, name: str) -> Comp | None:
    from logbook.names import alike

    return next((each for each in place.part.comps if alike(each.name, name)), None)


def _comp(place: PartView, name: str, fade_ms: float | None, *, replace: bool) -> Comp:
    """Return the comp to be written. Raises LogbookError where one is there that must stay."""
    from logbook.notebook.fields_takes import USUAL_COMP
    from logbook.records.voted import USUAL_DRAFT, comp_of_draft, drafted

    draft_made = drafted(place)
    if not draft_made.pieces:
        raise LogbookError(
            f"no take of {place.title} covers any of its bars", "log which bars the takes cover"
        )
    usual = USUAL_DRAFT if place.part.comps else USUAL_COMP
    there = _there(place, name or usual)
    # What was drafted before and is not heard may be drafted anew.
    if there is not None and not replace and (name or there.final):
        raise LogbookError(
            f"{place.title}: a comp called {there.name} already exists",
            "give the draft another --name, or add --replace to put it there",
        )
    final = there.final if there is not None else not any(each.final for each in place.part.comps)
    called = there.name if there is not None else name or usual
    return comp_of_draft(place, draft_made, called, final, fade_ms)


def _milliseconds(text: str) -> float | None:
    body = text.strip().casefold().removesuffix("ms").strip()
    if not body:
        return None
    try:
        found = float(body)
    except ValueError:
        found = -1.0
    if not 0 < found <= 10_000:
        raise LogbookError(f"{text!r} is not the length of a crossfade", "write it in ms, as in 10")
    return found
