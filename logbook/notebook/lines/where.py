"""Where a notebook line is read: the song, version and part at hand, and what is known by name."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from logbook.notebook.lines.kinds import kind_in
from logbook.records import FormSection, Instrument, Part, Session, Song, Tuning, Version
from logbook.records.context import sections_of
from logbook.strings.capo import Capos, read_capos
from logbook.strings.instruments import KINDS
from logbook.strings.tunings import StringTuning as Strung
from logbook.strings.tunings import find_tuning, parse_tuning
from logbook.timing.bars import BarRange


@dataclass(frozen=True, kw_only=True)
class Where:
    """The log as far as one line needs it.

    `song` is the current song with all its versions, `version` and `part` the names of the
    current ones. `titles`, `people` and `sessions` are all names in the log. `session` is where
    takes go, and `session_said` says that it was named just now, so that its date is no question.
    `today` is ISO.
    """

    song: Song | None = None
    version: str = ""
    part: str = ""
    titles: tuple[str, ...] = ()
    people: tuple[str, ...] = ()
    instruments: tuple[Instrument, ...] = ()
    tunings: tuple[Tuning, ...] = ()
    sessions: tuple[str, ...] = ()
    session: Session | None = None
    session_said: bool = False
    today: str = ""

    @property
    def version_record(self) -> Version | None:
        """The current version."""
        versions = self.song.versions if self.song else ()
        return next((each for each in versions if each.name == self.version), None)

    @property
    def part_record(self) -> Part | None:
        """The current part."""
        return self.part_called(self.part)

    def part_called(self, name: str) -> Part | None:
        """The part of the current version with exactly this name."""
        version = self.version_record
        parts = version.parts if version else ()
        return next((each for each in parts if each.name == name), None)

    @property
    def form(self) -> tuple[FormSection, ...]:
        """The current version's sections, in the order of their bars."""
        version = self.version_record
        return tuple(sorted(version.form, key=lambda each: each.start)) if version else ()

    @property
    def section_names(self) -> tuple[str, ...]:
        """The names of the form's sections, each once."""
        return tuple(dict.fromkeys(each.name for each in self.form))

    @property
    def whole(self) -> BarRange | None:
        """All bars of the form."""
        version = self.version_record
        sections = sections_of(version) if version else ()
        if not sections:
            return None
        return BarRange(sections[0].bars.start, max(each.bars.end for each in sections))

    @property
    def instrument(self) -> Instrument | None:
        """What the current part is played on."""
        part = self.part_record
        return self.instrument_called(part.instrument) if part else None

    def instrument_called(self, name: str) -> Instrument | None:
        """The instrument with exactly this name."""
        return next((each for each in self.instruments if each.name == name), None)

    @property
    def strung(self) -> Strung | None:
        """The open strings of the current part, None where nothing says them."""
        part = self.part_record
        return self.strung_of(part) if part else find_tuning("standard")

    def strung_of(self, part: Part) -> Strung | None:
        """The open strings of a part: its tuning, else its instrument's, else its kind's.

        A part of which nothing is said yet is taken for a guitar in standard tuning.
        """
        instrument = self.instrument_called(part.instrument)
        name = part.tuning or (instrument.tuning if instrument else "")
        if name:
            logged = next((each for each in self.tunings if each.name == name), None)
            return parse_tuning(logged.strings, name=name) if logged else find_tuning(name)
        said = instrument.kind.casefold() if instrument else ""
        said = said or kind_in(part.name) or (kind_in(instrument.name) if instrument else "")
        kind = KINDS.get(said)
        if kind is None and said:
            return None
        return find_tuning(kind.tuning if kind else "standard")

    @property
    def capos(self) -> Capos:
        """The capos on the current part."""
        part = self.part_record
        return read_capos(part.capo) if part else ()

    @property
    def counted(self) -> str:
        """Which way the current part counts frets."""
        part = self.part_record
        return part.counted if part else "nut"

    def with_song(self, song: Song) -> Where:
        """The same with this song as the current one, at its own first version and part."""
        titles = self.titles if song.title in self.titles else (*self.titles, song.title)
        version = song.versions[0] if song.versions else None
        return replace(
            self,
            song=song,
            titles=titles,
            version=version.name if version else "",
            part=version.parts[0].name if version and version.parts else "",
        )

    def with_version(self, version: Version) -> Where:
        """The same with this version put into the song, as the current one."""
        assert self.song is not None
        song = replace(self.song, versions=_put(self.song.versions, version))
        part = self.part if any(each.name == self.part for each in version.parts) else ""
        return replace(self, song=song, version=version.name, part=part)

    def with_part(self, part: Part) -> Where:
        """The same with this part put into the version, as the current one."""
        version = self.version_record
        assert version is not None
        moved = self.with_version(replace(version, parts=_put(version.parts, part)))
        return replace(moved, part=part.name)


def _put(records: tuple[Any, ...], record: Any) -> tuple[Any, ...]:
    if any(each.name == record.name for each in records):
        return tuple(record if each.name == record.name else each for each in records)
    return (*records, record)
