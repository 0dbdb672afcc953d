"""Votes, and the comp they come to."""

from __future__ import annotations

from itertools import pairwise, product

from hypothesis import given
from hypothesis import strategies as st

from logbook.editing.takes import TakeId, TakeResult, TakeSpan
from logbook.editing.voting import Ballot, DraftedComp, draft_comp, points_on
from logbook.timing.bars import BarPoint, BarRange, bars, parse_range


def take(number: int, span: str = "1-16", result: TakeResult | None = None) -> TakeSpan:
    return TakeSpan(number=number, bars=parse_range(span) if span else None, result=result)


def ballot(person: str, span: str, number: int, points: int = 3) -> Ballot:
    return Ballot(person, parse_range(span), TakeId(number), points)


def said(draft: DraftedComp) -> list[str]:
    pairs = zip(draft.pieces, draft.takes, strict=True)
    return [f"{span} take {take_id.number}" for span, take_id in pairs]


WHOLE = bars(1, 16)


def test_each_line_comes_from_its_best_voted_take_and_the_rest_goes_on() -> None:
    draft = draft_comp(
        [take(1), take(2), take(3)],
        [ballot("A", "1-4", 2), ballot("A", "9-10", 3), ballot("B", "9-10", 1, 2)],
        WHOLE,
        [BarPoint(1), BarPoint(9)],
    )
    # The join may stand anywhere in bars 5 to 9 and stands where a section begins.
    assert said(draft) == ["1-8 take 2", "9-16 take 3"]
    assert [str(each) for each in draft.unvoted] == ["5-8", "11-16"]


def test_two_fair_words_do_not_outweigh_a_best_but_a_tie_spares_a_join() -> None:
    takes = [take(1), take(2)]
    votes = [ballot("A", "1-8", 1), ballot("B", "1-8", 2, 1), ballot("C", "1-8", 2, 1)]
    assert said(draft_comp(takes, votes, WHOLE)) == ["1-16 take 1"]
    tie = [ballot("A", "1-8", 1), ballot("A", "9-16", 1), ballot("B", "9-16", 2)]
    assert said(draft_comp(takes, tie, WHOLE)) == ["1-16 take 1"]


def test_a_word_on_a_line_counts_more_than_the_same_persons_on_its_section() -> None:
    takes = [take(1), take(2)]
    votes = [ballot("A", "1-8", 1), ballot("A", "5-6", 1, -1), ballot("A", "5-6", 2, 1)]
    assert points_on(votes, bars(5, 6), takes) == {TakeId(1): -1, TakeId(2): 1}
    assert said(draft_comp(takes, votes, bars(1, 8))) == ["1-4 take 1", "5-6 take 2", "7-8 take 1"]


def test_takes_cover_only_their_bars_and_gaps_are_told() -> None:
    takes = [take(1, "1-4"), take(2, "7-12")]
    draft = draft_comp(takes, [ballot("A", "1-12", 1)], bars(1, 14))
    assert said(draft) == ["1-4 take 1", "7-12 take 2"]
    assert [str(each) for each in draft.gaps] == ["5-6", "13-14"]


def test_rejects_are_used_only_where_somebody_wants_them() -> None:
    takes = [take(1, result=TakeResult.REJECT), take(2, result=TakeResult.COMPLETE)]
    assert said(draft_comp(takes, [ballot("A", "9-16", 2)], WHOLE)) == ["1-16 take 2"]
    wanted = draft_comp(takes, [ballot("A", "3-4", 1)], WHOLE)
    assert said(wanted) == ["1-2 take 2", "3-4 take 1", "5-16 take 2"]


def test_where_all_is_alike_the_keeper_is_taken_and_what_was_voted_down_is_not() -> None:
    takes = [take(1, result=TakeResult.COMPLETE), take(2, result=TakeResult.KEEPER), take(3)]
    assert said(draft_comp(takes, [ballot("A", "1-16", 3, -1)], WHOLE)) == ["1-16 take 2"]
    poor = draft_comp(takes[:1], [ballot("A", "1-16", 1, -1)], WHOLE)
    assert said(poor) == ["1-16 take 1"]


def test_lines_may_begin_in_a_pick_up() -> None:
    draft = draft_comp(
        [take(1), take(2)], [ballot("A", "1-4.3", 1), ballot("A", "4.3-8", 2)], bars(1, 8)
    )
    assert said(draft) == ["1-4.3 take 1", "4.3-8 take 2"]


@st.composite
def polls(draw: st.DrawFn) -> tuple[list[TakeSpan], list[Ballot]]:
    spans = st.tuples(st.integers(1, 6), st.integers(1, 6)).map(lambda p: bars(min(p), max(p)))
    count = draw(st.integers(1, 3))
    takes = [TakeSpan(number=at + 1, bars=draw(spans)) for at in range(count)]
    votes = draw(
        st.lists(
            st.builds(
                Ballot,
                st.sampled_from("AB"),
                spans,
                st.integers(1, count).map(TakeId),
                st.sampled_from([3, 2, 1, -1]),
            ),
            max_size=4,
        )
    )
    return takes, votes


@given(polls())
def test_no_choice_bar_by_bar_is_liked_better_or_has_fewer_joins(
    poll: tuple[list[TakeSpan], list[Ballot]],
) -> None:
    takes, votes = poll
    draft = draft_comp(takes, votes, bars(1, 6))
    whose: dict[int, TakeId] = {}
    for span, take_id in zip(draft.pieces, draft.takes, strict=True):
        whose |= dict.fromkeys(span.bars, take_id)
    options: list[list[TakeId | None]] = []
    for bar in range(1, 7):
        there = [each.id for each in takes if each.bars and bar in each.bars.bars]
        points = points_on(votes, bars(bar), takes)
        most = max((points.get(each, 0) for each in there), default=0)
        best: list[TakeId | None] = [each for each in there if points.get(each, 0) == most]
        options.append(best or [None])
    assert all(whose.get(bar) in options[bar - 1] for bar in range(1, 7))

    def joins(choice: tuple[TakeId | None, ...]) -> int:
        pairs = pairwise(choice)
        return sum(a is not None and b is not None and a != b for a, b in pairs)

    fewest = min(joins(choice) for choice in product(*options))
    assert joins(tuple(whose.get(bar) for bar in range(1, 7))) == fewest


def test_ranges_stay_half_open() -> None:
    draft = draft_comp([take(1)], [], BarRange(BarPoint(0), BarPoint(9)))
    assert [str(each) for each in draft.gaps] == ["0"]
