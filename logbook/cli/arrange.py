"""`logbook arrange`: a song for the stage or a lesson, shown, kept, and handed on as files."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path
from textwrap import wrap
from typing import TYPE_CHECKING, Annotated, Any

import typer

from logbook.cli.common import (
    JsonOption,
    SongArgument,
    VersionOption,
    changing,
    new_app,
    opened,
    print_json,
    remark,
    say,
    width,
)
from logbook.errors import LogbookError
from logbook.plaintext import clean

if TYPE_CHECKING:
    from logbook.arranging.arrange import ArrangedVersion
    from logbook.records import Arrangement, Log, Song, Version

app = new_app(
    "Plan a song for the stage or a lesson: another tempo, key, form, capo or tuning. A kept "
    "arrangement is shown; with options one is made from the record, and kept with --keep.",
    examples=(
        'logbook arrange "Low Water" --key C --tempo 84',
        'logbook arrange low --section intro --section "chorus x2" --section "outro vamp"',
        "logbook arrange low --name pub --diff",
        "logbook arrange low --key C --capo guitar=3 --keep pub",
        "logbook arrange low --as midi --out low.mid --part guitar --tempo 60",
        'logbook arrange low --keys-for "Ada Fenn"',
    ),
    single=True,
)

_FORMS = {"text": ".txt", "midi": ".mid", "click": ".wav", "musicxml": ".musicxml", "json": ".json"}
_ENDINGS = {
    ".txt": "text", ".mid": "midi", ".midi": "midi", ".wav": "click", ".musicxml": "musicxml",
    ".xml": "musicxml", ".json": "json",
}  # fmt: skip
_Many = list[str] | None


@app.command()
def arrange(
    song: SongArgument = "",
    version: VersionOption = "",
    name: Annotated[
        str, typer.Option("--name", "-n", metavar="NAME", help="A kept arrangement to start from.")
    ] = "",
    recorded: Annotated[
        bool, typer.Option("--recorded", help="Start from the record, not what is kept.")
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
            '"outro vamp", "verse at 84 ramp".',
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
        bool, typer.Option("--diff", help="Only what differs from the record.")
    ] = False,
    ways: Annotated[
        str, typer.Option("--ways", metavar="PART", help="Only the ways of a part to the key.")
    ] = "",
    keys_for: Annotated[
        str,
        typer.Option(
            "--keys-for", metavar="SINGER|RANGE", help='Only the keys that fit: a name, or "A3-D5".'
        ),
    ] = "",
    sheet: Annotated[
        str,
        typer.Option("--for", metavar="player|lesson", help="As a sheet like that of the record."),
    ] = "",
    part: Annotated[
        _Many, typer.Option("--part", "-p", metavar="NAME", help="Only this part.")
    ] = None,
    form: Annotated[
        str, typer.Option("--as", metavar="|".join(_FORMS), help="The form; text if not said.")
    ] = "",
    out: Annotated[
        Path | None, typer.Option("--out", "-o", metavar="FILE", help="Write it to a file.")
    ] = None,
    as_json: JsonOption = False,
) -> None:
    """Show, make or keep an arrangement, and write it as MIDI, click or MusicXML."""
    from logbook.arranging.arrange import arrange as work_out
    from logbook.cli.arrange_said import Said, with_said

    said = Said(
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
    chosen = "text" if sheet else _form(form, as_json, out)
    log, found, record = _read(song, version, name)
    if keys_for:
        _say_keys(log, record, keys_for, out, as_json=chosen == "json")
        return
    fresh = recorded or (said.anything and not name)
    base = _base(record, name, fresh=fresh)
    arrangement = with_said(base, said, log, found, record)
    if keep:
        arrangement = replace(arrangement, name=keep)
    if ways:
        _say_ways(log, found, record, arrangement, ways, out, as_json=chosen == "json")
        return
    arranged = work_out(log, found, record, arrangement)
    if keep:
        _keep(found, record, arrangement)
    if diff:
        _say_differences(arranged, out, as_json=chosen == "json")
    elif sheet:
        _say_sheet(_only(arranged, part or []), sheet, "json" if as_json else form, out)
    else:
        _hand_out(arranged, chosen, part, out)


def _form(form: str, as_json: bool, out: Path | None) -> str:
    """Return which form is meant. Raises LogbookError for one there is not."""
    if as_json and form not in ("", "json"):
        raise LogbookError(f"--json and --as {form} were both given", "give one of them")
    wanted = "json" if as_json else form
    if not wanted:
        wanted = _ENDINGS.get(out.suffix.lower(), "text") if out else "text"
    if wanted not in _FORMS:
        raise LogbookError(
            f"an arrangement cannot be written as {wanted}", f"use {', '.join(_FORMS)}"
        )
    return wanted


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
    return any(each.name.casefold().startswith(name.casefold()) for each in version.arrangements)


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
        f"say which with --name: {', '.join(kept)}; or --recorded for the record",
    )


def _keep(song: Song, version: Version, arrangement: Arrangement) -> None:
    from logbook.store.finding import Place
    from logbook.store.writing import put

    with changing() as (_, change):
        done = put(change, arrangement, Place(song.title, version.name))[0]
    remark(f"{done.action} the arrangement {arrangement.name} of {song.title}, {version.name}")


# Answers


def _say_differences(arranged: ArrangedVersion, out: Path | None, *, as_json: bool) -> None:
    from logbook.arranging.difference import differences
    from logbook.arranging.report import difference_lines

    if as_json:
        _write_json([each._asdict() for each in differences(arranged)], out)
        return
    lines = [f"{arranged.title}, against the record", *difference_lines(arranged, width())]
    _write_text("\n".join(lines) + "\n", out)


def _say_ways(
    log: Log,
    song: Song,
    version: Version,
    arrangement: Arrangement,
    name: str,
    out: Path | None,
    *,
    as_json: bool,
) -> None:
    from logbook.arranging.arrange import moved_key
    from logbook.arranging.form import arrange_form
    from logbook.arranging.parts import Moved, part_ways, steps_between
    from logbook.arranging.report import way_data, way_lines
    from logbook.records.context import Place
    from logbook.store.finding import choose

    chosen = choose(name, [each.name for each in version.parts], "part")
    part = next(each for each in version.parts if each.name == chosen)
    old, new = moved_key(version, arrangement.key)
    moved = Moved(old, new, steps_between(old, new), arrange_form(version, ()))
    place = Place(log, song, version, part)
    found = part_ways(place, moved)
    if as_json:
        _write_json([way_data(each) for each in found], out)
        return
    keys = f"from {old.name} to {new.name}" if old and new else "as recorded"
    lines = [f"{place.title}: the ways {keys}, the best first", *way_lines(found, width())]
    _write_text("\n".join(lines) + "\n", out)


def _say_keys(log: Log, version: Version, singer: str, out: Path | None, *, as_json: bool) -> None:
    from logbook.arranging.report import singer_data, singer_lines
    from logbook.arranging.singers import keys_for
    from logbook.records import Person
    from logbook.store.finding import choose

    low, dash, high = singer.replace(" to ", "-").partition("-")
    if dash and low.strip()[-1:].isdigit() and high.strip()[-1:].isdigit():
        person = Person(name="the singer", low=low.strip(), high=high.strip())
    else:
        names = [each.name for each in log.people]
        chosen = choose(singer, names, "person")
        person = next(each for each in log.people if each.name == chosen)
    answer = keys_for(person, version)
    if as_json:
        _write_json(singer_data(answer), out)
    else:
        _write_text("\n".join(singer_lines(answer, width())) + "\n", out)


def _hand_out(
    arranged: ArrangedVersion, form: str, parts: list[str] | None, out: Path | None
) -> None:
    arranged = _only(arranged, parts or [])
    if form == "text":
        from logbook.arranging.report import to_lines

        _write_text("\n".join(to_lines(arranged, width() if out is None else 80)) + "\n", out)
    elif form == "json":
        from logbook.arranging.report import to_data

        _write_json(to_data(arranged), out)
    elif form == "musicxml":
        from logbook.arranging.musicxml import musicxml_text

        _write_text(musicxml_text(arranged), _with_ending(out, form))
    else:
        _write_sound(arranged, form, out)


def _only(arranged: ArrangedVersion, names: list[str]) -> ArrangedVersion:
    """The arrangement with these parts only, as far as files and charts go; all of none given."""
    from logbook.store.finding import choose

    if not names:
        return arranged
    played = [plan.name for plan in arranged.parts if plan.part is not None]
    wanted = {choose(each, played, "part that is played") for each in names}
    return arranged._replace(
        parts=tuple(plan for plan in arranged.parts if plan.name in wanted),
        version=replace(
            arranged.version,
            parts=tuple(each for each in arranged.version.parts if each.name in wanted),
        ),
    )


def _say_sheet(arranged: ArrangedVersion, kind: str, form: str, out: Path | None) -> None:
    """Draw a sheet of the arranged version, in any form that the record's sheets have."""
    from logbook.sheets.catalog import FORMS, draw_sheet, make_sheet, suffix_of
    from logbook.sheets.looks import Look, Wanted

    if not form and out is not None:
        form = next((each for each in FORMS if suffix_of(each) == out.suffix.lower()), "")
    song = replace(arranged.song, versions=(arranged.version,))
    log = replace(
        arranged.log,
        songs=tuple(song if each.title == song.title else each for each in arranged.log.songs),
    )
    made = make_sheet(kind, log, Wanted(song.title, arranged.version.name))
    drawn = draw_sheet(made, form or "text", Look(width=width()))
    if out is not None:
        out.write_bytes(drawn if isinstance(drawn, bytes) else drawn.encode())
        say(f"wrote {out}")
    elif isinstance(drawn, bytes):
        raise LogbookError(f"a {form} sheet is a file", f"say --out sheet{suffix_of(form)}")
    else:
        sys.stdout.write(drawn)


