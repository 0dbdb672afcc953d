"""The tempo and meter of the arranged form.

Conventions. The record's meters go with its bars. So do its tempos, all of them in proportion
where the arrangement starts in another tempo than the record has at that place. A section that
says a tempo ends that: the tempo holds until another section says one, or with a ramp moves
evenly to it. New bars go on as the bars before them.
"""

from __future__ import annotations

from fractions import Fraction
from typing import NamedTuple

from logbook.arranging.form import ArrangedForm, Passage, first_origin
from logbook.errors import LogbookError
from logbook.records.arrangements import ArrangedSection, Arrangement
from logbook.records.context import exact, meters_of, tempo_map_of
from logbook.records.songs import MeterChange, TempoChange, Version
from logbook.timing.bars import BarPoint
from logbook.timing.meter import COMMON_TIME, Meter, parse_meter
from logbook.timing.stretches import MeterAt as MeterPlace
from logbook.timing.stretches import Ramp
from logbook.timing.stretches import TempoAt as TempoPlace
from logbook.timing.tempo import MOST_BPM, Tempo, parse_unit
from logbook.timing.tempo_map import TempoMap


class ArrangedTime(NamedTuple):
    """Meters, tempos and pick-up as a version keeps them; `starts` at, and `ratio` to the record.

    `ratio` is new over recorded tempo where the arrangement begins; both are None where no tempo
    is known.
    """

    meters: tuple[MeterChange, ...]
    tempos: tuple[TempoChange, ...]
    pickup_beats: str
    starts: Tempo | None
    ratio: Fraction | None


def arrange_time(version: Version, form: ArrangedForm, arrangement: Arrangement) -> ArrangedTime:
    """Work out the tempo map of the arranged form.

    Raises LogbookError for a tempo that never moves, or a ramp that leads nowhere.
    """
    meters = _meters(version, form)
    recorded = tempo_map_of(version)
    first_bar = min((bar for bar in form.origins if bar >= 1), default=1)
    meter = _at(meters, first_bar)
    wanted = _stated(arrangement.bpm, arrangement.unit, meter, "the arrangement")
    then = recorded.tempo_at(BarPoint(first_origin(form))) if recorded else None
    ratio = None
    if then is not None:
        ratio = wanted.wholes_a_second / then.wholes_a_second if wanted else Fraction(1)
    places = _carried(recorded, form, ratio or Fraction(1)) if recorded else []
    if wanted is not None:
        places = _in_unit(places, wanted) if places else [TempoPlace(BarPoint(1), wanted)]
    has_pickup = 0 in form.origins
    pickup = recorded.pickup if recorded and has_pickup else Fraction(0)
    places = _within_bars(places, meters)
    places = _with_sections(places, form, meters, pickup)
    places = _with_ritardandos(places, form, meters, pickup)
    starts = next((each.tempo for each in reversed(places) if each.start <= BarPoint(1)), None)
    if starts is not None and then is not None:
        ratio = starts.wholes_a_second / then.wholes_a_second
    return ArrangedTime(
        meters=tuple(MeterChange(bar=each.bar, meter=str(each.meter)) for each in meters),
        tempos=tuple(map(_record, places)),
        pickup_beats=version.pickup_beats if has_pickup else "",
        starts=starts,
        ratio=ratio,
    )


def _stated(bpm: float | None, unit: str, meter: Meter, who: str) -> Tempo | None:
    if bpm is None:
        return None
    if not 0 < bpm <= MOST_BPM:
        raise LogbookError(
            f"{who} is given a tempo of {bpm:g}, which nobody can play",
            "write beats a minute above 0, such as 96",
        )
    return Tempo(exact(bpm), parse_unit(unit) if unit else meter.felt_beat_length)


# Meters


def _meters(version: Version, form: ArrangedForm) -> tuple[MeterPlace, ...]:
    recorded = meters_of(version)
    if form.is_recorded:
        return recorded
    places: list[MeterPlace] = []
    meter = recorded[0].meter
    for bar in sorted(bar for bar in form.origins if bar >= 1):
        origin = form.origins[bar]
        if bar in form.meters:
            here = parse_meter(form.meters[bar])
        elif origin is None:
            here = meter
        else:
            here = _at(recorded, origin)
        meter = here
        if bar in form.beats:
            here = _cut_meter(here, form.beats[bar], bar)
        if not places or places[-1].meter != here:
            places.append(MeterPlace(bar, here))
    return tuple(places) or (MeterPlace(1, COMMON_TIME),)


def _cut_meter(meter: Meter, beats: int, bar: int) -> Meter:
    """The meter of a bar that has fewer beats than the others."""
    if beats >= meter.beats:
        raise LogbookError(
            f"bar {bar} is to have {beats} beats, and a bar of {meter} has {meter.beats}",
            "write fewer beats",
        )
    return Meter(beats, meter.unit)


def _at(meters: tuple[MeterPlace, ...], bar: int) -> Meter:
    return next((each.meter for each in reversed(meters) if each.bar <= bar), meters[0].meter)


