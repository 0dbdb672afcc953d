"""One song of a draft: tempo, key and form from its parts together, and each part as heard."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any

from logbook.drafting.naming import TUNINGS, kind_of
from logbook.drafting.takes import AGREES, HeardFile, Passes
from logbook.errors import LogbookError
from logbook.listening import compare_doubles
from logbook.listening.chart_heard import (
    chart_of,
    hear_notes,
    plays_single_notes,
)
from logbook.listening.charts import HeardChart
from logbook.listening.following import LaidBar, lay_bars
from logbook.listening.free_tempo import FreeTempo, hear_tempo
from logbook.listening.picking_heard import HeardPicking, hear_picking
from logbook.listening.pitches import agreement, pitch_frames
from logbook.listening.playing import Recording, Strings, strings_of
from logbook.listening.stretches import Stretch, hear_stretches
from logbook.notebook.declare import Context
from logbook.notebook.time_lines import read_tempo_lines
from logbook.notebook.working_copy import LogKnown
from logbook.records import (
    FormSection,
    Instrument,
    Log,
    MeterChange,
    Part,
    Song,
    TempoChange,
    Version,
)
from logbook.records.context import tempo_map_of
from logbook.records.part_view import PartView
from logbook.theory.likely import likely_keys
from logbook.timing.bars import BarPoint, BarRange
from logbook.timing.map_text import tempo_lines
from logbook.timing.tempo_map import TempoMap

VERSION = "session"
MOST_CAPO = 5  # a higher one is seldom meant where none was said
CAPO_SHARE, BELOW_SHARE = 0.5, 0.15  # of the stretches whose lowest fret is the capo, or below it
CHORDS = ("guitar", "mandolin", "ukulele", "banjo", "bass")
LED_BY = ("guitar", "mandolin", "ukulele", "banjo", "piano", "bass", "drums", "strings", "voice")


@dataclass(frozen=True, kw_only=True, slots=True)
class SaidBefore:
    """What was said beforehand: tuning, capo and key, "" for what is to be heard."""

    tuning: str = ""
    capo: str = ""
    key: str = ""


@dataclass(frozen=True, kw_only=True)
class HeardPart:
    """A part as heard: its files told apart, its bars, chart and picking where it has strings.

    starts_s: seconds in the song at which the fullest recording begins.
    """

    name: str
    kind: str
    passes: Passes
    starts_s: float
    bars: tuple[LaidBar, ...]
    chart: HeardChart | None
    picking: HeardPicking | None
    capo: str = ""
    problem: str = ""


@dataclass(frozen=True, kw_only=True)
class HeardSong:
    """A song as heard: its version without parts, the map's certainty, parts and doubles.

    doubles: pairs of parts of which the second plays the first again, with the middle distance of
    their notes in milliseconds.
    """

    title: str
    version: Version
    tempo: FreeTempo | None
    tempo_map: TempoMap | None
    key_reason: str
    parts: tuple[HeardPart, ...]
    doubles: tuple[tuple[str, str, float], ...]


def hear_song(title: str, parts: Mapping[str, Passes], said: SaidBefore) -> HeardSong:
    """Hear one song; `parts` are the files of each part, told apart."""
    kinds = {name: kind_of(name) for name in parts}
    order = sorted(parts, key=lambda name: (LED_BY.index(kinds[name]), -parts[name].fullest.lasts))
    leader, tempo = _tempo(order, parts)
    version = Version(name=VERSION, key=said.key)
    tempo_map: TempoMap | None = None
    if tempo is not None:
        version = replace(
            version,
            meters=(MeterChange(bar=1, meter=str(tempo.meter)),),
            tempos=_tempo_records(tempo),
            pickup_beats=tempo.pickup_beats,
        )
        tempo_map = tempo_map_of(version)
    begins = tempo.laid.start_s if tempo else 0.0
    first: list[HeardPart] = []
    stretches: dict[str, tuple[Stretch, ...]] = {}
    for name in order:
        starts = 0.0 if name == leader else _starts(parts[name], parts[leader])
        part, found = _hear_part(
            title, name, kinds[name], parts[name], version, tempo_map, starts, begins, said
        )
        first.append(part)
        if found:
            stretches[name] = found
    key, reason = (said.key, "") if said.key else _key(first)
    version = replace(version, key=key)
    lead = next((part for part in first if part.chart and part.kind != "bass"), None) or next(
        (part for part in first if part.chart), None
    )
    if lead is not None and lead.chart is not None:
        sections = tuple(
            FormSection(name=each.name, start=each.start, bars=each.bars)
            for each in lead.chart.sections
        )
        version = replace(version, form=sections)
    done = tuple(_named(title, part, version, stretches.get(part.name), said) for part in first)
    return HeardSong(
        title=title,
        version=version,
        tempo=tempo,
        tempo_map=tempo_map,
        key_reason=reason,
        parts=tuple(sorted(done, key=lambda part: list(parts).index(part.name))),
        doubles=_doubles(done),
    )


def _tempo(order: Sequence[str], parts: Mapping[str, Passes]) -> tuple[str, FreeTempo | None]:
    """The part whose recording tells the tempo best, and the tempo."""
    best: tuple[float, str, FreeTempo] | None = None
    for name in order:
        sound = parts[name].fullest.sound
        if sound is None or kind_of(name) == "voice":
            continue
        try:
            found = hear_tempo(sound)
        except LogbookError:
            continue
        # The leading parts first: a steady map, close to its beats, over many of them.
        worth = len(found.beats.times) ** 0.5 - 60.0 * found.laid.usual_s
        worth += 3.0 * found.laid.steady - 0.5 * order.index(name)
        if best is None or worth > best[0]:
            best = (worth, name, found)
    return (best[1], best[2]) if best else (order[0], None)


def _tempo_records(tempo: FreeTempo) -> tuple[TempoChange, ...]:
    """The map as the log has it."""
    bare = Version(name=VERSION, meters=(MeterChange(bar=1, meter=str(tempo.meter)),))
    context = Context(known=LogKnown(Log()), owners=(Song(title="draft"), bare))
    lines: list[Any] = list(tempo_lines(tempo.laid.tempo_map))
    return tuple(read_tempo_lines(lines, context).records)


def _starts(part: Passes, leader: Passes) -> float:
    """Seconds in the leader's recording at which the part's begins, by their pitches."""
    mine, other = part.fullest.sound, leader.fullest.sound
    if mine is None or other is None:
        return 0.0
    shifts, found = agreement(
        pitch_frames(mine.samples, mine.rate), pitch_frames(other.samples, other.rate)
    )
    inside = (shifts > -1.0) & (shifts < other.seconds)
    shifts, found = shifts[inside], found[inside]
    if not found.size or float(found.max()) < AGREES:
        return 0.0
    # Parts that are as long as each other begin together, unless they clearly do not.
    near = abs(shifts) < 0.35
    if near.any() and float(found[near].max()) > float(found.max()) - 0.08:
        return 0.0
    return float(shifts[int(found.argmax())])


def placed_in(
    title: str, name: str, kind: str, version: Version, said: SaidBefore, capo: str = ""
) -> PartView:
    """The part in a log of its own, as far as it is known."""
    tuning = (said.tuning if kind == "guitar" else "") or TUNINGS.get(kind, "")
    part = Part(name=name, instrument=kind, tuning=tuning, capo=capo)
    instrument = Instrument(name=kind, kind=kind, tuning=TUNINGS.get(kind, ""))
    song = Song(title=title, versions=(replace(version, parts=(part,)),))
    return PartView(Log(instruments=(instrument,), songs=(song,)), song, song.versions[0], part)


def _hear_part(
    title: str,
    name: str,
    kind: str,
    passes: Passes,
    version: Version,
    tempo_map: TempoMap | None,
    starts_s: float,
    begins_s: float,
    said: SaidBefore,
) -> tuple[HeardPart, tuple[Stretch, ...]]:
    fullest = passes.fullest
    empty = HeardPart(
        name=name, kind=kind, passes=passes, starts_s=starts_s, bars=(), chart=None, picking=None
    )
    if fullest.sound is None or fullest.onsets is None or fullest.problem or tempo_map is None:
        return replace(empty, problem=fullest.problem), ()
    music_at = begins_s - starts_s
    covers = None
    if music_at < -0.25:
        here = tempo_map.point_at_seconds(Fraction(-music_at).limit_denominator(10_000))
        nearest = here.bar + (here.beat > 1 + tempo_map.meter_at(here.bar).beats / 2)
        last = tempo_map.point_at_seconds(
            Fraction(fullest.onsets.times[-1] - music_at).limit_denominator(10_000)
        )
        if last.bar >= nearest:
            covers = BarRange(BarPoint(nearest), BarPoint(last.bar + 1))
    bars = lay_bars(fullest.sound, fullest.onsets, tempo_map, covers, music_at)
    if kind not in CHORDS or not bars:
        return replace(empty, bars=bars), ()
    capo = said.capo if kind == "guitar" else ""
    try:
        place = placed_in(title, name, kind, version, said, capo)
        stretches, strings, single = _heard_under(place, fullest, bars)
        guess = "" if capo or kind != "guitar" else likely_capo(stretches)
        if guess:
            capo = guess
            place = placed_in(title, name, kind, version, said, capo)
            stretches, strings, single = _heard_under(place, fullest, bars)
        tuning = place.tuning
        assert tuning is not None, "strings_of has seen to it"
        chart = chart_of(place, stretches, strings, tuning, bars, single=single)
    except LogbookError as error:
        return replace(empty, bars=bars, problem=str(error)), ()
    recording = Recording(
        place=place,
        called=name,
        take=None,
        path=fullest.named.path,
        file=None,
        sound=fullest.sound,
        heard=fullest.onsets,
        bars=bars,
        tempo_map=tempo_map,
    )
    grips = {each.bar: each.readings[0].frets for each in reversed(stretches) if each.readings}
    picking = hear_picking(recording, grips=grips)
    return replace(empty, bars=bars, chart=chart, picking=picking, capo=capo), stretches


def _heard_under(
    place: PartView, fullest: HeardFile, bars: Sequence[LaidBar]
) -> tuple[tuple[Stretch, ...], Strings, bool]:
    """The stretches of a part's fullest recording, with its strings as they are taken to be."""
    assert fullest.sound is not None, "a part that is heard has sound"
    strings = strings_of(place)
    single = plays_single_notes(place)
    path, seconds = fullest.named.path, fullest.sound.seconds
    if single:
        return hear_notes(path, bars, strings, seconds), strings, True
    return hear_stretches(path, bars, strings, seconds), strings, False


