"""The credits sheet: who gets named for a song, in reading order.

The crediting room works everything out and says it in words; here it is only put into blocks.
"""

from __future__ import annotations

from typing import Any, NamedTuple

from logbook.crediting.credits import STANDING, Credits, credits_of_version
from logbook.crediting.people import credited_name
from logbook.crediting.wording import (
    apart_lines,
    as_dict,
    by_person,
    by_role,
    missing_lines,
    share_lines,
    sleeve_line,
)
from logbook.records.log import Log, Project
from logbook.sheets.blocks import Block, Facts, Heading, Items, Paragraph, Table
from logbook.sheets.choosing import chosen
from logbook.sheets.looks import Sheet, Wanted


class CreditsSheet(NamedTuple):
    """The credits of each version of a song, as the crediting room's plain values."""

    song: str
    versions: tuple[dict[str, Any], ...]


def build(log: Log, wanted: Wanted) -> Sheet:
    """Return a song's credits sheet, ready to be drawn.

    Raises LogbookError where the log has no such song or version. A part that is named does not
    narrow it: credits are those of the whole recording.
    """
    song, versions = chosen(log, wanted.song, wanted.version or None, wanted.part or None)
    every = tuple(
        credits_of_version(log, song, each, _release(log, song.title, each.name))
        for each in versions
    ) or (credits_of_version(log, song, None),)
    data = CreditsSheet(song.title, tuple(map(as_dict, every)))
    return Sheet("credits", song.title, data, credits_blocks(song.title, every))


def _release(log: Log, song: str, version: str) -> Project | None:
    """The release a version is a track of, where it is one of just one."""
    found = [
        project
        for project in log.projects
        if any((track.song, track.version) == (song, version) for track in project.tracks)
    ]
    return found[0] if len(found) == 1 else None


def credits_blocks(song: str, every: tuple[Credits, ...]) -> tuple[Block, ...]:
    """Return the blocks of a credits sheet."""
    blocks: list[Block] = [Heading(1, song, "credits")]
    for credits in every:
        blocks += _version(credits)
    return (*blocks, Paragraph(STANDING))


def _version(credits: Credits) -> list[Block]:
    blocks: list[Block] = [
        Heading(2, credits.version or "The song", ", ".join(filter(None, (credits.date,)))),
    ]
    facts = [("release", credits.release)]
    facts += [(each.letters, each.printed.removeprefix(f"{each.letters} ")) for each in
              credits.identifiers]  # fmt: skip
    if any(text for _, text in facts):
        blocks.append(Facts(tuple(row for row in facts if row[1])))
    sleeve = sleeve_line(credits)
    if sleeve:
        blocks += [Heading(3, "On the sleeve"), Paragraph(sleeve)]
    roles = by_role(credits)
    if roles:
        blocks += [
            Heading(3, "By role"),
            Table(("role", "who"), tuple((role, ", ".join(names)) for role, names in roles)),
        ]
    people = by_person(credits)
    if people:
        blocks += [
            Heading(3, "By person"),
            Table(
                ("credited as", "full name", "did"),
                tuple(
                    (credited_name(person), person.full_name or "-", "; ".join(did))
                    for person, did in people
                ),
            ),
        ]
    shares = share_lines(credits)
    if shares:
        blocks += [Heading(3, "Shares"), Items(shares)]
    apart = apart_lines(credits)
    if apart:
        blocks += [Heading(3, "Listed apart"), Items(apart)]
    missing = missing_lines(credits)
    if missing:
        blocks += [Heading(3, "Still to ask"), Items(missing)]
    return blocks
