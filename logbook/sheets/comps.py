"""The comp of a part: told, drawn, as rows, as a timeline.

Lengths are in bars and seconds, samples at the version's rate. A timeline's clips point at the
takes' files with exact frames at each file's own rate.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import NamedTuple

from logbook.editing.bar_map import bar_map
from logbook.editing.placing import file_start
from logbook.editing.sentences import tell_comp
from logbook.editing.surveyed import CompSurvey
from logbook.editing.timeline import Clip, TakeAudio, comp_rows, lay_clips
from logbook.editing.words import listed, share_said, take_said
from logbook.errors import LogbookError
from logbook.records.context import Place, pieces_of
from logbook.records.files import AudioFile
from logbook.records.part_view import PartView, chosen_comp
from logbook.sheets.blocks import BarMap, Facts, Heading, Paragraph
from logbook.sheets.looks import Sheet, Wanted
from logbook.timing.bars import ranges_text
from logbook.timing.tempo_map import TempoMap

_TOGETHER_S = Fraction(1, 1000)
_COUNT_IN_S = 10  # two bars of a slow song
_LABELS = 11


class AskedComp(NamedTuple):
    """Which comp of a part is meant, by the beginning of its name; empty is the one that counts."""

    place: Place
    comp: str = ""


@dataclass(frozen=True, kw_only=True)
class CompSheet:
    """Everything a comp amounts to, as text and numbers.

    `pieces` are the comp's own lines, `told` the sentence.
    """

    song: str
    version: str
    part: str
    comp: str
    final: bool
    other_comps: tuple[str, ...]
    told: str
    pieces: tuple[str, ...]
    length_bars: str
    length_s: float | None
    length_samples: int | None
    sample_rate_hz: int | None
    gaps: tuple[str, ...]
    overlaps: tuple[str, ...]
    reused: tuple[str, ...]
    shares: tuple[str, ...]
    used_bars: tuple[str, ...]
    unused: tuple[str, ...]
    joins: tuple[str, ...]
    untouched_pass: bool
    survey: CompSurvey


def comp_sheet(place: Place, name: str = "") -> CompSheet:
    """Return what a comp of the part amounts to. Raises LogbookError where it cannot be read."""
    view = PartView(place)
    comp = chosen_comp(view, name)
    survey, takes = view.survey_of(comp), view.takes
    timed = view.tempo_map is not None
    return CompSheet(
        song=place.song.title,
        version=place.version.name,
        part=place.part.name,
        comp=comp.name,
        final=comp.final,
        other_comps=tuple(each.name for each in place.part.comps if each.name != comp.name),
        told=tell_comp(survey, takes, view.doubling),
        pieces=tuple(map(str, survey.pieces)),
        length_bars=str(survey.length_bars),
        length_s=float(survey.length_seconds) if timed else None,
        length_samples=survey.length_samples if timed else None,
        sample_rate_hz=place.version.sample_rate_hz,
        gaps=tuple(map(str, survey.gaps)),
        overlaps=tuple(
            f"{each.bars}: takes {listed([take_said(take, takes) for take in each.takes])}"
            for each in survey.overlaps
        ),
        reused=tuple(
            f"{each.at} from bars {each.source} of take {take_said(each.take, takes)}"
            + (f", heard too at {ranges_text(each.also_at)}" if each.also_at else "")
            for each in survey.reuses
        ),
        shares=tuple(
            f"take {take_said(each.take, takes)}: {share_said(each)}" for each in survey.shares
        ),
        used_bars=tuple(
            f"bar {each.bar} of take {take_said(each.take, takes)}: "
            f"{_times(each.times)}, at {ranges_text(each.at)}"
            for each in survey.uses
        ),
        unused=tuple(
            f"take {take_said(each.take, takes)}: {ranges_text(each.bars)}"
            for each in survey.unused
            if each.bars
        ),
        joins=tuple(
            f"{join.at}: take {take_said(join.before, takes)} to {take_said(join.after, takes)}"
            + (f", inside {join.section}" if join.section else ", between sections")
            + (", uncut" if join.is_continuous else "")
            for join in survey.joins
        ),
        untouched_pass=survey.is_untouched,
        survey=survey,
    )


def build(subject: AskedComp, wanted: Wanted) -> Sheet:
    """Return a comp, ready to be drawn. Raises LogbookError as `comp_sheet` does."""
    del wanted
    place = subject.place
    view = PartView(place)
    sheet = comp_sheet(place, subject.comp)
    length = f"{sheet.length_bars} bars"
    if sheet.length_s is not None:
        length += f", {sheet.length_s:.3f} s"
    if sheet.length_samples is not None:
        length += f", {sheet.length_samples} samples at {sheet.sample_rate_hz} Hz"
    facts = [("Length", length)]
    for heading, said in (
        ("Pieces", sheet.pieces),
        ("Shares", sheet.shares),
        ("Reused", sheet.reused),
        ("Joins", sheet.joins),
        ("Unused", sheet.unused),
        ("Gaps", sheet.gaps),
        ("Overlaps", sheet.overlaps),
        ("Others", sheet.other_comps),
    ):
        facts += [(heading if index == 0 else "", line) for index, line in enumerate(said)]
    blocks = (
        Heading(2, f"{place.title}: {sheet.comp}{' (final)' if sheet.final else ''}", quiet=True),
        Paragraph(sheet.told),
        BarMap(bar_map(sheet.survey, view.takes, view.form, view.bars)),
        Facts(tuple(facts), column=_LABELS),
    )
    data = {key: value for key, value in vars(sheet).items() if key != "survey"}
    rows = tuple(comp_csv_rows(place, subject.comp))
    return Sheet("comp", f"{place.title}: {sheet.comp}", data, blocks, rows)


def take_audio(place: Place) -> list[TakeAudio]:
    """Return every file of the part's takes, with where it starts in the music.

    A file begins where its take's bars do, or where its clock says if that is a count-in ahead
    of them. Files without rate or length are left out.
    """
    view = PartView(place)
    bars = view.bars
    found = []
    for take, record in zip(view.takes, place.part.takes, strict=True):
        starts_at = bars.seconds_at(take.bars.start) if take.bars else Fraction(0)
        found += [
            TakeAudio(
                take=take.id,
                path=f"{file.folder}/{file.path}" if file.folder else file.path,
                rate_hz=file.rate_hz,
                frames=file.frames,
                starts_at=_file_start(place, file, bars, starts_at),
                microphone=file.microphone,
            )
            for file in record.files
            if file.rate_hz and file.frames
        ]
    return found


def _file_start(place: Place, file: AudioFile, bars: TempoMap, take_s: Fraction) -> Fraction:
    """Where a file starts: by its clock, where that runs with the take's bars."""
    if file.time_reference is None or not file.rate_hz or not place.version.bar_one_at:
        return take_s
    try:
        clock_s = file_start(
            time_reference_samples=file.time_reference,
            file_rate_hz=file.rate_hz,
            bar_one_at=place.version.bar_one_at,
            tempo_map=bars,
        )
    except LogbookError:
        return take_s
    return clock_s if -_TOGETHER_S <= take_s - clock_s <= _COUNT_IN_S else take_s


