"""How `logbook arrange` answers: on the screen, as data, and as files."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path
from textwrap import wrap
from typing import TYPE_CHECKING

from logbook.cli.answering import answer_json, write_file
from logbook.cli.printing import say, width
from logbook.errors import LogbookError
from logbook.plaintext import clean

if TYPE_CHECKING:
    from logbook.arranging.arrange import ArrangedVersion
    from logbook.records import Arrangement, Log, Song, Version

FORMS = {"text": ".txt", "midi": ".mid", "click": ".wav", "musicxml": ".musicxml", "json": ".json"}
ENDINGS = {
    ".txt": "text", ".mid": "midi", ".midi": "midi", ".wav": "click", ".musicxml": "musicxml",
    ".xml": "musicxml", ".json": "json",
}  # fmt: skip


def say_differences(arranged: ArrangedVersion, out: Path | None, *, as_json: bool) -> None:
    """Say what differs from the record."""
    from logbook.arranging.difference import differences
    from logbook.sheets.arranged import difference_lines

    if as_json:
        answer_json([each._asdict() for each in differences(arranged)], out)
        return
    lines = [f"{arranged.title}, against the record", *difference_lines(arranged, width())]
    _write_text("\n".join(lines) + "\n", out)


def say_ways(
    log: Log,
    song: Song,
    version: Version,
    arrangement: Arrangement,
    name: str,
    out: Path | None,
    *,
    as_json: bool,
) -> None:
    """Say the ways of a part to the arrangement's key, ranked."""
    from logbook.arranging.arrange import moved_key
    from logbook.arranging.form import arrange_form
    from logbook.arranging.parts import Moved, part_ways, steps_between
    from logbook.records.context import Place
    from logbook.sheets.arranged import way_lines
    from logbook.sheets.arranged_data import way_data
    from logbook.store.finding import choose

    chosen = choose(name, [each.name for each in version.parts], "part")
    part = next(each for each in version.parts if each.name == chosen)
    old, new = moved_key(version, arrangement.key)
    moved = Moved(old, new, steps_between(old, new), arrange_form(version, ()))
    place = Place(log, song, version, part)
    found = part_ways(place, moved)
    if as_json:
        answer_json([way_data(each) for each in found], out)
        return
    keys = f"from {old.name} to {new.name}" if old and new else "as recorded"
    lines = [f"{place.title}: the ways {keys}, the best first", *way_lines(found, width())]
    _write_text("\n".join(lines) + "\n", out)


def say_keys(log: Log, version: Version, singer: str, out: Path | None, *, as_json: bool) -> None:
    """Say the keys that fit a singer of the log, or a range such as A3-D5."""
    from logbook.arranging.singers import keys_for
    from logbook.records import Person
    from logbook.sheets.arranged import singer_lines
    from logbook.sheets.arranged_data import singer_data
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
        answer_json(singer_data(answer), out)
    else:
        _write_text("\n".join(singer_lines(answer, width())) + "\n", out)


def hand_out(
    arranged: ArrangedVersion, form: str, parts: list[str] | None, out: Path | None
) -> None:
    """Write an arrangement in a form: all of its parts, or these."""
    arranged = only(arranged, parts or [])
    if form == "text":
        from logbook.sheets.arranged import to_lines

        _write_text("\n".join(to_lines(arranged, width() if out is None else 80)) + "\n", out)
    elif form == "json":
        from logbook.sheets.arranged_data import to_data

        answer_json(to_data(arranged), out)
    elif form == "musicxml":
        from logbook.arranging.musicxml import musicxml_text

        _write_text(musicxml_text(arranged), _with_ending(out, form))
    else:
        _write_sound(arranged, form, parts, out)


def only(arranged: ArrangedVersion, names: list[str]) -> ArrangedVersion:
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


def say_sheet(arranged: ArrangedVersion, kind: str, form: str, out: Path | None) -> None:
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
        write_file(out, drawn if isinstance(drawn, bytes) else drawn.encode())
        say(f"wrote {out}")
    elif isinstance(drawn, bytes):
        raise LogbookError(f"a {form} sheet is a file", f"say --out sheet{suffix_of(form)}")
    else:
        sys.stdout.write(drawn)


def _write_sound(
    arranged: ArrangedVersion, form: str, parts: list[str] | None, out: Path | None
) -> None:
    from logbook.arranging.clicks import LOUD_CAUTION

    if out is None:
        ending = FORMS[form]
        raise LogbookError(f"a {form} file is not for the screen", f"say --out song{ending}")
    out = _with_ending(out, form) or out
    if form == "midi":
        from logbook.arranging.midi import midi_bytes

        wanted = [plan.name for plan in arranged.parts] if parts else None
        write_file(out, midi_bytes(arranged, parts=wanted))
    else:
        from logbook.arranging.click import click_bytes

        write_file(out, click_bytes(arranged))
    say(f"wrote {out}")
    say("\n".join(wrap(LOUD_CAUTION, width())))


def _with_ending(out: Path | None, form: str) -> Path | None:
    """A file's name with the ending of its form, where it has none of its own."""
    if out is None or ENDINGS.get(out.suffix.lower()) == form:
        return out
    return out.with_name(out.name + FORMS[form])


def _write_text(text: str, out: Path | None) -> None:
    if out is None:
        if text.startswith("<?xml"):
            sys.stdout.write(text)
        else:
            say(text.rstrip("\n"))
        return
    plain = text if text.startswith("<?xml") else clean(text, keep_newlines=True)
    write_file(out, plain)
    say(f"wrote {out}")
