"""The page on the stand: the room as a page for a phone or tablet, behind a secret address.

Conventions. The address holds a secret; without it nothing is answered but "not found", and
whoever guesses too often waits. The page gets its scripts and styles from here alone (Content
Security Policy, W3C). A tap has a number of its own, so that one which is sent again after the
connection was lost is done once. State goes out as server-sent events (HTML standard).
"""

from __future__ import annotations

import asyncio
import dataclasses
import hmac
import json
import secrets
import socket
import threading
import time
from collections import OrderedDict, deque
from collections.abc import AsyncIterator, Callable
from pathlib import Path
from typing import Any

import uvicorn
from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, PlainTextResponse, Response, StreamingResponse
from starlette.routing import Route

from logbook.errors import LogbookError
from logbook.room.working import RESULTS, Reply, Room

PAGE = Path(__file__).parent / "page"
FILES = {
    "": ("page.html", "text/html; charset=utf-8"),
    "page.css": ("page.css", "text/css; charset=utf-8"),
    "page.js": ("page.js", "text/javascript; charset=utf-8"),
}
HEADERS = {
    "Content-Security-Policy": (
        "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self';"
        " img-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
    ),
    "Referrer-Policy": "no-referrer",
    "X-Content-Type-Options": "nosniff",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cache-Control": "no-store",
}
WRONG_A_MINUTE = 10
"""How many wrong secrets one address may send in a minute."""
LARGEST_BODY = 64 * 1024
_TAPS_KEPT = 2000
_LOOK_AGAIN_S = 0.4
_LONGEST_ID = 64


class Guard:
    """Lets requests with the secret through, and slows down whoever guesses."""

    def __init__(self, secret: str, clock: Callable[[], float] = time.monotonic) -> None:
        self.secret = secret
        self.clock = clock
        self._wrong: OrderedDict[str, deque[float]] = OrderedDict()

    def refuses(self, secret: str, address: str) -> int:
        """The status to refuse a request with, 0 to let it through."""
        now = self.clock()
        wrong = self._wrong.get(address, deque())
        while wrong and now - wrong[0] > 60:
            wrong.popleft()
        if len(wrong) >= WRONG_A_MINUTE:
            return 429
        if hmac.compare_digest(secret.encode(), self.secret.encode()):
            return 0
        wrong.append(now)
        self._wrong[address] = wrong
        self._wrong.move_to_end(address)
        while len(self._wrong) > 1000:
            self._wrong.popitem(last=False)
        return 404


class SharedRoom:
    """One room that several phones use: one tap at a time, and each tap once."""

    def __init__(self, room: Room) -> None:
        self.room = room
        self._lock = threading.Lock()
        self._answered: OrderedDict[str, dict[str, Any]] = OrderedDict()
        self._said: Reply | None = None

    def state(self) -> dict[str, Any]:
        """What there is to be seen, as JSON has it."""
        with self._lock:
            return self._state()

    def _state(self) -> dict[str, Any]:
        state = dataclasses.asdict(self.room.view())
        state["offered"] = len(self.room.offered)
        state["heard"] = self.room.proposal is not None
        state["last"] = dataclasses.asdict(self._said) if self._said else None
        return state

    def tap(self, number: str, do: str, text: str) -> dict[str, Any]:
        """Do one tap and answer it; one that was done already gets the same answer again."""
        with self._lock:
            known = self._answered.get(number)
            if known is not None:
                return known
            reply = self._do(do, text)
            self._said = reply
            answer = dataclasses.asdict(reply) | {"state": self._state()}
            self._answered[number] = answer
            while len(self._answered) > _TAPS_KEPT:
                self._answered.popitem(last=False)
            return answer

    def look(self) -> None:
        """Log what has arrived in the recorder's folder."""
        with self._lock:
            for reply in self.room.look():
                self._said = reply

    def _do(self, do: str, text: str) -> Reply:
        room = self.room
        if do in RESULTS:
            return room.rate(do)
        doing: dict[str, Callable[[], Reply]] = {
            "line": lambda: self._lines(text),
            "punch": lambda: room.punch(text),
            "section": lambda: room.choose(text),
            "part": lambda: room.go(text),
            "next part": lambda: room.turn_part(1),
            "undo": room.undo,
            "mark": room.mark,
            "file": room.log_offered,
            "hear": room.hear_take,
            "hear chord": room.hear_chords_held,
            "accept": room.accept,
        }
        if do not in doing:
            return Reply(said=f"the page cannot do {do[:40]!r}", done=False)
        return doing[do]()

    def _lines(self, text: str) -> Reply:
        lines = [line for line in text.splitlines() if line.strip()]
        replies = [self.room.write(line) for line in lines]
        if len(replies) == 1:
            return replies[0]
        left = [reply.said for reply in replies if not reply.done]
        said = f"{len(replies) - len(left)} of {len(replies)} lines read"
        return Reply(said=said, more=tuple(left), done=not left)


