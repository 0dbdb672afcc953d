"""What lines about the place of work come to: song, version, session, people, part, settings."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import Any

from logbook.errors import LogbookError
from logbook.names import closest
from logbook.notebook.days import is_on
from logbook.notebook.lines.facts import (
    DoubleSaid,
    NoteSaid,
    OverdubSaid,
    PartSaid,
    PersonSaid,
    SessionSaid,
    Setting,
    SongSaid,
    VersionSaid,
)
from logbook.notebook.lines.kinds import fold
from logbook.notebook.lines.page import FIRST_VERSION, Page, Write, day_text, kind_of
from logbook.notebook.lines.sounding import names_now
from logbook.notebook.lines.words import one_named, ranges_of, words_start
from logbook.records import (
    ChartEntry,
    Double,
    Lyric,
    Overdub,
    Part,
    Role,
    Session,
    Song,
    TechniqueNote,
    Version,
)
from logbook.records.context import by_name
from logbook.records.lyrics import in_order
from logbook.strings.capo import check_capos, read_capos
from logbook.strings.tunings import find_tuning
from logbook.timing.bars import BarPoint, ranges_text


def _meant(name: str, known: tuple[str, ...]) -> str | None:
    """The known name that is meant; in small letters a few of its words will do."""
    same = [each for each in known if fold(each) == fold(name)]
    if len(same) == 1:
        return same[0]
    return one_named(name, known) if name == name.lower() else None


def mean_song(said: SongSaid, page: Page) -> None:
    """Go to a song, or begin a new one."""
    known = _meant(said.title, page.where.titles)
    song = page.find_song(known) if known else None
    if song is None:
        song = Song(title=said.title)
        page.write(song)
        page.made.append(f"song {song.title}")
    page.where = page.where.with_song(song)
    if not song.versions:
        page.version()
    version = page.where.version_record
    place = ", ".join(filter(None, (song.title, version.name if version else "", page.where.part)))
    page.told.append(f"song {place}")


def mean_version(said: VersionSaid, page: Page) -> None:
    """Go to a version of the song, or begin a new one."""
    song = page.song()
    known = _meant(said.name, tuple(each.name for each in song.versions))
    version = by_name(song.versions, known) if known else None
    first = page.where.version_record
    if version is None and first == Version(name=FIRST_VERSION):
        # The version that a new song began with gets its name.
        page.writes.append(Write(record=first, owner=(song.title,), renamed=said.name))
        version = Version(name=said.name)
        others = tuple(each for each in song.versions if each is not first)
        page.where = replace(page.where, song=replace(song, versions=others))
    elif version is None:
        version = Version(name=said.name)
        page.new_version(version)
        page.made.append(f"version {version.name}")
    page.where = page.where.with_version(version)
    if not page.where.part and version.parts:
        page.where = replace(page.where, part=version.parts[0].name)
    page.told.append(f"version {version.name} of {song.title}")


def mean_session(said: SessionSaid, page: Page) -> None:
    """Go to a session, or begin a new one; a session of another day is another one."""
    known = _meant(said.name, page.where.sessions)
    session = page.find_session(known) if known else None
    name = said.name
    if session and said.date and session.date and not _within(session, said.date):
        name = f"{session.name} {said.date}"
        session = page.find_session(name) if name in page.where.sessions else None
    fields: dict[str, Any] = {"date": said.date, "place": said.place}
    fields = {key: value for key, value in fields.items() if value}
    if session is None:
        session = Session(name=name, **fields)
        page.write(session)
        page.made.append(f"session {name}")
    elif fields := {
        k: v for k, v in fields.items() if getattr(session, k) != v and not _within(session, v)
    }:
        session = replace(session, **fields)
        page.write(Session(name=session.name, **fields), (), *fields)
    sessions = tuple(dict.fromkeys((*page.where.sessions, session.name)))
    page.where = replace(page.where, session=session, sessions=sessions, session_said=True)
    place = f" at {session.place}" if session.place else ""
    page.told.append(
        f"session {session.name}{place}" + (f", {day_text(session.date)}" if session.date else "")
    )
    for each in said.people:
        _attend(each, page)


def _within(session: Session, date: str) -> bool:
    return bool(session.date) and is_on(session.date, session.end_date, date)


def mean_person(said: PersonSaid, page: Page) -> None:
    """Somebody does something: play the part of that name, or work in the session."""
    version = page.where.version_record
    parts = version.parts if version else ()
    part = next((each for each in parts if fold(each.name) == fold(said.instrument)), None)
    if part is not None:
        player = page.person(said.person)
        page.change_other(part, player=player)
        page.told.append(f"{player} plays {part.name}")
        return
    _attend(said, page)


def _attend(said: PersonSaid, page: Page) -> None:
    session = page.session()
    person = page.person(said.person)
    role = Role(person=person, role=said.role or "performer", instrument=said.instrument)
    if role not in session.people:
        people = (*session.people, role)
        page.write(Session(name=session.name, people=people), (), "people")
        page.where = replace(page.where, session=replace(session, people=people))
    page.told.append(f"{person}, {said.role or said.instrument}, in session {session.name}")


def mean_part(said: PartSaid, page: Page) -> None:
    """Go to a part, or begin a new one, with what was said of it."""
    version = page.version()
    before = page.where.part_record
    known = _meant(said.name, tuple(each.name for each in version.parts))
    part = by_name(version.parts, known) if known else None
    source = _source(said, page, before)
    if part is None:
        part = Part(name=said.name)
        page.new_part(part)
    else:
        page.where = page.where.with_part(part)
    kind = said.kind or kind_of(said.instrument, said.name) or _kind_of_part(source, page)
    fields: dict[str, Any] = {}
    if said.instrument:
        fields["instrument"] = page.instrument(said.instrument, kind)
    elif kind and not part.instrument and kind != "guitar" and known is None:
        fields["instrument"] = page.instrument(kind, kind)
    player = said.player or (_expected(said.name, kind, page) if not part.player else "")
    if player:
        fields["player"] = page.person(player)
    if fields:
        page.change_part(**fields)
    told = [f"part {part.name}"]
    told += [f"on {fields['instrument']}"] if "instrument" in fields else []
    told += [f"played by {fields['player']}"] if "player" in fields else []
    page.told.append(", ".join(told))
    for each in said.settings:
        mean_setting(each, page)
    if source is not None or said.only:
        _fill(said, source, page)


def _kind_of_part(part: Part | None, page: Page) -> str:
    instrument = page.where.instrument_called(part.instrument) if part else None
    return instrument.kind if instrument else ""


def _expected(name: str, kind: str, page: Page) -> str:
    """Who is in the session to play this, where it is one person."""
    people = page.where.session.people if page.where.session else ()
    playing = {
        each.person for each in people if each.instrument and each.instrument in (fold(name), kind)
    }
    return playing.pop() if len(playing) == 1 else ""


def _source(said: PartSaid, page: Page, before: Part | None) -> Part | None:
    """The part whose chords are taken over."""
    if not said.like:
        return None
    if said.like == "*":
        if before is None or fold(before.name) == fold(said.name):
            raise LogbookError("no part came before this one", "name it: same chords as guitar")
        return before
    return other_part(said.like, page)


def other_part(name: str, page: Page) -> Part:
    """The part of the version that is meant. Raises LogbookError where there is none."""
    parts = page.version().parts
    known = one_named(name, [each.name for each in parts])
    if known is None:
        names = ", ".join(each.name for each in parts)
        raise LogbookError(
            f"no part is called {name}", f"there is {names}" if names else f"add it: part {name}"
        )
    return next(each for each in parts if each.name == known)


def _fill(said: PartSaid, source: Part | None, page: Page) -> None:
    """Take over chords, and rest where the part does not play."""
    part = page.part()
    inside = None
    if said.only:
        spans = [span for each in said.only for span in ranges_of(each, page.where)]
        inside = {bar for span in spans for bar in span.bars}
    entries: list[ChartEntry] = []
    if source is not None:
        taken = [e for e in source.chart if inside is None or e.bar in inside]
        entries = [replace(each, pattern="") for each in taken]
        held = {each.label for each in part.voicings}
        new = tuple(each for each in source.voicings if each.label not in held)
        counted = source.counted if source.counted != part.counted else ""
        new = tuple(replace(each, counted=each.counted or counted) for each in new)
        if new:
            page.change_part(voicings=(*part.voicings, *new))
        where = f" in {' and '.join(said.only)}" if said.only else ""
        page.told.append(f"same chords as {source.name}{where}")
    elif part.chart:
        entries = [each for each in part.chart if inside is None or each.bar in inside]
    if inside is not None:
        silent = [each for each in page.where.form if each.start not in inside]
        entries += [ChartEntry(bar=each.start) for each in silent]
        if source is None:
            page.told.append(f"plays in {' and '.join(said.only)} only")
    if entries:
        page.change_part(chart=tuple(sorted(entries, key=lambda each: (each.bar, each.beat))))
    names_now(page)


def mean_setting(said: Setting | DoubleSaid | OverdubSaid, page: Page) -> None:
    """Set one thing of the part."""
    if isinstance(said, DoubleSaid):
        _double(said, page)
    elif isinstance(said, OverdubSaid):
        _overdub(said, page)
    else:
        _set(said, page)


def _set(said: Setting, page: Page) -> None:
    part = page.part()
    field, value = said.field, said.value
    if field == "tuning":
        name = page.tuning(_of_its_kind(value, page))
        page.change_part(tuning=name)
        strung = page.where.strung
        page.told.append(f"{part.name} in {name}" + (f": {strung.text}" if strung else ""))
        names_now(page)
        return
    if field == "capo":
        strung = page.where.strung
        if value and strung is not None:
            check_capos(read_capos(value), strung)
        page.change_part(capo=value)
        page.told.append(f"{part.name}: {f'capo {value}' if value else 'no capo'}")
        names_now(page)
        return
    if field == "counted":
        # What was counted the other way so far stays as it was meant.
        kept = tuple(
            replace(each, counted=part.counted) if not each.counted else each
            for each in part.voicings
        )
        if value != part.counted and kept:
            page.change_part(voicings=kept)
        page.change_part(counted=value)
        page.told.append(f"{part.name}: frets counted from the {value}")
        return
    if field == "heard":
        page.change_part(heard=value == "yes")
        page.told.append(f"{part.name}: {'' if value == 'yes' else 'not '}in the final version")
        return
    old = getattr(part, field)
    if field in ("technique", "chain") and old and value not in old:
        value = f"{old}, {value}"
    page.change_part(**{field: value})
    word = {"picked": "played with", "shape_key": "shapes in", "chain": "signal chain"}
    page.told.append(f"{part.name}: {word.get(field, field)} {value}")


def _of_its_kind(value: str, page: Page) -> str:
    """Drop D on a bass is the bass's own drop D."""
    strung = page.where.strung
    kind = strung.kind if strung else ""
    if kind in ("", "guitar"):
        return value
    try:
        return find_tuning(f"{kind} {value}").name
    except LogbookError:
        return value


