"""Addresses of a book's pages: safe as file names anywhere, and never the same twice.

An address is letters, figures and dashes, at most 60 of them, small letters only, since some
file systems take A for a. Where two names would come out alike, each gets the first figures of
its digest behind it, so that no address depends on what else is in the log in which order.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Mapping
from hashlib import sha256

_LONGEST = 60
_PORTS = {f"{port}{number}" for port in ("com", "lpt") for number in range(1, 10)}
_TAKEN = frozenset({"con", "prn", "aux", "nul", "index"} | _PORTS)
"""Names that some computers keep for themselves, and the index's."""


_NOT_LETTERS_WITH_MARKS = str.maketrans(
    {
        "ø": "o", "Ø": "O", "ł": "l", "Ł": "L", "đ": "d", "Đ": "D", "ð": "d", "Ð": "D",
        "þ": "th", "Þ": "Th", "æ": "ae", "Æ": "Ae", "œ": "oe", "Œ": "Oe", "ß": "ss", "ı": "i",
        "'": "", "’": "", "‘": "", "ʼ": "",
    }
)  # fmt: skip
"""Letters that do not come apart into a plain one and its mark, and apostrophes, which part no
word in two."""


def plain_name(name: str) -> str:
    """Return a name as it can stand in an address; empty where nothing of it can.

    A letter with a mark keeps its letter: "L'Été du Søren" is "lete-du-soren".
    """
    flat = unicodedata.normalize("NFKD", name.translate(_NOT_LETTERS_WITH_MARKS))
    kept = "".join(
        each if each.isascii() and each.isalnum() else " "
        for each in flat
        if not unicodedata.combining(each)
    )
    return "-".join(kept.lower().split())[:_LONGEST].strip("-")


def addresses(names: Iterable[str]) -> Mapping[str, str]:
    """Return an address for each name, all of them different."""
    plain = {name: plain_name(name) for name in dict.fromkeys(names)}
    counted: dict[str, int] = {}
    for address in plain.values():
        counted[address] = counted.get(address, 0) + 1
    return {
        name: _marked(name, address)
        if not address or address in _TAKEN or counted[address] > 1 or _ends_in_digest(address)
        else address
        for name, address in plain.items()
    }


def _marked(name: str, address: str) -> str:
    mark = sha256(name.encode("utf-8", "surrogatepass")).hexdigest()[:10]
    return f"{address[: _LONGEST - 11]}-{mark}" if address else mark


def _ends_in_digest(address: str) -> bool:
    """Whether a plain name could be taken for another that was marked."""
    last = address.rpartition("-")[2]
    return len(last) == 10 and all(each in "0123456789abcdef" for each in last)
