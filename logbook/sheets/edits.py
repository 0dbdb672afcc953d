"""What a sheet says about takes, comp, doubles and overdubs of a part."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from typing import NamedTuple

from logbook.editing.bar_map import BarMapRow, bar_map
from logbook.editing.comp import EditPiece
from logbook.editing.doubling import Doubling, DoublingState
from logbook.editing.sentences import tell_comp
from logbook.editing.survey import CompSurvey
from logbook.editing.takes import TakeSpan
from logbook.editing.words import listed, share_said
from logbook.errors import LogbookError
from logbook.records.files import AudioFile
from logbook.records.part_view import PartView
from logbook.records.parts import Comp, Overdub
from logbook.records.parts import Take as TakeRecord
from logbook.sheets.heads import clock
from logbook.sheets.strips import Strip, strip_of


class EditedTake(NamedTuple):
    """One take. `heard_bars` is how much of the finished part it makes up, None without a comp."""

    number: int
    session: str
    result: str
    bars: str
    heard_bars: str | None
    punch_ins: tuple[str, ...]
    files: tuple[str, ...]
    microphones: tuple[str, ...]
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
    strip: Strip | None
    pieces: tuple[PieceLine, ...]
    takes: tuple[EditedTake, ...]
    doubling: str
    overdubs: tuple[str, ...]
    remembered: tuple[str, ...]
    other_comps: tuple[str, ...]
    bounces: tuple[str, ...]
    unreadable: tuple[str, ...]


def edit_of(view: PartView, *, timed: bool = True) -> Edit:
    """Return everything about a part's takes and comp; what cannot be read is said.

    `timed` is False where the version's bars cannot be read.
    """
    part, comp = view.part, view.comp
    unreadable: list[str] = []
    survey: CompSurvey | None = None
    rows: tuple[BarMapRow, ...] = ()
    strip: Strip | None = None
    takes: tuple[TakeSpan, ...] = ()
    try:
        takes = view.takes
    except LogbookError as error:
        unreadable.append(f"takes: {error}")
    if comp is not None and timed:
        try:
            survey = view.survey
            if survey is not None:
                rows = bar_map(survey, takes, view.form, view.bars)
                strip = strip_of(view, survey)
        except LogbookError as error:
            unreadable.append(f"comp: {error}")
    doubling = None
    try:
        doubling = view.doubling
    except LogbookError as error:
        unreadable.append(f"doubled or not: {error}")
    lost = bool(unreadable) or not timed
    return Edit(
        told="" if lost else _sentence(view, survey, takes, doubling),
        rows=rows,
        strip=strip,
        pieces=tuple(map(_piece, survey.pieces)) if survey else (),
        takes=tuple(_take_line(view, record, survey) for record in view.recorded.takes),
        doubling=_doubling_word(doubling),
        overdubs=(*map(_overdub, part.overdubs), *_doubles_whom(view)),
        remembered=tuple(
            f"bars {each.bars} repeat {each.source}" + (f" ({each.notes})" if each.notes else "")
            for each in part.reused
        ),
        other_comps=tuple(
            f"{each.name}, {len(each.pieces)} {'piece' if len(each.pieces) == 1 else 'pieces'}"
            for each in part.comps
            if each is not comp
        ),
        bounces=tuple(map(file_said, view.recorded.files)),
        unreadable=tuple(unreadable),
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


def files_said(files: Sequence[AudioFile]) -> tuple[str, ...]:
    """The files of a take in lines; microphones of one recording are one line.

    "5 files: KickIn, SnareTop ...; 48 kHz, 1:23".
    """
    named = [file.microphone for file in files]
    alike = {(file.rate_hz, file.depth_bits, file.channels, file.frames) for file in files}
    if len(files) < 2 or not all(named) or len(alike) > 1:
        return tuple(map(file_said, files))
    told = file_said(replace(files[0], path="", microphone="")).removeprefix(", ")
    said = f"{len(files)} files: {', '.join(named)}"
    return (f"{said}; {told}" if told else said,)


def _sentence(
    view: PartView, survey: CompSurvey | None, takes: Sequence[TakeSpan], doubling: Doubling | None
) -> str:
    said = tell_comp(survey, takes, doubling)
    said = f"{said[:1].upper()}{said[1:]}."
    if view.is_undecided:
        return f"{said} (None of the comps is marked as final: {_names(view.part.comps)}.)"
    if view.comp and not view.comp.final:
        return f"{said} (This comp is not marked as final.)"
    return said


def _names(comps: Sequence[Comp]) -> str:
    return listed([comp.name for comp in comps])


def _piece(piece: EditPiece) -> PieceLine:
    return PieceLine(
        bars=str(piece.bars),
        take=str(piece.take),
        source="" if piece.source == piece.bars else str(piece.source),
        crossfade=f"{float(piece.crossfade_ms):g} ms" if piece.crossfade_ms else "",
        said=piece.note,
    )


def _take_line(view: PartView, record: TakeRecord, survey: CompSurvey | None) -> EditedTake:
    return EditedTake(
        number=record.number,
        session=record.session,
        result=record.result or "unrated",
        bars=record.bars,
        heard_bars=_heard(view, record) if survey else None,
        punch_ins=tuple(
            f"punched in at {punch.bars}, pass {punch.number}"
            + (f": {punch.why}" if punch.why else "")
            for punch in record.punch_ins
        ),
        files=tuple(map(file_said, record.files)),
        microphones=files_said(record.files),
        said=record.notes,
    )


def _heard(view: PartView, record: TakeRecord) -> str:
    """How many bars of the finished part come from a take, and their share of it."""
    share = view.share_of(record)
    return share_said(share) if share else "none"


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


def _doubles_whom(view: PartView) -> tuple[str, ...]:
    return (f"doubles {listed(view.doubles)}",) if view.doubles else ()