# Tempos as recorded, carried along


def _carried(recorded: TempoMap, form: ArrangedForm, ratio: Fraction) -> list[TempoPlace]:
    scaled = recorded.scaled(ratio)
    if form.is_recorded:
        return list(scaled.tempos)
    places: list[TempoPlace] = []
    steady = _steady_bars(form)
    for first, origin, count in form.runs:
        if origin is not None:
            places += _run(scaled, first, origin, count)
    for begins, end in steady:
        inside = [each for each in places if BarPoint(begins) <= each.start < BarPoint(end)]
        at = scaled.tempo_at(BarPoint(max(form.origins[begins] or 1, 1)))
        after = _resumed(places, form, scaled, end)
        places = [each for each in places if each not in inside]
        places = sorted([*places, TempoPlace(BarPoint(begins), at), *after], key=lambda p: p.start)
    if not places or places[0].start > BarPoint(1):
        # New bars come first: they go at the tempo that follows.
        start = places[0].tempo if places else scaled.tempo_at(BarPoint(1))
        places.insert(0, TempoPlace(BarPoint(1), start))
    return _without_repeats(places)


def _steady_bars(form: ArrangedForm) -> list[tuple[int, int]]:
    """First bar and end of the sections that leave tempo changes where they are from."""
    return [
        (each.start, each.end)
        for each in form.passages
        if each.borrowed and not each.moves.as_recorded
    ]


def _resumed(
    places: list[TempoPlace], form: ArrangedForm, scaled: TempoMap, end: int
) -> list[TempoPlace]:
    """The tempo of the bar after a steady section, where recorded bars went on across its end."""
    origin = form.origins.get(end)
    if origin is None or any(each.start == BarPoint(end) for each in places):
        return []
    return [each for each in _run(scaled, end, origin, 1) if each.start == BarPoint(end)]


def _run(scaled: TempoMap, first: int, origin: int, count: int) -> list[TempoPlace]:
    """The tempos of recorded bars that stay together, moved to where they stand now."""
    start, end, moved = BarPoint(origin), BarPoint(origin + count), first - origin
    places: list[TempoPlace] = []
    at = start if origin else BarPoint(1)
    if not any(change.start == at for change in scaled.tempos):
        ramp = next(
            (
                change.ramp
                for change in scaled.tempos
                if change.ramp and change.start < at < change.ramp.end
            ),
            None,
        )
        here = scaled.tempo_at(at)
        places.append(TempoPlace(_moved(at, moved), here, _cut(ramp, scaled, end, moved)))
    for change in scaled.tempos:
        if start <= change.start < end:
            ramp = _cut(change.ramp, scaled, end, moved)
            free = _cut_free(change, scaled, end)
            tempo = change.tempo if free is None else scaled.tempo_at(change.start)
            places.append(TempoPlace(_moved(change.start, moved), tempo, ramp, free))
    return sorted(places, key=lambda each: each.start)


def _moved(point: BarPoint, bars: int) -> BarPoint:
    return BarPoint(point.bar + bars, point.beat)


def _cut(ramp: Ramp | None, scaled: TempoMap, end: BarPoint, moved: int) -> Ramp | None:
    """A ramp as far as its bars are kept."""
    if ramp is None:
        return None
    if ramp.end <= end:
        return Ramp(_moved(ramp.end, moved), ramp.tempo)
    return Ramp(_moved(end, moved), scaled.tempo_at(end).in_unit(ramp.tempo.unit))


def _cut_free(change: TempoPlace, scaled: TempoMap, end: BarPoint) -> Fraction | None:
    """How long free time lasts: as recorded where all of it is kept, else nobody knows."""
    if change.free is None:
        return None
    after = next((each.start for each in scaled.tempos if each.start > change.start), None)
    return change.free if after is not None and after <= end else Fraction(0)


def _without_repeats(places: list[TempoPlace]) -> list[TempoPlace]:
    kept: list[TempoPlace] = []
    for place in places:
        before = kept[-1] if kept else None
        now = (before.ramp.tempo if before.ramp else before.tempo) if before else None
        free = place.free is not None or (before is not None and before.free is not None)
        if place.ramp or free or now is None or now != place.tempo:
            kept.append(place)
    return kept


def _in_unit(places: list[TempoPlace], wanted: Tempo) -> list[TempoPlace]:
    """Count the tempos in the unit that the arrangement says, where the record has just one."""
    units = {each.tempo.unit for each in places}
    units |= {each.ramp.tempo.unit for each in places if each.ramp}
    if len(units) > 1:
        return places
    return [
        each._replace(
            tempo=each.tempo.in_unit(wanted.unit),
            ramp=each.ramp and Ramp(each.ramp.end, each.ramp.tempo.in_unit(wanted.unit)),
        )
        for each in places
    ]


# Tempos that sections say