def _double(said: DoubleSaid, page: Page) -> None:
    part = page.part()
    if said.by or said.of:
        known = [each.name for each in page.version().parts]
        if said.by and one_named(said.by, known) is None and not closest(said.by, known, 0.75):
            # The double is said before anybody has begun to log it.
            page.new_part(Part(name=said.by))
            page.where = replace(page.where, part=part.name)
        other = other_part(said.by or said.of, page)
        if other.name == part.name:
            raise LogbookError(f"{part.name} cannot double itself", "name the other part")
        owner, double = (part, other) if said.by else (other, part)
        kept = [each for each in owner.doubles if each.part != double.name]
        page.change_other(
            owner, doubles=(*kept, Double(part=double.name, pan=said.pan)), doubled="doubled"
        )
        pan = f", panned {said.pan}" if said.pan else ""
        page.told.append(f"{owner.name} is doubled by {double.name}{pan}")
        return
    page.change_part(doubled=said.state, doubled_why=said.why)
    page.told.append(f"{part.name}: {said.state}" + (f", because {said.why}" if said.why else ""))
    if said.state == "not doubled" and part.doubles:
        names = " and ".join(each.part for each in part.doubles)
        page.warnings.append(f"{names} is logged as its double")


def _overdub(said: OverdubSaid, page: Page) -> None:
    part = page.part()
    over = other_part(said.over, page).name if said.over else ""
    bars = ranges_text(ranges_of(said.bars, page.where)) if said.bars else ""
    session = page.session().name
    new = Overdub(over=over, session=session, bars=bars)
    if new not in part.overdubs:
        page.change_part(overdubs=(*part.overdubs, new))
    page.told.append(
        f"{part.name} is an overdub"
        + (f" over {over}" if over else "")
        + (f", bars {bars}" * bool(bars))
    )


