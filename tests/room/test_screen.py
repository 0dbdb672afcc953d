"""The open screen, driven by its keys as a person (or a foot pedal) would."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable
from pathlib import Path

import pytest
from rich.console import Console
from textual.pilot import Pilot
from textual.widgets import Digits, Input, Static

from logbook.room.keys import read_keys
from logbook.room.screen import RoomScreen, takes_table
from logbook.room.view import ShownTake, View
from logbook.room.working import Room
from logbook.store.lifecycle import open_log
from logbook.store.store import Store
from tests.room.test_working import DAY, START, started, wav

Steps = Callable[[Pilot[None]], Awaitable[None]]


def drive(app: RoomScreen, steps: Steps, size: tuple[int, int] = (80, 24)) -> None:
    """Run the screen without a terminal and do these steps."""

    async def run() -> None:
        async with app.run_test(size=size) as pilot:
            await pilot.pause()
            await steps(pilot)

    asyncio.run(run())


def text_of(app: RoomScreen, name: str) -> str:
    """What one part of the screen shows, as plain text."""
    found = app.query_one(f"#{name}", Static)
    return "\n".join(
        "".join(segment.text for segment in strip)
        for strip in found.render_lines(found.size.region)
    )


def test_a_key_is_a_take_and_a_key_takes_it_back(file_store: Store) -> None:
    room = started(file_store)
    app = RoomScreen(room)

    async def steps(pilot: Pilot[None]) -> None:
        assert app.query_one("#number", Digits).value == "1"
        await pilot.press("k")
        assert "take 1" in text_of(app, "answer")
        assert app.query_one("#number", Digits).value == "2"
        await pilot.press("2", "f")
        assert [(t.number, t.result, t.bars) for t in room.view().takes] == [
            (2, "false start", "5-8"), (1, "keeper", ""),
        ]  # fmt: skip
        await pilot.press("u")
        assert "took back" in text_of(app, "answer")
        assert len(room.view().takes) == 1
        await pilot.press("0", "r")
        assert room.view().takes[0].result == "reject"

    drive(app, steps)


def test_lines_are_written_while_keys_are_letters(file_store: Store) -> None:
    room = started(file_store)
    app = RoomScreen(room)

    async def steps(pilot: Pilot[None]) -> None:
        await pilot.press("n", *"k 1-4 nice", "enter")
        assert [(t.result, t.bars, t.note) for t in room.view().takes] == [
            ("keeper", "1-4", "nice")
        ]
        await pilot.press(*"G 320003", "enter")
        assert "G2 B2 D3 G3 B3 G4" in text_of(app, "answer") or "G" in text_of(app, "answer")
        await pilot.press(*"no such thing at all", "enter")
        assert "remark" in text_of(app, "answer")
        await pilot.press("escape", "k")
        assert room.view().takes[0].number == 2
        await pilot.press("p", *"3 late", "enter")
        assert "3" in text_of(app, "answer")
        await pilot.press("k")
        assert room.view().takes[0].number == 3

    drive(app, steps)


def test_a_new_song_s_first_take_is_the_second_thing_typed(file_store: Store) -> None:
    room = Room(file_store, who="Oda", today=DAY)
    app = RoomScreen(room)

    async def steps(pilot: Pilot[None]) -> None:
        assert "no song yet" in text_of(app, "where")
        await pilot.press("n", *"song Low Water", "enter", "enter", "k")
        assert [take.number for take in room.view().takes] == [1]
        assert "Low Water" in text_of(app, "where")

    drive(app, steps)


def test_a_whole_day_is_pasted(file_store: Store) -> None:
    room = Room(file_store, who="Oda", today=DAY)
    app = RoomScreen(room)

    async def steps(pilot: Pilot[None]) -> None:
        app.put_lines([*START, "t1 keeper 1-4", "what was that"])
        await pilot.pause()
        assert "7 of 8 lines read" in text_of(app, "answer")
        assert room.view().remarks == 1

    drive(app, steps)


def test_keys_of_a_file(file_store: Store, tmp_path: Path) -> None:
    (tmp_path / "pedal.toml").write_text('keeper = ["f9", "pagedown"]\nundo = "pageup"\n')
    room = started(file_store)
    app = RoomScreen(room, keys=read_keys(tmp_path / "pedal.toml"))

    async def steps(pilot: Pilot[None]) -> None:
        await pilot.press("pagedown", "pagedown", "k", "pageup")
        assert [take.number for take in room.view().takes] == [1]

    drive(app, steps)


def test_what_others_write_is_seen(file_store: Store) -> None:
    room = started(file_store)
    app = RoomScreen(room)
    assert file_store.path is not None

    async def steps(pilot: Pilot[None]) -> None:
        with open_log(str(file_store.path)) as other:
            Room(other, who="Oda", today=DAY).rate("keeper")
        await pilot.pause(1.2)
        assert "keeper" in text_of(app, "takes")

    drive(app, steps)


def test_a_recording_that_ends_waits_for_its_key(
    file_store: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("logbook.room.arriving.QUIET_S", 0.4)
    folder = tmp_path / "recorder"
    wav(folder / "REC_0001.wav", 2, tone=5)
    room = started(file_store, folder=folder)
    app = RoomScreen(room)

    async def steps(pilot: Pilot[None]) -> None:
        assert "1 file was there before" in text_of(app, "answer")
        await pilot.pause(0.5)
        wav(folder / "REC_0002.wav", 4.1)
        for _ in range(60):
            await pilot.pause(0.2)
            # The screen is drawn anew a moment after the take is there.
            if "REC_0002.wav" in text_of(app, "takes"):
                break
        assert room.view().unrated == 1
        assert "REC_0002.wav" in text_of(app, "takes")
        await pilot.pause(0.6)
        await pilot.press("k")
        assert [(t.number, t.result) for t in room.view().takes] == [(1, "keeper")]
        await pilot.press("o")
        assert room.view().takes[0].files == ("REC_0001.wav",)

    drive(app, steps)


@pytest.mark.parametrize("size", [(80, 24), (120, 40), (60, 20)])
def test_everything_fits(file_store: Store, size: tuple[int, int]) -> None:
    room = started(file_store)
    room.rate("keeper")
    app = RoomScreen(room)

    async def steps(pilot: Pilot[None]) -> None:
        for name in ("where", "answer", "keys", "takes"):
            found = app.query_one(f"#{name}", Static)
            assert found.size.height > 0, name
            assert found.region.bottom <= size[1], name
        assert app.query_one("#line", Input).region.bottom <= size[1]

    drive(app, steps, size)


def test_results_are_read_whole_beside_a_long_note() -> None:
    note = "best intro, lost the words in the verse and found them again, twice the fire"
    takes = tuple(
        ShownTake(
            number=number,
            result=result,
            bars="1-12",
            session="day two",
            note=note,
            files=("low-tide-ledger_guitar_4.flac",),
        )
        for number, result in ((2, "false start"), (1, "incomplete"))
    )
    console = Console(width=46)
    with console.capture() as captured:
        console.print(takes_table(View(takes=takes, session="day three")))
    drawn = captured.get()
    for words in ("2 (day two)", "1 (day two)", "false start", "incomplete", "1-12", "best"):
        assert words in drawn
