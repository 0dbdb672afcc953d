"""What a part plays, note by note: chart, voicings and patterns laid on the bars.

Conventions. Times are exact, in whole notes from the start of the version's tempo map. A pattern
is counted from the first bar in which it is in force and goes round from there, beginning anew
where the meter changes; in a pick-up its last steps are played. A chord without a pattern is
struck once, where it begins, and a rest of the part silences the pattern too. A string sounds
until it is struck again, stopped by a muted hit or a rest, or until the chord changes, except
that an open string the next chord also leaves open rings on. `order` is the place in its stroke,
so that whoever plays the notes can spread a strum in time. What begins before a pattern's first
bar is played once, where the pattern takes over. A hammer-on, pull-off or slide brings its string
to the chord's note, and the note before it is the one it comes from.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from contextlib import suppress
from fractions import Fraction
from itertools import pairwise
from typing import NamedTuple

from logbook.arranging.pitched import HELD, has_notes, held_notes
from logbook.errors import LogbookError
from logbook.records.context import capos_of, uncharted
from logbook.records.part_view import PartView
from logbook.records.parts import ChartEntry, Part, Voicing
from logbook.strings.frets import Position, place_frets, read_frets
from logbook.strings.picking import PickingPattern, Stroke, read_pattern, struck_strings
from logbook.strings.picking_cells import LEGATO, GridCell
from logbook.strings.sounding import course_midi
from logbook.strings.tunings import StringTuning
from logbook.timing.bars import BarPoint
from logbook.timing.tempo_map import TempoMap


class Note(NamedTuple):
    """One string struck: `start` and `end` in whole notes, its MIDI notes (several in a course).

    `string` is the player's number (1 the highest), `order` its place in the stroke from 0;
    a muted one has no pitch to speak of (a hit has no string either), and ends where it starts.
    `stroke` is the letter of the stroke, as patterns are written; `soft` 1 for a soft one, 2 for
    a ghost, `palm` where the palm damps the string.
    """

    start: Fraction
    end: Fraction
    midi: tuple[int, ...]
    string: int
    order: int
    accent: bool = False
    muted: bool = False
    stroke: str = "D"
    soft: int = 0
    palm: bool = False


class _Chord(NamedTuple):
    """A voicing in force over a stretch: None where the part rests.

    `rounds_from` are the places, in order, from which the pattern is counted; `begins` is the
    first of them where the pattern is new with this chord.
    """

    start: Fraction
    end: Fraction
    position: Position | None
    pattern: PickingPattern | None
    rounds_from: tuple[Fraction, ...]
    begins: Fraction | None = None


class _Struck(NamedTuple):
    """One stroke of the hand at a time, with the chord under it."""

    at: Fraction
    cell: GridCell
    chord: _Chord


_PALM_LENGTH = Fraction(1, 32)  # how long a string sounds under the palm (common sense)
_ONE_STRUM = GridCell((Stroke("D"),))


def perform(place: PartView, bars: TempoMap, end: Fraction | None = None) -> tuple[Note, ...]:
    """Return every note of the part, in order of time, up to `end` (default: end of the form).

    Raises LogbookError where the part has no tuning, or something in it cannot be read.
    """
    tuning, held = place.tuning, None
    if tuning is None and has_notes(place.part):
        tuning, held = held_notes(place)
    if tuning is None:
        raise LogbookError(
            f"{place.title} has no tuning", "say the part's tuning, or its instrument's usual one"
        )
    last = form_end(place, bars) if end is None else end
    chords = list(_chords(place, tuning, held, bars, last))
    notes = tuple(_notes(chords, tuning, last))
    if held is None:
        return notes
    # Keys and winds sound a chord at once, and nothing where strings would be muted.
    return tuple(note._replace(order=0) for note in notes if note.midi and not note.muted)


def form_end(place: PartView, bars: TempoMap) -> Fraction:
    """Where the form, or what is charted beyond it, ends, in whole notes."""
    ends = [each.start + each.bars for each in place.version.form]
    ends += [entry.bar + 1 for entry in place.part.chart]
    return bars.bar_start(max(ends, default=bars.first_bar))


def _chords(
    place: PartView,
    tuning: StringTuning,
    held: Mapping[str, Position] | None,
    bars: TempoMap,
    end: Fraction,
) -> Iterator[_Chord]:
    part = place.part
    # A chord that nobody has fingered yet cannot be played: it is silent.
    positions: dict[str, Position | None] = {
        each.label: None for each in part.voicings if not each.frets
    }
    if held is None:
        positions |= positions_of(part, tuning, {entry.voicing for entry in part.chart})
    else:
        positions = {each.label: held.get(each.label) for each in part.voicings}
    entries = sorted(part.chart, key=lambda each: (each.bar, Fraction(each.beat)))
    starts = [bars.wholes_at(chart_point(entry)) for entry in entries]
    meter_starts = [bars.bar_start(change.bar) for change in bars.meters[1:]]
    label, pattern, since = "", None, Fraction(0)
    # A chord goes on to the next one, but not into a section that nobody has charted.
    stops = [bars.bar_start(section.start) for section in uncharted(place.version, part)]
    for entry, start, then in zip(entries, starts, [*starts[1:], end], strict=True):
        after = min((at for at in stops if start < at), default=then)
        after = min(after, then)
        begins = None
        if entry.pattern and entry.pattern != label:
            label = entry.pattern
            pattern = read_pattern_of(part, label, place, bars, entry.bar)
            since = begins = _counted_from(entry.bar, bars)
        if entry.voicing and entry.voicing not in positions:
            raise LogbookError(
                f"the chart of {place.title} names the voicing {entry.voicing}, which is not there",
                f"use {', '.join(voicing.label for voicing in part.voicings) or 'one that is'}",
            )
        if start < min(after, end):
            position = positions[entry.voicing] if entry.voicing else None
            anew = [at for at in meter_starts if since < at < min(after, end)]
            yield _Chord(start, min(after, end), position, pattern, (since, *anew), begins)


def _counted_from(bar: int, bars: TempoMap) -> Fraction:
    """Where a bar begins; a pick-up is the end of a full bar, which begins before the music."""
    if bar >= 1:
        return bars.bar_start(bar)
    return bars.pickup - bars.meter_at(1).bar_length


def positions_of(
    part: Part, tuning: StringTuning, labels: Collection[str] | None = None
) -> dict[str, Position]:
    """Return where the hand is for each voicing (or those called so), by label.

    Raises LogbookError, naming the voicing, where one cannot be read.
    """
    return {
        voicing.label: _position(voicing, part, tuning)
        for voicing in part.voicings
        if voicing.frets and (labels is None or voicing.label in labels)
    }


def readable_positions(part: Part, tuning: StringTuning) -> dict[str, Position]:
    """The same of all voicings that can be read; the others are left out."""
    found = {}
    for voicing in part.voicings:
        with suppress(LogbookError):
            found[voicing.label] = _position(voicing, part, tuning)
    return found


def _position(voicing: Voicing, part: Part, tuning: StringTuning) -> Position:
    try:
        line = read_frets(voicing.frets, counted=voicing.counted or part.counted)
        return place_frets(line, tuning, capos_of(part))
    except LogbookError as error:
        raise LogbookError(
            f"{part.name}, voicing {voicing.label}: {error.problem}", error.remedy
        ) from error


def read_pattern_of(
    part: Part, label: str, place: PartView, bars: TempoMap, bar: int
) -> PickingPattern:
    """Return the pattern called `label`, in the meter of `bar`."""
    for pattern in part.patterns:
        if pattern.label == label:
            return read_pattern(pattern.line, pattern.grid, bars.meter_at(bar), pattern.feel)
    known = ", ".join(each.label for each in part.patterns) or "none is logged"
    raise LogbookError(
        f"the chart of {place.title} names the pattern {label}, which is not there", f"use {known}"
    )


def chart_point(entry: ChartEntry) -> BarPoint:
    """The bar and beat at which a chord of a chart starts."""
    return BarPoint(entry.bar, Fraction(entry.beat))


def _strokes(chord: _Chord) -> Iterator[_Struck]:
    """Yield the strokes that fall within a chord."""
    if chord.position is None:
        return
    if chord.pattern is None:
        yield _Struck(chord.start, _ONE_STRUM, chord)
        return
    placed, length = chord.pattern.placed(), chord.pattern.length
    for counted_from, until in pairwise((*chord.rounds_from, chord.end)):
        start, end = max(counted_from, chord.start), min(until, chord.end)
        at_round = counted_from + (start - counted_from) // length * length
        while at_round < end:
            for step in placed:
                if start <= at_round + step.start < end:
                    yield _Struck(at_round + step.start, step.cell, chord)
            at_round += length


def _all_strokes(chords: list[_Chord]) -> list[list[_Struck]]:
    """The strokes of each chord; what begins before a pattern's first bar takes their place there.

    It is played on the chord that sounds there, or on the coming one where none does.
    """
    strokes = [list(_strokes(chord)) for chord in chords]
    for number, chord in enumerate(chords):
        if chord.pattern is None or chord.begins is None or chord.position is None:
            continue
        lead = chord.pattern.lead_placed()
        first = chord.begins - chord.pattern.lead_length
        first = min([first, *(chord.begins + step.start for step in lead)])
        for before in range(number):
            strokes[before] = [
                each for each in strokes[before] if not first <= each.at < chord.begins
            ]
        for step in lead:
            at = chord.begins + step.start
            there = next(
                (
                    index
                    for index, each in enumerate(chords[:number])
                    if each.start <= at < each.end and each.position is not None
                ),
                number,
            )
            if at >= 0:
                strokes[there].append(_Struck(at, step.cell, chords[there]))
    return [sorted(each, key=lambda struck: struck.at) for each in strokes]


_USUAL_WAY = 2  # frets a slide or a pull-off goes where the pattern does not say


def _comes_from(
    stroke: Stroke, string: int, note: Note, struck: _Struck, tuning: StringTuning
) -> Note:
    """The note before a hammer-on, pull-off or slide, at the pitch it comes from."""
    open_notes = course_midi(_open(struck, string, len(tuning)), tuning)[len(tuning) - string]
    if stroke.kind == "h" and not stroke.frets:
        return note._replace(midi=open_notes)
    way = stroke.frets or _USUAL_WAY
    way = -way if stroke.kind in "hs" else way
    midi = tuple(
        max(pitch + way, lowest) for pitch, lowest in zip(note.midi, open_notes, strict=True)
    )
    return note._replace(midi=midi)


def _open(struck: _Struck, string: int, count: int) -> Position:
    """A string of the chord as it sounds unfingered; the others are not played."""
    position = struck.chord.position or (None,) * count
    at = position[count - string]
    alone = None if at is None else at._replace(fret=at.stop, harmonic=False)
    return tuple(alone if index == count - string else None for index in range(count))


def _notes(chords: list[_Chord], tuning: StringTuning, end: Fraction) -> Iterator[Note]:
    """Yield the notes in order; a sounding string is held back until what ends it is known."""
    sounding: dict[int, Note] = {}
    done: list[Note] = []

    def stop(string: int, at: Fraction) -> None:
        note = sounding.pop(string, None)
        if note is not None:
            done.append(note._replace(end=at))

    played = _all_strokes(chords)
    for (before, chord), strokes in zip(pairwise([None, *chords]), played, strict=True):
        assert chord is not None
        for string in list(sounding):
            if before is not None and before.end < chord.start:
                stop(string, before.end)  # bars that nobody has charted lie between
            elif not _rings_on(before, chord, len(tuning) - string):
                stop(string, chord.start)
        for struck in strokes:
            for note, stroke in _stroke_notes(struck, tuning):
                if stroke.kind in LEGATO and note.string in sounding and tuning.kind != HELD:
                    last = sounding[note.string]
                    sounding[note.string] = _comes_from(stroke, note.string, last, struck, tuning)
                stop(note.string, struck.at)
                if note.muted:
                    done.append(note)
                elif note.palm:
                    done.append(note._replace(end=struck.at + _PALM_LENGTH))
                else:
                    sounding[note.string] = note
            if any(stroke.kind in "xr" for stroke in struck.cell.strokes):
                for string in list(sounding):
                    if sounding[string].start < struck.at:
                        stop(string, struck.at)
    for string in list(sounding):
        stop(string, min(end, chords[-1].end))
    yield from sorted(done, key=lambda note: (note.start, note.order, note.string))


def _rings_on(before: _Chord | None, after: _Chord, index: int) -> bool:
    if before is None or before.position is None or after.position is None:
        return False
    first, second = before.position[index], after.position[index]
    if first is None or second is None:
        return False
    return first == second and not first.fingered


def _stroke_notes(struck: _Struck, tuning: StringTuning) -> Iterator[tuple[Note, Stroke]]:
    """Yield the notes of a stroke, each with the stroke it belongs to."""
    position, count = struck.chord.position, len(tuning)
    held = position or (None,) * count
    pitches = course_midi(held, tuning)
    played = [count - index for index, at in enumerate(held) if at is not None and not at.may_ring]
    order = 0
    for stroke in struck.cell.strokes:
        muted = stroke.kind in "du"
        if stroke.kind in "x*":
            hit = Note(struck.at, struck.at, (), 0, order, struck.cell.accent, True, stroke.kind)
            yield hit._replace(soft=struck.cell.soft), stroke
            order += 1
            continue
        strings = struck_strings(stroke, played, count)
        for string in strings:
            dead = muted or (stroke.kind == "R" and string != strings[-1])
            midi = tuning.strings[count - string].course_midi if dead else pitches[count - string]
            accent = struck.cell.accent
            note = Note(struck.at, struck.at, midi, string, order, accent, dead, stroke.kind)
            yield note._replace(soft=struck.cell.soft, palm=struck.cell.palm and not dead), stroke
            order += 1
