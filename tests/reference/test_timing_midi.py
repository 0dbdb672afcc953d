"""Musical time to seconds against two general-purpose MIDI libraries, mido and pretty_midi.

Both turn ticks to seconds through the tempo events of a file; we hand them maps with tempo and
meter changes and a pick-up and compare with our exact seconds.
"""

from __future__ import annotations

import io
from fractions import Fraction

import pytest

from logbook.timing.bars import BarPoint
from logbook.timing.map_text import read_tempo_map
from logbook.timing.tempo_map import TempoMap

mido = pytest.importorskip("mido")

TICKS_A_QUARTER = 960
MAPS = [
    (["4/4"], ["q=120"], ""),
    (["4/4", "9 3/4"], ["q=96", "5.3 q=150", "12 q=75"], "1 q"),
    (["6/8", "17 9/8"], ["q.=50", "8 q.=80"], "3 e"),
    (["7/8"], ["e=200", "6 q=125"], ""),
]


def _ticks(wholes: Fraction) -> int:
    ticks = wholes * 4 * TICKS_A_QUARTER
    assert ticks.denominator == 1
    return int(ticks)


def _tempo_file(tempo_map: TempoMap) -> bytes:
    """A MIDI file with the map's tempo events and a note at every bar line up to bar 24."""
    events = []
    for index, change in enumerate(tempo_map.tempos):
        at = 0 if index == 0 else _ticks(tempo_map.wholes_at(change.start))
        microseconds = change.tempo.midi_microseconds_a_quarter
        # The maps above have tempos whose microseconds are whole, so nothing is lost by rounding.
        assert microseconds * change.tempo.quarter_bpm == 60_000_000
        events.append((at, 0, mido.MetaMessage("set_tempo", tempo=microseconds)))
    for bar in range(tempo_map.first_bar, 25):
        at = _ticks(tempo_map.bar_start(bar))
        events.append((at, 2, mido.Message("note_on", note=60, velocity=64)))
        events.append((at + 10, 1, mido.Message("note_off", note=60)))
    track = mido.MidiTrack()
    now = 0
    for at, _, message in sorted(events, key=lambda event: event[:2]):
        track.append(message.copy(time=at - now))
        now = at
    out = io.BytesIO()
    mido.MidiFile(type=0, ticks_per_beat=TICKS_A_QUARTER, tracks=[track]).save(file=out)
    return out.getvalue()


@pytest.mark.parametrize(("meters", "tempos", "pickup"), MAPS)
def test_bar_lines_fall_where_mido_hears_them(
    meters: list[str], tempos: list[str], pickup: str
) -> None:
    tempo_map = read_tempo_map(meters, tempos, pickup)
    file = mido.MidiFile(file=io.BytesIO(_tempo_file(tempo_map)))
    now, heard = 0.0, []
    for message in file:
        now += message.time
        if message.type == "note_on":
            heard.append(now)
    ours = [float(tempo_map.seconds_at(BarPoint(bar))) for bar in range(tempo_map.first_bar, 25)]
    assert heard == pytest.approx(ours, abs=1e-9)


@pytest.mark.parametrize(("meters", "tempos", "pickup"), MAPS)
def test_bar_lines_fall_where_pretty_midi_hears_them(
    meters: list[str], tempos: list[str], pickup: str
) -> None:
    pretty_midi = pytest.importorskip("pretty_midi")
    tempo_map = read_tempo_map(meters, tempos, pickup)
    file = pretty_midi.PrettyMIDI(io.BytesIO(_tempo_file(tempo_map)))
    heard = sorted(note.start for instrument in file.instruments for note in instrument.notes)
    ours = [float(tempo_map.seconds_at(BarPoint(bar))) for bar in range(tempo_map.first_bar, 25)]
    assert heard == pytest.approx(ours, abs=1e-9)


@pytest.mark.parametrize("tempo", ["60", "75", "96", "120", "125", "150"])
def test_ticks_last_as_long_as_mido_says(tempo: str) -> None:
    tempo_map = read_tempo_map("4/4", tempo)
    microseconds = tempo_map.tempos[0].tempo.midi_microseconds_a_quarter
    for ticks in (1, 480, 960, 12345):
        ours = tempo_map.seconds_at_wholes(Fraction(ticks, 4 * TICKS_A_QUARTER))
        assert float(ours) == pytest.approx(
            mido.tick2second(ticks, TICKS_A_QUARTER, microseconds), rel=1e-12
        )
