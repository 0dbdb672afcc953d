"""The form changed, and what stands in it carried along: chart, takes, comp, notes, tempo, meter.

Conventions. An edit is a set of moves, each a run of old bars and the bar where it begins now; old
bars without a move are gone. What covered several bars covers what became of them: a take keeps one
stretch, from the first to the last of its bars, and it is told when new bars lie between them;
pieces of a comp are parted there. What lost all of its bars goes, and that is told too.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from typing import NamedTuple, TypeVar

from logbook.errors import LogbookError
from logbook.records.context import bars_map
from logbook.records.form_pieces import drawn_along, moved_piece, runs_of
from logbook.records.lyrics import moved_words
from logbook.records.melodies import Melody, moved_melody
from logbook.records.parts import ChartEntry, Comp, CompPiece, Part, PunchIn, Take
from logbook.records.songs import FormSection, MeterChange, TempoChange, Version
from logbook.records.votes import Vote
from logbook.timing.bars import BarRange, parse_point, parse_range, parse_ranges

Held = TypeVar("Held")


class FormMove(NamedTuple):
    """`length` bars that began at bar `old` begin at bar `new`."""

    old: int
    length: int
    new: int


class Edited(NamedTuple):
    """A version with its new form, and what could not simply move along, a sentence each.

    `place` says where an old bar is now, None for one that is gone.
    """

    version: Version
    told: tuple[str, ...]
    place: Callable[[int], int | None] = int


# The edits


def insert_bars(version: Version, at: int, count: int) -> Edited:
    """Put `count` new bars before bar `at`; the section that bar is in grows by them.

    After the last bar the last section grows. Raises LogbookError where there is no such bar.
    """
    form = _form(version)
    last = form[-1].start + form[-1].bars
    if not form[0].start <= at <= last or not 0 < count <= 10_000:
        raise LogbookError(
            f"no bars can be put in before bar {at}",
            f"the form has bars {form[0].start}-{last - 1}",
        )
    grown = next((each for each in form if each.start <= at < each.start + each.bars), form[-1])
    new = []
    for each in form:
        if each is grown:
            new.append(replace(each, bars=each.bars + count))
        else:
            new.append(replace(each, start=each.start + count) if each.start >= at else each)
    moves = [FormMove(1, at - 1, 1), FormMove(at, max(last - at, 0), at + count)]
    return edited(version, tuple(new), moves)


def insert_section(version: Version, name: str, count: int, before: int | None = None) -> Edited:
    """Put a new section of `count` bars before bar `before`, or at the end.

    It is charted as the sections of its name are, where they are all alike.
    """
    form = sorted(version.form, key=lambda each: each.start)
    end = max((each.start + each.bars for each in form), default=1)
    at = end if before is None else before
    if at != end and all(each.start != at for each in form):
        raise LogbookError(
            f"no section begins at bar {at}", "name the section that the new one comes before"
        )
    if not 0 < count <= 10_000:
        raise LogbookError(f"a section cannot have {count} bars", "write 1 or more")
    later = [replace(each, start=each.start + count) for each in form if each.start >= at]
    new = [each for each in form if each.start < at]
    moves = [FormMove(1, at - 1, 1), FormMove(at, max(end - at, 0), at + count)]
    section = FormSection(name=name, start=at, bars=count)
    done = edited(version, (*new, section, *later), moves)
    return done._replace(version=fill_namesakes(done.version, {at}))


def delete_bars(version: Version, first: int, last: int) -> Edited:
    """Take bars `first` to `last` out; a section that loses all of its bars goes."""
    form = _form(version)
    end = form[-1].start + form[-1].bars
    if not form[0].start <= first <= last < end:
        raise LogbookError(
            f"the form has no bars {first}-{last}", f"it has bars {form[0].start}-{end - 1}"
        )
    count = last - first + 1
    new = []
    for each in form:
        inside = len(set(range(each.start, each.start + each.bars)) & set(range(first, last + 1)))
        gone_before = min(max(each.start - first, 0), count)
        if each.bars > inside:
            new.append(replace(each, start=each.start - gone_before, bars=each.bars - inside))
    moves = [FormMove(1, first - 1, 1), FormMove(last + 1, end - 1 - last, first)]
    return edited(version, tuple(new), moves)


def move_section(version: Version, start: int, before: int | None) -> Edited:
    """Put the section that begins at bar `start` before the one at bar `before`, or at the end."""
    form = _form(version)
    moved = next((each for each in form if each.start == start), None)
    if moved is None or (before is not None and all(each.start != before for each in form)):
        raise LogbookError(
            f"no section begins at bar {start if moved is None else before}",
            "name a section of the form",
        )
    left = [each for each in form if each is not moved]
    at = next((i for i, each in enumerate(left) if each.start == before), len(left))
    if before == start:
        at = form.index(moved)
    order = [*left[:at], moved, *left[at:]]
    new, moves, bar = [], [], form[0].start
    for each in order:
        new.append(replace(each, start=bar))
        moves.append(FormMove(each.start, each.bars, bar))
        bar += each.bars
    return edited(version, tuple(new), moves)


def restated(version: Version, form: tuple[FormSection, ...]) -> Edited:
    """Set a whole new form; a section is known again by its name and its count among namesakes."""
    old = sorted(version.form, key=lambda each: each.start)
    moves = []
    met: dict[str, int] = {}
    for each in form:
        nth = met.get(each.name, 0)
        met[each.name] = nth + 1
        same = [section for section in old if section.name == each.name]
        if nth < len(same):
            moves.append(FormMove(same[nth].start, min(same[nth].bars, each.bars), each.start))
    moves += _in_place(old, form, moves)
    known = {(move.old, move.new) for move in moves}
    kept = []
    for each in form:
        before = next((o for o in old if (o.start, each.start) in known), None)
        kept.append(replace(each, notes=each.notes or (before.notes if before else "")))
    done = edited(version, tuple(kept), moves)
    new = {each.start for each in form} - {move.new for move in moves}
    # A section that stayed in place has its own chart.
    return done._replace(version=fill_namesakes(done.version, new))


def _in_place(
    old: Sequence[FormSection], form: Sequence[FormSection], moves: Sequence[FormMove]
) -> list[FormMove]:
    """Bars that no name finds again stay where they are: a section may only have got a name."""
    came = {move.old + n for move in moves for n in range(move.length)}
    went = {move.new + n for move in moves for n in range(move.length)}
    before = {b for each in old for b in range(each.start, each.start + each.bars)} - came
    after = {b for each in form for b in range(each.start, each.start + each.bars)} - went
    return [FormMove(bar, 1, bar) for bar in sorted(before & after)]


def fill_namesakes(version: Version, starts: set[int]) -> Version:
    """Chart sections as their namesakes are, where these are charted and all alike."""
    form = sorted(version.form, key=lambda each: each.start)
    parts = []
    for part in version.parts:
        chart = list(part.chart)
        for section in (each for each in form if each.start in starts):
            inside = _inside(part.chart, section)
            same = [e for e in form if e.name == section.name and e.start not in starts]
            charts = [_relative(_inside(part.chart, each), each.start) for each in same]
            charts = [each for each in charts if each]
            if inside or not charts or any(each != charts[0] for each in charts):
                continue
            chart += [
                replace(each, bar=each.bar + section.start)
                for each in charts[0]
                if each.bar < section.bars
            ]
        parts.append(replace(part, chart=_sorted(chart)))
    return replace(version, parts=tuple(parts))


def _form(version: Version) -> list[FormSection]:
    if not version.form:
        raise LogbookError(
            f"{version.name} has no form yet", "say it: logbook note 'A 8 bars, B 8 bars, A, B'"
        )
    return sorted(version.form, key=lambda each: each.start)


def _inside(chart: Iterable[ChartEntry], section: FormSection) -> list[ChartEntry]:
    return [each for each in chart if section.start <= each.bar < section.start + section.bars]


def _relative(chart: list[ChartEntry], start: int) -> list[ChartEntry]:
    return [replace(each, bar=each.bar - start) for each in chart]


def _sorted(chart: Iterable[ChartEntry]) -> tuple[ChartEntry, ...]:
    return tuple(sorted(chart, key=lambda each: (each.bar, Fraction(each.beat))))


# Carrying along


def edited(version: Version, form: tuple[FormSection, ...], moves: Sequence[FormMove]) -> Edited:
    """Give a version another form; `moves` say where the old bars are now."""
    where = {move.old + n: move.new + n for move in moves for n in range(move.length)}
    old_bars = {b for each in version.form for b in range(each.start, each.start + each.bars)}
    new_bars = {b for each in form for b in range(each.start, each.start + each.bars)}
    shift = (max(new_bars, default=0) - max(old_bars, default=0)) if old_bars else 0

    def place(bar: int) -> int | None:
        if bar in where:
            return where[bar]
        if bar in old_bars:
            return None
        # A pick-up stays in front; what stood after the end stays after it.
        return bar if bar < min(old_bars, default=1) else bar + shift

    told: list[str] = []
    parts = tuple(
        drawn_along(_part(part, version, place, told), version.name, version.name, place, told)
        for part in version.parts
    )
    tempos = _unique(
        (_tempo(each, place) for each in version.tempos), lambda each: (each.bar, each.beat)
    )
    meters = _unique((_meter(each, place) for each in version.meters), lambda each: (each.bar,))
    new = replace(
        version,
        form=form,
        parts=parts,
        tempos=tempos,
        meters=meters,
        lyrics=moved_words(version.lyrics, place, told),
    )
    if version.arrangements:
        names = ", ".join(each.name for each in version.arrangements)
        told.append(f"look at the arrangements ({names}): they were made from the old form")
    return Edited(new, tuple(told), place)


def _unique(held: Iterable[Held], key: Callable[[Held], tuple[object, ...]]) -> tuple[Held, ...]:
    found: dict[tuple[object, ...], Held] = {}
    for each in held:
        found.setdefault(key(each), each)
    return tuple(sorted(found.values(), key=lambda each: [Fraction(str(k)) for k in key(each)]))


def _tempo(change: TempoChange, place: Callable[[int], int | None]) -> TempoChange:
    bar = change.bar if change.bar <= 1 else _next(change.bar, place)
    end = change.ramp_end
    if end:
        point = parse_point(end)
        # The end is where it has arrived: one bar after the last it glides in.
        moved = place(point.bar) or (_next(point.bar - 1, place) + 1)
        end = str(point._replace(bar=max(moved, bar + 1 if point.beat == 1 else bar)))
    return replace(change, bar=bar, ramp_end=end)


def _meter(change: MeterChange, place: Callable[[int], int | None]) -> MeterChange:
    return change if change.bar <= 1 else replace(change, bar=_next(change.bar, place))


def _next(bar: int, place: Callable[[int], int | None]) -> int:
    """Where a bar is now; for one that is gone, the next that is left, else the one before."""
    for nearby in (*range(bar, bar + 400), *range(bar - 1, 0, -1)):
        if (found := place(nearby)) is not None:
            return found
    return max(bar, 1)


def _part(
    part: Part, version: Version, place: Callable[[int], int | None], told: list[str]
) -> Part:
    chart, lost = [], 0
    for entry in part.chart:
        bar = place(entry.bar)
        if bar is None:
            lost += 1
        else:
            chart.append(replace(entry, bar=bar))
    if lost:
        told.append(
            f"{part.name}: {lost} chart entr{'y' if lost == 1 else 'ies'} went with the bars"
        )
    return replace(
        part,
        chart=_sorted(chart),
        melody=_melody(part, version, place, told),
        takes=tuple(_take(each, part, place, told) for each in part.takes),
        comps=tuple(_comp(each, part, place, told) for each in part.comps),
        votes=tuple(vote for each in part.votes for vote in _vote(each, part, place, told)),
        technique_notes=tuple(
            replace(each, bars=_texts(each.bars, place, told, f"the note {each.text!r}"))
            for each in part.technique_notes
        ),
        overdubs=tuple(
            replace(each, bars=_texts(each.bars, place, told, f"the overdub of {part.name}"))
            for each in part.overdubs
        ),
        reused=tuple(
            replace(each, source=_text(each.source, place), bars=_text(each.bars, place))
            for each in part.reused
        ),
    )


def _melody(
    part: Part, version: Version, place: Callable[[int], int | None], told: list[str]
) -> tuple[Melody, ...]:
    """The melody in its bars; one that cannot be read stays where its phrases begin."""
    if not part.melody:
        return ()
    lost: list[str] = []
    try:
        moved = moved_melody(part.melody, bars_map(version), place, lost)
    except LogbookError:
        kept = ((each, place(each.bar)) for each in part.melody)
        moved = tuple(replace(each, bar=bar) for each, bar in kept if bar is not None)
    told += [f"{part.name}: {each}" for each in lost]
    return moved


def _vote(
    vote: Vote, part: Part, place: Callable[[int], int | None], told: list[str]
) -> Iterator[Vote]:
    bars = _texts(vote.bars, place, told, f"a vote on take {vote.take} of {part.name}")
    for each in filter(None, bars.split(", ")):
        yield replace(vote, bars=each)


def _take(take: Take, part: Part, place: Callable[[int], int | None], told: list[str]) -> Take:
    who = f"take {take.number} of {part.name}"
    punches = []
    for punch in take.punch_ins:
        runs = runs_of(parse_range(punch.bars), place)
        if not runs:
            told.append(f"{who}: its punch-in at {punch.bars} went with the bars")
        punches += [replace(punch, bars=str(run)) for run in runs]
    if not take.bars:
        return replace(take, punch_ins=_once(punches))
    runs = runs_of(parse_range(take.bars), place)
    if not runs:
        told.append(f"{who} covered bars {take.bars}, which are gone")
        return replace(take, bars="", punch_ins=_once(punches))
    whole = BarRange(runs[0].start, runs[-1].end)
    if len(runs) > 1:
        left = ", ".join(str(BarRange(a.end, b.start)) for a, b in itertools.pairwise(runs))
        told.append(f"{who} covers bars {whole} now, without the new bars {left}")
    return replace(take, bars=str(whole), punch_ins=_once(punches))


def _once(punches: list[PunchIn]) -> tuple[PunchIn, ...]:
    return tuple({(each.bars, each.number): each for each in punches}.values())


def _comp(comp: Comp, part: Part, place: Callable[[int], int | None], told: list[str]) -> Comp:
    pieces: list[CompPiece] = []
    for piece in comp.pieces:
        moved = moved_piece(piece, place)
        if not moved:
            told.append(f"{comp.name} of {part.name}: the piece at {piece.bars} went with the bars")
        elif len(moved) > 1:
            told.append(
                f"{comp.name} of {part.name}: the piece at {piece.bars} stands at"
                f" {', '.join(each.bars for each in moved)} now"
            )
        pieces += moved
    pieces.sort(key=lambda each: parse_range(each.bars))
    return replace(comp, pieces=tuple(pieces))


def _text(text: str, place: Callable[[int], int | None]) -> str:
    runs = runs_of(parse_range(text), place) if text else []
    return str(BarRange(runs[0].start, runs[-1].end)) if runs else text


def _texts(text: str, place: Callable[[int], int | None], told: list[str], what: str) -> str:
    if not text:
        return text
    runs = [run for each in parse_ranges(text) for run in runs_of(each, place)]
    if not runs:
        told.append(f"{what} was about bars {text}, which are gone")
        return ""
    return ", ".join(map(str, sorted(runs)))
