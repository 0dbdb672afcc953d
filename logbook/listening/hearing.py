"""Hearing a part: what sounds in each stretch of a recording, and with which grip.

The tuning of the whole recording is measured first, then the spectra of the stretches (see
spectra), the odds of every note (notes), and the grips that explain them best (choosing).
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property, lru_cache
from pathlib import Path

import numpy as np
import numpy.typing as npt

from logbook.listening.choosing import VoicingReading, choose, choose_among
from logbook.listening.decoding import DecodedSound, decode
from logbook.listening.grips import pitches_of
from logbook.listening.heard import AskedHearing, HeardSpan, HeardVoicing, asked_for, sounding
from logbook.listening.notes import note_odds
from logbook.listening.signals import Samples, resampled
from logbook.listening.spectra import AUDIO_RATE, channels, frames_of
from logbook.listening.tuning import read_tuning

Floats = npt.NDArray[np.float32]
Spans = Sequence[tuple[float, float]]

CLEAR_TUNING = 0.3
TUNING_SECONDS = 60
SILENT = 2e-4  # root mean square of full scale: 74 dB below it
NO_NOTE = -1.0  # the logarithm of the odds that no note reaches where only noise sounds
QUIET = 0.004  # of the loudest stretch: 48 dB below it


def hear(
    audio: Path,
    spans: Spans,
    *,
    open_strings: Sequence[int],
    capo: int = 0,
    logged: Sequence[Sequence[int | None]] | None = None,
) -> tuple[HeardSpan, ...]:
    """See `logbook.listening.hear_part`."""
    stands = audio.stat() if audio.exists() else None
    file = _File(audio) if stands is None else _last(audio, stands.st_size, stands.st_mtime_ns)
    asked = asked_for(spans, open_strings, capo, logged, file.seconds)
    return told(asked, file.ear) if asked.spans else ()


class _File:
    """A file's sound until it has been looked through once, and then what was seen."""

    def __init__(self, audio: Path) -> None:
        sound = decode(audio)
        self.seconds = sound.seconds
        self._sound: DecodedSound | None = sound

    @cached_property
    def ear(self) -> Ear:
        assert self._sound is not None
        ear = Ear(self._sound.samples, self._sound.rate)
        self._sound = None
        return ear


@lru_cache(maxsize=1)
def _last(audio: Path, _size: int, _modified_ns: int) -> _File:
    """The file that was asked last: a chart asks one for its bars, then for halves of bars."""
    return _File(audio)


def tuning_cents(samples: Samples, rate: int) -> float:
    """How far the recording is from A4 = 440 Hz, in cents; 0 where it cannot be told."""
    middle = max(0, samples.size // 2 - TUNING_SECONDS * rate // 2)
    reading = read_tuning(samples[middle : middle + TUNING_SECONDS * rate], rate)
    return reading.cents if reading is not None and reading.clear > CLEAR_TUNING else 0.0


class Ear:
    """One recording, ready to be asked about any stretch of it."""

    def __init__(self, samples: Samples, rate: int) -> None:
        """One channel of sound at `rate` hertz; its tuning and spectra are worked out here."""
        audio = resampled(samples, rate, AUDIO_RATE)
        self.seconds = audio.size / AUDIO_RATE
        self.cents = tuning_cents(audio, AUDIO_RATE)
        self._energy = np.concatenate([[0.0], np.cumsum(audio.astype(np.float64) ** 2)])
        self._frames = frames_of(audio, self.cents)

    def loudness(self, spans: Spans) -> Floats:
        """Root mean square of every stretch."""
        at = np.clip(np.round(np.array(spans) * AUDIO_RATE), 0, self._energy.size - 1).astype(int)
        energy = self._energy[at[:, 1]] - self._energy[at[:, 0]]
        return np.asarray(np.sqrt(energy / np.maximum(1, at[:, 1] - at[:, 0])), dtype=np.float32)

    def odds(self, spans: Spans, pitches: npt.NDArray[np.int_]) -> Floats:
        """Logarithm of the odds of every pitch in every stretch, spans x pitches."""
        out = np.empty((len(spans), pitches.size), dtype=np.float32)
        for at in range(0, len(spans), 256):
            part = spans[at : at + 256]
            levels = np.stack([channels(self._frames, start, end) for start, end in part])
            seconds = np.array([end - start for start, end in part], dtype=np.float32)
            out[at : at + len(part)] = note_odds(levels, seconds, pitches)
        return out


def sounding_spans(loudness: Floats) -> npt.NDArray[np.bool_]:
    """Which stretches are not silent, against full scale and against the loudest."""
    return np.asarray(loudness > max(SILENT, QUIET * float(np.max(loudness, initial=0.0))))


def told(asked: AskedHearing, ear: Ear) -> tuple[HeardSpan, ...]:
    """Hear checked spans, all of them together."""
    sounds = np.flatnonzero(sounding_spans(ear.loudness(asked.spans)))
    pitches = pitches_of(asked.open_strings, asked.capo)
    odds = ear.odds([asked.spans[n] for n in sounds], pitches)
    pitched = odds.max(axis=1, initial=-np.inf) > NO_NOTE
    sounds, odds = sounds[pitched], odds[pitched]
    if asked.logged is None:
        readings = choose(odds, asked.open_strings, asked.capo)
    else:
        readings = choose_among(odds, asked.open_strings, asked.capo, asked.logged)
    heard = [
        HeardSpan(start=start, end=end, notes=(), voicings=(), silent=True)
        for start, end in asked.spans
    ]
    for row, span in enumerate(sounds):
        heard[span] = _told(asked, asked.spans[span], readings[row], odds[row], pitches)
    return tuple(heard)


def _told(
    asked: AskedHearing,
    span: tuple[float, float],
    readings: Sequence[VoicingReading],
    odds: npt.NDArray[np.float32],
    pitches: npt.NDArray[np.int_],
) -> HeardSpan:
    voicings = tuple(
        HeardVoicing(
            frets=reading.frets,
            notes=sounding(reading.frets, asked.open_strings, asked.capo),
            confidence=reading.confidence,
        )
        for reading in readings
    )
    notes = voicings[0].notes if voicings else tuple(int(p) for p in pitches[odds > 0.0])
    return HeardSpan(start=span[0], end=span[1], notes=notes, voicings=voicings, silent=False)
