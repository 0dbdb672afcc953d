"""A part in the sections of an arrangement that have a key or a chart of their own.

Conventions. Capo and tuning stay what they are all through a song: in a section that moves, shapes
that would sound wrong become new shapes under the same capo. A chord that is fingered elsewhere in
the arrangement is played as it is there. Where a section ends and a chord goes on, the chord in
force is said anew. The chart of a new section names chords as they sound; one that no voicing of
the part is called gets the easiest shape there is, a part of single notes (a bass) its bass note.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from fractions import Fraction

from logbook.arranging.form import ArrangedForm, Passage
from logbook.arranging.hands import Setup
from logbook.errors import LogbookError
from logbook.records.chord_names import claimed_name
from logbook.records.context import meters_of
from logbook.records.melodies import in_order
from logbook.records.parts import ChartEntry, Part, Voicing
from logbook.records.songs import Version
from logbook.strings.capo import string_stops
from logbook.strings.finder import find_voicings
from logbook.strings.fingering import propose_fingers
from logbook.strings.frets import Position, Stopped, count_frets, write_fingers
from logbook.theory.keys import Key
from logbook.theory.symbols import read_symbol
from logbook.timing.meter import Meter, parse_meter

GOES_ON, RESTS = ".", "-"
_HIGHEST_BASS_FRET = 12


def shifts_of(form: ArrangedForm, key: Key | None) -> dict[int, list[Passage]]:
    """Sections that sound in another key than the arrangement's, by semitones above it."""
    found: dict[int, list[Passage]] = {}
    for passage in form.passages:
        steps = passage.moves.shift(key)
        if steps:
            found.setdefault(steps, []).append(passage)
    return found


def section_keys(form: ArrangedForm, key: Key) -> list[tuple[int, Key]]:
    """Bars where the music comes into another key than the bar before, and which."""
    found: list[tuple[int, Key]] = []
    now = key
    for passage in form.passages:
        steps = passage.moves.shift(key)
        here = key.transpose(steps) if steps else key
        if here != now:
            found.append((max(passage.start, 1), here))
        now = here
    return found


def with_shifted(
    part: Part, shifted: Part, passages: Iterable[Passage], steps: int, form: ArrangedForm
) -> Part:
    """The part with these passages played as `shifted` is, which is the same part moved."""
    known = {each.label: each for each in part.voicings}
    labels: dict[str, str] = {}
    added: list[Voicing] = []
    bars = {bar for each in passages for bar in range(each.start, each.end)}
    entries = _with_edges(shifted.chart, bars)
    used = {entry.voicing for entry in entries if entry.bar in bars and entry.voicing}
    for voicing in shifted.voicings:
        if voicing.label not in used:
            continue
        same = known.get(voicing.label)
        if same is None:
            added.append(voicing)
        elif same.pitches != voicing.pitches or (
            not claimed_name(voicing) and same.frets != voicing.frets
        ):
            # Notes are a line too, so a chord that stands elsewhere has other ones there.
            way = "up" if steps > 0 else "down"
            labels[voicing.label] = f"{voicing.label} ({way} {abs(steps)})"
            name = claimed_name(voicing)
            added.append(replace(voicing, label=labels[voicing.label], name=name))
    melody = [each for each in part.melody if each.bar not in bars]
    melody += [each for each in shifted.melody if each.bar in bars]
    return _with_chart(
        replace(part, voicings=(*part.voicings, *added), melody=in_order(melody)),
        (replace(each, voicing=labels.get(each.voicing, each.voicing)) for each in entries),
        bars,
        form,
    )


def _with_chart(
    part: Part, entries: Iterable[ChartEntry], bars: set[int], form: ArrangedForm
) -> Part:
    """The part with these bars of its chart changed for those of `entries`."""
    kept = [each for each in _with_edges(part.chart, bars) if each.bar not in bars]
    there = [each for each in entries if each.bar in bars]
    ordered = sorted([*kept, *there], key=lambda each: (each.bar, Fraction(each.beat)))
    return replace(part, chart=tuple(each for each in ordered if each.bar in form.origins))


def _with_edges(chart: Iterable[ChartEntry], bars: set[int]) -> list[ChartEntry]:
    """A chart with the chord in force said where these bars begin and right after them."""
    entries = sorted(chart, key=lambda each: (each.bar, Fraction(each.beat)))
    if not entries:
        return []
    edges = {bar for bar in bars if bar - 1 not in bars}
    edges |= {bar + 1 for bar in bars if bar + 1 not in bars}
    starts = {each.bar for each in entries if Fraction(each.beat) == 1}
    for edge in sorted(edges - starts):
        before = [each for each in entries if each.bar < edge]
        if before and (before[-1].voicing or any(each.bar >= edge for each in entries)):
            pattern = next((each.pattern for each in reversed(before) if each.pattern), "")
            entries.append(ChartEntry(bar=edge, voicing=before[-1].voicing, pattern=pattern))
            entries.sort(key=lambda each: (each.bar, Fraction(each.beat)))
    return entries


# A chart of its own


