"""Notebook lines put into the log: a line is one transaction, and one undo takes it back.

What is answered is in the log: an answer is given once its transaction has ended. A line that
cannot be read, or contradicts what it stands on, changes nothing and stays as a remark.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from logbook.errors import LogbookError
from logbook.notebook import days
from logbook.notebook.lines.facts import SongSaid
from logbook.notebook.lines.kinds import fold
from logbook.notebook.lines.meaning import mean
from logbook.notebook.lines.page import LineOutcome, Page, Write
from logbook.notebook.lines.reading import read_line
from logbook.notebook.lines.where import Where
from logbook.notebook.lines.words import plain_line
from logbook.records import Remark, Session, Song
from logbook.store.changing import now
from logbook.store.errors import StoreError
from logbook.store.finding import LogPlace, exactly, find, names_in
from logbook.store.here import move_here, read_here
from logbook.store.layout import TABLE_OF
from logbook.store.reading import read_one, read_rows

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from logbook.store.changing import Change
    from logbook.store.store import Store


_UNDO = frozenset({"undo", "undo that", "scratch that", "take that back"})


@dataclass(frozen=True, kw_only=True)
class LineAnswer:
    """What came of one line.

    `again` is the line as the notebook prints it, `understood` what it was understood as, `sounds`
    what a chord sounds, `made` what was new and was taken in, `contradictions` what does not fit.
    A line that stays as a remark has `read` false, the remark's name, and `why` and `remedy`.
    """

    number: int
    line: str
    read: bool
    again: str = ""
    understood: str = ""
    sounds: str = ""
    made: tuple[str, ...] = ()
    contradictions: tuple[str, ...] = ()
    remark: str = ""
    why: str = ""
    remedy: str = ""


class LineError(LogbookError):
    """A line that stays as a remark; `place` is where the work was."""

    def __init__(self, problem: str, remedy: str, place: str) -> None:
        super().__init__(problem, remedy)
        self.place = place


class Notebook:
    """Lines written into one log, one after another; it knows which session was named in it."""

    def __init__(self, store: Store, *, who: str | None = None, today: str = "") -> None:
        self.store = store
        self.who = who
        self._today = today
        self._session_said = ""
        self._count = 0

    def write(self, text: str) -> LineAnswer:
        """Put one line into the log and answer it. Only a log that fails raises."""
        self._count += 1
        line = text.strip()
        if fold(plain_line(line)).rstrip(".!") in _UNDO:
            return self._undone(line)
        try:
            return self._written(line)
        except LineError as error:
            why, remedy, place = error.problem, error.remedy, error.place
        with self.store.change(f"note {line}", who=self.who) as change:
            remark = _keep(change, line, why, place)
        return LineAnswer(
            number=self._count, line=line, read=False, remark=remark, why=why, remedy=remedy
        )

    def _undone(self, line: str) -> LineAnswer:
        """Take back this person's last change, as a line of a page may say."""
        from logbook.store.undoing import next_undone, undo

        try:
            (coming,) = next_undone(self.store, who=self.who)
            undo(self.store, who=self.who, expected=[coming.id])
        except StoreError:
            raise
        except LogbookError as error:
            return LineAnswer(
                number=self._count,
                line=line,
                read=True,
                again="undo",
                understood="nothing was taken back",
                contradictions=(error.problem,),
            )
        return LineAnswer(
            number=self._count,
            line=line,
            read=True,
            again="undo",
            understood=f"took back: {coming.command}",
        )

    def trial(self, text: str) -> LineAnswer:
        """Say what a line would come to, and leave the log as it is."""
        line = text.strip()
        with self.store.reading() as connection:
            where = self._where(connection, line)
            understood = read_line(line, where)
            why, remedy = understood.why, understood.remedy
            if understood.fact is not None:
                try:
                    outcome = mean(understood.fact, self._page(where, connection, understood.fact))
                except LogbookError as error:
                    why, remedy = error.problem, error.remedy
                else:
                    return _answer(self._count, line, str(understood.fact), outcome)
        return LineAnswer(number=self._count, line=line, read=False, why=why, remedy=remedy)

    def _written(self, line: str) -> LineAnswer:
        """Put a line into the log. Raises LineError, and then nothing is changed."""
        with self.store.change(f"note {line}", who=self.who) as change:
            where = self._where(change.connection, line)
            understood = read_line(line, where)
            if understood.fact is None:
                raise LineError(understood.why, understood.remedy, _place_of(where))
            page = self._page(where, change.connection, understood.fact)
            try:
                outcome = mean(understood.fact, page)
                for each in outcome.writes:
                    _put(change, each)
            except StoreError:
                raise
            except LogbookError as error:
                remedy = error.remedy
                if "from the capo" in remedy:
                    remedy += "; the line frets from capo says that of all chords"
                raise LineError(error.problem, remedy, _place_of(where)) from error
            self._go(change, where, outcome)
            # Also a line that changed nothing is a line, and one undo.
            change.open_command()
        return _answer(self._count, line, str(understood.fact), outcome)

    @property
    def today(self) -> str:
        """The day as ISO date."""
        return self._today or days.today()

    def _where(self, connection: Connection, line: str) -> Where:
        here = read_here(connection, self.who)
        song = _song(connection, here.song)
        session = _session(connection, here.session)
        titles = names_in(connection, "song") if line[:4].casefold() == "song" else []
        return Where(
            song=song,
            version=here.version,
            part=here.part,
            titles=tuple(titles),
            people=tuple(names_in(connection, "person")),
            instruments=tuple(row.record for row in read_rows(connection, "instrument")),
            tunings=tuple(row.record for row in read_rows(connection, "tuning")),
            sessions=tuple(names_in(connection, "session")),
            session=session,
            session_said=bool(session) and here.session == self._session_said,
            today=self.today,
        )

    def _page(self, where: Where, connection: Connection, fact: object) -> Page:
        if isinstance(fact, SongSaid) and not where.titles:
            where = replace(where, titles=tuple(names_in(connection, "song")))
        return Page(
            where,
            song=lambda title: _song(connection, title),
            session=lambda name: _session(connection, name),
        )

    def _go(self, change: Change, before: Where, outcome: LineOutcome) -> None:
        after = outcome.where
        if after.session_said and after.session:
            self._session_said = after.session.name
        names = [
            (w.song.title if w.song else "", w.version, w.part, w.session.name if w.session else "")
            for w in (before, after)
        ]
        if names[0] != names[1]:
            song, version, part, session = names[1]
            move_here(
                change.connection, LogPlace(song, version, part, session=session), who=self.who
            )


