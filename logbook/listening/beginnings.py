"""Where the music begins in each file, and where the bounce ends in the form.

Seconds are of files and of the tempo map. Where the music (the pick-up, or bar 1) begins in a
take's file is taken from its time reference and the version's clock (EBU Tech 3285) where both
are known, else from the bars the take covers; where neither agrees with the grid, from the sound.
The bounce begins with its first bar, unless its own edits say otherwise.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from logbook.editing.placing import place_take
from logbook.listening.extra import ListeningError
from logbook.listening.pieces import Piece
from logbook.listening.snapping import NEAR_SECONDS
from logbook.records.files import AudioFile
from logbook.records.part_view import PartView
from logbook.timing.bars import BarPoint, BarRange
from logbook.timing.tempo_map import TempoMap, nearest_sample

NEVER_SET_S = 3600  # midnight is what a program writes that knows no time
SHARE_ON_GRID = 0.5


def music_at(place: PartView, file: AudioFile, tempo_map: TempoMap) -> float | None:
    """Where in a file the music begins by its clock, seconds; None where no clock says."""
    version = place.version
    if file.time_reference is None or not file.rate_hz or not version.bar_one_at:
        return None
    bar_one_s = _clock_seconds(version.bar_one_at)
    if bar_one_s is None or (not file.time_reference and bar_one_s > NEVER_SET_S):
        return None
    rate_hz = version.sample_rate_hz or file.rate_hz
    music_s = max(bar_one_s - tempo_map.seconds_at(BarPoint(1)), Fraction(0))
    placed = place_take(
        time_reference_samples=file.time_reference,
        file_rate_hz=file.rate_hz,
        music_start_samples=nearest_sample(music_s, rate_hz),
        version_rate_hz=rate_hz,
        tempo_map=tempo_map,
    )
    return -float(tempo_map.seconds_at(BarPoint(placed.bar)) + placed.late_seconds)


def _clock_seconds(text: str) -> Fraction | None:
    seconds = Fraction(0)
    try:
        for piece in text.split(":"):
            seconds = seconds * 60 + Fraction(piece.strip())
    except (ValueError, ZeroDivisionError):
        return None
    return seconds


def _near_grid(tempo_map: TempoMap, seconds: float) -> bool:
    """Whether a time is within a crossfade of a beat, or before the music."""
    if seconds < 0:
        return seconds > -float(NEAR_SECONDS)
    exact = Fraction(round(seconds * 1_000_000), 1_000_000)
    wholes = tempo_map.wholes_at_seconds(exact)
    here = tempo_map.point_at(wholes)
    beat = tempo_map.meter_at(here.bar).beat_length
    start = tempo_map.bar_start(here.bar)
    near = start + round((wholes - start) / beat) * beat
    return abs(tempo_map.seconds_at_wholes(near) - exact) <= NEAR_SECONDS


def on_grid(
    pieces: Sequence[Piece], take: int, take_at: float, bounce_at: float, tempo_map: TempoMap
) -> bool:
    """Whether most of what is used of a take stands in its place, or begins on a beat of it."""
    used = [piece for piece in pieces if piece.take == take]
    good = sum(
        piece.length
        for piece in used
        if abs(piece.offset - take_at + bounce_at) <= float(NEAR_SECONDS)
        or _near_grid(tempo_map, piece.source - take_at)
    )
    return not used or good >= SHARE_ON_GRID * sum(piece.length for piece in used)


def bounce_begins(
    pieces: Sequence[Piece],
    covers: Sequence[BarRange | None],
    takes_at: Sequence[float | None],
    tempo_map: TempoMap,
) -> float:
    """Where in the bounce the music begins.

    `covers` are the bars of each take, `takes_at` where the music begins in it, as far as is known.
    The start of the bounce, unless all takes begin later in the form and the bounce holds just
    their bars, or its edits lie on the grid only when it begins where most of it stands in place.
    """
    starts = [float(tempo_map.seconds_at(bars.start)) for bars in covers if bars is not None]
    if len(starts) == len(covers) and starts and min(starts) > 0.0:
        later = -min(starts)
        if _in_place(pieces, takes_at, later) > _in_place(pieces, takes_at, 0.0):
            return later
    votes: dict[int, float] = {}
    for piece in pieces:
        at = None if piece.take is None else takes_at[piece.take]
        if at is not None:
            key = round(1000.0 * (at - piece.offset))
            votes[key] = votes.get(key, 0.0) + piece.length
    if not votes:
        return 0.0
    most = max(votes, key=lambda key: votes[key]) / 1000.0
    edges = [piece.start for piece in pieces[1:]]

    def fits(bounce_at: float) -> int:
        return sum(_near_grid(tempo_map, edge - bounce_at) for edge in edges)

    return most if fits(most) > fits(0.0) else 0.0


def _in_place(pieces: Sequence[Piece], takes_at: Sequence[float | None], bounce_at: float) -> float:
    """Seconds of the bounce that stand where they were played."""
    total = 0.0
    for piece in pieces:
        at = None if piece.take is None else takes_at[piece.take]
        if at is not None and abs(piece.offset - at + bounce_at) <= float(NEAR_SECONDS):
            total += piece.length
    return total


def last_bar(
    place: PartView, pieces: Sequence[Piece], bounce_at_s: float, tempo_map: TempoMap
) -> int | None:
    """The form's last bar where the bounce reaches its end; None where it stops before."""
    if not place.version.form:
        return None
    last = max(section.start + section.bars - 1 for section in place.version.form)
    end_s = float(tempo_map.seconds_at(BarPoint(last + 1)))
    half_s = (end_s - float(tempo_map.seconds_at(BarPoint(last)))) / 2
    if not pieces:
        raise ListeningError("the bounce holds nothing", "give the finished part")
    return last if pieces[-1].end - bounce_at_s >= end_s - half_s else None
