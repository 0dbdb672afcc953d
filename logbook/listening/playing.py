"""A part's recording made ready for hearing what is played: its file, bars and strings.

Of a part's files the finished one is listened to, else a keeper, else a complete take, else the
longest. The strings are as the player's hand finds them: stopped by the capo. A whole capo is told
to `hear_part`; behind a partial one each string's own open pitch is, with frets counted from there
(see `Strings`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from logbook.editing.takes import TakeId, take_of
from logbook.errors import LogbookError
from logbook.listening.beginnings import music_at
from logbook.listening.decoding import DecodedSound, decode
from logbook.listening.following import HeardBeats, LaidBar, hear_onsets, lay_bars
from logbook.listening.heard import HeardNote
from logbook.listening.line_chart import plays_line
from logbook.listening.line_hearing import line_of
from logbook.listening.part import RELINK, place_of_file, short_id
from logbook.records.charted import Frets
from logbook.records.files import AudioFile
from logbook.records.part_view import PartView
from logbook.strings.capo import check_capos, string_stops, whole_capo
from logbook.strings.frets import CAPO
from logbook.strings.sounding import unfingered_midi
from logbook.strings.tunings import StringTuning
from logbook.timing.bars import BarPoint, BarRange
from logbook.timing.tempo_map import TempoMap

_RANK = {"keeper": 0, "complete": 1, "": 2, "incomplete": 3, "reject": 4, "false start": 5}


@dataclass(frozen=True, kw_only=True, slots=True)
class Strings:
    """Strings under a capo, as `hear_part` is told them.

    open_midi: low to high, `capo`: what it is told; added: frets to add to one heard on each
    string to count it from the nut.
    """

    open_midi: tuple[int, ...]
    capo: int
    added: tuple[int, ...]
    stops: tuple[int, ...]

    def heard(self, from_nut: Sequence[int | None]) -> Frets:
        """Frets from the nut as `hear_part` counts them."""
        return tuple(
            None if f is None else 0 if f <= stop else f - add
            for f, add, stop in zip(from_nut, self.added, self.stops, strict=True)
        )

    def from_nut(self, heard: Sequence[int | None]) -> Frets:
        """Frets that were heard, counted from the nut, 0 for a string that is not fingered."""
        return tuple(
            None if f is None else 0 if f == 0 else f + add
            for f, add in zip(heard, self.added, strict=True)
        )

    def notes(self, from_nut: Sequence[int | None]) -> tuple[int, ...]:
        """MIDI notes in the order of the strings played."""
        return tuple(
            base + max(self.capo, f)
            for base, f in zip(self.open_midi, self.heard(from_nut), strict=True)
            if f is not None
        )


def strings_of(place: PartView) -> Strings:
    """The part's strings. Raises LogbookError where no tuning is logged, or the capo cannot be."""
    tuning = place.tuning
    if tuning is None:
        raise LogbookError(
            f"{place.title} has no tuning", "say the part's tuning, or its instrument's usual one"
        )
    return strings_under(tuning, place.part.capo)


def strings_under(tuning: StringTuning, capo: str) -> Strings:
    """The strings of a tuning under a capo as the log writes it."""
    from logbook.strings.capo import read_capos

    capos = check_capos(read_capos(capo), tuning)
    stops = string_stops(tuning, capos)
    whole = whole_capo(tuning, capos)
    plain = not any(string.start for string in tuning.strings)
    if plain and (not capos or (whole is not None and set(stops) == {whole})):
        fret = whole or 0
        open_midi = tuple(string.midi for string in tuning.strings)
        return Strings(open_midi=open_midi, capo=fret, added=(0,) * len(stops), stops=stops)
    return Strings(open_midi=unfingered_midi(tuning, stops), capo=0, added=stops, stops=stops)


