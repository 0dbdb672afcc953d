"""An arrangement as a Standard MIDI File: tempo map, meters, markers, count-in, click, parts.

Conventions
-----------
Format 1, 960 ticks a quarter: one track for tempo, meter, key and section markers, one for the
click, one for each part whose frets, notes or melody are said, and one beside it for what it hits
muted.

* Tempo: MIDI keeps whole microseconds a quarter. Each tempo event is chosen so that the time at
  the next one is right again, so errors do not add up; a ramp has an event for every
  sixty-fourth note, and a long stretch at one tempo one for every 512 quarters.
* Notes sound at concert pitch, for every string of a course. The strings of a strum follow each
  other in stroke order, 8 ms apart or less where the next stroke comes soon.
* A section in another key has a key signature of its own. Chord names are text events in each
  part's track; section names are markers with what the road map prints beside them.
* An ending: where the last chord rings, it goes on for a bar after the form; stopped dead, it ends
  with the beat it is struck on; a fade lowers velocities evenly to a tenth.
* A drum part plays on the percussion channel, with the notes of its key map.
* Soft strokes have seven tenths of the usual velocity, ghosts four; a thumb slap and a pop that of
  an accent; a hammer-on, pull-off or slide eight tenths (common sense, no source).
* A muted strum is short soft notes at the open pitches, a muted hit a stick on the percussion
  channel; the click is two wood blocks there. A pick-up without count-in has a short bar.

Source: Standard MIDI File 1.0 and General MIDI (MIDI Association); percussion numbers from
memory.
"""

from __future__ import annotations

import io
from collections.abc import Collection, Iterable, Iterator
from fractions import Fraction
from itertools import pairwise
from typing import TYPE_CHECKING, Any, NamedTuple

from logbook.arranging.arrange import ArrangedVersion
from logbook.arranging.clicks import ClickTrack, click_track
from logbook.arranging.drumming import drum_notes
from logbook.arranging.melodies import melody_notes
from logbook.arranging.midi_conductor import conductor
from logbook.arranging.midi_events import META, OFF, ON, TICKS_A_QUARTER, Event, to_ticks
from logbook.arranging.midi_programs import BASS, program_of
from logbook.arranging.moves import PLAIN
from logbook.arranging.parts import PartPlan
from logbook.arranging.performance import Note, perform
from logbook.arranging.pitched import has_notes
from logbook.errors import LogbookError
from logbook.records.kits import plays_kit
from logbook.strings.picking_cells import LEGATO
from logbook.timing.bars import BarPoint

if TYPE_CHECKING:
    import mido

STRUM_SECONDS = Fraction(8, 1000)
MUTED_SECONDS = Fraction(30, 1000)
_PERCUSSION = 9
_ACCENT_BLOCK, _BLOCK, _STICK = 76, 77, 37
_MUTED_GUITAR = 28
_CHANNELS = [channel for channel in range(16) if channel != _PERCUSSION]


def midi_bytes(
    arranged: ArrangedVersion,
    *,
    count_in_bars: int | None = None,
    parts: Collection[str] | None = None,
    click: bool = True,
) -> bytes:
    """Return the arrangement as the bytes of a Standard MIDI File; see `midi_file`."""
    written = io.BytesIO()
    midi_file(arranged, count_in_bars=count_in_bars, parts=parts, click=click).save(file=written)
    return written.getvalue()


def midi_file(
    arranged: ArrangedVersion,
    *,
    count_in_bars: int | None = None,
    parts: Collection[str] | None = None,
    click: bool = True,
) -> mido.MidiFile:
    """Return the arrangement as a MIDI file: all parts whose notes are said, or these `parts`.

    Raises LogbookError where no tempo is known, a tempo is slower than MIDI can say (about 3.6
    quarters a minute), a part is not there, or something in it cannot be read.
    """
    import mido

    track = click_track(arranged, count_in_bars)
    end = to_ticks(track.end_wholes)
    file = mido.MidiFile(type=1, ticks_per_beat=TICKS_A_QUARTER, charset="utf-8")
    file.tracks.append(_track(arranged.title, conductor(arranged, track), end))
    if click:
        file.tracks.append(_track("click", _clicks(track), end))
    free = 0
    for plan in _wanted(arranged, parts):
        assert plan.part is not None
        notes = _spread(_performed(arranged, plan, track), track)
        notes = [*_ended(notes, arranged, track)]
        if plan.part is not None and plays_kit(plan.part):
            file.tracks.append(_track(plan.name, _sounding(notes, _PERCUSSION, 0), end))
            continue
        channel, muted_channel = (_CHANNELS[(free + n) % len(_CHANNELS)] for n in (0, 1))
        program = program_of(arranged.log, plan)
        sounding = _sounding(notes, channel, program)
        names = _chord_names(arranged, plan, track)
        file.tracks.append(_track(plan.name, [*sounding, *names], end))
        muted = [each for each in notes if each.note.muted]
        if muted:
            dead = _MUTED_GUITAR if program != BASS else program
            file.tracks.append(
                _track(f"{plan.name}, muted", _muted(muted, muted_channel, dead, track), end)
            )
        free += 2 if muted else 1
    return file


