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

from logbook.arranging.arrange import ArrangedVersion
from logbook.arranging.clicks import LOUD_CAUTION, ClickTrack, click_track
from logbook.errors import LogbookError
from logbook.timing.tempo_map import nearest_sample

__all__ = ["LOUD_CAUTION", "click_bytes", "click_wav"]

USUAL_RATE_HZ = 48_000
PEAK_DB, ACCENT_DB = -15.0, -9.0
PITCH_HZ, ACCENT_PITCH_HZ = 1_000.0, 1_500.0
_CLICK_SECONDS = 0.03
_DECAY_SECONDS = 0.006
_LONGEST_SECONDS = 3 * 3600


def click_bytes(arranged: ArrangedVersion, count_in_bars: int | None = None) -> bytes:
    """Return the click of an arrangement as a WAV file.

    Raises LogbookError where no tempo is known, or it would last more than three hours.
    """
    rate = arranged.version.sample_rate_hz or USUAL_RATE_HZ
    return click_wav(click_track(arranged, count_in_bars), rate)


def click_wav(track: ClickTrack, rate_hz: int) -> bytes:
    """Return clicks as a WAV file of `rate_hz`, to the end of the music.

    Raises LogbookError for a rate at which no click can be heard, or more than three hours.
    """
    if not 4_000 <= rate_hz <= 768_000:
        raise LogbookError(
            f"a click at {rate_hz} samples a second cannot be written", "use a rate such as 48000"
        )
    if track.end_seconds > _LONGEST_SECONDS:
        raise LogbookError(
            "this click would last more than three hours", "shorten the form, or play faster"
        )
    sounds = {
        True: _tone(ACCENT_PITCH_HZ, ACCENT_DB, rate_hz),
        False: _tone(PITCH_HZ, PEAK_DB, rate_hz),
    }
    length = nearest_sample(track.end_seconds, rate_hz)
    samples = array("h", bytes(2 * length))
    for each in track.clicks:
        first = nearest_sample(each.seconds, rate_hz)
        sound = sounds[each.accent][: max(length - first, 0)]
        samples[first : first + len(sound)] = sound
    if sys.byteorder == "big":
        samples.byteswap()  # WAV is little-endian
    written = io.BytesIO()
    with wave.open(written, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(rate_hz)
        file.writeframes(samples.tobytes())
    return written.getvalue()


def _tone(pitch_hz: float, peak_db: float, rate_hz: int) -> array[int]:
    """A cosine that dies away: it starts at its peak, so that its beginning is exact."""
    pitch = min(pitch_hz, rate_hz / 4)
    peak = 32767 * 10 ** (peak_db / 20)
    count = int(_CLICK_SECONDS * rate_hz)
    fade = [min(1.0, (count - n) / (count / 4)) for n in range(count)]
    return array(
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
