"""`logbook search`: where in the log some words stand."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Annotated

import typer

from logbook.cli.apps import new_app
from logbook.cli.log import opened
from logbook.cli.options import JsonOption
from logbook.cli.printing import print_json, remark, say, width
from logbook.errors import LogbookError

if TYPE_CHECKING:
    from logbook.store.searching import Hit

app = new_app(
    "Find words anywhere in the log: titles, sections, people, notes. All of the words have to "
    "stand in the same place.",
    examples=("logbook search motor", 'logbook search "low string" --limit 5'),
    single=True,
)


@app.command()
def search(
    words: Annotated[list[str], typer.Argument(metavar="WORDS", help="What is looked for.")],
    limit: Annotated[int, typer.Option("--limit", "-n", min=1, help="How many at most.")] = 50,
    as_json: JsonOption = False,
) -> None:
    """Find words anywhere in the log."""
    from textwrap import wrap

    from logbook.store.searching import search as find_words

    wanted = " ".join(words)
    if not wanted.strip():
        raise LogbookError("there are no words to look for", "give at least one")
    with opened() as store, store.reading() as connection:
        # One more than is shown, to know whether there are more.
        found = find_words(connection, wanted, limit + 1)
    hits = found[:limit]
    if len(found) > limit:
        shown = "one is" if limit == 1 else f"{limit} are"
        remark(f"only the first {shown} shown; --limit {limit * 4} shows more")
    if as_json:
        print_json(
            [
                {"kind": hit.kind, "place": _where(hit), "field": hit.field, "text": hit.text}
                for hit in hits
            ]
        )
        return
    if not hits:
        say(f"nothing in the log holds {wanted}")
        return
    for hit in hits:
        what = f"{_noun(hit.kind)} {hit.field.replace('_', ' ')}"
        lines = wrap(f"{_where(hit)}, {what}: {_said(hit.text)}", width(), subsequent_indent="  ")
        say("\n".join(lines))


def _said(text: str) -> str:
    """A field's text; a list that is kept as JSON, as a list is said."""
    if not text.startswith("["):
        return text
    try:
        listed = json.loads(text)
    except ValueError:
        return text
    return ", ".join("=".join(each) if isinstance(each, list) else str(each) for each in listed)


def _where(hit: Hit) -> str:
    place = hit.place
    names = [place.song, place.version, place.part]
    if place.take is not None:
        names.append(f"take {place.take}")
    names += [place.comp, place.arrangement, place.setlist, place.project]
    names.append(place.file if hit.field != "path" else "")
    return " / ".join(name for name in names if name) or "-"


def _noun(kind: str) -> str:
    from logbook.store.finding import noun

    return noun(kind)
