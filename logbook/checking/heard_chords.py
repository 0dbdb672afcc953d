"""What listening heard of a part's chords, against what its chart says.

Kept with the file it was heard in, and worth something only while the chart, the capo and the
tuning are what they were: `basis` says so. A file written over loses it.
"""

from __future__ import annotations

from collections.abc import Iterator

from logbook.checking.problem import CONTRADICTS, Problem
from logbook.errors import LogbookError
from logbook.records.charted import ChartSpan, basis_of, chart_spans
from logbook.records.files import WHOLE_PART, AudioFile, HeardChord
from logbook.records.log import Log
from logbook.records.part_view import PartView
from logbook.records.songs import Song
from logbook.timing.bars import BarPoint

_WHY = "listening heard other notes than the chart's voicing has there"
_WHY_CAPO = "the whole part sounds higher or lower than its chart and capo say"


def heard_chords(log: Log, song: Song) -> Iterator[Problem]:
    """Yield the bars that sound otherwise than they are charted, and capos that do."""
    for version in song.versions:
        for part in version.parts:
            files = [*part.files, *(file for take in part.takes for file in take.files)]
            if not any(file.heard_chords for file in files):
                continue
            place = PartView(log, song, version, part)
            try:
                spans = chart_spans(place)
                yield from _of_part(place, spans, files)
            except LogbookError:
                continue  # what cannot be read is told by the rules about charts and frets


def _of_part(
    place: PartView, spans: tuple[ChartSpan, ...], files: list[AudioFile]
) -> Iterator[Problem]:
    by_place = {str(BarPoint(span.bar, span.beat)): span for span in spans}
    for file in files:
        for heard in file.heard_chords:
            if heard.place == WHOLE_PART:
                if heard.basis == basis_of(place, spans):
                    yield _whole(place, file, heard)
                continue
            span = by_place.get(heard.place)
            if span is not None and heard.basis == basis_of(place, [span]):
                yield _bar(place, file, heard)


def _whole(place: PartView, file: AudioFile, heard: HeardChord) -> Problem:
    return Problem(
        "heard chords",
        place.title,
        f"{file.path} sounds as with {heard.heard}, and {heard.logged} is logged "
        f"({heard.sure:.0%} sure)",
        _WHY_CAPO,
        "log the capo, tuning or key that was played; then listen again",
        CONTRADICTS,
    )


def _bar(place: PartView, file: AudioFile, heard: HeardChord) -> Problem:
    bar, dot, beat = heard.place.partition(".")
    where = f"bar {bar}" + (f", beat {beat}" if dot else "")
    return Problem(
        "heard chords",
        f"{place.title}, {where}",
        f"{heard.logged} is charted, and in {file.path} {heard.heard} is heard "
        f"({heard.notes}; {heard.sure:.0%} sure)",
        _WHY,
        "`logbook listen chart` hears the bars again and logs them",
        CONTRADICTS,
    )
