"""`logbook file`: audio files as the log has them, and many hung at once."""

from __future__ import annotations

from functools import wraps
from pathlib import PurePath
from typing import Any

from logbook.cli.apps import examples
from logbook.cli.files import hang
from logbook.cli.nouns import noun_app
from logbook.errors import LogbookError

_NO_AUDIO = {
    **dict.fromkeys(
        (".jpg", ".jpeg", ".png", ".gif", ".heic", ".webp", ".tif", ".tiff", ".bmp", ".svg"),
        "a picture",
    ),
    **dict.fromkeys((".txt", ".md", ".pdf", ".doc", ".docx", ".odt", ".rtf"), "a text"),
    **dict.fromkeys((".mid", ".midi", ".musicxml", ".mxl"), "written music"),
    **dict.fromkeys((".csv", ".xls", ".xlsx", ".ods", ".toml", ".json", ".db", ".zip"), "data"),
}


def refuse_what_is_no_audio(name: str) -> None:
    """Raise LogbookError for a name that says by its ending that it is not audio."""
    kind = _NO_AUDIO.get(PurePath(name).suffix.lower())
    if kind:
        raise LogbookError(
            f"{PurePath(name).name} is {kind} and not audio",
            "put it beside the session file, or into the notes of what it belongs to",
        )


app = noun_app("file", default="list")
app.command(
    epilog=examples("logbook file hang 'drums/*_07_*' --song Varnish --part drums --take 7")
)(hang)


def _refusing(add: Any) -> Any:
    @wraps(add)
    def added(**given: Any) -> None:
        words = given.get("words") or given.get("name") or ()
        refuse_what_is_no_audio(" ".join([words] if isinstance(words, str) else words))
        add(**given)

    return added


for _command in app.registered_commands:
    if _command.name == "add":
        _command.callback = _refusing(_command.callback)
