"""A day in the room, once with commands and once with notebook lines: keys, and seconds.

Run as `python tests/benchmarks/bench_day.py`; exits 1 where a target is missed. The day is
invented; both ways must end in the same chart, takes and comp. A key is a character, and one for
the end of each line. Typing is counted at 5 keys a second, as fast as somebody types who has just
put a guitar down (twice as fast as a pencil; measured on one player, no source). Waiting is
measured: a process for every command, and one for the whole page of lines.
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

KEYS_A_SECOND = 5.0
LONGEST_S = 110.0
LONGEST_LINE_S = 0.5
LOGBOOK = (sys.executable, "-c", "from logbook.cli.main import main; main()")

LINES = """\
session Tarn House, today
song Lamp Oil
part guitar on the spruce one, Ivo
capo 2
frets from capo
key E
q=88
intro 4 bars, verse 8 bars, chorus 8 bars, verse, chorus
D xx0232
A x02220
Bm7 x24232
G 320003
intro: D A Bm7 G
verse: D . A . Bm7 . G A
chorus: G A Bm7 D x2
D.DU.UDU on chorus
f
c 1-32 dragged in the verse
k 1-16
k 17-32
t4 punch 20 buzz
comp t3 1-16, t4 17-32
not doubled: the room was too live
part high on the small one, chorus only, same chords
k chorus
note 13-20: let the top string ring
"""

COMMANDS = """\
logbook session add "Tarn House" --date today
logbook song add "Lamp Oil"
logbook version add recording --song lamp --key E --tempo q=88 --form "intro 4 bars" \
--form "verse 8 bars" --form "chorus 8 bars" --form "verse 8 bars" --form "chorus 8 bars"
logbook person add Ivo
logbook instrument add "the spruce one" --kind guitar --tuning standard
logbook instrument add "the small one" --kind guitar --tuning standard
logbook part add guitar --song lamp --version recording --player ivo --instrument "the spruce one" \
--capo 2 --counted capo
logbook here lamp recording guitar --session tarn
logbook voicing add D "x x 0 2 3 2"
logbook voicing add A "x 0 2 2 2 0"
logbook voicing add Bm7 "x 2 4 2 3 2"
logbook voicing add G "3 2 0 0 0 3"
logbook pattern add strum "1/8: D.DU.UDU"
logbook chart add "intro: D | A | Bm7 | G"
logbook chart add "verse: D | . | A | . | Bm7 | . | G | A"
logbook chart add "chorus: G@strum | A | Bm7 | D | G | A | Bm7 | D"
logbook take false start
logbook take complete 1-32 dragged in the verse
logbook take keeper 1-16
logbook take keeper 17-32 --punch "20 buzz"
logbook comp add comp --pieces "1-16 take 3" --pieces "17-32 take 4"
logbook part edit guitar --doubled "not doubled" --why "the room was too live"
logbook part add high --instrument "the small one" --like guitar --only chorus
logbook here --part high
logbook take keeper 13-20
logbook technique-note add "13-20: let the top string ring"
"""


def run(words: list[str], env: dict[str, str], text: str | None = None) -> float:
    """Seconds one command takes; raises where it fails."""
    start = perf_counter()
    subprocess.run(
        [*LOGBOOK, *words], check=True, env=env, input=text, text=True, stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )  # fmt: skip
    return perf_counter() - start


def music(env: dict[str, str]) -> Any:
    """What both ways must agree on: form, charts, takes and comps."""
    done = subprocess.run(
        [*LOGBOOK, "song", "show", "lamp", "--json"], check=True, env=env, capture_output=True,
        text=True,
    )  # fmt: skip
    (version,) = json.loads(done.stdout)["record"]["versions"]
    parts = [
        (
            part["name"],
            [(e["bar"], e["beat"], e["voicing"]) for e in part["chart"]],
            [(e["number"], e["result"], e["bars"], len(e["punch_ins"])) for e in part["takes"]],
            [(e["bars"], e["take"]) for comp in part["comps"] for e in comp["pieces"]],
            part["doubled_why"],
        )
        for part in version["parts"]
    ]
    return version["key"], [(e["name"], e["start"]) for e in version["form"]], parts


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
        alike = music(one) == music(two)
        slowest = _slowest_line(folder)
    typed = keys(COMMANDS), keys(LINES)
    for name, count, number, seconds in (
        ("commands", len(commands), typed[0], waited),
        ("notebook lines", len(LINES.splitlines()), typed[1], read),
    ):
        typing = number / KEYS_A_SECOND
        print(
            f"{name:<15}{count:4} lines {number:5} keys, {typing:5.0f} s of typing,"
            f" {seconds:5.1f} s of waiting: {typing + seconds:5.0f} s"
        )
    total = typed[1] / KEYS_A_SECOND + read
    print(f"the same log: {'yes' if alike else 'NO'}")
    print(f"the day in lines: {total:.0f} s (at most {LONGEST_S:.0f} s)")
    print(f"the slowest line in one room: {slowest:.2f} s (at most {LONGEST_LINE_S} s)")
    return int(not alike or total > LONGEST_S or slowest > LONGEST_LINE_S)


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
