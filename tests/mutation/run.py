"""How many small wrong changes the tests notice: draw some by a seed, and try each.

    python tests/mutation/run.py              # the sample whose survivors stand in survivors.txt
    python tests/mutation/run.py --seed 5 --count 40 --jobs 2
    python tests/mutation/run.py --seed 6 --seen seen.json  # what runs through which line, kept

First the tests run once with nothing changed, and which of them pass through which line is kept.
Then each mutant is put into a copy of the tree, and the tests that pass through its line run
until one fails: those of its own room first, the quickest of each first. What stands at the top
of a module is read by no test of its own, so there all tests of that module run. Not collected by
pytest: it takes the better part of an hour.
"""

from __future__ import annotations

import argparse
import ast
import json
import os
import random
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from queue import Queue
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from tests.mutation.mutants import Mutant, mutants  # noqa: E402
from tests.mutation.trial import fails  # noqa: E402

SEED = 20261129
COUNT = 300
MODULES = (
    *("theory/*.py", "strings/*.py", "timing/*.py", "editing/*.py", "listening/snapping.py"),
    *("store/undoing.py", "crediting/check_digits.py", "crediting/identifiers.py"),
)
# Grips are a table of what is taught; another number in it is another grip.
DATA = ("grips_guitar.py", "grips_retuned.py", "grips_small.py")
ANSWERS = "tests/golden/test_answers.py"
ELSEWHERE = {
    "theory": ("tests/reference/test_theory_[!f]*.py", "tests/strings", "tests/checking", ANSWERS),
    "strings": (
        "tests/reference/test_strings_*.py",
        "tests/arranging",
        "tests/sheets/test_voicings.py",
        ANSWERS,
    ),
    "timing": ("tests/reference/test_timing_*.py", "tests/editing", "tests/arranging", ANSWERS),
    "editing": ("tests/records", "tests/checking", "tests/sheets/test_takes_and_comps.py", ANSWERS),
    "listening": ("tests/listening/test_snapping.py", ANSWERS),
    "store": (
        "tests/store/test_history.py",
        "tests/store/test_drawn.py",
        "tests/store/test_writing.py",
    ),
    "crediting": ("tests/reference/test_crediting_*.py", "tests/checking"),
}
LONGEST_SECONDS = 900
FIRST = 40  # of the tests that pass through a line, this many are tried before all others
OPTIONS = ["-q", "-p", "no:cacheprovider", "-p", "no:xdist", "--hypothesis-profile=notice"]


