"""`logbook draft`: a folder of takes that nobody logged becomes a session file to edit."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from logbook.cli.apps import examples, new_app
from logbook.cli.options import JsonOption
from logbook.errors import LogbookError

_EXAMPLES = (
    "logbook draft ~/takes/boathouse --out session.toml",
    "logbook draft ~/takes/boathouse --tuning DADGAD --capo 5 --key G",
)

app = new_app(
    "Write a session file from a folder of takes that nobody logged: songs and parts by file "
    "names, and from the sound tempo, takes, comps, charts, patterns, form and key. Every guess "
    "is marked with `# heard` and how sure it is, to be edited before it is loaded.",
    examples=_EXAMPLES,
    single=True,
)


@app.command(epilog=examples(*_EXAMPLES))
def draft(
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="The folder with the takes.")],
    tuning: Annotated[
        str, typer.Option("--tuning", metavar="NAME", help="The guitars' tuning.")
    ] = "",
    capo: Annotated[
        str, typer.Option("--capo", metavar="CAPO", help="The guitars' capo, as in 2.")
    ] = "",
    key: Annotated[str, typer.Option("--key", metavar="KEY", help="The concert key.")] = "",
    out: Annotated[
        Path | None,
        typer.Option("--out", "-o", metavar="FILE", help="Write the draft here."),
    ] = None,
    force: Annotated[
        bool, typer.Option("--force", help="Write over a file that is there.")
    ] = False,
    as_json: JsonOption = False,
) -> None:
    """Write a session file from a folder of takes that nobody logged."""
    from logbook.cli.asking import progress
    from logbook.cli.forms import SESSION_FILE, form_of
    from logbook.cli.printing import print_json, remark, say
    from logbook.listening.extra import require

    require()
    from logbook.drafting.draft import draft_folder
    from logbook.drafting.songs import SaidBefore

    _check(tuning, capo, key)
    form_of("a draft", SESSION_FILE, out=out)
    if out is not None and out.exists() and not force:
        raise LogbookError(f"{out} already exists", "give another --out, or --force")
    with progress(0, "listening"):
        beside = out is None or out.resolve().parent == folder.resolve()
        found = draft_folder(folder, SaidBefore(tuning=tuning, capo=capo, key=key), beside=beside)
    for sentence in found.left_out:
        remark(sentence)
    if out is not None:
        out.write_text(found.text, encoding="utf-8")
    if as_json:
        print_json(
            {
                "file": str(out) if out else None,
                "songs": [song.title for song in found.songs],
                "left_out": list(found.left_out),
                "text": found.text,
            }
        )
        return
    if out is None:
        say(found.text.rstrip("\n"))
        return
    parts = sum(len(song.parts) for song in found.songs)
    takes = sum(len(part.passes.takes) for song in found.songs for part in song.parts)
    say(f"{len(found.songs)} songs, {parts} parts and {takes} takes drafted into {out}.")
    say("Read it through: every guess is marked with # heard. Then `logbook load` takes it in.")


def _check(tuning: str, capo: str, key: str) -> None:
    """Refuse what cannot be, before minutes are spent listening."""
    from logbook.strings.capo import read_capos
    from logbook.strings.tunings import find_tuning
    from logbook.theory.keys import as_key

    if tuning:
        find_tuning(tuning)
    if capo:
        read_capos(capo)
    if key:
        as_key(key)
