"""The comp laid on audio files: exact frames of each file, as CSV rows and as a timeline.

A piece's source bars, through the tempo map, are frames of its take's file, counted at the file's
own rate from its first frame; where the file begins in the version's time is part of what is known
of it. A clip starts at the exact frame of its source and fills exactly the frames of the bars it
stands at; moved bars may round to one frame more or fewer where they come from. A piece of a take
with several microphones becomes one clip of each file.

The timeline is written by OpenTimelineIO (extra `timeline`), in the format the name's ending says
(.otio is its own). There every microphone has a track, holes are gaps, and a crossfade is a
dissolve centred on the join.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, Any

from logbook.editing.comp import CompPiece
from logbook.editing.takes import Take, TakeId, take_of
from logbook.errors import LogbookError
from logbook.timing.bars import BarRange
from logbook.timing.tempo_map import TempoMap, nearest_sample

if TYPE_CHECKING:
    from opentimelineio.schema import Timeline

CSV_HEADER = (
    "bars",
    "take",
    "session",
    "source bars",
    "crossfade ms",
    "starts at s",
    "lasts s",
    "file",
    "first frame",
    "frames",
    "rate Hz",
    "note",
)


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

    All three are counted at the file's rate, from the file's and the music's beginning.
    """

    piece: CompPiece
    audio: TakeAudio
    first_frame: int
    frames: int
    at_frame: int


def lay_clips(
    pieces: Sequence[CompPiece],
    audio: Sequence[TakeAudio],
    takes: Sequence[Take],
    tempo_map: TempoMap,
) -> tuple[Clip, ...]:
    """Find the frames of every piece in every file of its take, in the order of the part.

    Raises LogbookError when a take has no audio file, or its file does not hold the bars.
    """
    clips = []
    for piece in sorted(pieces, key=lambda each: each.bars):
        take = take_of(takes, piece.take)
        take_id = take.id if take else piece.take
        files = [each for each in audio if each.take in (take_id, piece.take)]
        if not files:
            raise LogbookError(
                f"take {piece.take} has no audio file, so {piece.bars} cannot be laid out",
                "import its file and assign it to the take",
            )
        clips += [_clip(piece, each, tempo_map) for each in files]
    return tuple(clips)


def comp_rows(
    pieces: Sequence[CompPiece],
    tempo_map: TempoMap,
    clips: Sequence[Clip] = (),
) -> list[tuple[str, ...]]:
    """The comp as rows for a CSV file, the header first: one row a clip, or a piece without any.

    Raises LogbookError when a piece names a bar or beat the map does not have.
    """
    rows: list[tuple[str, ...]] = [CSV_HEADER]
    for piece in sorted(pieces, key=lambda each: each.bars):
        front = (
            str(piece.bars),
            str(piece.take.number),
            piece.take.session,
            str(piece.source),
            f"{float(piece.crossfade_ms):g}",
            f"{float(tempo_map.seconds_at(piece.bars.start)):.6f}",
            f"{float(tempo_map.seconds_of(piece.bars)):.6f}",
        )
        of_piece = [clip for clip in clips if clip.piece == piece]
        rows += [
            (
                *front,
                clip.audio.path,
                str(clip.first_frame),
                str(clip.frames),
                str(clip.audio.rate_hz),
                piece.note,
            )
            for clip in of_piece
        ] or [(*front, "", "", "", "", piece.note)]
    return rows


def build_timeline(name: str, clips: Sequence[Clip]) -> Timeline:
    """The clips as an OpenTimelineIO timeline with a track for each microphone.

    Raises LogbookError when the library is missing, or two clips of a track overlap.
    """
    otio = _library()
    timeline = otio.schema.Timeline(name=name)
    for microphone in dict.fromkeys(clip.audio.microphone for clip in clips):
        track = otio.schema.Track(name=microphone or name, kind=otio.schema.TrackKind.Audio)
        _fill_track(otio, track, [clip for clip in clips if clip.audio.microphone == microphone])
        timeline.tracks.append(track)
    return timeline


