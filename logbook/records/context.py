"""Records read in their context: what a part's text means on its version, in its log.

The records keep text as written and names for what stands elsewhere; the pure rooms want tempo
maps, tunings and comp pieces. Every function here turns the one into the other and works nothing
out. Text that cannot be read raises LogbookError, as the room that reads it does.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache
from typing import TypeVar

from logbook.editing.comp import EditPiece
from logbook.editing.survey import Section
from logbook.editing.takes import PunchedBars, TakeId, TakeSpan, parse_result
from logbook.records.log import Log
from logbook.records.parts import Comp, Part
from logbook.records.parts import CompPiece as PieceRecord
from logbook.records.parts import Take as TakeRecord
from logbook.records.places import Tuning as TuningRecord
from logbook.records.songs import FormSection, MeterChange, Song, TempoChange, Version
from logbook.strings.capo import Capos, read_capos
from logbook.strings.tunings import StringTuning, at_pitch, find_tuning, parse_tuning
from logbook.theory.compass import compass_of, moved_note, read_notes
from logbook.timing.bars import BarRange, bars, parse_point, parse_range
from logbook.timing.map_text import read_meters, read_pickup
from logbook.timing.meter import Meter
from logbook.timing.stretches import MeterAt, Ramp
from logbook.timing.stretches import TempoAt as TempoPlace
from logbook.timing.tempo import Tempo
from logbook.timing.tempo_map import TempoMap

Named = TypeVar("Named")


@dataclass(frozen=True)
class PartPlace:
    """A part where it stands; what follows from it is in its view, `part_view.PartView`."""

    log: Log
    song: Song
    version: Version
    part: Part

    @property
    def title(self) -> str:
        """Song, version and part as a heading names them."""
        return f"{self.song.title}, {self.version.name}, {self.part.name}"


def by_name(records: Iterable[Named], name: str) -> Named | None:
    """The record called `name`, None where there is none."""
    return next((each for each in records if getattr(each, "name", None) == name), None)


def exact(number: float) -> Fraction:
    """The fraction a person meant by a decimal: 92.3 is 923/10."""
    return Fraction(str(number))


# Version


def meters_of(version: Version) -> tuple[MeterAt, ...]:
    """The version's meters; 4/4 where none is said."""
    return _read_meters(version.meters)


@lru_cache(maxsize=256)
def _read_meters(changes: tuple[MeterChange, ...]) -> tuple[MeterAt, ...]:
    lines = [f"{change.bar} {change.meter}" for change in changes]
    return read_meters(lines or ["4/4"])


def tempo_map_of(version: Version) -> TempoMap | None:
    """The version's tempo map, None while no tempo is said."""
    if not version.tempos:
        return None
    return _laid_out(version.meters, version.tempos, version.pickup_beats)


@lru_cache(maxsize=256)
def _laid_out(
    changes: tuple[MeterChange, ...], tempos: tuple[TempoChange, ...], pickup_beats: str
) -> TempoMap:
    """A tempo map, laid out once however many rules and sheets ask for it."""
    meters = _read_meters(changes)
    return TempoMap(
        meters=meters,
        tempos=tuple(_tempo_place(change, meters) for change in tempos),
        pickup=read_pickup(pickup_beats, meters[0].meter),
    )


def bars_map(version: Version) -> TempoMap:
    """Return the version's tempo map, for questions about bars alone.

    Without a logged tempo, any will do. Raises LogbookError where meters or tempos cannot be read.
    """
    if version.tempos:
        stated = version
    else:
        stated = replace(version, tempos=(TempoChange(bar=1, bpm=120.0),))
    found = tempo_map_of(stated)
    assert found is not None, "a version with a tempo has a tempo map"
    return found


def _tempo_place(change: TempoChange, meters: tuple[MeterAt, ...]) -> TempoPlace:
    unit = Fraction(change.unit) if change.unit else _meter_at(meters, change.bar).felt_beat_length
    place = parse_point(f"{change.bar}")._replace(beat=Fraction(change.beat))
    ramp = None
    if change.ramp_bpm is not None:
        goal = Fraction(change.ramp_unit) if change.ramp_unit else unit
        ramp = Ramp(parse_point(change.ramp_end), Tempo(exact(change.ramp_bpm), goal))
    free = None if change.free_s is None else exact(change.free_s)
    return TempoPlace(place, Tempo(exact(change.bpm), unit), ramp, free)


def _meter_at(meters: tuple[MeterAt, ...], bar: int) -> Meter:
    return next((each.meter for each in reversed(meters) if each.bar <= bar), meters[0].meter)


def section_range(section: FormSection) -> BarRange:
    """The bars of a section of the form."""
    return bars(section.start, section.start + section.bars - 1)


def sections_of(version: Version) -> tuple[Section, ...]:
    """The form as the editing room takes it, in the order of its bars."""
    found = [Section(each.name, section_range(each)) for each in version.form]
    return tuple(sorted(found, key=lambda section: section.bars))


