"""A part's chart heard from its recording: chords, voicings with names and fingers, sections.

What is heard is told as records of the log, so that it can be written as a session file has it and
put into the log. A voicing that the part has already keeps its label; grips that sound the same
notes are one. A new one is called by the chord it makes in the song's key, or by its note where the
part plays single notes.
"""

from __future__ import annotations

from collections.abc import Container, Sequence
from dataclasses import replace
from pathlib import Path

from logbook.errors import LogbookError
from logbook.listening.charts import HeardChart, HeardEntry, heard_sections
from logbook.listening.following import LaidBar
from logbook.listening.line_chart import place_notes
from logbook.listening.line_charted import line_chart
from logbook.listening.playing import (
    Recording,
    Strings,
    counted_text,
    strings_of,
)
from logbook.listening.stretches import (
    Stretch,
    StretchReading,
    hear_spans,
    hear_stretches,
    reading_of,
)
from logbook.records.charted import Frets, voicing_frets
from logbook.records.part_view import PartView
from logbook.records.parts import Voicing
from logbook.strings.frets import NUT, write_fingers
from logbook.strings.tunings import StringTuning
from logbook.strings.voicing import describe
from logbook.theory.likely import likely_keys
from logbook.theory.names import name_chord
from logbook.theory.pitch import midi_to_name

SURE = 0.85  # of a voicing that the part has not got yet, to stand against its own
SINGLE_FRETS = 12  # to which fret single notes are looked for


def plays_single_notes(place: PartView) -> bool:
    """Whether the part is one of single notes: a bass."""
    instrument = place.instrument
    tuning = place.tuning
    kinds = {instrument.kind if instrument else "", tuning.kind if tuning else ""}
    return any("bass" in kind for kind in kinds)


def single_notes(strings: Strings) -> list[Frets]:
    """One grip for every note that the strings have, lowest fret first."""
    out: dict[int, Frets] = {}
    count = len(strings.open_midi)
    for fret in range(SINGLE_FRETS + 1):
        for string in range(count):
            heard: list[int | None] = [None] * count
            stop = strings.capo if fret and strings.capo else 0
            heard[string] = fret + stop if fret else 0
            frets = strings.from_nut(heard)
            out.setdefault(strings.notes(frets)[0], frets)
    return list(out.values())


def hear_notes(
    path: Path,
    bars: Sequence[LaidBar],
    strings: Strings,
    seconds: float,
    cut: Container[int] = (),
) -> tuple[Stretch, ...]:
    """The stretches of a part of single notes, each with a note to choose from.

    A note an octave off is the same note; where none of them fits by itself, the lowest of what is
    heard without help is taken, and doubted.
    """
    grips = single_notes(strings)
    by_note = {strings.notes(frets)[0]: frets for frets in grips}
    heard = hear_stretches(path, bars, strings, seconds, logged=grips, cut=cut)
    free = hear_spans(path, [(each.start_s, each.end_s) for each in heard], strings, seconds)
    out = []
    for stretch, span in zip(heard, free, strict=True):
        readings = _octaves_together(stretch.readings)
        if not readings and span is not None and not span.silent and span.notes:
            low = min(span.notes)
            if low in by_note:
                sure = 0.5 * span.voicings[0].confidence if span.voicings else 0.3
                frets = by_note[low]
                alone = StretchReading(frets=frets, notes=(low,), confidence=round(sure, 3))
                readings = (alone,)
        notes = readings[0].notes if readings else stretch.notes
        out.append(replace(stretch, readings=readings, notes=notes))
    return tuple(out)


def _octaves_together(readings: Sequence[StretchReading]) -> tuple[StretchReading, ...]:
    """Readings by pitch class, each as sure as its octaves are together, surest first."""
    best: dict[int, StretchReading] = {}
    for reading in readings:
        pitch = reading.notes[0] % 12
        known = best.get(pitch)
        if known is None:
            best[pitch] = reading
        else:
            total = min(0.99, known.confidence + reading.confidence)
            best[pitch] = replace(known, confidence=round(total, 3))
    return tuple(sorted(best.values(), key=lambda reading: -reading.confidence))


def hear_chart(recording: Recording) -> HeardChart:
    """Hear the chart of a part's recording: its chords, or the notes of a single line.

    Raises LogbookError where it has neither strings nor one note at a time.
    """
    place = recording.place
    if recording.line is not None:
        return line_chart(place, place_notes(recording.line, recording.bars), recording.bars)
    strings = strings_of(place)
    single = plays_single_notes(place)
    cut = {entry.bar for entry in place.part.chart if entry.beat != "1"}
    hear = hear_notes if single else hear_stretches
    stretches = hear(recording.path, recording.bars, strings, recording.sound.seconds, cut=cut)
    tuning = place.tuning
    assert tuning is not None, "strings_of has seen to it"
    own = tuple(dict.fromkeys(voicing_frets(place).values()))
    if own:
        stretches = _own_first(recording, stretches, strings, own)
    return chart_of(place, stretches, strings, tuning, recording.bars, single=single)


