"""Songs, parts and takes by file names alone."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.drafting.naming import kind_of, name_file, numbered

ROOT = Path("/takes/Boathouse Day")


@pytest.mark.parametrize(
    ("name", "song", "part", "number", "finished"),
    [
        ("low-tide-ledger_guitar_2.flac", "Low Tide Ledger", "guitar", 2, False),
        ("low-tide-ledger_guitar_finished.flac", "Low Tide Ledger", "guitar", None, True),
        ("varnish_high-guitar_1.ogg", "Varnish", "high guitar", 1, False),
        ("Salt Road - bass - take 3.wav", "Salt Road", "bass", 3, False),
        ("2026-05-02_varnish_bass_04.wav", "Varnish", "bass", 4, False),
        ("guitar_07.wav", "Boathouse Day", "guitar", 7, False),
        ("guitar take 12.wav", "Boathouse Day", "guitar", 12, False),
        ("Salt Road/guitar_2.wav", "Salt Road", "guitar", 2, False),
        ("Salt Road/guitar/03.wav", "Salt Road", "guitar", 3, False),
        ("sketch.wav", "Boathouse Day", "sketch", None, False),
        ("lantern-on-the-slip_guitar_comp.wav", "Lantern on the Slip", "guitar", None, True),
    ],
)
def test_names(name: str, song: str, part: str, number: int | None, finished: bool) -> None:
    found = name_file(ROOT, ROOT / name)
    assert (found.song, found.part, found.finished) == (song, part, finished)
    assert found.number == number


@pytest.mark.parametrize(
    ("part", "kind"),
    [
        ("high guitar", "guitar"),
        ("fretless bass", "bass"),
        ("lead vox", "voice"),
        ("mando", "mandolin"),
        ("bassoon", "guitar"),
    ],
)
def test_kinds(part: str, kind: str) -> None:
    assert kind_of(part) == kind


def test_takes_are_numbered_by_time_where_names_do_not_say() -> None:
    files = [name_file(ROOT, ROOT / f"guitar {letter}.wav") for letter in "abc"]
    assert numbered(files, [30.0, 10.0, 20.0]) == [3, 1, 2]
    said = [name_file(ROOT, ROOT / f"guitar_{n}.wav") for n in (2, 5, 9)]
    assert numbered(said, [3.0, 2.0, 1.0]) == [2, 5, 9]
    twice = [name_file(ROOT, ROOT / name) for name in ("guitar_1.wav", "guitar_1.flac")]
    assert sorted(numbered(twice, [2.0, 1.0])) == [1, 2]


@given(st.text(st.characters(exclude_characters="/\0", exclude_categories=("Cs",)), min_size=1))
def test_any_name_gives_a_song_and_a_part(name: str) -> None:
    found = name_file(ROOT, ROOT / f"x{name}.wav")
    assert found.song.strip()
    assert found.part.strip()
