"""One part of a draft as a record of the log, with a mark for every line that was heard."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from logbook.drafting.marking import heard
from logbook.drafting.songs import HeardPart, HeardSong
from logbook.drafting.takes import AGREES, HeardFile, Pass
from logbook.editing.takes import TakeId
from logbook.errors import LogbookError
from logbook.listening.hand import HeardPattern
from logbook.listening.part import joined
from logbook.listening.snapping import as_comp, snap
from logbook.notebook.chart_printing import write_chart_lines
from logbook.notebook.declare import Context
from logbook.notebook.working_copy import LogKnown
from logbook.records import (
    AudioFile,
    ChartEntry,
    Comp,
    CompPiece,
    Double,
    Part,
    Pattern,
    Take,
    Version,
)
from logbook.records.part_view import PartView
from logbook.strings.picking import grid_text

PartMarks = dict[tuple[str, str], str]
"""Marks by key and item of the part's table."""

LEAST_BARS = 2  # that a pattern is played in, to be told
MOST_PATTERNS = 4


def part_record(
    song: HeardSong, part: HeardPart, place: PartView, session: str
) -> tuple[Part, PartMarks]:
    """The part as it would be logged, and the marks of its lines."""
    marks: PartMarks = {}
    record = replace(
        place.part,
        takes=tuple(
            _take(song, part, each, session, marks, n) for n, each in enumerate(part.passes.takes)
        ),
    )
    if place.part.tuning and part.kind != "guitar":
        marks["tuning", ""] = heard(note="by the part's name")
    elif place.part.tuning:
        marks["tuning", ""] = heard(note="taken for the usual one; --tuning says another")
    if part.passes.finished is not None:
        record = replace(record, files=(_file(part.passes.finished),))
        marks["files", ""] = heard(note="the finished part")
        record = replace(record, comps=_comp(song, part, marks))
    record = _with_chart(song, part, place, record, marks)
    return _with_doubles(song, part, record, marks), marks


def _take(
    song: HeardSong, part: HeardPart, each: Pass, session: str, marks: PartMarks, index: int
) -> Take:
    file = each.file
    bars = _bars_of(song, part, each)
    notes = measured(file)
    if file.problem:
        notes = file.problem
    sure = each.sure if each.agrees is None else min(each.sure, max(0.3, each.agrees))
    number = file.named.number or index + 1
    marks["takes", str(index)] = heard(round(sure, 2))
    marks["result", str(number)] = heard(round(sure, 2))
    marks["bars", str(number)] = heard(round(sure, 2))
    marks["notes", str(number)] = heard(note="measured")
    return Take(
        number=number,
        session=session,
        result=each.result,
        bars=bars,
        notes=notes,
        files=(_file(file),),
    )


def _file(file: HeardFile) -> AudioFile:
    return AudioFile(path=file.named.place)


def measured(file: HeardFile) -> str:
    """What was measured on a take, in a few words."""
    said = [f"{file.seconds:.1f} s"]
    if file.bpm is not None:
        said.append(f"{file.bpm:.1f} bpm")
    if file.cents is not None and abs(file.cents) >= 1.5:
        said.append(f"{abs(file.cents):.0f} cents {'sharp' if file.cents > 0 else 'flat'}")
    return ", ".join(said)


def _bars_of(song: HeardSong, part: HeardPart, each: Pass) -> str:
    """The bars of the song that a take covers, as far as they can be told."""
    file = each.file
    if song.tempo_map is None or song.tempo is None or file.onsets is None or file.problem:
        return ""
    if each.agrees is not None and each.agrees < AGREES:
        return ""
    # From seconds in the take's file to seconds of the map, by way of the part's fullest recording.
    ahead = part.starts_s + each.starts_s - song.tempo.laid.start_s
    edges: list[int] = []
    for time, up in ((float(file.onsets.times[0]), False), (float(file.onsets.times[-1]), True)):
        seconds = Fraction(max(0.0, time + ahead)).limit_denominator(10_000)
        point = song.tempo_map.point_at_seconds(seconds)
        beats = song.tempo_map.meter_at(point.bar).beats
        share = float((point.beat - 1) / beats)
        # A bar that hardly began, or has hardly anything left, is not covered.
        edges.append(point.bar - (share < 0.1) if up else point.bar + (share > 0.8))
    first, last = edges
    if last < first:
        return ""
    return str(first) if first == last else f"{first}-{last}"


def _comp(song: HeardSong, part: HeardPart, marks: PartMarks) -> tuple[Comp, ...]:
    pieces, tempo_map = part.passes.pieces, song.tempo_map
    if not pieces or tempo_map is None or song.tempo is None:
        return ()
    takes = [each for each in part.passes.takes if not each.file.problem]
    ids = [TakeId(each.file.named.number or n + 1) for n, each in enumerate(takes)]
    bounce_at = song.tempo.laid.start_s - part.starts_s
    takes_at = [bounce_at - each.starts_s for each in takes]
    try:
        snapped = snap(pieces, tempo_map, ids, takes_at, bounce_at_s=bounce_at)
        found = joined(as_comp(snapped), tempo_map)
    except LogbookError:
        return ()
    if not found:
        return ()
    sure = min((piece.confidence for piece in pieces if piece.take is not None), default=0.5)
    marks["comp", ""] = heard(round(sure, 2))
    for number, each in enumerate(found):
        marks["comp", str(number)] = heard(round(sure, 2), each.note)
    return (
        Comp(
            pieces=tuple(
                CompPiece(
                    bars=str(each.bars),
                    take=each.take.number,
                    source=str(each.source),
                    crossfade_ms=float(each.crossfade_ms) or None,
                )
                for each in found
            )
        ),
    )


