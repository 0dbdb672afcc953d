"""A day in the room, once with commands and once with notebook lines: keys, and seconds.

Run as `python tests/benchmarks/bench_day.py`; exits 1 where a target is missed. The day is
invented: three songs, five parts, 113 commands as somebody writes them who has read the README and
no more (one thing a command, and a look at what was logged now and then), beside the notebook
lines that say the same. Both ways must end in the same log. A key is a character, and one for the
end of each line. A pencil is counted at 2.5 characters a second and typing at twice that (measured
on one player, no source). Waiting is measured: a process for every command, and one for the whole
page of lines.
"""

from __future__ import annotations

import json
import os
import shlex
import subprocess
import sys
from pathlib import Path
from tempfile import TemporaryDirectory
from time import perf_counter
from typing import Any

PENCIL_A_SECOND = 2.5
KEYS_A_SECOND = 5.0
SONG_LINES = 20
LONGEST_S = 110.0
LONGEST_LINE_S = 0.5
LOGBOOK = (sys.executable, "-c", "from logbook.cli.main import main; main()")
DAY = Path(__file__).parent / "day"
LINES = (DAY / "lines.txt").read_text(encoding="utf-8")
COMMANDS = (DAY / "commands.txt").read_text(encoding="utf-8")


def run(words: list[str], env: dict[str, str], text: str | None = None) -> float:
    """Seconds one command takes; raises where it refuses. A check may find something."""
    start = perf_counter()
    done = subprocess.run(
        [*LOGBOOK, *words], check=False, env=env, input=text, text=True, capture_output=True
    )
    took = perf_counter() - start
    if done.returncode not in (0, 1) or (done.returncode == 1 and words[0] != "check"):
        raise SystemExit(f"{shlex.join(words)}: {done.stderr}")
    return took


def music(exported: Any) -> Any:
    """What both ways must agree on of one song: how it goes, and all that its parts say."""
    said = []
    for version in exported["versions"]:
        parts = [
            {
                **{key: part[key] for key in _PLAIN},
                "voicings": [(e["label"], e["frets"]) for e in part["voicings"]],
                "chart": [(e["bar"], e["beat"], e["voicing"]) for e in part["chart"]],
                "strokes": sorted({e["line"] for e in part["patterns"]}),
                "takes": [
                    (e["number"], e["result"], e["bars"], e["notes"],
                     [(p["bars"], p["why"]) for p in e["punch_ins"]])
                    for e in part["takes"]
                ],
                "comps": [
                    (c["final"], [(e["bars"], e["take"], e["source"] or e["bars"])
                                  for e in c["pieces"]])
                    for c in part["comps"]
                ],
                "remarks": [(e["bars"], e["text"]) for e in part["technique_notes"]],
            }
            for part in version["parts"]
        ]  # fmt: skip
        form = [(e["name"], e["start"], e["bars"]) for e in version["form"]]
        tempos = [(e["bar"], e["bpm"], e["unit"]) for e in version["tempos"]]
        meters = [(e["bar"], e["meter"]) for e in version["meters"]]
        said.append((version["name"], version["key"], form, tempos, meters, parts))
    return exported["title"], said


_PLAIN = (
    "name", "player", "instrument", "tuning", "capo", "counted", "picked", "pan", "doubled",
    "doubled_why",
)  # fmt: skip


def shown(title: str, env: dict[str, str]) -> Any:
    """One song of a log, as data."""
    done = subprocess.run(
        [*LOGBOOK, "song", "show", title, "--json"], check=True, env=env, capture_output=True,
        text=True,
    )  # fmt: skip
    return music(json.loads(done.stdout)["record"])


def keys(text: str) -> int:
    """How many keys a text takes, the one that ends each line too."""
    return sum(len(line) + 1 for line in text.splitlines())


def main() -> int:
    """Print the figures; 1 if a target is missed."""
    with TemporaryDirectory() as folder:
        usual = {**os.environ, "NO_COLOR": "1", "PYTHONPATH": str(Path(__file__).parents[2])}
        one = {**usual, "LOGBOOK_DB": f"{folder}/commands.db"}
        two = {**usual, "LOGBOOK_DB": f"{folder}/lines.db"}
        run(["song", "list"], one)
        run(["song", "list"], two)
        commands = [shlex.split(line)[1:] for line in COMMANDS.splitlines()]
        waited = sum(run(words, one) for words in commands)
        read = run(["note", "-"], two, LINES)
        three = {**usual, "LOGBOOK_DB": f"{folder}/first.db"}
        alone = run(["note", "-"], three, "\n".join(LINES.splitlines()[1:SONG_LINES]))
        titles = [line[5:] for line in LINES.splitlines() if line.startswith("song ")]
        alike = all(shown(each, one) == shown(each, two) for each in titles)
        slowest = _slowest_line(folder)
    typed = keys(COMMANDS), keys(LINES)
    ways = []
    for name, count, number, seconds in (
        ("commands", len(commands), typed[0], waited),
        ("notebook lines", len(LINES.splitlines()), typed[1], read),
    ):
        typing = number / KEYS_A_SECOND
        ways.append(typing + seconds)
        print(
            f"{name:<15}{count:4} lines {number:5} keys, {typing:5.0f} s of typing,"
            f" {seconds:5.1f} s of waiting: {typing + seconds:5.0f} s"
        )
    pencil = typed[1] / PENCIL_A_SECOND
    saltpan = keys("\n".join(LINES.splitlines()[1:SONG_LINES])) / KEYS_A_SECOND
    print(f"the same lines in pencil, {PENCIL_A_SECOND} characters a second: {pencil:.0f} s")
    print(
        f"ratios to the pencil: commands {ways[0] / pencil:.2f}, notebook lines"
        f" {ways[1] / pencil:.2f}; commands to notebook lines {ways[0] / ways[1]:.1f}"
    )
    first = saltpan + alone
    print(f"the same log: {'yes' if alike else 'NO'}")
    print(f"its first song in lines: {first:.0f} s (at most {LONGEST_S:.0f} s)")
    print(f"the slowest line in one room: {slowest:.2f} s (at most {LONGEST_LINE_S} s)")
    return int(not alike or first > LONGEST_S or slowest > LONGEST_LINE_S)


def _slowest_line(folder: str) -> float:
    """Seconds the slowest line takes where the log stays open; the first one is not counted."""
    from logbook.notebook.lines.log_lines import Notebook
    from logbook.store.lifecycle import open_log

    slowest = 0.0
    with open_log(f"{folder}/room.db") as store:
        notebook = Notebook(store)
        for number, line in enumerate(LINES.splitlines()):
            start = perf_counter()
            answer = notebook.write(line)
            if not answer.read:
                raise SystemExit(f"{line}: {answer.why}")
            if number:
                slowest = max(slowest, perf_counter() - start)
    return slowest


if __name__ == "__main__":
    sys.exit(main())
