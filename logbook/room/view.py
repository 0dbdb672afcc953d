"""What the room shows: where the work is, the last takes, the chart at hand, and what is missing.

Plain data worked out from one song of the log; the screen and the page draw it and work nothing
out. Names are as logged: whoever draws them makes them harmless.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from logbook.errors import LogbookError
from logbook.records.context import sections_of, tempo_map_of
from logbook.records.part_view import PartView
from logbook.sheets.chords import chord_card
from logbook.timing.bars import BarPoint

if TYPE_CHECKING:
    from logbook.records import Part, Version
    from logbook.records import Session as SessionRecord

LAST_TAKES = 8
_MOST_DIGITS = 9


@dataclass(frozen=True, kw_only=True)
class ShownTake:
    """One take as the room lists it; `files` are the names of its files."""

    number: int
    result: str
    bars: str
    session: str
    note: str
    files: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class SectionRow:
    """A section with the digit that chooses it ("" past the ninth), and its bars ("9-16")."""

    digit: str
    name: str
    bars: str


@dataclass(frozen=True, kw_only=True)
class ChartCell:
    """One bar of the chart line: what sounds and what the hands call it, "." where it goes on."""

    bar: int
    sounds: str
    shape: str


@dataclass(frozen=True, kw_only=True)
class View:
    """Everything a screen of the room shows; texts are empty where nothing is said yet.

    `setup` is instrument, tuning, capo, tempo and key in a line; `section` the digit chosen and
    `bars` the bars a take gets by it; `unrated` the number of a take that waits for its result.
    """

    song: str = ""
    version: str = ""
    part: str = ""
    parts: tuple[str, ...] = ()
    session: str = ""
    session_date: str = ""
    is_today: bool = True
    setup: str = ""
    sections: tuple[SectionRow, ...] = ()
    section: str = ""
    bars: str = ""
    takes: tuple[ShownTake, ...] = ()
    next_take: int = 1
    unrated: int | None = None
    chart: tuple[ChartCell, ...] = ()
    charted: bool = False
    missing: tuple[str, ...] = ()
    remarks: int = 0


def view_of(
    place: PartView, session: SessionRecord | None, *, section: str, today: str, remarks: int
) -> View:
    """Work out what is shown of a part; `section` is the digit chosen, "" for the whole song."""
    version, part = place.version, place.part
    sections = section_rows(version)
    chosen = next((each for each in sections if section and each.digit == section), None)
    name = session.name if session else ""
    own = [take for take in part.takes if take.session == name]
    last = max(own, key=lambda take: take.number, default=None)
    cells, charted = _chart(place, chosen, sections)
    return View(
        song=place.song.title,
        version=version.name,
        part=part.name,
        parts=tuple(each.name for each in version.parts),
        session=name,
        session_date=session.date if session else "",
        is_today=session is None or _is_on(session, today),
        setup=_setup(place),
        sections=sections,
        section=chosen.digit if chosen else "",
        bars=chosen.bars if chosen else "",
        takes=_takes(part),
        next_take=1 + max((take.number for take in own), default=0),
        unrated=last.number if last and not last.result else None,
        chart=cells,
        charted=charted,
        missing=_missing(place, remarks),
        remarks=remarks,
    )


def section_rows(version: Version) -> tuple[SectionRow, ...]:
    """The form's sections in order, the first nine with a digit; a second B is called B2."""
    names: dict[str, int] = {}
    rows = []
    ordered = sorted(version.form, key=lambda each: each.start)
    several = [each.name for each in ordered]
    for number, each in enumerate(ordered, 1):
        names[each.name] = names.get(each.name, 0) + 1
        count = names[each.name] if several.count(each.name) > 1 else ""
        last = each.start + each.bars - 1
        bars = str(each.start) if last == each.start else f"{each.start}-{last}"
        digit = str(number) if number <= _MOST_DIGITS else ""
        rows.append(SectionRow(digit=digit, name=f"{each.name}{count}", bars=bars))
    return tuple(rows)


def _is_on(session: SessionRecord, today: str) -> bool:
    return not session.date or session.date <= today <= (session.end_date or session.date)


def _setup(place: PartView) -> str:
    version, part = place.version, place.part
    words = [part.instrument]
    try:
        tuning = place.tuning
        words.append(tuning.name if tuning else part.tuning)
    except LogbookError:
        words.append(part.tuning)
    words.append(f"capo {part.capo}" if part.capo else "no capo")
    words.append(f"frets from {part.counted}")
    words.append(version.key)
    if version.tempos:
        unit = version.tempos[0].unit
        words.append(f"{'q' if unit in ('', '1/4') else unit}={version.tempos[0].bpm:g}")
    return " · ".join(filter(None, words))