def _own_first(
    recording: Recording,
    stretches: Sequence[Stretch],
    strings: Strings,
    own: Sequence[Frets],
) -> tuple[Stretch, ...]:
    """Stretches read with the part's own voicings where one of them fits.

    What was heard without them stays where it is sure and makes another chord, and is the second
    reading elsewhere.
    """
    spans = [(each.start_s, each.end_s) for each in stretches]
    heard = hear_spans(recording.path, spans, strings, recording.sound.seconds, own)
    out = []
    for stretch, span in zip(stretches, heard, strict=True):
        if span is None or span.silent or not span.voicings or not stretch.readings:
            out.append(stretch)
            continue
        free = stretch.readings[0]
        mine = tuple(reading_of(each, strings) for each in span.voicings)
        other = {n % 12 for n in free.notes} != {n % 12 for n in mine[0].notes}
        if other and free.confidence > SURE and mine[0].confidence < free.confidence:
            out.append(stretch)
        else:
            rest = tuple(r for r in stretch.readings if r.notes != mine[0].notes)
            out.append(replace(stretch, readings=(mine[0], *rest), notes=mine[0].notes))
    return tuple(out)


def chart_of(
    place: PartView,
    stretches: Sequence[Stretch],
    strings: Strings,
    tuning: StringTuning,
    bars: Sequence[LaidBar],
    *,
    single: bool,
) -> HeardChart:
    """What was heard as a chart of the part."""
    key = place.version.key or _likely_key(stretches)
    namer = _Namer(place, strings, tuning, key, single)
    entries: list[HeardEntry] = []
    before: str | None = None
    for stretch in stretches:
        best = stretch.readings[0] if stretch.readings else None
        label = namer.label(best) if best else ""
        second = None
        if stretch.doubtful and len(stretch.readings) > 1:
            other = next(
                (each for each in stretch.readings[1:] if namer.called(each) != label), None
            )
            second = (namer.called(other), other) if other else None
        inside = stretch.beat != 1
        if inside and label == before:
            continue
        entries.append(
            HeardEntry(
                bar=stretch.bar,
                beat=stretch.beat,
                label=label,
                reading=best,
                second=second,
                doubtful=stretch.doubtful,
            )
        )
        before = label
    return HeardChart(
        entries=tuple(entries),
        new=namer.new(entries),
        sections=heard_sections(place, entries, bars),
        key=key,
        sure=namer.sure(entries),
    )


def _likely_key(stretches: Sequence[Stretch]) -> str:
    names = []
    for stretch in stretches:
        if stretch.readings:
            (name, *_) = name_chord(stretch.readings[0].notes)
            if name.named:
                names.append(name.symbol)
    if not names:
        return ""
    try:
        return likely_keys(names, limit=1)[0].key.name
    except LogbookError:
        return ""


class _Namer:
    """Gives readings their labels: the part's own where it has them, else by what they sound."""

    def __init__(
        self, place: PartView, strings: Strings, tuning: StringTuning, key: str, single: bool
    ) -> None:
        self.place, self.strings, self.tuning = place, strings, tuning
        self.key, self.single = key, single
        self.by_frets: dict[Frets, str] = {}
        self.by_notes: dict[frozenset[int], str] = {}
        self.made: dict[str, Frets] = {}
        for label, frets in voicing_frets(place).items():
            self.by_frets.setdefault(frets, label)
            self.by_notes.setdefault(frozenset(strings.notes(frets)), label)
        self.taken = {each.label for each in place.part.voicings}

    def called(self, reading: StretchReading) -> str:
        """What a reading is or would be called, without giving it the label."""
        known = self.by_frets.get(reading.frets) or self.by_notes.get(frozenset(reading.notes))
        return known or self._symbol(reading)

    def label(self, reading: StretchReading) -> str:
        """The reading's label; a new one is made where it has none."""
        known = self.by_frets.get(reading.frets) or self.by_notes.get(frozenset(reading.notes))
        if known is not None:
            return known
        symbol = self._symbol(reading)
        label, number = symbol, 2
        while label in self.taken:
            label, number = f"{symbol}_{number}", number + 1
        self.taken.add(label)
        self.by_frets[reading.frets] = label
        self.by_notes[frozenset(reading.notes)] = label
        self.made[label] = reading.frets
        return label

    def _symbol(self, reading: StretchReading) -> str:
        if self.single or len(set(reading.notes)) == 1:
            # Spelled as the root of a chord in the key would be.
            low = min(reading.notes)
            return name_chord((low, low + 7), key=self.key or None)[0].root_name
        name = name_chord(reading.notes, key=self.key or None)[0]
        if name.named:
            return name.symbol
        return "+".join(midi_to_name(note) for note in sorted(set(reading.notes)))

    def new(self, entries: Sequence[HeardEntry]) -> tuple[Voicing, ...]:
        """The voicings that the part has not got yet, in the order in which they come."""
        counted = self.place.part.counted or NUT
        out = []
        for label in dict.fromkeys(entry.label for entry in entries):
            frets = self.made.get(label)
            if frets is None:
                continue
            line = counted_text(frets, self.strings.stops, counted)
            voicing = Voicing(label=label, frets=line)
            if not self.single:
                voicing = replace(voicing, fingers=self._fingers(line, counted))
            out.append(voicing)
        return tuple(out)

    def _fingers(self, line: str, counted: str) -> str:
        try:
            seen = describe(
                line, self.tuning, self.place.capos, counted=counted, key=self.key or None
            )
        except LogbookError:
            return ""
        if seen.fingers is None or not any(seen.fingers):
            return ""
        return write_fingers(seen.fingers)

    def sure(self, entries: Sequence[HeardEntry]) -> dict[str, float]:
        """How sure each label's best hearing is: the middle of its stretches'."""
        found: dict[str, list[float]] = {}
        for entry in entries:
            if entry.reading is not None:
                found.setdefault(entry.label, []).append(entry.reading.confidence)
        return {label: sorted(each)[len(each) // 2] for label, each in found.items()}