def section_at(version: Version, bar: int) -> FormSection | None:
    """The section that holds `bar`, None outside the form."""
    return next((s for s in version.form if s.start <= bar < s.start + s.bars), None)


# Part


def uncharted(version: Version, part: Part) -> tuple[FormSection, ...]:
    """The sections of the form in which nobody has said what the part plays, by their bars."""
    bars_said = {entry.bar for entry in part.chart}
    return tuple(
        section
        for section in sorted(version.form, key=lambda each: each.start)
        if bars_said.isdisjoint(range(section.start, section.start + section.bars))
    )


def logged_or_usual(tunings: Iterable[TuningRecord], name: str, a4_hz: float) -> StringTuning:
    """The tuning called `name`: one of the log goes before the usual one of the same name."""
    logged = by_name(tunings, name)
    return _parsed(logged) if logged else at_pitch(find_tuning(name), a4_hz=a4_hz)


@lru_cache(maxsize=256)
def _parsed(logged: TuningRecord) -> StringTuning:
    """A tuning of the log as the strings room takes it; a log has few, and asks often."""
    return parse_tuning(
        logged.strings, name=logged.name, a4_hz=logged.a4_hz, offset_cents=logged.offset_cents
    )


def capos_of(part: Part) -> Capos:
    """What capos are on."""
    return read_capos(part.capo)


# Takes and comps


def take_of_record(take: TakeRecord) -> TakeSpan:
    """A take as the editing room takes it; its length is that of its longest file."""
    lengths = {
        (file.frames, file.rate_hz)
        for file in take.files
        if file.frames is not None and file.rate_hz
    }
    return TakeSpan(
        number=take.number,
        session=take.session,
        result=parse_result(take.result) if take.result else None,
        bars=parse_range(take.bars) if take.bars else None,
        punch_ins=tuple(
            PunchedBars(parse_range(punch.bars), punch.number, punch.why)
            for punch in take.punch_ins
        ),
        note=take.notes,
        clock=take.clock,
        file_seconds=max((Fraction(*each) for each in lengths), default=None),
    )


def takes_of(part: Part) -> tuple[TakeSpan, ...]:
    """The part's takes as the editing room takes them."""
    return tuple(map(take_of_record, part.takes))


def piece_of_record(piece: PieceRecord) -> EditPiece:
    """One edit decision as the editing room takes it."""
    return EditPiece(
        bars=parse_range(piece.bars),
        take=TakeId(
            piece.take, piece.session, piece.from_version, piece.from_part, piece.from_file
        ),
        source=parse_range(piece.source or piece.bars),
        crossfade_ms=exact(piece.crossfade_ms or 0),
        note=piece.notes,
    )


def pieces_of(comp: Comp) -> tuple[EditPiece, ...]:
    """A comp's pieces as the editing room takes them."""
    return tuple(map(piece_of_record, comp.pieces))


def final_comp(part: Part) -> Comp | None:
    """The comp that is heard, None where none is logged as final."""
    return next((comp for comp in part.comps if comp.final), None)


def counting_comp(part: Part) -> Comp | None:
    """The comp that counts: the final one, else the only one; None where it is not known which."""
    only = part.comps[0] if len(part.comps) == 1 else None
    return final_comp(part) or only


_SUNG = frozenset({"voice", "voices", "vocal", "vocals", "vox", "singer", "choir"})


def is_sung(log: Log, part: Part) -> bool:
    """Whether a part is sung: its instrument is a voice, or its own name says so."""
    instrument = by_name(log.instruments, part.instrument)
    kind = instrument.kind if instrument and instrument.kind else part.instrument
    words = f"{kind} {part.name}".casefold().replace("-", " ").split()
    return not _SUNG.isdisjoint(word.rstrip("0123456789") for word in words)


def transposition_of(log: Log, part: Part) -> int:
    """How many semitones higher a part without frets is written than it sounds.

    Its instrument says so, else what its kind usually is; 0 where neither is known.
    """
    instrument = by_name(log.instruments, part.instrument)
    if instrument is not None and instrument.transposition is not None:
        return instrument.transposition
    known = compass_of(kind_of_part(log, part))
    return known.transposition if known else 0


def kind_of_part(log: Log, part: Part) -> str:
    """What kind of instrument a part is played on, as far as the log says ("" for unknown)."""
    instrument = by_name(log.instruments, part.instrument)
    kinds = (instrument.kind if instrument else "", part.instrument, part.name)
    return next((each for each in kinds if each and compass_of(each)), kinds[0])


def sounding_pitches(pitches: str, pitched: str, transposition: int) -> tuple[str, ...]:
    """Return notes as they sound, from how a part says them ("written", else sounding)."""
    down = transposition if pitched == "written" else 0
    return tuple(moved_note(name, -down) if down else name for name, _ in read_notes(pitches))
