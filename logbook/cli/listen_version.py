"""`logbook listen against --recording`: any recording of a song, bar by bar against a chart."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from logbook.cli.listen_words import must_exist, one_part, waiting
from logbook.cli.printing import print_json, print_table, say
from logbook.errors import LogbookError

if TYPE_CHECKING:
    from logbook.listening.versions import ComparedSpan, ComparedVersion
    from logbook.records.part_view import PartView
    from logbook.sheets.other_recordings import OtherRecording


def tell_version(
    names: tuple[str, str, str],
    recording: Path,
    *,
    arrangement: str,
    as_json: bool,
    out: Path | None = None,
) -> None:
    """Align a recording with a chart, and say what differs and where, or write a page of it."""
    from logbook.cli.forms import EVERY_SHEET, form_of, hand_out
    from logbook.listening.decoding import decode
    from logbook.listening.playing import strings_of
    from logbook.listening.versions import compare_version
    from logbook.records.charted import chart_spans

    form = form_of("a recording", EVERY_SHEET, "", out)
    must_exist(recording)
    place = one_part(*names)
    asked = _asked(place, arrangement)
    tempo_map = place.tempo_map
    spans = [span for span in chart_spans(place) if span.frets is not None]
    if tempo_map is None or not spans:
        what = "tempo" if tempo_map is None else "chart"
        raise LogbookError(f"{place.title} has no {what} to compare the recording with", "log it")
    with waiting("listening"):
        found = compare_version(
            decode(recording), spans, tempo_map, strings_of(place), tempo_map.meter_at(1)
        )
    if as_json:
        print_json(_data(place, recording, found, asked))
        return
    if out is not None:
        from logbook.sheets.catalog import make_sheet

        hand_out(make_sheet("recording", _page(place, recording, found, asked)), form, out)
        return
    _print(place, recording, found, asked)


def _page(
    place: PartView, recording: Path, found: ComparedVersion, asked: tuple[str, str] | None
) -> OtherRecording:
    from logbook.sheets.other_recordings import OtherRecording, RecordingBar

    return OtherRecording(
        place=place,
        recording=recording.name,
        played=_played(place, found),
        asked=" at ".join(each for each in asked or () if each),
        bars=tuple(
            RecordingBar(
                bar=each.span.bar,
                beat=str(each.span.beat),
                chart=each.span.label,
                kind=each.kind,
                at_s=each.start_s,
                notes=tuple(_notes(each).split()),
            )
            for each in found.bars
        ),
    )


def _asked(place: PartView, name: str) -> tuple[str, str] | None:
    """Key and tempo that an arrangement asks for; None where none is named."""
    if not name:
        return None
    wanted = name.casefold()
    for each in place.version.arrangements:
        if each.name.casefold().startswith(wanted):
            return each.key, "" if each.bpm is None else f"{each.bpm:g}"
    known = ", ".join(each.name for each in place.version.arrangements) or "none"
    raise LogbookError(
        f"{place.song.title} has no arrangement {name}", f"its arrangements are {known}"
    )


def _key_of(place: PartView, semitones: int) -> str:
    """The key that a recording so far from the version's is in, "" where no key is logged."""
    from logbook.theory.keys import as_key
    from logbook.theory.likely import likely_keys
    from logbook.theory.pitch import midi_to_name

    if not place.version.key:
        return ""
    key = as_key(place.version.key)
    name = midi_to_name(60 + (key.pitch_class + semitones) % 12).rstrip("0123456789")
    chord = f"{name}m" if key.is_minor else name
    return likely_keys([chord], limit=1)[0].key.name if chord else ""


def _print(
    place: PartView, recording: Path, found: ComparedVersion, asked: tuple[str, str] | None
) -> None:
    say(f"{recording.name} against the chart of {place.title}")
    say(f"Played {_played(place, found)}.")
    if asked is not None:
        key, bpm = asked
        wanted = " at ".join(each for each in (key, bpm) if each)
        say(f"The arrangement asks for {wanted or 'only the recording'}.")
    if found.fit < 0.4:
        say("It hardly fits the chart: this may be another song, or its beats were not found.")
    rows = [
        (
            _bar(each),
            each.span.label,
            each.kind,
            "" if each.start_s is None else f"{each.start_s:.1f} s",
            _notes(each),
        )
        for each in found.bars
        if each.kind != "as recorded"
    ]
    if rows:
        print_table(("bar", "chart", "in the recording", "at", "notes heard"), rows)
    same = sum(each.kind == "as recorded" for each in found.bars)
    say(f"{same} of {len(found.bars)} chords are as recorded.")


def _played(place: PartView, found: ComparedVersion) -> str:
    """Key and tempo of the recording in words."""
    steps = abs(found.semitones)
    where = "in its key"
    if steps:
        way = "above" if found.semitones > 0 else "below"
        where = f"{steps} semitone{'' if steps == 1 else 's'} {way} it"
        key = _key_of(place, found.semitones)
        where += f", in {key}" if key else ""
    return f"{where}, at {found.bpm:g}"


def _bar(each: ComparedSpan) -> str:
    beat = each.span.beat
    return str(each.span.bar) + ("" if beat == 1 else f", beat {beat}")


def _notes(each: ComparedSpan) -> str:
    from logbook.theory.pitch import midi_to_name

    return " ".join(midi_to_name(note) for note in each.notes)


def _data(
    place: PartView, recording: Path, found: ComparedVersion, asked: tuple[str, str] | None
) -> dict[str, Any]:
    return {
        "song": place.song.title,
        "version": place.version.name,
        "part": place.part.name,
        "recording": str(recording),
        "semitones": found.semitones,
        "bpm": found.bpm,
        "fit": found.fit,
        "arrangement": None if asked is None else {"key": asked[0], "bpm": asked[1]},
        "bars": [
            {
                "bar": each.span.bar,
                "beat": str(each.span.beat),
                "chart": each.span.label,
                "kind": each.kind,
                "at_s": each.start_s,
                "notes": list(each.notes),
                "sure": each.confidence,
            }
            for each in found.bars
        ],
    }
