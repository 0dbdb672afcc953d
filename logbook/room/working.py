"""What is done in the room: one key or one line, one transaction, one answer.

Results and lines go through the notebook's language, so that the room says what `logbook note`
says. A take that came from the recorder's folder waits for its result; the next result key rates
it, and otherwise logs a take of its own.
"""

from __future__ import annotations

import datetime
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from logbook.errors import LogbookError
from logbook.notebook.lines.log_lines import LineAnswer, Notebook
from logbook.records.part_view import PartView
from logbook.room.arriving import Arrivals
from logbook.room.hearing import HeardProposal, log_proposal, propose_held, propose_take
from logbook.room.recorded import known_places, log_recording
from logbook.room.view import View, view_of
from logbook.store.file_rows import last_command
from logbook.store.finding import LogPlace as Named
from logbook.store.finding import exactly
from logbook.store.here import move_here, read_here
from logbook.store.reading import read_log, read_rows
from logbook.store.undoing import next_undone, undo

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from logbook.records import Session
    from logbook.store.here import Here
    from logbook.store.store import Store

RESULTS = ("keeper", "complete", "incomplete", "false start", "reject")


@dataclass(frozen=True, kw_only=True)
class Reply:
    """What is answered: a sentence, more of it in lines, and whether it was done."""

    said: str
    more: tuple[str, ...] = ()
    done: bool = True