def comp_clips(place: Place, name: str = "") -> tuple[Clip, ...]:
    """Return the comp laid on the takes' files. Raises LogbookError where a file is missing."""
    view = PartView(place)
    pieces = pieces_of(chosen_comp(view, name))
    return lay_clips(pieces, take_audio(place), view.takes, view.bars)


def comp_csv_rows(place: Place, name: str = "") -> list[tuple[str, ...]]:
    """Return the comp as rows for a CSV file, with the files' frames where files are known."""
    clips, _ = clips_found(place, name)
    view = PartView(place)
    return comp_rows(pieces_of(chosen_comp(view, name)), view.bars, clips)


def clips_found(place: Place, name: str = "") -> tuple[tuple[Clip, ...], tuple[str, ...]]:
    """Return the clips of those pieces whose files hold them, and why the others have none."""
    view, audio = PartView(place), take_audio(place)
    clips: list[Clip] = []
    without: list[str] = []
    for piece in pieces_of(chosen_comp(view, name)):
        try:
            clips += lay_clips([piece], audio, view.takes, view.bars)
        except LogbookError as error:
            without.append(f"{piece.bars}: {error.problem}")
    return tuple(clips), tuple(without)


def _times(count: int) -> str:
    return {1: "once", 2: "twice"}.get(count, f"{count} times")
