from __future__ import annotations

from itertools import pairwise

import pytest

from logbook.strings.instruments import (
    KINDS,
    InstrumentError,
    distance_table_mm,
    find_kind,
    fret_distance_mm,
    fret_gap_mm,
)
from logbook.strings.tunings import find_tuning, usual_tunings


def test_every_kind_has_a_tuning_and_every_tuning_a_kind() -> None:
    for kind in KINDS.values():
        assert find_tuning(kind.tuning).kind == kind.name or kind.tuning in {"standard", "bass"}
        assert kind.clear_frets < kind.frets
    assert all(tuning.kind in KINDS for tuning in usual_tunings())


def test_distances_grow_and_shrink_as_frets_do() -> None:
    table = distance_table_mm(648.0, 24)
    gaps = [after - before for before, after in pairwise(table)]
    assert gaps == sorted(gaps, reverse=True)
    assert fret_gap_mm(648.0, 3, 1) == pytest.approx(table[3] - table[1])


def test_what_cannot_be() -> None:
    with pytest.raises(InstrumentError, match="scale length of 0 mm"):
        fret_distance_mm(0.0, 3)
    with pytest.raises(InstrumentError, match="no fret -1"):
        fret_distance_mm(648.0, -1)
    with pytest.raises(InstrumentError, match="no kind of instrument is called 'lute'"):
        find_kind("lute")
