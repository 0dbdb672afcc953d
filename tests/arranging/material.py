"""An invented song for the arranging room's tests, in records, small enough to count on fingers."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from logbook.arranging.arrange import ArrangedVersion, arrange
from logbook.records import (
    Arrangement,
    ChartEntry,
    FormSection,
    Instrument,
    Log,
    MeterChange,
    Part,
    Pattern,
    Person,
    Song,
    TechniqueNote,
    TempoChange,
    Version,
    Voicing,
)

GUITAR = Instrument(
    name="willow guitar", kind="guitar", scale_mm=640.0, frets=20, tuning="standard"
)
BASS = Instrument(name="oak bass", kind="bass", scale_mm=864.0, frets=20, tuning="bass")
VOICE = Instrument(name="voice", kind="voice")

STRUM = Pattern(label="strum", grid="1/8", line="D.DU .UDU")
BARS = Pattern(label="bars", grid="1/4", line=">D d x D")

GUITAR_PART = Part(
    name="guitar",
    player="Orla",
    instrument="willow guitar",
    capo="2",
    counted="capo",
    shape_key="C",
    voicings=(
        Voicing(label="D", frets="x 3 2 0 1 0", fingers="- 3 2 - 1 -", ornaments="hammer-on 4 0-2"),
        Voicing(label="Bm", frets="x 0 2 2 1 0"),
        Voicing(label="G", frets="1 3 3 2 1 1"),
        Voicing(label="A", frets="3 2 0 0 0 3"),
    ),
    patterns=(STRUM, BARS),
    chart=(
        ChartEntry(bar=1, voicing="D", pattern="strum"),
        ChartEntry(bar=3, voicing="Bm"),
        ChartEntry(bar=5, voicing="G"),
        ChartEntry(bar=6, voicing="A"),
        ChartEntry(bar=7, voicing="G", pattern="bars"),
        ChartEntry(bar=7, beat="3", voicing="A"),
    ),
    technique_notes=(TechniqueNote(text="palm", bars="3-5"), TechniqueNote(text="loose")),
)

BASS_PART = Part(
    name="bass",
    player="Piet",
    instrument="oak bass",
    voicings=(
        Voicing(label="D", frets="x 5 x x"),
        Voicing(label="G", frets="3 x x x"),
        Voicing(label="A", frets="5 x x x"),
        Voicing(label="B", frets="x 2 x x"),
    ),
    chart=(
        ChartEntry(bar=1, voicing="D"),
        ChartEntry(bar=3, voicing="B"),
        ChartEntry(bar=5, voicing="G"),
        ChartEntry(bar=6, voicing="A"),
    ),
)

VOICE_PART = Part(name="voice", player="Orla", instrument="voice")

VERSION = Version(
    name="album",
    key="D",
    sample_rate_hz=44_100,
    melody_low="A3",
    melody_high="B4",
    meters=(MeterChange(bar=1, meter="4/4"),),
    tempos=(TempoChange(bar=1, bpm=120),),
    form=(
        FormSection(name="intro", start=1, bars=2),
        FormSection(name="verse", start=3, bars=2),
        FormSection(name="chorus", start=5, bars=4),
    ),
    parts=(GUITAR_PART, BASS_PART, VOICE_PART),
)


def arranged(
    arrangement: Arrangement | None = None, version: Version = VERSION, **fields: Any
) -> ArrangedVersion:
    """Work an arrangement of the song out; `fields` are its own."""
    plan = replace(arrangement or Arrangement(name="pub"), **fields)
    log, song = log_of(version)
    return arrange(log, song, version, plan)


def log_of(version: Version = VERSION) -> tuple[Log, Song]:
    """A log with the song in this version."""
    song = Song(title="Low Water", versions=(version,))
    return (
        Log(
            people=(Person(name="Orla", low="G3", high="C5"), Person(name="Piet")),
            instruments=(GUITAR, BASS, VOICE),
            songs=(song,),
        ),
        song,
    )