@dataclass(frozen=True, kw_only=True)
class Recording:
    """A part's recording: where it comes from, its sound, its bars.

    called: as people call it ("take 2", "the finished part"). take: None for a finished part.
    line: the notes of a single line without strings (a voice), None for any other part.
    """

    place: PartView
    called: str
    take: TakeId | None
    path: Path
    file: AudioFile | None
    sound: DecodedSound
    heard: HeardBeats
    bars: tuple[LaidBar, ...]
    tempo_map: TempoMap | None
    line: tuple[HeardNote, ...] | None = None

    def seconds_at(self, point: BarPoint) -> float | None:
        """Where a place of the version lies in the file, seconds; None outside its bars."""
        for bar in self.bars:
            if bar.bar == point.bar:
                share = float((point.beat - 1) * bar.meter.beat_length / bar.meter.bar_length)
                return bar.start + share * (bar.end - bar.start)
        if self.bars and point == BarPoint(self.bars[-1].bar + 1):
            return self.bars[-1].end
        return None


@dataclass(frozen=True, kw_only=True)
class Chosen:
    """Which file of a part is listened to, and the bars it plays as far as they are logged."""

    called: str
    take: TakeId | None
    path: Path
    file: AudioFile | None
    covers: BarRange | None


def choose_file(place: PartView, take: TakeId | None = None) -> Chosen:
    """The file to listen to. Raises LogbookError where there is none on the disk."""
    takes = place.takes
    found: list[tuple[int, Chosen]] = []
    missing: list[str] = []
    if take is None:
        for file in place.recorded.files:
            path = place_of_file(file)
            if path.is_file():
                return Chosen(
                    called="the finished part", take=None, path=path, file=file, covers=None
                )
            missing.append(file.path)
    wanted = take_of(takes, take) if take is not None else None
    if take is not None and wanted is None:
        known = ", ".join(str(short_id(each, takes)) for each in takes) or "none"
        raise LogbookError(f"{place.title} has no take {take}", f"its takes are {known}")
    for each, record in zip(takes, place.recorded.takes, strict=True):
        if wanted is not None and each.id != wanted.id:
            continue
        for file in record.files:
            path = place_of_file(file)
            if not path.is_file():
                missing.append(file.path)
                continue
            short = short_id(each, takes)
            rank = _RANK.get(record.result, 2) * 10_000 - min(
                9_999, len(each.bars.bars) if each.bars else 0
            )
            chosen = Chosen(
                called=f"take {short}", take=short, path=path, file=file, covers=each.bars
            )
            found.append((rank, chosen))
    if found:
        return min(found, key=lambda one: one[0])[1]
    if missing:
        raise LogbookError(f"{missing[0]} is not where the log says", RELINK)
    which = f"take {take} of {place.title}" if take is not None else place.title
    raise LogbookError(
        f"{which} has no audio file", "`logbook import FOLDER` attaches files to takes"
    )


def open_recording(place: PartView, take: TakeId | None = None) -> Recording:
    """Decode the file that is listened to, and lay the version's bars over it.

    Raises LogbookError where there is no file, or it cannot be decoded.
    """
    chosen = choose_file(place, take)
    sound = decode(chosen.path)
    line = line_of(sound) if plays_line(place) else None
    # A voice has few sharp onsets: where its notes begin says more.
    heard = note_onsets(line) if line else hear_onsets(sound)
    tempo_map = place.tempo_map
    begins = None
    if tempo_map is not None and chosen.file is not None:
        begins = music_at(place, chosen.file, tempo_map)
    bars = lay_bars(sound, heard, tempo_map, chosen.covers, begins, meter=place.bars.meter_at(1))
    if not bars:
        raise LogbookError(f"no bar is heard in {chosen.path.name}", "give a take with music in it")
    return Recording(
        place=place,
        called=chosen.called,
        take=chosen.take,
        path=chosen.path,
        file=chosen.file,
        sound=sound,
        heard=heard,
        bars=bars,
        tempo_map=tempo_map,
        line=line,
    )


def note_onsets(notes: Sequence[HeardNote]) -> HeardBeats:
    """The beginnings of notes as onsets, one as strong as the other."""
    times = np.array([note.start for note in notes], dtype=np.float64)
    return HeardBeats(times=times, strengths=np.ones(times.size), weights=np.ones(times.size))


def counted_text(frets: Sequence[int | None], stops: Sequence[int], counted: str) -> str:
    """A fret line from frets counted from the nut, as the part counts them."""
    cells = [
        "x" if fret is None else str(fret - stop) if counted == CAPO and fret > stop else str(fret)
        for fret, stop in zip(frets, stops, strict=True)
    ]
    return " ".join(cells)
