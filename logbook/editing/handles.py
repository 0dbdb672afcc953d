"""Whether the files hold the material that crossfades need beyond the join.

A crossfade lies half before and half after its join. While it lasts both pieces sound: the one
that ends needs as much of its file after its last frame as lies behind the join, the one that
begins as much before its first frame as lies ahead of it. These are its handles. No crossfade is
longer than the clips it lies in.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from typing import NamedTuple

from logbook.editing.clips import Clip
from logbook.timing.bars import BarPoint
from logbook.timing.tempo_map import nearest_sample


class Dissolve(NamedTuple):
    """A crossfade as far as there is material: frames before and after the join.

    `wanted_before` and `wanted_after` are what the comp asks for, all at the rate of the file that
    begins there.
    """

    before: int
    after: int
    wanted_before: int
    wanted_after: int

    @property
    def frames(self) -> int:
        """How long it is."""
        return self.before + self.after


class MissingHandle(NamedTuple):
    """A side of a crossfade whose file ends too soon: where, which clip, and by how much.

    `side` is "before" for the piece that begins at the join, whose file lacks material ahead of
    it, and "after" for the one that ends there. `needed_ms` is what the crossfade asks for on that
    side, `there_ms` what the file holds.
    """

    at: BarPoint
    side: str
    clip: Clip
    needed_ms: Fraction
    there_ms: Fraction

    @property
    def short_ms(self) -> Fraction:
        """How much is missing."""
        return self.needed_ms - self.there_ms


def dissolve_between(before: Clip, after: Clip) -> Dissolve:
    """Return the crossfade at the join of two clips, no longer than their files have room for."""
    rate = after.audio.rate_hz
    frames = nearest_sample(after.piece.crossfade_ms / 1000, rate)
    ahead, behind = frames // 2, frames - frames // 2
    tail = _tail(before) * rate // before.audio.rate_hz
    room = before.fills * rate // before.audio.rate_hz
    return Dissolve(
        min(ahead, _head(after), room), min(behind, int(tail), after.fills), ahead, behind
    )


def missing_handles(clips: Sequence[Clip]) -> Iterator[MissingHandle]:
    """Yield the sides of crossfades that the files are too short for, in the order of the part.

    Clips of one microphone follow each other; those of another are held against their own.
    """
    for microphone in dict.fromkeys(clip.audio.microphone for clip in clips):
        before: Clip | None = None
        for clip in (each for each in clips if each.audio.microphone == microphone):
            if before is not None and clip.piece.crossfade_ms and _meet(before, clip):
                yield from _missing(before, clip)
            before = clip


def _meet(before: Clip, after: Clip) -> bool:
    return before.piece.bars.end == after.piece.bars.start


def _missing(before: Clip, after: Clip) -> Iterator[MissingHandle]:
    needed = after.piece.crossfade_ms / 2
    tail = Fraction(_tail(before) * 1000, before.audio.rate_hz)
    head = Fraction(_head(after) * 1000, after.audio.rate_hz)
    for side, clip, there in (("after", before, tail), ("before", after, head)):
        # A frame is lost to rounding at most.
        if needed - there > Fraction(1000, clip.audio.rate_hz):
            yield MissingHandle(after.piece.bars.start, side, clip, needed, there)


def _head(clip: Clip) -> int:
    """Frames of the file ahead of the clip."""
    return max(clip.first_frame, 0)


def _tail(clip: Clip) -> int:
    """Frames of the file after the clip."""
    return max(clip.audio.frames - clip.first_frame - clip.frames, 0)
