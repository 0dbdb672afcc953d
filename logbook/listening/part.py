"""From a part of the log to what listening needs: files, where their music begins, and a comp.

A take may have several files (microphones); each is listened to, and what goes on from one to the
other is one piece. What no take explains stays as it is logged where its take has no file that
could be listened to; everywhere else it is unknown, and not logged.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from logbook.editing.comp import EditPiece
from logbook.editing.spans import common
from logbook.editing.takes import TakeId, TakeSpan, take_of
from logbook.errors import LogbookError
from logbook.listening.beginnings import bounce_begins, last_bar, music_at, on_grid
from logbook.listening.pieces import Piece
from logbook.listening.snapping import (
    CompDifference,
    Snapped,
    as_comp,
    differences,
    infer_takes_at,
    snap,
    unknown_bars,
)
from logbook.names import alike
from logbook.records.context import piece_of_record, pieces_of
from logbook.records.files import AudioFile
from logbook.records.part_view import PartView
from logbook.records.parts import Comp
from logbook.records.parts import CompPiece as PieceRecord
from logbook.timing.bars import BarRange
from logbook.timing.tempo_map import TempoMap

RELINK = "`logbook files --relink FOLDER` finds it where it lies now"


@dataclass(frozen=True, kw_only=True)
class TakeFile:
    """A file of a take; `record` is None for one that was named by hand."""

    take: TakeId
    bars: BarRange | None
    path: Path
    record: AudioFile | None = None


@dataclass(frozen=True, kw_only=True)
class HeardComp:
    """What a bounce says of a part's comp.

    `pieces` is the comp that would be logged, `unknown` the bars that come from no take given,
    `kept` logged lines that stay because their take could not be listened to. `differences` are
    between `pieces` and the comp in the log.
    """

    snapped: tuple[Snapped, ...]
    pieces: tuple[EditPiece, ...]
    unknown: tuple[BarRange, ...]
    kept: tuple[EditPiece, ...]
    differences: tuple[CompDifference, ...]


def place_of_file(file: AudioFile) -> Path:
    """Where a file of the log lies."""
    return Path(file.folder) / file.path if file.folder else Path(file.path)


def bounce_file(place: PartView) -> AudioFile:
    """The finished part's one file that is on the disk. Raises LogbookError with what is wrong."""
    files = place.recorded.files
    if not files:
        raise LogbookError(
            f"no finished file of {place.title} is in the log",
            "name it with --bounce FILE, or attach it to the part with `logbook files attach`",
        )
    there = [file for file in files if place_of_file(file).is_file()]
    if not there:
        raise LogbookError(f"{files[0].path} is not where the log says", RELINK)
    if len(there) > 1:
        raise LogbookError(
            f"{place.title} has {len(there)} finished files",
            f"name one with --bounce: {', '.join(file.path for file in there)}",
        )
    return there[0]


def take_files(
    place: PartView, named: Iterable[tuple[TakeId, Path]] = ()
) -> tuple[list[TakeFile], list[str]]:
    """Every file of the part's takes that is there, and a sentence about each that is not.

    `named` files stand in for those of their take. Raises LogbookError without takes or files.
    """
    takes = place.takes
    if not takes:
        raise LogbookError(f"{place.title} has no take yet", "log one with `logbook take`")
    by_hand: dict[TakeId, list[Path]] = {}
    for take_id, path in named:
        take = take_of(takes, take_id)
        if take is None:
            known = ", ".join(str(short_id(each, takes)) for each in takes)
            raise LogbookError(f"{place.title} has no take {take_id}", f"its takes are {known}")
        by_hand.setdefault(take.id, []).append(path)
    found: list[TakeFile] = []
    said: list[str] = []
    for take, record in zip(takes, place.recorded.takes, strict=True):
        short = short_id(take, takes)
        for path in by_hand.get(take.id, ()):
            found.append(TakeFile(take=short, bars=take.bars, path=path))
        if take.id in by_hand:
            continue
        for file in record.files:
            path = place_of_file(file)
            if path.is_file():
                found.append(TakeFile(take=short, bars=take.bars, path=path, record=file))
            else:
                said.append(f"take {short}: {file.path} is not where the log says; {RELINK}")
    if not found:
        if said:
            raise LogbookError(said[0].partition("; ")[0], RELINK)
        raise LogbookError(
            f"no take of {place.title} has an audio file",
            "`logbook import FOLDER` attaches files to takes",
        )
    return found, said


def short_id(take: TakeSpan, takes: Sequence[TakeSpan]) -> TakeId:
    """A take as a comp names it: without its session where the number says it alone."""
    alone = sum(other.number == take.number for other in takes) == 1
    return TakeId(take.number, "" if alone else take.session)


