"""A bounce of one side of its takes, or of a middle and a side: found in the channel that fits."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from logbook.listening import recover_comp
from tests.listening import edits
from tests.listening import material as m

SECONDS = 8
FADE = 0.010


@pytest.fixture(scope="module")
def takes() -> list[m.Audio]:
    """A guitar on the left, a bass on the right."""
    guitars = edits.takes_of("pick", 47, seconds=SECONDS)
    basses = edits.takes_of("line", 48, seconds=SECONDS)
    return [np.stack([g[:, 0], b[:, 0]], axis=1) for g, b in zip(guitars, basses, strict=True)]


def as_bounced(sound: m.Audio, form: str) -> m.Audio:
    left, right = sound.T
    return {
        "left alone": left[:, None],
        "middle and side": np.stack([(left + right) / 2, (left - right) / 2], axis=1),
        "side alone": (left - right)[:, None] / 2,
    }[form]


@pytest.mark.parametrize(
    ("form", "given"),
    [
        ("left alone", (0, 1, 2)),
        ("middle and side", (0, 1, 2)),
        ("side alone", (0, 1, 2)),
        ("middle and side", (1,)),
    ],
)
def test_the_channel_that_fits(
    takes: list[m.Audio], tmp_path: Path, form: str, given: tuple[int, ...]
) -> None:
    plan = edits.at_home(3, shortest=1.0, longest=2.5, seconds=SECONDS - 0.5)
    bounce = m.blend(takes, plan, edits.RATE, fade=FADE)
    paths = [m.save(takes[n], tmp_path / f"t{n}.wav", edits.RATE) for n in given]
    path = m.save(0.7 * as_bounced(bounce, form), tmp_path / "b.wav", edits.RATE)
    pieces = edits.named(recover_comp(path, paths), given)
    truth = edits.given_only(plan, given)
    right, false = edits.found_of(pieces, truth, as_bounced(bounce, form), fade=FADE)
    assert edits.invented(pieces, truth) == []
    assert right >= 0.97
    assert false <= 0.005