def _takes(part: Part) -> tuple[ShownTake, ...]:
    # The log keeps takes in the order they were logged.
    return tuple(
        ShownTake(
            number=take.number,
            result=take.result,
            bars=take.bars,
            session=take.session,
            note=take.notes,
            files=tuple(file.path.rpartition("/")[2] for file in take.files),
        )
        for take in reversed(part.takes[-LAST_TAKES:])
    )


def _chart(
    place: PartView, chosen: SectionRow | None, sections: tuple[SectionRow, ...]
) -> tuple[tuple[ChartCell, ...], bool]:
    """The chart line of the chosen section, or of the first one that is charted."""
    part = place.part
    if not part.chart:
        return (), False
    rows = [chosen] if chosen else list(sections)
    starting: dict[int, list[str]] = {}
    for entry in sorted(part.chart, key=lambda each: (each.bar, _beat(each.beat))):
        starting.setdefault(entry.bar, []).append(entry.voicing)
    for row in rows:
        first, _, last = row.bars.partition("-")
        numbers = range(int(first), int(last or first) + 1)
        if any(number in starting for number in numbers):
            names = _names(place, {each for number in numbers for each in starting.get(number, ())})
            cells = [_cell(number, starting.get(number), names) for number in numbers]
            return tuple(cells), True
    return (), not rows


def _cell(number: int, voicings: list[str] | None, names: dict[str, tuple[str, str]]) -> ChartCell:
    if voicings is None:
        return ChartCell(bar=number, sounds=".", shape="")
    pairs = [names[each] for each in voicings]
    shapes = " ".join(shape for _, shape in pairs).strip()
    sounds = " ".join(name for name, _ in pairs)
    return ChartCell(bar=number, sounds=sounds, shape=shapes if shapes != sounds else "")


def _names(place: PartView, labels: set[str]) -> dict[str, tuple[str, str]]:
    """What each voicing sounds, and what the hands call it."""
    found = {label: (label, "") for label in labels} | {"": ("-", "")}
    try:
        tuning, capos = place.tuning, place.capos
        for record in place.part.voicings:
            if record.label in labels and record.frets:
                card = chord_card(place, record, tuning, capos)
                found[record.label] = (card.concert or record.label, card.shape)
    except LogbookError:
        pass
    return found


def _beat(text: str) -> float:
    top, _, bottom = text.partition("/")
    try:
        return float(top) / float(bottom or 1)
    except (ValueError, ZeroDivisionError):
        return 1.0


def _missing(place: PartView, remarks: int) -> tuple[str, ...]:
    """What somebody will ask for later, with the line that says it."""
    version, part = place.version, place.part
    found = []
    if not version.tempos:
        found.append("tempo: q=96")
    if not version.form:
        found.append("form: A 8 bars, B 8 bars")
    if not part.instrument:
        found.append(f"instrument: part {part.name} on ...")
    if not part.player:
        found.append(f"player: part {part.name}, ...")
    if not part.voicings:
        found.append("frets of a chord: Em 022000")
    blank = _uncharted(version, part)
    if blank:
        found.append(f"chart of {', '.join(blank)}")
    unrated = [str(take.number) for take in part.takes if not take.result]
    if unrated:
        found.append(f"result of take {', '.join(unrated[-4:])}")
    if part.takes and not any(take.result == "keeper" for take in part.takes):
        found.append("a keeper")
    if part.doubled == "unknown":
        found.append("doubled or not: not doubled: why")
    if place.is_undecided:
        found.append("which comp is final")
    if remarks:
        found.append(f"{remarks} remark{'s' if remarks > 1 else ''} to settle")
    return tuple(found)


def _uncharted(version: Version, part: Part) -> list[str]:
    bars = {entry.bar for entry in part.chart}
    names = []
    for section in sorted(version.form, key=lambda each: each.start):
        if not bars & set(range(section.start, section.start + section.bars)):
            names.append(section.name)
    return list(dict.fromkeys(names)) if part.chart else []


def bars_of_length(version: Version, seconds: float, first: int = 1) -> str:
    """The whole bars that a recording of this length holds from bar `first` on, by the tempo.

    Empty where the version has no tempo. A recorder may stop a touch early, so the last 50 ms of
    a bar may be missing; bars past the form are not counted.
    """
    try:
        tempo_map = tempo_map_of(version)
        if tempo_map is None:
            return ""
        start = tempo_map.seconds_at(BarPoint(first))
        end = tempo_map.point_at_seconds(start + _exact(seconds + 0.05)).bar - 1
    except LogbookError:
        return ""
    form = sections_of(version)
    if form:
        end = min(end, max(each.bars.end.bar - 1 for each in form))
    if end < first:
        return ""
    return str(first) if end == first else f"{first}-{end}"


def _exact(seconds: float) -> Fraction:
    return Fraction(round(seconds * 1_000_000), 1_000_000)
