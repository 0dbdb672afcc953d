"""Whatever a command runs in: pipes that close, no home, no terminal, old terminals, Ctrl-C."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import time
from pathlib import Path

import pytest

from logbook.cli.main import run
from tests.robustness.commands import COMMAND, ROOT, SESSION, harmless, one_sentence, typed
from tests.warm import Started, shared

# Of the sample's four songs: so many that the load takes about as long as the longest delay.
COPIES = 8
pytestmark = pytest.mark.usefixtures("file_sample")


@pytest.fixture
def file_sample(sample_file: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The sample session's log in a file of one's own."""
    import shutil

    path = tmp_path / "log.db"
    shutil.copy(sample_file, path)
    monkeypatch.setenv("LOGBOOK_DB", str(path))
    return path


def shell(line: str, **environment: str) -> subprocess.CompletedProcess[str]:
    """Give a line to a shell in which `logbook` is this program."""
    path = os.pathsep.join([str(shared().folder), os.environ["PATH"]])
    return subprocess.run(
        ["bash", "-c", line],
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
        cwd=ROOT,
        env={**os.environ, "PATH": path, **environment},
    )


def test_a_reader_that_has_had_enough() -> None:
    ended = shell("logbook sheet low | head -n 1; echo ${PIPESTATUS[0]}")
    first, code = ended.stdout.splitlines()
    assert first.startswith("LOW TIDE LEDGER")
    assert code in ("0", "141")
    assert ended.stderr == ""
    ended = shell("logbook dump | true; logbook history --limit 500 | true; logbook here | true")
    assert ended.stderr == ""


@pytest.mark.parametrize("command", ["sheet low", "takes low", "dump", "export", "history"])
def test_output_that_cannot_be_written(command: str) -> None:
    if not Path("/dev/full").exists():
        pytest.skip("there is no /dev/full here")
    ended = shell(f"logbook {command} > /dev/full")
    assert ended.returncode == 2
    assert "space" in one_sentence(ended.stderr)


@pytest.mark.parametrize("command", ["takes low", "dump", "history"])
def test_output_that_is_written_only_at_the_end(command: str) -> None:
    # An empty setting is none: then Python keeps what is printed until there is enough of it.
    ended = shell(f"logbook {command} > /dev/full", PYTHONUNBUFFERED="")
    assert ended.returncode == 2
    assert "space" in one_sentence(ended.stderr)


def test_everything_closed() -> None:
    ended = shell(
        "logbook take keeper --song low --version EP --at guitar --session 'day one' >&- "
        "&& logbook takes low guitar <&-"
    )
    assert (ended.returncode, ended.stderr) == (0, "")
    assert "keeper" in ended.stdout
    ended = shell("logbook take remove 1 --song low --part bass <&-")
    assert ended.returncode == 2
    assert "--yes" in one_sentence(ended.stderr)
    ended = shell("logbook take edit 1 --song low --part bass <&-", EDITOR="", VISUAL="")
    assert ended.returncode == 2
    assert "EDITOR" in one_sentence(ended.stderr)
    ended = shell("logbook load - <&-")
    assert (ended.returncode, ended.stdout) == (0, "nothing to add or change\n")
    ended = shell("logbook sheet nosuch 2>&-")
    assert (ended.returncode, ended.stdout) == (2, "")


def test_no_home_at_all(tmp_path: Path) -> None:
    nothing = {"HOME": None, "XDG_DATA_HOME": None, "LOGBOOK_USER": None, "USER": None}
    ended = typed("here", env=nothing)
    assert (ended.returncode, ended.stderr) == (0, "")
    ended = typed("load", str(SESSION), env={**nothing, "LOGBOOK_DB": str(tmp_path / "new.db")})
    assert (ended.returncode, ended.stderr) == (0, "")
    ended = typed("here", env={**nothing, "LOGBOOK_DB": None, "HOME": "/proc/none"})
    assert ended.returncode == 2
    assert "/proc/none" in one_sentence(ended.stderr)


@pytest.mark.parametrize(
    "locale",
    [
        {"LC_ALL": "C"},
        {"LC_ALL": "C", "PYTHONCOERCECLOCALE": "0", "PYTHONUTF8": "0"},
        {"PYTHONIOENCODING": "ascii"},
        {"PYTHONIOENCODING": "latin-1"},
    ],
)
def test_a_terminal_that_cannot_show_every_character(
    locale: dict[str, str], tmp_path: Path
) -> None:
    (tmp_path / "typed").write_text('person = [{name = "Ærin ♭ 🎸"}]', encoding="utf-8")
    commands = (
        ("load", "-"),
        ("person", "add", "Ærin ♯"),
        ("person", "list"),
        ("sheet", "varnish"),
        ("dump",),
    )
    # Python takes its encodings from the environment as it starts, so this start is a real one.
    words = [word for command in commands for word in (*command, "++")]
    said = subprocess.run(
        [COMMAND[0], "-c", SEVERAL, str(tmp_path), *words],
        capture_output=True, text=True, check=True, cwd=ROOT, env={**os.environ, **locale},
    )  # fmt: skip
    assert said.stderr == ""
    loaded, added, listed, drawn, dumped = map(int, said.stdout.split())
    out, err = (
        [(tmp_path / f"{n}.{name}").read_bytes() for n in range(5)] for name in ("out", "err")
    )
    assert (loaded, err[0]) == (0, b"")
    assert added in (0, 2)
    assert listed == 0
    assert b"rin" in out[2]
    assert (drawn, err[3]) == (0, b"")
    assert dumped == 0
    assert 'name = "Ærin ♭ 🎸"' in out[4].decode("utf-8")


