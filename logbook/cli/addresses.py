"""Addresses of databases among the words of a command: only `--db` takes one.

A word that is one would otherwise become a file's name, a folder, a song or a line of the history,
with the password that may stand in it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from logbook.errors import LogbookError

# The kind of database, then what stands behind it in an address, also in a mistyped one.
_ADDRESS = re.compile(
    r"\s*(?:postgres\w*|pgsql|mysql|mariadb)(?:\+\w+)?(?::[/\\]|//|[:;][^\s@]*@)\S*\s*",
    re.IGNORECASE,
)
_STRING = re.compile(
    r"(?=.*\bpassword\s*=\s*\S).*\b(?:host|hostaddr|port|user|dbname|service)\s*=", re.DOTALL
)


def refuse_addresses(arguments: Sequence[str]) -> None:
    """Raise LogbookError where a word is a database's address and not what --db is given."""
    for word in _words(arguments):
        if _ADDRESS.fullmatch(word) or _STRING.match(word):
            raise LogbookError(
                "the address of a database stands where none is taken",
                "give it with --db or LOGBOOK_DB, and name a file or a song here",
            )


def _words(arguments: Sequence[str]) -> Iterator[str]:
    """The words of a command but for the log's name, and what options are given after "="."""
    plain = False
    coming = iter(arguments)
    for word in coming:
        if plain:
            yield word
        elif word == "--":
            plain = True
        elif word == "--db":
            next(coming, "")
        elif word.startswith("--"):
            name, _, value = word.partition("=")
            if name != "--db":
                yield value
        else:
            yield word
