"""`logbook room`: the screen that stays open, and the same as a page for a phone."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from logbook.cli.apps import new_app
from logbook.cli.log import opened
from logbook.cli.paging import let_through
from logbook.errors import LogbookError

app = new_app(
    "Keep a screen open while recording: a key logs a take, a key takes it back, a line takes the "
    "rest in notebook words. With --watch each recording that ends is the next take. With --page "
    "the same is a page for a phone or tablet on the stand, behind an address with a secret in it."
    " Needs the extra: pip install 'session-logbook[room]'.",
    examples=(
        "logbook room",
        "logbook room --watch ~/recorder",
        "logbook room --keys pedal.toml",
        "logbook room --page --host 192.168.1.20",
    ),
    single=True,
)


@app.command()
def room(
    watch: Annotated[
        Path | None,
        typer.Option("--watch", "-w", metavar="FOLDER", help="The recorder's folder."),
    ] = None,
    keys: Annotated[
        Path | None,
        typer.Option("--keys", metavar="FILE", help="A key file, as for a foot pedal."),
    ] = None,
    page: Annotated[bool, typer.Option("--page", help="Serve the page instead.")] = False,
    host: Annotated[
        str,
        typer.Option("--host", metavar="ADDRESS", help="With --page: this machine's address."),
    ] = "127.0.0.1",
    port: Annotated[
        int, typer.Option("--port", min=0, max=65535, help="With --page: 0 takes any free one.")
    ] = 0,
) -> None:
    """Keep a screen open while recording."""
    from logbook.room.keys import read_keys, usual_keys

    if watch is not None and not watch.is_dir():
        raise LogbookError(f"{watch} is not a folder", "name the folder the recorder writes into")
    known = read_keys(keys) if keys else usual_keys()
    _require("starlette" if page else "textual")
    from logbook.room.working import Room

    let_through()
    with opened() as store:
        here = Room(store, folder=watch)
        if page:
            from logbook.room.serving import serve

            serve(here, host=host, port=port)
            return
        from logbook.room.screen import RoomScreen

        RoomScreen(here, keys=known).run()


def _require(package: str) -> None:
    from importlib.util import find_spec

    missing = [name for name in (package, "watchfiles") if find_spec(name) is None]
    if missing:
        raise LogbookError(
            f"the room needs {' and '.join(missing)}, which is not installed",
            "install it with: pip install 'session-logbook[room]'",
        )
