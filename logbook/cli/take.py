"""`logbook take`: the shortest command of all, for the next take of the current part."""

from __future__ import annotations

from typing import Annotated

import typer

from logbook.cli.apps import examples
from logbook.cli.log import changing
from logbook.cli.nouns import noun_app
from logbook.cli.options import JsonOption
from logbook.cli.printing import print_json, say
from logbook.errors import LogbookError

app = noun_app("take", default="add", without=("add",))
app.info.epilog = examples(
    'logbook take keeper 1-32 "the one with the long ring"', "logbook take f", "logbook take list"
)


@app.command(
    "add",
    epilog=examples(
        'logbook take keeper 1-32 "the one with the long ring"',
        "logbook take c 1-32 --punch 12 --punch '20-21 late'",
        "logbook take",
    ),
)
def add(
    words: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="[RESULT] [BARS] [NOTE]...",
            help="keeper, complete, incomplete, false start or reject, by its beginning; the "
            "bars; a note. Each may be left out.",
            show_default=False,
        ),
    ] = None,
    punch: Annotated[
        list[str] | None,
        typer.Option(
            "--punch",
            metavar="BARS",
            help="Bars recorded over, with why if need be; give it again for each.",
        ),
    ] = None,
    at: Annotated[
        str, typer.Option("--at", "-a", metavar="PART", help="Another part than the current one.")
    ] = "",
    session: Annotated[
        str, typer.Option("--session", "-s", metavar="NAME", help="Another session.")
    ] = "",
    song: Annotated[str, typer.Option("--song", metavar="NAME", help="Another song.")] = "",
    version: Annotated[
        str, typer.Option("--version", "-v", metavar="NAME", help="Another version.")
    ] = "",
    number: Annotated[
        int | None,
        typer.Option("--number", "-n", min=1, help="Its number, if not the next one."),
    ] = None,
    as_json: JsonOption = False,
) -> None:
    """Log the next take of the current part; the number is given by itself."""
    from logbook.cli.noun_place import find_place
    from logbook.notebook.applying import StoreKnown
    from logbook.notebook.nouns import NOUNS
    from logbook.notebook.read import read_fields
    from logbook.store.writing import next_take, put

    result, bars, note = split(list(words or []))
    whose = {"part": at, "song": song, "version": version, "session": session}
    with changing() as (_, change):
        owner = find_place(change.connection, "take", {k: v for k, v in whose.items() if v})
        context = owner.context(StoreKnown(change.connection))
        table = {
            "session": session or owner.here.session,
            "result": result,
            "bars": bars,
            "notes": note,
            "punch": list(punch or []),
            "number": 1,
        }
        take = read_fields(NOUNS["take"], table, context)
        taken = {each.number for each in owner.siblings if each.session == take.session}
        if number in taken:
            raise LogbookError(
                f"there is a take {number} already", "leave --number out for the next one"
            )
        table["number"] = number or next_take(change, owner.place, take.session)
        take = read_fields(NOUNS["take"], table, context)
        put(change, take, owner.place)
    if as_json:
        print_json({"place": list(owner.titles), "take": take})
        return
    title, _, part = owner.titles
    words = [f"take {take.number} of {part}, {title}: {take.result or 'not rated yet'}"]
    if take.bars:
        words.append(f"bar{'s' if '-' in take.bars else ''} {take.bars}")
    if take.punch_ins:
        words.append("punched in at " + " and ".join(each.bars for each in take.punch_ins))
    say(", ".join(words))


def split(words: list[str]) -> tuple[str, str, str]:
    """Part what was typed into a result, bars and a note, each of which may be missing.

    Raises LogbookError for a word that is none of them.
    """
    from logbook.editing.takes import parse_result

    result = bars = ""
    rest = list(words)
    if len(rest) > 1 and _reads(" ".join(rest[:2])):
        result, rest = parse_result(" ".join(rest[:2])).value, rest[2:]
    elif rest and _reads(rest[0]):
        result, rest = parse_result(rest[0]).value, rest[1:]
    if rest and rest[0][:1].isdigit() and " " not in rest[0].strip():
        bars, rest = rest[0], rest[1:]
    if not result and not bars and len(rest) == 1 and " " not in rest[0]:
        # One word that is nothing else is more likely a slip than a note.
        parse_result(rest[0])
    return result, bars, " ".join(rest)


def _reads(text: str) -> bool:
    from logbook.editing.takes import parse_result

    try:
        parse_result(text)
    except LogbookError:
        return False
    return True