def likely_capo(stretches: Sequence[Stretch]) -> str:
    """The capo that a part's grips speak for: "" for none.

    With a capo on and none said, whatever rings open is heard as a barre that never moves.
    """
    lowest = [
        min(fret for fret in each.readings[0].frets if fret is not None)
        for each in stretches
        if each.readings
    ]
    if len(lowest) < 4:
        return ""
    fret, count = Counter(lowest).most_common(1)[0]
    below = sum(other < fret for other in lowest)
    if not 0 < fret <= MOST_CAPO or count < CAPO_SHARE * len(lowest):
        return ""
    return str(fret) if below <= BELOW_SHARE * len(lowest) else ""


def _named(
    title: str,
    part: HeardPart,
    version: Version,
    stretches: tuple[Stretch, ...] | None,
    said: SaidBefore,
) -> HeardPart:
    """The part with its chords named in the song's key."""
    if not stretches:
        return part
    place = placed_in(title, part.name, part.kind, version, said, part.capo)
    tuning = place.tuning
    assert tuning is not None, "a part with stretches has strings"
    single = plays_single_notes(place)
    chart = chart_of(place, stretches, strings_of(place), tuning, part.bars, single=single)
    return replace(part, chart=chart)


def _key(parts: Sequence[HeardPart]) -> tuple[str, str]:
    """The likely key of the chords of all parts, and why."""
    names = []
    for part in parts:
        if part.chart is None or part.kind == "bass":
            continue
        names += [entry.label.partition("_")[0] for entry in part.chart.entries if entry.label]
    names = [name for name in names if name and "+" not in name]
    try:
        best = likely_keys(names, limit=1)[0]
    except (LogbookError, IndexError):
        return "", ""
    return best.key.name.removesuffix(" major"), best.reason


def _doubles(parts: Sequence[HeardPart]) -> tuple[tuple[str, str, float], ...]:
    """Pairs of parts of one kind of which the second plays the first again."""
    out = []
    for n, one in enumerate(parts):
        for other in parts[n + 1 :]:
            if one.kind != other.kind or one.kind not in CHORDS:
                continue
            if min(one.passes.fullest.seconds, other.passes.fullest.seconds) < 3.0:
                continue
            try:
                found = compare_doubles(
                    one.passes.fullest.named.path, other.passes.fullest.named.path
                )
            except LogbookError:
                continue
            if found.kind == "second performance" and found.timing is not None:
                out.append((one.name, other.name, found.timing.median_ms))
    return tuple(out)


def heard_files(passes: Passes) -> tuple[HeardFile, ...]:
    """All files of a part."""
    takes = tuple(each.file for each in passes.takes)
    return takes + ((passes.finished,) if passes.finished else ())
