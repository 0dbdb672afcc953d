from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from logbook.editing.spans import Span, common, merged, total, without

EDGES = st.integers(0, 20).map(Fraction)
SPANS = st.lists(st.tuples(EDGES, EDGES).map(lambda pair: (min(pair), max(pair))), max_size=6)


def _moments(spans: list[Span]) -> set[int]:
    return {moment for start, end in spans for moment in range(int(start), int(end))}


@given(SPANS)
def test_a_union_holds_the_same_moments_once(spans: list[Span]) -> None:
    union = merged(spans)
    assert _moments(union) == _moments(spans)
    assert total(union) == len(_moments(spans))
    assert all(before[1] < after[0] for before, after in pairwise(union))


@given(SPANS, SPANS)
def test_what_is_left_is_what_the_others_do_not_cover(
    spans: list[Span], removed: list[Span]
) -> None:
    assert _moments(without(spans, removed)) == _moments(spans) - _moments(removed)


@given(SPANS)
def test_two_spans_share_what_lies_in_both(spans: list[Span]) -> None:
    for first in spans:
        for second in spans:
            shared = common(first, second)
            assert _moments([shared] if shared else []) == _moments([first]) & _moments([second])