def hear_comp(
    place: PartView,
    pieces: Sequence[Piece],
    files: Sequence[TakeFile],
    *,
    bounce: AudioFile | None = None,
    bounce_at_s: float | None = None,
    logged: Comp | None = None,
) -> HeardComp:
    """Pieces in seconds as a comp in bars, held against the one that is logged.

    `pieces` count takes as `files` does. bounce_at_s: where in the bounce the music begins, None
    to work it out. Raises LogbookError without a tempo, or where nothing lies in the version's
    bars.
    """
    tempo_map = place.tempo_map
    if tempo_map is None:
        raise LogbookError(f"{place.song.title}, {place.version.name} has no tempo yet", "log it")
    ids = [file.take for file in files]
    by_clock = [music_at(place, f.record, tempo_map) if f.record else None for f in files]
    by_bars = [
        None if file.bars is None else -float(tempo_map.seconds_at(file.bars.start))
        for file in files
    ]
    known = [a if a is not None else b for a, b in zip(by_clock, by_bars, strict=True)]
    if bounce_at_s is None and bounce is not None:
        bounce_at_s = music_at(place, bounce, tempo_map)
    if bounce_at_s is None:
        bounce_at_s = bounce_begins(pieces, [file.bars for file in files], known, tempo_map)
    inferred = infer_takes_at(pieces, len(files), bounce_at_s)
    takes_at = [
        at if at is not None and on_grid(pieces, number, at, bounce_at_s, tempo_map) else guess
        for number, (at, guess) in enumerate(zip(known, inferred, strict=True))
    ]
    last = last_bar(place, pieces, bounce_at_s, tempo_map)
    snapped = snap(pieces, tempo_map, ids, takes_at, bounce_at_s=bounce_at_s, last_bar=last)
    heard = joined(as_comp(snapped), tempo_map)
    unknown = unknown_bars(snapped)
    said = normal(pieces_of(logged), place) if logged else ()
    kept = _kept(said, unknown, frozenset(ids), tempo_map)
    if kept:
        heard = tuple(sorted((*heard, *kept), key=lambda one: tempo_map.span_of(one.bars)))
    return HeardComp(
        snapped=tuple(snapped),
        pieces=heard,
        unknown=unknown,
        kept=kept,
        differences=differences(heard, said, tempo_map),
    )


def normal(pieces: Iterable[EditPiece], place: PartView) -> tuple[EditPiece, ...]:
    """Logged pieces with their takes named as `short_id` names them."""
    takes = place.takes
    out = []
    for piece in pieces:
        take = take_of(takes, piece.take)
        out.append(replace(piece, take=short_id(take, takes)) if take else piece)
    return tuple(out)


def joined(pieces: Sequence[EditPiece], tempo_map: TempoMap) -> tuple[EditPiece, ...]:
    """Pieces that go on in the same take where the one before left off, made one."""
    out: list[EditPiece] = []
    for piece in pieces:
        at, source = tempo_map.span_of(piece.bars), tempo_map.span_of(piece.source)
        if out and out[-1].take == piece.take and out[-1].note == piece.note:
            before, before_source = (
                tempo_map.span_of(out[-1].bars),
                tempo_map.span_of(out[-1].source),
            )
            if before[1] == at[0] and before_source[1] == source[0]:
                out[-1] = replace(
                    out[-1],
                    bars=tempo_map.range_between(before[0], at[1]),
                    source=tempo_map.range_between(before_source[0], source[1]),
                )
                continue
        out.append(piece)
    return tuple(out)


def _kept(
    logged: Sequence[EditPiece],
    unknown: Sequence[BarRange],
    heard: frozenset[TakeId],
    tempo_map: TempoMap,
) -> tuple[EditPiece, ...]:
    """What the log says of bars nothing explains, from takes that could not be listened to."""
    out = []
    for piece in logged:
        if piece.take in heard:
            continue
        at, source = tempo_map.span_of(piece.bars), tempo_map.span_of(piece.source)
        for bars in unknown:
            shared = common(at, tempo_map.span_of(bars))
            if shared is None:
                continue
            if shared == at:
                out.append(piece)
                continue
            shift = source[0] - at[0]
            out.append(
                replace(
                    piece,
                    bars=tempo_map.range_between(*shared),
                    source=tempo_map.range_between(shared[0] + shift, shared[1] + shift),
                )
            )
    return tuple(out)


def _take_meant(piece: EditPiece) -> TakeId:
    """A piece's take without its session, which a number may leave unsaid."""
    return piece.take._replace(session="")


def records_of(pieces: Iterable[EditPiece], logged: Comp | None) -> tuple[PieceRecord, ...]:
    """The pieces as they are logged; a line that says the same already stays as it is."""
    old = (
        {}
        if logged is None
        else {
            (piece.bars, _take_meant(piece_of_record(piece)), piece.source or piece.bars): piece
            for piece in logged.pieces
        }
    )
    out = []
    for piece in pieces:
        bars, source = str(piece.bars), str(piece.source)
        same = old.get((bars, _take_meant(piece), source))
        out.append(
            same
            or PieceRecord(
                bars=bars,
                take=piece.take.number,
                session=piece.take.session,
                from_version=piece.take.version,
                from_part=piece.take.part,
                from_file=piece.take.file,
                source=source,
                crossfade_ms=float(piece.crossfade_ms) or None,
                notes=piece.note,
            )
        )
    return tuple(out)


def meant_comp(place: PartView, name: str) -> tuple[str, Comp | None]:
    """The name of the comp that is meant, and the comp where it is logged already.

    Without a name: the final one, else the only one. Raises LogbookError where several could be.
    """
    comps = place.part.comps
    if name:
        found = [comp for comp in comps if alike(comp.name, name)]
        return (found[0].name, found[0]) if found else (name, None)
    counts = place.comp
    if counts is not None:
        return counts.name, counts
    if len(comps) > 1:
        raise LogbookError(
            f"no comp of {place.title} is the final one",
            f"name one with --comp: {', '.join(comp.name for comp in comps)}",
        )
    return Comp().name, None
