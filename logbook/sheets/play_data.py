"""What a page that plays has to know: where bars lie in time, what can be heard, chords to show.

All of it is worked out here, before there is a page; the page's script only looks it up. Times
are in seconds from the music's start.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Sequence
from typing import TYPE_CHECKING, Any

from logbook.arranging.charts import move_name
from logbook.errors import LogbookError
from logbook.plaintext import clean
from logbook.records.context import bars_map
from logbook.records.log import Log
from logbook.records.part_view import PartView
from logbook.records.songs import Song, Version
from logbook.sheets.catalog import make_sheet
from logbook.sheets.charts import ChartBar
from logbook.sheets.looks import Wanted
from logbook.sheets.player import PartSheet, PlayerSheet, VersionSheet
from logbook.sheets.signs import with_dashes, with_signs
from logbook.sheets.text_chart import HELD, SILENT, SLASH, bar_tokens
from logbook.strings.capo import whole_capo
from logbook.theory.keys import Key, parse_key
from logbook.timing.bars import BarPoint, parse_range
from logbook.timing.tempo_map import TempoMap

if TYPE_CHECKING:
    from logbook.playing.making import Wish
    from logbook.playing.recordings import Heard, Sound

SEMITONES = 12
MOST_CAPO = 9
_ROUND = 6
_SIGNS = (HELD, SLASH, SILENT)

Listening = dict[tuple[str, str], "tuple[PartView, TempoMap, Heard]"]
"""What can be heard of each part, by the names of version and part."""


def listen(log: Log, song: Song) -> Listening:
    """Return what can be heard of every part of a song, by the names of version and part.

    Raises LogbookError without the extra `listen`.
    """
    from logbook.listening.extra import require

    require()
    from logbook.playing.recordings import Heard, mixes_of, sounds_of

    found = {}
    for version in song.versions:
        for part in version.parts:
            place = PartView(log, song, version, part)
            try:
                bars = bars_map(version)
                own, mixes = sounds_of(place, bars), mixes_of(place)
                heard = Heard(own.sounds + mixes.sounds, own.missing + mixes.missing)
            except LogbookError as error:
                heard = Heard((), (f"{place.title}: {error.problem}",))
                bars = bars_map(Version(name=version.name))
            found[version.name, part.name] = (place, bars, heard)
    return found


def wishes_of(heard: Listening) -> tuple[list[Wish], list[str]]:
    """Return every sound that is to be made, each once, and what is missing, each said once."""
    from logbook.playing.making import Wish

    wishes: dict[str, Wish] = {}
    missing: dict[str, None] = {}
    for place, bars, found in heard.values():
        for sound in found.sounds:
            wishes.setdefault(sound.key, Wish(sound, place, bars))
        missing.update(dict.fromkeys(found.missing))
    return list(wishes.values()), list(missing)


def play_text(
    log: Log,
    song: Song,
    heard: Listening,
    src: Callable[[Sound], str],
) -> str:
    """Return all this as JSON that can stand in a page; `src` is the address of a sound's file."""
    sheet: PlayerSheet = make_sheet("player", log, Wanted(song.title)).data
    versions = [
        _version(version, shown, [heard.get((version.name, part.name)) for part in version.parts],
                 src)
        for version, shown in zip(song.versions, sheet.versions, strict=True)
    ]  # fmt: skip
    data = {"song": clean(song.title), "versions": versions}
    text = json.dumps(data, ensure_ascii=False, separators=(",", ":"))
    # Nothing in it may end the element it stands in.
    for sign in "<>&\u2028\u2029":
        text = text.replace(sign, f"\\u{ord(sign):04x}")
    return text


