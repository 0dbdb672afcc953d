"""A finished part joined from the files of its takes, as its edit decisions say."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from fractions import Fraction
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from logbook.editing.clips import Clip

Frames = NDArray[np.float32]
"""Frames by channels."""

Decoder = Callable[[Path], tuple[Frames, int]]
_LEAST_FADE_S = Fraction(1, 200)  # no cut clicks


def join_clips(
    clips: Sequence[Clip], decode: Decoder, rate_hz: int, *, tail_s: float = 0.4
) -> Frames:
    """Return what is heard of the clips, from the music's start, frames by channels.

    Neighbours are faded into each other over the piece's crossfade, half before the cut and half
    after it, where the files hold that much. What has to be squeezed or stretched is cut or left
    silent at its end. `decode` gives a file's frames by channels and its rate. Of a take with
    several microphones all are heard, at equal shares.
    """
    known: dict[str, tuple[Frames, int]] = {}
    for path in dict.fromkeys(clip.audio.path for clip in clips):
        known[path] = decode(Path(path))
    wide = max((frames.shape[1] for frames, _ in known.values()), default=1)
    ends = [Fraction(clip.at_frame + clip.fills, clip.audio.rate_hz) for clip in clips]
    end = max(ends, default=Fraction(0))
    out = np.zeros((int(end * rate_hz) + int(tail_s * rate_hz), wide), dtype=np.float32)
    starts = {Fraction(clip.at_frame, clip.audio.rate_hz): clip.piece for clip in clips}
    for clip in clips:
        begins = Fraction(clip.at_frame, clip.audio.rate_hz)
        over = begins + Fraction(clip.fills, clip.audio.rate_hz)
        after = next(
            (piece for at, piece in starts.items() if abs(at - over) < _LEAST_FADE_S), None
        )
        fades = (_fade_s(clip.piece.crossfade_ms), _fade_s(after.crossfade_ms) if after else 0.0)
        sharing = sum(other.piece == clip.piece for other in clips)
        frames, rate = known[clip.audio.path]
        tail = tail_s if over == end else 0.0
        _lay(out, _at_rate(frames, rate, rate_hz), clip, fades, tail, rate_hz, 1.0 / sharing)
    return out


def _fade_s(crossfade_ms: Fraction) -> float:
    return float(max(crossfade_ms / 1000, _LEAST_FADE_S))


def _lay(
    out: Frames,
    frames: Frames,
    clip: Clip,
    fades: tuple[float, float],
    tail_s: float,
    rate_hz: int,
    share: float,
) -> None:
    """Add one clip, with half of each fade outside its own frames."""
    scale = Fraction(rate_hz, clip.audio.rate_hz)
    first, at = int(clip.first_frame * scale), int(clip.at_frame * scale)
    count = int(min(clip.frames, clip.fills) * scale)
    half_in, half_out = (int(each * rate_hz / 2) for each in fades)
    half_in = min(half_in, first, at)
    until = min(first + count + max(half_out, int(tail_s * rate_hz)), len(frames))
    cut = frames[first - half_in : until] * np.float32(share)
    ramp_in = np.linspace(0.0, 1.0, max(2 * half_in, 1), dtype=np.float32)[: len(cut), None]
    if half_in:
        cut[: len(ramp_in)] *= ramp_in
    if half_out:
        fade = min(2 * half_out, len(cut))
        cut[len(cut) - fade :] *= np.linspace(1.0, 0.0, fade, dtype=np.float32)[:, None]
    room = min(len(cut), len(out) - (at - half_in))
    wide = out if cut.shape[1] == out.shape[1] else out[:, : cut.shape[1]]
    if cut.shape[1] == 1 < out.shape[1]:
        cut = np.repeat(cut, out.shape[1], axis=1)
        wide = out
    wide[at - half_in : at - half_in + room] += cut[:room]


def _at_rate(frames: Frames, rate: int, wanted: int) -> Frames:
    """The frames at another rate; the same where it is the same."""
    if rate == wanted:
        return frames
    from scipy.signal import resample_poly

    common = Fraction(wanted, rate)
    made = resample_poly(frames, common.numerator, common.denominator, axis=0)
    return np.asarray(made, dtype=np.float32)
