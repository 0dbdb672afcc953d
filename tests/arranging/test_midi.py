from __future__ import annotations

import io
from dataclasses import replace
from fractions import Fraction

import mido
import pytest

from logbook.arranging.clicks import click_track
from logbook.arranging.midi import _velocity, midi_bytes, midi_file
from logbook.arranging.midi_conductor import tempo_events
from logbook.arranging.midi_events import TICKS_A_QUARTER
from logbook.arranging.performance import Note
from logbook.errors import LogbookError
from logbook.records import (
    ArrangedPart,
    ArrangedSection,
    ChartEntry,
    MeterChange,
    Pattern,
    TempoChange,
    Voicing,
)
from tests.arranging.material import BARS, GUITAR_PART, VERSION, arranged

BAR = 4 * TICKS_A_QUARTER


def timed(track: mido.MidiTrack) -> list[tuple[int, mido.Message]]:
    """Messages with their tick from the start."""
    now, found = 0, []
    for message in track:
        now += message.time
        found.append((now, message))
    return found


def track_of(file: mido.MidiFile, name: str) -> list[tuple[int, mido.Message]]:
    (track,) = [track for track in file.tracks if track.name == name]
    return timed(track)


def onsets(file: mido.MidiFile, name: str) -> list[tuple[int, int, int]]:
    """Tick, note and velocity of every note that begins."""
    return [
        (tick, message.note, message.velocity)
        for tick, message in track_of(file, name)
        if message.type == "note_on" and message.velocity
    ]


def test_the_conductor_says_tempo_meter_key_and_sections() -> None:
    file = midi_file(arranged(key="C", bpm=100, sections=(
        ArrangedSection(name="intro"),
        ArrangedSection(name="chorus", times=2),
        ArrangedSection(name="verse", vamp=True),
    )))  # fmt: skip
    assert (file.type, file.ticks_per_beat) == (1, TICKS_A_QUARTER)
    events = timed(file.tracks[0])
    assert [(t, m.tempo) for t, m in events if m.type == "set_tempo"] == [(0, 600_000)]
    (meter,) = [m for _, m in events if m.type == "time_signature"]
    assert (meter.numerator, meter.denominator, meter.clocks_per_click) == (4, 4, 24)
    assert [m.key for _, m in events if m.type == "key_signature"] == ["C"]
    assert [(t, m.text) for t, m in events if m.type == "marker"] == [
        (0, "count-in"),
        (BAR, "intro"),
        (3 * BAR, "chorus (1 of 2)"),
        (7 * BAR, "chorus (2 of 2)"),
        (11 * BAR, "verse (vamp)"),
    ]
    assert {timed(track)[-1][0] for track in file.tracks} == {13 * BAR}


def test_the_click_falls_on_beats_with_an_accent_on_one() -> None:
    clicks = onsets(midi_file(arranged(count_in_bars=1)), "click")
    assert [tick for tick, _, _ in clicks] == [n * TICKS_A_QUARTER for n in range(36)]
    assert [note for _, note, _ in clicks[:5]] == [76, 77, 77, 77, 76]
    assert clicks[0][2] > clicks[1][2]
    assert not any(track.name == "click" for track in midi_file(arranged(), click=False).tracks)


def test_notes_sound_where_and_as_high_as_they_are_fingered() -> None:
    file = midi_file(arranged(count_in_bars=0, key="E"))
    bass = onsets(file, "bass")
    # E at A-string fret 7, C# at 4, A at E-string 5, B at 7; bars 1, 3, 5, 6.
    assert [(tick, note) for tick, note, _ in bass] == [
        (0, 40), (2 * BAR, 37), (4 * BAR, 33), (5 * BAR, 35),
    ]  # fmt: skip
    guitar = onsets(file, "guitar")
    # x32010 above a capo at 4: C E G C E four semitones up.
    assert [note for tick, note, _ in guitar if tick < TICKS_A_QUARTER] == [52, 56, 59, 64, 68]


def test_a_strum_meets_the_strings_in_stroke_order() -> None:
    file = midi_file(arranged(count_in_bars=0))
    guitar = onsets(file, "guitar")
    down = [(t, n) for t, n, _ in guitar if t < TICKS_A_QUARTER]
    up = [(t, n) for t, n, _ in guitar if TICKS_A_QUARTER * 1.5 <= t < TICKS_A_QUARTER * 2]
    assert [note for _, note in down] == sorted(note for _, note in down)
    assert [note for _, note in up] == sorted((note for _, note in up), reverse=True)
    # 8 ms at 120 is 15.36 ticks.
    assert [tick for tick, _ in down] == [0, 15, 31, 46, 61]


def test_strums_close_together_are_quicker() -> None:
    fast = Pattern(label="strum", grid="1/64", line="DU" * 32)
    version = replace(VERSION, parts=(replace(GUITAR_PART, patterns=(fast, BARS)),))
    file = midi_file(arranged(version=version, count_in_bars=0, bpm=240))
    guitar = onsets(file, "guitar")
    # A sixty-fourth is 60 ticks: the last string of a stroke comes within half of that.
    assert max(tick % 60 for tick, _, _ in guitar if tick < BAR) <= 30