def _with_sections(
    places: list[TempoPlace],
    form: ArrangedForm,
    meters: tuple[MeterPlace, ...],
    pickup: Fraction,
) -> list[TempoPlace]:
    firsts = [
        (each, each.said) for each in form.passages if each.number == 1 and each.said is not None
    ]
    stated = {
        passage.start: tempo
        for passage, said in firsts
        if (tempo := _stated(said.bpm, said.unit, _at(meters, passage.start), passage.name))
    }
    for passage, said in firsts:
        if said.ramp and not any(start > passage.start for start in stated):
            raise LogbookError(
                f"the tempo of {passage.name} moves to no other tempo",
                "give a later section a tempo, or take the ramp away",
            )
    changing = [(each, said) for each, said in firsts if each.start in stated or said.ramp]
    if not changing:
        return places
    begin = BarPoint(changing[0][0].start)
    kept = [each for each in places if each.start < begin]
    if kept and kept[-1].ramp:
        whole = TempoMap(meters=meters, tempos=tuple(places), pickup=pickup)
        kept[-1] = kept[-1]._replace(ramp=_cut(kept[-1].ramp, whole, begin, 0))
    for passage, said in changing:
        kept.append(_section_place(passage, said, stated, kept or places))
    first = kept[0]
    return [TempoPlace(BarPoint(1), first.tempo), *kept] if first.start > BarPoint(1) else kept


def _within_bars(places: list[TempoPlace], meters: tuple[MeterPlace, ...]) -> list[TempoPlace]:
    """The tempos without those on beats that a shortened bar has no more."""
    return [
        each
        for each in places
        if each.start.beat == 1 or each.start.beat < _at(meters, each.start.bar).beats + 1
    ]


def _with_ritardandos(
    places: list[TempoPlace],
    form: ArrangedForm,
    meters: tuple[MeterPlace, ...],
    pickup: Fraction,
) -> list[TempoPlace]:
    """The tempos with the ends of sections that slow down, and the tempo before taken up again."""
    last = max(form.origins, default=1)
    passages = form.passages
    for number, passage in enumerate(passages):
        moves = passage.moves
        is_last = number + 1 == len(passages) or passages[number + 1].number == 1
        if not moves.rit_bars or not is_last:
            continue
        start, end = max(passage.end - moves.rit_bars, passage.start), passage.end
        if not places:
            raise LogbookError(
                f"the ritardando of {passage.name} slows down from no tempo",
                "give the version or the arrangement one",
            )
        whole = TempoMap(meters=meters, tempos=tuple(places), pickup=pickup)
        here = whole.tempo_at(BarPoint(start))
        goal = Tempo(exact(moves.rit_bpm), here.unit)
        # A ramp that was under way ends where the ritardando begins, and another goes on behind it.
        kept = [
            each._replace(ramp=_cut(each.ramp, whole, BarPoint(start), 0))
            if each.ramp and each.ramp.end > BarPoint(start)
            else each
            for each in places
            if each.start < BarPoint(start)
        ]
        after = [each for each in places if each.start >= BarPoint(end)]
        if end <= last and not any(each.start == BarPoint(end) for each in after):
            after.insert(0, TempoPlace(BarPoint(end), whole.tempo_at(BarPoint(end))))
        places = [*kept, TempoPlace(BarPoint(start), here, Ramp(BarPoint(end), goal)), *after]
    return places


def _section_place(
    passage: Passage,
    said: ArrangedSection,
    stated: dict[int, Tempo],
    before: list[TempoPlace],
) -> TempoPlace:
    here = BarPoint(passage.start)
    tempo = stated.get(passage.start)
    if tempo is None:
        tempo = _tempo_before(before, here)
        if tempo is None:
            raise LogbookError(
                f"the tempo of {passage.name} moves from no tempo",
                "give the version or the section one",
            )
    if not said.ramp:
        return TempoPlace(here, tempo)
    goal = min(start for start in stated if start > passage.start)
    return TempoPlace(here, tempo, Ramp(BarPoint(goal), stated[goal]))


def _tempo_before(places: list[TempoPlace], point: BarPoint) -> Tempo | None:
    """The tempo last stated before a place, or where its ramp has led; the first one before all."""
    found = [each for each in places if each.start < point]
    if not found:
        return places[0].tempo if places else None
    last = found[-1]
    return last.ramp.tempo if last.ramp and last.ramp.end <= point else last.tempo


def _record(place: TempoPlace) -> TempoChange:
    ramp = place.ramp
    return TempoChange(
        bar=place.start.bar,
        beat=str(place.start.beat),
        bpm=_number(place.tempo.bpm),
        unit=str(place.tempo.unit),
        ramp_bpm=None if ramp is None else _number(ramp.tempo.bpm),
        ramp_unit="" if ramp is None else str(ramp.tempo.unit),
        ramp_end="" if ramp is None else str(ramp.end),
        free_s=None if place.free is None else float(place.free),
    )


def _number(bpm: Fraction) -> float:
    """Beats a minute as records keep them; whole numbers stay plain."""
    return float(bpm)
