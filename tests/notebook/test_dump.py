"""What dump writes reads back as the same log."""

from __future__ import annotations

from hypothesis import HealthCheck, Phase, given, settings

from logbook.notebook.read import read_log
from logbook.notebook.write import write_log
from logbook.records import Log
from tests.drawn import any_log

# Whole logs take too long to shrink; the failing one is printed as it came.
PHASES = (Phase.explicit, Phase.reuse, Phase.generate)
_SLOW = settings(
    max_examples=60, deadline=None, suppress_health_check=list(HealthCheck), phases=PHASES
)


@_SLOW
@given(any_log())
def test_any_log_reads_back_the_same(log: Log) -> None:
    text = write_log(log)
    assert read_log(text, folder="/somewhere") == log


@_SLOW
@given(any_log(plain=True))
def test_any_plain_log_reads_back_the_same(log: Log) -> None:
    text = write_log(log)
    again = read_log(text, folder="/somewhere")
    assert again == log
    assert write_log(again) == text