def _performed(arranged: ArrangedVersion, plan: PartPlan, track: ClickTrack) -> tuple[Note, ...]:
    """What a part plays: its chart, and its melody over it."""
    assert plan.part is not None
    place, end = arranged.place(plan.part), track.end_wholes - track.lead_wholes
    if plays_kit(plan.part):
        return drum_notes(place, track.bars, end)
    notes = perform(place, track.bars, end) if _has_chart(plan) else ()
    both = (*notes, *melody_notes(place, track.bars, end))
    return tuple(sorted(both, key=lambda note: note.start))


def _has_chart(plan: PartPlan) -> bool:
    return plan.part is not None and bool(plan.part.chart and (plan.after or has_notes(plan.part)))


def _chord_names(arranged: ArrangedVersion, plan: PartPlan, track: ClickTrack) -> Iterator[Event]:
    """The name of each chord, as it sounds, where it begins."""
    import mido

    assert plan.part is not None
    names = {each.label: each.name or each.label for each in plan.part.voicings}
    for entry in plan.part.chart:
        at = track.bars.wholes_at(BarPoint(entry.bar, Fraction(entry.beat)))
        text = names.get(entry.voicing, entry.voicing) or "N.C."
        tick = to_ticks(track.lead_wholes + at)
        yield Event(tick, META, mido.MetaMessage("text", text=text))


class _Level(NamedTuple):
    """A fade: from where to where, in ticks; notes grow softer evenly in between."""

    start: int
    end: int

    def of(self, tick: int) -> float:
        """What is left of a velocity at a tick: 1 before the fade, a tenth at its end."""
        if tick <= self.start:
            return 1.0
        return max(1.0 - 0.9 * (tick - self.start) / max(self.end - self.start, 1), 0.1)


def _ended(
    notes: list[_PlacedNote], arranged: ArrangedVersion, track: ClickTrack
) -> list[_PlacedNote]:
    """The notes as the ending of the last section has them."""
    passages = arranged.form.passages
    moves = passages[-1].moves if passages else PLAIN
    end = to_ticks(track.end_wholes)
    last = track.bars.bar_start(passages[-1].end) if passages else Fraction(0)
    if moves.ending == "ring":
        tail = end + to_ticks(track.bars.bar_length(passages[-1].end - 1))
        return [each._replace(end=tail) if each.end >= end else each for each in notes]
    if moves.ending == "stop":
        beat = to_ticks(track.bars.meter_at(passages[-1].end - 1).felt_beat_length)
        return [
            each._replace(end=min(each.end, each.start + beat)) if each.end >= end else each
            for each in notes
        ]
    if moves.ending == "fade":
        first = max(passages[-1].end - moves.fade_bars, track.bars.first_bar)
        begin = to_ticks(track.lead_wholes + track.bars.bar_start(first))
        level = _Level(begin, to_ticks(track.lead_wholes + last))
        return [each._replace(level=level.of(each.start)) for each in notes]
    return notes


def _wanted(arranged: ArrangedVersion, parts: Collection[str] | None) -> list[PartPlan]:
    played = [plan for plan in arranged.parts if plan.part is not None]
    fingered = [
        plan
        for plan in played
        if plan.part and (_has_chart(plan) or plan.part.melody or plays_kit(plan.part))
    ]
    if parts is None:
        return fingered
    for name in parts:
        if name not in {plan.name for plan in fingered}:
            names = ", ".join(plan.name for plan in fingered) or "none has"
            raise LogbookError(
                f'"{name}" has no melody, and no chart of chords with frets or notes, to be heard',
                f"parts that do: {names}",
            )
    return [plan for plan in fingered if plan.name in parts]


def _track(name: str, events: Iterable[Event], end: int) -> Any:
    import mido

    track = mido.MidiTrack()
    track.append(mido.MetaMessage("track_name", name=name, time=0))
    now = 0
    for event in sorted(events, key=lambda each: (each.tick, each.rank)):
        event.message.time = event.tick - now
        track.append(event.message)
        now = event.tick
    track.append(mido.MetaMessage("end_of_track", time=max(end - now, 0)))
    return track