def make_app(room: Room, secret: str, *, watch: bool = False) -> Starlette:
    """The page's application; `watch` looks at the recorder's folder as long as it runs."""
    shared, guard = SharedRoom(room), Guard(secret)

    async def page(request: Request) -> Response:
        refused = _refused(request, guard)
        if refused is not None:
            return refused
        name = request.path_params.get("name", "")
        if name == "state":
            return _answer(JSONResponse(await run_in_threadpool(shared.state)))
        if name == "live":
            return _answer(
                StreamingResponse(_live(shared, request), media_type="text/event-stream")
            )
        if name not in FILES:
            return _answer(PlainTextResponse("not found", 404))
        file, kind = FILES[name]
        return _answer(Response((PAGE / file).read_bytes(), media_type=kind))

    async def tap(request: Request) -> Response:
        refused = _refused(request, guard)
        if refused is not None:
            return refused
        try:
            number, do, text = _read_tap(await _body(request))
        except ValueError as error:
            return _answer(PlainTextResponse(str(error), 400))
        return _answer(JSONResponse(await run_in_threadpool(shared.tap, number, do, text)))

    app = Starlette(
        routes=[
            Route("/{secret}/do", tap, methods=["POST"]),
            Route("/{secret}/", page),
            Route("/{secret}/{name}", page),
            Route("/{rest:path}", _nothing, methods=["GET", "POST"]),
        ]
    )
    if watch:
        threading.Thread(target=_watch, args=(shared,), daemon=True).start()
    return app


def _watch(shared: SharedRoom) -> None:
    while True:
        time.sleep(_LOOK_AGAIN_S)
        shared.look()


def _nothing(_: Request) -> Response:
    return _answer(PlainTextResponse("not found", 404))


def _answer(response: Response) -> Response:
    response.headers.update(HEADERS)
    return response


def _refused(request: Request, guard: Guard) -> Response | None:
    address = request.client.host if request.client else ""
    status = guard.refuses(request.path_params["secret"], address)
    if status:
        words = "wait a minute" if status == 429 else "not found"
        return _answer(PlainTextResponse(words, status))
    origin = request.headers.get("origin")
    if origin is not None and origin.partition("://")[2] != request.headers.get("host", ""):
        return _answer(PlainTextResponse("not from here", 403))
    return None


async def _body(request: Request) -> bytes:
    """The request's body; raises ValueError for one that no tap could be."""
    if request.headers.get("content-type", "").partition(";")[0] != "application/json":
        raise ValueError("a tap is JSON")
    body = b""
    async for piece in request.stream():
        body += piece
        if len(body) > LARGEST_BODY:
            raise ValueError("a tap is not that long")
    return body


def _read_tap(body: bytes) -> tuple[str, str, str]:
    """A tap's number, what it does, and the text with it; raises ValueError for anything else."""
    try:
        found = json.loads(body)
        number, do, text = found["id"], found["do"], found.get("text", "")
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        raise ValueError("a tap has an id and what to do") from None
    if not all(isinstance(each, str) for each in (number, do, text)):
        raise ValueError("a tap is made of texts")
    if not 8 <= len(number) <= _LONGEST_ID:
        raise ValueError("a tap's id has 8 to 64 characters")
    return number, do, text


async def _live(shared: SharedRoom, request: Request) -> AsyncIterator[str]:
    """The state whenever it changes, until the phone is gone."""
    shown = ""
    while not await request.is_disconnected():
        state = json.dumps(await run_in_threadpool(shared.state), ensure_ascii=False)
        if state != shown:
            shown = state
            yield f"data: {state}\n\n"
        else:
            yield ": still here\n\n"
        await asyncio.sleep(_LOOK_AGAIN_S)


def serve(room: Room, *, host: str, port: int) -> None:
    """Serve the page until Ctrl-C, after saying its address. Raises LogbookError."""
    listening = _bound(host, port)
    secret = secrets.token_urlsafe(16)
    address = f"http://{_reached_at(host)}:{listening.getsockname()[1]}/{secret}/"
    _say(address, host)
    app = make_app(room, secret, watch=room.arrivals is not None)
    config = uvicorn.Config(app, log_level="critical", access_log=False, lifespan="off")
    config.timeout_graceful_shutdown = 1
    with listening:
        uvicorn.Server(config).run(sockets=[listening])


def _bound(host: str, port: int) -> socket.socket:
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    listening = socket.socket(family, socket.SOCK_STREAM)
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind((host, port))
    except (OSError, OverflowError) as error:
        listening.close()
        why = getattr(error, "strerror", None) or error
        raise LogbookError(
            f"the page cannot be served at {host}, port {port} ({why})",
            "give an address of this machine with --host, or another --port",
        ) from error
    return listening


def _reached_at(host: str) -> str:
    """How a phone calls this machine: its own address where it listens at all of them."""
    if host in ("0.0.0.0", "::"):
        try:
            # Nothing is sent: a datagram socket only looks up which way it would go.
            with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
                probe.connect(("192.0.2.1", 9))
                return str(probe.getsockname()[0])
        except OSError:
            return socket.gethostname()
    return f"[{host}]" if ":" in host else host


def _say(address: str, host: str) -> None:
    """Print the address, and its QR code (ISO/IEC 18004) where it is a terminal."""
    import sys

    if sys.stdout.isatty():
        import segno

        segno.make(address, error="m").terminal(compact=True)
    print(f"The page is at {address}")
    if host in ("127.0.0.1", "localhost", "::1"):
        print("Only this machine reaches it; --host with its address lets a phone in.")
    print("Whoever has the address can write into the log. Ctrl-C ends it.", flush=True)
