"""MIDI files against two independent readers: mido and pretty_midi (both MIT licensed)."""

from __future__ import annotations

import io
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import mido
import pretty_midi
import pytest

from logbook.arranging.arrange import ArrangedVersion, arrange
from logbook.arranging.clicks import click_track
from logbook.arranging.midi import midi_bytes
from logbook.arranging.midi_events import TICKS_A_QUARTER
from logbook.arranging.performance import perform
from logbook.notebook.read import read_log
from logbook.records import ArrangedSection, Arrangement, TempoChange
from tests.arranging.material import VERSION, arranged

SAMPLE = Path(__file__).parents[2] / "sample_session" / "session.toml"
LOG = read_log(SAMPLE.read_text(encoding="utf-8"), folder=str(SAMPLE.parent))


def sample(title: str, **fields: object) -> ArrangedVersion:
    song = next(each for each in LOG.songs if each.title == title)
    plan = replace(Arrangement(name="x"), **fields)
    return arrange(LOG, song, song.versions[0], plan)


RAMPED = replace(
    VERSION,
    tempos=(
        TempoChange(bar=1, bpm=132.6),
        TempoChange(bar=3, bpm=132.6, ramp_bpm=71.3, ramp_end="5.3"),
        TempoChange(bar=6, beat="5/2", bpm=97),
    ),
)
CASES = {
    "as recorded": lambda: sample("Low Tide Ledger"),
    "slower and lower": lambda: sample("Low Tide Ledger", key="G", bpm=61.7),
    "pick-up in 6/8": lambda: sample("Lantern on the Slip", bpm=57.3),
    "pick-up, no count-in": lambda: sample("Lantern on the Slip", count_in_bars=0),
    "tempo change": lambda: sample("Varnish", bpm=133.3),
    "partial capo": lambda: sample("Rowan Gate"),
    "recorded ramp": lambda: arranged(version=RAMPED),
    "steep ramp": lambda: arranged(
        sections=(
            ArrangedSection(name="intro", bpm=150, ramp=True),
            ArrangedSection(name="verse", bpm=55, ramp=True),
            ArrangedSection(name="chorus", bpm=118),
        )
    ),
}


def mido_seconds(data: bytes) -> dict[str, list[float]]:
    """When notes begin, by track, as mido adds the times up when it plays a file."""
    found: dict[str, list[float]] = {}
    file = mido.MidiFile(file=io.BytesIO(data))
    for track in file.tracks:
        alone = mido.MidiFile(type=1, ticks_per_beat=file.ticks_per_beat)
        alone.tracks = [file.tracks[0], track]
        now = 0.0
        for message in alone:
            now += message.time
            if message.type == "note_on" and message.velocity:
                found.setdefault(track.name, []).append(now)
    return found


@pytest.mark.parametrize("case", CASES)
def test_both_readers_give_the_times_of_the_tempo_map(case: str) -> None:
    found = CASES[case]()
    data = midi_bytes(found)
    track = click_track(found)
    by_mido = mido_seconds(data)
    pretty = pretty_midi.PrettyMIDI(io.BytesIO(data))
    (click,) = [each for each in pretty.instruments if each.name == "click"]
    by_pretty = sorted(note.start for note in click.notes)
    assert len(track.clicks) == len(by_mido["click"]) == len(by_pretty)
    for each, one, other in zip(track.clicks, by_mido["click"], by_pretty, strict=True):
        bar_time = max(each.wholes - track.lead_wholes, Fraction(0))
        speed = track.bars.tempo_at(track.bars.point_at(bar_time)).quarter_bpm
        tick = 60 / float(speed) / TICKS_A_QUARTER
        assert abs(one - float(each.seconds)) < tick
        assert abs(other - float(each.seconds)) < tick
        assert abs(one - other) < tick / 100
    assert abs(pretty.get_end_time() - float(track.end_seconds)) < 0.5


@pytest.mark.parametrize("case", CASES)
def test_both_readers_hear_the_notes_that_are_played(case: str) -> None:
    found = CASES[case]()
    data = midi_bytes(found)
    track = click_track(found)
    by_mido = mido_seconds(data)
    pretty = pretty_midi.PrettyMIDI(io.BytesIO(data))
    for part in found.version.parts:
        if not part.chart:
            continue
        end = track.end_wholes - track.lead_wholes
        notes = [n for n in perform(found.place(part), track.bars, end) if not n.muted]
        (heard,) = [each for each in pretty.instruments if each.name == part.name]
        strokes = sorted({float(track.seconds_at(note.start)) for note in notes})
        pitches = {pitch for note in notes for pitch in note.midi}
        assert {note.pitch for note in heard.notes} == pitches
        # Every stroke begins with a note on its time, to a tick.
        for starts in (sorted(by_mido[part.name]), sorted(note.start for note in heard.notes)):
            for seconds in strokes:
                assert min(abs(start - seconds) for start in starts) < 0.0012


def test_meters_and_keys_as_pretty_midi_reads_them() -> None:
    pretty = pretty_midi.PrettyMIDI(io.BytesIO(midi_bytes(sample("Varnish", key="F"))))
    (key,) = pretty.key_signature_changes
    assert pretty_midi.key_number_to_key_name(key.key_number) == "F Major"
    (meter,) = pretty.time_signature_changes
    assert (meter.numerator, meter.denominator) == (4, 4)
    times, tempos = pretty.get_tempo_changes()
    assert list(tempos) == pytest.approx([120, 104], abs=0.001)
    # One bar of count-in and six bars at 120.
    assert list(times) == pytest.approx([0, 14], abs=0.0005)


def test_beats_as_pretty_midi_counts_them() -> None:
    found = sample("Lantern on the Slip")
    pretty = pretty_midi.PrettyMIDI(io.BytesIO(midi_bytes(found)))
    downbeats = pretty.get_downbeats()
    bar = 2 * 60 / 63
    assert list(downbeats[:4]) == pytest.approx([0, bar, 2 * bar, 3 * bar], abs=0.001)