def test_muted_hits_are_written_as_such() -> None:
    file = midi_file(arranged(count_in_bars=0))
    muted = track_of(file, "guitar, muted")
    notes = [(t, m) for t, m in muted if m.type == "note_on" and m.velocity]
    # Bars 7 and 8 are >D d x D: a damped strum of six strings, then a hit of no pitch.
    second, third = 6 * BAR + TICKS_A_QUARTER, 6 * BAR + 2 * TICKS_A_QUARTER
    damped = [m.note for t, m in notes if second <= t < third]
    assert damped == [40, 45, 50, 55, 59, 64]  # open strings, the capo is stopped too
    hits = [(t, m.note, m.channel) for t, m in notes if third <= t < third + 100]
    assert hits == [(third, 37, 9)]
    off = [t for t, m in muted if m.type == "note_off" and second <= t < third]
    assert max(off) - second < TICKS_A_QUARTER / 2
    # And the strings that sounded stop with the damped strum.
    ends = [t for t, m in track_of(file, "guitar") if m.type == "note_off" and t > 6 * BAR]
    assert min(ends) == second


def test_accents_are_louder() -> None:
    guitar = onsets(midi_file(arranged(count_in_bars=0)), "guitar")
    accented = {v for t, _, v in guitar if 6 * BAR <= t < 6 * BAR + 200}
    plain = {v for t, _, v in guitar if t < BAR}
    assert min(accented) > max(plain)


def test_every_note_ends_and_none_overlaps_itself() -> None:
    file = midi_file(arranged(sections=(ArrangedSection(name="chorus", times=3),)))
    for track in file.tracks:
        on: set[tuple[int, int]] = set()
        for _, message in timed(track):
            if message.type not in ("note_on", "note_off"):
                continue
            where = (message.channel, message.note)
            if message.type == "note_on":
                assert where not in on
                on.add(where)
            else:
                on.remove(where)
        assert not on


def test_courses_sound_all_their_strings() -> None:
    part = replace(
        GUITAR_PART,
        tuning="twelve-string",
        capo="",
        voicings=(Voicing(label="D", frets="0 0 0 0 0 0"),),
        chart=(ChartEntry(bar=1, voicing="D"),),
    )
    file = midi_file(arranged(version=replace(VERSION, parts=(part,)), count_in_bars=0))
    notes = sorted(note for _, note, _ in onsets(file, "guitar"))
    assert notes == [40, 45, 50, 52, 55, 57, 59, 62, 64, 67]  # unisons are one note


def test_parts_can_be_chosen_and_left_out_ones_are_silent() -> None:
    found = arranged(parts=(ArrangedPart(part="bass", left_out=True),))
    assert [track.name for track in midi_file(found).tracks] == [
        "Low Water, album, pub", "click", "guitar", "guitar, muted",
    ]  # fmt: skip
    assert "guitar" not in [t.name for t in midi_file(arranged(), parts=["bass"]).tracks]
    with pytest.raises(
        LogbookError, match=r'"voice" has no melody, and no chart .* parts that do: guitar, bass'
    ):
        midi_file(arranged(), parts=["voice"])


def test_a_ramp_has_an_event_for_every_sixty_fourth() -> None:
    found = arranged(
        count_in_bars=0,
        sections=(
            ArrangedSection(name="intro", ramp=True),
            ArrangedSection(name="chorus", bpm=60),
        ),
    )
    track = click_track(found)
    events = tempo_events(track)
    inside = [each for each in events if each[0] < 2]
    assert len(inside) == 128
    assert [tempo for _, tempo in events] == sorted(tempo for _, tempo in events)
    # The last step before 60 is just short of a second a quarter.
    assert 990_000 < inside[-1][1] < 1_000_000
    assert 999_000 < events[-1][1] < 1_001_000


def seconds_of_ticks(file: mido.MidiFile, ticks: list[int]) -> list[float]:
    """Times of ticks by the file's tempo events, worked out here."""
    changes = [(t, m.tempo) for t, m in timed(file.tracks[0]) if m.type == "set_tempo"]
    found = []
    for tick in ticks:
        total, at, tempo = 0.0, 0, 500_000
        for start, new in changes:
            if start >= tick:
                break
            total += (start - at) * tempo / 1e6 / file.ticks_per_beat
            at, tempo = start, new
        found.append(total + (tick - at) * tempo / 1e6 / file.ticks_per_beat)
    return found


@pytest.mark.parametrize("bpm", [61.7, 97, 112, 133.3])
def test_errors_of_tempo_do_not_add_up(bpm: float) -> None:
    found = arranged(
        bpm=bpm, count_in_bars=1, sections=(ArrangedSection(name="chorus", times=250),)
    )
    file = midi_file(found, parts=["bass"])
    track = click_track(found)
    ticks = [tick for tick, _, _ in onsets(file, "click")]
    tick_seconds = 60 / bpm / TICKS_A_QUARTER
    for click, seconds in zip(track.clicks, seconds_of_ticks(file, ticks), strict=True):
        assert abs(float(click.seconds) - seconds) < tick_seconds