def mean_note(said: NoteSaid, page: Page) -> None:
    """Keep a remark where it belongs."""
    if said.about == "song":
        song = page.song()
        page.change_song(notes=_joined(song.notes, said.text))
        page.told.append(f"note on {song.title}: {said.text}")
    elif said.about == "version":
        version = page.version()
        page.change_version(notes=_joined(version.notes, said.text))
        page.told.append(f"note on {version.name}: {said.text}")
    elif said.about == "session":
        session = page.session()
        notes = _joined(session.notes, said.text)
        page.write(Session(name=session.name, notes=notes), (), "notes")
        page.where = replace(page.where, session=replace(session, notes=notes))
        page.told.append(f"note on session {session.name}: {said.text}")
    elif said.about == "words":
        _sing(said, page)
    else:
        part = page.part()
        bars = str(ranges_of(said.place, page.where)[0]) if said.place else ""
        note = TechniqueNote(text=said.text, bars=bars)
        if note not in part.technique_notes:
            page.change_part(technique_notes=(*part.technique_notes, note))
        at = f", bar{'s' * ('-' in bars)} {bars}" if bars else ""
        page.told.append(f"note on {part.name}{at}: {said.text}")


def _sing(said: NoteSaid, page: Page) -> None:
    """Keep words where they begin; bar lines in them part what is sung in one bar and the next."""
    version = page.version()
    at = words_start(said.place, page.where)
    lines = {(each.bar, Fraction(each.beat)): each for each in version.lyrics}
    told = []
    for number, piece in enumerate(said.text.split("|")):
        words, key = " ".join(piece.split()), (at.bar + number, Fraction(1) if number else at.beat)
        if not words:
            continue
        before = lines.get(key)
        said_already = before is not None and fold(words) in map(fold, before.text.split(" / "))
        if before is not None and not said_already:
            if not said.place[:1].isdecimal() and "." not in said.place:
                # Only the section was said, and it has words at its start: they go on.
                words = f"{before.text} / {words}"
            else:
                page.warnings.append(f"it replaces: {before.text}")
        elif before is not None:
            words = before.text
        beat = str(key[1])
        lines[key] = Lyric(bar=key[0], beat=beat, text=words, notes=before.notes if before else "")
        told.append(f"sung from bar {BarPoint(*key)}: {words}")
    if not told:
        raise LogbookError("no words are given", "write it as in lyric B: the tide comes in")
    if (new := in_order(lines.values())) != version.lyrics:
        page.change_version(lyrics=new)
    page.told += told


def _joined(old: str, new: str) -> str:
    return new if not old or old == new else f"{old}; {new}"
