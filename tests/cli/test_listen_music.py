"""`logbook listen tempo` and what else hears music, as a person types it."""

from __future__ import annotations

import shutil
from pathlib import Path

import numpy as np
import pytest

pytest.importorskip("scipy")

import soundfile as sf
from scipy.signal import resample_poly

from logbook.cli.main import run
from tests.cli.typed import Typed
from tests.listening import material as m

RATE = 22_050
SAMPLE = Path(__file__).parents[2] / "sample_session"


@pytest.fixture(scope="module")
def sketch(tmp_path_factory: pytest.TempPathFactory) -> Path:
    notes = m.perform(8, bars=8, tempo=96.0)
    sound = m.pluck(notes, seconds=22.0, rate=RATE)
    return m.save(sound, tmp_path_factory.mktemp("sketch") / "sketch.wav", RATE)


@pytest.fixture(scope="module")
def sample_log(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A log with the sample session's audio hung on its takes; to copy."""
    folder = tmp_path_factory.mktemp("heard")
    shutil.copytree(SAMPLE, folder / "sample_session")
    (folder / "sample_session" / "make_audio.py").unlink()
    log = folder / "log.db"
    assert run(["--db", str(log), "load", str(folder / "sample_session")]) == 0
    assert run(["--db", str(log), "import", str(folder / "sample_session")]) == 0
    return log


@pytest.fixture
def sample_typed(sample_log: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Typed:
    for path in sample_log.parent.glob("log.db*"):
        shutil.copy(path, tmp_path / path.name)
    return Typed(str(tmp_path / "log.db"), capsys)


@pytest.fixture
def typed(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Typed:
    return Typed(str(tmp_path / "log.db"), capsys)


def test_tempo_of_a_file(typed: Typed, sketch: Path) -> None:
    said = typed(["listen", "tempo", str(sketch), "--bar-by-bar"])
    assert "Steady at q=96." in said
    assert 'tempo = "q=96"' in said
    found = typed.json(["listen", "tempo", str(sketch), "--meter", "4/4"])
    assert found["steady"]
    assert found["tempo"] == ["q=96"]
    assert abs(found["bar_one_at_s"] - 0.5) < 0.03
    assert len(found["beats"]) == 32
    assert [bar["bar"] for bar in found["bars"]] == list(range(1, 9))


def test_tempo_refuses(typed: Typed, sketch: Path) -> None:
    assert "there is no file" in typed("listen tempo nowhere.wav", code=2)
    assert "is not a tempo" in typed(["listen", "tempo", str(sketch), "--about", "4000"], code=2)


def test_pattern_of_a_part(sample_typed: Typed) -> None:
    said = sample_typed("listen pattern varnish guitar --bar-by-bar")
    assert "In the log: drive" in said
    found = sample_typed.json("listen pattern varnish guitar")
    assert found["grid"] == "1/8"
    assert found["on_grid"] > 0.95
    (pattern,) = found["patterns"]
    # What the log says, but for which way the hand goes where that is not heard.
    assert pattern["line"].replace(" ", "") == ">D.DU.UDU"
    assert len(pattern["bars"]) == 8


def test_pattern_of_some_bars(sample_typed: Typed) -> None:
    found = sample_typed.json("listen pattern varnish guitar --bars 2-3")
    assert {bar for each in found["patterns"] for bar in each["bars"]} == {2, 3}
    assert {stroke["bar"] for stroke in found["strokes"]} == {2, 3}
    assert "bars 2-3" in sample_typed("listen pattern varnish guitar --bars 2-3")
    assert "has no bar of 90-99" in sample_typed(
        "listen pattern varnish guitar --bars 90-99", code=2
    )


def test_pattern_refuses(sample_typed: Typed) -> None:
    assert "no take 9" in sample_typed("listen pattern varnish guitar --take 9", code=2)
    assert "has no audio file" in sample_typed("listen pattern low voice", code=2)


def test_chart_beside_the_log(sample_typed: Typed) -> None:
    # Take 2 plays the whole song as it is logged; the finished part has bars 7-8 again at 9-10,
    # where the chart says something else.
    found = sample_typed.json("listen chart low guitar --take 2")
    assert found["differences"] == []
    assert found["chart"][0] == "intro: A@strum | Dadd9"
    assert found["new_voicings"] == []
    said = sample_typed("listen chart low guitar", code=2)
    assert "log this as the chart" in said
    found = sample_typed.json("listen chart low guitar")
    assert [(each["bar"], each["logged"], each["heard"]) for each in found["differences"]] == [
        (10, "F#m7", "A")
    ]
    assert not found["applied"]
    sample_typed("listen chart low guitar --yes")
    assert sample_typed.json("listen chart low guitar")["differences"] == []
    sample_typed("undo")
    assert len(sample_typed.json("listen chart low guitar")["differences"]) == 1


def test_chart_of_a_part_without_one(sample_typed: Typed) -> None:
    from logbook.store.editing import edit
    from logbook.store.finding import LogPlace, find
    from logbook.store.lifecycle import open_log

    with open_log(sample_typed.db) as store, store.change("test") as change:
        song = LogPlace("Varnish", "", "")
        edit(change, find(change.connection, "version", "EP", song), {"form": ()})
        where = LogPlace("Varnish", "EP", "")
        edit(change, find(change.connection, "part", "guitar", where), {"chart": ()})
    found = sample_typed.json("listen chart varnish guitar --yes")
    assert found["applied"]
    assert found["sections"][0]["start"] == 1
    text = sample_typed("dump varnish")
    assert found["chart"][0] in text
    # What is written is read again as the same.
    assert sample_typed.json("listen chart varnish guitar")["differences"] == []


def test_bass_line_is_charted_as_notes(sample_typed: Typed) -> None:
    found = sample_typed.json("listen chart varnish bass")
    assert found["differences"] == []


def test_what_contradicts_the_log_is_kept_and_forgotten(sample_typed: Typed) -> None:
    def checked(code: int) -> list[str]:
        said = sample_typed("check low", code=code)
        return [line for line in said.splitlines() if "is heard" in line]

    assert checked(0) == []
    assert sample_typed.json("listen against low guitar --take 2")["contradictions"] == []
    found = sample_typed.json("listen against low guitar")
    (one,) = found["contradictions"]
    assert (one["place"], one["logged"], one["heard"]) == ("10", "F#m7", "A")
    assert found["kept"]
    assert not sample_typed.json("listen against low guitar")["kept"]
    assert len(checked(1)) == 1
    # It goes through the session file, and is forgotten when the chart changes there.
    assert "heard_chord" in sample_typed("dump low")
    sample_typed("listen chart low guitar --yes")
    assert checked(0) == []
    sample_typed("undo")
    assert len(checked(1)) == 1


def test_a_capo_logged_wrongly_is_told_before_any_bar(sample_typed: Typed) -> None:
    sample_typed("part edit guitar --song varnish --capo 2")
    found = sample_typed.json("listen against varnish guitar")
    assert found["semitones_moved"] == 1
    (one,) = found["contradictions"]
    assert (one["place"], one["logged"], one["heard"]) == ("all", "capo 2", "capo 3")
    assert "as with capo 3" in sample_typed("check varnish", code=1)
    sample_typed("part edit guitar --song varnish --capo 3")
    assert "as with capo 3" not in sample_typed("check varnish", code=1)


def test_a_bass_line_is_held_against_its_notes(sample_typed: Typed) -> None:
    assert sample_typed.json("listen against low bass")["contradictions"] == []
    assert "has no audio file" in sample_typed("listen against low voice", code=2)


def test_another_recording_of_the_song(sample_typed: Typed, tmp_path: Path) -> None:
    # Take 2 as a rehearsal a tone lower and slower, two bars of the chorus forgotten.
    sound, rate = sf.read(SAMPLE / "low-tide-ledger_guitar_2.flac")
    bar = 240.0 / 112.0
    short = np.concatenate([sound[: round(6 * bar * rate)], sound[round(8 * bar * rate) :]])
    lower = tmp_path / "rehearsal.wav"
    m.save(resample_poly(short, 449, 400)[:, None], lower, rate)
    command = ["listen", "against", "low", "guitar", "--recording", str(lower)]
    found = sample_typed.json(command)
    assert found["semitones"] == -2
    assert found["bpm"] == pytest.approx(112 * 400 / 449, abs=0.6)
    kinds = {(each["bar"], each["beat"]): each["kind"] for each in found["bars"]}
    assert {place for place, kind in kinds.items() if kind == "left out"} == {
        (7, "1"),
        (7, "3"),
        (8, "1"),
    }
    assert sum(kind == "as recorded" for kind in kinds.values()) >= 9
    assert not any(kind == "another chord" for kind in kinds.values())
    said = sample_typed([*command, "--arrangement", "harbour"])
    assert "2 semitones below it" in said
    assert "The arrangement asks for G at 100." in said
    assert "left out" in said
    page = tmp_path / "lesson.md"
    sample_typed([*command, "--out", str(page)])
    text = page.read_text(encoding="utf-8")
    assert "chorus, bars 7-10" in text
    assert "left out" in text
    assert "2 semitones below it" in text
    assert "no arrangement pier" in sample_typed([*command, "--arrangement", "pier"], code=2)


def test_the_recording_itself_is_as_recorded(sample_typed: Typed) -> None:
    take = str(SAMPLE / "low-tide-ledger_guitar_2.flac")
    found = sample_typed.json(["listen", "against", "low", "guitar", "--recording", take])
    assert (found["semitones"], found["bpm"]) == (0, pytest.approx(112, abs=0.3))
    kinds = [each["kind"] for each in found["bars"]]
    assert kinds.count("as recorded") >= 12
    assert "another chord" not in kinds
    assert "left out" not in kinds
