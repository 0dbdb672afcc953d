"""`logbook listen` on the sample session, as a person types it."""

from __future__ import annotations

import shutil
from pathlib import Path

import numpy as np
import pytest
import soundfile as sf

from tests.cli.typed import Typed

SAMPLE = Path(__file__).parents[2] / "sample_session"
COMP = [
    "1-2 take 3",
    "3-6 take 2",
    "7-8 take 4",
    "9-10 take 4 @ 7-8",
    "11-12 take 2",
]


@pytest.fixture(scope="module")
def imported(tmp_path_factory: pytest.TempPathFactory, sample_file: Path) -> tuple[Path, Path]:
    """A log with the sample session's audio hung on its takes, and the folder; both to copy."""
    from logbook.cli.main import run

    folder = tmp_path_factory.mktemp("listen")
    shutil.copytree(SAMPLE, folder / "sample_session")
    (folder / "sample_session" / "make_audio.py").unlink()
    log = folder / "log.db"
    assert run(["--db", str(log), "load", str(folder / "sample_session")]) == 0
    assert run(["--db", str(log), "import", str(folder / "sample_session")]) == 0
    return log, folder / "sample_session"


@pytest.fixture
def typed(imported: tuple[Path, Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Typed:
    for path in imported[0].parent.glob("log.db*"):
        shutil.copy(path, tmp_path / path.name)
    return Typed(str(tmp_path / "log.db"), capsys)


def commands(typed: Typed) -> int:
    return len(typed.json("history"))


def test_the_comp_of_the_sample_session_is_heard_as_it_is_logged(typed: Typed) -> None:
    before = commands(typed)
    said = typed("listen comp low guitar")
    assert "\n".join(f"{'':<12}{line}" for line in COMP[1:]) in said
    assert "Pieces      1-2 take 3" in said
    assert "chorus          7 | 4+  4+  4+< 4+<" in said
    assert "It agrees with comp in the log; nothing to change." in said
    assert commands(typed) == before


def test_a_comp_that_differs_is_logged_on_confirmation_and_taken_back(typed: Typed) -> None:
    typed("comp remove comp --song low --part guitar --yes")
    typed("comp add comp --song low --part guitar --pieces '1-10 take 2' --pieces '11-12 take 2'")
    refused = typed("listen comp low guitar", code=2)
    assert "--yes" in refused
    found = typed.json("listen comp low guitar")
    assert found["lines"] == COMP
    assert not found["applied"]
    assert [each["bars"] for each in found["differences"]] == ["1-2", "7-8", "9-10"]
    before = commands(typed)
    said = typed("listen comp low guitar --yes")
    assert "9-10: heard take 4 @ 7-8, logged take 2 @ 9-10" in said
    assert commands(typed) == before + 1
    assert typed.json("comp low guitar")["pieces"] == COMP
    typed("undo")
    assert typed.json("comp low guitar")["pieces"] == ["1-10 take 2", "11-12 take 2"]
    # Under another name it is a new comp, and not the final one.
    typed("listen comp low guitar --comp heard --yes")
    assert typed.json("comp low guitar")["comp"] == "comp"
    assert typed.json("comp low guitar --comp heard")["pieces"] == COMP


def test_a_take_that_is_not_there_comes_out_as_unknown(
    typed: Typed, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "moved"
    shutil.copytree(SAMPLE, folder)
    (folder / "low-tide-ledger_guitar_4.flac").unlink()
    files = [f"--take={n}={folder}/low-tide-ledger_guitar_{n}.flac" for n in (2, 3)]
    typed.db = str(tmp_path / "other.db")
    typed(["load", str(folder)])
    bounce = f"--bounce={folder}/low-tide-ledger_guitar_finished.flac"
    found = typed.json(["listen", "comp", "low", "guitar", bounce, *files])
    assert found["unknown"] == ["7-10"]
    # What the log says of a take nobody could hear stays, and is no difference.
    assert found["kept"][0].startswith("7-8 take 4")
    assert found["agrees"]


def test_a_missing_file_is_said_with_how_to_find_it(typed: Typed, tmp_path: Path) -> None:
    folder = tmp_path / "session"
    shutil.copytree(SAMPLE, folder)
    typed.db = str(tmp_path / "other.db")
    typed(["load", str(folder)])
    typed(["import", str(folder)])
    (folder / "low-tide-ledger_guitar_4.flac").rename(tmp_path / "away.flac")
    # Without a part named, it is the one with a finished file.
    said = typed("listen comp low")
    assert "7-10: from no take that was given" in said
    assert "as far as its takes are here; nothing to change" in said
    (folder / "low-tide-ledger_guitar_finished.flac").unlink()
    said = typed("listen comp low guitar", code=2)
    assert "guitar_finished.flac is not where the log says; `logbook files --relink" in said


def test_files_named_are_told_in_seconds(typed: Typed, imported: tuple[Path, Path]) -> None:
    folder = imported[1]
    names = [str(folder / f"low-tide-ledger_guitar_{each}.flac") for each in ("finished", 2, 3, 4)]
    said = typed(["listen", "comp", *names])
    assert said.splitlines()[1].split()[:2] == ["0.000", "s"]
    assert said.count("guitar_4.flac") == 2
    marked = ["--bounce", names[0], *(word for name in names[1:] for word in ("--take", name))]
    found = typed.json(["listen", "comp", *marked])
    assert [each["take"] for each in found["pieces"]] == [
        Path(names[n]).name for n in (2, 1, 3, 3, 1)
    ]
    assert not any(each["also"] or each["fade"] for each in found["pieces"])
    # A copy of a take among the takes: the sound cannot say which of the two was used.
    copy = shutil.copy(names[3], folder / "again.flac")
    said = typed(["listen", "comp", *names, str(copy)])
    assert said.count("again.flac") == 2
    found = typed.json(["listen", "comp", *names, str(copy)])
    again = [each["also"] for each in found["pieces"] if each["also"]]
    assert [one["take"] for also in again for one in also] == ["again.flac"] * 2
    assert again[0][0]["source"] == pytest.approx(found["pieces"][2]["source"], abs=1e-6)
    assert found["rough_comps"] == []


def test_what_cannot_be_listened_to_is_said(
    typed: Typed, tmp_path: Path, imported: tuple[Path, Path]
) -> None:
    take = str(imported[1] / "low-tide-ledger_guitar_2.flac")
    silence = tmp_path / "silence.wav"
    sf.write(silence, np.zeros(10 * 22050), 22050)
    short = tmp_path / "short.wav"
    sf.write(short, np.random.default_rng(1).normal(0, 0.1, 2000), 22050)
    damaged = tmp_path / "damaged.flac"
    damaged.write_bytes(b"fLaC" + bytes(200))
    cases = [
        (["listen", "comp", "nowhere.wav", take], "there is no file nowhere.wav"),
        (["listen", "comp", str(silence), take], "silen"),
        (["listen", "comp", str(short), take], "short"),
        (["listen", "comp", str(damaged), take], "damaged.flac cannot be decoded"),
        (["listen", "comp", take], "take"),
        (["listen", "comp", "--take", take], "which file is the bounce"),
        (["listen", "comp", "low", "guitar", "--take", take], "which take"),
        (["listen", "comp", "low", "bass"], "no finished file"),
        (["listen", "comp", "low", "voice"], "no take of Low Tide Ledger, EP, voice has an audio"),
        (["listen", "comp", "low", "guitar", "extra"], "3 names"),
        (["listen", "double", take], "1 file was given"),
        (["listen", "double", take, take], "given twice"),
        (["listen", "double", take, str(silence)], "silen"),
        (["listen", "double", "low"], "which two"),
        (["listen", "takes", "low", "voice"], "has an audio file"),
    ]
    for words, expected in cases:
        said = typed(words, code=2)
        assert expected in said, (words, said)
        assert len(said.strip().splitlines()) == 1, said


def test_without_the_extra_one_sentence_says_how_to_get_it(
    typed: Typed, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("logbook.listening.extra.find_spec", lambda name: None)
    for line in ("comp low guitar", "double a.wav b.wav", "takes low guitar"):
        said = typed(f"listen {line}", code=2)
        assert "pip install 'session-logbook[listen]'" in said
        assert len(said.strip().splitlines()) == 1


def test_two_performances_are_kept_and_agree_with_the_log(typed: Typed) -> None:
    found = typed.json("listen double varnish guitar high")
    assert found["kind"] == "second performance"
    timing = found["timing"]
    assert timing["word"] == "tight"
    assert timing["lower_quartile_ms"] < timing["median_ms"] < timing["upper_quartile_ms"]
    said = typed("listen double varnish guitar high")
    assert "tight: median" in said
    assert "Kept already" in said
    rules = {each["rule"] for each in typed_check(typed, "varnish")}
    assert "heard doubles" not in rules
    written = typed("dump varnish")
    assert 'kind = "second performance"' in written or "second performance" in written
    typed("part edit guitar --song varnish --doubled 'not doubled'")
    typed("double remove 'high guitar' --song varnish --part guitar --yes")
    (problem,) = [each for each in typed_check(typed, "varnish") if each["rule"] == "heard doubles"]
    assert problem["kind"] == "contradicts"
    assert "said to be not doubled" in problem["what"]
    typed("part edit guitar --song varnish --doubled unknown")
    typed("part edit 'high guitar' --song varnish --doubled unknown")
    (problem,) = [each for each in typed_check(typed, "varnish") if each["rule"] == "heard doubles"]
    assert problem["kind"] == "missing"


def typed_check(typed: Typed, song: str) -> list[dict[str, str]]:
    """What `check` finds, whatever its exit code."""
    import json

    from logbook.cli.main import run

    typed.capsys.readouterr()
    run(["--db", typed.db, "check", song, "--json"])
    found: list[dict[str, str]] = json.loads(typed.capsys.readouterr().out)
    return found


def test_a_copy_logged_as_a_double_contradicts(
    typed: Typed, tmp_path: Path, imported: tuple[Path, Path]
) -> None:
    original = imported[1] / "varnish_guitar_1.flac"
    samples, rate = sf.read(original)
    copy = tmp_path / "copied.flac"
    sf.write(copy, np.concatenate([np.zeros(rate // 50), samples]), rate)
    said = typed(["listen", "double", str(original), str(copy)])
    assert "the same recording, delayed" in said
    assert "20.0 ms after" in said
    assert "copied.flac is not in the log" in said
    typed(["files", "attach", str(copy), "varnish", "high guitar", "2"])
    assert "Kept in the log" in typed(["listen", "double", str(original), str(copy)])
    (problem,) = [each for each in typed_check(typed, "varnish") if each["rule"] == "heard doubles"]
    assert problem["kind"] == "contradicts"
    assert "20.0 ms apart" in problem["what"]
    assert "a copy is not a double" in problem["why"]
    typed("undo")
    assert "heard doubles" not in {each["rule"] for each in typed_check(typed, "varnish")}


def test_takes_are_measured_kept_and_shown(typed: Typed) -> None:
    assert "LUFS" not in typed("takes low guitar")
    before = commands(typed)
    said = typed("listen takes low guitar")
    assert "3 files measured." in said
    assert commands(typed) == before + 1
    shown = typed("takes low guitar")
    assert shown.count("LUFS") == 3
    assert "silence" in shown
    assert "0 files measured, 3 measured before" in typed("listen takes low guitar")
    assert commands(typed) == before + 1
    found = typed.json("listen takes low guitar --again")
    assert [each["measured_now"] for each in found] == [True] * 3
    for each in found:
        measured = each["measurement"]
        assert measured["tempo_bpm"] == pytest.approx(112.0, rel=0.003)
        assert abs(measured["tuning_cents"]) < 2.0
        assert measured["clipped_samples"] == 0
    typed("undo 2")
    assert "LUFS" not in typed("takes low guitar")


def test_inside_one_file(typed: Typed, imported: tuple[Path, Path]) -> None:
    said = typed("listen inside low guitar --take 2")
    assert "No punch-in is heard" in said
    found = typed.json(["listen", "inside", str(imported[1] / "low-tide-ledger_guitar_2.flac")])
    assert found["punch_ins"] == []
    assert found["lines"] == []
    assert "there is no file" in typed("listen inside nowhere.wav", code=2)
    assert "a loop cannot last" in typed("listen inside low guitar --length -1", code=2)
