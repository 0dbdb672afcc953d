"""The order of a set that needs the fewest changes, with fixed opener, closer and pairs.

Conventions. Songs that stay together are one block. Up to 14 blocks the best order is found
exactly, by dynamic programming over the sets of blocks played so far (Held and Karp 1962, from
memory); with more, orders grown from every possible start are improved by moving and turning
stretches until nothing helps, and the answer says that it is not exact.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import NamedTuple

from logbook.errors import LogbookError

EXACT_UP_TO = 14
_IMPROVED, _TRIES = 4, 20_000  # how long the search by hand goes on

Cost = tuple[int, float]
"""What one song after another costs: changes, then seconds."""


class Order(NamedTuple):
    """An order by place in the list; `exact` says whether none can be better."""

    places: tuple[int, ...]
    exact: bool
    changes: int
    seconds: float


def best_order(
    costs: Sequence[Sequence[Cost]],
    *,
    openers: Sequence[int] = (),
    closers: Sequence[int] = (),
    with_next: Sequence[int] = (),
    names: Sequence[str] = (),
) -> Order:
    """Return the order of songs with the least cost; `costs[a][b]` is that of b right after a.

    Songs in `with_next` are followed by the next one of the list. The list's own order is kept
    where none is better. Raises LogbookError where opener, closer and pairs contradict.
    """
    count = len(costs)
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
    between = _between(costs, blocks)
    exact = len(blocks) <= EXACT_UP_TO
    search = _exactly if exact else _by_hand
    found = search(between, first_block, last_block)
    own = list(range(len(blocks)))
    if _fits(own, first_block, last_block) and _sum(own, between) <= _sum(found, between):
        found = own
    places = tuple(place for block in found for place in blocks[block])
    changes, seconds = 0, 0.0
    for before, after in pairwise(places):
        changes += costs[before][after][0]
        seconds += costs[before][after][1]
    return Order(places, exact, changes, seconds)


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


def _between(costs: Sequence[Sequence[Cost]], blocks: list[list[int]]) -> list[list[Cost]]:
    return [[costs[before[-1]][after[0]] for after in blocks] for before in blocks]


def _sum(order: Sequence[int], between: list[list[Cost]]) -> Cost:
    changes, seconds = 0, 0.0
    for before, after in pairwise(order):
        cost = between[before][after]
        changes += cost[0]
        seconds += cost[1]
    return changes, round(seconds, 6)


def _fits(order: Sequence[int], first: int | None, last: int | None) -> bool:
    return (first is None or order[0] == first) and (last is None or order[-1] == last)


def _exactly(between: list[list[Cost]], first: int | None, last: int | None) -> list[int]:
    """The best order of all: for each set of blocks and each last one, the cheapest way there."""
    count = len(between)
    whole = (1 << count) - 1
    best: list[dict[int, tuple[int, float, int]]] = [{} for _ in range(whole + 1)]
    for start in range(count) if first is None else (first,):
        if start != last or count == 1:
            best[1 << start][start] = (0, 0.0, -1)
    for played in range(1, whole + 1):
        for at, (changes, seconds, _) in best[played].items():
            row = between[at]
            for after in range(count):
                bit = 1 << after
                if played & bit or (after == last and played | bit != whole):
                    continue
                cost = row[after]
                reached = (changes + cost[0], seconds + cost[1], at)
                known = best[played | bit].get(after)
                if known is None or reached[:2] < known[:2]:
                    best[played | bit][after] = reached
    at = min(best[whole], key=lambda each: best[whole][each][:2])
    order, played = [at], whole
    while (before := best[played][at][2]) >= 0:
        played ^= 1 << at
        at = before
        order.append(at)
    return order[::-1]


def _by_hand(between: list[list[Cost]], first: int | None, last: int | None) -> list[int]:
    """A good order: the nearest next one from every start, the best of them improved."""
    starts = range(len(between)) if first is None else (first,)
    grown = [_nearest(between, start, last) for start in starts if start != last]
    grown.sort(key=lambda order: _sum(order, between))
    improved = [_improved(order, between, first, last) for order in grown[:_IMPROVED]]
    return min(improved, key=lambda order: _sum(order, between))


def _nearest(between: list[list[Cost]], start: int, last: int | None) -> list[int]:
    order = [start]
    left = set(range(len(between))) - {start, last}
    while left:
        order.append(min(sorted(left), key=between[order[-1]].__getitem__))
        left.remove(order[-1])
    return order if last is None else [*order, last]


def _improved(
    order: list[int], between: list[list[Cost]], first: int | None, last: int | None
) -> list[int]:
    cost, tries, better = _sum(order, between), 0, True
    while better and tries < _TRIES:
        better = False
        for other in _neighbours(order):
            tries += 1
            if _fits(other, first, last) and _sum(other, between) < cost:
                order, cost, better = other, _sum(other, between), True
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
