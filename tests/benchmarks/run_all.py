"""Run every benchmark and write its figures down in docs/figures.md.

    python tests/benchmarks/run_all.py [NAME ...] [--short | --tiny] [--out FILE] [--minutes 60]
                                       [--total 30] [--list]

NAMEs are parts of benchmarks' names (`start`, `scale`); without any all are run, one after another,
those that listen last. What is not run keeps its section with its own date. A benchmark that fails,
misses a target or takes longer than `--minutes` is written down as that, and the next one begins;
after `--total` minutes (30 with `--short`) none does. With `--short` those that would take longest
run at the smaller sizes of `SHORT`, which their sections then name; the 600 kills and the sixteen
writers stay what they are. `--tiny` shows that each of them runs to its end, and no more. The page
is written after each of them, so that a run that is stopped keeps what it has. Exits 1 where one
was not met.
"""

from __future__ import annotations

import argparse
import contextlib
import datetime
import os
import platform
import re
import signal
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path
from typing import NamedTuple

HERE = Path(__file__).parent
ROOT = HERE.parents[1]
PAGE = ROOT / "docs" / "figures.md"
HEAD = """# Figures

What the benchmarks print. This page is written by one command, which runs each of them and notes
down where one fails or misses its target:

    python tests/benchmarks/run_all.py

Most figures are ratios against a baseline of the same run, so that they mean the same on another
machine; seconds and megabytes are those of the machine that is named with them.
"""
SHORT: dict[str, tuple[str, ...]] = {
    "book": ("--songs", "300"),
    "hearing": ("6",),
    "kills": ("--takes", "60"),
    "load": ("--songs", "160"),
    "scale": ("--songs", "1000"),
    "takes": ("--seconds", "75"),
}
TINY: dict[str, tuple[str, ...]] = {
    "against": ("1",),
    "book": ("--songs", "8"),
    "doubles": ("1",),
    "edits": ("1",),
    "hearing": ("1",),
    "hostile_audio": ("20",),
    "kills": ("--kills", "12", "--writers", "3", "--takes", "3"),
    "load": ("--songs", "16"),
    "scale": ("--songs", "20"),
    "takes": ("--seconds", "12"),
}
# Sizes that are said by the environment: takes of each process in `concurrency`, runs in `start`.
SHORT_SAID = {"concurrency": {"LOGBOOK_BENCH_TAKES": "50"}}
TINY_SAID = {"concurrency": {"LOGBOOK_BENCH_TAKES": "3"}, "start": {"BENCH_RUNS": "2"}}
# What listens to music takes longest, so it comes last.
LAST = ("album", "against", "day", "doubles", "draft", "edits", "hearing", "listening", "takes")
SHORT_TOTAL = 30.0
GRACE_S = 20
LONGEST = 120  # lines of one benchmark that are kept


class Run(NamedTuple):
    """What one benchmark printed, how it ended and how long it took."""

    name: str
    ended: str
    seconds: float
    text: str
    size: str


def benchmarks(wanted: list[str]) -> list[Path]:
    """The benchmarks whose names hold one of these words; all without any."""
    found = sorted(HERE.glob("bench_*.py"), key=lambda path: (_name(path) in LAST, path.stem))
    return [path for path in found if not wanted or any(word in path.stem for word in wanted)]


def _name(path: Path) -> str:
    return path.stem.removeprefix("bench_")


def run(
    path: Path, minutes: float, arguments: tuple[str, ...] = (), said: dict[str, str] | None = None
) -> Run:
    """Run one benchmark at a size, by arguments or the environment; show its lines as they come."""
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as scratch:
        # What one that is stopped leaves behind goes with the folder.
        return _run(path, minutes, arguments, {**(said or {}), "TMPDIR": scratch})


def _run(path: Path, minutes: float, arguments: tuple[str, ...], said: dict[str, str]) -> Run:
    name = _name(path)
    size = " ".join([*arguments, *(f"{k}={v}" for k, v in said.items() if k != "TMPDIR")])
    begun = time.perf_counter()
    process = subprocess.Popen(
        [sys.executable, "-u", str(path), *arguments], cwd=ROOT, text=True, errors="replace",
        stdout=subprocess.PIPE, stderr=subprocess.STDOUT, start_new_session=True,
        env={**os.environ, **said, "PYTHONPATH": str(ROOT), "NO_COLOR": "1", "COLUMNS": "100"},
    )  # fmt: skip
    late = threading.Event()

    def stop() -> None:
        late.set()
        # First so that it may give its databases back.
        with contextlib.suppress(ProcessLookupError):
            os.kill(process.pid, signal.SIGINT)
            time.sleep(min(GRACE_S, minutes * 60))
            os.killpg(process.pid, signal.SIGKILL)

    timer = threading.Timer(minutes * 60, stop)
    timer.start()
    lines = []
    assert process.stdout is not None
    try:
        for line in process.stdout:
            lines.append(line.rstrip().rpartition("\r")[2])
            print(f"  {name}: {lines[-1]}", file=sys.stderr, flush=True)
        code = process.wait()
    except KeyboardInterrupt:
        os.killpg(process.pid, signal.SIGKILL)
        raise
    finally:
        timer.cancel()
        process.stdout.close()
    text = "\n".join(lines)
    if late.is_set():
        # Where it was stopped says nothing.
        text = text.partition("Traceback (most recent call last)")[0].rstrip()
        ended = f"STOPPED after {minutes:.1f} minutes"
    elif "Traceback (most recent call last)" in text or code not in (0, 1):
        ended = f"FAILED (exit code {code})"
    else:
        ended = "met" if code == 0 else "MISSED"
    return Run(name, ended, time.perf_counter() - begun, text, size)