def apply_lines(
    store: Store, lines: Iterable[str], *, who: str | None = None, today: str = ""
) -> Iterator[LineAnswer]:
    """Put lines into the log one after another, and answer each; empty ones are passed over.

    An answer's number is that of its line, from 1.
    """
    notebook = Notebook(store, who=who, today=today)
    for number, line in enumerate(lines, 1):
        if line.strip():
            yield replace(notebook.write(line), number=number)


def _song(connection: Connection, title: str) -> Song | None:
    found: Song | None = _one(connection, "song", title)
    return found


def _session(connection: Connection, name: str) -> Session | None:
    found: Session | None = _one(connection, "session", name)
    return found


def _one(connection: Connection, kind: str, name: str) -> Any:
    found = exactly(connection, kind, name) if name else None
    row = read_one(connection, kind, found.id) if found else None
    return row.record if row else None


def _place(owner: tuple[str, ...]) -> LogPlace:
    song, version, part = (*owner, "", "", "")[:3]
    return LogPlace(song, version, part)


def _put(change: Change, write: Write) -> None:
    from logbook.store.editing import edit
    from logbook.store.writing import put

    if write.renamed:
        kind = TABLE_OF[type(write.record)]
        place = _place(write.owner)
        found = find(change.connection, kind, write.record.name, place)
        edit(change, found, {"name": write.renamed})
        return
    put(change, write.record, _place(write.owner), write.given)


def _answer(number: int, line: str, again: str, outcome: LineOutcome) -> LineAnswer:
    return LineAnswer(
        number=number,
        line=line,
        read=True,
        again=again,
        understood=outcome.told,
        sounds=outcome.sounds,
        made=outcome.made,
        contradictions=outcome.warnings,
    )


def _place_of(where: Where) -> str:
    names = (where.song.title if where.song else "", where.version, where.part)
    return " / ".join(filter(None, names))


def _keep(change: Change, line: str, why: str, place: str) -> str:
    """Keep a line that could not be read as a remark; return what it is called."""
    from logbook.store.writing import put

    numbers = [int(each) for each in names_in(change.connection, "remark") if each.isdecimal()]
    name = str(max(numbers, default=0) + 1)
    put(change, Remark(name=name, text=line, why=why, place=place, written_at=now()))
    return name
