"""What each noun may belong to, and the options that say so. Knows nothing of the database."""

from __future__ import annotations

from logbook.notebook.declare import Collection
from logbook.notebook.nouns import LOG, NOUNS

CHAINS: dict[str, tuple[str, ...]] = {
    "log": (),
    "session": ("session",),
    "project": ("project",),
    "setlist": ("setlist",),
    "song": ("song",),
    "version": ("song", "version"),
    "part": ("song", "version", "part"),
    "arrangement": ("song", "version", "arrangement"),
    "take": ("song", "version", "part", "take"),
    "comp": ("song", "version", "part", "comp"),
}
"""What an owner stands in, outermost first, itself last."""


def owners_of(word: str) -> dict[str, Collection]:
    """Return what a noun may belong to, and the collection it is in there."""
    found: dict[str, Collection] = {}
    for owner in (LOG, *NOUNS.values()):
        for collection in owner.collections:
            if collection.noun == word and owner.word in CHAINS:
                found[owner.word] = collection
    return found


def owner_options(word: str) -> tuple[str, ...]:
    """Return the options that say what a noun's record belongs to."""
    names = [name for owner in owners_of(word) for name in CHAINS[owner]]
    if word == "take" or "take" in names:
        names.append("session")
    return tuple(dict.fromkeys(names))


def is_option(collection: Collection) -> bool:
    """Whether a collection may be said in options: a plain list of lines."""
    noun = NOUNS[collection.noun]
    nested = collection.labelled or collection.grouped or collection.unpack or noun.collections
    return not nested and noun.word != "file" and bool(noun.line or collection.read_all)
