"""Make the sample session's audio from its own session file: what is heard is what is logged.

Every take is played from the part's voicings, chart and patterns by plucked-string synthesis (a
delay line with a lossy loop, after Karplus and Strong, 1983), with a timing, touch and strum of
its own; a finished part is joined from its takes as the comp says. The files are named by the
session's own pattern. Run it in a checkout, with the extra `listen` installed:

    python sample_session/make_audio.py
"""

from __future__ import annotations

import struct
import zlib
from datetime import datetime, timedelta
from fractions import Fraction
from pathlib import Path

import mutagen
import numpy as np
import soundfile
from numpy.typing import NDArray
from scipy.signal import lfilter

from logbook.arranging.performance import perform
from logbook.editing.takes import take_of
from logbook.notebook.read import read_log
from logbook.records import Log, Part, Take
from logbook.records.context import (
    PartPlace,
    final_comp,
    pieces_of,
    places,
    takes_of,
    tempo_map_of,
    tuning_of,
)
from logbook.strings.tunings import StringTuning, sounding_hz
from logbook.timing.bars import BarPoint, parse_range
from logbook.timing.tempo_map import TempoMap

HERE = Path(__file__).parent
PEAK = 0.2  # -14 dBFS: quiet
TAIL_S = 0.4
CROSSFADE_S = 0.010

# Each part comes home from another machine, as they do.
FORMATS = {
    ("Low Tide Ledger", "guitar"): "flac",
    ("Low Tide Ledger", "bass"): "ogg",
    ("Lantern on the Slip", "guitar"): "wav",
    ("Varnish", "guitar"): "flac",
    ("Varnish", "high guitar"): "ogg",
    ("Varnish", "bass"): "ogg",
    ("Rowan Gate", "guitar"): "mp3",
    ("Rowan Gate", "mandolin"): "mp3",
}

Samples = NDArray[np.float64]


def pluck(
    hz: float, seconds: float, rate_hz: int, strength: float, rng: np.random.Generator
) -> Samples:
    """Return one plucked string: a burst of noise going round a lossy delay line."""
    length = max(int(seconds * rate_hz), 1)
    period = rate_hz / hz
    delay = int(period)
    share = period - delay  # between the two taps, which also darken the tone
    burst = np.zeros(length)
    noise = rng.uniform(-1.0, 1.0, min(delay, length))
    burst[: len(noise)] = lfilter([strength], [1.0, strength - 1.0], noise)  # softly is darkly
    loss = 0.001 ** (1.0 / (hz * 2.2))
    feedback = np.zeros(delay + 2)
    feedback[0] = 1.0
    feedback[delay : delay + 2] = -loss * (1.0 - share), -loss * share
    return np.asarray(lfilter([1.0], feedback, burst))


def thud(rate_hz: int, rng: np.random.Generator) -> Samples:
    """Return a hit on stopped strings: short and dark."""
    length = int(0.06 * rate_hz)
    noise = rng.uniform(-1.0, 1.0, length) * np.exp(-np.arange(length) / (0.012 * rate_hz))
    return np.asarray(lfilter([0.25], [1.0, -0.75], noise))


def play_take(
    place: PartPlace, tuning: StringTuning, take: Take, bars: TempoMap, rate_hz: int
) -> Samples:
    """Return one take, from the first sample of its bars to a short tail after the last.

    The same take always comes out alike, and no two takes do.
    """
    seed = zlib.crc32(f"{place.title}, {take.session}, take {take.number}".encode())
    rng = np.random.default_rng(seed)
    timing_s, spread_s = rng.uniform(0.004, 0.011), rng.uniform(0.006, 0.014)
    covered = parse_range(take.bars)
    start, end = bars.span_of(covered)
    first, last = bars.samples_of(covered, rate_hz)
    out = np.zeros(last - first + int(TAIL_S * rate_hz))
    late_s = 0.0
    for note in perform(place, bars):
        if not start <= note.start < end:
            continue
        if note.order == 0:
            late_s = 0.6 * late_s + rng.normal(0.0, timing_s)
        sounds_s = float(bars.seconds_at_wholes(note.end) - bars.seconds_at_wholes(note.start))
        begin_s = float(bars.seconds_at_wholes(note.start)) + late_s + note.order * spread_s
        at = max(round(begin_s * rate_hz) - first, 0)
        strength = float(np.clip(rng.normal(0.75 if note.accent else 0.5, 0.12), 0.2, 1.0))
        for midi in note.midi or (0,):
            if note.muted:
                sound = thud(rate_hz, rng)
            else:
                hz = sounding_hz(tuning, midi)
                sound = pluck(hz, sounds_s + 0.05, rate_hz, strength, rng)
                fade = min(len(sound), int(0.05 * rate_hz))
                sound[-fade:] *= np.linspace(1.0, 0.0, fade)
            room = min(len(sound), len(out) - at)
            if room > 0:
                out[at : at + room] += sound[:room] * strength
    return out