def _with_chart(
    song: HeardSong, part: HeardPart, place: PartView, record: Part, marks: PartMarks
) -> Part:
    heard_chart = part.chart
    if heard_chart is None or not any(entry.label for entry in heard_chart.entries):
        return record
    if place.part.capo:
        marks["capo", ""] = heard(note="what rings open lies there; --capo says another")
    patterns, by_bar = _patterns(part, marks)
    entries: list[ChartEntry] = []
    now = ""
    for entry in heard_chart.chart():
        label = by_bar.get(entry.bar, now) if entry.beat == "1" else now
        entries.append(replace(entry, pattern=label if label != now else ""))
        now = label
    for voicing in heard_chart.new:
        sure = heard_chart.sure.get(voicing.label)
        marks["voicings", voicing.label] = heard(sure)
    record = replace(record, voicings=heard_chart.new, patterns=patterns, chart=tuple(entries))
    _mark_chart(song.version, place, record, part, marks)
    return record


def _mark_chart(
    version: Version, place: PartView, record: Part, part: HeardPart, marks: PartMarks
) -> None:
    """A mark for every chart line: how sure its least sure bar is, and its doubtful bars."""
    assert part.chart is not None, "only charts are marked"
    context = Context(known=LogKnown(place.log), owners=(place.song, version, record))
    lines = [str(line) for line in write_chart_lines(record.chart, context)]
    by_bar: dict[int, list[tuple[float, str]]] = {}
    for entry in part.chart.entries:
        if entry.reading is None:
            continue
        note = ""
        if entry.doubtful and entry.second is not None:
            note = f"bar {entry.bar} {entry.label} or {entry.second[0]}"
        elif entry.doubtful:
            note = f"bar {entry.bar} doubtful"
        by_bar.setdefault(entry.bar, []).append((entry.reading.confidence, note))
    sections = {each.name: each for each in version.form}
    for number, line in enumerate(lines):
        head = line.partition(":")[0].strip()
        section = sections.get(head)
        if section is not None:
            inside = [
                bar
                for each in version.form
                if each.name == head
                for bar in range(each.start, each.start + each.bars)
            ]
        else:
            first, _, last = head.partition("-")
            inside = list(range(int(first), int(last or first) + 1)) if first.isdecimal() else []
        here = [each for bar in inside for each in by_bar.get(bar, [])]
        sure = min((each[0] for each in here), default=None)
        doubts = "; ".join(dict.fromkeys(each[1] for each in here if each[1]))
        marks["chart", str(number)] = heard(sure, doubts[:160])
    if len(lines) == 1:
        marks["chart", ""] = marks["chart", "0"]


def _patterns(part: HeardPart, marks: PartMarks) -> tuple[tuple[Pattern, ...], dict[int, str]]:
    """Patterns played in bars enough, and by bar the label of the one played there."""
    if part.picking is None:
        return (), {}
    told = [each for each in part.picking.patterns if len(each.bars) >= LEAST_BARS]
    told = (told or list(part.picking.patterns[:1]))[:MOST_PATTERNS]
    out: list[Pattern] = []
    by_bar: dict[int, str] = {}
    for number, each in enumerate(told, 1):
        label = _called(each) + (str(number) if len(told) > 1 else "")
        out.append(Pattern(label=label, grid=grid_text(each.grid), line=each.line, feel=each.feel))
        note = "down and up not heard" if each.guessed else ""
        marks["patterns", label] = heard(each.sure, note)
        by_bar |= dict.fromkeys(each.bars, label)
    return tuple(out), by_bar


def _called(pattern: HeardPattern) -> str:
    strums = sum(pattern.line.count(letter) for letter in "DU")
    return "strum" if 2 * strums >= sum(c.isalpha() for c in pattern.line) else "picking"


def _with_doubles(song: HeardSong, part: HeardPart, record: Part, marks: PartMarks) -> Part:
    mine = [(b, ms) for a, b, ms in song.doubles if a == part.name]
    if not mine:
        return record
    marks["doubles", ""] = heard(note=f"half of its notes within {mine[0][1]:.0f} ms")
    for number, (_, ms) in enumerate(mine):
        marks["doubles", str(number)] = heard(note=f"half of its notes within {ms:.0f} ms")
    marks["doubled", ""] = heard(note="a second performance")
    return replace(
        record, doubled="doubled", doubles=tuple(Double(part=other) for other, _ in mine)
    )
