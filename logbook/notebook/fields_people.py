"""People, roles and shares, as both doors say them.

Lines: a role is `Ada Fenrush: engineer` or `Ada Fenrush: performer, fiddle`; a share is
`Ada Fenrush 1/2`, `Ada Fenrush 33.3 %` or `Wharf Songs 1/2 publisher`.
"""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Any

from logbook.crediting.identifiers import read_ipi, read_isni
from logbook.crediting.roles import read_role
from logbook.crediting.shares import read_share
from logbook.errors import LogbookError
from logbook.notebook import values
from logbook.notebook.declare import Context, LineForm, Noun, Value, members_of
from logbook.records import Part, Person, Role, Session, Share, Song, Version
from logbook.theory.pitch import name_to_midi

_SHARE = re.compile(
    r"(?P<who>.+?)\s+(?P<share>[0-9.,/⁄]+\s*%?|[½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞])(?:\s+(?P<side>\w+))?", re.S
)


def _role_word(value: Value, context: Context) -> str:
    body = values.text(value, context)
    places = {Song: "song", Version: "version", Session: "session", Part: "part"}
    where = next(
        (places[type(each)] for each in reversed(context.owners) if type(each) in places), "part"
    )
    return read_role(body, where).word


def _read_role_line(line: str, context: Context) -> dict[str, Any]:
    who, colon, what = line.partition(":")
    if not colon:
        raise LogbookError(
            f"{values.shown(line)} does not say who did what",
            'write it as in "Ada Fenrush: engineer" or "Ada Fenrush: performer, fiddle"',
        )
    word, _, instrument = what.partition(",")
    return {
        "person": values.known("person")(who.strip(), context),
        "role": _role_word(word.strip(), context),
        "instrument": instrument.strip(),
    }


def _write_role_line(role: Role, context: Context) -> str | None:
    if role.notes or role.billing:
        return None
    instrument = f", {role.instrument}" if role.instrument else ""
    return f"{role.person}: {role.role}{instrument}"


def _share(value: Value, context: Context) -> Fraction:
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        raise LogbookError(f"{values.shown(value)} is not a share", "write 1/2, 50 % or 0.5")
    return read_share(value)


_side = values.one_of("writer", "publisher")


def _read_share_line(line: str, context: Context) -> dict[str, Any]:
    found = _SHARE.fullmatch(line.strip())
    if found is None:
        raise LogbookError(
            f"{values.shown(line)} does not say who has which share",
            'write it as in "Ada Fenrush 1/2" or "Wharf Songs 1/2 publisher"',
        )
    return {
        "person": values.known("person")(found["who"], context),
        "share": _share(found["share"], context),
        "side": _side(found["side"] or "writer", context),
    }


def _write_share_line(share: Share, context: Context) -> str | None:
    if share.agreed_on or share.agreed_by or share.notes:
        return None
    side = "" if share.side == "writer" else f" {share.side}"
    return f"{share.person} {share.share}{side}"


PERSON = Noun(
    word="person",
    plural="people",
    record=Person,
    key=("name",),
    help="somebody the log names",
    members=members_of(Person, __name__),
    line=LineForm(
        read=lambda line, context: {"name": values.name(line, context)},
        write=lambda person, context: person.name,
        form="NAME",
        example="Ada Fenrush",
    ),
)

ROLE = Noun(
    word="role",
    plural="roles",
    record=Role,
    key=("person", "role", "instrument"),
    needs=("person", "role"),
    help="what somebody did on a song, version, session or part",
    members=members_of(Role, __name__),
    line=LineForm(
        read=_read_role_line,
        write=_write_role_line,
        form="NAME: ROLE or NAME: ROLE, INSTRUMENT",
        example="Ada Fenrush: engineer",
    ),
)

SHARE = Noun(
    word="share",
    called=lambda share: share.person if share.side == "writer" else f"{share.person} {share.side}",
    plural="shares",
    record=Share,
    key=("person", "side"),
    needs=("person", "share"),
    help="a writer's or publisher's share of a song: what people said, not a contract",
    members=members_of(Share, __name__),
    line=LineForm(
        read=_read_share_line,
        write=_write_share_line,
        form="NAME SHARE, with publisher after it for a publisher's",
        example="Ada Fenrush 1/2",
    ),
)
