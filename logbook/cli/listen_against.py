"""`logbook listen against`: only where the sound of a part contradicts its log, and keep that."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from logbook.cli.listen_words import one_part, waiting
from logbook.cli.log import changing
from logbook.cli.printing import print_json, print_table, say

if TYPE_CHECKING:
    from logbook.listening.against import Against
    from logbook.listening.playing import Recording
    from logbook.records import HeardChord
    from logbook.records.part_view import PartView


def tell_against(names: tuple[str, str, str], *, take: str, as_json: bool) -> None:
    """Hold a part's recording against its chart, tell what contradicts it, and keep it."""
    from logbook.editing.takes import parse_take_id
    from logbook.listening.against import as_records, hold_against
    from logbook.listening.playing import open_recording
    from logbook.store.changing import now

    place = one_part(*names)
    with waiting("listening"):
        recording = open_recording(place, parse_take_id(take) if take else None)
        against = hold_against(recording)
    found = as_records(recording, against, now())
    kept = _keep(recording, found)
    if as_json:
        print_json(_data(place, recording, against, found, kept=kept))
        return
    _print(place, recording, against, found)
    if kept and not found:
        say("What was kept of it before is taken out of the log.")
    elif kept:
        say("Kept in the log; `logbook check` reports it until the chart or the file changes.")


def _keep(recording: Recording, found: tuple[HeardChord, ...]) -> bool:
    """Keep what was found with the file it was found in; whether there was anything new."""
    from logbook.store.editing import edit
    from logbook.store.file_rows import read_files
    from logbook.store.finding import FoundRow

    file = recording.file
    if file is None or _same(file.heard_chords, found):
        return False
    with changing() as (_, change):
        for row in read_files(change.connection):
            mine = (row.folder, row.path) == (file.folder, file.path)
            # A file that was written over meanwhile is another one.
            if mine and row.digest == file.digest:
                edit(change, FoundRow("audio_file", row.id, row.path), {"heard_chords": found})
                return True
    return False


def _same(old: tuple[HeardChord, ...], new: tuple[HeardChord, ...]) -> bool:
    from dataclasses import replace

    def bare(each: HeardChord) -> HeardChord:
        return replace(each, heard_at="")

    return [bare(each) for each in old] == [bare(each) for each in new]


def _print(
    place: PartView, recording: Recording, against: Against, found: tuple[HeardChord, ...]
) -> None:
    say(f"{place.title}, {recording.called} ({recording.path.name}) against its chart")
    if against.moved is not None:
        (whole,) = found
        way = "above" if against.moved.semitones > 0 else "below"
        count = abs(against.moved.semitones)
        say(
            f"The whole part sounds {count} semitone{'' if count == 1 else 's'} {way} what is "
            f"logged: as with {whole.heard}, where the log says {whole.logged} "
            f"({whole.sure:.0%} sure)."
        )
        say("Bars are compared with the chart once that is right.")
        return
    if not found:
        say(f"No contradictions, in {against.listened} chords.")
        return
    rows = []
    for each, record in zip(against.bars, found, strict=True):
        bar, dot, beat = record.place.partition(".")
        rows.append(
            (
                bar + (f", beat {beat}" if dot else ""),
                record.logged,
                record.heard,
                f"{record.sure:.0%}" + (f", in {each.pooled} bars" if each.pooled > 1 else ""),
                record.notes,
            )
        )
    print_table(("bar", "logged", "heard", "sure", "notes heard"), rows)
    say(f"{len(found)} of {against.listened} chords sound different from what is logged.")


def _data(
    place: PartView,
    recording: Recording,
    against: Against,
    found: tuple[HeardChord, ...],
    *,
    kept: bool,
) -> dict[str, Any]:
    whole = against.moved
    return {
        "song": place.song.title,
        "version": place.version.name,
        "part": place.part.name,
        "file": recording.path.name,
        "chords": against.listened,
        "semitones_moved": whole.semitones if whole else 0,
        "contradictions": [
            {
                "place": each.place,
                "logged": each.logged,
                "heard": each.heard,
                "notes": each.notes,
                "sure": each.sure,
            }
            for each in found
        ],
        "kept": kept,
    }
