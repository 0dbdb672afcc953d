"""`logbook tuning`: the log's tunings and the usual ones, with their pitches and frequencies."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any

import typer

from logbook.cli.apps import examples
from logbook.cli.log import opened
from logbook.cli.nouns import noun_app
from logbook.cli.options import JsonOption
from logbook.cli.printing import print_json, print_table, say, width
from logbook.errors import LogbookError
from logbook.strings.tunings import (
    StringTuning,
    find_tuning,
    parse_tuning,
    string_hz,
    string_number,
    usual_tunings,
)

if TYPE_CHECKING:
    from logbook.store.store import Store

app = noun_app("tuning", default="list", without=("list", "show"))


@app.command("list", epilog=examples("logbook tuning", "logbook tuning list --kind ukulele"))
def list_tunings(
    kind: Annotated[
        str,
        typer.Option("--kind", metavar="INSTRUMENT", help="Only those of this instrument."),
    ] = "",
    mine: Annotated[bool, typer.Option("--mine", help="Only those that are in the log.")] = False,
    as_json: JsonOption = False,
) -> None:
    """List the log's tunings and the usual ones, low string to high, with frequencies in hertz."""
    with opened() as store:
        logged = _logged(store)
    known = {each.name for each in logged}
    usual = [] if mine else [each for each in usual_tunings() if each.name not in known]
    wanted = kind.casefold()
    groups = [
        ("In the log", [each for each in logged if wanted in each.kind]),
        ("Usual tunings", [each for each in usual if wanted in each.kind]),
    ]
    if as_json:
        print_json([_data(each, each.name in known) for _, group in groups for each in group])
        return
    for heading, group in groups:
        if group:
            say(f"{heading}:")
            for each in group:
                _print_tuning(each)
    if not any(group for _, group in groups):
        say("no tunings" + (f" of a {kind}" if kind else " in the log yet"))


@app.command("show", epilog=examples("logbook tuning show DADGAD"))
def show(
    words: Annotated[
        list[str] | None,
        typer.Argument(metavar="NAME", help="A tuning of the log, or a usual one."),
    ] = None,
    as_json: JsonOption = False,
) -> None:
    """Show each string of a tuning: its number, pitch, frequency, note number."""
    from logbook.names import pick

    name = " ".join(words or [])
    with opened() as store:
        logged = {each.name: each for each in _logged(store)}
    try:
        tuning = logged[pick(name, list(logged), "tuning")]
    except LogbookError:
        tuning = find_tuning(name)
    if as_json:
        print_json(_data(tuning, tuning.name in logged))
        return
    offset = f", {tuning.offset_cents:+g} cents" if tuning.offset_cents else ""
    say(f"{tuning.name} (A4 = {tuning.a4_hz:g} Hz{offset})")
    rows = [
        [
            str(string_number(index, len(tuning))),
            string.text,
            " / ".join(f"{hz:.2f} Hz" for hz in string_hz(tuning, index)),
            " / ".join(map(str, string.course_midi)),
        ]
        for index, string in enumerate(tuning.strings)
    ]
    print_table(["string", "pitch", "frequency", "note number"], rows)


def _logged(store: Store) -> list[StringTuning]:
    from logbook.store.reading import read_rows

    with store.reading() as connection:
        records = [row.record for row in read_rows(connection, "tuning")]
    return [
        parse_tuning(each.strings, name=each.name, a4_hz=each.a4_hz, offset_cents=each.offset_cents)
        for each in records
    ]


def _print_tuning(tuning: StringTuning) -> None:
    from textwrap import wrap

    strings = [
        f"{string.text}\xa0{'/'.join(f'{hz:.1f}' for hz in string_hz(tuning, index))}"
        for index, string in enumerate(tuning.strings)
    ]
    pitch = "" if tuning.a4_hz == 440.0 else f"  (A4 = {tuning.a4_hz:g} Hz)"
    lines = wrap("  ".join(strings), width() - 22, break_on_hyphens=False) or [""]
    name = tuning.name
    if len(name) > 18:
        say(f"  {name}")
        name = ""
    for index, line in enumerate(lines):
        line = f"  {name if index == 0 else '':18}  {line.replace(chr(0xA0), ' ')}"
        say(line + (pitch if index == len(lines) - 1 else ""))


def _data(tuning: StringTuning, logged: bool) -> dict[str, Any]:
    return {
        "name": tuning.name,
        "in_the_log": logged,
        "instrument": tuning.kind,
        "a4_hz": tuning.a4_hz,
        "offset_cents": tuning.offset_cents,
        "strings": [
            {
                "string": string_number(index, len(tuning)),
                "pitch": string.text,
                "midi": list(string.course_midi),
                "hz": [round(hz, 4) for hz in string_hz(tuning, index)],
            }
            for index, string in enumerate(tuning.strings)
        ],
    }
