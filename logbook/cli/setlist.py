"""`logbook setlist NAME`: a set with its lengths, rigs and changes, and a better order for it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from logbook.cli.apps import examples
from logbook.cli.forms import (
    EVERY_SHEET,
    OpenOption,
    OutOption,
    PaperOption,
    form_of,
    form_option,
    hand_out,
)
from logbook.cli.log import changing, opened
from logbook.cli.nouns import noun_app
from logbook.cli.options import JsonOption
from logbook.errors import LogbookError

if TYPE_CHECKING:
    from logbook.records import Log, SetList
    from logbook.store.store import Store


FORMS = (*EVERY_SHEET, "csv")


def sheet(
    name: Annotated[
        str, typer.Argument(metavar="[NAME]", help="Which set; the only one if left out.")
    ] = "",
    order: Annotated[
        bool, typer.Option("--order", help="In the order in which the audience waits least.")
    ] = False,
    fewest: Annotated[
        bool,
        typer.Option("--fewest-changes", help="In the order with the fewest changes instead."),
    ] = False,
    keep: Annotated[
        bool, typer.Option("--keep", help="With an order: keep the set in this order.")
    ] = False,
    string_s: Annotated[
        float, typer.Option("--string", metavar="S", help="Seconds to retune a string.")
    ] = 15.0,
    capo_s: Annotated[
        float, typer.Option("--capo", metavar="S", help="Seconds to move a capo.")
    ] = 8.0,
    swap_s: Annotated[
        float, typer.Option("--swap", metavar="S", help="Seconds to swap instruments.")
    ] = 20.0,
    stage: Annotated[
        bool, typer.Option("--stage", help="As a page for the stage instead of the planner.")
    ] = False,
    form: Annotated[str, form_option(*FORMS)] = "",
    out: OutOption = None,
    open_it: OpenOption = False,
    paper: PaperOption = "A4",
    as_json: JsonOption = False,
) -> None:
    """Print a set: length, key, tempo and rigs of each song, and what changes between them."""
    from logbook.arranging.changeovers import ChangeTimes
    from logbook.arranging.setlist import FEWEST, WAITING, reordered, set_sheet
    from logbook.sheets.catalog import make_sheet
    from logbook.sheets.set_lists import AskedSet

    if keep and not (order or fewest):
        raise LogbookError(
            "there is no new order to keep", "give --order or --fewest-changes as well"
        )
    if order and fewest:
        raise LogbookError("--order and --fewest-changes were both given", "give one of them")
    chosen = form_of("a set list", FORMS, form, out, as_json=as_json)
    times = ChangeTimes(string_s, capo_s, swap_s)
    with opened() as store:
        log, setlist = _read(store, name)
    made = set_sheet(log, setlist, times)
    wish = FEWEST if fewest else WAITING
    found = reordered(log, setlist, times, wish) if order or fewest else None
    made_sheet = make_sheet("stage" if stage else "set list", AskedSet(made, found))
    hand_out(made_sheet, chosen, out, open_it=open_it, paper=paper)
    if keep and found is not None:
        entries = tuple(setlist.entries[place] for place in found.order.places)
        from logbook.store.editing import edit
        from logbook.store.finding import find

        with changing() as (_, change):
            edit(change, find(change.connection, "setlist", setlist.name), {"entries": entries})


def _read(store: Store, name: str) -> tuple[Log, SetList]:
    """Return the log and the set that is meant, by the beginning of its name."""
    from logbook.store.finding import choose
    from logbook.store.reading import read_log

    with store.reading() as connection:
        log = read_log(connection)
    names = [each.name for each in log.setlists]
    if not names:
        raise LogbookError("there is no set list yet", "add one with `logbook setlist add`")
    if not name and len(names) > 1:
        raise LogbookError("it is not clear which set is meant", f"name one of {', '.join(names)}")
    chosen = choose(name, names, "set list") if name else names[0]
    return log, next(each for each in log.setlists if each.name == chosen)


app = noun_app("setlist", default="sheet")
app.command(
    "sheet",
    epilog=examples(
        'logbook setlist "harbour fair"',
        'logbook setlist "harbour fair" --order --keep',
        'logbook setlist "harbour fair" --stage --out set.pdf',
        "logbook setlist harbour --fewest-changes",
        "logbook setlist harbour --string 10 --swap 30",
    ),
)(sheet)
