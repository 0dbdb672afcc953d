"""`logbook listen chart`: a part's chart heard from its recording, beside the log's."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, Any

from logbook.cli.asking import confirm
from logbook.cli.listen_said import sure_word
from logbook.cli.listen_words import one_part
from logbook.cli.log import changing
from logbook.cli.printing import print_json, say
from logbook.errors import LogbookError

if TYPE_CHECKING:
    from logbook.listening.charts import HeardChart, HeardEntry
    from logbook.listening.playing import Recording
    from logbook.records import Part, Version
    from logbook.records.part_view import PartView


def tell_chart(names: tuple[str, str, str], *, take: str, yes: bool, as_json: bool) -> None:
    """Hear a part's chart, print it beside the log's, and log it if that is wanted."""
    from logbook.cli.listen_words import waiting
    from logbook.editing.takes import parse_take_id
    from logbook.listening.chart_heard import hear_chart
    from logbook.listening.playing import open_recording
    from logbook.notebook.heard_text import differences, heard_part, heard_version

    place = one_part(*names)
    with waiting("listening"):
        recording = open_recording(place, parse_take_id(take) if take else None)
        heard = hear_chart(recording)
    if not any(entry.label for entry in heard.entries):
        what = "chord" if heard.notes is None else "note"
        raise LogbookError(f"no {what} is heard in {recording.path.name}", "give another --take")
    part = heard_part(place.part, heard)
    version = heard_version(place.version, heard)
    bars = {entry.bar for entry in heard.entries}
    differ = differences(place.part.chart, part.chart, bars)
    changes = part.chart != place.part.chart or version != place.version
    if as_json:
        if changes and yes:
            _apply(place, part, version)
        print_json(_data(place, recording, heard, part, version, differ, applied=changes and yes))
        return
    _print(place, recording, heard, part, version, differ)
    if not changes:
        return
    say()
    confirm(
        f"log this as the chart of {place.title}, in place of what is there"
        if place.part.chart
        else f"log this as the chart of {place.title}",
        yes,
    )
    _apply(place, part, version)
    say(f"logged as the chart of {place.title}; `logbook undo` takes it back")


def _apply(place: PartView, part: Part, version: Version) -> None:
    """Put chart, voicings and sections into the log, as one change."""
    from logbook.notebook.heard_log import log_heard

    with changing() as (_, change):
        log_heard(change, place, part, version)


def _print(
    place: PartView,
    recording: Recording,
    heard: HeardChart,
    part: Part,
    version: Version,
    differ: list[tuple[int, Fraction, str, str]],
) -> None:
    from logbook.notebook.heard_text import chart_lines, voicing_line

    say(f"{place.title}, as heard in {recording.called} ({recording.path.name})")
    if not place.version.key and heard.key:
        say(f"The key is probably {heard.key}; chords are named in it.")
    if heard.sections and not place.version.form:
        said = ", ".join(f"{s.name} {s.start}-{s.start + s.bars - 1}" for s in heard.sections)
        say(f"Sections by what repeats: {said}.")
    if heard.notes is not None:
        say()
        say("Notes")
        for line in _note_lines(heard):
            say(f"  {line}")
    say()
    say("Chart")
    for line in chart_lines(place, version, part):
        say(f"  {line}")
    if heard.new and heard.notes is None:
        say()
        say(f"New voicings (frets counted from the {place.part.counted or 'nut'})")
        for voicing in heard.new:
            sure = heard.sure.get(voicing.label, 0.0)
            say(f"  {voicing_line(voicing)}   {sure_word(sure)}, {sure:.2f}")
    doubtful = [entry for entry in heard.entries if entry.doubtful]
    if doubtful:
        say()
        say("Doubtful")
        for entry in doubtful:
            say(f"  {_doubt(entry)}")
    if place.part.chart:
        say()
        say("Against the log's chart")
        for bar, beat, logged, found in differ:
            said = f"{logged or 'nothing'} is logged, {found or 'nothing'} heard"
            say(f"  {_where(bar, beat)}: {said}")
        if not differ:
            say("  no difference")


def _note_lines(heard: HeardChart) -> list[str]:
    """The notes of a single line bar by bar, with how sure the least sure of each bar is."""
    by_bar: dict[int, list[HeardEntry]] = {}
    begun = {(one.bar, one.beat) for one in heard.notes or ()}
    for entry in heard.entries:
        if (entry.bar, entry.beat) in begun:
            by_bar.setdefault(entry.bar, []).append(entry)
    lines = []
    for bar, entries in by_bar.items():
        sure = min(each.reading.confidence for each in entries if each.reading)
        notes = " ".join(each.label for each in entries)
        lines.append(f"bar {bar}: {notes}   {sure_word(sure)}, {sure:.2f}")
    return lines


def _note_data(heard: HeardChart) -> list[dict[str, Any]]:
    from logbook.listening.line_charted import note_label

    return [
        {
            "bar": one.bar,
            "beat": str(one.beat),
            "note": note_label(one.note, heard.key),
            "midi": one.note.midi,
            "cents": one.note.cents,
            "start_s": one.note.start,
            "end_s": one.note.end,
            "sure": one.note.confidence,
        }
        for one in heard.notes or ()
    ]


def _where(bar: int, beat: Fraction) -> str:
    return f"bar {bar}" if beat == 1 else f"bar {bar}, beat {beat}"


def _doubt(entry: HeardEntry) -> str:
    assert entry.reading is not None, "only what was read is doubtful"
    said = f"{_where(entry.bar, entry.beat)}: {entry.label} ({entry.reading.confidence:.2f})"
    if entry.second is not None:
        label, reading = entry.second
        said += f", or {label} ({reading.confidence:.2f})"
    return said


def _data(
    place: PartView,
    recording: Recording,
    heard: HeardChart,
    part: Part,
    version: Version,
    differ: list[tuple[int, Fraction, str, str]],
    *,
    applied: bool,
) -> dict[str, Any]:
    from logbook.notebook.heard_text import chart_lines

    return {
        "song": place.song.title,
        "version": place.version.name,
        "part": place.part.name,
        "file": recording.path.name,
        "heard_in": recording.called,
        "key": heard.key,
        "sections": [
            {"name": s.name, "start": s.start, "bars": s.bars, "sure": s.sure}
            for s in heard.sections
        ],
        "chart": chart_lines(place, version, part),
        "entries": [
            {
                "bar": entry.bar,
                "beat": str(entry.beat),
                "voicing": entry.label,
                "frets_from_nut": list(entry.reading.frets)
                if entry.reading and entry.reading.frets
                else None,
                "notes": list(entry.reading.notes) if entry.reading else [],
                "sure": entry.reading.confidence if entry.reading else None,
                "doubtful": entry.doubtful,
                "second": entry.second[0] if entry.second else None,
            }
            for entry in heard.entries
        ],
        "notes": _note_data(heard),
        "new_voicings": [
            {
                "label": each.label,
                "frets": each.frets,
                "fingers": each.fingers,
                "sure": heard.sure.get(each.label),
            }
            for each in heard.new
        ],
        "differences": [
            {"bar": bar, "beat": str(beat), "logged": logged, "heard": found}
            for bar, beat, logged, found in differ
        ],
        "applied": applied,
    }
