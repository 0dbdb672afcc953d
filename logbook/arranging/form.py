"""The arranged form: which recorded bar each new bar comes from.

Conventions. Several mentions of a section take the record's sections of that name one after the
other; a mention that says how often it is played repeats the same one. A section of another name
that is made from one takes no turn: it has the bars of the first of them, or of the one whose
number is said ("verse 2"), and its tempo stays what it is where those bars begin. A shortened section keeps its first bars; an extended one
goes round, and what is left over comes from its last bars: four bars made six are 1 2 3 4 3 4. A
vamp stands in the form once, and its true length is open. The pick-up is kept where the form
begins with the record's first bar.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from logbook.errors import LogbookError
from logbook.names import alike
from logbook.records.arrangements import ArrangedSection
from logbook.records.songs import FormSection, Version

MOST_BARS = 20_000


class Passage(NamedTuple):
    """One section of the arranged form, played once through.

    `start` is its first bar and `bars` its length in bars; `number` of `times` says which pass it
    is. `origins` are the recorded bars it comes from, None for bars that are newly written, and
    `said` the arrangement's own line (None: as recorded).
    """

    name: str
    start: int
    bars: int
    number: int
    times: int
    vamp: bool
    origins: tuple[int | None, ...]
    said: ArrangedSection | None

    @property
    def end(self) -> int:
        """The bar after its last."""
        return self.start + self.bars


class ArrangedForm(NamedTuple):
    """The passages in order, and for each new bar the recorded bar it comes from (None: new).

    `origins` holds bar 0 where a pick-up is kept. `is_recorded` says that nothing was moved.
    """

    passages: tuple[Passage, ...]
    origins: Mapping[int, int | None]
    is_recorded: bool

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
    bar = 1
    for said in sections:
        source = _source(version, said, mentioned)
        name = said.name or (source.name if source else "")
        bars = _bars(said, source)
        if said.times < 1:
            raise LogbookError(f"{name} is played {said.times} times", "say once or more, as in x2")
        if bar + bars * said.times > MOST_BARS:
            raise LogbookError(
                f"with {name} the form passes bar {MOST_BARS}", "make it shorter, or repeat it less"
            )
        origins: tuple[int | None, ...] = (None,) * bars if source is None else _drawn(source, bars)
        for number in range(1, said.times + 1):
            passages.append(Passage(name, bar, bars, number, said.times, said.vamp, origins, said))
            bar += bars
    return ArrangedForm(tuple(passages), _all_origins(version, passages), False)


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
    wanted = said.source or ("" if said.bars is not None else said.name)
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


def _bars(said: ArrangedSection, source: FormSection | None) -> int:
    if said.bars is not None:
        if said.bars < 1:
            raise LogbookError(
                f"{said.name} is {said.bars} bars long", "give it one bar or more, or leave it out"
            )
        return said.bars
    assert source is not None
    return len(_recorded_bars(source))


def _recorded_bars(source: FormSection) -> range:
    """A section's full bars; a pick-up inside it is not one of them."""
    return range(max(source.start, 1), source.start + source.bars)


def _drawn(source: FormSection, bars: int) -> tuple[int, ...]:
    """The recorded bars for a section of `bars` bars; see the module for a changed length."""
    recorded = tuple(_recorded_bars(source))
    if not recorded:
        raise LogbookError(
            f"{source.name} is nothing but the pick-up", "leave it out: it goes with what follows"
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


def vamps_of(form: ArrangedForm) -> tuple[str, ...]:
    """Names of the sections whose length is open."""
    return tuple(dict.fromkeys(each.name for each in form.passages if each.vamp))


def road_map(form: ArrangedForm) -> tuple[str, ...]:
    """The form as a band reads it, a line each: "intro, bars 1-4", "chorus x2, bars 5-12"."""
    lines = []
    for passage in form.passages:
        if passage.number != 1:
            continue
        last = passage.start + passage.bars * passage.times - 1
        times = f" x{passage.times}" if passage.times > 1 else ""
        where = f"bar {last}" if last == passage.start else f"bars {passage.start}-{last}"
        lines.append(f"{passage.name}{times}, {where}")
    return tuple(lines)
