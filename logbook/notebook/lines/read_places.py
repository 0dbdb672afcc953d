"""Lines that say where the work is: song, version, session, people, part."""

from __future__ import annotations

import re

from logbook.crediting.roles import find_role
from logbook.errors import LogbookError
from logbook.notebook.days import read_day
from logbook.notebook.lines.facts import (
    Fact,
    PartFact,
    PartSaid,
    PersonSaid,
    SessionSaid,
    SongSaid,
    VersionSaid,
)
from logbook.notebook.lines.kinds import OTHER_INSTRUMENTS, fold, kind_in
from logbook.notebook.lines.read_settings import read_part_fact
from logbook.notebook.lines.where import Where
from logbook.notebook.lines.words import clauses, listed, one_named, section_text
from logbook.strings.instruments import KINDS

_PART_HEAD = re.compile(
    r"(?P<name>.+?)(?:\s*=\s*(?P<what>.+)|\s*:\s*(?P<called>.+)|\s+on\s+(?P<on>.+))?"
)
_ONLY = re.compile(r"(?:only\s+(?:on\s+|in\s+)?(?P<after>.+)|(?P<before>.+?)\s+only)", re.I)
_LIKE = re.compile(
    r"(?:same\s+chords(?:\s+(?:as|like)\s+(?:the\s+)?(?P<as>.+))?|like\s+(?:the\s+)?(?P<like>.+))",
    re.I,
)
_PLAYS = re.compile(r"\s+(?:plays?|on|is|as)\s+(?:the\s+|an?\s+)?|\s*:\s*|\s*=\s*", re.I)


def read_place(line: str, where: Where) -> Fact | None:
    """Read a line that begins with song, version, session or part; None for any other."""
    word, _, rest = re.sub(r"^(?:new|next)\s+(?!takes?\b)", "", line, flags=re.I).partition(" ")
    head, rest = word.casefold().rstrip(":"), rest.strip()
    if head not in ("song", "version", "session", "part") or _is_note(rest):
        return None
    if not rest:
        raise LogbookError(f"the {head} has no name", f"write it after the word: {head} NAME")
    if head == "song":
        return SongSaid(title=rest)
    if head == "version":
        return VersionSaid(name=rest)
    return _session(rest, where) if head == "session" else _part(rest, where)


def _is_note(rest: str) -> bool:
    return bool(re.match(r"notes?\b\s*:?", rest, re.I))


def _session(rest: str, where: Where) -> SessionSaid:
    name, *said = clauses(rest)
    date, place, people = "", "", []
    day = read_day(name, where.today)
    for each in said:
        if not date and (found := read_day(each, where.today)):
            date = found
        elif at := re.fullmatch(r"(?:at|in)\s+(.+)", each, re.I):
            place = at[1]
        elif person := read_person(each, where):
            people.append(person)
        elif not place:
            place = each
        else:
            raise LogbookError(
                f'"{each}" is neither a day, a place nor somebody with a role',
                "write it as in session NAME, today, at PLACE, Ada engineer",
            )
    return SessionSaid(name=name, date=date or day or "", place=place, people=tuple(people))


def read_person(line: str, where: Where) -> PersonSaid | None:
    """Read somebody and what they do, in either order; None where a line is neither."""
    pieces = [each.strip() for each in _PLAYS.split(line, maxsplit=1)]
    if len(pieces) == 2:
        splits = [(pieces[0], pieces[1])]
    else:
        words = line.split()
        splits = [(" ".join(words[:at]), " ".join(words[at:])) for at in range(1, len(words))]
    for first, last in splits:
        for person, work in ((first, last), (last, first)):
            if _is_work(person, where) or not _is_name(person, where):
                continue
            if role := find_role(work):
                return PersonSaid(person=person, role=role.word)
            if _is_instrument(work, where):
                return PersonSaid(person=person, instrument=work.casefold())
    return None


def _is_work(text: str, where: Where) -> bool:
    return find_role(text) is not None or _is_instrument(text, where)


def _is_instrument(text: str, where: Where) -> bool:
    version = where.version_record
    parts = [fold(each.name) for each in version.parts] if version else []
    plain = fold(text)
    return plain in KINDS or plain in OTHER_INSTRUMENTS or plain in parts


def _is_name(text: str, where: Where) -> bool:
    if text in where.people or one_named(text, where.people):
        return True
    words = text.split()
    small = ("de", "da", "van", "von", "der", "den", "la", "le", "du", "di", "el", "al", "bin")
    return (
        0 < len(words) < 6
        and words[0][0].isupper()
        and all(
            word[0].isupper() or word.casefold() in small or word[0].isalpha() is False
            for word in words
        )
        and all(
            any(c.isalpha() for c in word) and not any(c.isdigit() for c in word) for word in words
        )
        and len(text) > 1
    )


def _part(rest: str, where: Where) -> PartSaid:
    first, *said = clauses(rest)
    by = re.search(r"\s+by\s+(.+)$", first)
    player = by[1] if by else ""
    if by:
        first = first[: by.start()]
    found = _PART_HEAD.fullmatch(first)
    assert found is not None
    name = found["name"].strip()
    kind, instrument = "", found["on"] or ""
    if what := found["what"] or found["called"]:
        kind, instrument = _kind_and_instrument(what)
    only: tuple[str, ...] = ()
    like = ""
    settings: list[PartFact] = []
    for each in said:
        if (about := _ONLY.fullmatch(each)) and (names := _sections(about, where)):
            only = names
        elif about := _LIKE.fullmatch(each):
            like = (about["as"] or about["like"] or "*").strip()
        elif fact := read_part_fact(each, where):
            settings.append(fact)
        elif not instrument and (on := re.fullmatch(r"on\s+(.+)", each, re.I)):
            instrument = on[1]
        elif by := re.fullmatch(r"(?:by|played by)\s+(.+)", each, re.I):
            player = by[1]
        elif not player and (_is_name(each, where) or not _odd(each)):
            player = each
        else:
            raise LogbookError(
                f'"{each}" is not something a part line can say',
                "write it as in part high on the small one, Oda, B only, same chords, capo 2",
            )
    return PartSaid(
        name=name,
        instrument=instrument.strip(),
        kind=kind,
        player=player,
        only=only,
        like=like,
        settings=tuple(settings),
    )


def _kind_and_instrument(what: str) -> tuple[str, str]:
    """Part "guitar on the little one" or "the little one"."""
    before, on, after = what.strip().partition(" on ")
    if on:
        return (kind_in(before) or fold(before)), after.strip()
    if fold(what) in KINDS or fold(what) in OTHER_INSTRUMENTS:
        return fold(what), ""
    return kind_in(what), what.strip()


def _sections(about: re.Match[str], where: Where) -> tuple[str, ...]:
    said = listed(about["after"] or about["before"])
    names = [section_text(each, where.form) for each in said]
    missing = [each for each, name in zip(said, names, strict=True) if name is None]
    if missing:
        known = ", ".join(where.section_names[:8])
        raise LogbookError(
            f"no section is called {missing[0]}",
            f"the form has {known}" if known else "give the form first, as in A 8 bars, B 8 bars",
        )
    return tuple(name for name in names if name)


def _odd(text: str) -> bool:
    """Whether a clause is more than a first name in small letters."""
    return len(text.split()) > 1 or any(c.isdigit() for c in text)
