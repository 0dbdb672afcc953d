"""The click as a WAV file: count-in and click, an accent on beat one, at a moderate level.

Conventions. One channel of 16 bits at the version's rate, 48000 Hz where none is said. A click is
a short tone that starts at its full height and dies away within 30 ms, higher on beat one; its
peak is 15 dB below full scale, 9 dB on the accent. It begins on the sample nearest to its time.
"""

from __future__ import annotations

import io
import math
import sys
import wave
from array import array
from collections.abc import Iterator
from typing import IO

from logbook.arranging.arrange import ArrangedVersion
from logbook.arranging.clicks import LOUD_CAUTION, ClickTrack, click_track
from logbook.errors import LogbookError
from logbook.timing.tempo_map import nearest_sample

__all__ = ["LOUD_CAUTION", "click_bytes", "write_click"]

USUAL_RATE_HZ = 48_000
PEAK_DB, ACCENT_DB = -15.0, -9.0
PITCH_HZ, ACCENT_PITCH_HZ = 1_000.0, 1_500.0
_CLICK_SECONDS = 0.03
_DECAY_SECONDS = 0.006
_MOST_SAMPLES = 2**31 - 64  # two bytes each, and a size that the header can hold


def click_bytes(arranged: ArrangedVersion, count_in_bars: int | None = None) -> bytes:
    """Return the click of an arrangement as a WAV file; raises as `write_click` does."""
    written = io.BytesIO()
    write_click(arranged, written, count_in_bars)
    return written.getvalue()


def write_click(
    arranged: ArrangedVersion, file: IO[bytes], count_in_bars: int | None = None
) -> None:
    """Write the click of an arrangement as a WAV file, a piece at a time.

    Raises LogbookError where no tempo is known, for a rate at which no click can be heard, or
    where it is too long for the format.
    """
    rate_hz = arranged.version.sample_rate_hz or USUAL_RATE_HZ
    track = click_track(arranged, count_in_bars)
    if not 4_000 <= rate_hz <= 768_000:
        raise LogbookError(
            f"a click at {rate_hz} samples a second cannot be written", "use a rate such as 48000"
        )
    if track.end_seconds * rate_hz > _MOST_SAMPLES:
        raise LogbookError(
            f"a click of {float(track.end_seconds) / 3600:.1f} hours is too long for a WAV file",
            "shorten the form, or play faster",
        )
    with wave.open(file, "wb") as sound:
        sound.setnchannels(1)
        sound.setsampwidth(2)
        sound.setframerate(rate_hz)
        sound.setnframes(nearest_sample(track.end_seconds, rate_hz))
        for piece in _pieces(track, rate_hz):
            sound.writeframesraw(piece)


def _pieces(track: ClickTrack, rate_hz: int) -> Iterator[bytes]:
    """Yield the samples: silence up to each click, and the click, cut short by the next."""
    sounds = {
        True: _tone(ACCENT_PITCH_HZ, ACCENT_DB, rate_hz),
        False: _tone(PITCH_HZ, PEAK_DB, rate_hz),
    }
    length = nearest_sample(track.end_seconds, rate_hz)
    starts = [nearest_sample(each.seconds, rate_hz) for each in track.clicks]
    yield bytes(2 * (starts[0] if starts else length))
    for each, start, after in zip(track.clicks, starts, [*starts[1:], length], strict=True):
        sound = sounds[each.accent][: 2 * max(after - start, 0)]
        yield sound
        yield bytes(2 * max(after - start, 0) - len(sound))


def _tone(pitch_hz: float, peak_db: float, rate_hz: int) -> bytes:
    """A cosine that dies away: it starts at its peak, so that its beginning is exact."""
    pitch = min(pitch_hz, rate_hz / 4)
    peak = 32767 * 10 ** (peak_db / 20)
    count = int(_CLICK_SECONDS * rate_hz)
    fade = [min(1.0, (count - n) / (count / 4)) for n in range(count)]
    samples = array(
        "h",
        (
            round(
                peak
                * math.exp(-n / (_DECAY_SECONDS * rate_hz))
                * fade[n]
                * math.cos(2 * math.pi * pitch * n / rate_hz)
            )
            for n in range(count)
        ),
    )
    if sys.byteorder == "big":
        samples.byteswap()  # WAV is little-endian
    return samples.tobytes()
