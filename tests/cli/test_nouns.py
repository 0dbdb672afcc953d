"""Every noun can be added, listed, shown, changed and removed from the command line."""

from __future__ import annotations

import json
import os
import shlex
import shutil
import stat
from collections.abc import Callable, Iterable
from pathlib import Path

import pytest

from logbook.cli.main import run
from logbook.cli.noun_names import NOUN_COMMANDS
from logbook.cli.noun_owners import is_option
from logbook.notebook.applying import kind_of
from logbook.notebook.nouns import NOUNS
from logbook.store.layout import SHAPES
from logbook.store.lifecycle import open_log
from tests.cli.typed import Typed
from tests.notebook.test_session_file import documented
from tests.planted import planted

HERE = ("here", "low", "album", "guitar", "--session", "day")
WRITTEN = (
    "here low",
    "person add Wren Holt",
    "part add 'second guitar'",
    "project add EP",
    "setlist add tour",
    "arrangement add pub",
)


def written(target: str, folder: Path, lines: Iterable[str] = ()) -> str:
    """Put the manual's song into an empty log, then what further commands say."""
    file = folder / "session.toml"
    file.write_text(documented()[0], encoding="utf-8")
    for words in (["load", str(file)], *map(shlex.split, lines)):
        assert run(["--db", target, *words]) == 0
    return target


@pytest.fixture(scope="module")
def song_file(tmp_path_factory: pytest.TempPathFactory, empty_file: Path) -> Path:
    """The log with the manual's song in a file, made once; copy it."""
    return _made_once(tmp_path_factory.mktemp("song"), empty_file, ())


@pytest.fixture(scope="module")
def owners_file(tmp_path_factory: pytest.TempPathFactory, empty_file: Path) -> Path:
    """The same with one of everything a noun may belong to."""
    return _made_once(tmp_path_factory.mktemp("owners"), empty_file, WRITTEN)


def _made_once(folder: Path, empty: Path, lines: Iterable[str]) -> Path:
    path = folder / "log.db"
    shutil.copy(empty, path)
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("LOGBOOK_USER", "tester")
        patch.setenv("XDG_DATA_HOME", str(folder))
        written(str(path), folder, lines)
    with open_log(str(path)) as store, store.engine.connect() as connection:
        connection.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)")
    return path


