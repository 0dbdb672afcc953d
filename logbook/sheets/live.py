"""The live sheet: a song as it is played on stage, as plain data.

It says what the arrangement says; a version without a kept one is played as recorded. Everything
is worked out here, once, with the arranging room.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import NamedTuple

from logbook.arranging.arrange import ArrangedVersion, arrange
from logbook.arranging.difference import Difference, differences, total_text
from logbook.arranging.form import Passage
from logbook.arranging.lengths import lengths_of
from logbook.arranging.parts import PartPlan
from logbook.arranging.road_words import passage_words
from logbook.arranging.transposing import (
    chords_of,
    part_interval,
    written_key,
    written_name,
)
from logbook.errors import LogbookError
from logbook.names import alike
from logbook.records.arrangements import Arrangement
from logbook.records.log import Log
from logbook.records.parts import Part
from logbook.records.songs import Song, Version
from logbook.sheets.blocks import RoadStop
from logbook.sheets.charts import REST, ChartBar, ChartChord, ChartSection
from logbook.sheets.choosing import chosen, named
from logbook.sheets.chords import ChordCard
from logbook.sheets.heads import change_said, clock, readable_map, version_head
from logbook.sheets.looks import Wanted
from logbook.sheets.melodies import MelodyBar
from logbook.sheets.patterns import PatternCard
from logbook.sheets.player import part_sheet
from logbook.sheets.rigs import Rig
from logbook.timing.bars import BarPoint
from logbook.timing.tempo_map import TempoMap

AS_RECORDED = "as recorded"


class LivePart(NamedTuple):
    """What one player needs. `written` says what the chart is written in, where not at pitch.

    `capo_now` and `tuning_now` are short, for the top of the sheet.
    """

    name: str
    player: str
    instrument: str
    capo_now: str
    tuning_now: str
    rig: Rig
    hand: str
    technique: str
    technique_notes: tuple[tuple[str, str], ...]
    said: str
    chords: tuple[ChordCard, ...]
    patterns: tuple[PatternCard, ...]
    chart: tuple[ChartSection, ...]
    melody: tuple[MelodyBar, ...]
    written: str
    unreadable: tuple[str, ...]


class LivePlan(NamedTuple):
    """One version as it is played: `arrangement` is its name, or "as recorded"."""

    version: str
    arrangement: str
    key: str
    tempos: tuple[str, ...]
    meters: tuple[str, ...]
    count_in: str
    length: str
    said: str
    road: tuple[RoadStop, ...]
    cues: tuple[str, ...]
    parts: tuple[LivePart, ...]
    left_out: tuple[str, ...]
    differences: tuple[Difference, ...]
    remarks: tuple[str, ...]


class LiveSheet(NamedTuple):
    """A song for the stage."""

    song: str
    plans: tuple[LivePlan, ...]


def live_sheet(
    log: Log,
    title: str,
    version: str | None = None,
    part: str | None = None,
    arrangement: str | None = None,
) -> LiveSheet:
    """Return the live sheet of a song; each version in its kept arrangement, or the one named.

    Raises LogbookError where the log has no such song, version, part or arrangement, and where
    the arrangement cannot be worked out.
    """
    wanted = Wanted(title, version or "", part or "", arrangement or "")
    return LiveSheet(
        named(log.songs, "title", title, "song").title,
        tuple(plan for _, plan, _ in plans_of(log, wanted)),
    )


def plans_of(log: Log, wanted: Wanted) -> Iterator[tuple[ArrangedVersion, LivePlan, list[Part]]]:
    """Yield each version as it is arranged, as the sheet says it, and the parts of its players.

    Raises LogbookError as `live_sheet` does.
    """
    song, versions = chosen(log, wanted.song, wanted.version or None, wanted.part or None)
    if wanted.arrangement:
        versions = _with_arrangement(song, versions, wanted.arrangement)
    for each in versions:
        kept = _arrangement(each, wanted.arrangement or None)
        arranged = arrange(log, song, each, kept)
        parts = [
            plan
            for plan in arranged.parts
            if plan.part is not None and (not wanted.part or alike(plan.name, wanted.part))
        ]
        plan = _plan(each, kept, arranged, parts)
        yield arranged, plan, [part.part for part in parts if part.part is not None]


def _with_arrangement(song: Song, versions: tuple[Version, ...], name: str) -> tuple[Version, ...]:
    found = tuple(each for each in versions if any(alike(a.name, name) for a in each.arrangements))
    if not found:
        names = [a.name for each in versions for a in each.arrangements]
        raise LogbookError(
            f"{song.title} has no arrangement called '{name}'",
            f"it could be {', '.join(names)}" if names else "keep one with `logbook arrange`",
        )
    return found


def _arrangement(version: Version, name: str | None) -> Arrangement:
    """The arrangement named, else one kept for the stage, else any, else the record itself."""
    if name:
        return named(version.arrangements, "name", name, "arrangement")
    kept = sorted(version.arrangements, key=lambda each: each.purpose != "live")
    return kept[0] if kept else Arrangement(name="")


def _plan(
    version: Version, arrangement: Arrangement, arranged: ArrangedVersion, wanted: list[PartPlan]
) -> LivePlan:
    tempo_map, problem = readable_map(arranged.version)
    if problem:
        raise LogbookError(problem, "fix the version's tempo, meter or form first")
    head = version_head(arranged.log, arranged.song, arranged.version, tempo_map)
    timed = tempo_map if arranged.version.tempos else None
    return LivePlan(
        version=version.name,
        arrangement=arrangement.name or AS_RECORDED,
        key=head.key,
        tempos=head.tempos,
        meters=head.meters,
        count_in=_count_in(arrangement, tempo_map),
        length=total_text(lengths_of(arranged)) if timed and arranged.version.form else "",
        said=arrangement.notes,
        road=tuple(
            _stop(each, arranged, timed) for each in arranged.form.passages if each.number == 1
        ),
        cues=_cues(arranged),
        parts=tuple(_part(plan, arranged, tempo_map) for plan in wanted),
        left_out=tuple(plan.name for plan in arranged.parts if plan.part is None),
        differences=tuple(
            each for each in differences(arranged) if not _is_of_others(each, wanted, arranged)
        ),
        remarks=arranged.remarks,
    )


def _is_of_others(
    difference: Difference, wanted: list[PartPlan], arranged: ArrangedVersion
) -> bool:
    """Whether a difference is about a part that is not on this sheet."""
    part = part_of(difference, [plan.name for plan in arranged.parts])
    return bool(part) and part not in {plan.name for plan in wanted}


def part_of(difference: Difference, names: Iterable[str]) -> str:
    """Return which of these parts a difference is about, "" for none; names may have colons."""
    fitting = (name for name in names if difference.about.startswith(f"{name}:"))
    return max(fitting, key=len, default="")


def _count_in(arrangement: Arrangement, tempo_map: TempoMap | None) -> str:
    """The count before the music, said aloud: "1 bar: 1 2 3 4"."""
    bars = arrangement.count_in_bars
    if not bars or tempo_map is None:
        return "none"
    meter = tempo_map.meter_at(1)
    left_out = int(tempo_map.pickup / meter.beat_length)
    counted = [str(meter.count_of(beat)) for beat in range(1, meter.beats + 1)] * bars
    aloud = counted[: len(counted) - left_out]
    word = "bar" if bars == 1 else "bars"
    then = ", then the pick-up" if tempo_map.pickup else ""
    return f"{bars} {word}: {' '.join(aloud)}{then}" if len(aloud) <= 16 else f"{bars} {word}"


# The road map


def _stop(passage: Passage, arranged: ArrangedVersion, timed: TempoMap | None) -> RoadStop:
    last = passage.start + passage.bars * passage.times - 1
    said = passage.said
    how = [f"x{passage.times}"] if passage.times > 1 else []
    how += passage_words(passage)
    if passage.vamp:
        how.append("vamp till cue")
    if said is not None and said.bpm is not None and timed is not None:
        how += [
            change_said(change).removeprefix(f"from bar {change.start} ")
            for change in timed.tempos
            if change.start == BarPoint(passage.start)
        ]
    recorded = next(
        (s.notes for s in arranged.version.form if s.start == passage.start and said is None), ""
    )
    words = [f"cue: {said.cue}"] if said is not None and said.cue else []
    words += [text for text in (said.notes if said is not None else recorded,) if text]
    return RoadStop(
        name=passage.name,
        length=f"{passage.bars} {'bar' if passage.bars == 1 else 'bars'}",
        bars=f"bar {last}" if last == passage.start else f"bars {passage.start}-{last}",
        starts_at=clock(timed.seconds_at(BarPoint(passage.start))) if timed else "",
        how=", ".join(how),
        said="; ".join(words),
    )


def _cues(arranged: ArrangedVersion) -> tuple[str, ...]:
    """What to wait for, and what then comes."""
    cues = []
    firsts = [each for each in arranged.form.passages if each.number == 1]
    for place, passage in enumerate(firsts):
        said = passage.said
        if said is None or not (said.cue or passage.vamp):
            continue
        then = firsts[place + 1].name if place + 1 < len(firsts) else "the end"
        last = passage.start + passage.bars * passage.times - 1
        if passage.vamp:
            wait = said.cue or "the leader's cue"
            cues.append(f"{passage.name}: vamp till {wait}, then {then}")
        else:
            cues.append(f"{passage.name} (bars {passage.start}-{last}): {said.cue}")
    return tuple(cues)


# Parts


def _part(plan: PartPlan, arranged: ArrangedVersion, tempo_map: TempoMap | None) -> LivePart:
    assert plan.part is not None
    sheet = part_sheet(arranged.place(plan.part), tempo_map)
    written, chart = played_chart(plan, arranged, tempo_map, sheet.chart)
    return LivePart(
        name=sheet.name,
        player=sheet.player,
        instrument=plan.part.instrument,
        capo_now=_capo(sheet.rig),
        tuning_now=sheet.rig.tuning,
        rig=sheet.rig,
        hand=sheet.hand,
        technique=sheet.technique,
        technique_notes=sheet.technique_notes,
        said=sheet.said,
        chords=sheet.chords,
        patterns=sheet.patterns,
        chart=chart,
        melody=sheet.melody,
        written=written,
        unreadable=sheet.unreadable,
    )


def _capo(rig: Rig) -> str:
    """The capo in as few words as it can be said: "capo 2", "no capo"."""
    if not rig.strings:
        return ""
    if not rig.capos:
        return "no capo"
    return "capo " + " and ".join(capo.text for capo in rig.capos)


def played_chart(
    plan: PartPlan,
    arranged: ArrangedVersion,
    tempo_map: TempoMap | None,
    own: tuple[ChartSection, ...],
) -> tuple[str, tuple[ChartSection, ...]]:
    """Return what a part's chart is written in ("" at pitch), and the chart.

    It is the part's own, or for a transposing player that has none the chords of another part.
    """
    source = chords_of(arranged, plan)
    if source.name == plan.name:
        return _written(plan, arranged, own) if plan.said.written_for else ("", own)
    written, lent = _written(plan, arranged, part_sheet(arranged.place(source), tempo_map).chart)
    plain = tuple(
        each._replace(
            rows=tuple(tuple(b._replace(pattern="", tune="") for b in row) for row in each.rows)
        )
        for each in lent
    )
    return f"{written}: the chords of {source.name}", plain


def _written(
    plan: PartPlan, arranged: ArrangedVersion, chart: tuple[ChartSection, ...]
) -> tuple[str, tuple[ChartSection, ...]]:
    """A transposing player's chart: the written names stand where shapes do otherwise."""
    interval = part_interval(arranged, plan)
    if interval.semitones % 12 == 0:
        return "", chart
    said = f"written {interval.name}"
    if arranged.key is not None:
        said += f", in {written_key(arranged.key, interval).name}"

    def chord(each: ChartChord) -> ChartChord:
        if each.concert == REST:
            return each
        return each._replace(shape=written_name(each.concert, arranged.key, interval))

    def bar(each: ChartBar) -> ChartBar:
        held = None if each.held is None else chord(each.held)
        return each._replace(held=held, chords=tuple(map(chord, each.chords)))

    return said, tuple(
        section._replace(rows=tuple(tuple(map(bar, row)) for row in section.rows))
        for section in chart
    )
