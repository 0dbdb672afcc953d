"""What stands at each bar of a chart besides its chords.

Changes of meter and tempo stand where they begin, as a player writes them: `3/4`, `♩=96`,
`rit. to 80 by bar 12` (common practice, no source). The first ones stand at the first bar.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fractions import Fraction
from math import floor

from logbook.errors import LogbookError
from logbook.records.lyrics import Lyric, in_order
from logbook.records.parts import Part
from logbook.sheets.charts import BarFacts, Sung, count_text
from logbook.timing.bars import BarPoint, parse_range
from logbook.timing.stretches import TempoAt
from logbook.timing.tempo import Tempo, bpm_text, unit_name
from logbook.timing.tempo_map import TempoMap

FREE = "free"
_SIGNS = {Fraction(1, 4): "♩", Fraction(1, 8): "♪", Fraction(3, 8): "♩.", Fraction(3, 16): "♪."}


def facts_of(
    bars: Iterable[int], tempo_map: TempoMap, part: Part, *, timed: bool
) -> dict[int, BarFacts]:
    """Return what stands at each of these bars; `timed` says that the tempos were logged."""
    wanted = sorted(bars)
    first = next((bar for bar in wanted if bar >= tempo_map.first_bar), 1)
    marks = _marks(tempo_map, first, timed=timed)
    notes = _notes(part, first)
    found = {}
    for bar in wanted:
        meter = tempo_map.meter_at(bar)
        found[bar] = BarFacts(
            _beats(bar, tempo_map),
            3 if meter.is_compound else 1,
            tuple(marks.get(bar, ())),
            tuple(notes.get(bar, ())),
            meter=str(meter),
            tempo=_in_force(bar, tempo_map) if timed else "",
        )
    return found


def with_words(
    facts: Mapping[int, BarFacts], bars: Iterable[int], lyrics: Iterable[Lyric]
) -> dict[int, BarFacts]:
    """Return what stands at bars with the lines of words that begin in them."""
    words: dict[int, list[Sung]] = {}
    for line in in_order(lyrics):
        words.setdefault(line.bar, []).append(Sung(line.beat, line.text))
    nothing = BarFacts()
    found = {bar: facts.get(bar, nothing) for bar in bars}
    for bar in found.keys() & words.keys():
        found[bar] = found[bar]._replace(words=tuple(words[bar]))
    return found


def with_melody(facts: Mapping[int, BarFacts], tunes: Mapping[int, str]) -> dict[int, BarFacts]:
    """Return what stands at bars with the notes of the part's melody in them."""
    return {
        bar: known._replace(tune=tunes[bar]) if bar in tunes else known
        for bar, known in facts.items()
    }


def _beats(bar: int, tempo_map: TempoMap) -> range:
    """The written beats of a bar; a pick-up holds the last of a full one.

    A bar 0 that something stands at, on music without a pick-up, is drawn as a full bar.
    """
    meter = tempo_map.meter_at(bar)
    first = 1
    if bar < 1 and tempo_map.pickup:
        first += floor((meter.bar_length - tempo_map.pickup) / meter.beat_length)
    return range(first, meter.beats + 1)


def _marks(tempo_map: TempoMap, first: int, *, timed: bool) -> dict[int, list[str]]:
    marks: dict[int, list[str]] = {}
    for change in tempo_map.meters:
        marks.setdefault(max(change.bar, first), []).append(str(change.meter))
    for place in tempo_map.tempos if timed else ():
        at = first if place.start <= BarPoint(first) else place.start.bar
        marks.setdefault(at, []).append(tempo_mark(place))
    return marks


def _in_force(bar: int, tempo_map: TempoMap) -> str:
    """The tempo where a bar begins; on the way to another how far that is, in bars."""
    here = BarPoint(bar)
    change = next((each for each in reversed(tempo_map.tempos) if each.start <= here), None)
    change = change or tempo_map.tempos[0]  # it begins within the pick-up
    if change.free is not None:
        return FREE
    if change.ramp is None or change.start > here:
        return tempo_sign(change.tempo)
    if change.ramp.end <= here:
        return tempo_sign(change.ramp.tempo)
    start, end = change.start, change.ramp.end
    went = f"{start.bar - bar}.{start.beat} to {end.bar - bar}.{end.beat}"
    return f"{tempo_sign(change.tempo)}>{tempo_sign(change.ramp.tempo)}, {went}"


def tempo_mark(change: TempoAt) -> str:
    """Return a change of tempo as it stands over its bar."""
    at = "" if change.start.beat == 1 else f" from beat {count_text(change.start.beat)}"
    if change.free is not None:
        return f"{FREE}{at}"
    said = tempo_sign(change.tempo) + at
    if change.ramp is None:
        return said
    goal = change.ramp.tempo
    slower = goal.wholes_a_second < change.tempo.wholes_a_second
    figure = bpm_text(goal.bpm) if goal.unit == change.tempo.unit else tempo_sign(goal)
    return f"{said}, {'rit.' if slower else 'accel.'} to {figure} by bar {change.ramp.end}"


def tempo_sign(tempo: Tempo) -> str:
    """Return a tempo as it stands over a bar: ♩=96, "half = 60"."""
    sign = _SIGNS.get(tempo.unit)
    return (
        f"{sign}={bpm_text(tempo.bpm)}"
        if sign
        else f"{unit_name(tempo.unit)} = {bpm_text(tempo.bpm)}"
    )


def _notes(part: Part, first: int) -> dict[int, list[str]]:
    """The remarks on the playing at the bar where each begins; those for all bars are left out."""
    notes: dict[int, list[str]] = {}
    for note in part.technique_notes:
        for words in note.bars.split(","):
            try:
                bars = parse_range(words.strip())
            except LogbookError:
                continue
            last = bars.bars[-1]
            until = f" (to bar {last})" if last > bars.start.bar else ""
            notes.setdefault(max(bars.start.bar, first), []).append(f"{note.text}{until}")
    return notes
