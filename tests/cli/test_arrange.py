from __future__ import annotations

import io
import json
import shutil
import wave
from collections.abc import Callable
from pathlib import Path

import mido
import pytest

from logbook.cli.main import run

SAMPLE = Path(__file__).parents[2] / "sample_session" / "session.toml"
Run = Callable[..., tuple[int, str, str]]


@pytest.fixture(scope="module")
def loaded(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a log that holds the sample session, made once; copy it."""
    folder = tmp_path_factory.mktemp("loaded")
    assert run(["--db", str(folder / "log.db"), "load", str(SAMPLE)]) == 0
    return folder


@pytest.fixture
def cli(loaded: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Run:
    """Run commands on a log that holds the sample session: exit code, output, errors."""
    folder = shutil.copytree(loaded, tmp_path / "log")
    log = ["--db", str(folder / "log.db")]
    capsys.readouterr()

    def go(*arguments: str) -> tuple[int, str, str]:
        code = run([*log, *arguments])
        said = capsys.readouterr()
        return code, said.out, said.err

    return go


def test_the_kept_arrangement_is_shown(cli: Run) -> None:
    code, out, _ = cli("arrange", "low")
    assert code == 0
    assert out.startswith("Low Tide Ledger, EP, harbour stage\n")
    assert "G major (recorded: A major, 2 semitones down)" in out
    assert max(map(len, out.splitlines())) <= 80


def test_what_differs(cli: Run) -> None:
    code, out, _ = cli("arrange", "low", "--diff")
    assert code == 0
    assert "- key: A major -> G major, 2 semitones down\n" in out
    assert "- guitar: capo: 2 -> 0\n" in out
    data = json.loads(cli("arrange", "low", "--diff", "--json")[1])
    assert {"about": "tempo", "recorded": "q=112", "now": "q=100"} in data


def test_one_is_made_from_the_record_and_kept(cli: Run) -> None:
    code, out, err = cli(
        "arrange", "low", "--key", "C", "--tempo", "q=96", "--section", "chorus x2 cue nod",
        "--section", "verse at 80 ramp", "--section", "outro vamp at 60", "--leave-out", "bass",
        "--capo", "guitar=5", "--way", "guitar=same", "--player", "guitar=Tam",
        "--keep", "pub", "--notes", "standing",
    )  # fmt: skip
    assert (code, "added the arrangement pub" in err) == (0, True)
    assert "1 q=96, 9–12 q=80>60, 13 q=60" in out
    shown = cli("arrange", "low", "--name", "pub")[1]
    assert shown == out
    dumped = cli("dump", "low")[1]
    assert "chorus" in dumped
    assert 'way = "same shapes"' in dumped
    code, out, _ = cli("arrange", "low", "--name", "pub", "--tempo", "100", "--keep", "pub")
    assert code == 0
    assert "q=100, 9–12 q=80>60" in out
    assert cli("undo")[0] == 0
    assert cli("arrange", "low", "--name", "pub")[1] == shown


def test_with_several_kept_it_has_to_be_said_which(cli: Run) -> None:
    assert cli("arrange", "low", "--tempo", "90", "--keep", "slow")[0] == 0
    code, _, err = cli("arrange", "low")
    assert code == 2
    assert "say which with --name: harbour stage, slow; or --recorded" in err
    code, out, _ = cli("arrange", "low", "--recorded")
    assert code == 0
    assert "unchanged: played as recorded" in out


def test_ways_of_a_part(cli: Run) -> None:
    code, out, _ = cli("arrange", "low", "--key", "B", "--ways", "gui")
    assert code == 0
    assert "1.  same shapes, capo 4: all 5 voicings stay fret for fret" in out
    data = json.loads(cli("arrange", "low", "--key", "D", "--ways", "guitar", "--json")[1])
    assert data[-1]["possible"] is False
    assert "break" in data[-1]["why"]


def test_keys_for_a_singer(cli: Run) -> None:
    code, out, _ = cli("arrange", "low", "--keys-for", "ina")
    assert code == 0
    assert "Bb major +1 Bb3 to D5 3 0" in " ".join(out.split())
    data = json.loads(cli("arrange", "low", "--keys-for", "A2 to D5", "--json")[1])
    assert data["comfortable"] == ["A2", "D5"]


def test_midi_of_one_part_as_logged(cli: Run, tmp_path: Path) -> None:
    path = tmp_path / "guitar.mid"
    code, out, _ = cli(
        "arrange", "low", "--recorded", "--part", "guitar", "--tempo", "60", "--out", str(path)
    )
    assert code == 0
    assert "sharp and hard on the ears" in out.replace("\n", " ")
    file = mido.MidiFile(path)
    assert [track.name for track in file.tracks][1:] == ["click", "guitar"]
    assert file.length == pytest.approx(13 * 4)


def test_click_with_its_ending_and_caution(cli: Run, tmp_path: Path) -> None:
    code, out, _ = cli("arrange", "low", "--as", "click", "--out", str(tmp_path / "click"))
    assert code == 0
    assert "ask a doctor" in out
    with wave.open(io.BytesIO((tmp_path / "click.wav").read_bytes())) as file:
        assert file.getframerate() == 22_050
        assert file.getnframes() == round(13 * 2.4 * 22_050)


def test_musicxml_goes_to_a_file_or_the_screen(cli: Run, tmp_path: Path) -> None:
    path = tmp_path / "low.musicxml"
    assert cli("arrange", "low", "--out", str(path))[0] == 0
    code, out, _ = cli("arrange", "low", "--as", "musicxml")
    assert code == 0
    assert out == path.read_text(encoding="utf-8")


def test_a_sheet_of_the_arrangement(cli: Run, tmp_path: Path) -> None:
    code, out, _ = cli("arrange", "low", "--for", "player", "--part", "guitar")
    assert code == 0
    assert "EP, HARBOUR STAGE" in out
    assert "sounds in G major" in out
    assert "BASS" not in out
    assert cli("arrange", "low", "--for", "player", "--out", str(tmp_path / "a.md"))[0] == 0
    assert (tmp_path / "a.md").read_text(encoding="utf-8").startswith("# ")
    assert "there is no sheet called 'poster'" in cli("arrange", "low", "--for", "poster")[2]


def test_json(cli: Run) -> None:
    data = json.loads(cli("arrange", "low", "--json", "--part", "bass")[1])
    assert [part["part"] for part in data["parts"]] == ["bass"]
    assert data["arrangement"] == "harbour stage"


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["--tempo", "0"], "a tempo of 0 is too slow"),
        (["--key", "G#"], "there is no key of G# major; write Ab major"),
        (["--key", "x"], "'x' is not a key"),
        (["--capo", "guitar=16"], "guitar: a capo at fret 16 is past the body"),
        (["--capo", "4"], "write it as in --capo guitar=4"),
        (["--section", "bridge"], "the form has intro, verse, chorus, outro"),
        (["--leave-out", "drums"], 'no part is called "drums"'),
        (["--way", "guitar=magic"], '"magic" is not a way to a key'),
        (["--written-for", "guitar=Q"], '"Q" is not a transposition'),
        (["--instrument", "guitar=lute"], 'no instrument is called "lute"'),
        (["--name", "barn"], 'no arrangement is called "barn"'),
        (
            ["--as", "midi", "--part", "voice", "--out", "x.mid"],
            '"voice" has no melody, and no chart of',
        ),
        (["--recorded", "--way", "bass=new"], "bass is in A major as it is, and new shapes would"),
        (["--section", "verse x0"], 'section "verse x0": "0" is out of range'),
        (["--tuning", "guitar=drop Q"], "no tuning is called 'drop Q'"),
        (["--as", "midi"], "a midi file is not for the screen; say --out song.mid"),
        (["--as", "wax"], "cannot be written as wax"),
        (["--as", "midi", "--json"], "--json and --as midi were both given"),
        (["--keys-for", "nobody"], 'no person is called "nobody"'),
        (["--keys-for", "D5-A3"], "the range of the singer ends at A3"),
        (["--ways", "voice"], "has no tuning"),
        (["--version", "demo"], 'no version is called "demo"'),
    ],
)
def test_mistakes_end_in_one_sentence(cli: Run, arguments: list[str], says: str) -> None:
    code, _, err = cli("arrange", "low", *arguments)
    assert code == 2
    assert says in err
    assert err.count("\n") == 1


def test_a_tuning_by_its_strings_is_logged_with_it(cli: Run) -> None:
    strings = "guitar=C2 G2 C3 G3 C4 F4"
    code, out, _ = cli("arrange", "low", "--tuning", strings, "--capo", "guitar=0", "--keep", "c")
    assert code == 0
    assert "C2 G2 C3 G3 C4 F4 (C2 G2 C3 G3 C4 F4), no capo" in out
    assert cli("arrange", "low", "--name", "c")[1] == out
    code, out, _ = cli("arrange", "low", "--tuning", "guitar=open g", "--keep", "g")
    assert (code, "open G (D2 G2 D3 G3 B3 D4)" in out) == (0, True)
    assert "open G" in cli("tuning", "list")[1]


def test_a_mistake_keeps_nothing(cli: Run) -> None:
    assert cli("arrange", "low", "--capo", "guitar=16", "--keep", "pub")[0] == 2
    assert "no arrangement is called" in cli("arrange", "low", "--name", "pub")[2]


def test_a_set_is_printed(cli: Run) -> None:
    code, out, _ = cli("setlist", "harbour")
    assert code == 0
    assert out.startswith("harbour fair, 2026-07-11, the harbour\n")
    assert "retune DADGAD to standard, 3 strings (45 s)" in out.replace("\n", " ")
    assert max(map(len, out.splitlines())) <= 80
    assert cli("setlist")[1] == out
    assert "fret" not in cli("setlist", "list")[2]


def test_a_set_in_another_order_can_be_kept(cli: Run) -> None:
    cli("setlist", "add", "mixed", "--songs", "Low Tide Ledger / EP", "--songs",
        "Lantern on the Slip / EP", "--songs", "Low Tide Ledger / EP / harbour stage")  # fmt: skip
    code, out, _ = cli("setlist", "mixed", "--order", "--json")
    assert code == 0
    data = json.loads(out)
    assert data["order_is_exact"] is True
    assert cli("setlist", "mixed", "--order", "--keep")[0] == 0
    kept = json.loads(cli("setlist", "mixed", "--json")[1])
    assert kept["songs"] == data["songs"]
    assert kept["changes"] == data["changes"]


def test_times_for_changes(cli: Run) -> None:
    data = json.loads(
        cli("setlist", "harbour", "--json", "--string", "1", "--capo", "2", "--swap", "3")[1]
    )
    assert data["gaps"][0]["seconds"] == 5
    assert data["times"] == {"string_s": 1, "capo_s": 2, "swap_s": 3}


def test_mistakes_about_sets(cli: Run) -> None:
    assert cli("setlist", "add", "empty")[0] == 0
    code, _, err = cli("setlist", "empty")
    assert (code, "the set empty has no songs; add the first one" in err) == (2, True)
    assert "name one of harbour fair, empty" in cli("setlist")[2]
    assert "there is no new order to keep" in cli("setlist", "harbour", "--keep")[2]
    assert "a change cannot take -1 seconds" in cli("setlist", "harbour", "--swap", "-1")[2]