@pytest.fixture
def on(
    fresh: Callable[[], str], dialect: str, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> Callable[..., Typed]:
    """A log of one's own like one made once, with the manual's guitar current."""

    def made(once: Path, lines: Iterable[str] = ()) -> Typed:
        target = fresh()
        if dialect == "sqlite":
            shutil.copy(once, target)
        else:
            with open_log(target) as store:
                planted(store, once.parent.name, lambda: written(target, tmp_path, lines))
        assert run(["--db", target, *HERE]) == 0
        return Typed(target, capsys)

    return made


@pytest.fixture
def typed(on: Callable[..., Typed], song_file: Path) -> Typed:
    """A log that holds the manual's song, with the guitar of it current."""
    return on(song_file)


@pytest.fixture
def owning(on: Callable[..., Typed], owners_file: Path) -> Typed:
    """The same log with one of everything a noun may belong to."""
    return on(owners_file, WRITTEN)


# noun: what is added, how it is found, one change, what the change says
EVERY = {
    "remark": ("remark add 9 --text 'the odd bit'", "9", "--settled done", "settled"),
    "song": ("song add Slack Tide --iswc T-034.524.680-1", "slack", "--notes x", "notes"),
    "version": ("version add radio --key C --tempo 96", "radio", "--rate 44100", "rate"),
    "part": ("part add voice --player tob", "voi", "--pan 'left 20'", "pan"),
    "voicing": ("voicing add A 7 x 0 0 x 0", "A", "--frets '7 x 0 0 7 0'", "frets"),
    "pattern": ("pattern add strum '1/8: D.DU .UDU'", "str", "--feel swing", "feel"),
    "chart": ("chart add '21: D'", "bar 21", "--voicing G", "voicing"),
    "comp": ("comp add second --pieces '1-8 take 2' --no-final", "sec", "--notes x", "notes"),
    "piece": ("piece add '21-22 take 2'", "21-22", "--take 3", "take"),
    "vote": ("vote add 'Wren: 5-8 take 2 good'", "wren", "--rating fair", "rating"),
    "punch-in": ("punch-in add '8 late'", "8", "--why early", "why"),
    "reused": ("reused add '1-4 again at 17-20'", "1-4", "--notes x", "notes"),
    "double": ("double add 'second guitar: right'", "second", "--pan left", "pan"),
    "overdub": ("overdub add 'over second guitar: 5-8'", "over", "--notes x", "notes"),
    "technique-note": ("technique-note add '5-8: let it ring'", "let", "--bars 5-12", "bars"),
    "section": ("section add 'outro 4 bars'", "out", "--length 2", "bars"),
    "lyric": ("lyric add '5.3: the tide comes in'", "5.3", "--text 'the tide'", "text"),
    "melody": ("melody add '5.3: E4/8 F#4 G4/4'", "5.3", "--tune 'A4/2'", "tune"),
    "meter": ("meter add '17 6/8'", "17", "--meter 3/4", "meter"),
    "tempo": ("tempo add '17 q=88'", "17", "--bpm 90", "bpm"),
    "share": ("share add 'Wren Holt 1/2 publisher'", "wren", "--share 1/3", "share"),
    "role": ("role add 'Wren Holt: assistant'", "wren", "--notes x", "notes"),
    "person": ("person add Moss Teal --low A3", "moss", "--high D5", "high"),
    "instrument": ("instrument add rosewood --scale 648", "rose", "--frets 20", "frets"),
    "tuning": ("tuning add 'low open' C2 G2 C3 G3 C4 E4", "low", "--a4 442", "a4"),
    "session": ("session add day two --date 2026-05-03", "day two", "--place shed", "place"),
    "recall": ("recall add 'combo: gain 4; for the solo'", "combo", "--notes x", "notes"),
    "photograph": ("photograph add 'a.jpg; of combo'", "a.jpg", "--caption x", "caption"),
    "deliverable": ("deliverable add 'stems; mix 3'", "stems", "--status ready", "status"),
    "input": ("input add '3 snare; mic ribbon'", "3", "--track 4", "track"),
    "hours": ("hours add 'Wren Holt 10-18; break 1 h'", "wren", "--end 19:00", "end"),
    "file": ("file add takes/a.wav", "takes", "--microphone ribbon", "microphone"),
    "project": ("project add Boathouse", "boat", "--barcode 6291041500213", "barcode"),
    "track": ("track add 'Low Water / album'", "low", None, ""),
    "setlist": ("setlist add fair --place slipway", "fair", "--date 2026-06-20", "date"),
    "setlist-entry": ("setlist-entry add 'opener: low / album'", "1", "--place closer", "place"),
    "arrangement": ("arrangement add stage --key C", "sta", "--bpm 84", "bpm"),
    "arranged-section": ("arranged-section add 'chorus x2'", "1", "--times 3", "times"),
    "arranged-part": ("arranged-part add guitar --capo 0", "gui", "--capo 3", "capo"),
    "take": ("take keeper 1-8 --session day", "4", "--result reject", "result"),
}  # fmt: skip
OWNERS = {
    "track": "--project EP",
    "setlist-entry": "--setlist tour",
    "arranged-section": "--arrangement pub",
    "arranged-part": "--arrangement pub",
    "punch-in": "--take 3",
    "role": "--session day",
    "file": "--take 3",
}


def test_the_list_of_nouns_is_complete() -> None:
    assert {noun for noun, _ in NOUN_COMMANDS.values()} | {
        "take",
        "cue",
        "heard-double",
        "heard-chord",
        "file-copy",
    } == set(NOUNS)
    assert set(EVERY) == set(NOUN_COMMANDS) | {"take"}


def test_options_are_what_the_store_states_as_lists() -> None:
    for noun in NOUNS.values():
        for collection in noun.collections:
            assert is_option(collection) == SHAPES[kind_of(collection.noun)].listed


@pytest.mark.parametrize("noun", EVERY)
def test_add_list_show_edit_remove(owning: Typed, noun: str) -> None:
    typed = owning
    add, name, change, says = EVERY[noun]
    owner = OWNERS.get(noun, "")
    before = typed("dump")
    added = typed(f"{add} {owner}")
    assert added.startswith(("added ", "take "))
    assert typed.json(f"{noun} list {owner}")
    typed(f"{noun} list {owner}")
    found = f"'{name}'"
    if noun not in ("comp", "tuning"):  # these have pictures of their own
        assert typed(f"{noun} show {found} {owner}")
        assert "record" in typed.json(f"{noun} show {found} {owner}")
    if change is not None:
        said = typed(f"{noun} edit {found} {change} {owner}")
        assert said.startswith("changed ")
        assert f"{says} " in said
    refused = typed(f"{noun} remove {found} {owner}", 2)
    assert "this removes" in refused
    assert "--yes" in refused
    assert typed(f"{noun} remove {found} {owner} --yes").startswith("removed ")
    assert typed("dump") == before


def test_what_is_there_already_is_not_added_again(typed: Typed) -> None:
    assert "already exists" in typed("song add Low Water", 2)
    assert "already exists" in typed("voicing add D '0 0 0 2 3 0'", 2)
    assert "already exists" in typed("section add 'coda 1-4'", 2)


def test_remove_says_what_hangs_on_it(typed: Typed) -> None:
    said = typed("part remove guitar", 2)
    assert "3 takes" in said
    assert "2 voicings" in said
    assert "is used by" in typed("person remove ada --yes", 2)


def test_lists_are_said_whole_in_options(typed: Typed) -> None:
    typed("version edit album --tempo q=90 --tempo '9-12 q=90>80' --form 'a 1-4' --form 'b 8 bars'")
    version = typed.json("version show album")["record"]
    assert [each["name"] for each in version["form"]] == ["a", "b"]
    assert version["tempos"][1]["ramp_bpm"] == 80.0
    typed("song edit low --shares 'Ada Fenrush 1/3' --shares 'Tobin Marsk 2/3'")
    assert "2/3" in typed("share list")


def test_mistakes_read_as_in_a_session_file(typed: Typed, tmp_path: Path) -> None:
    said = typed("voicing add C 'x 3 2 0 1'", 2)
    assert "5 entries for 6 strings" in said
    said = typed("version edit album --key H", 2)
    file = tmp_path / "x.toml"
    file.write_text(
        '[[song]]\ntitle="Low Water"\n[[song.version]]\nname="album"\nkey="H"\n', encoding="utf-8"
    )
    in_file = typed(["load", str(file)], 2)
    assert said.split("key: ")[1] == in_file.split("key: ")[1]


def test_rename_keeps_what_hangs_on_it(typed: Typed) -> None:
    typed("song edit low --title 'High Water'")
    typed("voicing edit D --label Dsus")
    assert "Dsus" in typed("chart list")
    assert "High Water" in typed("here")


def test_two_people_at_once(typed: Typed) -> None:
    revision = typed.json("take show 3")["revision"]
    typed("take edit 3 --notes mine")
    said = typed(f"take edit 3 --notes theirs --if-revision {revision}", 2)
    assert "mine" in said
    assert "theirs" in said
    assert typed.json("take show 3")["record"]["notes"] == "mine"


def editor(tmp_path: Path, script: str) -> str:
    path = tmp_path / "editor"
    path.write_text(f"#!{os.sys.executable}\nimport sys\nfile = sys.argv[-1]\n{script}\n")  # type: ignore[attr-defined]
    path.chmod(path.stat().st_mode | stat.S_IEXEC)
    return str(path)


def test_edit_in_an_editor(typed: Typed, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    change = (
        "text = open(file).read().replace('keeper', 'complete')\n"
        "lines = [each for each in text.splitlines() if not each.startswith('notes')]\n"
        "open(file, 'w').write('\\n'.join(lines))"
    )
    monkeypatch.setenv("EDITOR", editor(tmp_path, change))
    said = typed("take edit 3")
    assert "result keeper -> complete" in said
    assert "notes the one with the long ring -> nothing" in said
    monkeypatch.setenv("EDITOR", editor(tmp_path, ""))
    assert typed("take edit 3") == "nothing was changed\n"
    monkeypatch.setenv("EDITOR", editor(tmp_path, "open(file, 'a').write('resultt = 1\\n')"))
    said = typed("take edit 3", 2)
    assert "did you mean result?" in said
    kept = said.rsplit(" ", 1)[1].strip()
    assert "resultt" in Path(kept).read_text(encoding="utf-8")
    monkeypatch.setenv("EDITOR", editor(tmp_path, "sys.exit(1)"))
    assert "nothing was changed" in typed("take edit 3", 2)
    killed = "import os; open(file, 'a').write('# half'); os.kill(os.getpid(), 9)"
    monkeypatch.setenv("EDITOR", editor(tmp_path, killed))
    half = Path(typed("take edit 3", 2).rsplit(" ", 1)[1].strip())
    assert "# half" in half.read_text(encoding="utf-8")


def test_hostile_names_are_printed_harmless(typed: Typed) -> None:
    name = "\x1b[31mred\n‮x" + "n" * 200
    typed(["song", "add", "--title", name])
    for line in ("song list", ["song", "show", name]):
        said = typed(line)
        assert "\x1b" not in said
        assert "‮" not in said
    assert name in json.loads(typed("song list --json"))[1]["title"]
    assert "\x1b" not in typed("song list --json")


def test_a_part_is_shown_with_its_chart_as_lines(typed: Typed) -> None:
    said = typed("part show")
    assert "intro: D | G | D | G\n" in said
    assert "as_logged" not in said
    assert "voicings    D, G\n" in said


def test_an_edit_that_changes_nothing_changes_nothing(
    typed: Typed, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("EDITOR", editor(tmp_path, "open(file, 'a').write('\\n# a remark\\n')"))
    before = typed("dump")
    for noun in ("song", "version", "part", "session"):
        assert typed(f"{noun} edit") == "nothing was changed\n"
    monkeypatch.setenv("EDITOR", "true")
    assert typed("take edit 2") == "nothing was changed\n"
    monkeypatch.setenv("EDITOR", "/no/such/editor")
    assert "cannot be started" in typed("take edit 2", 2)
    assert typed("dump") == before


def test_take_numbers_of_two_sessions_are_told_apart(typed: Typed) -> None:
    typed("session add 'day two'")
    typed("take k --session 'day two'")
    typed("file add takes/b.wav --take 1 --session 'day two'")
    typed("file add takes/a.wav --take 1")
    assert "takes/a.wav" in typed("file list --take 1")
    assert "takes/b.wav" in typed("file list --take 1 --session 'day two'")
    assert "takes/b.wav" in typed("take show 1 --session 'day two' --json")


@pytest.mark.parametrize("action", ["show", "edit", "remove"])
def test_a_name_in_an_empty_list_is_answered_with_a_sentence(typed: Typed, action: str) -> None:
    typed("version add bare --song low")
    typed("part add lute --version bare")
    for said in (
        "section {} verse --version bare",
        "double {} guitar --version bare --part lute",
        "overdub {} guitar --version bare --part lute",
        "role {} Wren --song low --version bare",
    ):
        done = typed(said.format(action), code=2)
        assert "there is no" in done
        assert "yet" in done


def test_one_of_two_sections_of_a_name_is_never_taken_for_the_other(typed: Typed) -> None:
    typed("version add twice --song low --form 'verse 1-8' --form 'verse 9-16'")
    for said in (
        "section show verse",
        "section edit verse --length 4",
        "section remove verse --yes",
    ):
        told = typed(f"{said} --version twice", code=2)
        assert "may be any of 2 sections" in told
        assert "verse 9-16" in told
    assert "verse 9-16" in typed("section show 'verse 9' --version twice")


def test_a_word_that_is_no_action_is_answered_with_the_closest(typed: Typed) -> None:
    told = typed("song ad 'Slack Tide'", code=2)
    assert 'no command "logbook song ad"' in told
    assert "did you mean add?" in told
    assert "add, edit, list, show, remove" in typed("person frob", code=2)


def test_no_part_doubles_itself(typed: Typed, tmp_path: Path) -> None:
    told = typed("double add 'guitar: left'", code=2)
    assert "guitar cannot double itself" in told
    file = tmp_path / "again.toml"
    file.write_text(
        '[song]\ntitle = "Low Water"\nversion.name = "album"\n'
        'version.part.name = "guitar"\nversion.part.doubles = ["guitar: left"]\n'
    )
    told = typed(["load", str(file)], code=2)
    assert "again.toml, line 5" in told
    assert "guitar cannot double itself" in told


def test_charts_are_added_section_by_section_in_any_order(typed: Typed) -> None:
    typed("version add twice --song low --form 'verse 1-2' --form 'chorus 3-4' --form 'coda 5-6'")
    typed("part add lute --version twice")
    typed("voicing add D --frets '0 0 0 2 3 0' --version twice --part lute")
    there = "--version twice --part lute"
    typed(f"chart add 'verse: D | .' {there}")
    assert "chorus" not in typed(f"chart list {there}")
    typed(f"chart add 'coda: D | .' {there}")
    typed(f"chart add 'chorus: D | D' {there}")
    told = typed(f"chart list {there}")
    assert "chorus: D | %" in told
    assert "-" not in told.replace("Low Water", "")


def test_a_part_without_frets_is_charted_by_chord_symbols_alone(typed: Typed) -> None:
    typed("instrument add upright --kind piano")
    typed("part add keys --instrument upright")
    typed("voicing add Am7 --pitches 'A2 G3 C4 E4' --part keys")
    there = "--part keys"
    typed(f"chart add '2: Em' {there}")
    typed(f"chart add --bar 3 --voicing F#m7b5 {there}")
    typed(f"chart add --bar 4 --voicing AM7 {there}")
    typed(f"chart edit 'bar 2' --voicing Bm {there}")
    kept = json.loads(typed(f"voicing list --json {there}"))
    assert {each["label"]: each.get("pitches", "") for each in kept} == {
        "Am7": "A2 G3 C4 E4", "Em": "", "F#m7b5": "", "AM7": "", "Bm": "",
    }  # fmt: skip
    assert "no voicing" in typed(f"chart add '2: hook' {there}", code=2)
    typed("undo")
    assert "Em" in typed(f"chart list {there}")
    # Where the hands are known a chord that nobody fingered is a slip.
    assert "no voicing" in typed("chart add '21: Eb11'", code=2)
