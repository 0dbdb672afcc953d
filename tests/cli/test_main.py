"""The frame: every command says how it is used, and every mistake ends in plain words."""

from __future__ import annotations

import importlib.util
import os
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import typer

from logbook.cli.asking import confirm
from logbook.cli.main import app, command_table, db_first, run
from logbook.cli.printing import print_json, table_lines
from logbook.timing.bars import parse_ranges
from tests.warm import shared

ROOT = Path(__file__).parents[2]


def every_command() -> Iterator[tuple[str, Any]]:
    """All commands and subcommands with their whole name."""
    root: Any = typer.main.get_command(app)
    context = root.make_context("logbook", [], resilient_parsing=True)
    yield "logbook", root
    for name in command_table():
        command = root.get_command(context, name)
        yield f"logbook {name}", command
        for below, subcommand in getattr(command, "commands", {}).items():
            yield f"logbook {name} {below}", subcommand


@pytest.mark.parametrize(
    ("name", "command"), list(every_command()), ids=lambda each: str(each)[:40]
)
def test_every_command_has_help_with_an_example(
    name: str, command: Any, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run([*name.split()[1:], "--help"]) == 0
    said = capsys.readouterr().out
    assert "Example" in said
    assert f"  {name}" in said or name.rsplit(" ", 1)[0] in said.split("Example")[1]
    assert max(map(len, said.splitlines())) <= 90
    about = said.split("\n\n")[1].strip()
    assert len(about) > 10
    assert (command.help or "").strip()


def test_the_page_of_commands_is_up_to_date() -> None:
    spec = importlib.util.spec_from_file_location("make_commands", ROOT / "docs/make_commands.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    there = (ROOT / "docs" / "commands.md").read_text(encoding="utf-8")
    assert there == module.page(), "run python docs/make_commands.py"
    for name in command_table():
        assert f"| `{name}` |" in there


def test_the_readme_leads_to_the_page_of_commands() -> None:
    assert "docs/commands.md" in (ROOT / "README.md").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["tkae"], "did you mean take"),
        (["sheeet"], "did you mean sheet"),
        (["qqqq"], "logbook --help lists them all"),
        (["song", "edt", "x", "--nothing"], "did you mean edit"),
        (["song", "edit", "x", "--nothing"], "no such option"),
        (["load"], "missing argument"),
        (["undo", "--command", "x"], "not"),
        (["take", "--punch"], "requires an argument"),
        (["load", "a", "b"], "unexpected extra argument"),
    ],
)
def test_usage_errors_are_one_sentence(
    words: list[str], says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(words) == 2
    said = capsys.readouterr()
    assert says in said.err
    assert said.out == ""
    assert said.err.startswith("logbook: ")
    assert said.err.count("\n") == 1


def test_without_a_command_the_help_is_printed(capsys: pytest.CaptureFixture[str]) -> None:
    assert run([]) == 0
    said = capsys.readouterr().out
    assert "In the room:" in said
    assert all(f"  {name} " in said for name in command_table())


def test_version(capsys: pytest.CaptureFixture[str]) -> None:
    from logbook import __version__

    assert run(["--version"]) == 0
    assert capsys.readouterr().out == f"logbook {__version__}\n"


def test_the_log_may_be_named_anywhere(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["song", "add", "Low Water", "--db", str(tmp_path / "a.db")]) == 0
    assert run(["--db", str(tmp_path / "b.db"), "song", "add", "Slack Tide"]) == 0
    monkeypatch.setenv("LOGBOOK_DB", str(tmp_path / "a.db"))
    capsys.readouterr()
    assert run(["song", "list"]) == 0
    assert "Low Water" in capsys.readouterr().out
    assert run(["song", "list", f"--db={tmp_path / 'b.db'}"]) == 0
    assert "Slack Tide" in capsys.readouterr().out


def test_moving_the_option_to_the_front() -> None:
    assert db_first(["a", "--db", "x", "b"]) == ["--db", "x", "a", "b"]
    assert db_first(["a", "--db=x"]) == ["--db=x", "a"]
    assert db_first(["a", "--", "--db", "x"]) == ["a", "--", "--db", "x"]
    assert db_first(["a", "--db"]) == ["a", "--db"]


def test_a_fault_of_ours_is_owned_up_to_without_a_traceback(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def broken() -> None:
        raise KeyError("\x1b[31m")

    monkeypatch.setattr("logbook.cli.main.did_you_mean", lambda *_: broken())
    assert run(["nonsense"]) == 70
    said = capsys.readouterr().err
    assert "a bug in this program" in said
    assert "Traceback" not in said
    assert "\x1b" not in said


@pytest.mark.skipif(os.name != "posix", reason="pipes")
def test_a_reader_that_goes_away_is_no_matter(tmp_path: Path) -> None:
    names = "".join(f'"{"n" * 60}{number}", ' for number in range(4000))
    (tmp_path / "s.toml").write_text(f"people = [{names}]\n", encoding="utf-8")
    database = ["--db", str(tmp_path / "log.db")]
    assert run([*database, "load", str(tmp_path / "s.toml")]) == 0
    with shared().command(
        *database, "person", "list", stdout=subprocess.PIPE, stderr=subprocess.PIPE
    ) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.readline()
        process.stdout.close()
        assert process.stderr.read() == b""
        assert process.wait() == 141


def test_confirming(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    from logbook.errors import LogbookError

    class Terminal:
        def isatty(self) -> bool:
            return True

    confirm("remove it?", True)
    with pytest.raises(LogbookError, match="add --yes"):
        confirm("remove it?", False)
    monkeypatch.setattr("sys.stdin", Terminal())
    monkeypatch.setattr("builtins.input", lambda: "yes")
    confirm("remove it?", False)
    monkeypatch.setattr("builtins.input", lambda: "")
    with pytest.raises(LogbookError, match="nothing was changed"):
        confirm("remove it?", False)
    assert "Type yes" in capsys.readouterr().err


def test_tables_fit_their_width() -> None:
    lines = table_lines(["name", "notes"], [["a" * 50, "word " * 60], ["b", "\x1b[0m"]], 80)
    assert max(map(len, lines)) <= 80
    assert "\x1b" not in "".join(lines)


def test_data_holds_nothing_a_terminal_would_obey(capsys: pytest.CaptureFixture[str]) -> None:
    import json

    data = {"name": "\x9b31m‮😀\U000e0041"}
    print_json(data)
    said = capsys.readouterr().out
    assert json.loads(said) == data
    assert "\x9b" not in said
    assert "‮" not in said
    assert "😀" in said


def test_the_shell_completes_commands_and_names(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("LOGBOOK_DB", str(tmp_path / "log.db"))
    for title in ("Low Water", "Lantern", "Varnish"):
        assert run(["song", "add", title]) == 0

    def completed(line: str) -> list[str]:
        words = line.split(" ")
        done = shared().run(
            env={
                **os.environ,
                "_LOGBOOK_COMPLETE": "complete_bash",
                "COMP_WORDS": line,
                "COMP_CWORD": str(len(words) - 1),
            },
            text=True,
        )
        return done.stdout.split("\n")

    assert {"take", "takes"} <= set(completed("logbook tak"))
    assert {"add", "list", "remove"} <= set(completed("logbook take "))
    assert {"Low Water", "Lantern"} <= set(completed("logbook takes L"))
    assert "Varnish" in completed("logbook song show V")


def test_a_group_without_a_subcommand_prints_its_help(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["listen"]) == 2
    said = capsys.readouterr().err
    assert said.startswith("Usage: logbook listen")
    assert len(said.splitlines()) > 5


def test_verbose_says_how_long_a_slow_command_took(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    db = str(tmp_path / "log.db")
    monkeypatch.setattr("logbook.cli.main._SLOW", 0.0)
    caplog.set_level("INFO", logger="logbook")
    assert run(["--db", db, "song", "add", "Low Water", "--verbose"]) == 0
    ours = [each.getMessage() for each in caplog.records if each.name == "logbook"]
    assert len(ours) == 1
    assert re.fullmatch(r"song add 'Low Water': \d+\.\d s, exit code 0", ours[0])
    caplog.clear()
    monkeypatch.setattr("logbook.cli.main._SLOW", 60.0)
    assert run(["--verbose", "--db", db, "song", "list"]) == 0
    monkeypatch.setattr("logbook.cli.main._SLOW", 0.0)
    assert run(["--db", db, "song", "list"]) == 0
    assert not [each for each in caplog.records if each.name == "logbook"]


@pytest.fixture(scope="module")
def plain_log(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A log with a song that has one part."""
    log = tmp_path_factory.mktemp("plain") / "log.db"
    for before in (["song", "add", "Plain"], ["part", "add", "guitar", "--song", "plain"]):
        assert run(["--db", str(log), *before]) == 0
    return log


@pytest.mark.parametrize(
    ("arguments", "needless"),
    [
        (["here"], {"logbook.records", "logbook.notebook", "tomllib"}),
        (["song", "list"], {"logbook.arranging.moves", "logbook.notebook.lines", "tomllib"}),
        (["takes", "plain"], {"logbook.arranging", "logbook.notebook", "tomllib"}),
        (["sheet", "plain"], {"logbook.arranging.arrange", "logbook.checking", "logbook.notebook"}),
    ],
    ids=lambda each: " ".join(each) if isinstance(each, list) else "",
)
def test_a_quick_command_waits_for_nothing_it_does_not_need(
    arguments: list[str], needless: set[str], plain_log: Path
) -> None:
    script = (
        "import gc, sys\n"
        "from logbook.cli.main import main\n"
        "try:\n    main(sys.argv[1:])\n"
        "except SystemExit as end:\n    code = end.code\n"
        "print(code, gc.get_freeze_count() > 0, *sys.modules)\n"
    )
    env = {**os.environ, "LOGBOOK_DB": str(plain_log)}
    logbook = [sys.executable, "-c", script]
    done = subprocess.run(
        [*logbook, *arguments], check=True, env=env, capture_output=True, text=True
    )
    code, frozen, *modules = done.stdout.splitlines()[-1].split()
    assert (code, frozen) == ("0", "True")
    assert not needless & set(modules)


def test_one_vocabulary_of_options() -> None:
    """`--bars` is always a range, and a part is always `--part`."""
    with_bars = []
    for name, command in every_command():
        for option in command.params:
            if option.param_type_name != "option" or getattr(option, "hidden", False):
                continue
            if "--bars" in option.opts:
                with_bars.append(name)
                assert not option.is_flag, name
                (example,) = re.findall(r"as in ([\d.-]+)", option.help or "")
                assert parse_ranges(example.rstrip(".")), name
            # What says which part is worked on; PART= is something else of a part.
            if (option.metavar or "") == "NAME" and re.search(r"\bpart\b", option.help or ""):
                assert option.opts[0] in ("--part", "--to-part", "--like", "--from-part"), name
    assert {"logbook listen pattern", "logbook piece add", "logbook take edit"} <= {*with_bars}


@pytest.mark.parametrize(
    "words",
    [
        ["book", "postgresql://u:hidden@h/x"],
        ["backup", "postgresql:/u:hidden@h/x"],
        ["export", "postgres:u:hidden@h/x"],
        ["import-log", "postgresql//u:hidden@h/x"],
        ["dump", "--out=postgresql+psycopg://u:hidden@h/x"],
        ["restore", "host=h user=u password=hidden dbname=x", "--yes"],
        ["song", "add", "--", "POSTGRESQL://h/x?password=hidden"],
    ],
)
def test_a_databases_address_is_no_file_and_no_song(
    words: list[str],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    assert run(["--db", "log.db", *words]) == 2
    said = capsys.readouterr()
    assert "give it with --db" in said.err
    assert "hidden" not in said.out + said.err
    assert list(tmp_path.iterdir()) == []


def test_a_note_may_speak_of_an_address(tmp_path: Path) -> None:
    words = ["song", "add", "Varnish", "--notes", "the log is at postgresql://server/log now"]
    assert run(["--db", str(tmp_path / "log.db"), *words]) == 0
