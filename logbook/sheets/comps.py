"""The comp of a part: told, drawn, as rows, as a timeline.

Lengths are in bars and seconds, samples at the version's rate. A timeline's clips point at the
takes' files with exact frames at each file's own rate.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

from logbook.editing.bar_map import bar_map
from logbook.editing.clips import Clip, lay_clips
from logbook.editing.handles import MissingHandle, missing_handles
from logbook.editing.sentences import tell_comp
from logbook.editing.surveyed import CompSurvey, Section
from logbook.editing.timeline import comp_rows
from logbook.editing.words import listed, named, share_said, take_said
from logbook.records.context import pieces_of
from logbook.records.elsewhere import elsewhere
from logbook.records.log import Log
from logbook.records.part_view import PartView, chosen_comp
from logbook.records.take_files import clips_found, comp_audio
from logbook.sheets.blocks import BarMap, Facts, Heading, Paragraph
from logbook.sheets.looks import Sheet, Wanted
from logbook.sheets.strips import strip_of
from logbook.timing.bars import ranges_text
from logbook.timing.tempo_map import TempoMap

_LABELS = 11
_FEW_TAKES = 12  # whose unused bars are told one by one


class AskedComp(NamedTuple):
    """Which comp of a part is meant, by the beginning of its name; empty is the one that counts."""

    place: PartView
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
    handles: tuple[str, ...]
    free_time: tuple[str, ...]
    untouched_pass: bool
    survey: CompSurvey


def comp_sheet(place: PartView, name: str = "") -> CompSheet:
    """Return what a comp of the part amounts to. Raises LogbookError where it cannot be read."""
    comp = chosen_comp(place, name)
    survey = place.survey_of(comp)
    takes = place.takes
    timed = place.tempo_map is not None
    return CompSheet(
        song=place.song.title,
        version=place.version.name,
        part=place.part.name,
        comp=comp.name,
        final=comp.final,
        other_comps=tuple(each.name for each in place.part.comps if each.name != comp.name),
        told=tell_comp(survey, takes, place.doubling),
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
            f"{each.at} from bars {each.source} of {named(each.take, takes)}"
            + (f", also heard at {ranges_text(each.also_at)}" if each.also_at else "")
            for each in survey.reuses
        ),
        shares=tuple(f"{named(each.take, takes)}: {share_said(each)}" for each in survey.shares),
        used_bars=tuple(
            f"bar {each.bar} of {named(each.take, takes)}: "
            f"{_times(each.times)}, at {ranges_text(each.at)}"
            for each in survey.uses
        ),
        unused=tuple(
            f"{named(each.take, takes)}: {ranges_text(each.bars)}"
            for each in survey.unused
            if each.bars
        ),
        joins=tuple(
            f"{join.at}: {named(join.before, takes)} to {named(join.after, takes)}"
            + (f", inside {join.section}" if join.section else ", between sections")
            + (", uncut" if join.is_continuous else "")
            for join in survey.joins
        ),
        handles=tuple(map(handle_said, missing_handles(clips_found(place, comp)[0]))),
        free_time=free_stretches(place.bars, place.form),
        untouched_pass=survey.is_untouched,
        survey=survey,
    )


def free_stretches(tempo_map: TempoMap, form: Sequence[Section]) -> tuple[str, ...]:
    """Return the bars that have no tempo, each run with how long it lasted where that is known."""
    ends = [change.start for change in tempo_map.tempos[1:]]
    last = max((section.bars.end.bar - 1 for section in form), default=0)
    found = []
    for number, change in enumerate(tempo_map.tempos):
        if change.free is None:
            continue
        first, until = change.start.bar, last
        if number < len(ends):
            until = ends[number].bar - (ends[number].beat == 1)
        run = f"bar {first}" if until <= first else f"bars {first}-{until}"
        found.append(f"{run}, {float(change.free):g} s" if change.free else run)
    return tuple(found)


def build(subject: AskedComp, wanted: Wanted) -> Sheet:
    """Return a comp, ready to be drawn. Raises LogbookError as `comp_sheet` does."""
    del wanted
    place = subject.place
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
        ("Too short", sheet.handles),
        ("Unused", _alike_as_one(sheet.unused)),
        ("Gaps", sheet.gaps),
        ("Overlaps", sheet.overlaps),
        ("Free time", sheet.free_time),
        ("Others", sheet.other_comps),
    ):
        facts += [(heading if index == 0 else "", line) for index, line in enumerate(said)]
    blocks = (
        Heading(
            2,
            f"{place.title}: {sheet.comp}{' (final)' if sheet.final else ''}",
            quiet=True,
            of_version=place.version.name,
            about=place.part.name,
        ),
        Paragraph(sheet.told),
        BarMap(
            bar_map(sheet.survey, place.takes, place.form, place.bars),
            strip_of(place, sheet.survey),
        ),
        Facts(tuple(facts), column=_LABELS),
    )
    data = {key: value for key, value in vars(sheet).items() if key != "survey"}
    rows = tuple(comp_csv_rows(place, subject.comp))
    return Sheet("comp", f"{place.title}: {sheet.comp}", data, blocks, rows)


def log_with_comp(place: PartView, name: str = "") -> Log:
    """Return the log with this comp as the part's only one, so that it is what plays.

    The part's finished files are those of the comp that counts; another one is heard without them.
    """
    comp = chosen_comp(place, name)
    counts = place.comp is not None and place.comp.name == comp.name
    part = replace(
        place.part,
        comps=(replace(comp, final=True),),
        files=place.part.files if counts else (),
    )
    version, song = place.version, place.song
    new_version = replace(
        version, parts=tuple(part if each is place.part else each for each in version.parts)
    )
    new_song = replace(
        song, versions=tuple(new_version if each is version else each for each in song.versions)
    )
    return replace(
        place.log, songs=tuple(new_song if each is song else each for each in place.log.songs)
    )


def comp_clips(place: PartView, name: str = "") -> tuple[Clip, ...]:
    """Return the comp laid on the takes' files. Raises LogbookError where a file is missing."""
    comp = chosen_comp(place, name)
    maps = elsewhere(place, comp).maps
    return lay_clips(pieces_of(comp), comp_audio(place, comp), place.takes, place.bars, maps)


