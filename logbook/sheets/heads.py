"""What a sheet says about a version before its parts: key, tempo, meter, form, who and when."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from typing import NamedTuple

from logbook.editing.words import listed
from logbook.errors import LogbookError
from logbook.records.context import bars_map, sections_of
from logbook.records.log import Log
from logbook.records.people import Role, Share
from logbook.records.places import Session
from logbook.records.songs import FormSection, Song, Version
from logbook.sheets.once import once
from logbook.theory.keys import parse_key
from logbook.timing.bars import BarPoint
from logbook.timing.map_text import pickup_text
from logbook.timing.stretches import TempoAt
from logbook.timing.tempo import Tempo, bpm_text, unit_name
from logbook.timing.tempo_map import TempoMap

_LARGEST_PARTS = 16


class FormLine(NamedTuple):
    """A section of the form: its bars, how many, and when it begins ("0:24", "" unknown)."""

    name: str
    bars: str
    length: int
    starts_at: str
    said: str


class VersionHead(NamedTuple):
    """A version as the head of its sheet shows it; empty text is what nobody said.

    `meters`, `tempos` hold one text for each change, `length` is minutes and seconds,
    `unreadable` what in the log cannot be read.
    """

    name: str
    key: str
    meters: tuple[str, ...]
    tempos: tuple[str, ...]
    pickup: str
    bars: int
    length: str
    form: tuple[FormLine, ...]
    date: str
    isrc: str
    sample_rate: str
    reference: str
    recorded: tuple[str, ...]
    people: tuple[str, ...]
    mixes: tuple[str, ...]
    said: str
    unreadable: tuple[str, ...]


def version_head(log: Log, song: Song, version: Version, tempo_map: TempoMap | None) -> VersionHead:
    """Return the head of a version; `tempo_map` is None where there is none that can be read."""
    unreadable = []
    key = version.key
    try:
        key = parse_key(version.key).name if version.key else ""
    except LogbookError as error:
        unreadable.append(f"key: {error}")
    timed = tempo_map if version.tempos else None
    last = max((section.start + section.bars for section in version.form), default=1)
    return VersionHead(
        name=version.name,
        key=key,
        meters=_meters(version, tempo_map),
        tempos=tuple(change_said(change) for change in timed.tempos) if timed else (),
        pickup=_pickup(tempo_map),
        bars=sum(section.bars for section in version.form),
        length=_clock(timed, last) if version.form else "",
        form=tuple(
            _form_line(section, timed)
            for section in sorted(version.form, key=lambda section: section.start)
        ),
        date=version.date,
        isrc=version.isrc,
        sample_rate=f"{version.sample_rate_hz} Hz" if version.sample_rate_hz else "",
        reference="" if version.a4_hz == 440.0 else f"A4 = {version.a4_hz:g} Hz",
        recorded=tuple(map(_session, _sessions(log, version))),
        people=people_said((*song.roles, *version.roles)),
        mixes=tuple(file.path for file in version.files),
        said=version.notes,
        unreadable=tuple(unreadable),
    )


@once(32)
def readable_map(version: Version) -> tuple[TempoMap | None, str]:
    """The version's bars, and its tempos where any are said; what cannot be read as a sentence."""
    try:
        tempo_map = bars_map(version)
        for section in sections_of(version):
            tempo_map.span_of(section.bars)
    except ValueError as error:  # of which LogbookError is one, and a number that is none another
        return None, str(error)
    return tempo_map, ""


def written_by(song: Song) -> tuple[str, ...]:
    """The writers, each with the share that was noted."""
    return tuple(_share(share) for share in song.shares if share.side == "writer")


def clock(seconds: Fraction | float) -> str:
    """Minutes and seconds: 3:05."""
    minutes, rest = divmod(round(seconds), 60)
    return f"{minutes}:{rest:02d}"


def tempo_said(tempo: Tempo) -> str:
    """A tempo in words: quarter = 92, dotted quarter = 60."""
    return f"{unit_name(tempo.unit)} = {bpm_text(tempo.bpm)}"


def change_said(change: TempoAt) -> str:
    """A change of tempo in words, and the bar where it is not the first."""
    said = tempo_said(change.tempo)
    if change.free is not None:
        said = "free time" + (f", {float(change.free):g} s" if change.free else "")
    if change.ramp is not None:
        same = change.ramp.tempo.unit == change.tempo.unit
        goal = bpm_text(change.ramp.tempo.bpm) if same else tempo_said(change.ramp.tempo)
        direction = (
            "slowing"
            if change.ramp.tempo.wholes_a_second < change.tempo.wholes_a_second
            else "pushing on"
        )
        said += f" {direction} to {goal} at bar {change.ramp.end}"
    return said if change.start <= BarPoint(1) else f"from bar {change.start} {said}"


def _meters(version: Version, tempo_map: TempoMap | None) -> tuple[str, ...]:
    if tempo_map is None:
        return tuple(change.meter for change in version.meters)
    return tuple(
        str(change.meter) if change.bar == 1 else f"from bar {change.bar} {change.meter}"
        for change in tempo_map.meters
    )


def _pickup(tempo_map: TempoMap | None) -> str:
    text = pickup_text(tempo_map) if tempo_map else ""
    if not text or tempo_map is None:
        return ""
    unit = tempo_map.meters[0].meter.beat_length
    count = tempo_map.pickup / unit
    name = unit_name(unit)
    notes = f"of {name}" if name[0].isdigit() else f"{name} note{'' if count <= 1 else 's'}"
    return f"bar 0 is a pick-up of {count} {notes}"


def _clock(tempo_map: TempoMap | None, bar: int) -> str:
    return "" if tempo_map is None else clock(tempo_map.seconds_at(BarPoint(bar)))


def _form_line(section: FormSection, tempo_map: TempoMap | None) -> FormLine:
    last = section.start + section.bars - 1
    return FormLine(
        name=section.name,
        bars=str(last) if last == section.start else f"{section.start}-{last}",
        length=section.bars,
        starts_at=_clock(tempo_map, section.start),
        said=section.notes,
    )


def _sessions(log: Log, version: Version) -> tuple[Session, ...]:
    """The sessions at which anything of the version was recorded."""
    names = {take.session for part in version.parts for take in part.takes}
    names |= {each.session for part in version.parts for each in part.overdubs}
    return tuple(session for session in log.sessions if session.name in names)


def _session(session: Session) -> str:
    until = f" to {session.end_date}" if session.end_date else ""
    said = [session.name, f"{session.date}{until}", session.place]
    facts = [", ".join(filter(None, said)), *people_said(session.people), session.gear]
    return "; ".join(filter(None, facts))


def people_said(roles: Iterable[Role]) -> tuple[str, ...]:
    """Each person with all that they did: "Bertil, engineer and producer"."""
    did: dict[str, list[str]] = {}
    for role in roles:
        instrument = f" ({role.instrument})" if role.instrument else ""
        did.setdefault(role.person, []).append(f"{role.role}{instrument}")
    return tuple(f"{person}, {listed(deeds)}" for person, deeds in did.items())


def _share(share: Share) -> str:
    """A share as it is agreed on: a fraction people count in, else in percent."""
    if share.share == 1:
        return share.person  # all of it
    plain = share.share.denominator <= _LARGEST_PARTS
    return f"{share.person} {share.share if plain else f'{float(share.share * 100):g} %'}"
