"""Every command the README shows is run here, in the order in which it stands there."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.warm import Warm

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
BLOCK = re.compile(r"^(?:<!-- (?P<mark>[a-z ]+) -->\n)?```sh\n(?P<body>.*?)^```$", re.M | re.S)


def blocks(mark: str | None) -> list[str]:
    """The shell blocks under the comment `mark`, or those under none."""
    return [each["body"] for each in BLOCK.finditer(README) if each["mark"] == mark]


def commands(body: str) -> list[tuple[str, int]]:
    """Each line of a block with the exit code it promises (`# exits 1`, else 0)."""
    lines = []
    for line in body.replace("\\\n", " ").splitlines():
        promised = re.search(r"#.*\bexits (\d)", line)
        if line.strip() and not line.startswith("#"):
            lines.append((line, int(promised[1]) if promised else 0))
    return lines


def run(
    command: str, folder: Path, *first: Path, **environment: str
) -> subprocess.CompletedProcess[str]:
    """Run a line of the shell; `first` are folders that stand before all others on the PATH."""
    path = [*map(str, first), str(Path(sys.executable).parent), os.environ["PATH"]]
    return subprocess.run(
        ["bash", "-c", command],
        cwd=folder,
        env={
            **os.environ,
            "PATH": os.pathsep.join(path),
            "NO_COLOR": "1",
            "COLUMNS": "80",
            **environment,
        },
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        timeout=900,
    )


def test_the_tour_of_commands_runs_as_printed(tmp_path: Path) -> None:
    shutil.copytree(ROOT / "sample_session", tmp_path / "sample_session")
    database = str(tmp_path / "log.db")
    told = [line for body in blocks(None) for line in commands(body)]
    assert len(told) > 20
    with Warm(tmp_path / "warm") as warm:
        for command, promised in told:
            done = run(command, tmp_path, warm.folder, LOGBOOK_DB=database, HOME=str(tmp_path))
            assert done.returncode == promised, f"{command}\n{done.stdout}\n{done.stderr}"
            assert "Traceback" not in done.stderr
            said = done.stdout.strip() or done.stderr.strip()
            assert said or ">" in command or not command.startswith("logbook"), command


def test_the_first_command_sets_up_and_prints_a_sheet(tmp_path: Path) -> None:
    (first,) = blocks("first command")
    checkout = tmp_path / "checkout"
    ignored = shutil.ignore_patterns(".git", ".venv", "node_modules", "__pycache__", ".*_cache")
    shutil.copytree(ROOT, checkout, ignore=ignored)
    # What Python compiles where it is first imported need not be compiled for all libraries.
    done = run(first, checkout, HOME=str(tmp_path), PIP_NO_COMPILE="1")
    assert done.returncode == 0, done.stderr
    assert "(concert)" in done.stdout
    assert "logbook sheet" in done.stdout, "the tour says which command to try next"


def test_the_test_command_is_the_one_ci_runs() -> None:
    (command,) = blocks("test command")
    assert "pytest" in command
    assert "<!-- test command -->" in (ROOT / ".ci" / "run").read_text(encoding="utf-8")


def test_every_command_shown_in_prose_exists() -> None:
    shown = set(re.findall(r"`logbook ([a-z][a-z-]*)", README))
    listed = run("logbook --help", ROOT).stdout
    missing = {name for name in shown if not re.search(rf"^\W*{name}\b", listed, re.M)}
    assert not missing


@pytest.mark.parametrize("name", ["LICENSE", "DEVELOPERS.md", "pyproject.toml", "sample_session"])
def test_what_the_readme_leans_on_is_there(name: str) -> None:
    assert (ROOT / name).exists()