# Tempo, meter, key, markers


# Click and notes


def _clicks(track: ClickTrack) -> Iterator[Event]:
    for each in track.clicks:
        note = _ACCENT_BLOCK if each.accent else _BLOCK
        start = to_ticks(each.wholes)
        yield from _note(start, start + TICKS_A_QUARTER // 16, note, 100 if each.accent else 72, 9)


def _note(start: int, end: int, note: int, velocity: int, channel: int) -> Iterator[Event]:
    import mido

    on = mido.Message("note_on", channel=channel, note=note, velocity=velocity)
    yield Event(start, ON, on)
    off = mido.Message("note_off", channel=channel, note=note, velocity=0)
    yield Event(max(end, start + 1), OFF, off)


class _PlacedNote(NamedTuple):
    """A note with the tick it starts at, strummed, and the tick it ends at."""

    start: int
    end: int
    note: Note
    level: float = 1.0


def _spread(notes: tuple[Note, ...], track: ClickTrack) -> list[_PlacedNote]:
    """Set the strings of each strum after each other, well before the next stroke."""
    starts = sorted({note.start for note in notes})
    following = dict(pairwise(starts))
    most: dict[Fraction, int] = {}
    for note in notes:
        most[note.start] = max(most.get(note.start, 0), note.order)
    placed = []
    for note in notes:
        at = note.start
        if note.order and note.stroke in "DUduR":
            now = track.bars.seconds_at_wholes(at)
            step = STRUM_SECONDS
            if at in following:
                gap = track.bars.seconds_at_wholes(following[at]) - now
                step = min(step, gap / (2 * most[at]))
            at = track.bars.wholes_at_seconds(now + step * note.order)
        placed.append(
            _PlacedNote(
                to_ticks(track.lead_wholes + at), to_ticks(track.lead_wholes + note.end), note
            )
        )
    return placed


def _velocity(note: Note, accented: int, usual: int) -> int:
    """How hard a note is struck: soft strokes, ghosts and what is not struck at all are softer."""
    if note.soft:
        return usual * (7, 4)[note.soft - 1] // 10
    velocity = accented if note.accent or note.stroke in "TO" else usual
    return velocity * 8 // 10 if note.stroke in LEGATO else velocity


def _sounding(notes: list[_PlacedNote], channel: int, program: int) -> Iterator[Event]:
    """Notes at their pitches; one that is struck while it sounds begins anew."""
    import mido

    yield Event(0, META, mido.Message("program_change", channel=channel, program=program))
    by_pitch: dict[int, list[tuple[int, int, int]]] = {}
    for each in notes:
        if each.note.muted:
            continue
        velocity = max(round(_velocity(each.note, 110, 84) * each.level), 1)
        for midi in dict.fromkeys(each.note.midi):
            by_pitch.setdefault(midi, []).append((each.start, each.end, velocity))
    for midi, struck in by_pitch.items():
        struck.sort()
        for index, (start, end, velocity) in enumerate(struck):
            after = struck[index + 1][0] if index + 1 < len(struck) else end
            if index + 1 < len(struck) and after == start:
                # The same pitch on another string at once: one note, as long as the longer.
                struck[index + 1] = (after, max(end, struck[index + 1][1]), velocity)
                continue
            yield from _note(
                start, min(end, after) if after > start else end, midi, velocity, channel
            )


def _muted(
    notes: list[_PlacedNote], channel: int, program: int, track: ClickTrack
) -> Iterator[Event]:
    import mido

    yield Event(0, META, mido.Message("program_change", channel=channel, program=program))
    last: dict[tuple[int, int], int] = {}
    for each in sorted(notes, key=lambda placed: placed.start):
        velocity = max(round(_velocity(each.note, 70, 48) * each.level), 1)
        at = Fraction(each.start, 4 * TICKS_A_QUARTER) - track.lead_wholes
        now = track.bars.seconds_at_wholes(max(at, Fraction(0)))
        end = to_ticks(track.lead_wholes + track.bars.wholes_at_seconds(now + MUTED_SECONDS))
        hit = each.note.stroke in "x*"
        for midi in dict.fromkeys((_STICK,) if hit else each.note.midi):
            where = _PERCUSSION if hit else channel
            start = max(each.start, last.get((where, midi), 0))
            yield from _note(start, end, midi, velocity, where)
            last[where, midi] = max(end, start + 1)