def machine() -> str:
    """What the figures were measured on."""
    processor = platform.processor() or platform.machine()
    memory = ""
    if hasattr(os, "sysconf"):
        size = os.sysconf("SC_PAGE_SIZE") * os.sysconf("SC_PHYS_PAGES")
        memory = f", {size / 2**30:.0f} GB of memory"
    count = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count()
    return (
        f"{platform.system()} on {processor}, {count} processors{memory},"
        f" Python {platform.python_version()}"
    )


def section(done: Run, path: Path) -> str:
    """The section of one benchmark."""
    about = path.read_text(encoding="utf-8").removeprefix('"""').partition("\n\n")[0]
    about = " ".join(about.split()).partition('"""')[0]
    lines = done.text.splitlines()
    if len(lines) > LONGEST:
        cut = len(lines) - LONGEST
        lines = [*lines[: LONGEST // 2], f"... ({cut} lines left out)", *lines[-LONGEST // 2 :]]
    body = "\n".join(f"    {line}".rstrip() for line in lines)
    load = f", load {os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else ""
    today = datetime.datetime.now().astimezone().date().isoformat()
    return (
        f"## {done.name}\n\n{about}\n\n**{done.ended}**, {today}, {done.seconds:.0f} s"
        f" at {f'the smaller size ({done.size})' if done.size else 'its full size'};"
        f" {machine()}{load}.\n\n{body or '    (nothing printed)'}\n"
    )


def sections_in(page: str) -> dict[str, str]:
    """The sections that a page has, by name."""
    parts = re.split(r"^(?=## )", page, flags=re.MULTILINE)[1:]
    return {part.partition("\n")[0].removeprefix("## ").strip(): part for part in parts}


def write(out: Path, sections: dict[str, str]) -> None:
    """Write the page, the sections by name; those of benchmarks that are gone are left out."""
    names = sorted(map(_name, benchmarks([])))
    body = [sections[name].rstrip() + "\n" for name in names if name in sections]
    out.write_text("\n".join([HEAD, *body]), encoding="utf-8")


def main() -> int:
    """Run what was asked for."""
    parser = argparse.ArgumentParser(description="All benchmarks, onto one page.")
    parser.add_argument("names", nargs="*", metavar="NAME", help="run these alone")
    sizes = parser.add_mutually_exclusive_group()
    sizes.add_argument("--short", action="store_true", help="smaller sizes where it takes long")
    sizes.add_argument("--tiny", action="store_true", help="only see that they run to their end")
    parser.add_argument("--out", type=Path, default=PAGE, help="the page (docs/figures.md)")
    parser.add_argument("--minutes", type=float, default=60, help="the longest one may take")
    parser.add_argument("--total", type=float, help="the longest all of them may take, in minutes")
    parser.add_argument("--list", action="store_true", help="name them and run nothing")
    asked = parser.parse_args()
    chosen = benchmarks(asked.names)
    if asked.list or not chosen:
        print("\n".join(map(_name, chosen or benchmarks([]))))
        return 0 if chosen else 2
    page = asked.out.read_text(encoding="utf-8") if asked.out.exists() else ""
    sections = sections_in(page)
    well = True
    sized = SHORT if asked.short else TINY if asked.tiny else {}
    told = SHORT_SAID if asked.short else TINY_SAID if asked.tiny else {}
    total = asked.total or (SHORT_TOTAL if asked.short else float("inf"))
    begun = time.perf_counter()
    for number, path in enumerate(chosen, 1):
        left = total - (time.perf_counter() - begun) / 60
        if left <= 0:
            print(f"no time left for {', '.join(map(_name, chosen[number - 1 :]))}; their sections"
                  " are those of an earlier run", file=sys.stderr, flush=True)  # fmt: skip
            well = False
            break
        print(f"{number} of {len(chosen)}: {path.stem}", file=sys.stderr, flush=True)
        name = _name(path)
        done = run(path, min(asked.minutes, left), sized.get(name, ()), told.get(name))
        well &= done.ended == "met"
        sections[done.name] = section(done, path)
        write(asked.out, sections)
        print(f"  {done.name}: {done.ended}, {done.seconds:.0f} s", file=sys.stderr, flush=True)
    return 0 if well else 1


if __name__ == "__main__":
    raise SystemExit(main())