def comp_csv_rows(place: PartView, name: str = "") -> list[tuple[str, ...]]:
    """Return the comp as rows for a CSV file, with the files' frames where files are known."""
    comp = chosen_comp(place, name)
    return comp_rows(pieces_of(comp), place.bars, clips_found(place, comp)[0])


def pieces_without_frames(place: PartView, name: str = "") -> tuple[str, ...]:
    """Return why pieces of a comp have no frames in any file."""
    return clips_found(place, chosen_comp(place, name))[1]


def handle_said(missing: MissingHandle) -> str:
    """Which side of a join is too short for its crossfade, and by how much."""
    piece, path = missing.clip.piece, missing.clip.audio.path
    where = "before the join" if missing.side == "before" else "after the join"
    return (
        f"{missing.at}: {named(piece.take)} has {float(missing.there_ms):.1f} of "
        f"{float(missing.needed_ms):.1f} ms {where}, {float(missing.short_ms):.1f} ms short "
        f"({path.rpartition('/')[2]})"
    )


def _times(count: int) -> str:
    return {1: "once", 2: "twice"}.get(count, f"{count} times")


def _alike_as_one(unused: Sequence[str]) -> tuple[str, ...]:
    """Many takes of which the same is unused in one line: "takes 1-58: 1-32"."""
    if len(unused) <= _FEW_TAKES:
        return tuple(unused)
    held: dict[str, list[str]] = {}
    for line in unused:
        take, _, bars = line.partition(": ")
        held.setdefault(bars, []).append(take.removeprefix("take "))
    return tuple(
        f"take{'' if len(takes) == 1 else 's'} {_runs(takes)}: {bars}"
        for bars, takes in held.items()
    )


def _runs(takes: Sequence[str]) -> str:
    """Takes in as few words as they can be named: "1-4, 6, 2 of day two"."""
    runs: list[list[str]] = []
    for take in takes:
        last = runs[-1][-1] if runs else ""
        follows = take.isdecimal() and last.isdecimal() and int(take) == int(last) + 1
        if follows:
            runs[-1].append(take)
        else:
            runs.append([take])
    return ", ".join(run[0] if len(run) == 1 else f"{run[0]}-{run[-1]}" for run in runs)
