"""Pages about sessions, instruments and people: what the log says of them, and where they lead."""

from __future__ import annotations

from collections.abc import Iterator

from logbook.crediting.identified import person_identifiers
from logbook.crediting.people import credited_name
from logbook.plaintext import clean
from logbook.records.log import Log, Project
from logbook.records.part_view import places
from logbook.records.people import Person
from logbook.records.places import Instrument, Session
from logbook.sheets.blocks import Block, Facts
from logbook.sheets.book_links import Link, Named, ThingPage
from logbook.sheets.book_takes import release_page, setlist_page
from logbook.sheets.book_words import words_in
from logbook.sheets.catalog import make_sheet
from logbook.sheets.day_sheets import AskedHours
from logbook.sheets.heads import people_said
from logbook.sheets.recalls import AskedRecall, Recalled
from logbook.sheets.releases import AskedRelease

Uses = dict[tuple[str, str], dict[tuple[str, str], list[str]]]
"""For each thing (kind and name) the songs it leads to, with what it did there."""


def things_of(log: Log, named: Named) -> Iterator[ThingPage]:
    """Yield the page of every release, set list, session, instrument and person."""
    uses = _uses(log)
    for project in log.projects:
        yield release_page(project, named)._replace(blocks=_release(log, project))
    for setlist in log.setlists:
        yield setlist_page(setlist, named)
    for session in log.sessions:
        page = _page("session", session.name, _session(session), log, named, uses)
        yield page._replace(
            words=words_in(session),
            blocks=tuple(_paper_work(session)),
            photographs=session.photographs,
        )
    for instrument in log.instruments:
        page = _page("instrument", instrument.name, _instrument(instrument), log, named, uses)
        yield page._replace(words=words_in(instrument))
    for person in log.people:
        page = _page("person", person.name, _person(person), log, named, uses)
        yield page._replace(words=words_in(person))


def _paper_work(session: Session) -> Iterator[Block]:
    """What a session's page says besides: its input list, how things stood, and its hours."""
    if session.inputs:
        yield from make_sheet("input list", session).blocks
    if session.recall:
        group = Recalled(session.name, "", session.recall, ())
        yield from make_sheet("recall", AskedRecall(session.name, (group,))).blocks
    if session.hours:
        yield from make_sheet("hours", AskedHours((session,))).blocks


def _release(log: Log, project: Project) -> tuple[Block, ...]:
    """A release's tracks and how far each has come; its facts stand on the page already."""
    made = make_sheet("release", AskedRelease(log, project)).blocks
    return tuple(each for each in made[1:] if not isinstance(each, Facts))


def _page(
    kind: str,
    name: str,
    facts: list[tuple[str, str]],
    log: Log,
    named: Named,
    uses: Uses,
) -> ThingPage:
    links = []
    songs = []
    for (_, title), did in uses.get((kind, name), {}).items():
        link = named.link("song", title, "; ".join(dict.fromkeys(did)))
        if link is not None:
            songs.append(link)
    if songs:
        links.append(("Songs", tuple(songs)))
    others = tuple(_others(kind, name, log, named))
    if others:
        links.append(("Also", others))
    return ThingPage(
        named.pages[kind][name],
        clean(name),
        kind,
        tuple((label, clean(text)) for label, text in facts if text),
        tuple(links),
    )


def _uses(log: Log) -> Uses:
    """Everything that every session, instrument and person did on every song, in one pass."""
    uses: Uses = {}

    def note(kind: str, name: str, title: str, did: str) -> None:
        if name:
            uses.setdefault((kind, name), {}).setdefault(("song", title), []).append(did)

    for song in log.songs:
        for share in song.shares:
            note("person", share.person, song.title, f"{share.side} {share.share}")
        for role in song.roles:
            note("person", role.person, song.title, role.role)
        for version in song.versions:
            for role in version.roles:
                note("person", role.person, song.title, role.role)
    for place in places(log):
        part, title = place.part, place.song.title
        note("instrument", part.instrument, title, part.name)
        note("person", part.player, title, part.name)
        for role in part.roles:
            note("person", role.person, title, role.role)
        for take in part.takes:
            result = f" ({take.result})" if take.result else ""
            note("session", take.session, title, f"{part.name} take {take.number}{result}")
    return uses


def _others(kind: str, name: str, log: Log, named: Named) -> Iterator[Link]:
    """Links between sessions, instruments and people."""
    for session in log.sessions:
        for role in session.people:
            if kind == "session" and session.name == name:
                yield from _there(named.link("person", role.person, role.role))
            if kind == "person" and role.person == name:
                yield from _there(named.link("session", session.name, role.role))
    for instrument in log.instruments:
        if kind == "instrument" and instrument.name == name and instrument.owner:
            yield from _there(named.link("person", instrument.owner, "owner"))
        if kind == "person" and instrument.owner == name:
            yield from _there(named.link("instrument", instrument.name, "owner"))


def _there(link: Link | None) -> tuple[Link, ...]:
    return () if link is None else (link,)


def _session(session: Session) -> list[tuple[str, str]]:
    until = f" to {session.end_date}" if session.end_date else ""
    return [
        ("date", f"{session.date}{until}"),
        ("place", session.place),
        ("people", "; ".join(people_said(session.people))),
        ("gear", session.gear),
        ("files named", session.file_pattern),
        ("notes", session.notes),
    ]


def _instrument(instrument: Instrument) -> list[tuple[str, str]]:
    return [
        ("kind", instrument.kind),
        ("owner", instrument.owner),
        ("strings", str(instrument.strings) if instrument.strings else ""),
        ("scale", f"{instrument.scale_mm:g} mm" if instrument.scale_mm else ""),
        ("frets", str(instrument.frets) if instrument.frets else ""),
        ("usual tuning", instrument.tuning),
        ("gauge", instrument.gauge),
        ("notes", instrument.notes),
    ]


def _person(person: Person) -> list[tuple[str, str]]:
    between = f"{person.low} to {person.high}" if person.low and person.high else ""
    return [
        ("credited as", credited_name(person)),
        ("full name", person.full_name),
        ("other names", ", ".join(person.other_names)),
        *((each.letters, each.printed) for each in person_identifiers(person)),
        ("sings", between),
        ("notes", person.notes),
    ]
