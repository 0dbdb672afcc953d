"""A long bounce in sections, its sound on the shelf: nothing of it shows in the pieces."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from logbook.listening import Piece, preparing, recover_comp, sectioning, shelving
from logbook.listening.decoding import DecodedSound
from logbook.listening.pieces import AlsoIn
from logbook.listening.sectioning import sections, sewn
from logbook.listening.shelving import Pile, Shelf
from tests.listening import material as m
from tests.listening.conftest import Takes
from tests.listening.judging import assert_recovered


def test_sections_and_files_change_nothing(
    plucked: Takes, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sectioning, "SECTION_SECONDS", 5.0)
    monkeypatch.setattr(sectioning, "LONGEST_SECONDS", 8.0)
    monkeypatch.setattr(sectioning, "OVER_SECONDS", 3.0)
    monkeypatch.setattr(shelving, "MOST_HELD", 0)
    bars: list[tuple[int | None, int, int]] = [(0, 0, 3), (1, 3, 2), (2, 5, 3)]
    plan = m.plan_of(bars, tempo=plucked.tempo, lead_in=plucked.lead_in)
    bounce = m.blend(plucked.sounds, plan, plucked.rate)
    # An offset and another rate: what is made of the files goes on the shelf too.
    paths = [
        m.save(m.resample(sound, 22_050, 44_100) + 0.05, tmp_path / f"{n}.wav", 44_100)
        for n, sound in enumerate(plucked.sounds)
    ]
    pieces = recover_comp(m.save(bounce, tmp_path / "b.wav", plucked.rate), paths)
    assert_recovered(pieces, plan)


def test_sections_lie_over_one_another() -> None:
    assert sections(300.0) == [(0.0, 300.0)]
    hour = sections(3600.0)
    assert len(hour) == 12
    assert (hour[0][0], hour[-1][1]) == (0.0, 3600.0)
    for (_, end), (start, _) in pairwise(hour):
        assert end - start == pytest.approx(sectioning.OVER_SECONDS)


def piece(start: float, end: float, take: int | None, lag: float = 0.0) -> Piece:
    source = 0.0 if take is None else start + lag
    return Piece(start=start, end=end, source=source, take=take, gain_db=0.0, confidence=1.0)


def test_what_goes_on_across_a_seam_is_one_piece() -> None:
    one = [piece(0, 6, 0), replace(piece(6, 12, 1, 2.0), also=(AlsoIn(2, 6.0), AlsoIn(3, 6.5)))]
    # The second section begins at 8 s of the bounce: its sources are the take's own.
    other = [
        replace(piece(0, 3, 1, 10.0), also=(AlsoIn(3, 8.5),)),
        piece(3, 5, None),
        piece(5, 9, 0, 8.0),
    ]
    found = sewn([(0.0, one), (8.0, other)])
    assert [(p.start, p.end, p.take, p.source) for p in found] == [
        (0, 6, 0, 0),
        (6, 11, 1, 8.0),
        (11, 13, None, 0.0),
        (13, 17, 0, 13.0),
    ]
    assert [each.take for each in found[1].also] == [3]


def test_another_piece_after_a_seam_begins_at_it() -> None:
    found = sewn([(0.0, [piece(0, 10, 0)]), (6.0, [piece(0, 8, 1, 7.5)])])
    assert [(p.start, p.end, p.take, p.source) for p in found] == [(0, 8, 0, 0), (8, 14, 1, 9.5)]


def test_what_is_on_the_shelf_is_what_was_put_there() -> None:
    shelf = Shelf(on=True)
    pile = Pile(shelf)
    blocks = [np.arange(n, dtype=np.float32) for n in (1000, 3, 70_000)]
    for block in blocks:
        pile.add(block)
    kept = pile.done()
    shelf.let_go()
    assert np.array_equal(kept, np.concatenate(blocks))
    assert Pile(shelf).done().size == 0
    same = np.ones(5, dtype=np.float32)
    assert Shelf().keep(same) is same


def test_what_is_prepared_part_by_part_is_the_same(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    rng = np.random.default_rng(3)
    sounds = [
        DecodedSound(
            samples=rng.normal(size=size).astype(np.float32) * 0.1,
            rate=44_100,
            channels=1,
            path=Path(f"{size}.wav"),
        )
        for size in (50_000, 70_001)
    ]
    monkeypatch.setattr(preparing, "PART", 1 << 13)
    with ThreadPoolExecutor(1) as pool:
        whole = preparing.prepare(sounds, pool)
        parts = preparing.prepare(sounds, pool, Shelf(on=True))
    for one, other in (
        (whole.low_bounce, parts.low_bounce),
        (whole.low_takes[0], parts.low_takes[0]),
        (whole.coarse_takes[0], parts.coarse_takes[0]),
    ):
        assert one.size == other.size
        assert np.max(np.abs(one - other)) < 1e-3
