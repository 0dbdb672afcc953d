"""Whole logs, drawn once: to draw one takes longer than most of what is tried with it.

Every test of any log takes the same ones, the small and the large; `--hypothesis-profile=explore`
draws anew for each test.
"""

from __future__ import annotations

from functools import cache

from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from logbook.records import Log
from tests.strategies import logs

COUNT = 30


def any_log(*, plain: bool = False) -> st.SearchStrategy[Log]:
    """A log whose texts are anything a person may type, or with `plain` such as files can hold."""
    return st.deferred(lambda: _strategy(plain))


def _strategy(plain: bool) -> st.SearchStrategy[Log]:
    return st.sampled_from(_drawn(plain)) if settings.default.derandomize else logs(plain)


@cache
def _drawn(plain: bool) -> list[Log]:
    kept: list[Log] = []

    @settings(
        max_examples=COUNT,
        derandomize=True,
        database=None,
        deadline=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(logs(plain))
    def keep(log: Log) -> None:
        if log not in kept:
            kept.append(log)

    keep()
    return kept
