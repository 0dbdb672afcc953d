"""How many small wrong changes the tests notice: draw some by a seed, and try each.

    python tests/mutation/run.py              # the sample whose survivors stand in survivors.txt
    python tests/mutation/run.py --seed 5 --count 40 --jobs 2

Each mutant is put into a copy of the tree, and tests run until one fails: the test file of the
module's own name, then its room's tests, then those against outside sources and those of rooms
that build on it. Not collected by pytest: it takes the better part of an hour.
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
ELSEWHERE = {
    "theory": ("tests/reference/test_theory_[!f]*.py", "tests/strings", "tests/checking"),
    "strings": (
        "tests/reference/test_strings_*.py",
        "tests/arranging",
        "tests/sheets/test_voicings.py",
    ),
    "timing": ("tests/reference/test_timing_*.py", "tests/editing", "tests/arranging"),
    "editing": ("tests/records", "tests/checking", "tests/sheets/test_takes_and_comps.py"),
    "listening": ("tests/listening/test_snapping.py",),
    "store": ("tests/store/test_history.py", "tests/store/test_writing.py"),
    "crediting": ("tests/reference/test_crediting_*.py", "tests/checking"),
}
WHOLE = ("theory", "strings", "timing", "editing", "crediting")
LONGEST_SECONDS = 600


def main() -> int:
    """Run the sample; 0 where at least nine in ten of its mutants are noticed."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--seed", type=int, default=SEED)
    asked.add_argument("--count", type=int, default=COUNT)
    asked.add_argument("--jobs", type=int, default=os.cpu_count() or 1)
    asked.add_argument("--out", type=Path, help="write the survivors to this file")
    wanted = asked.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        trees = [_copy(Path(folder) / str(number)) for number in range(wanted.jobs)]
        drawn = random.Random(wanted.seed).sample(list(_all()), wanted.count)
        free: Queue[Path] = Queue()
        for tree in trees:
            free.put(tree)
        survivors = []
        with ThreadPoolExecutor(wanted.jobs) as pool:
            tried = pool.map(lambda each: _survives(each, free), drawn)
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


def _tests_of(mutant: Mutant, tree: Path) -> Iterator[list[str]]:
    """Yield what to run for a mutant, the likeliest to notice first."""
    _, room, name = mutant.module.split("/")
    own = tree / "tests" / room
    near = [own / f"test_{name}"]
    met: set[Path] = set()
    for paths in (near, own.glob("test_*.py") if room in WHOLE else (), _elsewhere(room, tree)):
        found = sorted({path for path in paths if path.exists()} - met)
        met.update(found)
        if found:
            yield [str(path.relative_to(tree)) for path in found]


def _elsewhere(room: str, tree: Path) -> Iterator[Path]:
    for pattern in ELSEWHERE[room]:
        yield from tree.glob(pattern)


def _survives(mutant: Mutant, free: Queue[Path]) -> bool:
    tree = free.get()
    path = tree / mutant.module
    kept = path.stat()
    source = path.read_text(encoding="utf-8")
    try:
        path.write_text(mutant.applied(source), encoding="utf-8")
        return not any(_fails(some, tree) for some in _tests_of(mutant, tree))
    finally:
        path.write_text(source, encoding="utf-8")
        os.utime(path, ns=(kept.st_atime_ns, kept.st_mtime_ns))
        free.put(tree)


def _fails(nodes: list[str], tree: Path) -> bool:
    command = [sys.executable, "-m", "pytest", "-x", "-q", "-p", "no:cacheprovider"]
    command.append("--hypothesis-profile=notice")
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