def _write_sound(arranged: ArrangedVersion, form: str, out: Path | None) -> None:
    from logbook.arranging.clicks import LOUD_CAUTION

    if out is None:
        ending = _FORMS[form]
        raise LogbookError(f"a {form} file is not for the screen", f"say --out song{ending}")
    out = _with_ending(out, form) or out
    if form == "midi":
        from logbook.arranging.midi import midi_bytes

        out.write_bytes(midi_bytes(arranged))
    else:
        from logbook.arranging.click import click_bytes

        out.write_bytes(click_bytes(arranged))
    say(f"wrote {out}")
    say("\n".join(wrap(LOUD_CAUTION, width())))


def _with_ending(out: Path | None, form: str) -> Path | None:
    """A file's name with the ending of its form, where it has none of its own."""
    if out is None or _ENDINGS.get(out.suffix.lower()) == form:
        return out
    return out.with_name(out.name + _FORMS[form])


def _write_text(text: str, out: Path | None) -> None:
    if out is None:
        if text.startswith("<?xml"):
            sys.stdout.write(text)
        else:
            say(text.rstrip("\n"))
        return
    plain = text if text.startswith("<?xml") else clean(text, keep_newlines=True)
    out.write_text(plain, encoding="utf-8")
    say(f"wrote {out}")


def _write_json(data: Any, out: Path | None) -> None:
    if out is None:
        print_json(data)
        return
    import json

    out.write_text(json.dumps(data, ensure_ascii=False, indent=2, default=str) + "\n", "utf-8")
    say(f"wrote {out}")
