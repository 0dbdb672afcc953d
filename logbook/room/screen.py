"""The screen that stays open: single keys log takes, a line at the bottom takes everything else.

Drawn with Textual. It works nothing out: `working` does, and `view` says what there is to see.
Keys belong to actions (see `keys`); while the line is being written they are letters again, and
Escape or an empty Enter gives them back. What comes by other rooms or commands is seen within
half a second.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Any, ClassVar

from rich.table import Table
from rich.text import Text
from textual.app import App, ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.widgets import Digits, Input, Static

from logbook.plaintext import clean
from logbook.room.keys import ACTIONS, Keys, usual_keys
from logbook.room.view import ChartCell, View
from logbook.room.working import RESULTS, Reply, Room

LOOK_AGAIN_S = 0.5
_ACTION_OF = {result.replace(" ", "_"): result for result in RESULTS}


class RoomScreen(App[None]):
    """The open room on one log. `keys` are each action's keys, the usual ones if left out."""

    TITLE = "logbook room"
    ENABLE_COMMAND_PALETTE = False
    CSS = """
    Screen { layout: vertical; }
    #where { height: auto; padding: 0 1; text-style: bold; background: $surface; }
    #setup { height: auto; padding: 0 1; color: $text-muted; }
    #top { height: auto; }
    #next { width: 24; height: 5; padding: 0 1; }
    #number { width: auto; height: 3; }
    #covers { height: auto; }
    #sections { width: 1fr; height: auto; padding: 0 1; }
    #chart { height: auto; padding: 0 1; }
    #lists { height: 1fr; }
    #takes { width: 3fr; height: auto; padding: 0 1; }
    #missing { width: 2fr; height: auto; padding: 0 1; }
    #answer { height: auto; min-height: 2; padding: 0 1; background: $surface; }
    #line { height: 3; }
    #keys { height: auto; padding: 0 1; color: $text-muted; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "leave_line", show=False, priority=True)
    ]

    def __init__(self, room: Room, *, keys: Keys | None = None) -> None:
        super().__init__()
        self.room = room
        self.keys = keys or usual_keys()
        self.shown: View | None = None
        self.prefix = ""
        for action, listed in self.keys.items():
            for key in listed:
                self.bind_key(key, action)

    def bind_key(self, key: str, action: str) -> None:
        """Give a key to an action, before Textual's own keys."""
        binding = Binding(key, f"press('{action}')", show=False, priority=True)
        self._bindings.key_to_bindings.setdefault(key, []).append(binding)

    def compose(self) -> ComposeResult:
        """Lay the screen out."""
        yield Static(id="where", markup=False)
        yield Static(id="setup", markup=False)
        with Horizontal(id="top"):
            with Vertical(id="next"):
                yield Digits("", id="number")
                yield Static(id="covers", markup=False)
            yield Static(id="sections", markup=False)
        yield Static(id="chart", markup=False)
        with Horizontal(id="lists"):
            yield Static(id="takes", markup=False)
            yield Static(id="missing", markup=False)
        yield Static(id="answer", markup=False)
        yield Input(id="line", placeholder="a line, e.g. Fmaj7 x87900", disabled=True)
        yield Static(id="keys", markup=False)

    def on_mount(self) -> None:
        """Show the log, and begin to watch it and the recorder's folder."""
        self.draw()
        self.query_one("#keys", Static).update(self.key_line())
        if self.room.offered:
            count = len(self.room.offered)
            files = f"{count} file{'s were' if count > 1 else ' was'}"
            self.answer(
                Reply(said=f"{files} there before: {self._keys_of('file')} logs the oldest")
            )
        self.set_interval(LOOK_AGAIN_S, self.look_again)
        if self.room.arrivals is not None:
            self.run_worker(self.watch_folder(), name="folder")

    # Looking

    def look_again(self) -> None:
        """See what others wrote, and whether a file that grew has stopped."""
        self.draw()
        if self.room.arrivals is not None and self.room.arrivals.growing() is not None:
            self.look_at_folder()

    async def watch_folder(self) -> None:
        """Look at the recorder's folder whenever something in it changes."""
        from watchfiles import awatch

        assert self.room.arrivals is not None
        async for _ in awatch(self.room.arrivals.folder, step=200, rust_timeout=2000):
            self.look_at_folder()

    def look_at_folder(self) -> None:
        """Log what has become whole; measuring it takes a moment, so a thread does it."""
        self.run_worker(self._look, thread=True, exclusive=True, group="look")

    def _look(self) -> None:
        for reply in self.room.look():
            self.call_from_thread(self.answer, reply)

    # Doing

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Keys are letters while a line is being written."""
        writing = not self.query_one("#line", Input).disabled
        return writing if action == "leave_line" else not (action == "press" and writing)

    def action_press(self, action: str) -> None:
        """Do what a key is for."""
        room = self.room
        if action in _ACTION_OF:
            self.answer(room.rate(_ACTION_OF[action]))
        elif action.startswith("section_"):
            self.answer(room.choose(action[-1]))
        elif action == "note":
            self.begin_line("")
        elif action == "punch":
            self.begin_line("punch")
        elif action == "help":
            self.answer(Reply(said="keys", more=tuple(self.key_lines())))
        elif action == "quit":
            self.exit()
        elif action in ("hear", "hear_chord", "accept"):
            self.answer(Reply(said="listening ..."))
            self.run_worker(partial(self._hear, action), thread=True, group="hear")
        else:
            simple: dict[str, Callable[[], Reply]] = {
                "undo": room.undo,
                "mark": room.mark,
                "next_part": partial(room.turn_part, 1),
                "previous_part": partial(room.turn_part, -1),
                "whole": partial(room.choose, "0"),
                "file": room.log_offered,
            }
            self.answer(simple[action]())

    def _hear(self, action: str) -> None:
        doing = {
            "hear": self.room.hear_take,
            "hear_chord": self.room.hear_chords_held,
            "accept": self.room.accept,
        }
        self.call_from_thread(self.answer, doing[action]())

    def begin_line(self, prefix: str) -> None:
        """Let the keys be letters, for a line or for what follows `prefix`."""
        self.prefix = prefix
        line = self.query_one("#line", Input)
        line.placeholder = (
            "bars punched in, and why: 12 late on the change"
            if prefix
            else "a line, e.g. Fmaj7 x87900"
        )
        line.disabled = False
        line.focus()

    def action_leave_line(self) -> None:
        """Give the keys back; what was written stays in the line."""
        line = self.query_one("#line", Input)
        line.disabled = True
        self.set_focus(None)

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Put the line into the log; several, as pasted, one after another."""
        lines = [each.strip() for each in event.value.splitlines() if each.strip()]
        self.put_lines(lines)

    def on_paste(self, event: Any) -> None:
        """A whole day that is pasted is written line by line."""
        lines = [each.strip() for each in event.text.splitlines() if each.strip()]
        if len(lines) > 1:
            event.prevent_default()
            event.stop()
            self.put_lines(lines)

    def put_lines(self, lines: list[str]) -> None:
        """Write lines into the log and say what came of them; none gives the keys back."""
        line = self.query_one("#line", Input)
        prefix, self.prefix = self.prefix, ""
        if not lines:
            self.action_leave_line()
            return
        replies = [self.room.punch(each) if prefix else self.room.write(each) for each in lines]
        line.value = ""
        if prefix:
            self.action_leave_line()
        left = [reply for reply in replies if not reply.done]
        if len(replies) == 1:
            self.answer(replies[0])
        else:
            read = f"{len(replies) - len(left)} of {len(replies)} lines read"
            self.answer(Reply(said=read, more=tuple(each.said for each in left[:6]), done=not left))

    # Drawing

    def answer(self, reply: Reply) -> None:
        """Show an answer, and the log as it is now."""
        text = Text()
        text.append("✓ " if reply.done else "! ", style="bold")
        text.append(clean(reply.said), style="bold")
        for each in reply.more:
            text.append(f"\n  {clean(each)}")
        self.query_one("#answer", Static).update(text)
        self.draw()

    def draw(self) -> None:
        """Show the log as it is, if it is not what is shown."""
        view = self.room.view()
        if view is self.shown:
            return
        self.shown = view
        for name, content in (
            ("where", where_line(view)),
            ("setup", clean(view.setup)),
            ("covers", covers_line(view)),
            ("sections", sections_text(view)),
            ("chart", chart_table(view.chart)),
            ("takes", takes_table(view)),
            ("missing", missing_text(view)),
        ):
            self.query_one(f"#{name}", Static).update(content)
        number = view.unrated if view.unrated is not None else view.next_take
        self.query_one("#number", Digits).update(str(number))

    def key_line(self) -> str:
        """The keys that are used most, in a line."""
        most = (*_ACTION_OF, "undo", "note", "punch", "mark", "next_part", "help")
        return "  ".join(f"{self._keys_of(action)} {ACTIONS[action][1]}" for action in most)

    def key_lines(self) -> list[str]:
        """Every action with its keys, two in a line; the sections' digits go without saying."""
        said = [
            f"{', '.join(map(_key_name, listed)) or '-':16} {ACTIONS[action][1]}"
            for action, listed in self.keys.items()
            if not action.startswith("section_")
        ] + ["1-9              section"]
        half = (len(said) + 1) // 2
        pairs = zip(said[:half], [*said[half:], ""], strict=False)
        return [f"{left:38}{right}".rstrip() for left, right in pairs]

    def _keys_of(self, action: str) -> str:
        return "".join(map(_key_name, self.keys[action][:1])) or "-"


