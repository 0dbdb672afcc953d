"""The page's server: nothing without the secret, every tap once."""

from __future__ import annotations

import threading
from collections.abc import Iterator

import pytest
from starlette.testclient import TestClient

from logbook.errors import LogbookError
from logbook.room.serving import WRONG_A_MINUTE, Guard, _bound, make_app
from logbook.room.working import Room
from logbook.store.store import Store
from tests.room.test_working import started

SECRET = "a-secret-that-nobody-knows"
HEAD = {"content-type": "application/json"}


@pytest.fixture
def room(file_store: Store) -> Room:
    return started(file_store)


@pytest.fixture
def client(room: Room) -> Iterator[TestClient]:
    with TestClient(make_app(room, SECRET)) as found:
        yield found


def tap(client: TestClient, number: str, do: str, text: str = "") -> dict[str, object]:
    answer = client.post(f"/{SECRET}/do", json={"id": number, "do": do, "text": text})
    assert answer.status_code == 200, answer.text
    return dict(answer.json())


def test_a_tap_is_done_once(client: TestClient, room: Room) -> None:
    first = tap(client, "12345678", "keeper")
    assert first["done"]
    assert tap(client, "12345678", "keeper") == first
    assert [take.number for take in room.view().takes] == [1]
    tap(client, "12345679", "keeper")
    assert len(room.view().takes) == 2
    assert "took back" in str(tap(client, "12345670", "undo")["said"])


def test_the_same_lines_as_in_the_notebook(client: TestClient) -> None:
    said = tap(client, "abcdefgh", "line", "G 320003")
    assert said["done"]
    assert not tap(client, "abcdefgi", "line", "nothing like a line")["done"]
    assert "1 of 2 lines" in str(tap(client, "abcdefgj", "line", "k 1-4\nnot a line")["said"])
    assert not tap(client, "abcdefgk", "dance")["done"]


def test_the_state_is_what_the_screen_shows(client: TestClient) -> None:
    tap(client, "12345678", "section", "2")
    state = client.get(f"/{SECRET}/state").json()
    assert (state["song"], state["part"], state["bars"]) == ("Saltpan Road", "guitar", "5-8")
    assert [cell["sounds"] for cell in state["chart"]] == []


def test_the_page_says_what_it_may_load(client: TestClient) -> None:
    for name in ("", "page.js", "page.css"):
        answer = client.get(f"/{SECRET}/{name}")
        assert answer.status_code == 200
        policy = answer.headers["content-security-policy"]
        assert "default-src 'none'" in policy
        assert "unsafe" not in policy
        assert answer.headers["cache-control"] == "no-store"
        assert "http://" not in answer.text.replace("http://www.w3.org", "")
        assert "https://" not in answer.text


@pytest.mark.parametrize(
    "path", ["/", "/wrong/", "/wrong/state", "/wrong/live", "/page.js", "/a/b/c"]
)
def test_nothing_without_the_secret(client: TestClient, path: str) -> None:
    answer = client.get(path)
    assert answer.status_code == 404
    assert answer.text == "not found"


def test_who_guesses_waits(client: TestClient) -> None:
    codes = [client.get(f"/guess-{n}/").status_code for n in range(WRONG_A_MINUTE + 2)]
    assert codes == [404] * WRONG_A_MINUTE + [429] * 2
    assert client.post("/guess/do", json={}).status_code == 429


def test_the_wait_ends(client: TestClient) -> None:
    now = [0.0]
    guard = Guard(SECRET, clock=lambda: now[0])
    assert [guard.refuses("x", "phone") for _ in range(WRONG_A_MINUTE + 1)][-1] == 429
    assert guard.refuses(SECRET, "phone") == 429
    assert guard.refuses(SECRET, "tablet") == 0
    now[0] = 61
    assert guard.refuses(SECRET, "phone") == 0


@pytest.mark.parametrize(
    "body",
    [b"", b"[]", b"{}", b'{"id": 1, "do": "keeper"}', b'{"id": "short", "do": "undo"}',
     b"[" * 100_000, b'{"id": "12345678", "do": ["x"]}', b"\xff\xfe", b'"' + b"x" * 70_000 + b'"'],
)  # fmt: skip
def test_what_is_no_tap_is_refused(client: TestClient, room: Room, body: bytes) -> None:
    answer = client.post(f"/{SECRET}/do", content=body, headers=HEAD)
    assert answer.status_code == 400
    assert not room.view().takes


def test_other_pages_cannot_tap(client: TestClient, room: Room) -> None:
    body = {"id": "12345678", "do": "keeper"}
    other = client.post(f"/{SECRET}/do", json=body, headers={"origin": "http://elsewhere"})
    assert other.status_code == 403
    form = client.post(f"/{SECRET}/do", data=body)
    assert form.status_code == 400
    assert not room.view().takes


def test_two_phones_at_once(client: TestClient, room: Room) -> None:
    def phone(which: int) -> None:
        for n in range(5):
            tap(client, f"phone-{which}-{n}", "complete")

    phones = [threading.Thread(target=phone, args=(which,)) for which in range(2)]
    for each in phones:
        each.start()
    for each in phones:
        each.join()
    assert sorted(take.number for take in room.view().takes) == list(range(3, 11))


def test_an_address_that_is_not_this_machine_s() -> None:
    with pytest.raises(LogbookError, match="cannot be served at"):
        _bound("192.0.2.1", 0)