def write_timeline(path: Path, name: str, clips: Sequence[Clip]) -> None:
    """Write the clips to a timeline file; see `build_timeline` for what it raises."""
    _library().adapters.write_to_file(build_timeline(name, clips), str(path))


def _clip(piece: CompPiece, audio: TakeAudio, tempo_map: TempoMap) -> Clip:
    rate = audio.rate_hz
    first, end = (
        nearest_sample(seconds - audio.starts_at, rate)
        for seconds in _seconds(piece.source, tempo_map)
    )
    if first < 0 or end > audio.frames:
        raise LogbookError(
            f"{audio.path} does not hold bars {piece.source} of take {piece.take}: "
            f"they are its frames {first} to {end} of {audio.frames}",
            "correct the bars the take covers, or where its file starts",
        )
    at, at_end = (nearest_sample(seconds, rate) for seconds in _seconds(piece.bars, tempo_map))
    # Moved bars may round to one frame more or fewer than the place they fill: fill it exactly.
    if abs((at_end - at) - (end - first)) == 1 and first + at_end - at <= audio.frames:
        end = first + at_end - at
    return Clip(piece=piece, audio=audio, first_frame=first, frames=end - first, at_frame=at)


def _seconds(bars: BarRange, tempo_map: TempoMap) -> tuple[Fraction, Fraction]:
    return tempo_map.seconds_at(bars.start), tempo_map.seconds_at(bars.end)


def _fill_track(otio: Any, track: Any, clips: Sequence[Clip]) -> None:
    """Put the clips on a track, with gaps between and dissolves where pieces cross-fade."""
    reached = Fraction(0)
    previous: Clip | None = None
    for clip in clips:
        rate = clip.audio.rate_hz
        hole = clip.at_frame - nearest_sample(reached, rate)
        if hole < 0:
            raise LogbookError(
                f"{clip.piece.bars} begins before the piece ahead of it has ended",
                "let pieces follow each other, and take each from bars at the same tempo",
            )
        if hole:
            track.append(otio.schema.Gap(duration=otio.opentime.RationalTime(hole, rate)))
        elif clip.piece.crossfade_ms and previous is not None:
            track.append(_dissolve(otio, clip))
        track.append(_otio_clip(otio, clip))
        reached = Fraction(clip.at_frame + clip.frames, rate)
        previous = clip


def _dissolve(otio: Any, clip: Clip) -> Any:
    rate = clip.audio.rate_hz
    frames = nearest_sample(clip.piece.crossfade_ms / 1000, rate)
    return otio.schema.Transition(
        transition_type=otio.schema.TransitionTypes.SMPTE_Dissolve,
        in_offset=otio.opentime.RationalTime(frames // 2, rate),
        out_offset=otio.opentime.RationalTime(frames - frames // 2, rate),
    )


def _otio_clip(otio: Any, clip: Clip) -> Any:
    rate = clip.audio.rate_hz

    def span(first: int, frames: int) -> Any:
        return otio.opentime.TimeRange(
            otio.opentime.RationalTime(first, rate), otio.opentime.RationalTime(frames, rate)
        )

    return otio.schema.Clip(
        name=f"take {clip.piece.take} bars {clip.piece.source}",
        media_reference=otio.schema.ExternalReference(
            target_url=clip.audio.path, available_range=span(0, clip.audio.frames)
        ),
        source_range=span(clip.first_frame, clip.frames),
        metadata={"session-logbook": {"piece": str(clip.piece)}},
    )


def _library() -> Any:
    try:
        import opentimelineio
    except ImportError:
        raise LogbookError(
            "timelines need the library OpenTimelineIO, which is not installed",
            "install the extra: pip install 'session-logbook[timeline]'",
        ) from None
    return opentimelineio