def _key_name(key: str) -> str:
    """A key as it stands on the keyboard."""
    return {"question_mark": "?"}.get(key, key)


def where_line(view: View) -> str:
    """Song, version, part and session in a line."""
    if not view.song:
        return "no song yet: n, then e.g. song Saltpan Road"
    session = view.session or "no session yet"
    if not view.is_today:
        session += f" of {view.session_date}, the next take begins today's"
    words = (view.song, view.version, view.part or "no part yet")
    return clean(f"{' / '.join(words)}   session {session}")


def covers_line(view: View) -> str:
    """What the big number is about."""
    if view.unrated is not None:
        return "take waits for its result"
    return f"next take, bars {view.bars}" if view.bars else "next take"


def sections_text(view: View) -> Text:
    """The sections with their digits; the chosen one is marked."""
    text = Text("0 whole song" if view.sections else "", style="" if view.section else "reverse")
    for row in view.sections:
        text.append("  ")
        chosen = bool(row.digit) and row.digit == view.section
        mark = "> " if chosen else ""
        said = f"{mark}{row.digit} {clean(row.name)} {row.bars}".strip()
        text.append(said, style="reverse" if chosen else "")
    return text


def chart_table(cells: tuple[ChartCell, ...]) -> Table:
    """The chart line: what sounds above what the hands call it, eight bars at the most a row."""
    table = Table(box=None, padding=(0, 2, 0, 0), show_header=False)
    for start in range(0, min(len(cells), 16), 8):
        row = cells[start : start + 8]
        table.add_row(f"bar {row[0].bar}", *(Text(clean(c.sounds), style="bold") for c in row))
        if any(cell.shape for cell in row):
            table.add_row("shape", *(clean(cell.shape) for cell in row))
    return table


def takes_table(view: View) -> Table:
    """The last takes, the newest on top."""
    table = Table(box=None, padding=(0, 2, 0, 0), title="last takes", title_justify="left")
    for heading in ("take", "result", "bars"):
        table.add_column(heading, overflow="ellipsis", no_wrap=True)
    # A note that is cut is read in full with `logbook takes`; eight takes in sight count more.
    table.add_column("note", overflow="ellipsis")
    for take in view.takes:
        session = f" ({take.session})" if take.session != view.session else ""
        note = ", ".join(filter(None, (take.note, *take.files)))
        said = (f"{take.number}{session}", take.result or "to rate", take.bars)
        table.add_row(*map(clean, said), Text(clean(note), no_wrap=True, overflow="ellipsis"))
    return table


def missing_text(view: View) -> Text:
    """What somebody will ask for later."""
    text = Text("not said yet\n" if view.missing else "nothing is missing", style="bold")
    for each in view.missing:
        text.append(f"- {clean(each)}\n", style="not bold")
    return text
