"""What `logbook chord` and `logbook capo` say of harmony: spelling, roles, other names of notes."""

from __future__ import annotations

import json
from typing import Any

import pytest

from logbook.cli.main import run

Capture = pytest.CaptureFixture[str]


def said(capsys: Capture, *words: str) -> dict[str, Any]:
    assert run([*words, "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert isinstance(answer, dict)
    return answer


@pytest.mark.parametrize(("frets", "key", "notes"), [
    ("0 2 0 1 0 0", "C", "E2 B2 D3 G#3 B3 E4"), ("x 0 2 0 2 0", "C", "A2 E3 G3 C#4 E4"),
    ("x 2 1 2 0 2", "C", "B2 D#3 A3 B3 F#4"), ("0 2 2 1 0 0", "E", "E2 B2 E3 G#3 B3 E4"),
    ("x 0 2 2 1 0", "Db", "A2 E3 A3 C4 E4"), ("x x 0 2 3 2", "D#m", "D3 A3 D4 F#4"),
])  # fmt: skip
def test_tones_are_spelled_by_the_chord(frets: str, key: str, notes: str, capsys: Capture) -> None:
    assert said(capsys, "chord", frets, "--key", key)["notes"] == notes.split()


@pytest.mark.parametrize(("frets", "tuning", "chord"), [
    ("2010", "ukulele", "F"), ("0003", "ukulele", "C"), ("x003", "ukulele", "C"),
    ("00000", "banjo", "G"), ("x0000", "banjo", "G"), ("332010", "high-strung", "C"),
    ("332010", "standard", "C/G"), ("x02x", "bass", "A5"), ("3xx4", "bass", "G"),
])  # fmt: skip
def test_the_tuning_says_whether_the_lowest_note_is_a_bass(
    frets: str, tuning: str, chord: str, capsys: Capture
) -> None:
    assert said(capsys, "chord", frets, "--tuning", tuning)["chord"] == chord


@pytest.mark.parametrize(("after", "chord"), [("Dm7", "Ebdim7"), ("Em7", "D#dim7"), ("", "D#dim7")])
def test_the_chord_after_spells_the_root(after: str, chord: str, capsys: Capture) -> None:
    more = ("--after", after) if after else ()
    assert said(capsys, "chord", "xx1212", "--key", "C", *more)["chord"] == chord


def test_written_roots_move_by_fifths(capsys: Capture) -> None:
    assert run(["capo", "C C#dim7 Dm7 G7", "--key", "C", "--to", "Bb"]) == 0
    assert "Bb Bdim7 Cm7 F7" in capsys.readouterr().out
    assert run(["capo", "C C#dim7 Dm7 G7", "--key", "C", "--highest", "1"]) == 0
    assert "C C#dim7 Dm7 G7" in capsys.readouterr().out


@pytest.mark.parametrize(("words", "chords"), [
    (["capo", "Hm Es7 Fis", "--spelling", "german"], "Bm Eb7 F#"),
    (["capo", "Do Lam Sol7", "--spelling", "solfège"], "C Am G7"),
    (["capo", "C on E | Am, B7"], "C/E Am B7"),
])  # fmt: skip
def test_names_that_are_read_where_the_user_says_so(
    words: list[str], chords: str, capsys: Capture
) -> None:
    assert run([*words, "--highest", "1"]) == 0
    assert chords in capsys.readouterr().out


def test_elsewhere_the_error_says_what_it_would_be_here(capsys: Capture) -> None:
    assert run(["chord", "x24442", "--name", "H7"]) == 2
    assert "H is B here: write B7" in capsys.readouterr().err
    assert run(["capo", "C H7", "--key", "C"]) == 2
    assert "H is B here: write B7" in capsys.readouterr().err
    assert run(["chord", "x24442", "--name", "Sol"]) == 2
    assert "Sol is G here" in capsys.readouterr().err