# Several commands, each in a process of its own that began with this one's start.
SEVERAL = """
import os, sys
from logbook.cli.main import main
import logbook.checking.takes, logbook.cli.load, logbook.cli.noun_work, logbook.cli.sheet
import logbook.notebook.applying, logbook.notebook.dumping, logbook.sheets.arranged
import logbook.store.lifecycle, logbook.store.models
folder, number, command = sys.argv[1], 0, []
for word in sys.argv[2:]:
    if word != "++":
        command.append(word)
        continue
    child = os.fork()
    if child == 0:
        os.dup2(os.open(folder + "/typed", os.O_RDONLY), 0)
        for stream, name in ((1, "out"), (2, "err")):
            os.dup2(os.open(f"{folder}/{number}.{name}", os.O_CREAT | os.O_WRONLY), stream)
        main(command)
    print(os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]), flush=True)
    number, command = number + 1, []
"""


@pytest.mark.parametrize("command", [["sheet", "low"], ["takes", "low"], ["check"], ["history"]])
def test_narrow_plain_and_dumb(command: list[str]) -> None:
    for environment in ({"COLUMNS": "40"}, {"NO_COLOR": "1"}, {"TERM": "dumb"}, {"COLUMNS": "x"}):
        ended = typed(*command, env=environment)
        assert ended.returncode in (0, 1)
        assert ended.stderr == ""
        assert harmless(ended.stdout)


def test_colour_only_where_it_is_wanted() -> None:
    import pty

    for environment, colour in (({"TERM": "xterm"}, None), ({"TERM": "dumb"}, False),
                                ({"TERM": "xterm", "NO_COLOR": "1"}, False)):  # fmt: skip
        ours, theirs = pty.openpty()
        process = shared().command("sheet", "low", stdout=theirs, env={**os.environ, **environment})
        os.close(theirs)
        said = b""
        while True:
            try:
                more = os.read(ours, 65536)
            except OSError:
                break
            if not more:
                break
            said += more
        os.close(ours)
        assert process.wait(60) == 0
        assert b"LOW TIDE LEDGER" in said
        if colour is False:
            assert b"\x1b" not in said


@pytest.mark.parametrize("delay", [0.0, 0.1, 0.3, 0.6])
def test_ctrl_c_in_the_middle(delay: float, tmp_path: Path, file_sample: Path) -> None:
    text = SESSION.read_text(encoding="utf-8").replace("Low Tide", "Other Tide")
    big = tmp_path / "big.toml"
    songs = text.partition("[[song]]")[2].partition("[[project]]")[0]
    many = ["[[song]]" + songs.replace('title = "', f'title = "{n} ') for n in range(COPIES)]
    big.write_text("".join(many), encoding="utf-8")
    before = len(listed())
    process = shared().command(
        "load", str(big), stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )
    wait_until_begun(process)
    time.sleep(delay)
    process.send_signal(signal.SIGINT)
    _, err = process.communicate(timeout=60)
    after = len(listed())
    if process.returncode == 130:
        # Written and stopped while it looked for contradictions, or stopped before.
        kept = "what was written by then stays" if after > before else "nothing was changed"
        assert err == f"logbook: stopped; {kept}\n"
        assert after in (before, before + 4 * COPIES)
    else:
        assert (process.returncode, err) == (0, "")
        assert after == before + 4 * COPIES


def wait_until_begun(process: Started) -> None:
    """Wait until the program sees to signals itself; before that Python alone does."""
    status = Path(f"/proc/{process.pid}/status")
    for _ in range(500):
        caught = re.search(r"SigCgt:\s*([0-9a-f]+)", status.read_text())
        if caught is None or int(caught[1], 16) & 1 << signal.SIGTERM - 1:
            return
        time.sleep(0.01)


def listed() -> list[str]:
    import json

    from tests.robustness.commands import done

    return [each["title"] for each in json.loads(done("song", "list", "--json"))]


def test_ctrl_c_before_anything_is_read(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def stopped(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("logbook.store.lifecycle.open_log", stopped)
    assert run(["here"]) == 130
    assert "stopped" in capsys.readouterr().err
