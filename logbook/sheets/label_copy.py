"""Who gets named on a song or a release, as a label prints it.

Of a release, what holds for every track is said once and what does not stands with its track.
The names as credited and in full follow, then numbers, shares, and what is still to be asked.
One way of sorting only (by role, by person, for the sleeve) can be asked for instead.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Set
from dataclasses import replace
from typing import NamedTuple

from logbook.crediting.credits import STANDING, Credits
from logbook.crediting.identified import Identified, person_identifiers
from logbook.crediting.missing import Missing
from logbook.crediting.people import credited_name
from logbook.crediting.wording import (
    apart_lines,
    as_dict,
    by_person,
    by_role,
    csv_rows,
    missing_lines,
    role_label,
    share_lines,
    sleeve_line,
)
from logbook.editing.words import listed
from logbook.names import fold
from logbook.sheets.blocks import Block, Facts, Heading, Items, Paragraph, Table
from logbook.sheets.looks import Sheet, Wanted

WAYS = ("role", "person", "sleeve")
_NOBODY = "nobody is named yet"


class AskedCredits(NamedTuple):
    """The credits of a song's versions or a release's tracks; `by` names one way of sorting."""

    many: tuple[Credits, ...]
    by: str = ""


def build(subject: AskedCredits, wanted: Wanted) -> Sheet:
    """Return the credits, ready to be drawn."""
    del wanted
    many, by = subject
    blocks: list[Block] = []
    release = many[0].release if many else ""
    album = bool(release) and len(many) > 1 and not by
    common = _common(many) if len(many) > 1 and not by else ()
    if release and not by and many[0].release_facts:
        blocks += [Heading(2, release, quiet=True), Facts(many[0].release_facts)]
    if album:
        blocks += [Heading(2, f"On {release}", quiet=True), Items(_album_roles(many))]
    elif common:
        blocks += [Heading(2, "In every version", quiet=True), Items(_roles(common))]
    if album:
        blocks += _list("For the sleeve", _album_sleeve(many))
    for number, credits in enumerate(many, start=1):
        blocks += _one(credits, by, common, number if album else 0)
    if not many:
        blocks.append(Paragraph("No track is on it yet."))
    if many and not by:
        blocks += _names(many)
    if album:
        blocks += _list("Missing", _all_missing(many))
    blocks.append(Paragraph(STANDING))
    title = release or (many[0].song if many else "Credits")
    rows = tuple(map(tuple, csv_rows(many)))
    return Sheet("credits", title, [as_dict(each) for each in many], tuple(blocks), rows)


_Roles = tuple[tuple[str, tuple[str, ...]], ...]


def _common(many: tuple[Credits, ...]) -> _Roles:
    """Each role with the names that have it on every track."""
    first, *others = [dict(by_role(credits)) for credits in many]
    kept = (
        (role, tuple(name for name in names if all(name in o.get(role, ()) for o in others)))
        for role, names in first.items()
    )
    return tuple((role, names) for role, names in kept if names)


def _roles(roles: _Roles) -> tuple[str, ...]:
    return tuple(f"{role}: {', '.join(names)}" for role, names in roles)


def _album_roles(many: tuple[Credits, ...]) -> tuple[str, ...]:
    """Every role of a release once, and on which tracks somebody has it who is not on all."""
    found: dict[str, dict[str, list[int]]] = {}
    for number, credits in enumerate(many, start=1):
        for role, names in by_role(credits):
            for name in names:
                found.setdefault(role, {}).setdefault(name, []).append(number)
    lines = []
    for role, people in found.items():
        said = [
            name if len(on) == len(many) else f"{name} (on {listed(list(map(str, on)))})"
            for name, on in people.items()
        ]
        lines.append(f"{role}: {', '.join(said)}")
    return tuple(lines) or (_NOBODY,)


def _album_sleeve(many: tuple[Credits, ...]) -> tuple[str, ...]:
    """A release for its sleeve: what most tracks have in common once, then where a track differs.

    A role is common where every track has it, and more than half of them in the same hands.
    """
    roles = [dict(by_role(credits)) for credits in many]
    common = {}
    for role in roles[0]:
        if all(role in each for each in roles):
            names, times = Counter(each[role] for each in roles).most_common(1)[0]
            if times * 2 > len(many):
                common[role] = names
    lines = []
    for number, (credits, own) in enumerate(zip(many, roles, strict=True), start=1):
        apart = {role for role, names in own.items() if common.get(role) != names}
        said = _sleeve_of(credits, apart)
        if said:
            lines.append(f"{number}. {credits.song}: {said}")
    for credits, own in zip(many, roles, strict=True):
        alike = {role for role, names in own.items() if common.get(role) == names}
        if alike == set(common):
            opening = "All tracks, except as noted" if lines else "All tracks"
            lines = [f"{opening}: {_sleeve_of(credits, alike)}", *lines] if alike else lines
            break
    return tuple(lines)


def _sleeve_of(credits: Credits, roles: Set[str]) -> str:
    kept = tuple(line for line in credits.lines if role_label(line) in roles)
    return sleeve_line(replace(credits, lines=kept))


def _all_missing(many: tuple[Credits, ...]) -> tuple[str, ...]:
    """What is missing of a release, each thing once, and on which tracks."""
    found: dict[Missing, list[int]] = {}
    for number, credits in enumerate(many, start=1):
        for one in dict.fromkeys((*credits.missing, *credits.asked)):
            found.setdefault(one, []).append(number)
    lines = []
    for one, on in found.items():
        text = f"{one.what}; {one.remedy}" if one.remedy else one.what
        where = "" if len(on) == len(many) else f"On {listed(list(map(str, on)))}: "
        lines.append(f"{where}{text}." if where else f"{text[0].upper()}{text[1:]}.")
    return tuple(lines)


def _one(credits: Credits, by: str, common: _Roles, number: int = 0) -> list[Block]:
    """One song or track: what is not said for all of them already.

    `number` is that of a track whose roles and gaps stand with those of the release.
    """
    release = "" if number else credits.release
    title = ", ".join(filter(None, (credits.song, credits.version, release, credits.date)))
    blocks: list[Block] = [Heading(2, f"{number}. {title}" if number else title, quiet=True)]
    if credits.facts and not by:
        blocks.append(Facts(credits.facts))
    if by in ("", "role") and not number:
        said = dict(common)
        own = tuple(
            (role, left)
            for role, names in by_role(credits)
            if (left := tuple(name for name in names if name not in said.get(role, ())))
        )
        heading = "By role" if not common else "On this one as well"
        blocks += _list(heading, _roles(own) or ((_NOBODY,) if not common else ()))
    if by == "person" or (not by and not common and not number):
        blocks += _list("By person", _people(credits) or (_NOBODY,))
    if by in ("", "sleeve") and not number:
        blocks += _list("For the sleeve", (sleeve_line(credits) or _NOBODY,))
    missing = () if number else missing_lines(credits)
    for heading, lines in (
        ("Numbers", tuple(map(_numbered, credits.identifiers))),
        ("Shares", share_lines(credits)),
        ("Listed apart", apart_lines(credits)),
        ("Missing", missing),
    ):
        blocks += _list(heading, tuple(lines))
    return blocks


def _list(heading: str, lines: tuple[str, ...]) -> list[Block]:
    return [Heading(3, heading), Items(lines)] if lines else []


def _people(credits: Credits) -> tuple[str, ...]:
    return tuple(f"{credited_name(person)}: {'; '.join(did)}" for person, did in by_person(credits))


def _names(many: tuple[Credits, ...]) -> list[Block]:
    """Everybody once: as credited, in full, and with their numbers."""
    people = {fold(person.name): person for credits in many for person, _ in by_person(credits)}
    if not people:
        return []
    found = sorted(people.values(), key=lambda person: credited_name(person).casefold())
    rows = tuple(
        (
            credited_name(person),
            person.full_name or "-",
            ", ".join(each.printed for each in person_identifiers(person)) or "-",
        )
        for person in found
    )
    return [Heading(2, "Names", quiet=True), Table(("credited as", "full name", "numbers"), rows)]


def _numbered(identifier: Identified) -> str:
    problem = f" ({identifier.problem})" if identifier.problem else ""
    return f"{identifier.printed}{problem}"
