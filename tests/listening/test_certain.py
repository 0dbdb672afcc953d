"""What a comp says beside its pieces: other takes alike, rough comps, long crossfades."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from logbook.listening import recover_comp
from logbook.listening.sureness import of_nothing
from tests.listening import material as m
from tests.listening.conftest import Takes
from tests.listening.judging import lag


def plan_of(takes: Takes, bars: list[tuple[int | None, int, int]]) -> list[m.TruePiece]:
    return m.plan_of(bars, tempo=takes.tempo, lead_in=takes.lead_in)


def test_a_rough_comp_is_told_from_the_takes_it_was_made_of(plucked: Takes, tmp_path: Path) -> None:
    rough = m.blend(plucked.sounds, plan_of(plucked, [(0, 0, 2), (1, 2, 3), (2, 5, 3)]), 22_050)
    given = [*plucked.paths, m.save(0.5 * rough, tmp_path / "rough.wav", 22_050)]
    lead_in = [*plucked.lead_in, 0.0]
    plan = m.plan_of([(3, 0, 4), (2, 4, 2), (0, 6, 2)], tempo=120.0, lead_in=lead_in)
    bounce = m.blend([*plucked.sounds, rough], plan, 22_050)
    pieces = recover_comp(m.save(bounce, tmp_path / "b.wav", 22_050), given)
    assert pieces.rough_comps == {3: (0, 1, 2)}
    assert [piece.take for piece in pieces] == [0, 1, 2, 0]
    # Bar 5 of take 2 is none of the rough comp's, so its whole piece is not.
    assert [[one.take for one in piece.also] for piece in pieces] == [[3], [3], [], []]
    assert [piece.start for piece in pieces] == pytest.approx([0, 4, 8, 12], abs=0.02)
    assert pieces[1].also[0].source == pytest.approx(pieces[1].start, abs=1e-4)


def test_a_copy_is_no_comp_and_another_performance_no_copy(plucked: Takes, tmp_path: Path) -> None:
    copy = np.concatenate([np.zeros((777, 2)), -0.8 * plucked.sounds[1]])
    given = [*plucked.paths, m.save(copy, tmp_path / "copy.wav", 22_050)]
    plan = plan_of(plucked, [(0, 0, 3), (1, 3, 2), (2, 5, 3)])
    bounce = m.blend(plucked.sounds, plan, plucked.rate)
    pieces = recover_comp(m.save(bounce, tmp_path / "b.wav", plucked.rate), given)
    assert [[one.take for one in piece.also] for piece in pieces] == [[], [3], []]
    assert pieces[1].also[0].source == pytest.approx(pieces[1].source + 777 / 22_050, abs=1e-4)
    assert not pieces.rough_comps


def test_a_moment_of_nothing_known_is_less_sure_than_a_bar_of_it() -> None:
    sure = [of_nothing(seconds) for seconds in (0.02, 0.15, 0.25, 0.5, 2.0, 60.0)]
    assert sure == sorted(sure)
    assert sure[0] < 0.2
    assert 0.95 < sure[-1] < 1.0


def straight(done: m.Audio) -> tuple[m.Audio, m.Audio]:
    return 1 - done, done


def equal_power(done: m.Audio) -> tuple[m.Audio, m.Audio]:
    return np.cos(0.5 * np.pi * done), np.sin(0.5 * np.pi * done)


@pytest.mark.parametrize("shape", [straight, equal_power])
@pytest.mark.parametrize("seconds", [0.25, 2.0])
def test_a_long_crossfade_is_told_with_its_length(
    plucked: Takes,
    tmp_path: Path,
    shape: Callable[[m.Audio], tuple[m.Audio, m.Audio]],
    seconds: float,
) -> None:
    rate = plucked.rate
    time = np.arange(14 * rate) / rate
    falls, rises = shape(np.clip((time - 7.0) / seconds + 0.5, 0, 1))
    one, other = (
        plucked.sounds[n][round(plucked.lead_in[n] * rate) :][: time.size] for n in (0, 2)
    )
    bounce = m.channel_strip(0.7 * falls[:, None] * one + 0.5 * rises[:, None] * other, rate)
    pieces = recover_comp(m.save(bounce, tmp_path / "b.wav", rate), plucked.paths)
    assert [piece.take for piece in pieces] == [0, 2]
    assert pieces[0].fade == 0.0
    assert pieces[1].fade == pytest.approx(seconds, rel=0.18, abs=0.03)
    assert pieces[1].start == pytest.approx(7.0, abs=0.06 * (1 + seconds))
    assert lag(pieces[1]) == pytest.approx(plucked.lead_in[2], abs=1e-4)
