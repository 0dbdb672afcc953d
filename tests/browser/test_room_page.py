"""The page on the stand in a real browser, 360 pixels wide and by touch."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
import uvicorn

from logbook.room.serving import _bound, make_app
from logbook.room.working import Room
from logbook.store.store import Store
from tests.room.test_working import started

SECRET = "only-this-test-knows-it"


@pytest.fixture
def room(file_store: Store) -> Room:
    return started(file_store)


@pytest.fixture
def address(room: Room) -> Iterator[str]:
    """The page, served on this machine as long as a test runs."""
    with _bound("127.0.0.1", 0) as listening:
        config = uvicorn.Config(make_app(room, SECRET), log_level="critical", lifespan="off")
        config.timeout_graceful_shutdown = 1
        server = uvicorn.Server(config)
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]}, daemon=True)
        thread.start()
        yield f"http://127.0.0.1:{listening.getsockname()[1]}/{SECRET}/"
        server.should_exit = True
        thread.join(5)


def phone(browser: Any, address: str) -> None:
    """Make the window a phone's and open the page."""
    browser.execute_cdp_cmd(
        "Emulation.setDeviceMetricsOverride",
        {"width": 360, "height": 740, "deviceScaleFactor": 2, "mobile": True},
    )
    browser.execute_cdp_cmd("Emulation.setTouchEmulationEnabled", {"enabled": True})
    browser.get(address)
    until(lambda: "Saltpan Road" in text(browser, "where"))


def text(browser: Any, name: str) -> str:
    return str(browser.execute_script(f"return document.getElementById('{name}').textContent"))


def until(true: Callable[[], bool], seconds: float = 10.0) -> None:
    end = time.monotonic() + seconds
    while not true():
        assert time.monotonic() < end, "it did not come about"
        time.sleep(0.05)


def touch(browser: Any, what: str) -> None:
    """Put a finger on a button and lift it."""
    place = browser.execute_script(
        "const b = document.querySelector(`button[data-do='${arguments[0]}']`);"
        "b.scrollIntoView({block: 'center'}); const r = b.getBoundingClientRect();"
        "return {x: r.x + r.width / 2, y: r.y + r.height / 2};",
        what,
    )
    for kind, points in (("touchStart", [place]), ("touchEnd", [])):
        browser.execute_cdp_cmd("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})


def offline(browser: Any, is_offline: bool) -> None:
    browser.execute_cdp_cmd("Network.enable", {})
    browser.execute_cdp_cmd(
        "Network.emulateNetworkConditions",
        {"offline": is_offline, "latency": 0, "downloadThroughput": -1, "uploadThroughput": -1},
    )


def test_a_take_by_touch(browser: Any, address: str, room: Room) -> None:
    phone(browser, address)
    wide = browser.execute_script("return document.documentElement.scrollWidth")
    assert wide <= 360
    sizes = browser.execute_script(
        "return [...document.querySelectorAll('#results button')]"
        ".map(b => [b.offsetWidth, b.offsetHeight])"
    )
    assert len(sizes) == 4
    assert all(width >= 120 and height >= 80 for width, height in sizes)
    touch(browser, "keeper")
    until(lambda: len(room.view().takes) == 1)
    until(lambda: "1 keeper" in text(browser, "takes"))
    touch(browser, "undo")
    until(lambda: not room.view().takes)
    until(lambda: "took back" in text(browser, "answer"))


def test_the_chart_and_a_line(browser: Any, address: str, room: Room) -> None:
    phone(browser, address)
    assert "Em" in text(browser, "chart")
    browser.execute_script(
        "document.getElementById('line').value = 'k 1-4 nice'; "
        "document.getElementById('note').requestSubmit()"
    )
    until(lambda: [take.note for take in room.view().takes] == ["nice"])
    until(lambda: "bars 1-4, nice" in text(browser, "takes"))


def test_two_phones_see_each_other(browser: Any, address: str, room: Room) -> None:
    phone(browser, address)
    first = browser.current_window_handle
    browser.switch_to.new_window("tab")
    try:
        phone(browser, address)
        touch(browser, "complete")
        until(lambda: "1 complete" in text(browser, "takes"))
        browser.switch_to.window(first)
        until(lambda: "1 complete" in text(browser, "takes"))
        touch(browser, "false start")
        until(lambda: [t.result for t in room.view().takes] == ["false start", "complete"])
    finally:
        browser.switch_to.window(browser.window_handles[-1])
        browser.close()
        browser.switch_to.window(first)


def test_taps_without_a_connection_are_sent_later_once(
    browser: Any, address: str, room: Room
) -> None:
    phone(browser, address)
    offline(browser, True)
    try:
        for _ in range(3):
            touch(browser, "complete")
        until(lambda: "3 taps to send" in text(browser, "connection"))
        assert not room.view().takes
    finally:
        offline(browser, False)
    until(lambda: len(room.view().takes) == 3)
    until(lambda: text(browser, "connection") == "")
    time.sleep(2.5)
    assert [take.number for take in room.view().takes] == [3, 2, 1]


def test_taps_that_wait_outlive_the_page(browser: Any, address: str, room: Room) -> None:
    phone(browser, address)
    browser.execute_script(
        "localStorage.setItem('room-taps ' + location.pathname,"
        " JSON.stringify([{id: 'kept-from-before', do: 'keeper', text: ''}]))"
    )
    browser.refresh()
    until(lambda: [take.result for take in room.view().takes] == ["keeper"])
    browser.refresh()
    time.sleep(1)
    assert len(room.view().takes) == 1


def test_what_a_hostile_name_says_is_text(browser: Any, address: str, room: Room) -> None:
    room.write("k 1-4 <img src=x onerror=document.title='gotcha'>")
    phone(browser, address)
    until(lambda: "<img" in text(browser, "takes"))
    assert browser.title == "Room"


def test_the_page_is_for_everybody(browser: Any, address: str, axe: str) -> None:
    phone(browser, address)
    browser.execute_script(axe)
    found = browser.execute_async_script(
        "axe.run({runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa']}).then(arguments[0])"
    )
    assert [(each["id"], each["nodes"][0]["html"]) for each in found["violations"]] == []


def test_it_can_be_looked_at(browser: Any, address: str, room: Room, tmp_path: Path) -> None:
    room.rate("keeper")
    phone(browser, address)
    picture = tmp_path / "page.png"
    assert browser.save_screenshot(str(picture))
    assert picture.stat().st_size > 10_000
