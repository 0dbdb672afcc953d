"""What the pieces of a comp draw on outside their own part, found in the log.

A piece may come from a take of another version of the song (of the part of the same name there,
unless it names another), or from a finished file: of a version a mix or a master, of a part a
bounce. "mix", "master" and "bounce" mean the only such file, or the one with that word in its name;
any other word is the file's own name. Bars there are counted by that version's meters and tempos.
A finished file begins where its version's music does, unless its clock says otherwise.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from typing import NamedTuple

from logbook.editing.survey import Maps
from logbook.editing.takes import FINISHED, TakeId, TakeSpan
from logbook.editing.words import named
from logbook.names import alike
from logbook.records.context import (
    PartPlace,
    bars_map,
    piece_of_record,
    sections_of,
    take_of_record,
    tempo_map_of,
)
from logbook.records.files import AudioFile
from logbook.records.parts import Comp, Part
from logbook.records.songs import Version
from logbook.timing.bars import BarRange
from logbook.timing.tempo_map import TempoMap

_LOST_S = Fraction(1, 1000)  # a file this little short of a bar line still holds the bar


class Elsewhere(NamedTuple):
    """The takes and finished files elsewhere that a comp draws on, and their versions' maps."""

    takes: tuple[TakeSpan, ...]
    maps: Maps


class Drawn(NamedTuple):
    """Where a piece draws on: the version and part that are meant, None where there is none.

    `files` are the finished files that may be meant: exactly one where it is clear.
    """

    id: TakeId
    version: Version | None
    part: Part | None
    files: tuple[AudioFile, ...]

    def session_of(self, session: str) -> str:
        """Return the session that tells a take there: none where its number alone does."""
        takes = self.part.takes if self.part else ()
        shared = sum(each.number == self.id.number for each in takes) > 1
        return session if shared or self.id.session else ""


def drawn_on(place: PartPlace, comp: Comp) -> Iterator[Drawn]:
    """Yield what the pieces of a comp draw on outside their part, each once."""
    ids = [piece_of_record(each).take for each in comp.pieces if each.is_elsewhere]
    return (_find(place, each) for each in dict.fromkeys(ids))


def elsewhere(place: PartPlace, comp: Comp) -> Elsewhere:
    """Return what a comp draws on outside its part, as far as it is in the log.

    Raises LogbookError where meters, tempos or bars of the other version cannot be read.
    """
    takes: dict[TakeId, TakeSpan] = {}
    maps: dict[str, TempoMap] = {}
    for drawn in drawn_on(place, comp):
        if drawn.version is None:
            continue
        if drawn.id.version:
            maps[drawn.id.version] = bars_map(drawn.version)
        for span in _spans(drawn, drawn.version):
            takes[span.id] = span
    return Elsewhere(tuple(takes.values()), maps)


def why_missing(place: PartPlace, take: TakeId) -> tuple[str, str]:
    """Say why what a piece names is not there, and what would mend it."""
    drawn = _find(place, take)
    title = place.song.title
    if drawn.version is None:
        names = ", ".join(each.name for each in place.song.versions)
        return f"there is no version {take.version} of {title}", f"name one of {names}"
    if drawn.part is None and not _is_of_version(take):
        names = ", ".join(each.name for each in drawn.version.parts) or "none yet"
        return (
            f"{drawn.version.name} of {title} has no part {take.part or place.part.name}",
            f"name the part after a slash, as in {drawn.version.name}/guitar; parts: {names}",
        )
    if take.file:
        names = ", ".join(each.path for each in drawn.files)
        if names:
            return (
                f"{named(take)} may be any of {names}",
                'name the file, as in file "mixes/last.wav" of album',
            )
        return f"{named(take)} is not in the log", "import the file, or name another"
    where = f"{drawn.part.name if drawn.part else ''} of {drawn.version.name}"
    return f"there is no take {take.number} of {where}", "correct the number, or log the take"


def _is_of_version(take: TakeId) -> bool:
    return bool(take.file) and take.file != "bounce" and not take.part


def _find(place: PartPlace, take: TakeId) -> Drawn:
    version: Version | None = place.version
    if take.version:
        version = next((e for e in place.song.versions if alike(e.name, take.version)), None)
    if version is None:
        return Drawn(take, None, None, ())
    name = take.part or place.part.name
    part = next((each for each in version.parts if alike(each.name, name)), None)
    files: tuple[AudioFile, ...] = ()
    if take.file:
        owner = version if _is_of_version(take) else part
        files = files_meant(owner.files if owner else (), take.file)
    return Drawn(take, version, part, files)


def files_meant(files: tuple[AudioFile, ...], word: str) -> tuple[AudioFile, ...]:
    """Return the finished files a word may mean; a copy of the same sound is no other file."""
    once = tuple({each.digest or each.path: each for each in reversed(files)}.values())
    if word in FINISHED:
        called = tuple(each for each in once if word in re.findall(r"[a-z]+", _name(each).lower()))
        return called if len(called) == 1 or (len(once) != 1 and called) else once
    return tuple(each for each in once if alike(word, each.path) or alike(word, _name(each)))


def _name(file: AudioFile) -> str:
    return file.path.rpartition("/")[2]


def _spans(drawn: Drawn, version: Version) -> Iterator[TakeSpan]:
    """The takes of that number, or the finished file as if it were a take."""
    take = drawn.id
    if take.file:
        if len(drawn.files) == 1:
            bars = _bars_of_file(version, drawn.files[0])
            yield TakeSpan(
                number=0, version=take.version, part=take.part, file=take.file, bars=bars
            )
        return
    for record in drawn.part.takes if drawn.part else ():
        if record.number == take.number:
            span = take_of_record(record)
            yield replace(
                span,
                session=drawn.session_of(span.session),
                version=take.version,
                part=take.part,
                bars=span.bars or _bars_of_form(version),
            )


def _bars_of_form(version: Version) -> BarRange | None:
    sections = sections_of(version)
    if not sections:
        return None
    bars = bars_map(version)
    return bars.range_between(Fraction(0), max(bars.span_of(each.bars)[1] for each in sections))


def _bars_of_file(version: Version, file: AudioFile) -> BarRange | None:
    """The whole bars a finished file holds by its length; without one, those of the form."""
    bars = tempo_map_of(version)
    if bars is None or not file.frames or not file.rate_hz:
        return _bars_of_form(version)
    seconds = Fraction(file.frames, file.rate_hz)
    last = bars.point_at(bars.wholes_at_seconds(seconds + _LOST_S)).bar
    end = bars.bar_start(last)
    return bars.range_between(Fraction(0), end) if end > 0 else None
