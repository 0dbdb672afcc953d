"""A comp laid on the takes' audio files: which frames of which file stand where.

A piece's source bars, through the tempo map, are frames of its take's file, counted at the file's
own rate from its first frame; where the file begins in the version's time is part of what is known
of it. A clip starts at the exact frame of its source and fills exactly the frames of the bars it
stands at; moved bars may round to one frame more or fewer where they come from. Bars moved to
another tempo have to be stretched to fill their place; a source longer than its place is trimmed
to it. A piece of a take with several microphones becomes one clip of each file.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from logbook.editing.comp import EditPiece
from logbook.editing.survey import Maps, SourceMaps
from logbook.editing.takes import TakeId, TakeSpan, take_of
from logbook.editing.words import named
from logbook.errors import LogbookError
from logbook.timing.bars import BarRange
from logbook.timing.tempo_map import TempoMap, nearest_sample


@dataclass(frozen=True, slots=True, kw_only=True)
class TakeAudio:
    """An audio file of a take: `frames` long, its first one `starts_at` s into the version.

    `starts_at` counts from the start of the music and is below 0 for a file with a count-in.
    `microphone` names the track it belongs to.
    """

    take: TakeId
    path: str
    rate_hz: int
    frames: int
    starts_at: Fraction = Fraction(0)
    microphone: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Clip:
    """`frames` frames of a file from `first_frame` on, standing at `at_frame` of the version.

    There they fill `fills` frames: as many, unless the bars were moved to another tempo. All are
    counted at the file's rate, from the file's and the music's beginning.
    """

    piece: EditPiece
    audio: TakeAudio
    first_frame: int
    frames: int
    at_frame: int
    fills: int

    @property
    def speed(self) -> Fraction:
        """How much faster than recorded it is heard: above 1 where it has to be squeezed."""
        return Fraction(self.frames, self.fills)


def lay_clips(
    pieces: Sequence[EditPiece],
    audio: Sequence[TakeAudio],
    takes: Sequence[TakeSpan],
    tempo_map: TempoMap,
    maps: Maps | None = None,
) -> tuple[Clip, ...]:
    """Find the frames of every piece in every file of its take, in the order of the part.

    `maps` are the tempo maps of other versions that pieces come from.
    Raises LogbookError when a take has no audio file, or its file does not hold the bars.
    """
    clips = []
    sources = SourceMaps(tempo_map, maps or {})
    for piece in sorted(pieces, key=lambda each: each.bars):
        take = take_of(takes, piece.take)
        take_id = take.id if take else piece.take
        files = [each for each in audio if each.take in (take_id, piece.take)]
        if not files:
            raise LogbookError(
                f"{named(piece.take)} has no audio file, so {piece.bars} cannot be laid out",
                "import its file and attach it to the take",
            )
        clips += [_clip(piece, each, sources) for each in files]
    return tuple(clips)


def _clip(piece: EditPiece, audio: TakeAudio, maps: SourceMaps) -> Clip:
    rate = audio.rate_hz
    theirs, tempo_map = maps.of(piece.take), maps.own
    first, end = (
        nearest_sample(seconds - audio.starts_at, rate)
        for seconds in _seconds(piece.source, theirs)
    )
    if first < 0 or end > audio.frames:
        raise LogbookError(
            f"{audio.path} does not hold bars {piece.source} of {named(piece.take)}: "
            f"they are its frames {first} to {end} of {audio.frames}",
            "correct the bars the take covers, or where its file starts",
        )
    at, at_end = (nearest_sample(seconds, rate) for seconds in _seconds(piece.bars, tempo_map))
    fills = at_end - at
    as_long = _wholes(piece.source, theirs) == _wholes(piece.bars, tempo_map)
    if not as_long:
        # Other bars than fit the place: cut at its end, or silent once they are over.
        end = min(end, first + fills)
        fills = end - first
    elif abs(fills - (end - first)) <= 1 and first + fills <= audio.frames:
        # Moved bars may round to one frame more or fewer than the place they fill: fill it exactly.
        end = first + fills
    return Clip(
        piece=piece, audio=audio, first_frame=first, frames=end - first, at_frame=at, fills=fills
    )


def _wholes(bars: BarRange, tempo_map: TempoMap) -> Fraction:
    start, end = tempo_map.span_of(bars)
    return end - start


def _seconds(bars: BarRange, tempo_map: TempoMap) -> tuple[Fraction, Fraction]:
    return tempo_map.seconds_at(bars.start), tempo_map.seconds_at(bars.end)