def test_a_pick_up_before_and_without_a_count_in() -> None:
    version = replace(
        VERSION,
        meters=(MeterChange(bar=1, meter="6/8"),),
        tempos=(TempoChange(bar=1, bpm=60),),
        pickup_beats="2",
        parts=(),
    )
    counted = midi_file(arranged(version=version, count_in_bars=1))
    marks = [(t, m.text) for t, m in timed(counted.tracks[0]) if m.type == "marker"]
    eighth = TICKS_A_QUARTER // 2
    assert marks[:2] == [(0, "count-in"), (6 * eighth, "intro")]
    assert [tick for tick, _, _ in onsets(counted, "click")][:3] == [0, 3 * eighth, 6 * eighth]
    bare = midi_file(arranged(version=version, count_in_bars=0))
    meters = [
        (t, m.numerator, m.denominator)
        for t, m in timed(bare.tracks[0])
        if m.type == "time_signature"
    ]
    assert meters == [(0, 2, 8), (2 * eighth, 6, 8)]
    assert [tick for tick, _, _ in onsets(bare, "click")][:2] == [2 * eighth, 5 * eighth]


def test_meters_are_carried_along() -> None:
    version = replace(
        VERSION,
        meters=(MeterChange(bar=1, meter="4/4"), MeterChange(bar=5, meter="3/4")),
        parts=(),
    )
    file = midi_file(arranged(version=version, count_in_bars=1))
    meters = [
        (t, m.numerator, m.denominator)
        for t, m in timed(file.tracks[0])
        if m.type == "time_signature"
    ]
    assert meters == [(0, 4, 4), (5 * BAR, 3, 4)]


def test_a_tempo_slower_than_midi_can_say() -> None:
    with pytest.raises(LogbookError, match=r"cannot hold a tempo of 3.0 quarters a minute"):
        midi_bytes(arranged(bpm=3))


def test_any_name_can_be_written() -> None:
    found = arranged(sections=(ArrangedSection(name="Brücke 橋", bars=1),))
    file = mido.MidiFile(file=io.BytesIO(midi_bytes(found)), charset="utf-8")
    assert any(getattr(m, "text", "") == "Brücke 橋" for m in file.tracks[0])


def test_the_same_arrangement_is_the_same_file() -> None:
    assert midi_bytes(arranged()) == midi_bytes(arranged())


def test_swing_is_kept_to_the_tick() -> None:
    swung = Pattern(label="strum", grid="1/8", line="DDDD DDDD", feel="swing")
    version = replace(VERSION, parts=(replace(GUITAR_PART, patterns=(swung, BARS)),))
    ticks = sorted({t for t, n, _ in onsets(midi_file(arranged(version=version, count_in_bars=0)),
                                            "guitar") if n == 50})  # fmt: skip
    assert ticks[:3] == [0, Fraction(2, 3) * TICKS_A_QUARTER, TICKS_A_QUARTER]


def test_chord_names_are_text_and_sections_markers_with_their_moves() -> None:
    sections = (
        ArrangedSection(name="verse", source="verse"),
        ArrangedSection(name="chorus", source="chorus", moves="up 2, ring"),
    )
    file = midi_file(arranged(sections=sections), count_in_bars=0, click=False)
    conductor, guitar = file.tracks[0], next(t for t in file.tracks if t.name == "guitar")
    markers = [m.text for m in conductor if m.type == "marker"]
    assert markers == ["verse", "chorus; up a tone; let the last chord ring"]
    assert [m.key for m in conductor if m.type == "key_signature"] == ["D", "E"]
    assert [m.text for m in guitar if m.type == "text"] == ["Bm", "A", "B", "A", "B"]
    # The last chord rings a bar beyond the form of six bars.
    assert sum(m.time for m in guitar) == 7 * 4 * 960


def test_an_ending_is_cut_off_or_fades() -> None:
    def velocities(moves: str) -> list[int]:
        sections = (ArrangedSection(name="chorus", source="chorus", moves=moves),)
        file = midi_file(arranged(sections=sections), count_in_bars=0, click=False, parts=["bass"])
        track = next(t for t in file.tracks if t.name == "bass")
        return [m.velocity for m in track if m.type == "note_on" and m.velocity]

    plain, fading = velocities(""), velocities("fade 4 bars")
    assert len(plain) == len(fading)
    assert fading[0] == plain[0]
    assert fading == sorted(fading, reverse=True)
    assert fading[-1] < plain[-1]


def test_softness_is_heard_and_slaps_are_as_loud_as_accents() -> None:
    usual = Note(Fraction(0), Fraction(1), (60,), 1, 0)
    loud = [
        _velocity(usual._replace(soft=soft, accent=accent, stroke=stroke), 110, 84)
        for soft, accent, stroke in (
            (2, False, "D"), (1, False, "D"), (0, False, "h"), (0, False, "D"), (0, False, "T"),
            (0, True, "D"),
        )
    ]  # fmt: skip
    assert loud == sorted(loud)
    assert loud[0] < loud[1] < loud[2] < loud[3] < loud[4] == loud[5]
