"""How `logbook arrange` answers: on the screen, as data, and as files."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from textwrap import wrap
from typing import TYPE_CHECKING

from logbook.cli.answering import write_file
from logbook.cli.forms import ENDINGS, EVERY_SHEET, Goal, print_drawn, write_drawn
from logbook.cli.printing import say, width
from logbook.errors import LogbookError
from logbook.sheets.catalog import make_sheet

if TYPE_CHECKING:
    from logbook.arranging.arrange import ArrangedVersion
    from logbook.records import Arrangement, Log, Person, Song, Version

FORMS = (*EVERY_SHEET, "csv", "svg", "midi", "click", "musicxml")


def say_differences(arranged: ArrangedVersion, goal: Goal) -> None:
    """Say what differs from the record."""
    from logbook.sheets.arranged_answers import AskedDifferences

    goal.hand_out(make_sheet("arrangement answer", AskedDifferences(arranged)))


def say_ways(
    log: Log,
    song: Song,
    version: Version,
    arrangement: Arrangement,
    name: str,
    goal: Goal,
) -> None:
    """Say the ways of a part to the arrangement's key, ranked."""
    from logbook.arranging.arrange import moved_key
    from logbook.arranging.form import arrange_form
    from logbook.arranging.moved import Moved, steps_between
    from logbook.arranging.parts import part_adaptations
    from logbook.records.part_view import PartView
    from logbook.sheets.arranged_answers import AskedWays
    from logbook.store.finding import choose

    chosen = choose(name, [each.name for each in version.parts], "part")
    part = next(each for each in version.parts if each.name == chosen)
    old, new = moved_key(version, arrangement.key)
    moved = Moved(old, new, steps_between(old, new), arrange_form(version, ()))
    place = PartView(log, song, version, part)
    found = part_adaptations(place, moved)
    keys = f"from {old.name} to {new.name}" if old and new else "as recorded"
    goal.hand_out(make_sheet("arrangement answer", AskedWays(place.title, keys, tuple(found))))


def say_keys(log: Log, version: Version, singer: str, goal: Goal) -> None:
    """Say the keys that fit a singer of the log, or a range such as A3-D5."""
    from logbook.arranging.singers import keys_for

    goal.hand_out(make_sheet("arrangement answer", keys_for(_singer(log, singer), version)))


def say_key_table(log: Log, song: Song, version: Version, singer: str, goal: Goal) -> None:
    """Say of every key how the melody lies in it and what each part has to do."""
    from logbook.arranging.key_table import key_table

    who = _singer(log, singer) if singer else None
    goal.hand_out(make_sheet("arrangement answer", key_table(log, song, version, who)))


def _singer(log: Log, text: str) -> Person:
    """Somebody of the log by the beginning of a name, or whoever has a range such as A3-D5."""
    from logbook.records import Person
    from logbook.store.finding import choose

    low, dash, high = text.replace(" to ", "-").partition("-")
    if dash and low.strip()[-1:].isdigit() and high.strip()[-1:].isdigit():
        return Person(name="the singer", low=low.strip(), high=high.strip())
    chosen = choose(text, [each.name for each in log.people], "person")
    return next(each for each in log.people if each.name == chosen)


def say_arrangement(arranged: ArrangedVersion, parts: list[str] | None, goal: Goal) -> None:
    """Write an arrangement in a form: all of its parts, or these."""
    arranged = only(arranged, parts or [])
    if goal.form == "musicxml":
        from logbook.arranging.musicxml import musicxml_text

        out = _with_ending(goal.out, goal.form)
        if out is None:
            print_drawn(musicxml_text(arranged), goal.form)
        else:
            write_drawn(musicxml_text(arranged), goal.form, out, arranged.title)
    elif goal.form in ("midi", "click"):
        _write_sound(arranged, goal.form, parts, goal.out)
    else:
        goal.hand_out(make_sheet("arrangement", arranged))


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


def say_sheet(arranged: ArrangedVersion, kind: str, goal: Goal) -> None:
    """Draw a sheet of the arranged version, in any form that the record's sheets have."""
    from logbook.sheets.looks import Wanted

    song = replace(arranged.song, versions=(arranged.version,))
    log = replace(
        arranged.log,
        songs=tuple(song if each.title == song.title else each for each in arranged.log.songs),
    )
    goal.hand_out(make_sheet(kind, log, Wanted(song.title, arranged.version.name)))


def _write_sound(
    arranged: ArrangedVersion, form: str, parts: list[str] | None, out: Path | None
) -> None:
    from logbook.arranging.clicks import LOUD_CAUTION

    if out is None:
        ending = ENDINGS[form][0]
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
    if out is None or out.suffix.lower() in ENDINGS[form]:
        return out
    return out.with_name(out.name + ENDINGS[form][0])
