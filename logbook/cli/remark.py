"""`logbook remark`: the notebook lines that nobody could read yet, and settling them."""

from __future__ import annotations

from typing import Annotated

import typer

from logbook.cli.apps import examples
from logbook.cli.log import opened, settings
from logbook.cli.nouns import noun_app
from logbook.cli.options import JsonOption
from logbook.cli.printing import print_json, print_table, say, width
from logbook.errors import LogbookError

app = noun_app("remark", default="list", without=("list",))


@app.command("list", epilog=examples("logbook remark", "logbook remark list --all"))
def list_remarks(
    every: Annotated[bool, typer.Option("--all", help="Those that are settled too.")] = False,
    as_json: JsonOption = False,
) -> None:
    """List the remarks that nobody has settled yet."""
    from logbook.store.reading import read_rows

    with opened() as store, store.reading() as connection:
        remarks = [row.record for row in read_rows(connection, "remark")]
    if not every:
        remarks = [each for each in remarks if not each.settled]
    if as_json:
        print_json(remarks)
        return
    if not remarks:
        say("no remarks are open" if not every else "no remarks yet")
        return
    headings = ["", "line", "why" if not every else "why or what became of it"]
    print_table(headings, [[each.name, each.text, each.settled or each.why] for each in remarks])


@app.command(
    "settle",
    epilog=examples(
        "logbook remark settle 3 asked Oda, it was a cough",
        "logbook remark settle 3 --line 't4 keeper 1-16'",
    ),
)
def settle(
    name: Annotated[str, typer.Argument(metavar="REMARK", help="Its number.")],
    words: Annotated[
        list[str] | None,
        typer.Argument(metavar="[WHAT]...", help="What became of it.", show_default=False),
    ] = None,
    line: Annotated[
        str, typer.Option("--line", metavar="LINE", help="The notebook line that was meant.")
    ] = "",
    as_json: JsonOption = False,
) -> None:
    """Settle a remark: say what became of it, or write the line that was meant."""
    from logbook.cli.note import answer_lines
    from logbook.notebook.lines.log_lines import Notebook
    from logbook.store.editing import edit
    from logbook.store.finding import find

    said = " ".join(words or ())
    if not said and not line:
        raise LogbookError(
            "it is not clear what became of the remark",
            "write it after its number, or give the line that was meant with --line",
        )
    with opened() as store:
        with store.reading() as connection:
            find(connection, "remark", name)
        if line:
            answer = Notebook(store).trial(line)
            if not answer.read:
                raise LogbookError(f"{line!r} cannot be read either: {answer.why}", answer.remedy)
            answer = Notebook(store).write(line)
            if not as_json:
                say("\n".join(answer_lines(answer, numbered=False, width=width())))
            said = f"{said}; {line}" if said else line
        with store.change(settings.command) as change:
            found = find(change.connection, "remark", name)
            edit(change, found, {"settled": said})
    if as_json:
        print_json({"remark": found.name, "settled": said})
    else:
        say(f"settled remark {found.name}: {said}")