def main() -> int:
    """Run the sample; 0 where at least nine in ten of its mutants are noticed."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--seed", type=int, default=SEED)
    asked.add_argument("--count", type=int, default=COUNT)
    asked.add_argument("--jobs", type=int, default=os.cpu_count() or 1)
    asked.add_argument("--again", type=Path, help="try those that an earlier run wrote down")
    asked.add_argument("--out", type=Path, help="write the survivors to this file")
    asked.add_argument("--seen", type=Path, help="which tests pass where: read, or made and kept")
    wanted = asked.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        trees = [_copy(Path(folder) / str(number)) for number in range(wanted.jobs)]
        drawn = random.Random(wanted.seed).sample(list(_all()), wanted.count)
        if wanted.again:
            lines = wanted.again.read_text(encoding="utf-8")
            drawn = [each for each in _all() if f"{each}\n" in lines]
        passing = _passing(trees, wanted.seen)
        free: Queue[Path] = Queue()
        for tree in trees:
            free.put(tree)
        survivors = []
        with ThreadPoolExecutor(wanted.jobs) as pool:
            tried = pool.map(lambda each: _survives(each, free, passing), drawn)
            for number, (mutant, lives) in enumerate(zip(drawn, tried, strict=True), 1):
                if lives:
                    survivors.append(mutant)
                print(f"{number}/{len(drawn)} {'LIVES' if lives else 'found'} {mutant}", flush=True)
    found = len(drawn) - len(survivors)
    said = f"seed {wanted.seed}: {found} of {len(drawn)} found ({found / len(drawn):.1%})"
    print(said)
    if wanted.out:
        wanted.out.write_text("\n".join([said, *map(str, survivors), ""]), encoding="utf-8")
    return 0 if found >= 0.9 * len(drawn) else 1


def _all() -> Iterator[Mutant]:
    for module in _modules():
        yield from mutants(module, (ROOT / module).read_text(encoding="utf-8"))


def _passing(trees: list[Path], kept: Path | None) -> Passing:
    if kept is not None and kept.exists():
        return Passing(*json.loads(kept.read_text(encoding="utf-8")))
    passing = Passing.seen(trees)
    if kept is not None:
        kept.write_text(json.dumps([passing.seconds, passing.lines]), encoding="utf-8")
    return passing


def _modules() -> list[str]:
    paths = (path for pattern in MODULES for path in (ROOT / "logbook").glob(pattern))
    return sorted(path.relative_to(ROOT).as_posix() for path in paths if path.name not in DATA)


def _copy(to: Path) -> Path:
    left_out = shutil.ignore_patterns(".git", ".venv", "node_modules", ".*_cache", ".hypothesis")
    shutil.copytree(ROOT, to, ignore=left_out, symlinks=True)
    return to


def _environment(tree: Path) -> dict[str, str]:
    found = {**os.environ, "PYTHONPATH": str(tree), "PYTHONDONTWRITEBYTECODE": "1"}
    found["LOGBOOK_TEST_COMPILE_ALWAYS"] = "yes"
    found.pop("LOGBOOK_TEST_POSTGRES", None)
    return found


@dataclass(frozen=True)
class Passing:
    """Which tests pass through which line of which module, and how long each takes."""

    seconds: dict[str, float]
    lines: dict[str, dict[str, list[str]]]

    @classmethod
    def seen(cls, trees: Sequence[Path]) -> Passing:
        """Run the tests of all rooms, once, watching their modules: a share in each tree."""
        rooms = sorted({module.split("/")[1] for module in _modules()})
        patterns = [pattern for room in rooms for pattern in (*_own(room), *ELSEWHERE[room])]
        found = sorted({path for each in patterns for path in _tests(trees[0], each)})
        shares = [found[at :: len(trees)] for at in range(len(trees))]
        passing = cls({}, {module: {} for module in _modules()})
        with ThreadPoolExecutor(len(trees)) as pool:
            for seconds, lines in pool.map(_watched, trees, shares):
                passing.seconds.update(seconds)
                for module, at in lines.items():
                    for line, tests in at.items():
                        passing.lines[module].setdefault(line, []).extend(tests)
        return passing

    def through(self, mutant: Mutant) -> list[str]:
        """Return the tests that pass through a mutant's lines: its own room's, quickest first."""
        at = self.lines.get(mutant.module, {})
        last = mutant.line + mutant.was.count("\n")
        lines = [line for line in at if mutant.line <= int(line) <= last]
        if not any(mutant.line in body for body in _bodies(mutant.module)):
            lines = []  # it ran when the module was read, for whichever test that was
        found = {test for line in lines or at for test in at[line]}
        own = f"tests/{mutant.module.split('/')[1]}/"
        return sorted(found, key=lambda test: (not test.startswith(own), self.seconds[test], test))


def _own(room: str) -> tuple[str, ...]:
    """All tests of a room; where only a module of it is drawn from, those named for it alone."""
    return () if room in ("listening", "store") else (f"tests/{room}",)


@cache
def _bodies(module: str) -> list[range]:
    """The lines of each function's body."""
    tree = ast.parse((ROOT / module).read_text(encoding="utf-8"))
    functions = (node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef))
    return [range(each.body[0].lineno, (each.end_lineno or 0) + 1) for each in functions]


def _tests(tree: Path, pattern: str) -> Iterator[str]:
    for path in tree.glob(pattern):
        for each in path.rglob("test_*.py") if path.is_dir() else [path]:
            yield each.relative_to(tree).as_posix()


def _watched(tree: Path, tests: Sequence[str]) -> tuple[dict[str, float], dict[str, Any]]:
    """Run some tests in a tree: seconds by test, and tests by line by module.

    Those that fail with nothing changed can show nothing and are left out.
    """
    out = tree / "passing.json"
    watched = {"WATCHED": " ".join(_modules()), "WATCHED_TO": str(out)}
    command = [sys.executable, "-m", "pytest", *OPTIONS, "-p", "tests.mutation.watching", *tests]
    done = subprocess.run(command, cwd=tree, env={**_environment(tree), **watched}, check=False)
    if done.returncode > 1:  # 1: a test failed
        raise SystemExit(f"the tests could not be run: pytest ended with {done.returncode}")
    seconds, lines = json.loads(out.read_text(encoding="utf-8"))
    return seconds, lines


def _survives(mutant: Mutant, free: Queue[Path], passing: Passing) -> bool:
    tree = free.get()
    path = tree / mutant.module
    kept = path.stat()
    source = path.read_text(encoding="utf-8")
    try:
        path.write_text(mutant.applied(source), encoding="utf-8")
        tests = passing.through(mutant)
        batches = (tests[:FIRST], tests[FIRST:])
        return not any(fails(tree, OPTIONS, some, LONGEST_SECONDS) for some in batches)
    finally:
        path.write_text(source, encoding="utf-8")
        os.utime(path, ns=(kept.st_atime_ns, kept.st_mtime_ns))
        free.put(tree)


if __name__ == "__main__":
    sys.exit(main())
