"""What was played free, told as beats, bars and a tempo map (see beats and gliding)."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from logbook.listening.beats import Beats, track_beats
from logbook.listening.decoding import DecodedSound, decode
from logbook.listening.gliding import HeardMap, lay_map
from logbook.timing.bars import BarPoint
from logbook.timing.meter import Meter, parse_meter


@dataclass(frozen=True, kw_only=True, slots=True)
class HeardBar:
    """A bar: where it begins in the file, seconds, and its tempo there in the map's beats."""

    bar: int
    starts_s: float
    bpm: float


@dataclass(frozen=True, kw_only=True, slots=True)
class FreeTempo:
    """A recording's beats, the map laid through them, and its bars."""

    meter: Meter
    beats: Beats
    laid: HeardMap
    bars: tuple[HeardBar, ...]

    @property
    def bar_one_s(self) -> float:
        """Seconds in the file at which bar 1 begins."""
        return self.laid.start_s + float(self.laid.tempo_map.seconds_at(BarPoint(1)))

    @property
    def pickup_beats(self) -> str:
        """The pick-up in the meter's written beats, as a session file has it; "" for none."""
        count = self.laid.tempo_map.pickup / self.meter.beat_length
        return str(count) if count else ""

    @property
    def slowest_bpm(self) -> float:
        """The slowest tempo at a bar's beginning."""
        return min(bar.bpm for bar in self.bars)

    @property
    def fastest_bpm(self) -> float:
        """The fastest tempo at a bar's beginning."""
        return max(bar.bpm for bar in self.bars)


def hear_tempo(
    source: Path | DecodedSound, *, about_bpm: float | None = None, meter: Meter | None = None
) -> FreeTempo:
    """Hear beats and bars and lay a map through them.

    about_bpm: the tempo that is about meant. meter: None takes 4/4 or 3/4, whichever fits better.
    Raises ListeningError where no beat is heard, or the file cannot be decoded.
    """
    sound = source if isinstance(source, DecodedSound) else decode(source)
    a_bar = None if meter is None else max(1, int(meter.bar_length / meter.felt_beat_length))
    thirds = meter is not None and meter.felt_beat_length.numerator == 3
    beats = track_beats(
        sound.samples, sound.rate, about_bpm=about_bpm, beats_a_bar=a_bar, thirds=thirds
    )
    meter = meter or parse_meter(f"{beats.beats_a_bar}/4")
    laid = lay_map(beats.times, beats.downbeat, meter, beats.eased)
    bars = []
    last = laid.points[-1].bar
    for bar in range(laid.tempo_map.first_bar, last + 1):
        begins = laid.start_s + float(laid.tempo_map.seconds_at(BarPoint(bar)))
        bpm = float(laid.tempo_map.tempo_at(BarPoint(bar)).bpm)
        bars.append(HeardBar(bar=bar, starts_s=begins, bpm=bpm))
    return FreeTempo(meter=meter, beats=beats, laid=laid, bars=tuple(bars))
