"""What was done to the takes on their way to the bounce, and what is left when it is undone.

One channel is fitted for the whole bounce: a short impulse response (equaliser, early reverb,
polarity) by least squares in the frequency domain, averaged over many windows of matched sound,
each at its own gain (fades, compressor). What the takes, sent through it, leave over gives the
spectrum of the misfit; judging in a domain where that misfit is white gives every band the say
it deserves. All signals are at the common work rate.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy import fft

from logbook.listening.signals import Samples, Spectrum, convolved, cut, zero_phase
from logbook.listening.tracing import TraceFrames

Floating = npt.NDArray[np.floating]

WINDOW_SECONDS = 0.37  # rounded to a power of two samples; half of it to find lags by
MOST_WINDOWS = 100
BEFORE = 256  # taps of the impulse response before the direct sound
WHITE_TAPS = 255
ENOUGH_WINDOWS = 40  # to fit a sixth of a second of reverberation
STEP_16_BIT = 2.0**-15


@dataclass(frozen=True, slots=True)
class SoundMatch:
    """Samples `first` to `last` (exclusive) of the bounce come from `take` at `lag`.

    place: which of the places tried this is; take and place are UNKNOWN where none fits. exact:
    the lag with its fraction. share: of its sound, how much the take explains. fade: samples of a
    long crossfade from the match before, its middle at `first`; 0 at a cut.
    """

    first: int
    last: int
    take: int
    lag: int
    place: int
    exact: float = 0.0
    share: float = 1.0
    fade: int = 0


@dataclass(frozen=True, slots=True)
class Channel:
    """taps: take to bounce, with `BEFORE` taps before time 0, ahead of the whitening filter.

    white: linear-phase whitening taps. noise: power per sample of 16-bit steps after whitening.
    """

    taps: Samples
    white: Samples
    noise: float


def window_size(rate: int) -> int:
    """Samples of the windows a channel is fitted by; half of it for lags."""
    return int(1 << round(float(np.log2(WINDOW_SECONDS * rate))))


def exact_lag(
    bounce: Samples, take: Samples, lag: int, starts: Sequence[int], reach: int, size: int
) -> float:
    """The lag within `reach` samples of `lag` at full rate, with a fraction.

    Cross spectra of windows of `size` samples at `starts` are averaged; each frequency's phase
    counts by how coherent the two sounds are there, as in the maximum-likelihood delay estimator
    (Knapp and Carter, 1976), so bands with nothing but noise in them do not.
    """
    window = np.hanning(size).astype(np.float32)
    cross = np.zeros(size // 2 + 1, dtype=np.complex64)
    power = np.zeros((2, size // 2 + 1), dtype=np.float32)
    for start in starts:
        b = fft.rfft(cut(bounce, start, size) * window)
        x = fft.rfft(cut(take, start + lag, size) * window)
        cross += np.conj(b) * x
        power[0] += np.abs(b) ** 2
        power[1] += np.abs(x) ** 2
    return lag + delay_of(cross, power[0] * power[1], len(starts), reach)


def delay_of(cross: Spectrum, power: Samples, count: int, reach: int) -> float:
    """Samples by which a summed cross spectrum of `count` windows is late, within `reach`."""
    size = 2 * (cross.size - 1)
    length = np.abs(cross)
    coherence = length**2 / (power + 1e-30)
    chance = 1.0 / max(2, count)
    coherence = np.clip((coherence - 2 * chance) / (1 - chance), 0.0, 0.98)
    found = fft.irfft(cross / (length + 1e-30) * coherence / (1.0 - coherence), size)
    near = np.concatenate([found[-reach - 1 :], found[: reach + 2]])
    best = int(np.argmax(np.abs(near[1:-1]))) + 1
    if near[best] == 0.0:
        return 0.0
    left, right = near[best - 1] / near[best], near[best + 1] / near[best]
    bend = left - 2.0 + right
    part = 0.5 * (left - right) / bend if bend < 0 else 0.0
    return best - (reach + 1) + float(part)


def fit_channel(
    bounce: Samples, takes: Sequence[Samples], matches: Sequence[SoundMatch], rate: int
) -> Channel:
    """Fit the channel from windows inside the matches (already clear of their ends).

    Windows that fit far worse than the best fifth are left out after the first round, so a
    wrong match among right ones does no harm.
    """
    size = window_size(rate)
    places = _window_places(matches, size)
    window = np.hanning(size).astype(np.float32)
    from_takes = [cut(takes[m.take], at + m.lag, size) * window for at, m in places]
    b = _spectra([cut(bounce, at, size) * window for at, _ in places])
    x = _spectra(from_takes)
    power_b, power_x = _power(b), _power(x)
    mean_x = np.mean(power_x, axis=0)
    weight = np.asarray(1.0 / (mean_x + 1e-6 * np.max(mean_x) + 1e-20), dtype=np.float32)
    level = power_b @ weight + np.float32(1e-12)
    cross = np.conj(x) * b
    trust = np.ones(len(places), dtype=np.float32)
    response: Spectrum = np.ones(size // 2 + 1, dtype=np.complex64)
    support = 7 * size // 16 if len(places) >= ENOUGH_WINDOWS else size // 32
    for _ in range(3):
        shape = _power(response)
        bottom = power_x @ (weight * shape) + np.float32(1e-20)
        gain = np.real(cross @ (weight * np.conj(response))) / bottom
        # Every window counts alike, whatever its level.
        alike = trust / level
        below = (alike * gain**2) @ power_x
        response = ((alike * gain) @ cross) / (below + 1e-10 * np.max(below) + 1e-20)
        response, taps = _confined(response, support)
        rest = _power(b - gain[:, None] * response * x)
        part = (rest @ weight) / level
        trust = (part <= 4.0 * np.quantile(part, 0.2) + 1e-3).astype(np.float32)
    plain = np.real(cross @ weight) / (power_x @ weight + np.float32(1e-20))
    plain_rest = _power(b - plain[:, None] * x)
    if np.median((plain_rest @ weight) / level) <= np.median(part):
        # Nothing was done but a change of gain: say exactly that.
        rest = plain_rest
        taps = np.zeros_like(taps)
        taps[BEFORE] = 1.0
    share = trust / np.sum(trust)
    return _channel(taps, np.asarray(share @ rest), np.asarray(share @ power_b), window)


def unchanged(bounce: Samples, rate: int) -> Channel:
    """The channel of takes to which nothing was done but a change of gain."""
    size = window_size(rate)
    window = np.hanning(size).astype(np.float32)
    starts = np.linspace(0, max(0, bounce.size - size), MOST_WINDOWS).astype(int)
    power = np.mean(_power(_spectra([cut(bounce, at, size) * window for at in starts])), axis=0)
    taps = np.zeros(BEFORE + 1, dtype=np.float32)
    taps[BEFORE] = 1.0
    return _channel(taps, np.zeros_like(power), power, window)


def _channel(taps: Samples, rest: Floating, power: Floating, window: Samples) -> Channel:
    """rest: mean power spectrum of what is left over; power: of the bounce; both of windows."""
    steps = STEP_16_BIT**2 / 12 * float(np.sum(window**2))
    white = _whitening(np.asarray(rest + 1e-4 * power + 4 * steps))
    noise = 1.5 * STEP_16_BIT**2 / 12 * float(np.sum(white.astype(np.float64) ** 2))
    return Channel(taps=taps.astype(np.float32), white=white, noise=noise)


def _spectra(windows: Sequence[Samples]) -> Spectrum:
    """Spectra of windows of one size, one to a row."""
    return np.asarray(fft.rfft(np.stack(windows), axis=1), dtype=np.complex64)


def _power(spectrum: Spectrum) -> Samples:
    """Squared magnitude."""
    return np.asarray(spectrum.real**2 + spectrum.imag**2, dtype=np.float32)


def _window_places(matches: Sequence[SoundMatch], size: int) -> list[tuple[int, SoundMatch]]:
    """Starts of windows spread evenly over all matches."""
    every = [
        (at, match)
        for match in matches
        for at in range(match.first, match.last - size + 1, size // 2)
    ]
    if len(every) <= MOST_WINDOWS:
        return every
    keep = np.linspace(0, len(every) - 1, MOST_WINDOWS).astype(int)
    return [every[i] for i in keep]


def _confined(response: Spectrum, support: int) -> tuple[Spectrum, Samples]:
    """The response with its impulse confined to BEFORE taps before 0 and `support` after."""
    size = 2 * (response.size - 1)
    impulse = fft.irfft(response, size)
    taps = np.concatenate([impulse[-BEFORE:], impulse[:support]]).astype(np.float32)
    taps[: BEFORE // 2] *= np.linspace(0, 1, BEFORE // 2, dtype=np.float32)
    taps[-support // 4 :] *= np.linspace(1, 0, support // 4, dtype=np.float32)
    back = np.zeros(size, dtype=np.float32)
    back[-BEFORE:] = taps[:BEFORE]
    back[:support] = taps[BEFORE:]
    return fft.rfft(back), taps


def _whitening(power: Floating) -> Samples:
    """Linear-phase taps whose response is one over the root of the smoothed power."""
    bins = np.linspace(0.0, 1.0, power.size)
    smooth = np.convolve(np.pad(power, 16, mode="edge"), np.ones(33) / 33, mode="valid")
    strength = 1.0 / np.sqrt(smooth)
    strength[bins < 0.0015] = 0.0
    return zero_phase(WHITE_TAPS, strength)


def fitted_frames(
    white: Samples, take: Samples, match: SoundMatch, channel: Channel, frame: int
) -> TraceFrames:
    """Energies, frame by frame, of the bounce (whitened whole) and the take sent through."""
    moved = _sent(take, match, channel)
    count = moved.size // frame
    b = white[match.first : match.first + count * frame].reshape(count, frame)
    y = moved[: count * frame].reshape(count, frame)
    places = match.first + np.arange(count) * frame + match.lag
    return TraceFrames(
        bounce=np.einsum("ij,ij->i", b, b),
        take=np.einsum("ij,ij->i", y, y),
        product=np.einsum("ij,ij->i", b, y),
        inside=(places > -frame) & (places < take.size),
    )


def fitted(
    bounce: Samples, take: Samples, match: SoundMatch, channel: Channel
) -> tuple[Samples, Samples]:
    """Whitened bounce and fitted, whitened take over the samples of `match`."""
    half, count = channel.white.size // 2, match.last - match.first
    white = convolved(bounce, channel.white, half, match.first, count)
    return white, _sent(take, match, channel)


def _sent(take: Samples, match: SoundMatch, channel: Channel) -> Samples:
    """The take sent through the channel, whitened, over the samples of `match`."""
    sounding = np.flatnonzero(channel.taps)
    # Where nothing but the level was changed all taps but one are nothing.
    taps = channel.taps[: int(sounding[-1]) + 1 if sounding.size else 1]
    through = np.convolve(taps, channel.white)
    ahead = BEFORE + channel.white.size // 2
    first, count = match.first + match.lag, match.last - match.first
    return convolved(take, through, ahead, first, count)
