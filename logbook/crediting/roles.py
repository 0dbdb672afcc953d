"""The roles of the trade: what they are called, where they may stand, in which order they print.

A role stands on a song (who made the composition), a version (who made this recording of it), a
session (who worked that day) or a part (who played or treated this one thing). The words and
their places are common practice, no source. The order of the list is the order on a sleeve.
"""

from __future__ import annotations

from dataclasses import dataclass
from difflib import get_close_matches
from typing import Final

from logbook.crediting.errors import CreditError

SONG: Final = "song"
VERSION: Final = "version"
SESSION: Final = "session"
PART: Final = "part"


@dataclass(frozen=True, slots=True)
class RoleKind:
    """One role: its word, where it may stand, how a sleeve says it, other words for it.

    `sleeve` opens the sentence on a sleeve ("Mixed by"); `makes` groups roles that answer the
    same question ("engineer" for whoever recorded), for finding what is missing.
    """

    word: str
    places: tuple[str, ...]
    sleeve: str
    makes: str = ""
    also: tuple[str, ...] = ()


_RECORDING = (VERSION, SESSION, PART)

ROLES: Final = (
    RoleKind("writer", (SONG,), "Written by", "writer", ("songwriter", "song writer", "author")),
    RoleKind("composer", (SONG,), "Music by", "writer", ("music", "music by")),
    RoleKind("lyricist", (SONG,), "Words by", "writer", ("words", "lyrics", "words by")),
    RoleKind("translator", (SONG,), "Words translated by"),
    RoleKind("publisher", (SONG,), "Published by", "publisher"),
    RoleKind("arranger", (SONG, VERSION, PART), "Arranged by", "", ("arrangement", "arranged by")),
    RoleKind("orchestrator", (SONG, VERSION, PART), "Orchestrated by"),
    RoleKind("executive producer", (VERSION,), "Executive producer:"),
    RoleKind("producer", _RECORDING, "Produced by", "producer", ("produced by", "production")),
    RoleKind("co-producer", _RECORDING, "Co-produced by", "producer", ("coproducer",)),
    RoleKind("vocal producer", _RECORDING, "Vocals produced by"),
    RoleKind("additional producer", _RECORDING, "Additional production by"),
    RoleKind("music director", (VERSION, SESSION), "Music director:", "", ("musical director",)),
    RoleKind("conductor", _RECORDING, "Conducted by"),
    RoleKind("main artist", (VERSION,), "By", "performer", ("artist", "lead artist")),
    RoleKind("featured artist", (VERSION, PART), "Featuring", "performer", ("featuring", "guest")),
    RoleKind(
        "performer",
        _RECORDING,
        "Performed by",
        "performer",
        ("player", "musician", "played", "performance", "session musician"),
    ),
    RoleKind("programmer", _RECORDING, "Programmed by", "", ("programming",)),
    RoleKind("engineer", _RECORDING, "Engineered by", "engineer", ("sound engineer",)),
    RoleKind(
        "recording engineer",
        _RECORDING,
        "Recorded by",
        "engineer",
        ("recorded by", "recordist", "tracking engineer", "recording"),
    ),
    RoleKind("additional engineer", _RECORDING, "Additional engineering by"),
    RoleKind(
        "assistant",
        (VERSION, SESSION),
        "Assisted by",
        "",
        ("assistant engineer", "second engineer", "assistant recording engineer", "tape operator"),
    ),
    RoleKind("editor", _RECORDING, "Edited by", "", ("editing", "edited by", "comp editor")),
    RoleKind(
        "mixer",
        (VERSION, SESSION),
        "Mixed by",
        "mixer",
        ("mix engineer", "mixing engineer", "mixing", "mixed by", "mix"),
    ),
    RoleKind("assistant mixer", (VERSION, SESSION), "Mix assisted by", "", ("mix assistant",)),
    RoleKind(
        "mastering engineer",
        (VERSION, SESSION),
        "Mastered by",
        "mastering engineer",
        ("mastering", "mastered by"),
    ),
    RoleKind("session leader", (SESSION,), "Session leader:", "", ("leader",)),
    RoleKind("contractor", (VERSION, SESSION), "Players contracted by"),
    RoleKind("copyist", (VERSION, SESSION, PART), "Parts copied by"),
    RoleKind("technician", (SESSION, PART), "Technician:", "", ("instrument technician", "tech")),
    RoleKind("studio manager", (SESSION,), "Studio manager:"),
    RoleKind("coordinator", (VERSION, SESSION), "Coordinated by", "", ("project coordinator",)),
)


def _plain(text: str) -> str:
    """Return a role's word as it is compared: small letters, single spaces, no underscores."""
    return " ".join(text.casefold().replace("_", " ").split())


_BY_WORD: Final = {
    _plain(spelling).replace("-", " "): role
    for role in ROLES
    for spelling in (role.word, *role.also)
}
_ORDER: Final = {role.word: place for place, role in enumerate(ROLES)}


def find_role(text: str) -> RoleKind | None:
    """Return the role called `text` (any capitals, also other words for it), or None."""
    return _BY_WORD.get(_plain(text).replace("-", " "))


def read_role(text: str, where: str) -> RoleKind:
    """Return the role called `text` if it may stand on a `where` (song, version, session, part).

    Raises `CreditError` for an unknown role, with the nearest known words, and for a role that
    does not belong there, with the places where it does.
    """
    role = find_role(text)
    if role is None:
        near = near_roles(text, where) or near_roles(text)
        raise CreditError(
            f"No role is called {text.strip()!r}" if text.strip() else "The role is empty",
            f"perhaps {_or(near)} was meant"
            if near
            else "a player is a performer with an instrument; roles here are "
            + ", ".join(role.word for role in roles_for(where)),
        )
    if where not in role.places:
        raise CreditError(
            f"A {role.word} does not stand on a {where}",
            f"put it on the {_or(role.places)}",
        )
    return role


def near_roles(text: str, where: str = "") -> tuple[str, ...]:
    """Return up to three known roles whose words are like `text`, nearest first."""
    found: list[str] = []
    for spelling in get_close_matches(_plain(text).replace("-", " "), _BY_WORD, n=6, cutoff=0.75):
        role = _BY_WORD[spelling]
        if role.word not in found and (not where or where in role.places):
            found.append(role.word)
    return tuple(found[:3])


def roles_for(where: str) -> tuple[RoleKind, ...]:
    """Return the roles that may stand on a song, version, session or part, in sleeve order."""
    return tuple(role for role in ROLES if where in role.places)


def sleeve_order(word: str) -> int:
    """Return where a role's word comes on a sleeve; words not in the list come last."""
    return _ORDER.get(word, len(ROLES))


def _or(words: tuple[str, ...]) -> str:
    """Return "a", "a or b", "a, b or c"."""
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} or {words[-1]}"
