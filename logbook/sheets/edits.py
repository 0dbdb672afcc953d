"""What a sheet says about takes, comp, doubles and overdubs of a part."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import NamedTuple

from logbook.editing.bar_map import BarMapRow, bar_map
from logbook.editing.comp import CompPiece
from logbook.editing.doubling import Doubling, DoublingState, parse_doubling_state
from logbook.editing.sentences import tell_comp
from logbook.editing.survey import CompSurvey, survey_comp
from logbook.editing.takes import Take, TakeId
from logbook.editing.words import listed
from logbook.errors import LogbookError
from logbook.records.context import final_comp, pieces_of, sections_of, takes_of
from logbook.records.files import AudioFile
from logbook.records.parts import Comp, Overdub, Part
from logbook.records.parts import Take as TakeRecord
from logbook.records.songs import Version
from logbook.sheets.heads import clock
from logbook.timing.tempo_map import TempoMap


class TakeLine(NamedTuple):
    """One take. `heard_bars` is how much of the finished part it makes up, None without a comp."""

    number: int
    session: str
    result: str
    bars: str
    heard_bars: str | None
    punch_ins: tuple[str, ...]
    files: tuple[str, ...]
    said: str


class PieceLine(NamedTuple):
    """One edit decision in words: which bars, from where, how joined."""

    bars: str
    take: str
    source: str
    crossfade: str
    said: str


class Edit(NamedTuple):
    """How a part was put together: told in a sentence, drawn bar by bar, and piece by piece.

    `unreadable` is what of it cannot be read.
    """

    told: str
    rows: tuple[BarMapRow, ...]
    pieces: tuple[PieceLine, ...]
    takes: tuple[TakeLine, ...]
    doubling: str
    overdubs: tuple[str, ...]
    remembered: tuple[str, ...]
    other_comps: tuple[str, ...]
    bounces: tuple[str, ...]
    unreadable: tuple[str, ...]


def edit_of(version: Version, part: Part, tempo_map: TempoMap | None) -> Edit:
    """Return everything about a part's takes and comp; what cannot be read is said."""
    comp = final_comp(part) or next(iter(part.comps), None)
    unreadable: list[str] = []
    survey: CompSurvey | None = None
    rows: tuple[BarMapRow, ...] = ()
    takes: tuple[Take, ...] = ()
    try:
        takes = takes_of(part)
    except LogbookError as error:
        unreadable.append(f"takes: {error}")
    if comp is not None and tempo_map is not None:
        try:
            survey, rows = _surveyed(version, comp, takes, tempo_map)
        except LogbookError as error:
            unreadable.append(f"comp: {error}")
    doubling = None
    try:
        doubling = doubling_of(part)
    except LogbookError as error:
        unreadable.append(f"doubled or not: {error}")
    lost = bool(unreadable) or (comp is not None and survey is None)
    return Edit(
        told="" if lost else _sentence(survey, takes, doubling, comp),
        rows=rows,
        pieces=tuple(map(_piece, survey.pieces)) if survey else (),
        takes=tuple(_take_line(record, survey, comp is not None) for record in part.takes),
        doubling=_doubling_word(doubling),
        overdubs=(*map(_overdub, part.overdubs), *_doubles_whom(version, part)),
        remembered=tuple(
            f"bars {each.source} stand again at {each.bars}"
            + (f" ({each.notes})" if each.notes else "")
            for each in part.reused
        ),
        other_comps=tuple(
            f"{each.name}, {len(each.pieces)} {'piece' if len(each.pieces) == 1 else 'pieces'}"
            for each in part.comps
            if each is not comp
        ),
        bounces=tuple(map(file_said, part.files)),
        unreadable=tuple(unreadable),
    )


def doubling_of(part: Part) -> Doubling:
    """What was noted about a part being doubled.

    Raises LogbookError where it cannot be read.
    """
    return Doubling(
        state=parse_doubling_state(part.doubled),
        by=" and ".join(double.part for double in part.doubles),
        panned=", ".join(double.pan for double in part.doubles if double.pan),
        why=part.doubled_why,
    )


def file_said(file: AudioFile) -> str:
    """An audio file in a line: name, rate, depth, channels, length."""
    said = [file.path]
    if file.rate_hz:
        said.append(f"{file.rate_hz / 1000:g} kHz")
    if file.depth_bits:
        said.append(f"{file.depth_bits} bit")
    if file.channels:
        said.append({1: "mono", 2: "stereo"}.get(file.channels, f"{file.channels} channels"))
    if file.frames is not None and file.rate_hz:
        said.append(clock(Fraction(file.frames, file.rate_hz)))
    if file.microphone:
        said.append(file.microphone)
    return ", ".join(said)


def _surveyed(
    version: Version, comp: Comp, takes: Sequence[Take], tempo_map: TempoMap
) -> tuple[CompSurvey, tuple[BarMapRow, ...]]:
    form = sections_of(version)
    survey = survey_comp(pieces_of(comp), takes, form, tempo_map, version.sample_rate_hz)
    return survey, bar_map(survey, takes, form, tempo_map)


def _sentence(
    survey: CompSurvey | None, takes: Sequence[Take], doubling: Doubling | None, comp: Comp | None
) -> str:
    said = tell_comp(survey, takes, doubling)
    said = f"{said[:1].upper()}{said[1:]}."
    return f"{said} (This comp is not marked as final.)" if comp and not comp.final else said


def _piece(piece: CompPiece) -> PieceLine:
    return PieceLine(
        bars=str(piece.bars),
        take=str(piece.take),
        source="" if piece.source == piece.bars else str(piece.source),
        crossfade=f"{float(piece.crossfade_ms):g} ms" if piece.crossfade_ms else "",
        said=piece.note,
    )


def _take_line(record: TakeRecord, survey: CompSurvey | None, has_comp: bool) -> TakeLine:
    return TakeLine(
        number=record.number,
        session=record.session,
        result=record.result or "unrated",
        bars=record.bars,
        heard_bars=_heard(record, survey) if has_comp and survey else None,
        punch_ins=tuple(
            f"punched in at {punch.bars}, pass {punch.number}"
            + (f": {punch.why}" if punch.why else "")
            for punch in record.punch_ins
        ),
        files=tuple(map(file_said, record.files)),
        said=record.notes,
    )


def _heard(record: TakeRecord, survey: CompSurvey) -> str:
    """How many bars of the finished part come from a take, and their share of it."""
    wanted = TakeId(record.number, record.session)
    share = next((each for each in survey.shares if each.take == wanted), None)
    if share is None:
        return "none"
    bars = f"{float(share.bars):.2f}".rstrip("0").rstrip(".")
    return f"{bars} ({float(share.share):.0%})"


def _doubling_word(doubling: Doubling | None) -> str:
    if doubling is None:
        return ""
    return {
        DoublingState.DOUBLED: "doubled",
        DoublingState.NOT_DOUBLED: "not doubled",
        DoublingState.UNKNOWN: "not known whether doubled",
    }[doubling.state]


def _overdub(overdub: Overdub) -> str:
    said = "added on top"
    if overdub.over:
        said += f" of {overdub.over}"
    if overdub.bars:
        said += f", bars {overdub.bars}"
    if overdub.session:
        said += f", at {overdub.session}"
    return f"{said}: {overdub.notes}" if overdub.notes else said


def _doubles_whom(version: Version, part: Part) -> tuple[str, ...]:
    names = [
        each.name
        for each in version.parts
        if any(double.part.casefold() == part.name.casefold() for double in each.doubles)
    ]
    return (f"doubles {listed(names)}",) if names else ()
