"""`logbook arrange`: a song for the stage or a lesson, shown, kept, and handed on as files."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Annotated

import typer

from logbook.cli.apps import new_app
from logbook.cli.arrange_out import (
    FORMS,
    only,
    say_arrangement,
    say_differences,
    say_key_table,
    say_keys,
    say_sheet,
    say_ways,
)
from logbook.cli.forms import (
    EVERY_SHEET,
    Goal,
    OpenOption,
    OutOption,
    PaperOption,
    form_of,
    form_option,
)
from logbook.cli.log import changing, opened
from logbook.cli.options import JsonOption, SongArgument, VersionOption
from logbook.cli.printing import remark
from logbook.errors import LogbookError
from logbook.names import begins

if TYPE_CHECKING:
    from logbook.records import Arrangement, Log, Song, Tuning, Version

app = new_app(
    "Plan a song for the stage or a lesson: another tempo, key, form, capo or tuning. A kept "
    "arrangement is shown; with options one is made from the recording, and kept with --keep.",
    examples=(
        'logbook arrange "Low Water" --key C --tempo 84',
        'logbook arrange low --section intro --section "chorus x2" --section "outro vamp"',
        "logbook arrange low --name pub --diff",
        "logbook arrange low --key C --capo guitar=3 --keep pub",
        "logbook arrange low --as midi --out low.mid --part guitar --tempo 60",
        'logbook arrange low --keys-for "Ada Fenrush"',
        "logbook arrange low --keys",
    ),
    single=True,
)

_Many = list[str] | None


@app.command()
def arrange(
    song: SongArgument = "",
    version: VersionOption = "",
    name: Annotated[
        str, typer.Option("--name", "-n", metavar="NAME", help="A kept arrangement to start from.")
    ] = "",
    recorded: Annotated[
        bool, typer.Option("--recorded", help="Start from the recording, not what is kept.")
    ] = False,
    key: Annotated[str, typer.Option("--key", "-k", metavar="KEY", help="The concert key.")] = "",
    tempo: Annotated[
        str, typer.Option("--tempo", "-t", metavar="TEMPO", help='"84", or "q.=60".')
    ] = "",
    section: Annotated[
        _Many,
        typer.Option(
            "--section",
            metavar="LINE",
            help='The form, a section each time: "chorus x2", "solo from verse 8 bars", '
            '"verse 3-4", "outro vamp", "verse at 84 ramp", "chorus, up 2", '
            '"outro, rit 2 bars to 60, ring", "tag, chart C | F . G .".',
        ),
    ] = None,
    capo: Annotated[
        _Many, typer.Option("--capo", "-c", metavar="PART=FRET", help="A part's capo, 0 for none.")
    ] = None,
    tuning: Annotated[
        _Many, typer.Option("--tuning", metavar="PART=NAME", help="A part's tuning.")
    ] = None,
    instrument: Annotated[
        _Many, typer.Option("--instrument", metavar="PART=NAME", help="What it is played on.")
    ] = None,
    player: Annotated[
        _Many, typer.Option("--player", metavar="PART=NAME", help="Who plays it.")
    ] = None,
    way: Annotated[
        _Many,
        typer.Option(
            "--way", metavar="PART=WAY", help="How it gets to the key: same, retuned or new."
        ),
    ] = None,
    written_for: Annotated[
        _Many,
        typer.Option(
            "--written-for", metavar="PART=PITCH", help="What its chart is written in: Bb, Eb, F."
        ),
    ] = None,
    leave_out: Annotated[
        _Many, typer.Option("--leave-out", metavar="PART", help="A part that is not played.")
    ] = None,
    count_in: Annotated[
        int | None,
        typer.Option("--count-in", metavar="BARS", min=0, max=16, help="Bars clicked before it."),
    ] = None,
    purpose: Annotated[
        str, typer.Option("--purpose", metavar="WORD", help="What it is for: live, lesson.")
    ] = "",
    notes: Annotated[str, typer.Option("--notes", metavar="TEXT", help="Remarks on it.")] = "",
    keep: Annotated[
        str, typer.Option("--keep", metavar="NAME", help="Keep it in the log under this name.")
    ] = "",
    diff: Annotated[
        bool, typer.Option("--diff", help="Only the changes from the recording.")
    ] = False,
    ways: Annotated[
        str, typer.Option("--ways", metavar="PART", help="Only the ways a part can get to the key.")
    ] = "",
    keys_for: Annotated[
        str,
        typer.Option(
            "--keys-for", metavar="SINGER|RANGE", help='Only the keys that fit: a name, or "A3-D5".'
        ),
    ] = "",
    keys: Annotated[
        bool,
        typer.Option(
            "--keys",
            help="Only a table of all keys: how the melody lies, and each part's best way.",
        ),
    ] = False,
    sheet: Annotated[
        str,
        typer.Option("--for", metavar="player|lesson", help="As a sheet of that kind."),
    ] = "",
    part: Annotated[
        _Many, typer.Option("--part", "-p", metavar="NAME", help="Only this part.")
    ] = None,
    form: Annotated[str, form_option(*FORMS)] = "",
    out: OutOption = None,
    open_it: OpenOption = False,
    paper: PaperOption = "A4",
    as_json: JsonOption = False,
) -> None:
    """Show, make or keep an arrangement, and write it as MIDI, click or MusicXML."""
    from logbook.arranging.arrange import arrange as work_out
    from logbook.cli.arrange_options import Options, with_options, with_tunings

    options = Options(
        key=key,
        tempo=tempo,
        count_in=count_in,
        purpose=purpose,
        notes=notes,
        sections=section or (),
        capos=capo or (),
        tunings=tuning or (),
        instruments=instrument or (),
        players=player or (),
        ways=way or (),
        written_for=written_for or (),
        leave_out=leave_out or (),
    )
    able = (
        (*EVERY_SHEET, "csv")
        if diff or ways or keys_for or keys
        else EVERY_SHEET
        if sheet
        else FORMS
    )
    what = f"a {sheet} sheet" if sheet else "an arrangement"
    goal = Goal(form_of(what, able, form, out, as_json=as_json), out, open_it, paper)
    log, found, record = _read(song, version, name)
    if keys:
        say_key_table(log, found, record, keys_for, goal)
        return
    if keys_for:
        say_keys(log, record, keys_for, goal)
        return
    fresh = recorded or (options.anything and not name)
    base = _base(record, name, fresh=fresh)
    arrangement = with_options(base, options, log, found, record)
    if keep:
        arrangement = replace(arrangement, name=keep)
    log, tunings = with_tunings(log, arrangement)
    if ways:
        say_ways(log, found, record, arrangement, ways, goal)
        return
    arranged = work_out(log, found, record, arrangement)
    if keep:
        _keep(found, record, arrangement, tunings)
    if diff:
        say_differences(arranged, goal)
    elif sheet:
        say_sheet(only(arranged, part or []), sheet, goal)
    else:
        say_arrangement(arranged, part, goal)


# Finding


def _read(song: str, version: str, name: str) -> tuple[Log, Song, Version]:
    """Return the song and version that are meant, with everybody and everything they may need."""
    from logbook.cli.song_log import read_song
    from logbook.store.reading import read_rows

    with opened() as store:
        found = read_song(store, song, version)
        with store.reading() as connection:
            log = replace(
                found.log,
                people=tuple(row.record for row in read_rows(connection, "person")),
                instruments=tuple(row.record for row in read_rows(connection, "instrument")),
                tunings=tuple(row.record for row in read_rows(connection, "tuning")),
            )
    versions = found.versions()
    if len(versions) > 1 and name:
        having = [each for each in versions if _named(each, name)]
        versions = tuple(having) if len(having) == 1 else versions
    if len(versions) > 1:
        raise LogbookError(
            f"{found.song.title} has {len(versions)} versions",
            f"say which with --version: {', '.join(each.name for each in versions)}",
        )
    return log, found.song, versions[0]


def _named(version: Version, name: str) -> bool:
    return any(begins(each.name, name) for each in version.arrangements)


def _base(version: Version, name: str, *, fresh: bool) -> Arrangement:
    """The arrangement to start from: the one named, the only one, or the record as it is."""
    from logbook.records import Arrangement
    from logbook.store.finding import choose

    kept = {each.name: each for each in version.arrangements}
    if name:
        return kept[choose(name, list(kept), "arrangement")]
    if fresh or not kept:
        return Arrangement(name="")
    if len(kept) == 1:
        return next(iter(kept.values()))
    raise LogbookError(
        f"{version.name} has {len(kept)} arrangements",
        f"say which with --name: {', '.join(kept)}; or --recorded for the recording",
    )


def _keep(
    song: Song, version: Version, arrangement: Arrangement, tunings: tuple[Tuning, ...]
) -> None:
    from logbook.store.finding import LogPlace
    from logbook.store.writing import put

    with changing() as (_, change):
        for tuning in tunings:
            put(change, tuning)
        done = put(change, arrangement, LogPlace(song.title, version.name))[0]
    remark(f"{done.action} the arrangement {arrangement.name} of {song.title}, {version.name}")
