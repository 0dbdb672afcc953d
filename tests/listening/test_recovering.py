"""Comps cut from plucked takes and recovered: quick cases, without an outside synthesiser."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import soundfile as sf

from logbook.errors import LogbookError
from logbook.listening import Piece, recover_comp
from tests.listening import material as m
from tests.listening.conftest import Takes
from tests.listening.judging import assert_recovered, lag

PLAN = [(0, 0, 2), (1, 2, 2), (2, 4, 1), (0, 5, 3)]


def plan_of(takes: Takes, bars: list[tuple[int | None, int, int]]) -> list[m.TruePiece]:
    return m.plan_of(bars, tempo=takes.tempo, lead_in=takes.lead_in)


def comp(takes: Takes, plan: list[m.TruePiece]) -> m.Audio:
    return m.blend(takes.sounds, plan, takes.rate)


def test_a_plain_comp(plucked: Takes, tmp_path: Path) -> None:
    plan = plan_of(plucked, PLAN)
    bounce = m.save(comp(plucked, plan), tmp_path / "b.wav", plucked.rate)
    pieces = recover_comp(bounce, plucked.paths)
    assert_recovered(pieces, plan)
    assert pieces[-1].end == pytest.approx(16.0, abs=1e-9)
    assert all(abs(piece.gain_db) < 0.05 and not piece.inverted for piece in pieces)


def test_source_is_exact_to_the_sample(plucked: Takes, tmp_path: Path) -> None:
    # Whole samples everywhere, so nothing is left to rounding.
    rate = plucked.rate
    plan = [
        m.TruePiece(start=0.0, end=4 * rate / rate, take=0, source=11_025 / rate),
        m.TruePiece(start=4.0, end=9.0, take=2, source=(17_001 + 4 * rate) / rate),
    ]
    bounce = m.save(comp(plucked, plan), tmp_path / "b.wav", rate)
    pieces = recover_comp(bounce, plucked.paths)
    assert [round(lag(piece) * rate, 6) for piece in pieces] == [11_025, 17_001]


@pytest.mark.parametrize(
    "change",
    [
        pytest.param(lambda x: 0.4 * x, id="quieter"),
        pytest.param(lambda x: -x, id="polarity"),
        pytest.param(lambda x: x + 0.05, id="constant offset"),
        pytest.param(lambda x: x[:, :1], id="one channel"),
        pytest.param(lambda x: np.mean(x, axis=1, keepdims=True), id="mono"),
        pytest.param(lambda x: x * np.linspace(0.05, 1.0, len(x))[:, None], id="fade"),
        pytest.param(lambda x: m.channel_strip(x, 22_050), id="channel strip"),
        pytest.param(lambda x: x + np.random.default_rng(3).normal(size=x.shape) * 1e-3, id="hiss"),
    ],
)
def test_it_holds_under(
    plucked: Takes, tmp_path: Path, change: Callable[[m.Audio], m.Audio]
) -> None:
    plan = plan_of(plucked, PLAN)
    bounce = m.save(change(comp(plucked, plan)), tmp_path / "b.wav", plucked.rate)
    assert_recovered(recover_comp(bounce, plucked.paths), plan)


def test_polarity_and_gain_are_told(plucked: Takes, tmp_path: Path) -> None:
    plan = [
        replace(p, gain_db=g) for p, g in zip(plan_of(plucked, PLAN), (0, -6, 3, -2), strict=True)
    ]
    bounce = m.save(-0.5 * comp(plucked, plan), tmp_path / "b.wav", plucked.rate, subtype="PCM_24")
    pieces = recover_comp(bounce, plucked.paths)
    assert all(piece.inverted for piece in pieces)
    for piece, want in zip(pieces, plan, strict=True):
        assert piece.gain_db == pytest.approx(want.gain_db - 6.02, abs=0.2)


@pytest.mark.parametrize("rate", [16_000, 44_100, 48_000])
def test_another_sample_rate(plucked: Takes, tmp_path: Path, rate: int) -> None:
    plan = plan_of(plucked, PLAN)
    sound = m.resample(comp(plucked, plan), plucked.rate, rate)
    bounce = m.save(sound, tmp_path / "b.wav", rate)
    assert_recovered(recover_comp(bounce, plucked.paths), plan)


def test_a_section_used_twice(plucked: Takes, tmp_path: Path) -> None:
    plan = plan_of(plucked, [(0, 0, 2), (1, 2, 2), (0, 0, 2), (2, 3, 2)])
    bounce = m.save(comp(plucked, plan), tmp_path / "b.wav", plucked.rate)
    assert_recovered(recover_comp(bounce, plucked.paths), plan)


def test_what_goes_on_in_a_take_is_one_piece(plucked: Takes, tmp_path: Path) -> None:
    plan = plan_of(plucked, [(0, 0, 2), (0, 2, 2), (1, 4, 1), (1, 5, 2)])
    bounce = m.save(comp(plucked, plan), tmp_path / "b.wav", plucked.rate)
    assert_recovered(recover_comp(bounce, plucked.paths), plan)


def test_a_take_that_is_not_there_is_unknown(plucked: Takes, tmp_path: Path) -> None:
    plan = plan_of(plucked, PLAN)
    bounce = m.save(comp(plucked, plan), tmp_path / "b.wav", plucked.rate)
    pieces = recover_comp(bounce, [plucked.paths[0], plucked.paths[2]])
    there = {0: 0, 1: None, 2: 1}
    assert_recovered(pieces, [replace(p, take=there[p.take or 0]) for p in plan])


def test_none_of_the_takes_is_unknown_throughout(plucked: Takes, tmp_path: Path) -> None:
    plan = plan_of(plucked, [(1, 0, 8)])
    bounce = m.save(comp(plucked, plan), tmp_path / "b.wav", plucked.rate)
    pieces = recover_comp(bounce, [plucked.paths[0], plucked.paths[2]])
    assert [piece.take for piece in pieces] == [None]
    assert (pieces[0].start, pieces[0].end) == (0.0, pytest.approx(16.0))


def test_an_overdub_over_a_take_is_unknown(plucked: Takes, tmp_path: Path) -> None:
    whole = plan_of(plucked, [(0, 0, 8)])
    sound = comp(plucked, whole)
    first, last = round(6.0 * plucked.rate), round(10.0 * plucked.rate)
    at = round((plucked.lead_in[2] + 6.0) * plucked.rate)
    sound[first:last] += plucked.sounds[2][at : at + last - first]
    bounce = m.save(sound, tmp_path / "b.wav", plucked.rate)
    pieces = recover_comp(bounce, plucked.paths[:2])
    assert_recovered(pieces, plan_of(plucked, [(0, 0, 3), (None, 3, 2), (0, 5, 3)]), edge_s=0.02)


def test_silence_put_before_is_no_take(plucked: Takes, tmp_path: Path) -> None:
    plan = plan_of(plucked, [(0, 0, 4), (1, 4, 4)])
    sound = np.concatenate([np.zeros((round(1.5 * plucked.rate), 2)), comp(plucked, plan)])
    bounce = m.save(sound, tmp_path / "b.wav", plucked.rate)
    pieces = recover_comp(bounce, plucked.paths)
    known = [piece for piece in pieces if piece.take is not None]
    assert [piece.take for piece in known] == [0, 1]
    assert known[0].source >= 0.0
    assert abs(known[1].start - (8.0 + 1.5)) < 0.015


def test_one_take_unchanged(plucked: Takes) -> None:
    pieces = recover_comp(plucked.paths[0], plucked.paths)
    assert [(p.take, p.start, p.source) for p in pieces] == [(0, 0.0, 0.0)]
    assert pieces[0].confidence > 0.95


def test_formats_may_be_mixed(plucked: Takes, tmp_path: Path) -> None:
    plan = plan_of(plucked, PLAN)
    bounce = m.save(comp(plucked, plan), tmp_path / "b.flac", plucked.rate)
    paths = [
        m.save(sound, tmp_path / f"t{number}.{suffix}", plucked.rate)
        for number, (sound, suffix) in enumerate(
            zip(plucked.sounds, ("aiff", "flac", "wav"), strict=True)
        )
    ]
    assert_recovered(recover_comp(bounce, paths), plan)


# Bad input: one clear sentence


def one_sentence(error: LogbookError) -> str:
    text = str(error)
    assert "\n" not in text
    assert error.remedy
    return text


def test_no_takes(plucked: Takes) -> None:
    with pytest.raises(LogbookError) as caught:
        recover_comp(plucked.paths[0], [])
    assert "no takes" in one_sentence(caught.value)


def test_a_bounce_shorter_than_a_bar(plucked: Takes, tmp_path: Path) -> None:
    short = m.save(plucked.sounds[0][:9000], tmp_path / "short.wav", plucked.rate)
    with pytest.raises(LogbookError) as caught:
        recover_comp(short, plucked.paths)
    assert "short.wav is only 0.41 s long" in one_sentence(caught.value)


def test_silence(plucked: Takes, tmp_path: Path) -> None:
    silent = m.save(np.zeros((50_000, 1)), tmp_path / "nothing.wav", plucked.rate)
    with pytest.raises(LogbookError) as caught:
        recover_comp(silent, plucked.paths)
    assert "nothing.wav is silent" in one_sentence(caught.value)
    with pytest.raises(LogbookError) as caught:
        recover_comp(plucked.paths[0], [silent])
    assert "takes are silent" in one_sentence(caught.value)


@pytest.mark.parametrize("content", [b"", b"RIFF", b"not sound at all" * 100])
def test_a_damaged_file(plucked: Takes, tmp_path: Path, content: bytes) -> None:
    broken = tmp_path / "broken.wav"
    broken.write_bytes(content)
    with pytest.raises(LogbookError) as caught:
        recover_comp(plucked.paths[0], [broken])
    assert "broken.wav" in one_sentence(caught.value)


def test_a_missing_file(plucked: Takes, tmp_path: Path) -> None:
    with pytest.raises(LogbookError) as caught:
        recover_comp(tmp_path / "gone.wav", plucked.paths)
    assert "gone.wav" in one_sentence(caught.value)


def test_not_a_number(plucked: Takes, tmp_path: Path) -> None:
    path = tmp_path / "nan.wav"
    sf.write(path, np.full(30_000, np.nan, dtype=np.float32), plucked.rate, subtype="FLOAT")
    with pytest.raises(LogbookError) as caught:
        recover_comp(path, plucked.paths)
    assert "not numbers" in one_sentence(caught.value)


def test_a_very_short_take_does_no_harm(plucked: Takes, tmp_path: Path) -> None:
    tiny = m.save(plucked.sounds[1][20_000:20_100], tmp_path / "tiny.wav", plucked.rate)
    pieces = recover_comp(plucked.paths[0], [tiny, plucked.paths[0]])
    assert [piece.take for piece in pieces] == [1]


def test_a_piece_knows_its_length_and_offset() -> None:
    piece = Piece(start=1.0, end=3.0, source=1.5, take=0, gain_db=0.0, confidence=1.0)
    assert (piece.length, piece.offset) == (2.0, 0.5)
