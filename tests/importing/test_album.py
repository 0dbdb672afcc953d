"""An album's files as several recorders leave them: nearly all placed, none wrongly."""

from __future__ import annotations

import pytest

from tests.benchmarks.bench_album import score


@pytest.mark.parametrize("seed", [300, 301])
def test_nearly_all_are_right_and_none_is_wrong(seed: int) -> None:
    counts = score(seed, songs=5, files=45)
    assert counts["WRONG"] == 0
    assert counts["right"] >= 0.95 * counts["files"]
