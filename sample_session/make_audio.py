"""Make the sample session's audio from its own session file: what is heard is what is logged.

Every take is played from the part's voicings, chart and patterns by plucked-string synthesis (a
delay line with a lossy loop, after Karplus and Strong, 1983), with a timing, touch and strum of
its own; a finished part is joined from its takes as the comp says. The files are named by the
session's own pattern. Run it in a checkout, with the extra `listen` installed:

    python sample_session/make_audio.py
"""

from __future__ import annotations

import struct
from datetime import datetime, timedelta
from fractions import Fraction
from pathlib import Path

import mutagen
import numpy as np
import soundfile

from logbook.editing.takes import take_of
from logbook.notebook.read import read_log
from logbook.playing.parts import PEAK, TAIL_S, play_take
from logbook.playing.plucked import Samples
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
from logbook.timing.bars import BarPoint, parse_range
from logbook.timing.tempo_map import TempoMap

HERE = Path(__file__).parent
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
