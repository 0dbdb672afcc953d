"""`logbook tuning`: pitches and frequencies of the log's tunings and the usual ones."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.cli.typed import Typed


@pytest.fixture
def typed(fresh: Callable[[], str], capsys: pytest.CaptureFixture[str]) -> Typed:
    return Typed(fresh(), capsys)


def test_the_usual_ones_come_with_pitch_and_frequency(typed: Typed) -> None:
    lines = typed("tuning").splitlines()
    (standard,) = [line for line in lines if line.split()[0] == "standard"]
    # ISO 16: A4 = 440 Hz, equal temperament.
    assert standard.split()[1:] == [
        "E2", "82.4", "A2", "110.0", "D3", "146.8", "G3", "196.0", "B3", "246.9", "E4", "329.6",
    ]  # fmt: skip
    assert max(map(len, lines)) <= 80


def test_ones_own_are_listed_first_at_their_own_pitch(typed: Typed) -> None:
    typed("tuning add 'low open' C2 G2 C3 G3 C4 E4 --a4 432")
    lines = typed("tuning list --mine").splitlines()
    assert lines[0] == "In the log:"
    assert lines[1].split()[:2] == ["low", "open"]
    assert lines[-1].endswith("(A4 = 432 Hz)")
    # 432 Hz times 2^(-5/12), by hand.
    (data,) = typed.json("tuning list --mine")
    assert data["in_the_log"] is True
    assert data["strings"][-1] == {"string": 1, "pitch": "E4", "midi": [64], "hz": [323.6343]}


def test_one_tuning_string_by_string(typed: Typed) -> None:
    said = typed("tuning show dadgad").splitlines()
    assert said[0] == "DADGAD (A4 = 440 Hz)"
    assert said[2].split() == ["6", "D2", "73.42", "Hz", "38"]
    assert said[-1].split() == ["1", "D4", "293.66", "Hz", "62"]
    assert "did you mean" in typed("tuning show dadgda", 2)
    assert "no tunings of a kazoo" in typed("tuning list --kind kazoo")
