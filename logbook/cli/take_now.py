"""`logbook take k 1-16`: the commonest form of the shortest command, without all that others need.

Only results and bars in figures are read here; anything else goes to `logbook.cli.take`.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Sequence
from typing import Annotated

import typer

from logbook.cli.apps import new_app
from logbook.cli.log import opened, settings
from logbook.cli.printing import say

RESULTS = ("keeper", "complete", "incomplete", "false start", "reject")
SUBCOMMANDS = ("add", "list", "show", "edit", "remove", "move")

app = new_app("Log the next take of the current part.", single=True)


def is_plain(words: Sequence[str]) -> bool:
    """Whether a take is said in a few plain words, as far as one can tell from afar."""
    return len(words) < 8 and not any(word.startswith("-") or word in SUBCOMMANDS for word in words)


@app.command()
def take(words: Annotated[list[str] | None, typer.Argument()] = None) -> None:
    """Log the next take of the current part."""
    from logbook.store.quick_take import add_next_take

    read = result_and_bars(list(words or ()))
    done = None
    if read is not None:
        with opened() as store:
            today = datetime.date.today().isoformat()
            done = add_next_take(store, settings.command, *read, today)
    if read is None or done is None:
        from logbook.cli.take import add

        add(words=words)
        return
    result, bars = read
    told = [f"take {done.number} of {done.part}, {done.song}: {result or 'not rated yet'}"]
    told += [f"bar{'s' if '-' in bars else ''} {bars}"] if bars else []
    told.append(f"session {done.session}" if done.session else "no session")
    say(", ".join(told))


def result_and_bars(words: list[str]) -> tuple[str, str] | None:
    """Read a result (by its beginning) and bars in figures, in any order; None for all else."""
    result = bars = ""
    rest = [word for each in words for word in each.split()]
    while rest:
        two = " ".join(rest[:2]).casefold()
        if not result and two == "false start":
            result, rest = two, rest[2:]
            continue
        word = rest.pop(0).casefold()
        found = re.fullmatch(r"([0-9]{1,5})(?:[-\u2013]([0-9]{1,5}))?", word)
        if found and not bars:
            first, last = int(found[1]), int(found[2] or found[1])
            if last < first:
                return None
            bars = str(first) if first == last else f"{first}-{last}"
            continue
        # One letter, or enough of the word that it is no other: as in the longer way.
        begun = [each for each in RESULTS if each.startswith(word)]
        if result or len(begun) != 1 or len(word) == 2:
            return None
        result = begun[0]
    return result, bars