def with_own_charts(part: Part, form: ArrangedForm, version: Version, rig: Setup | None) -> Part:
    """The part with the charts that new sections bring along; one without a chart has none.

    Raises LogbookError for a bar that does not fit its meter.
    """
    passages = [each for each in form.passages if each.moves.chart]
    if not passages or not (part.chart or part.voicings):
        return part
    meters = _meters(form, version)
    last = max((bar for bar in form.origins), default=1)
    for passage in passages:
        bars = set(range(passage.start, passage.end))
        written = list(_read_chart(passage, meters))
        part, labels = _with_voicings(part, [name for _, _, name in written if name], rig)
        pattern = _pattern_before(part, passage.start)
        entries = [
            ChartEntry(bar=bar, beat=str(beat), voicing=labels.get(name, name), pattern="")
            for bar, beat, name in written
        ]
        if entries and pattern:
            entries[0] = replace(entries[0], pattern=pattern)
        after = passage.end
        goes_on = any(each.bar == after and Fraction(each.beat) == 1 for each in part.chart)
        part = _with_chart(part, entries, bars, form)
        if not goes_on and after <= last and form.origins.get(after) is None:
            part = _with_chart(part, [ChartEntry(bar=after)], {after}, form)
    return part


def _meters(form: ArrangedForm, version: Version) -> Mapping[int, Meter]:
    """The meter of each new bar."""
    recorded = meters_of(version)
    meter = recorded[0].meter
    found = {}
    for bar in sorted(bar for bar in form.origins if bar >= 1):
        origin = form.origins[bar]
        if bar in form.meters:
            meter = parse_meter(form.meters[bar])
        elif origin is not None:
            meter = next((m.meter for m in reversed(recorded) if m.bar <= origin), meter)
        found[bar] = Meter(form.beats[bar], meter.unit) if bar in form.beats else meter
    return found


def _read_chart(
    passage: Passage, meters: Mapping[int, Meter]
) -> Iterator[tuple[int, Fraction, str]]:
    """Where each chord of a section's chart begins: bar, beat, and its name ("" is a rest)."""
    bars = passage.moves.chart.split("|")
    if len(bars) > passage.bars:
        raise LogbookError(
            f"{passage.name} has {passage.bars} bars, and its chart {len(bars)}",
            "make both as long",
        )
    for number in range(passage.bars):
        words = bars[number % len(bars)].split()
        bar = passage.start + number
        beats = meters[bar].beats
        if beats % len(words) and len(words) != 1:
            raise LogbookError(
                f"bar {number + 1} of the chart of {passage.name} has {len(words)} chords and dots "
                f"for {beats} beats",
                "write one for each beat, or one for the bar",
            )
        step = Fraction(beats, len(words))
        for place, word in enumerate(words):
            if word != GOES_ON:
                yield bar, 1 + place * step, "" if word == RESTS else word


def _pattern_before(part: Part, bar: int) -> str:
    before = [each.pattern for each in part.chart if each.bar < bar and each.pattern]
    return before[-1] if before else next((e.pattern for e in part.chart if e.pattern), "")


def _with_voicings(
    part: Part, names: Iterable[str], rig: Setup | None
) -> tuple[Part, dict[str, str]]:
    """The part with a voicing for each chord, and the label of each by its name."""
    labels: dict[str, str] = {}
    for name in dict.fromkeys(names):
        found = next((each for each in part.voicings if _is_called(each, name)), None)
        if found is None and rig is not None and part.voicings:
            found = _new_voicing(part, name, rig)
            part = replace(part, voicings=(*part.voicings, found))
        labels[name] = found.label if found else name
    return part, labels


def _is_called(voicing: Voicing, name: str) -> bool:
    if voicing.label == name:
        return True
    try:
        return read_symbol(claimed_name(voicing) or voicing.label) == read_symbol(name)
    except LogbookError:
        return False


def _new_voicing(part: Part, name: str, rig: Setup) -> Voicing:
    try:
        symbol = read_symbol(name)
    except LogbookError as error:
        raise LogbookError(
            f"{part.name} has no voicing {name}, and it is not a chord: {error.problem}",
            error.remedy,
        ) from error
    single = all(_struck(each.frets) == 1 for each in part.voicings)
    position: Position | None
    if single:
        wanted = symbol.bass_pc if symbol.bass_pc is not None else symbol.root_pc
        position = _bass_note(wanted, rig)
    else:
        found = find_voicings(symbol, rig.tuning, rig.capos, limits=rig.limits())
        position = found[0].position if found else None
    if position is None:
        raise LogbookError(
            f"{part.name} has no shape for {name} in its tuning",
            "log a voicing for it, or leave the part out",
        )
    fingers = propose_fingers(position)
    return Voicing(
        label=name,
        frets=count_frets(position, part.counted).text,
        fingers=write_fingers(fingers) if fingers and any(fingers) else "",
        notes="worked out for a new section",
    )


def _struck(frets: str) -> int:
    return sum(word.strip("()") != "x" for word in frets.split()) if " " in frets else 0


def _bass_note(pitch_class: int | None, rig: Setup) -> Position | None:
    """The lowest place of a note, on the lowest string that has it below the twelfth fret."""
    if pitch_class is None:
        return None
    stops = string_stops(rig.tuning, rig.capos)
    for place, (string, stop) in enumerate(zip(rig.tuning.strings, stops, strict=True)):
        fret = (pitch_class - string.midi - stop) % 12 + stop
        if fret <= min(_HIGHEST_BASS_FRET, rig.frets):
            return tuple(Stopped(fret, stop) if at == place else None for at in range(len(stops)))
    return None
