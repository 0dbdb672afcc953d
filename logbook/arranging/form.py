"""The arranged form: which recorded bar each new bar comes from.

Conventions. Several mentions of a section take the record's sections of that name one after the
other; a mention that says how often it is played repeats the same one. A section of another name
that is made from one takes no turn: it has the bars of the first of them, or of the one whose
number is said ("verse 2"), and its tempo stays what it is where those bars begin. A shortened
section keeps its first bars; an extended one goes round, and what is left over comes from its last
bars: four bars made six are 1 2 3 4 3 4. A vamp stands in the form once, and its true length is
open. The pick-up is kept where the form begins with the record's first bar. After a jump (D.S.,
D.C.) sections are played once, with their last ending (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from types import MappingProxyType
from typing import NamedTuple, TypeVar

from logbook.arranging.moves import PLAIN, Moves, SectionBars, read_moves
from logbook.errors import LogbookError
from logbook.names import alike
from logbook.records.arrangements import ArrangedSection
from logbook.records.songs import FormSection, Version

MOST_BARS = 20_000


class Passage(NamedTuple):
    """One section of the arranged form, played once through.

    `start` is its first bar and `bars` its length in bars; `number` of `times` says which pass it
    is. `origins` are the recorded bars it comes from, None for bars that are newly written, and
    `said` the arrangement's own line (None: as recorded), with its `moves`. `note` tells it from
    others of its name ("second ending", "after the D.S."). `borrowed` says that it is made from a
    section of another name.
    """

    name: str
    start: int
    bars: int
    number: int
    times: int
    vamp: bool
    origins: tuple[int | None, ...]
    said: ArrangedSection | None
    moves: Moves = PLAIN
    note: str = ""
    borrowed: bool = False

    @property
    def end(self) -> int:
        """The bar after its last."""
        return self.start + self.bars


class ArrangedForm(NamedTuple):
    """The passages in order, and for each new bar the recorded bar it comes from (None: new).

    `origins` holds bar 0 where a pick-up is kept. `is_recorded` says that nothing was moved.
    `meters` are bars whose meter was changed, `beats` those cut to so many beats.
    """

    passages: tuple[Passage, ...]
    origins: Mapping[int, int | None]
    is_recorded: bool
    meters: Mapping[int, str] = MappingProxyType({})
    beats: Mapping[int, int] = MappingProxyType({})

    @property
    def runs(self) -> tuple[tuple[int, int | None, int], ...]:
        """Bars that follow each other as on the record: first new bar, its origin, how many."""
        runs: list[tuple[int, int | None, int]] = []
        for bar in sorted(self.origins):
            origin = self.origins[bar]
            if runs:
                first, start, count = runs[-1]
                follows = origin is None if start is None else origin == start + count
                if bar == first + count and follows:
                    runs[-1] = (first, start, count + 1)
                    continue
            runs.append((bar, origin, 1))
        return tuple(runs)


def arrange_form(version: Version, sections: Sequence[ArrangedSection]) -> ArrangedForm:
    """Lay the arranged sections out in bars; none given is the form as recorded.

    Raises LogbookError for a section that is not in the form, a new one without a length, or a
    form that never ends.
    """
    if not sections:
        return _as_recorded(version)
    passages: list[Passage] = []
    mentioned: dict[str, int] = {}
    sources: dict[int, FormSection | None] = {}
    bar = 1
    for line in _road(sections):
        said, moves = line.said, line.moves
        if line.place not in sources:
            sources[line.place] = _source(version, said, mentioned)
        source = sources[line.place]
        name = said.name or (source.name if source else "")
        if said.times < 1:
            raise LogbookError(f"{name} is played {said.times} times", "say once or more, as in x2")
        borrowed = source is not None and said.name.casefold() not in ("", _plain(source.name))
        for each in _passes(line, name, source):
            if bar + len(each.origins) * each.times > MOST_BARS:
                raise LogbookError(
                    f"with {name} the form passes bar {MOST_BARS}",
                    "make it shorter, or repeat it less",
                )
            for number in range(1, each.times + 1):
                bars = len(each.origins)
                passages.append(
                    Passage(
                        name, bar, bars, number, each.times, said.vamp, each.origins, said, moves,
                        each.note, borrowed,
                    )
                )  # fmt: skip
                bar += bars
    meters, beats = _changed_bars(passages)
    return ArrangedForm(tuple(passages), _all_origins(version, passages), False, meters, beats)


def _plain(name: str) -> str:
    return name.casefold()


class _FormTurn(NamedTuple):
    """A line of the arranged form when it is its turn; `again` names the jump it comes after."""

    place: int
    said: ArrangedSection
    moves: Moves
    again: str = ""


class _Pass(NamedTuple):
    """A section as it is played `times` times over, all alike."""

    origins: tuple[int | None, ...]
    times: int
    note: str


def _road(sections: Sequence[ArrangedSection]) -> Iterator[_FormTurn]:
    """The lines in the order they are played, jumps followed."""
    lines = []
    for place, said in enumerate(sections):
        try:
            lines.append(_FormTurn(place, said, read_moves(said.moves)))
        except LogbookError as error:
            raise LogbookError(f"{said.name}: {error.problem}", error.remedy) from error
    at = 0
    while at < len(lines):
        line = lines[at]
        yield line
        at += 1
        jump = line.moves.jump
        if not jump:
            continue
        start = 0 if jump.startswith("D.C.") else _marked(lines[:at], "segno", line)
        stop = at - 1
        if jump.endswith("al coda"):
            stop = start + _marked(lines[start:at], "to coda", line)
            coda = at + _marked(lines[at:], "coda", line)
            if coda != at:
                raise LogbookError(
                    f"{lines[at].said.name} stands between the {jump} and the coda, and is never "
                    "played",
                    "put the coda right behind the jump",
                )
        elif jump.endswith("al fine"):
            stop = start + _marked(lines[start:at], "fine", line)
            if at < len(lines):
                raise LogbookError(
                    f"{lines[at].said.name} comes after the {jump}, and is never played",
                    "the song ends at the fine: take it out, or write another jump",
                )
        for again in lines[start : stop + 1]:
            yield again._replace(again=jump[:4])


def _marked(lines: Sequence[_FormTurn], mark: str, line: _FormTurn) -> int:
    """Which of the lines has a mark that a jump needs."""
    for place, each in enumerate(lines):
        if mark in each.moves.marks:
            return place
    where = "after it" if mark == "coda" else "before it"
    raise LogbookError(
        f"the {line.moves.jump} of {line.said.name} finds no {mark} {where}",
        f"mark a section: its name, then {mark}",
    )


def _passes(line: _FormTurn, name: str, source: FormSection | None) -> Iterator[_Pass]:
    """How a section is played when it is its turn: all times alike, or each with its ending."""
    moves, note = line.moves, f"after the {line.again}" if line.again else ""
    times = 1 if line.again else line.said.times
    whole = _bars_of(line.said, moves, source)
    if not moves.endings:
        yield _Pass(whole, times, note)
        return
    common = whole[: moves.endings[0].first - 1]
    numbers = range(1, times + 1) if not line.again else (max(times, len(moves.endings)),)
    if times < len(moves.endings) and not line.again:
        raise LogbookError(
            f"{name} has {len(moves.endings)} endings and is played {times} times",
            f"write x{len(moves.endings)}",
        )
    for number in numbers:
        which = min(number, len(moves.endings))
        ending = _cut(whole, moves.endings[which - 1], name)
        said = f"{_ORDINALS[which - 1] if which <= len(_ORDINALS) else f'{which}th'} ending"
        yield _Pass((*common, *ending), 1, ", ".join(filter(None, (note, said))))


_ORDINALS = ("first", "second", "third", "fourth", "fifth", "sixth")


def _bars_of(
    said: ArrangedSection, moves: Moves, source: FormSection | None
) -> tuple[int | None, ...]:
    """The recorded bars a section has, None for each new one."""
    if source is None:
        if moves.bars:
            raise LogbookError(
                f"{said.name} is new, so it has no bars {moves.bars} yet",
                "say from which section they come",
            )
        return (None,) * _bars(said, None, 0)
    recorded: tuple[int, ...] = tuple(_recorded_bars(source))
    if moves.bars:
        recorded = _cut(recorded, moves.bars, source.name)
    return _drawn(source.name, recorded, _bars(said, source, len(recorded)))


_Bar = TypeVar("_Bar", bound=int | None)


def _cut(bars: tuple[_Bar, ...], span: SectionBars, name: str) -> tuple[_Bar, ...]:
    if span.last > len(bars):
        raise LogbookError(
            f"{name} has {len(bars)} bars, and no bar {span.last}",
            "bars are counted from the first of the section",
        )
    return bars[span.first - 1 : span.last]


def _changed_bars(passages: Sequence[Passage]) -> tuple[dict[int, str], dict[int, int]]:
    meters: dict[int, str] = {}
    beats: dict[int, int] = {}
    for each in passages:
        if each.moves.meter:
            meters.update(dict.fromkeys(range(each.start, each.end), each.moves.meter))
        if each.moves.last_beats:
            beats[each.end - 1] = each.moves.last_beats
    return meters, beats


def _as_recorded(version: Version) -> ArrangedForm:
    form = sorted(version.form, key=lambda section: section.start)
    passages = tuple(
        Passage(
            each.name, each.start, each.bars, 1, 1, False,
            tuple(range(each.start, each.start + each.bars)), None,
        )
        for each in form
    )  # fmt: skip
    last = max([1, *(each.end - 1 for each in passages), *_bars_in_use(version)])
    first = 0 if version.pickup_beats else 1
    return ArrangedForm(passages, {bar: bar for bar in range(first, last + 1)}, True)


def _bars_in_use(version: Version) -> list[int]:
    """Bars that parts play in or the tempo map speaks of, in or out of the form."""
    used = [entry.bar for part in version.parts for entry in part.chart]
    used += [change.bar for change in version.meters]
    return used + [change.bar for change in version.tempos]


def _source(
    version: Version, said: ArrangedSection, mentioned: dict[str, int]
) -> FormSection | None:
    """The recorded section that is meant; the next one of its name at each mention."""
    moves = read_moves(said.moves)
    is_new = said.bars is not None or bool(moves.chart)
    wanted = said.source or ("" if is_new and not moves.bars else said.name)
    if not wanted:
        return None
    found = [each for each in version.form if each.name == wanted]
    if not found:
        found = [each for each in version.form if alike(each.name, wanted)]
    if not found:
        names = ", ".join(dict.fromkeys(each.name for each in version.form))
        raise LogbookError(
            f'the form has no section "{wanted}"',
            f"it has {names}; a new one needs a length in bars" if names
            else "the version has no form yet: give it one first, or say a length in bars",
        )  # fmt: skip
    found.sort(key=lambda each: each.start)
    turn = mentioned.get(found[0].name, 0)
    if not said.name or alike(said.name, found[0].name):
        mentioned[found[0].name] = turn + 1
    return found[min(turn, len(found) - 1)]


def _bars(said: ArrangedSection, source: FormSection | None, recorded: int) -> int:
    if said.bars is not None:
        if said.bars < 1:
            raise LogbookError(
                f"{said.name} is {said.bars} bars long", "give it one bar or more, or leave it out"
            )
        return said.bars
    if source is None:
        return len(read_moves(said.moves).chart.split("|"))
    return recorded


def _recorded_bars(source: FormSection) -> range:
    """A section's full bars; a pick-up inside it is not one of them."""
    return range(max(source.start, 1), source.start + source.bars)


def _drawn(name: str, recorded: tuple[int, ...], bars: int) -> tuple[int, ...]:
    """The recorded bars for a section of `bars` bars; see the module for a changed length."""
    if not recorded:
        raise LogbookError(
            f"{name} is nothing but the pick-up", "leave it out: it goes with what follows"
        )
    rounds, left = divmod(bars, len(recorded))
    if not rounds:
        return recorded[:bars]
    return recorded * rounds + (recorded[-left:] if left else ())


def _all_origins(version: Version, passages: Sequence[Passage]) -> dict[int, int | None]:
    origins: dict[int, int | None] = {}
    if version.pickup_beats and passages[0].origins[0] == 1:
        origins[0] = 0
    for passage in passages:
        origins.update(enumerate(passage.origins, start=passage.start))
    return origins


def first_origin(form: ArrangedForm) -> int:
    """The recorded bar that the arrangement begins with; new bars before it are passed over."""
    origins = (form.origins[bar] for bar in sorted(form.origins) if bar >= 1)
    return next((origin for origin in origins if origin), 1)


ENDING_WORDS = {
    "ring": "let the last chord ring",
    "stop": "stop dead on the last beat",
    "fade": "fade out",
}
