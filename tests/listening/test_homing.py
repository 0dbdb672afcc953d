"""Short pieces, inserts and slipped ones: followed near home, never believed where no take is."""

from __future__ import annotations

from pathlib import Path

import pytest

from logbook.listening import Piece, recover_comp
from logbook.listening.believing import FrameReading, believed
from tests.listening import edits
from tests.listening import material as m

SECONDS = 8


@pytest.fixture(scope="module")
def takes() -> list[m.Audio]:
    return edits.takes_of("pick", 31, seconds=SECONDS)


def heard(
    takes: list[m.Audio],
    plan: list[m.TruePiece],
    folder: Path,
    *,
    fade: float,
    given: tuple[int, ...] = (0, 1, 2),
) -> tuple[float, float]:
    return edits.found_of(*listened(takes, plan, folder, fade=fade, given=given), fade=fade)


def listened(
    takes: list[m.Audio],
    plan: list[m.TruePiece],
    folder: Path,
    *,
    fade: float,
    given: tuple[int, ...],
) -> tuple[list[Piece], list[m.TruePiece], m.Audio]:
    """Pieces found, what is true of the takes given, and the bounce."""
    bounce = m.blend(takes, plan, edits.RATE, fade=fade)
    paths = [m.save(takes[n], folder / f"t{n}.wav", edits.RATE) for n in given]
    found = recover_comp(m.save(0.7 * bounce, folder / "b.wav", edits.RATE), paths)
    pieces = edits.named(found, given)
    truth = edits.given_only(plan, given)
    return pieces, truth, bounce


@pytest.mark.parametrize(
    ("shortest", "longest", "slip", "fade", "least"),
    [
        pytest.param(0.5, 1.0, 0.0, 0.010, 0.96, id="half a second"),
        pytest.param(0.08, 0.2, 0.0, 0.004, 0.93, id="syllables"),
        pytest.param(0.3, 0.8, 0.02, 0.010, 0.90, id="slipped"),
        pytest.param(0.249, 0.251, 0.002, 0.004, 0.80, id="eighths nudged"),
    ],
)
def test_short_pieces(
    takes: list[m.Audio],
    tmp_path: Path,
    shortest: float,
    longest: float,
    slip: float,
    fade: float,
    least: float,
) -> None:
    plan = edits.at_home(5, shortest=shortest, longest=longest, slip=slip, seconds=SECONDS - 0.5)
    right, false = heard(takes, plan, tmp_path, fade=fade)
    assert right >= least
    assert false <= 0.04


def test_inserts_in_a_long_piece(takes: list[m.Audio], tmp_path: Path) -> None:
    plan = edits.inserted(7, shortest=0.08, longest=0.15, seconds=SECONDS - 0.5)
    right, false = heard(takes, plan, tmp_path, fade=0.006)
    assert right >= 0.98
    assert false <= 0.01


@pytest.mark.parametrize("given", [(0, 1, 2), (0, 2)])
def test_pieces_flown_in_from_other_bars(
    takes: list[m.Audio], tmp_path: Path, given: tuple[int, ...]
) -> None:
    """Half a second from a place that is used once is enough to know it."""
    plan = edits.flown_in(11, shortest=0.4, longest=0.7, seconds=SECONDS - 0.5)
    right, false = heard(takes, plan, tmp_path, fade=0.010, given=given)
    assert right >= 0.97
    assert false == 0.0


@pytest.mark.parametrize("given", [(0, 2), (1,)])
def test_a_missing_take_is_not_replaced_by_another(
    takes: list[m.Audio], tmp_path: Path, given: tuple[int, ...]
) -> None:
    plan = edits.at_home(9, shortest=0.4, longest=2.0, seconds=SECONDS - 0.5)
    right, false = heard(takes, plan, tmp_path, fade=0.010, given=given)
    assert false <= 0.002
    assert right >= 0.95


@pytest.mark.parametrize(("kind", "seed"), [("drums", 811), ("drums", 902), ("sung", 902)])
def test_a_stroke_alike_in_every_take_is_no_piece(kind: str, seed: int, tmp_path: Path) -> None:
    """Of a bass drum or a held vowel another take has one that fits, for as long as it sounds."""
    takes = edits.takes_of(kind, seed)
    plan = edits.at_home(seed, shortest=1.0, longest=4.0, seconds=11.5)
    pieces, truth, bounce = listened(takes, plan, tmp_path, fade=0.010, given=(0, 2))
    right, false = edits.found_of(pieces, truth, bounce, fade=0.010)
    assert edits.invented(pieces, truth) == []
    assert false <= 0.003
    assert right >= 0.98


def test_pieces_each_nudged_their_own_way_support_one_another() -> None:
    lags = (5500, 8530, 5512, 8545)
    pieces = [
        FrameReading(25 * n, 25 * n + 23, n % 2, lags[n], 900.0, 800.0, 10.5, 0.99)
        for n in range(4)
    ]
    assert believed(pieces, pieces, [], usual=0.98) == [True] * 4
    assert believed(pieces[:2], pieces[:2], [], usual=0.98) == [False] * 2


STROKE = FrameReading(100, 113, 0, 5600, gained=30.0, clear=40.0, price=9.0, fit=0.93)


@pytest.mark.parametrize(
    ("beside", "used", "expected"),
    [
        pytest.param([], [], False, id="only its own word for it"),
        pytest.param([], [(0, 5600, 200)], True, id="its place is in use elsewhere"),
        pytest.param([], [(0, 5640, 200)], False, id="another place of the take is"),
        pytest.param([], [(1, 5600, 200)], False, id="another take is"),
        pytest.param([(50, 100)], [], False, id="joined on one side only"),
        pytest.param([(50, 100), (113, 150)], [], True, id="joined on both sides"),
        pytest.param([(50, 90), (123, 160)], [], False, id="gaps between"),
    ],
)
def test_what_supports_a_short_reading(
    beside: list[tuple[int, int]], used: list[tuple[int, int, int]], expected: bool
) -> None:
    long = [FrameReading(a, b, 1, 8000, 500.0, 400.0, 6.0, 0.97) for a, b in beside]
    readings = sorted([STROKE, *long], key=lambda r: r.first)
    found = believed(readings, [STROKE], used, usual=0.97)
    assert found[readings.index(STROKE)] is expected
