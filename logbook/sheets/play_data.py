"""What a page that plays has to know: where bars lie in time, what can be heard, chords to show.

All of it is worked out here, before there is a page; the page's script only looks it up. Times
are in seconds from the music's start.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

from logbook.errors import LogbookError
from logbook.plaintext import clean
from logbook.records.context import bars_map
from logbook.records.log import Log
from logbook.records.part_view import PartView
from logbook.records.songs import Song, Version
from logbook.sheets.catalog import make_sheet
from logbook.sheets.harmless import harmless
from logbook.sheets.looks import Wanted
from logbook.sheets.play_stage import SEMITONES, stage_of
from logbook.sheets.player import PartSheet, PlayerSheet
from logbook.sheets.signs import with_dashes, with_signs
from logbook.theory.keys import Key, parse_key
from logbook.timing.bars import BarPoint, parse_range
from logbook.timing.tempo_map import TempoMap

if TYPE_CHECKING:
    from logbook.playing.making import Wish
    from logbook.playing.parts import StruckStrings
    from logbook.playing.recordings import PartSounds, Sound
    from logbook.sheets.live import LivePart

AS_LOGGED = "logged"
_ROUND, _ROUND_NOTES = 6, 4

Addresses = Callable[["Sound"], str]
"""The address of a sound's file, as a page names it."""


class Plays(NamedTuple):
    """What the pages of a song have to know: `recorded` where bars are the recording's, `live`.

    Both are JSON that can stand in a page.
    """

    recorded: str
    live: str

    def of(self, kind: str) -> str:
        """Return what a sheet of this kind has to know; empty where it does not play."""
        if kind == "live":
            return self.live
        return self.recorded if kind in ("player", "lesson", "chart", "comp", "takes") else ""


class _Played(NamedTuple):
    """A part as a page shows it, where it stands, and what of it can be heard."""

    sheet: PartSheet | LivePart
    place: PartView
    sounds: tuple[Sound, ...]
    pieces: list[list[Any]]


Listening = dict[tuple[str, str], "tuple[PartView, TempoMap, PartSounds]"]
"""What can be heard of each part, by the names of version and part."""


def listen(log: Log, song: Song) -> Listening:
    """Return what can be heard of every part of a song, by the names of version and part.

    Raises LogbookError without the extra `listen`.
    """
    from logbook.listening.extra import require

    require()
    from logbook.playing.recordings import PartSounds, mixes_of, sounds_of

    found = {}
    for version in song.versions:
        for part in version.parts:
            place = PartView(log, song, version, part)
            try:
                bars = bars_map(version)
                own, mixes = sounds_of(place), mixes_of(place)
                heard = PartSounds(own.sounds + mixes.sounds, own.missing + mixes.missing)
            except LogbookError as error:
                heard = PartSounds((), (f"{place.title}: {error.problem}",))
                bars = bars_map(Version(name=version.name))
            found[version.name, part.name] = (place, bars, heard)
    return found


def wishes_of(heard: Listening) -> tuple[list[Wish], list[str]]:
    """Return every sound that is to be made, each once, and what is missing, each said once."""
    from logbook.playing.making import Wish

    wishes: dict[str, Wish] = {}
    missing: dict[str, None] = {}
    for place, _, found in heard.values():
        for sound in found.sounds:
            wishes.setdefault(sound.key, Wish(sound, place))
        missing.update(dict.fromkeys(found.missing))
    return list(wishes.values()), list(missing)


def plays_of(
    log: Log, song: Song, heard: Listening, src: Addresses, wanted: Wanted | None = None
) -> Plays:
    """Return what the pages of a song have to know; `wanted` is what a live sheet is made of."""
    return Plays(
        _text(song, list(_recorded(log, song, heard, src))),
        _text(song, list(_live(log, wanted or Wanted(song.title), heard, src))),
    )


def _text(song: Song, versions: list[dict[str, Any]]) -> str:
    data = {"song": clean(song.title), "versions": versions}
    text = json.dumps(data, ensure_ascii=False, separators=(",", ":"))
    # Nothing in it may end the element it stands in.
    for sign in "<>&\u2028\u2029":
        text = text.replace(sign, f"\\u{ord(sign):04x}")
    return text


def _recorded(log: Log, song: Song, heard: Listening, src: Addresses) -> Iterable[dict[str, Any]]:
    """The versions as they were recorded."""
    sheet: PlayerSheet = make_sheet("player", log, Wanted(song.title)).data
    for version, shown in zip(song.versions, sheet.versions, strict=True):
        parts = []
        bars = None
        for part, part_sheet in zip(version.parts, shown.parts, strict=True):
            found = heard.get((version.name, part.name))
            if found is not None:
                place, bars, known = found
                pieces = _pieces(part_sheet, bars)
                parts.append(_Played(part_sheet, place, known.sounds, pieces))
        yield _version(version, bars or bars_map(Version(name="")), parts, src)


