"""Two people, or several, at one log at the same time, through the commands they type."""

from __future__ import annotations

import json
import os
import stat
import sys
from pathlib import Path
from subprocess import PIPE

from logbook.store.finding import LogPlace
from tests.robustness.commands import ROOT, done, give, one_sentence, refused
from tests.warm import shared

# Two hundred takes each are in tests/benchmarks/bench_concurrency.py.
PROCESSES, TAKES = 4, 5
PART = ("--song", "Low Tide Ledger", "--version", "EP", "--at", "guitar", "--session", "day one")
THERE = 4
GUITAR = LogPlace("Low Tide Ledger", "EP", "guitar", session="day one")


def test_several_processes_log_takes_one_after_another(sample: str) -> None:
    players = [
        shared().call(
            "tests.robustness.commands:take_passes",
            f"player {n}",
            str(TAKES),
            *PART,
            stdout=PIPE,
            stderr=PIPE,
            text=True,
            cwd=ROOT,
            env={**os.environ, "LOGBOOK_USER": f"player {n}"},
        )
        for n in range(PROCESSES)
    ]
    said: list[str] = []
    for player in players:
        out, err = player.communicate(timeout=600)
        assert player.returncode == 0, err
        # Whoever had to wait for long is told for whom, and nothing else.
        assert all(line.startswith("somebody else is writing") for line in err.splitlines()), err
        said += out.splitlines()
    wanted = list(range(THERE + 1, THERE + 1 + PROCESSES * TAKES))
    assert sorted(int(line.split()[1]) for line in said) == wanted
    assert_logged(wanted)
    commands = json.loads(done("history", "--limit", "5000", "--json"))
    typed = [each for each in commands if each["command"].startswith("take complete")]
    assert len(typed) == len(wanted)
    for n in range(PROCESSES):
        assert sum(each["who"] == f"player {n}" for each in typed) == TAKES


def assert_logged(wanted: list[int]) -> None:
    """The part holds these takes of day one besides those of the sample, in order."""
    takes = json.loads(done("take", "list", "--json", "--song", "low", "--part", "guitar"))
    new = [each for each in takes if each["session"] == "day one" and each["number"] > THERE]
    assert [each["number"] for each in new] == wanted
    assert len({each["notes"] for each in new}) == len(wanted)


def test_commands_in_processes_of_their_own(sample: str) -> None:
    rounds, at_once = 1, 4
    numbers = []
    for turn in range(rounds):
        commands = [
            shared().command(
                "take",
                "keeper",
                "1-8",
                f"round {turn}, player {n}",
                *PART,
                stdout=PIPE,
                stderr=PIPE,
                text=True,
                cwd=ROOT,
            )
            for n in range(at_once)
        ]
        for command in commands:
            out, err = command.communicate(timeout=120)
            assert command.returncode == 0, err
            assert all(line.startswith("somebody else is writing") for line in err.splitlines())
            numbers.append(int(out.split()[1]))
    wanted = list(range(THERE + 1, THERE + 1 + rounds * at_once))
    assert sorted(numbers) == wanted
    assert_logged(wanted)


# Two people edit one take

TAKE = ("2", "--song", "Low Tide Ledger", "--version", "EP", "--part", "guitar")


def notes() -> str:
    return str(json.loads(done("take", "show", *TAKE, "--json"))["record"]["notes"])


def revision() -> str:
    return str(json.loads(done("take", "show", *TAKE, "--json"))["revision"])


def test_the_second_edit_is_told_and_shown_both(sample: str) -> None:
    seen = revision()
    done("take", "edit", *TAKE, "--notes", "Ada's ears", "--if-revision", seen, LOGBOOK_USER="Ada")
    said = refused("take", "edit", *TAKE, "--notes", "Ben's", "--if-revision", seen)
    for each in ("Ada's ears", "Ben's", "Ada", "nothing was written", "take 2"):
        assert each in said
    assert notes() == "Ada's ears"
    # Looked at again, it can be said.
    done("take", "edit", *TAKE, "--notes", "Ben's", "--if-revision", revision())
    assert notes() == "Ben's"
    wordings = done("history", "low", "--part", "guitar", "--take", "2", "--wordings")
    assert [line.partition(": ")[2] for line in wordings.splitlines()] == [
        "steady, the chorus a little tame",
        "Ada's ears",
        "Ben's",
    ]


def test_an_edit_of_another_field_is_told_too(sample: str) -> None:
    seen = revision()
    done("take", "edit", *TAKE, "--result", "keeper", LOGBOOK_USER="Ada")
    said = refused("take", "edit", *TAKE, "--notes", "tame", "--if-revision", seen)
    assert "Ada" in said
    assert "keeper" in said, "what the other person changed is shown"


def an_editor(tmp_path: Path, meanwhile: list[str], change: str) -> str:
    """An editor in which somebody takes their time: another command is given before it closes."""
    path = tmp_path / "editor"
    logbook = str(shared().folder / "logbook")
    path.write_text(
        f"#!{sys.executable} -IS\n"
        "import os, pathlib, subprocess, sys\n"
        f"subprocess.run({[logbook, *meanwhile]!r}, check=True, cwd={str(ROOT)!r},\n"
        "    stdout=subprocess.DEVNULL, env={**os.environ, 'LOGBOOK_USER': 'Ada'})\n"
        "file = pathlib.Path(sys.argv[1])\n"
        f"file.write_text(file.read_text().replace({change.split('>')[0]!r}, "
        f"{change.split('>')[1]!r}))\n",
        encoding="utf-8",
    )
    path.chmod(path.stat().st_mode | stat.S_IXUSR)
    return str(path)


def test_somebody_changes_the_take_while_it_lies_in_the_editor(sample: str, tmp_path: Path) -> None:
    meanwhile = ["take", "edit", *TAKE, "--notes", "Ada was quicker"]
    editor = an_editor(tmp_path, meanwhile, "steady>shaky")
    said = refused("take", "edit", *TAKE, EDITOR=editor, VISUAL="")
    for each in ("Ada was quicker", "shaky, the chorus a little tame", "nothing was written"):
        assert each in said
    assert notes() == "Ada was quicker"


def test_somebody_removes_the_take_while_it_lies_in_the_editor(sample: str, tmp_path: Path) -> None:
    done("take", "add", "keeper", *PART)
    last = ("5", *TAKE[1:])
    editor = an_editor(tmp_path, ["take", "remove", *last, "--yes"], "keeper>reject")
    said = refused("take", "edit", *last, EDITOR=editor, VISUAL="")
    assert "5" in said


def test_two_quiet_edits_of_different_takes_are_both_kept(sample: str, tmp_path: Path) -> None:
    meanwhile = ["take", "edit", "3", *TAKE[1:], "--notes", "Ada on another"]
    editor = an_editor(tmp_path, meanwhile, "steady>shaky")
    given = give("take", "edit", *TAKE, EDITOR=editor, VISUAL="")
    assert (given.code, given.err) == (0, "")
    assert notes().startswith("shaky")


def test_a_revision_that_never_was(sample: str) -> None:
    for number in ("0", "99", "-3"):
        given = give("take", "edit", *TAKE, "--notes", "x", "--if-revision", number)
        assert given.code == 2
        one_sentence(given.err)