def join(part: Part, played: dict[Take, Samples], bars: TempoMap, rate_hz: int) -> Samples:
    """Return the finished part, joined from its takes as the final comp says."""
    comp = final_comp(part)
    assert comp is not None
    known = takes_of(part)
    pieces = pieces_of(comp)
    length = max(bars.samples_of(piece.bars, rate_hz)[1] for piece in pieces)
    out = np.zeros(length + int(TAIL_S * rate_hz))
    half = int(CROSSFADE_S * rate_hz / 2)
    ramp = (np.arange(2 * half) + 0.5) / (2 * half)
    for piece in pieces:
        found = take_of(known, piece.take)
        assert found is not None
        take = part.takes[known.index(found)]
        start, end = bars.samples_of(piece.bars, rate_hz)
        source = bars.sample_at(piece.source.start, rate_hz)
        source -= bars.sample_at(parse_range(take.bars).start, rate_hz)
        is_last = end == length
        reach = int(TAIL_S * rate_hz) if is_last else half
        before = half if start >= half and source >= half else 0
        cut = played[take][source - before : source + (end - start) + reach].copy()
        if before:
            cut[: 2 * half] *= ramp
        if not is_last:
            cut[-2 * half :] *= ramp[::-1]
        out[start - before : start - before + len(cut)] += cut
    return out


def write_broadcast_wav(
    path: Path, samples: Samples, rate_hz: int, description: str, begun: datetime
) -> None:
    """Write 16-bit PCM with a broadcast chunk (EBU Tech 3285, version 1) before the sound."""
    midnight = begun.replace(hour=0, minute=0, second=0, microsecond=0)
    reference = int(Fraction((begun - midnight) // timedelta(microseconds=1), 10**6) * rate_hz)
    broadcast = struct.pack(
        "<256s32s32s10s8sQH64s190s",
        description.encode(),
        b"boathouse recorder",
        b"",
        f"{begun:%Y-%m-%d}".encode(),
        f"{begun:%H:%M:%S}".encode(),
        reference,
        1,
        b"",
        b"",
    )
    sound = (samples * 32767).round().astype("<i2").tobytes()
    form = struct.pack("<HHIIHH", 1, 1, rate_hz, rate_hz * 2, 2, 16)
    chunks = b"".join(
        struct.pack("<4sI", name, len(body)) + body
        for name, body in ((b"fmt ", form), (b"bext", broadcast), (b"data", sound))
    )
    path.write_bytes(struct.pack("<4sI4s", b"RIFF", len(chunks) + 4, b"WAVE") + chunks)


def write_file(
    path: Path, samples: Samples, place: PartPlace, comment: str, begun: datetime
) -> None:
    """Write one file in the format its name says, with its tags or broadcast chunk."""
    rate_hz = place.version.sample_rate_hz or 22050
    if path.suffix == ".wav":
        write_broadcast_wav(path, samples, rate_hz, comment, begun)
        return
    soundfile.write(path, samples, rate_hz)
    tags = mutagen.File(path, easy=True)
    if tags.tags is None:
        tags.add_tags()
    tags["title"] = comment
    tags["artist"] = place.part.player
    tags["date"] = f"{begun:%Y-%m-%d}"
    tags.save()


def slug(text: str) -> str:
    """Return a name as it goes into a file name."""
    return text.lower().replace(" ", "-")


def begin_of(log: Log, place: PartPlace, take: Take, bars: TempoMap) -> datetime:
    """Return the moment a take begins on the recorder's clock."""
    session = next(each for each in log.sessions if each.name == take.session)
    hours, minutes, seconds = (place.version.bar_one_at or "10:00:00").split(":")
    bar_one = timedelta(hours=int(hours), minutes=int(minutes), seconds=float(seconds))
    start = bars.seconds_at(parse_range(take.bars).start) - bars.seconds_at(BarPoint(1))
    return datetime.fromisoformat(session.date) + bar_one + timedelta(seconds=float(start))


def make_part(log: Log, place: PartPlace, ending: str) -> None:
    """Write every take of a part, and the finished part where a comp is logged."""
    bars, tuning = tempo_map_of(place.version), tuning_of(place)
    assert bars is not None
    assert tuning is not None
    rate_hz = place.version.sample_rate_hz or 22050
    stem = f"{slug(place.song.title)}_{slug(place.part.name)}"
    takes = [take for take in place.part.takes if take.result != "false start"]
    played = {take: play_take(place, tuning, take, bars, rate_hz) for take in takes}
    # One level for the part, so that the comp is made of the very samples of its takes.
    level = PEAK / max(float(np.max(np.abs(sound))) for sound in played.values())
    for take, sound in played.items():
        comment = f"{place.song.title}, {place.part.name}, take {take.number}"
        path = HERE / f"{stem}_{take.number}.{ending}"
        write_file(path, sound * level, place, comment, begin_of(log, place, take, bars))
    if place.part.files:
        finished = join(place.part, played, bars, rate_hz)
        comment = f"{place.song.title}, {place.part.name}, finished"
        begun = begin_of(log, place, takes[0], bars)
        write_file(HERE / place.part.files[0].path, finished * level, place, comment, begun)


def main() -> None:
    """Write all files, and say how large they are."""
    log = read_log((HERE / "session.toml").read_text(encoding="utf-8"), folder=str(HERE))
    for place in places(log):
        ending = FORMATS.get((place.song.title, place.part.name))
        if ending:
            make_part(log, place, ending)
    files = [path for path in HERE.iterdir() if path.suffix in {".wav", ".flac", ".mp3", ".ogg"}]
    print(f"{len(files)} files, {sum(path.stat().st_size for path in files) / 1e6:.2f} MB")


if __name__ == "__main__":
    main()
