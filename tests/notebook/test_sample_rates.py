"""A sample rate in hertz or, as people say it, in kilohertz."""

from __future__ import annotations

import pytest

from logbook.errors import LogbookError
from logbook.notebook.declare import Context
from logbook.notebook.lines.mean_hands import NothingKnown
from logbook.notebook.values import sample_rate

CONTEXT = Context(known=NothingKnown())


@pytest.mark.parametrize(
    ("written", "rate"),
    [(48000, 48000), (44.1, 44100), ("44.1", 44100), ("48 kHz", 48000), ("88.2k", 88200),
     ("96000 Hz", 96000), (192, 192000)],
)  # fmt: skip
def test_hertz_or_kilohertz(written: object, rate: int) -> None:
    assert sample_rate(written, CONTEXT) == rate


@pytest.mark.parametrize("written", [0, -48, "loud", 20_000_000, True, 44100.5])
def test_no_rate_at_all(written: object) -> None:
    with pytest.raises(LogbookError):
        sample_rate(written, CONTEXT)