def _live(log: Log, wanted: Wanted, heard: Listening, src: Addresses) -> Iterable[dict[str, Any]]:
    """The versions as they are played live: a recording goes with one that plays as recorded."""
    from logbook.sheets.live import AS_RECORDED, plans_of

    sounds = {tuple(map(clean, names)): found.sounds for names, (_, _, found) in heard.items()}
    try:
        plans = plans_of(harmless(log), Wanted(*map(clean, wanted)))
    except LogbookError:
        return  # the sheet says why
    for arranged, plan, parts in plans:
        version = arranged.version
        try:
            bars = bars_map(version)
        except LogbookError:
            continue
        as_recorded = plan.arrangement == AS_RECORDED
        played = [
            _Played(sheet, arranged.place(part),
                    sounds.get((plan.version, sheet.name), ()) if as_recorded else (), [])
            for sheet, part in zip(plan.parts, parts, strict=True)
        ]  # fmt: skip
        yield {**_version(version, bars, played, src), "name": clean(plan.version)}


def _version(
    version: Version, bars: TempoMap, parts: Sequence[_Played], src: Addresses
) -> dict[str, Any]:
    last = _last_bar(version)
    key = _key(version)
    timed = bool(version.tempos)
    return {
        "name": clean(version.name),
        "timed": timed,
        "bars": [_bar(bars, number) for number in range(bars.first_bar, last + 1)],
        "end": _seconds(bars, BarPoint(last + 1)),
        "sections": [
            [clean(each.name), each.start, each.start + each.bars - 1]
            for each in sorted(version.form, key=lambda each: each.start)
        ],
        "keys": [with_signs(key.transpose(by).name) for by in range(SEMITONES)] if key else [],
        "parts": [_part(each, bars, key, timed, src) for each in parts],
    }


def _last_bar(version: Version) -> int:
    ends = [each.start + each.bars - 1 for each in version.form]
    for part in version.parts:
        ends += [entry.bar for entry in part.chart]
        for take in part.takes:
            try:
                ends.append(parse_range(take.bars).bars[-1] if take.bars else 1)
            except LogbookError:
                continue
    return max(ends, default=1)


def _bar(bars: TempoMap, number: int) -> list[float]:
    """A bar: its number, when it begins, how many felt beats it has and how long the first is."""
    meter = bars.meter_at(number)
    start = bars.bar_start(number)
    beats = meter.felt_beats
    if number == 0:
        beats = max(round(float(bars.pickup / meter.felt_beat_length)), 1)
    beat = bars.tempo_at(bars.point_at(start)).wholes_a_second
    free = bars.is_free(start)
    return [
        number,
        _round(bars.seconds_at_wholes(start)),
        beats,
        0 if free else _round(meter.felt_beat_length / beat),
    ]


def _part(
    played: _Played, bars: TempoMap, key: Key | None, timed: bool, src: Addresses
) -> dict[str, Any]:
    tracks = [
        {
            "kind": sound.kind,
            "label": clean(sound.label),
            "said": clean(sound.said),
            "src": src(sound),
            "at": _round(sound.starts_at),
            "long": _round(sound.seconds),
            "bars": with_dashes(clean(sound.bars)),
            "take": clean(sound.take),
            "free": not timed,
        }
        for sound in played.sounds
    ]
    strokes, chords, plucked = _plucked(played.place, bars)
    return {
        "name": played.sheet.name,
        "tracks": tracks + plucked,
        "strokes": strokes,
        "chords": chords,
        "pieces": played.pieces,
        "stage": stage_of(played.sheet, key),
    }


def _plucked(
    place: PartView, bars: TempoMap
) -> tuple[list[list[Any]], dict[str, int], list[dict[str, Any]]]:
    """The part as it is logged: its strokes, each once, those of its chords, and the track.

    A stroke is how hard and which strings, each in hertz (two where it is a course, 0 a hit); a
    note of the track when, how long and which stroke.
    """
    from logbook.playing.parts import TAIL_S, strokes_of
    from logbook.theory.pitch import midi_to_hz

    try:
        found = strokes_of(place, bars)
    except LogbookError:
        return [], {}, []
    numbers: dict[StruckStrings, int] = {}

    def number(stroke: StruckStrings) -> int:
        return numbers.setdefault(stroke, len(numbers))

    chords = {clean(label): number(stroke) for label, stroke in found.chords.items()}
    notes = [
        [round(each.start_s, _ROUND_NOTES), round(each.seconds, _ROUND_NOTES), number(each.stroke)]
        for each in found.struck
    ]
    strokes = [
        [stroke.strength]
        + [
            [round(midi_to_hz(midi, found.a4_hz), 2) if midi else 0 for midi in course]
            for course in stroke.strings
        ]
        for stroke in numbers
    ]
    if not notes:
        return strokes, chords, []
    track = {
        "kind": AS_LOGGED,
        "label": "as logged",
        "said": "plucked by the logbook",
        "at": 0,
        "long": _round(max(start + seconds for start, seconds, _ in notes) + TAIL_S),
        "notes": notes,
    }
    return strokes, chords, [track]


def _pieces(sheet: PartSheet, bars: TempoMap) -> list[list[Any]]:
    """The runs of the comp: bars as they are written, from when to when, and which take."""
    strip = sheet.edit.strip
    found = []
    for run in strip.runs if strip else ():
        try:
            span = parse_range(run.bars)
            times = [_seconds(bars, span.start), _seconds(bars, span.end)]
        except LogbookError:
            continue
        found.append([run.bars, *times, run.take])
    return found


def _key(version: Version) -> Key | None:
    try:
        return parse_key(version.key) if version.key else None
    except LogbookError:
        return None


def _seconds(bars: TempoMap, point: BarPoint) -> float:
    return _round(bars.seconds_at(point))


def _round(seconds: Any) -> float:
    return round(float(seconds), _ROUND)
