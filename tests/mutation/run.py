"""How many small wrong changes the tests notice: draw some by a seed, and try each.

    python tests/mutation/run.py              # the sample whose survivors stand in survivors.txt
    python tests/mutation/run.py --seed 5 --count 40 --jobs 2

First the tests run once, and which test goes through which line is written down. Then each mutant
is put into a copy of the tree, and the tests that go through its line run until one fails. Needs
`coverage`. Not collected by pytest: it takes the better part of an hour.
"""

from __future__ import annotations

import argparse
import os
import random
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from queue import Queue

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from tests.mutation.mutants import Mutant, mutants  # noqa: E402

SEED = 20261128
COUNT = 300
MODULES = (
    *("theory/*.py", "strings/*.py", "timing/*.py", "editing/*.py", "listening/snapping.py"),
    *("store/undoing.py", "crediting/check_digits.py", "crediting/identifiers.py"),
)
# Grips are a table of what is taught; another number in it is another grip.
DATA = ("grips_guitar.py", "grips_retuned.py", "grips_small.py")
TESTS = (
    *("tests/theory", "tests/timing", "tests/strings", "tests/editing", "tests/crediting"),
    *("tests/records", "tests/checking", "tests/listening/test_snapping.py"),
    *("tests/store/test_history.py", "tests/reference", "tests/arranging", "tests/sheets"),
)
LONGEST_SECONDS = 240


def main() -> int:
    """Run the sample; 0 where at least nine in ten of its mutants are noticed."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--seed", type=int, default=SEED)
    asked.add_argument("--count", type=int, default=COUNT)
    asked.add_argument("--jobs", type=int, default=os.cpu_count() or 1)
    asked.add_argument("--lines", type=Path, help="keep which test goes where in this file")
    asked.add_argument("--out", type=Path, help="write the survivors to this file")
    wanted = asked.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        trees = [_copy(Path(folder) / str(number)) for number in range(wanted.jobs)]
        lines = wanted.lines or Path(folder) / "lines.coverage"
        if not lines.exists():
            _measure(trees[0], lines)
        drawn = random.Random(wanted.seed).sample(list(_all()), wanted.count)
        where = _Tests(lines, trees[0])
        free: Queue[Path] = Queue()
        for tree in trees:
            free.put(tree)
        survivors = []
        with ThreadPoolExecutor(wanted.jobs) as pool:
            tried = pool.map(lambda each: _survives(each, where, free), drawn)
            for number, (mutant, lives) in enumerate(zip(drawn, tried, strict=True), 1):
                if lives:
                    survivors.append(mutant)
                print(
                    f"{number}/{wanted.count} {'LIVES' if lives else 'found'} {mutant}", flush=True
                )
    found = wanted.count - len(survivors)
    said = f"seed {wanted.seed}: {found} of {wanted.count} found ({found / wanted.count:.1%})"
    print(said)
    if wanted.out:
        wanted.out.write_text("\n".join([said, *map(str, survivors), ""]), encoding="utf-8")
    return 0 if found >= 0.9 * wanted.count else 1


def _all() -> Iterator[Mutant]:
    for pattern in MODULES:
        for path in sorted((ROOT / "logbook").glob(pattern)):
            if path.name not in DATA:
                module = path.relative_to(ROOT).as_posix()
                yield from mutants(module, path.read_text(encoding="utf-8"))


def _copy(to: Path) -> Path:
    left_out = shutil.ignore_patterns(".git", ".venv", "node_modules", ".*_cache", ".hypothesis")
    shutil.copytree(ROOT, to, ignore=left_out, symlinks=True)
    return to


def _environment(tree: Path) -> dict[str, str]:
    found = {**os.environ, "PYTHONPATH": str(tree), "PYTHONDONTWRITEBYTECODE": "1"}
    found.pop("LOGBOOK_TEST_POSTGRES", None)
    return found


def _measure(tree: Path, lines: Path) -> None:
    settings = tree / "lines.ini"
    settings.write_text(
        f"[run]\ndynamic_context = test_function\nsource = {tree}/logbook\ndata_file = {lines}\n"
        "relative_files = true\n"
    )
    command = [sys.executable, "-m", "coverage", "run", f"--rcfile={settings}"]
    told = ["-m", "pytest", "-q", "-p", "no:cacheprovider", "-p", "no:xdist", *TESTS]
    subprocess.run(
        [*command, *told], cwd=tree, env=_environment(tree), check=True, stdout=subprocess.DEVNULL
    )


class _Tests:
    """Which tests go through a line."""

    def __init__(self, lines: Path, tree: Path) -> None:
        import coverage

        data = coverage.CoverageData(str(lines))
        data.read()
        self._contexts = {
            Path(name).as_posix().rpartition("logbook/")[2]: data.contexts_by_lineno(name)
            for name in data.measured_files()
        }
        self._tree = tree

    def of(self, mutant: Mutant) -> list[str]:
        """Return what to run: tests of the mutant's own room first, whole rooms for tables."""
        room = mutant.module.split("/")[1]
        contexts = self._contexts.get(mutant.module.removeprefix("logbook/"), {})
        met = sorted(name for name in contexts.get(mutant.line, ()) if name)
        if not met:
            return sorted(TESTS, key=lambda name: room not in name)
        found = [node for node in map(self._node, met) if node]
        return sorted(found, key=lambda node: (f"tests/{room}/" not in node, "reference" in node))

    def _node(self, context: str) -> str:
        parts = context.split(".")
        for count in range(len(parts), 1, -1):
            path = "/".join(parts[:count]) + ".py"
            if (self._tree / path).exists():
                return "::".join([path, *parts[count:]])
        return ""


def _survives(mutant: Mutant, tests: _Tests, free: Queue[Path]) -> bool:
    tree = free.get()
    path = tree / mutant.module
    kept = path.stat()
    source = path.read_text(encoding="utf-8")
    nodes = tests.of(mutant)
    try:
        path.write_text(mutant.applied(source), encoding="utf-8")
        for some in (nodes[:25], nodes[25:200], nodes[200:1500]):
            if some and _fails(some, tree):
                return False
        return True
    finally:
        path.write_text(source, encoding="utf-8")
        os.utime(path, ns=(kept.st_atime_ns, kept.st_mtime_ns))
        free.put(tree)


def _fails(nodes: list[str], tree: Path) -> bool:
    command = [sys.executable, "-m", "pytest", "-x", "-q", "-p", "no:cacheprovider"]
    try:
        ended = subprocess.run(
            [*command, "-p", "no:xdist", *nodes],
            cwd=tree,
            env=_environment(tree),
            capture_output=True,
            timeout=LONGEST_SECONDS,
        )
    except subprocess.TimeoutExpired:
        return True
    return ended.returncode not in (0, 5)


if __name__ == "__main__":
    sys.exit(main())
