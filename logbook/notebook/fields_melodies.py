"""The melody of a part, as both doors say it.

A phrase is the place where it begins, a colon and its notes: `9: E4/8 F#4 G4/4 | A4/2`, `12.3: B4`.
The place may be a section of the form, or a bar of it, as with the words: `chorus: ...`,
`verse 2.3: ...`. A bar line has to stand where a bar begins.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import Any

from logbook.errors import LogbookError
from logbook.notebook import values
from logbook.notebook.declare import Context, LineForm, Noun, Value, members_of
from logbook.notebook.fields_lyrics import place_of_words
from logbook.notebook.fields_songs import read_bar, read_beat
from logbook.notebook.time_lines import first_beat, point, reached
from logbook.records import Melody, Version
from logbook.records.context import bars_map
from logbook.records.melodies import bar_line_off
from logbook.theory.tunes import read_tune, tune_text


def _melody_bar(value: Value, context: Context) -> int:
    bar = int(read_bar(value, context))
    first_beat(context.owner(Version), bar)
    return bar


def _melody_beat(value: Value, context: Context) -> str:
    phrase = context.owner(Melody)
    beat = read_beat(value, context)
    return str(reached(context.owner(Version), phrase.bar if phrase else 1, Fraction(beat)))


def _tune(value: Value, context: Context) -> str:
    if isinstance(value, list):
        value = " ".join(values.texts(value, context))
    tune = tune_text(read_tune(values.text(value, context)))
    phrase = context.owner(Melody)
    if phrase is not None and phrase.bar is not None:
        _check_bar_lines(phrase.bar, phrase.beat, tune, context)
    return tune


def _check_bar_lines(bar: int, beat: str, tune: str, context: Context) -> None:
    version = context.owner(Version)
    if version is None or "|" not in tune:
        return
    try:
        bars = bars_map(replace(version, tempos=()))
        off = bar_line_off(Melody(bar=bar, beat=beat, tune=tune), bars)
    except LogbookError:
        return  # what is wrong with the meters or the place is said where they are
    if off is not None:
        before, at = off
        raise LogbookError(
            f"the bar line after {before} stands at beat {at.beat} of bar {at.bar}, "
            "where no bar begins",
            "check the note lengths before it, or leave the bar line out",
        )


def _read_melody(line: str, context: Context) -> dict[str, Any]:
    place, colon, tune = line.partition(":")
    if not colon:
        raise LogbookError(
            f"{values.shown(line)} does not say in which bar it begins",
            "write the bar, a colon and the notes, as in 9: E4/8 F#4 G4/4",
        )
    version = context.owner(Version)
    at = place_of_words(place, version.form if version else ())
    bar, beat = _melody_bar(at.bar, context), str(reached(version, at.bar, at.beat))
    read = tune_text(read_tune(tune))
    _check_bar_lines(bar, beat, read, context)
    return {"bar": bar, "beat": beat, "tune": read}


def _write_melody(phrase: Melody, context: Context) -> str | None:
    return None if phrase.notes else f"{point(phrase.bar, phrase.beat)}: {phrase.tune}"


MELODY = Noun(
    word="melody",
    called=lambda each: f"{point(each.bar, each.beat)}: {each.tune}",
    plural="melodies",
    record=Melody,
    key=("bar", "beat"),
    needs=("bar", "tune"),
    help="a phrase of a part's melody, with the bar it begins in",
    members=members_of(Melody, __name__),
    line=LineForm(
        read=_read_melody,
        write=_write_melody,
        form="BAR[.BEAT]: NOTES",
        example="9: E4/8 F#4 G4/4 A4/2",
    ),
)