def _version(
    version: Version,
    shown: VersionSheet,
    heard: Sequence[tuple[PartView, TempoMap, Heard] | None],
    src: Callable[[Sound], str],
) -> dict[str, Any]:
    bars = next((each[1] for each in heard if each), None) or bars_map(Version(name=""))
    timed = bool(version.tempos)
    last = _last_bar(version)
    key = _key(version)
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
        "parts": [
            _part(each, part, bars, key, timed, src)
            for each, part in zip(heard, shown.parts, strict=True)
            if each is not None
        ],
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
    found: tuple[PartView, TempoMap, Heard],
    sheet: PartSheet,
    bars: TempoMap,
    key: Key | None,
    timed: bool,
    src: Callable[[Sound], str],
) -> dict[str, Any]:
    from logbook.playing.recordings import CHORDS, LOGGED

    place, _, heard = found
    chords: dict[str, Any] = {}
    for sound in heard.sounds:
        if sound.kind == CHORDS:
            from logbook.playing.parts import chord_places

            chords = {
                "src": src(sound),
                "at": {
                    clean(each.label): [_round(each.start_s), _round(each.end_s)]
                    for each in chord_places(place)
                },
            }
    return {
        "name": sheet.name,
        "tracks": [
            {
                "kind": sound.kind,
                "label": clean(sound.label),
                "said": clean(sound.said),
                "src": src(sound),
                "at": _round(sound.starts_at),
                "long": _round(sound.seconds),
                "bars": with_dashes(clean(sound.bars)),
                "take": clean(sound.take),
                "free": not timed and sound.kind != LOGGED,
            }
            for sound in heard.sounds
            if sound.kind != CHORDS
        ],
        "chords": chords,
        "pieces": _pieces(sheet, bars),
        "stage": _stage(sheet, key),
    }


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


# The stage


def _stage(sheet: PartSheet, key: Key | None) -> dict[str, Any]:
    """The chart in short: sections with their bars, and every chord in twelve keys.

    With a whole capo a shape's name is the concert name moved down by the capo, so the same
    twelve names serve as shapes.
    """
    names: dict[str, int] = {}
    spelled: list[list[str]] = []
    shapes: list[str] = []

    def number(concert: str, shape: str) -> int:
        at = names.setdefault(f"{concert}\0{shape}", len(names))
        if at == len(spelled):
            spelled.append([with_signs(each) for each in _in_all_keys(concert, key)])
            shapes.append(with_signs(shape or concert))
        return at

    sections = [
        {
            "name": each.name or "outside the form",
            "said": each.said,
            "bars": [
                _stage_bar(bar, number, starts_row=bar is row[0])
                for row in each.rows
                for bar in row
            ],
        }
        for each in sheet.chart
    ]
    drawn = next((card.drawn for card in sheet.chords if card.drawn is not None), None)
    whole = (whole_capo(drawn.tuning, drawn.capos) or 0) if drawn and drawn.capos else 0
    partly = bool(drawn and drawn.capos) and not whole
    return {
        "sections": sections,
        "names": spelled,
        "shapes": shapes,
        "capo": whole,
        "capoSaid": sheet.rig.capo if partly else "",
        "strings": bool(sheet.rig.strings),
    }


def _stage_bar(bar: ChartBar, number: Callable[[str, str], int], *, starts_row: bool) -> list[Any]:
    """A bar: its number, what stands over it, its signs and chords, some with a count ("@2&")."""
    tokens: list[Any] = []
    for concert, shape, _ in bar_tokens(bar, starts_row=starts_row):
        name, at, count = concert.partition("@")
        if concert in _SIGNS:
            tokens.append(concert)
        else:
            tokens.append([number(name, shape), at + count] if at else number(name, shape))
    return [bar.bar, with_dashes("  ".join((*bar.marks, *bar.notes))), tokens]


def _in_all_keys(name: str, key: Key | None) -> Iterable[str]:
    yield name
    for by in range(1, SEMITONES):
        yield move_name(name, by, key.transpose(by) if key else None, key)


def _key(version: Version) -> Key | None:
    try:
        return parse_key(version.key) if version.key else None
    except LogbookError:
        return None


def _seconds(bars: TempoMap, point: BarPoint) -> float:
    return _round(bars.seconds_at(point))


def _round(seconds: Any) -> float:
    return round(float(seconds), _ROUND)
