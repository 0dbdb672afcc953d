"""The best order of a set, with fixed opener, closer and pairs.

Conventions. What a song costs may depend on everything played before it, as far as a *state* holds
it: the stage after some songs. Songs that stay together are one block. Up to 14 blocks the best
order is found exactly, by dynamic programming over the sets of blocks played so far and the states
they can leave the stage in (after Held and Karp 1962, from memory); with more, or with very many
states, orders grown from every possible start are improved by moving and turning stretches until
nothing helps, and the answer says that it is not exact.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator, Sequence
from typing import NamedTuple

from logbook.errors import LogbookError

EXACT_UP_TO = 14
_MOST_REACHED = 600_000  # stages looked at before the exact search gives up
_IMPROVED, _TRIES = 4, 20_000  # how long the search by hand goes on

Cost = tuple[int, int]
"""What a song costs after those before it; orders compare the sums of each, the first one first."""

Step = Callable[[Hashable, int], tuple[Cost, Hashable]]
"""The cost of a song on a stage, and the stage after it; the stage before any song is None."""

_NOTHING: Cost = (0, 0)


class Order(NamedTuple):
    """An order by place in the list and what it costs; `exact` says whether none can be better."""

    places: tuple[int, ...]
    exact: bool
    cost: Cost


def best_order(
    count: int,
    step: Step,
    *,
    openers: Sequence[int] = (),
    closers: Sequence[int] = (),
    with_next: Sequence[int] = (),
    names: Sequence[str] = (),
) -> Order:
    """Return the order of `count` songs with the least cost.

    Songs in `with_next` are followed by the next one of the list. The list's own order is kept
    where none is better. Raises LogbookError where opener, closer and pairs contradict.
    """
    if not count:
        raise LogbookError("there are no songs to put in order", "add some to the set")
    called = list(names) or [f"song {n + 1}" for n in range(count)]
    first = _only(openers, "opener", called)
    last = _only(closers, "closer", called)
    blocks = _blocks(count, set(with_next), called)
    first_block = _place(blocks, first, 0, "opener", called)
    last_block = _place(blocks, last, -1, "closer", called)
    if first is not None and first == last and count > 1:
        raise LogbookError(f"{called[first]} is both opener and closer", "make it one of them")
    if first_block is not None and first_block == last_block and len(blocks) > 1:
        raise LogbookError(
            "opener and closer are tied together by pairs", "untie a pair, or free one of them"
        )
    stage = _Stage(blocks, step)
    found = _exactly(stage, first_block, last_block) if len(blocks) <= EXACT_UP_TO else None
    exact = found is not None
    if found is None:
        found = _by_hand(stage, first_block, last_block)
    own = list(range(len(blocks)))
    if _fits(own, first_block, last_block) and stage.cost(own) <= stage.cost(found):
        found = own
    places = tuple(place for block in found for place in blocks[block])
    return Order(places, exact, stage.cost(found))


class _Stage:
    """Blocks played on a stage, its states by number; what was worked out once is remembered."""

    def __init__(self, blocks: list[list[int]], step: Step) -> None:
        self.blocks = blocks
        self._step = step
        self._numbers: dict[Hashable, int] = {None: 0}
        self._states: list[Hashable] = [None]
        self._known: dict[tuple[int, int], tuple[Cost, int]] = {}

    def play(self, state: int, block: int) -> tuple[Cost, int]:
        """The cost of a block on a stage, and the number of the stage after it."""
        known = self._known.get((state, block))
        if known is not None:
            return known
        total, at = _NOTHING, self._states[state]
        for song in self.blocks[block]:
            cost, at = self._step(at, song)
            total = (total[0] + cost[0], total[1] + cost[1])
        number = self._numbers.setdefault(at, len(self._states))
        if number == len(self._states):
            self._states.append(at)
        self._known[state, block] = (total, number)
        return total, number

    def cost(self, order: Sequence[int]) -> Cost:
        """What a whole order costs."""
        first = second = state = 0
        for block in order:
            cost, state = self.play(state, block)
            first, second = first + cost[0], second + cost[1]
        return first, second


def _only(places: Sequence[int], word: str, names: Sequence[str]) -> int | None:
    if len(places) > 1:
        listed = " and ".join(names[place] for place in places[:3])
        raise LogbookError(f"the set has {len(places)} {word}s, {listed}", f"make one the {word}")
    return places[0] if places else None


def _blocks(count: int, with_next: set[int], names: Sequence[str]) -> list[list[int]]:
    if count - 1 in with_next:
        raise LogbookError(
            f"{names[count - 1]} is to stay with the next song, and there is none",
            "place it before another one",
        )
    blocks: list[list[int]] = []
    for place in range(count):
        if place and place - 1 in with_next:
            blocks[-1].append(place)
        else:
            blocks.append([place])
    return blocks


def _place(
    blocks: list[list[int]], song: int | None, end: int, word: str, names: Sequence[str]
) -> int | None:
    """The block of the opener or closer, which has to stand at that end of it."""
    if song is None:
        return None
    block = next(n for n, each in enumerate(blocks) if song in each)
    if blocks[block][end] != song:
        raise LogbookError(
            f"{names[song]} cannot be the {word} and stand inside a pair",
            f"untie it, or make {names[blocks[block][end]]} the {word}",
        )
    return block


def _fits(order: Sequence[int], first: int | None, last: int | None) -> bool:
    return (first is None or order[0] == first) and (last is None or order[-1] == last)


_Reached = dict[tuple[int, int], tuple[Cost, int, tuple[int, int]]]
"""By blocks played (a bit each) and stage: the cost, the last block, and where it came from."""


def _exactly(stage: _Stage, first: int | None, last: int | None) -> list[int] | None:
    """The best order of all: the cheapest way to each set of blocks and stage, a block at a time.

    None where there are too many stages to look at them all.
    """
    count = len(stage.blocks)
    layers: list[_Reached] = [{(0, 0): (_NOTHING, -1, (0, 0))}]
    reached = 0
    for length in range(count):
        layer: _Reached = {}
        for (played, at), (cost, _, _) in layers[-1].items():
            for block in range(count):
                bit = 1 << block
                if played & bit or (block == last) != (length == count - 1 and last is not None):
                    continue
                if length == 0 and first not in (None, block):
                    continue
                more, state = stage.play(at, block)
                total = (cost[0] + more[0], cost[1] + more[1])
                known = layer.get((played | bit, state))
                if known is None or total < known[0]:
                    layer[played | bit, state] = (total, block, (played, at))
        reached += len(layer)
        if reached > _MOST_REACHED:
            return None
        layers.append(layer)
    reached_by = min(layers[-1], key=lambda each: layers[-1][each][0])
    order = []
    for layer in reversed(layers[1:]):
        _, block, reached_by = layer[reached_by]
        order.append(block)
    return order[::-1]


def _by_hand(stage: _Stage, first: int | None, last: int | None) -> list[int]:
    """A good order: the cheapest next one from every start, the best of them improved."""
    starts = range(len(stage.blocks)) if first is None else (first,)
    grown = [_nearest(stage, start, last) for start in starts if start != last]
    grown.sort(key=stage.cost)
    improved = [_improved(order, stage, first, last) for order in grown[:_IMPROVED]]
    return min(improved, key=stage.cost)


def _nearest(stage: _Stage, start: int, last: int | None) -> list[int]:
    order = [start]
    _, state = stage.play(0, start)
    left = set(range(len(stage.blocks))) - {start, last}
    while left:
        at = state
        order.append(min(sorted(left), key=lambda block: stage.play(at, block)[0]))
        _, state = stage.play(state, order[-1])
        left.remove(order[-1])
    return order if last is None else [*order, last]


def _improved(order: list[int], stage: _Stage, first: int | None, last: int | None) -> list[int]:
    cost, tries, better = stage.cost(order), 0, True
    while better and tries < _TRIES:
        better = False
        for other in _neighbours(order):
            tries += 1
            if _fits(other, first, last) and stage.cost(other) < cost:
                order, cost, better = other, stage.cost(other), True
                break
    return order


def _neighbours(order: list[int]) -> Iterator[list[int]]:
    """Orders with one stretch turned round, or up to three blocks moved elsewhere."""
    count = len(order)
    for size in (1, 2, 3):
        for start in range(count - size + 1):
            moved, rest = order[start : start + size], [*order[:start], *order[start + size :]]
            for to in range(len(rest) + 1):
                if to != start:
                    yield [*rest[:to], *moved, *rest[to:]]
    for start in range(count):
        for end in range(start + 2, count + 1):
            yield [*order[:start], *order[start:end][::-1], *order[end:]]
