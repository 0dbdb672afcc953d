"""`logbook listen`: comps, doubles and takes, heard out of the audio (extra `listen`)."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from logbook.cli import listen_music
from logbook.cli.apps import examples, new_app
from logbook.cli.options import JsonOption, VersionOption, YesOption
from logbook.errors import LogbookError

_COMP = (
    "logbook listen comp low guitar",
    "logbook listen comp low guitar --bounce mix/guitar.wav --take 2=gtr_02.wav",
    "logbook listen comp finished.flac take_1.flac take_2.flac",
)
_DOUBLE = (
    "logbook listen double left.wav right.wav",
    "logbook listen double varnish guitar 'high guitar'",
)
_TAKES = (
    "logbook listen takes low guitar",
    "logbook listen takes low guitar --again --bar-by-bar",
)
_INSIDE = (
    "logbook listen inside loop.wav --length 16",
    "logbook listen inside low guitar --take 3",
)

app = new_app(
    "Hear out of the audio which take every bar of a finished part comes from, whether a double is "
    "a second performance or a copy, and how each take measures.",
    examples=(_COMP[0], _DOUBLE[0], _TAKES[0]),
)


@app.command(epilog=examples(*_COMP))
def comp(
    words: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="[SONG PART | BOUNCE TAKE...]",
            help="A song and one of its parts; or the finished part's file and the takes' files.",
            show_default=False,
        ),
    ] = None,
    version: VersionOption = "",
    bounce: Annotated[
        Path | None,
        typer.Option("--bounce", "-b", metavar="FILE", help="The finished part's file."),
    ] = None,
    take: Annotated[
        list[str] | None,
        typer.Option(
            "--take",
            "-t",
            metavar="[N=]FILE",
            help="A take's file; of a part, which take it is: 2=gtr_02.wav. Give it for each.",
        ),
    ] = None,
    bounce_at: Annotated[
        float | None,
        typer.Option(
            "--bounce-at", metavar="SECONDS", help="Where in the bounce the music begins."
        ),
    ] = None,
    name: Annotated[
        str, typer.Option("--comp", "-c", metavar="NAME", help="A comp other than the final one.")
    ] = "",
    yes: YesOption = False,
    as_json: JsonOption = False,
) -> None:
    """Work out which take every bar of a finished part comes from, and log it if that is wanted."""
    from logbook.cli.listen_comp import comp_of_files, comp_of_part
    from logbook.cli.listen_words import as_files, must_exist, named_takes
    from logbook.listening.extra import require

    require()
    words = list(words or [])
    numbered, plain = named_takes(take or [])
    files = as_files(words)
    if bounce is not None:
        must_exist(bounce)
    if files is not None or (not words and plain):
        if numbered:
            raise LogbookError(
                "numbered takes belong to a part, and files were named", "name the song and part"
            )
        files = [*(files or []), *plain]
        if bounce is None:
            if not words:
                raise LogbookError(
                    "it is not clear which file is the bounce", "give it as --bounce"
                )
            bounce, files = files[0], files[1:]
        comp_of_files(bounce, files, as_json=as_json)
        return
    if plain:
        raise LogbookError(
            f"it is not clear which take {plain[0]} is", f"write it as in --take 2={plain[0]}"
        )
    if len(words) > 2:
        raise LogbookError(f"{len(words)} names were given", "name a song and one of its parts")
    song, part = [*words, "", ""][:2]
    comp_of_part(
        (song, part, version),
        bounce=bounce,
        named=numbered,
        bounce_at_s=bounce_at,
        name=name,
        yes=yes,
        as_json=as_json,
    )


@app.command(epilog=examples(*_DOUBLE))
def double(
    words: Annotated[
        list[str],
        typer.Argument(metavar="A B | SONG PART PART", help="Two files; or two parts of a song."),
    ],
    version: VersionOption = "",
    as_json: JsonOption = False,
) -> None:
    """Say whether two files are the same recording or two performances, and how tight these are."""
    from logbook.cli.listen_double import compare
    from logbook.cli.listen_words import as_files
    from logbook.listening.extra import require

    require()
    compare(words, as_files(words), version, as_json=as_json)


@app.command(epilog=examples(*_TAKES))
def takes(
    song: Annotated[
        str, typer.Argument(metavar="[SONG]", help="A song, by the beginning of its title.")
    ] = "",
    part: Annotated[str, typer.Argument(metavar="[PART]", help="One part only.")] = "",
    version: VersionOption = "",
    again: Annotated[
        bool, typer.Option("--again", help="Measure again what was measured.")
    ] = False,
    bar_by_bar: Annotated[
        bool, typer.Option("--bar-by-bar", help="Print the tempo of every bar.")
    ] = False,
    as_json: JsonOption = False,
) -> None:
    """Measure each take: tempo bar by bar, tuning, place on the click, levels; and keep it."""
    from logbook.cli.listen_takes import measure
    from logbook.listening.extra import require

    require()
    measure(song, part, version, again=again, bar_by_bar=bar_by_bar, as_json=as_json)


@app.command(epilog=examples(*_INSIDE))
def inside(
    words: Annotated[
        list[str],
        typer.Argument(metavar="FILE | SONG PART", help="A file; or a song and one of its parts."),
    ],
    version: VersionOption = "",
    take: listen_music.TakeOption = "",
    length: Annotated[
        float | None,
        typer.Option("--length", metavar="SECONDS", help="How long the loop is, about."),
    ] = None,
    as_json: JsonOption = False,
) -> None:
    """Hear inside one file the passes of a loop recording, and what was punched in."""
    from logbook.cli.listen_inside import tell_inside
    from logbook.listening.extra import require

    require()
    tell_inside(words, version, take=take, length_s=length, as_json=as_json)


app.command(epilog=listen_music.AGAINST_HELP)(listen_music.against)
app.command(epilog=listen_music.CHART_HELP)(listen_music.chart)
app.command(epilog=listen_music.PATTERN_HELP)(listen_music.pattern)
app.command(epilog=listen_music.TEMPO_HELP)(listen_music.tempo)
