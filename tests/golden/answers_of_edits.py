"""What the rooms of edits and times answer, for `answers`: one function a file of questions."""

from __future__ import annotations

from logbook.editing import parse_comp, parse_punch_in, survey_comp
from logbook.editing.bar_map import BarMapCell, bar_map
from logbook.editing.placing import place_take
from logbook.editing.sentences import tell_comp
from logbook.editing.surveyed import Section
from logbook.editing.takes import TakeSpan, parse_result, parse_take_id
from logbook.editing.voting import Ballot, draft_comp
from logbook.listening.pieces import Piece
from logbook.listening.snapping import as_comp, snap
from logbook.strings import describe, find_tuning, read_capos
from logbook.timing import parse_point, parse_range, read_tempo_map
from logbook.timing.working_hours import length_text, read_shift


def comps(asked: str) -> str:
    """A comp's survey: "pieces | takes | sections | meter at tempo, pick-up"."""
    pieces, takes, sections, music = asked.split(" | ")
    meter, tempo, *pickup = music.split()
    tempo_map = read_tempo_map(meter, tempo, " ".join(pickup))
    form = [Section(*_named(each)) for each in sections.split("; ")]
    spans = tuple(map(_take, takes.split("; ")))
    found = survey_comp(parse_comp(pieces.split("; ")), spans, form, tempo_map, 48000)
    cells = "; ".join(
        f"{row.section or 'outside'} " + " ".join(map(_cell, row.cells))
        for row in bar_map(found, spans, form, tempo_map)
    )
    shares = " ".join(f"{share.take}:{share.bars}" for share in found.shares)
    joins = " ".join(str(join.at) for join in found.joins)
    length = (
        f"{found.length_bars} bars, {float(found.length_seconds):.3f} s, {found.length_samples}"
    )
    faults = ", ".join(fault.kind for fault in found.faults)
    told = tell_comp(found, spans)
    return f"{told}. {cells}. shares {shares}, joins {joins}, {length}, faults {faults or 'none'}"


def drafts(asked: str) -> str:
    """The comp that votes come to: "takes | votes | bars | where sections begin"."""
    takes, votes, whole, bounds = asked.split(" | ")
    ballots = [_ballot(each) for each in votes.split("; ") if each != "-"]
    points = [parse_point(each) for each in bounds.split() if each != "-"]
    found = draft_comp(
        [_take(each) for each in takes.split("; ")], ballots, parse_range(whole), points
    )
    pieces = ", ".join(
        f"{bars} {take}" for bars, take in zip(found.pieces, found.takes, strict=True)
    )
    unvoted = " ".join(map(str, found.unvoted))
    return f"{pieces}; unvoted {unvoted or 'none'}; gaps {' '.join(map(str, found.gaps)) or 'none'}"


def placed(asked: str) -> str:
    """Where a file begins: "its stamp and rate | the music's and the version's rate | tempo"."""
    file, music, tempo = asked.split(" | ")
    (stamp, rate), (start, version_rate) = (map(int, each.split()) for each in (file, music))
    found = place_take(
        time_reference_samples=stamp,
        file_rate_hz=rate,
        music_start_samples=start,
        version_rate_hz=version_rate,
        tempo_map=read_tempo_map("4/4", tempo),
    )
    late = f"late {float(found.late_seconds):.6f} s, {found.late_samples}, {found.late_beats} beats"
    return f"bar {found.bar} {late}, at {found.point}, rates {found.rate_mismatch}"


def views(asked: str) -> str:
    """What each string does in a voicing: "frets | tuning | capo | name | key"."""
    frets, tuning, capo, name, key = asked.split(" | ")
    found = describe(
        frets,
        find_tuning(tuning),
        read_capos(capo) if capo != "0" else (),
        counted="capo",
        name=name,
        key=None if key == "-" else key,
    )
    strings = "; ".join(" ".join(map(str, view)) for view in found.strings)
    return f"{found.chord}, shape {found.shape_name}: {strings}"


def shifts(asked: str) -> str:
    """How long a working day was: "start | end | breaks"."""
    start, end, breaks = (("" if each == "-" else each) for each in asked.split(" | "))
    found = read_shift(start, end, breaks)
    worked = "open" if found.minutes is None else length_text(found.minutes)
    return f"{found.start} to {found.end}, breaks {found.break_minutes} min, {worked}"


def snapped(asked: str) -> str:
    """Pieces heard, as bars: "meter at tempo | where takes begin | pieces | bounce | last bar"."""
    music, starts, heard, bounce, last = asked.split(" | ")
    tempo_map = read_tempo_map(*music.split(maxsplit=1))
    begins = [None if each == "-" else float(each) for each in starts.split()]
    names = [parse_take_id(str(number)) for number in range(1, len(begins) + 1)]
    found = snap(
        [_piece(each) for each in heard.split("; ")],
        tempo_map,
        names,
        begins,
        bounce_at_s=float(bounce),
        last_bar=None if last == "-" else int(last),
    )
    grid = " ".join(f"{each.bars}{'' if each.on_grid else '~'}" for each in found)
    return f"{grid}; {', '.join(map(str, as_comp(found)))}"


def _piece(text: str) -> Piece:
    start, end, take, source = text.split()
    number = None if take == "-" else int(take) - 1
    return Piece(
        start=float(start),
        end=float(end),
        source=float(source),
        take=number,
        gain_db=0.0,
        confidence=1.0,
    )


def _take(text: str) -> TakeSpan:
    number, *rest = text.split(", ")
    bars = parse_range(rest[0]) if rest and rest[0] != "-" else None
    result = parse_result(rest[1]) if len(rest) > 1 and rest[1] != "-" else None
    punched = (parse_punch_in(rest[2]),) if len(rest) > 2 else ()
    return TakeSpan(number=int(number), bars=bars, result=result, punch_ins=punched)


def _named(text: str) -> tuple:  # type: ignore[type-arg]
    name, _, bars = text.rpartition(" ")
    return name, parse_range(bars)


def _cell(cell: BarMapCell) -> str:
    takes = "+".join(map(str, cell.takes))
    shown = zip("gpomrx", (cell.is_gap, cell.is_partly_empty, *cell[4:]), strict=True)
    marks = "".join(letter for letter, is_so in shown if is_so)
    return f"{cell.bar}:{takes}{marks}"


def _ballot(text: str) -> Ballot:
    person, bars, take, points = text.split()
    return Ballot(person, parse_range(bars), parse_take_id(take), int(points))
