"""The same recording told from a second performance."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from logbook.errors import LogbookError
from logbook.listening import compare_doubles
from logbook.listening.doubles import DoubleKind
from tests.listening import copying
from tests.listening import material as m
from tests.listening.conftest import Takes


def test_identical(plucked: Takes, tmp_path: Path) -> None:
    copy = m.save(plucked.sounds[0], tmp_path / "copy.flac", plucked.rate)
    found = compare_doubles(plucked.paths[0], copy)
    assert found.kind is DoubleKind.IDENTICAL
    assert found.same_recording
    assert (found.offset_s, found.inverted, found.timing) == (0.0, False, None)
    assert found.residual_db < -40  # what rounding to 16 bits leaves of a quiet file


def test_delayed(plucked: Takes, tmp_path: Path) -> None:
    late = np.concatenate([np.zeros((331, 2)), 0.5 * plucked.sounds[0]])
    found = compare_doubles(plucked.paths[0], m.save(late, tmp_path / "late.wav", plucked.rate))
    assert found.kind is DoubleKind.DELAYED
    assert found.offset_s == pytest.approx(331 / plucked.rate, abs=1e-9)
    assert found.gain_db == pytest.approx(-6.02, abs=0.05)


def test_earlier(plucked: Takes, tmp_path: Path) -> None:
    early = m.save(plucked.sounds[0][1000:], tmp_path / "early.wav", plucked.rate)
    found = compare_doubles(plucked.paths[0], early)
    assert found.kind is DoubleKind.DELAYED
    assert found.offset_s == pytest.approx(-1000 / plucked.rate, abs=1e-9)


def test_processed(plucked: Takes, tmp_path: Path) -> None:
    strip = -m.channel_strip(plucked.sounds[0], plucked.rate)
    found = compare_doubles(plucked.paths[0], m.save(strip, tmp_path / "s.wav", plucked.rate))
    assert found.kind is DoubleKind.PROCESSED
    assert found.inverted
    assert abs(found.offset_s) <= 1 / plucked.rate
    assert -50 < found.residual_db < -8


@pytest.mark.parametrize(("timing", "word"), [(0.003, "tight"), (0.025, "loose")])
def test_second_performance(tmp_path: Path, timing: float, word: str) -> None:
    player = m.Player(timing=timing, spread=(0.010, 0.011))
    paths, times = [], []
    for seed, lead in ((61, 0.5), (62, 0.7)):
        notes = m.perform(seed, bars=10, lead_in=lead, player=player)
        times.append(stroke_times(notes))
        sound = m.pluck(notes, seconds=22.0, seed=seed)
        paths.append(m.save(sound, tmp_path / f"{seed}.wav", 22_050))
    found = compare_doubles(*paths)
    assert found.kind is DoubleKind.SECOND_PERFORMANCE
    assert not found.same_recording
    assert found.residual_db > -3
    assert found.timing is not None
    assert found.timing.word == word
    gaps = times[1] - times[0]
    truth = np.percentile(1000 * np.abs(gaps - np.median(gaps)), (25, 50, 75))
    told = (
        found.timing.lower_quartile_ms,
        found.timing.median_ms,
        found.timing.upper_quartile_ms,
    )
    assert told == pytest.approx(truth, rel=0.35, abs=2.5)
    assert found.offset_s == pytest.approx(np.median(gaps), abs=0.012)


def stroke_times(notes: list[m.Note]) -> np.ndarray:
    """When each stroke of a strummed performance begins."""
    groups: list[list[float]] = []
    for note in notes:
        if groups and note.start - groups[-1][-1] < 0.04:
            groups[-1].append(note.start)
        else:
            groups.append([note.start])
    return np.array([group[0] for group in groups])


@pytest.fixture(scope="module")
def twice() -> list[m.Audio]:
    """Two performances of one part by a player of 4 ms."""
    player = m.Player(timing=0.004)
    out = []
    for seed in (71, 72):
        notes = m.perform(seed, bars=6, lead_in=0.5, style="pick", player=player)
        out.append(m.pluck(notes, seconds=13.0, seed=seed))
    return out


@pytest.mark.parametrize("name", list(copying.fakes(np.zeros((9, 1)), 1)))
def test_a_copy_is_told_however_it_was_processed(
    twice: list[m.Audio], tmp_path: Path, name: str
) -> None:
    fake = copying.fakes(twice[0], 3)[name]
    found = compare_doubles(
        m.save(twice[0], tmp_path / "a.wav", 22_050),
        m.save(0.3 * fake / np.max(np.abs(fake)), tmp_path / "b.wav", 22_050),
    )
    assert found.same_recording
    assert found.kind in {DoubleKind.PROCESSED, DoubleKind.DELAYED}
    assert found.timing is None
    assert found.stretch == pytest.approx(SLOWER.get(name, 1.0), abs=3e-4)
    assert found.cents == pytest.approx(-1200 * np.log2(SLOWER.get(name, 1.0)), abs=1.0)


SLOWER = {"detuned 7 cents": 2 ** (-7 / 1200), "stretched 0.5 %": 1.005}


@pytest.mark.parametrize("longer", [1.0, 2 ** (-6 / 1200)])
def test_where_half_of_it_is_pasted(twice: list[m.Audio], tmp_path: Path, longer: float) -> None:
    half = len(twice[1]) // 2
    source = copying.warped(twice[0], longer)
    mixed = np.concatenate([twice[1][:half], source[half - 700 : len(source) - 700]])
    found = compare_doubles(
        m.save(twice[0], tmp_path / "a.wav", 22_050), m.save(mixed, tmp_path / "b.wav", 22_050)
    )
    assert found.kind is DoubleKind.SECOND_PERFORMANCE
    assert found.timing is not None
    ((start, end),) = found.pasted
    assert start == pytest.approx(half / 22_050, abs=0.7)
    assert end > 12.0


def test_unrelated(plucked: Takes, tmp_path: Path) -> None:
    notes = m.perform(9, bars=9, tempo=97.0, style="pick")
    other = m.save(m.pluck(notes, seconds=22.0), tmp_path / "other.wav", 22_050)
    found = compare_doubles(plucked.paths[0], other)
    assert found.kind is DoubleKind.UNRELATED
    assert found.timing is None


def test_silence(plucked: Takes, tmp_path: Path) -> None:
    silent = m.save(np.zeros((50_000, 1)), tmp_path / "nothing.wav", plucked.rate)
    with pytest.raises(LogbookError, match="silent"):
        compare_doubles(plucked.paths[0], silent)


@pytest.mark.parametrize("seed", [97711, 97713])
def test_a_bass_line_is_no_double_of_the_guitar_over_it(tmp_path: Path, seed: int) -> None:
    """Strokes fall together and roots are shared: the notes between them are not."""
    paths = []
    for own, style in ((seed, "pick"), (seed + 1, "line")):
        sound = m.pluck(m.perform(own, bars=6, style=style), seconds=13.0, seed=own)
        paths.append(m.save(sound, tmp_path / f"{style}.wav", 22_050))
    found = compare_doubles(*paths)
    assert found.kind is DoubleKind.UNRELATED
    assert found.timing is None


SAMPLE = Path(__file__).parents[2] / "sample_session"


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("low-tide-ledger_guitar_2.flac", "low-tide-ledger_guitar_3.flac"),
        ("lantern-on-the-slip_guitar_1.wav", "lantern-on-the-slip_guitar_2.wav"),
        ("varnish_guitar_1.flac", "varnish_high-guitar_2.ogg"),
    ],
)
def test_two_passes_of_a_steady_part_lie_on_each_other_not_bars_apart(one: str, other: str) -> None:
    found = compare_doubles(SAMPLE / one, SAMPLE / other)
    assert found.kind is DoubleKind.SECOND_PERFORMANCE
    assert abs(found.offset_s) < 0.03
    assert found.timing is not None


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("varnish_guitar_1.flac", "varnish_bass_1.ogg"),
        ("low-tide-ledger_guitar_2.flac", "low-tide-ledger_bass_1.ogg"),
        ("low-tide-ledger_guitar_2.flac", "varnish_guitar_1.flac"),
    ],
)
def test_another_part_with_the_same_strokes_is_no_second_performance(one: str, other: str) -> None:
    found = compare_doubles(SAMPLE / one, SAMPLE / other)
    assert found.kind is DoubleKind.UNRELATED
    assert found.timing is None