class Room:
    """One open room on a log; several may be open at once.

    `who` and `today` are as for `Notebook`; `folder` is the recorder's, None without one; `clock`
    counts seconds and only goes forward.
    """

    def __init__(
        self,
        store: Store,
        *,
        who: str | None = None,
        today: str = "",
        folder: Path | None = None,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self.store = store
        self.who = who
        self.section = ""
        self.notebook = Notebook(store, who=who, today=today)
        self.clock = clock
        self.arrivals = Arrivals(folder.resolve()) if folder else None
        self.offered: list[Path] = []
        self.proposal: HeardProposal | None = None
        self._shown: tuple[object, View] | None = None
        if self.arrivals is not None:
            with store.reading() as connection:
                self.offered = self.arrivals.open(known_places(connection))

    # Looking

    def view(self) -> View:
        """What there is to be seen now; worked out anew only when the log has changed."""
        with self.store.reading() as connection:
            here = read_here(connection, self.who)
            key = (last_command(connection), here, self.section, self.notebook.today)
            if self._shown is not None and self._shown[0] == key:
                return self._shown[1]
            remarks = [row.record for row in read_rows(connection, "remark")]
            unsettled = sum(not each.settled for each in remarks)
            place = _place(connection, here)
            session = _session(connection, here.session)
            if place is None:
                view = View(
                    song=here.song,
                    session=here.session,
                    missing=("which song: song Saltpan Road",),
                    remarks=unsettled,
                )
            else:
                view = view_of(
                    place,
                    session,
                    section=self.section,
                    today=self.notebook.today,
                    remarks=unsettled,
                )
        self._shown = (key, view)
        return view

    # Doing

    def write(self, line: str) -> Reply:
        """Put one notebook line into the log."""
        return self._try(lambda: _reply(self.notebook.write(line)))

    def rate(self, result: str) -> Reply:
        """Rate the take that waits for its result, or log the next take with it."""
        view = self.view()
        if view.unrated is not None:
            return self.write(f"t{view.unrated} {result}")
        return self.write(f"{result} {view.bars}".strip())

    def punch(self, text: str) -> Reply:
        """Add a punch-in to the last take: its bars, and why if need be."""
        view = self.view()
        last = next((take for take in view.takes if take.session == view.session), None)
        if last is None:
            return Reply(said="there is no take yet to punch into", done=False)
        return self.write(f"t{last.number} punch {text}")

    def mark(self) -> Reply:
        """Keep this moment: the time of day, and where in the file that is being recorded."""
        moment = datetime.datetime.now().strftime("%H:%M:%S")
        growing = self.arrivals.growing() if self.arrivals else None
        if growing is not None:
            path, since = growing
            seconds = int(self.clock() - since)
            moment += f", {seconds // 60}:{seconds % 60:02} into {path.name}"
        return self.write(f"session note: mark at {moment}")

    def undo(self) -> Reply:
        """Take this person's last command back."""

        def take_back() -> Reply:
            (coming,) = next_undone(self.store, who=self.who)
            undo(self.store, who=self.who, expected=[coming.id])
            self._stay_somewhere()
            return Reply(said=f"took back: {coming.command}")

        return self._try(take_back)

    def _stay_somewhere(self) -> None:
        """Go to another part of the version where the current one is no longer there."""
        with self.store.reading() as connection:
            here = read_here(connection, self.who)
            if not here.song or here.part:
                return
            found = exactly(connection, "song", here.song)
            songs = read_log(connection, [found.id]).songs if found else ()
        parts = [
            (version.name, part.name)
            for song in songs
            for version in song.versions
            if here.version in ("", version.name)
            for part in version.parts
        ]
        if parts:
            version, part = parts[-1]
            with self.store.change("here", who=self.who) as change:
                place = Named(here.song, version, part, session=here.session)
                move_here(change.connection, place, who=self.who)

    def choose(self, digit: str) -> Reply:
        """Choose the section that the next takes cover; "0" or "" is the whole song."""
        wanted = "" if digit == "0" else digit
        rows = self.view().sections
        found = next((row for row in rows if wanted and row.digit == wanted), None)
        if wanted and found is None:
            return Reply(said=f"there is no section {digit}", done=False)
        self.section = wanted
        if found is None:
            return Reply(said="the whole song")
        return Reply(said=f"{found.name}, bars {found.bars}")

    def turn_part(self, step: int) -> Reply:
        """Go on to the next part of the version (`step` 1), or the one before (-1)."""
        view = self.view()
        if len(view.parts) < 2:
            only = "there is no other part; a line makes one: part high"
            return Reply(said=only if view.parts else "there is no part yet", done=False)
        at = (view.parts.index(view.part) + step) % len(view.parts)
        return self.go(view.parts[at])

    def go(self, part: str) -> Reply:
        """Go to a part of the current version."""
        view = self.view()

        def move() -> Reply:
            with self.store.change(f"here --part {part}", who=self.who) as change:
                place = Named(view.song, view.version, part, session=view.session)
                move_here(change.connection, place, who=self.who)
            return Reply(said=f"part {part}")

        return self._try(move)

    # Play it to log it

    def hear_take(self) -> Reply:
        """Hear the chords of the last take that has a file, for the chart."""

        def listen(place: PartView, view: View) -> HeardProposal:
            last = next((take for take in view.takes if take.files), None)
            if last is None:
                raise LogbookError("no take has a file yet", "a take needs its recording")
            name = f"{last.number}/{last.session}" if last.session else str(last.number)
            return propose_take(place, name)

        return self._hear(listen)

    def hear_chords_held(self) -> Reply:
        """Hear chords held once each in the newest file, for the part's voicings."""

        def listen(place: PartView, view: View) -> HeardProposal:
            if self.offered:
                return propose_held(place, self.offered[-1])
            records = [file for take in place.part.takes for file in take.files]
            if not records:
                raise LogbookError("there is no recording yet", "record each chord held once")
            return propose_held(place, Path(records[-1].folder) / records[-1].path)

        return self._hear(listen)

    def _hear(self, listen: Callable[[PartView, View], HeardProposal]) -> Reply:
        view = self.view()
        with self.store.reading() as connection:
            place = _place(connection, read_here(connection, self.who))
        if place is None:
            return Reply(said="there is no part yet", done=False)

        def hear() -> Reply:
            self.proposal = listen(place, view)
            more = (*self.proposal.lines, "accept it with its key, or go on")
            return Reply(said=self.proposal.said, more=more)

        return self._try(hear)

    def accept(self) -> Reply:
        """Log what was heard last."""
        proposal, self.proposal = self.proposal, None
        if proposal is None:
            return Reply(said="nothing was heard that could be accepted", done=False)
        return self._try(lambda: Reply(said=log_proposal(self.store, proposal, who=self.who)))

    # The recorder's folder

    def look(self) -> list[Reply]:
        """Log every recording that has become whole since the last look."""
        if self.arrivals is None:
            return []
        return [self._recorded(path) for path in self.arrivals.look(self.clock())]

    def log_offered(self) -> Reply:
        """Log the oldest of the files that were there before the room was opened."""
        if not self.offered:
            return Reply(said="no file waits to be logged", done=False)
        return self._recorded(self.offered.pop(0))

    def _recorded(self, path: Path) -> Reply:
        view = self.view()
        if not view.part:
            self.offered.append(path)
            return Reply(said=f"{path.name} has come; say the song first", done=False)
        if not view.session or not view.is_today:
            begun = self.write(f"session {self.notebook.today}, today")
            if not begun.done:
                return begun
            view = self.view()
        return self._try(
            lambda: Reply(
                said=log_recording(
                    self.store,
                    path,
                    Named(view.song, view.version, view.part, session=view.session),
                    first_bars=view.bars,
                    root=self.arrivals.folder if self.arrivals else path.parent,
                    who=self.who,
                )
            )
        )

    def _try(self, work: Callable[[], Reply]) -> Reply:
        try:
            return work()
        except LogbookError as error:
            return Reply(said=str(error), done=False)


def _reply(answer: LineAnswer) -> Reply:
    if not answer.read:
        why = tuple(filter(None, (answer.why, answer.remedy)))
        return Reply(said=f"kept as remark {answer.remark}", more=why, done=False)
    more = [f"sounds {answer.sounds}"] if answer.sounds else []
    more += [f"new: {each}" for each in answer.made]
    more += [f"but: {each}" for each in answer.contradictions]
    return Reply(said=answer.understood, more=tuple(more))


def _place(connection: Connection, here: Here) -> PartView | None:
    found = exactly(connection, "song", here.song) if here.song else None
    if found is None:
        return None
    log = read_log(connection, [found.id])
    for song in log.songs:
        for version in song.versions:
            for part in version.parts:
                if (version.name, part.name) == (here.version, here.part):
                    return PartView(log, song, version, part)
    return None


def _session(connection: Connection, name: str) -> Session | None:
    found = exactly(connection, "session", name) if name else None
    rows = read_rows(connection, "session", [found.id]) if found else []
    return rows[0].record if rows else None
