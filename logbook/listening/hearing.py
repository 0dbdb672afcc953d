"""Hearing a part: what sounds in each stretch of a recording, and with which grip.

The tuning of the whole recording is measured first, then the spectra of the stretches (see
spectra), the odds of every note (notes), and the grips that explain them best (choosing).
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np
import numpy.typing as npt

from logbook.listening.choosing import Reading, choose, choose_among
from logbook.listening.decoding import decode
from logbook.listening.grips import pitches_of
from logbook.listening.heard import Asked, HeardSpan, HeardVoicing, asked_for, sounding
from logbook.listening.notes import note_odds
from logbook.listening.signals import Samples
from logbook.listening.spectra import SILENT_FULL_SCALE, span_spectra
from logbook.listening.tuning import read_tuning

CLEAR_TUNING = 0.3
TUNING_SECONDS = 60
QUIET = 0.004  # of the loudest stretch, root mean square: 48 dB below it


def hear(
    audio: Path,
    spans: Sequence[tuple[float, float]],
    *,
    open_strings: Sequence[int],
    capo: int = 0,
    logged: Sequence[Sequence[int | None]] | None = None,
) -> tuple[HeardSpan, ...]:
    """See `logbook.listening.hear_part`."""
    sound = decode(audio)
    asked = asked_for(spans, open_strings, capo, logged, sound.seconds)
    return hear_samples(sound.samples, sound.rate, asked)


def tuning_cents(samples: Samples, rate: int) -> float:
    """How far the recording is from A4 = 440 Hz, in cents; 0 where it cannot be told."""
    middle = max(0, samples.size // 2 - TUNING_SECONDS * rate // 2)
    reading = read_tuning(samples[middle : middle + TUNING_SECONDS * rate], rate)
    return reading.cents if reading is not None and reading.clear > CLEAR_TUNING else 0.0


def hear_samples(samples: Samples, rate: int, asked: Asked) -> tuple[HeardSpan, ...]:
    """Hear checked spans of one channel of sound."""
    if not asked.spans:
        return ()
    cents = tuning_cents(samples, rate)
    spectra = span_spectra(samples, rate, asked.spans, cents)
    least = max(SILENT_FULL_SCALE, QUIET * float(np.max(spectra.loudness)))
    sounds = np.flatnonzero(spectra.loudness > least)
    seconds = np.array([end - start for start, end in asked.spans], dtype=np.float32)
    pitches = pitches_of(asked.open_strings, asked.capo)
    odds = note_odds(spectra.levels[sounds], seconds[sounds], pitches)
    if asked.logged is None:
        readings = choose(odds, asked.open_strings, asked.capo)
    else:
        readings = choose_among(odds, asked.open_strings, asked.capo, asked.logged)
    heard: list[HeardSpan] = [
        HeardSpan(start=start, end=end, notes=(), voicings=(), silent=True)
        for start, end in asked.spans
    ]
    for row, span in enumerate(sounds):
        heard[span] = _told(asked, asked.spans[span], readings[row], odds[row], pitches)
    return tuple(heard)


def _told(
    asked: Asked,
    span: tuple[float, float],
    readings: Sequence[Reading],
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
