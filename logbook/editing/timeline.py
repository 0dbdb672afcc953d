"""The comp laid on audio files (`clips`), as CSV rows and as a timeline.

The timeline is written by OpenTimelineIO (extra `timeline`), in the format the name's ending says
(.otio is its own). There every microphone has a track, holes are gaps, a stretched clip has a
linear time warp, and a crossfade is a dissolve centred on the join, shorter on the side where a
file holds too little material for it, and none where neither side holds any. Files are named by
their file URL (RFC 8089, RFC 3986).
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

from logbook.editing.clips import Clip
from logbook.editing.comp import EditPiece
from logbook.editing.handles import Dissolve, dissolve_between
from logbook.editing.words import named
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
    "stands at frame",
    "fills frames",
    "note",
)


def comp_rows(
    pieces: Sequence[EditPiece],
    tempo_map: TempoMap,
    clips: Sequence[Clip] = (),
) -> list[tuple[str, ...]]:
    """The comp as rows for a CSV file, the header first: one row a clip, or a piece without any.

    Ranges of bars have an en dash, so that no spreadsheet takes 3-8 for a day.
    Raises LogbookError when a piece names a bar or beat the map does not have.
    """
    rows: list[tuple[str, ...]] = [CSV_HEADER]
    for piece in sorted(pieces, key=lambda each: each.bars):
        front = (
            _dashed(piece.bars),
            str(piece.take._replace(session="")),
            piece.take.session,
            _dashed(piece.source),
            f"{float(piece.crossfade_ms):g}",
            _seconds(tempo_map.seconds_at(piece.bars.start)),
            _seconds(tempo_map.seconds_of(piece.bars)),
        )
        of_piece = [clip for clip in clips if clip.piece == piece]
        rows += [
            (
                *front,
                clip.audio.path,
                str(clip.first_frame),
                str(clip.frames),
                str(clip.audio.rate_hz),
                str(clip.at_frame),
                str(clip.fills),
                piece.note,
            )
            for clip in of_piece
        ] or [(*front, *[""] * 6, piece.note)]
    return rows


def _seconds(exact: Fraction) -> str:
    """Seconds to the microsecond, as a spreadsheet would save them again."""
    return f"{float(exact):.6f}".rstrip("0").rstrip(".")


def _dashed(bars: BarRange) -> str:
    return str(bars).replace("-", "\N{EN DASH}")


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
        elif previous is not None and clip.piece.crossfade_ms:
            dissolve = dissolve_between(previous, clip)
            if dissolve.frames:
                track.append(_otio_dissolve(otio, dissolve, rate))
        track.append(_otio_clip(otio, clip))
        reached = Fraction(clip.at_frame + clip.fills, rate)
        previous = clip


def _otio_dissolve(otio: Any, dissolve: Dissolve, rate_hz: int) -> Any:
    return otio.schema.Transition(
        transition_type=otio.schema.TransitionTypes.SMPTE_Dissolve,
        in_offset=otio.opentime.RationalTime(dissolve.before, rate_hz),
        out_offset=otio.opentime.RationalTime(dissolve.after, rate_hz),
    )


def _otio_clip(otio: Any, clip: Clip) -> Any:
    rate = clip.audio.rate_hz

    def span(first: int, frames: int) -> Any:
        return otio.opentime.TimeRange(
            otio.opentime.RationalTime(first, rate), otio.opentime.RationalTime(frames, rate)
        )

    warps = []
    if clip.frames != clip.fills:
        warps = [otio.schema.LinearTimeWarp(time_scalar=float(clip.speed))]
    return otio.schema.Clip(
        name=f"{named(clip.piece.take).removeprefix('the ')} bars {clip.piece.source}",
        media_reference=otio.schema.ExternalReference(
            target_url=file_url(clip.audio.path), available_range=span(0, clip.audio.frames)
        ),
        source_range=span(clip.first_frame, clip.fills),
        effects=warps,
        metadata={"session-logbook": {"piece": str(clip.piece)}},
    )


def file_url(path: str) -> str:
    """Return the URL of a file: percent-encoded, absolute where the path is.

    A path that depends on where one stands stays relative to it.
    """
    plain = path.replace("\\", "/")
    if plain[1:2] == ":":
        return f"file:///{plain[:2]}{quote(plain[2:])}"
    return f"file://{quote(plain)}" if plain.startswith("/") else quote(plain)


def _library() -> Any:
    try:
        import opentimelineio
    except ImportError:
        raise LogbookError(
            "timelines need the library OpenTimelineIO, which is not installed",
            "install the extra: pip install 'session-logbook[timeline]'",
        ) from None
    return opentimelineio
