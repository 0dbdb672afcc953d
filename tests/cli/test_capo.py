from __future__ import annotations

import json
from pathlib import Path

import pytest

from logbook.cli.main import run


def test_a_line_of_chords(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["capo", "Eb Cm Ab Bb7", "--key", "Eb", "--highest", "3"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0] == "Sounding     Eb Cm Ab Bb7"
    assert lines[-1].startswith("             and ask a teacher") or "teacher" in " ".join(lines)
    (row,) = [line for line in lines if line.startswith("3  ")]
    assert row.split()[-4:] == ["C", "Am", "F", "G7"]
    assert max(map(len, lines)) <= 80


def test_a_new_key_as_data(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["capo", "D", "A", "G", "--key", "D", "--to", "E", "--json"]) == 0
    (table,) = json.loads(capsys.readouterr().out)
    same = [row["capo"] for row in table["rows"] if row["same_shapes"]]
    assert same == [2]
    assert [chord["concert"] for chord in table["rows"][0]["chords"]] == ["E", "B", "A"]


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["capo", "C G", "--to", "D"], "give the concert key"),
        (["capo", "C G", "--highest", "20"], "past the body"),
        (["capo", "C G", "--tuning", "nothing"], "no tuning is called"),
    ],
)
def test_mistakes_end_in_one_sentence(
    arguments: list[str], says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(arguments) == 2
    assert says in capsys.readouterr().err


def test_a_songs_recorded_voicings(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    log = ["--db", str(tmp_path / "log.db")]
    sample = Path(__file__).parents[2] / "sample_session" / "session.toml"
    assert run([*log, "load", str(sample)]) == 0
    capsys.readouterr()
    assert run([*log, "capo", "varnish", "--part", "guitar", "--to", "E", "--json"]) == 0
    (table,) = json.loads(capsys.readouterr().out)
    assert table["part"] == "Varnish, EP, guitar"
    (same,) = [row for row in table["rows"] if row["same_shapes"]]
    assert same["capo"] == 4
    assert same["kept"] == len(same["chords"])
    assert all(chord["same_shape"] for chord in same["chords"])
    assert run([*log, "capo", "varnish"]) == 0
    assert "(the recorded shapes)" in capsys.readouterr().out
    assert run([*log, "capo", "nowhere"]) == 2
    assert "no song is called" in capsys.readouterr().err
