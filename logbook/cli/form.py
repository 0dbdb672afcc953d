"""`logbook form`: the form of a version, and bars and sections put in, taken out and moved."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import TYPE_CHECKING, Annotated

import typer

from logbook.cli.apps import examples, new_app
from logbook.cli.log import changing, opened
from logbook.cli.options import JsonOption
from logbook.cli.printing import print_json, print_table, say
from logbook.errors import LogbookError

if TYPE_CHECKING:
    from logbook.cli.noun_place import Owner
    from logbook.records import FormSection, Version
    from logbook.records.form_edits import Edited
    from logbook.timing.bars import BarRange

app = new_app(
    "The form: its sections and bars. What is put in, taken out or moved takes chart, takes, "
    "punch-ins, comp, notes, tempo and meter along; what cannot move is listed, and one undo "
    "brings all of it back.",
    examples=(
        "logbook form",
        "logbook form insert 4 --before 9",
        "logbook form move B2 --before A",
    ),
    default="list",
)

Song = Annotated[str, typer.Option("--song", metavar="NAME", help="Another song.")]
Name = Annotated[
    str, typer.Option("--version", "-v", metavar="NAME", help="Another version of the song.")
]
Before = Annotated[
    str,
    typer.Option(
        "--before", metavar="PLACE", help="Before this bar or section (B2 is the second B)."
    ),
]


@app.command("list", epilog=examples("logbook form", "logbook form list --song low"))
def list_form(song: Song = "", version: Name = "", as_json: JsonOption = False) -> None:
    """List the sections of the form and their bars."""
    from logbook.cli.noun_place import find_place

    with opened() as store, store.reading() as connection:
        owner = find_place(connection, "section", _said(song, version))
    form = sorted(owner.records[-1].form, key=lambda each: each.start)
    if as_json:
        print_json(form)
        return
    say(" / ".join(owner.titles))
    if not form:
        say("no form yet; say it as in: logbook note 'A 8 bars, B 8 bars, A, B'")
        return
    rows = [[each.name, _bars(each), str(each.bars), each.notes] for each in form]
    print_table(["section", "bars", "length", ""], rows)


@app.command(
    "insert",
    epilog=examples(
        "logbook form insert 4 --before 9",
        "logbook form insert 'C 8 bars' --before B2",
        "logbook form insert 'coda 4 bars'",
    ),
)
def insert(
    what: Annotated[
        str, typer.Argument(metavar="BARS|SECTION", help='A number of bars, or "C 8 bars".')
    ],
    before: Before = "",
    song: Song = "",
    version: Name = "",
) -> None:
    """Put bars into a section, or a new section between two; without --before at the end."""
    from logbook.records.form_edits import insert_bars, insert_section

    section = re.fullmatch(r"(?P<name>.*\S)\s+(?P<bars>[0-9]{1,5})(?:\s*bars?)?", what.strip())
    count = re.fullmatch(r"([0-9]{1,5})(?:\s*bars?)?", what.strip())
    if section is None and count is None:
        raise LogbookError(
            f'"{what}" is neither a number of bars nor a section',
            'write 4, or "C 8 bars" for a section',
        )

    def edited(old: Version) -> Edited:
        at = _start(before, old) if before else None
        if count is not None:
            end = max((each.start + each.bars for each in old.form), default=1)
            return insert_bars(old, at or end, int(count[1]))
        assert section is not None
        return insert_section(old, section["name"], int(section["bars"]), at)

    _change(edited, song, version)


@app.command("delete", epilog=examples("logbook form delete 9-12", "logbook form delete B2"))
def delete(
    place: Annotated[str, typer.Argument(metavar="BARS|SECTION", help="Bars, or a section.")],
    song: Song = "",
    version: Name = "",
) -> None:
    """Take bars or a section out; what follows moves up."""
    from logbook.records.form_edits import delete_bars

    def edited(old: Version) -> Edited:
        span = _one_range(place, old)
        return delete_bars(old, span.start.bar, span.end.bar - 1)

    _change(edited, song, version)


@app.command("move", epilog=examples("logbook form move B2 --before A", "logbook form move A2"))
def move(
    section: Annotated[str, typer.Argument(metavar="SECTION", help="Which section.")],
    before: Before = "",
    song: Song = "",
    version: Name = "",
) -> None:
    """Move a section before another one; without --before to the end."""
    from logbook.records.form_edits import move_section

    def edited(old: Version) -> Edited:
        at = _start(before, old) if before else None
        return move_section(old, _start(section, old), at)

    _change(edited, song, version)


def _said(song: str, version: str) -> dict[str, str]:
    return {key: value for key, value in (("song", song), ("version", version)) if value}


def _change(edited: Callable[[Version], Edited], song: str, version: str) -> None:
    from logbook.cli.noun_place import find_place
    from logbook.notebook.form_changes import carry_form

    with changing() as (_, change):
        owner: Owner = find_place(change.connection, "section", _said(song, version))
        old = owner.records[-1]
        new = edited(old)
        told = carry_form(change, owner.place, old, new)
    form = ", ".join(f"{each.name} {_bars(each)}" for each in new.version.form)
    say(f"{' / '.join(owner.titles)}: {form}")
    for each in told:
        say(f"  {each}")


def _bars(section: FormSection) -> str:
    last = section.start + section.bars - 1
    return f"{section.start}-{last}" if section.bars > 1 else str(section.start)


def _ranges(place: str, version: Version) -> list[BarRange]:
    from logbook.notebook.lines.where import Where
    from logbook.notebook.lines.words import ranges_of
    from logbook.records import Song as SongRecord

    where = Where(song=SongRecord(title="-", versions=(version,)), version=version.name)
    return ranges_of(place, where)


def _one_range(place: str, version: Version) -> BarRange:
    found = _ranges(place, version)
    if len(found) > 1:
        raise LogbookError(
            f"{place} comes {len(found)} times", f"say which: {place}1 to {place}{len(found)}"
        )
    return found[0]


def _start(place: str, version: Version) -> int:
    """The bar a place begins at; of several sections of a name the first."""
    return _ranges(place, version)[0].start.bar
