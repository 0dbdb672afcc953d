"""`logbook listen tempo`, `pattern`, `chart`, `against`: what is played, heard from the audio."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from logbook.cli.apps import examples
from logbook.cli.options import JsonOption, VersionOption, YesOption

TEMPO = (
    "logbook listen tempo sketch.wav",
    "logbook listen tempo waltz.wav --meter 3/4 --bar-by-bar",
)

PATTERN = (
    "logbook listen pattern low guitar",
    "logbook listen pattern low guitar --bars 5-8",
    "logbook listen pattern low guitar --take 4 --grid 1/16 --bar-by-bar",
)
CHART = ("logbook listen chart low guitar", "logbook listen chart low guitar --take 2 --yes")
AGAINST = (
    "logbook listen against low guitar",
    "logbook listen against low guitar --recording lesson.wav --arrangement 'harbour stage'",
)

SongArgument = Annotated[
    str, typer.Argument(metavar="[SONG]", help="A song, by the beginning of its title.")
]
PartArgument = Annotated[str, typer.Argument(metavar="[PART]", help="One of its parts.")]
TakeOption = Annotated[
    str, typer.Option("--take", "-t", metavar="N", help="The take to listen to.")
]


def tempo(
    file: Annotated[
        Path, typer.Argument(metavar="FILE", help="What was played.", show_default=False)
    ],
    about: Annotated[
        float | None,
        typer.Option("--about", metavar="BPM", help="The tempo that is about meant."),
    ] = None,
    meter: Annotated[
        str, typer.Option("--meter", metavar="METER", help="The meter, as in 3/4.")
    ] = "",
    bar_by_bar: Annotated[
        bool, typer.Option("--bar-by-bar", help="Print where each bar begins, and its tempo.")
    ] = False,
    as_json: JsonOption = False,
) -> None:
    """Lay a tempo map through what was played free; steady playing is told as one tempo."""
    from logbook.cli.listen_tempo import tell_tempo
    from logbook.listening.extra import require

    require()
    tell_tempo(file, about_bpm=about, meter=meter, bar_by_bar=bar_by_bar, as_json=as_json)


def pattern(
    song: SongArgument = "",
    part: PartArgument = "",
    version: VersionOption = "",
    take: TakeOption = "",
    grid: Annotated[
        str, typer.Option("--grid", metavar="GRID", help="The grid, as in 1/16 or 1/8t.")
    ] = "",
    bars: Annotated[
        str, typer.Option("--bars", metavar="BARS", help="Only these bars, as in 1-8.")
    ] = "",
    bar_by_bar: Annotated[
        bool, typer.Option("--bar-by-bar", help="Print every stroke, bar by bar.")
    ] = False,
    as_json: JsonOption = False,
) -> None:
    """Hear what the picking hand does: strokes, muted hits, single strings, accents, swing."""
    from logbook.cli.listen_pattern import tell_pattern
    from logbook.listening.extra import require

    require()
    tell_pattern(
        (song, part, version),
        take=take,
        grid=grid,
        bars=bars,
        bar_by_bar=bar_by_bar,
        as_json=as_json,
    )


def chart(
    song: SongArgument = "",
    part: PartArgument = "",
    version: VersionOption = "",
    take: TakeOption = "",
    yes: YesOption = False,
    as_json: JsonOption = False,
) -> None:
    """Hear a part's chart: sections, chords or a voice's notes, doubtful bars; log it if wanted."""
    from logbook.cli.listen_chart import tell_chart
    from logbook.listening.extra import require

    require()
    tell_chart((song, part, version), take=take, yes=yes, as_json=as_json)


def against(
    song: SongArgument = "",
    part: PartArgument = "",
    version: VersionOption = "",
    take: TakeOption = "",
    recording: Annotated[
        Path | None,
        typer.Option(
            "--recording",
            "-r",
            metavar="FILE",
            help="Any recording of the song: another tempo, key, player.",
        ),
    ] = None,
    arrangement: Annotated[
        str,
        typer.Option("--arrangement", metavar="NAME", help="The plan it was played from."),
    ] = "",
    out: Annotated[
        Path | None,
        typer.Option(
            "--out", "-o", metavar="FILE", help="A page of a recording; its ending sets the format."
        ),
    ] = None,
    as_json: JsonOption = False,
) -> None:
    """Say only where the sound contradicts the log: capo first, then bars; kept for `check`."""
    from logbook.errors import LogbookError
    from logbook.listening.extra import require

    require()
    if recording is not None:
        from logbook.cli.listen_version import tell_version

        if take:
            raise LogbookError("a take and a recording were both named", "give one of the two")
        names = (song, part, version)
        tell_version(names, recording, arrangement=arrangement, as_json=as_json, out=out)
        return
    if arrangement or out:
        raise LogbookError(
            "arrangements and pages are for other recordings", "give --recording FILE too"
        )
    from logbook.cli.listen_against import tell_against

    tell_against((song, part, version), take=take, as_json=as_json)


AGAINST_HELP = examples(*AGAINST)
CHART_HELP = examples(*CHART)
PATTERN_HELP = examples(*PATTERN)
TEMPO_HELP = examples(*TEMPO)
