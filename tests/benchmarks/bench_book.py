"""How long the book of a log takes, the first time and after one change.

    python tests/benchmarks/bench_book.py [--songs N]

The songs are those of the sample session over and over, each with frets moved, so that no two
copies of a song have the same voicings and nothing that was worked out for one serves another.
Both runs are whole processes, of a copy of the program that nobody edits meanwhile (another
program writes every page again). Targets for 1,000 songs: the book in under 60 s, a second run
with one change in under 3 s, on a usual machine (`measuring`), with fewer songs in as much less;
and one HTML sheet under 200 KB. Exits 1 where one is missed.
"""

from __future__ import annotations

import argparse
import compileall
import os
import shutil
import sys
import tempfile
from dataclasses import replace
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from tests.benchmarks.measuring import Cost, Judged, cost_of  # noqa: E402

LOGBOOK = (sys.executable, "-c", "from logbook.cli.main import main; main()")
SONGS, FIRST_S, AGAIN_S, SHEET_BYTES = 1000, 60.0, 3.0, 200_000


def make_log(path: Path, songs: int) -> None:
    """A log of so many songs, written through the store's models in one go."""
    from logbook.notebook.read import read_log
    from logbook.records import Part
    from logbook.store.lifecycle import open_log
    from logbook.store.writing import put_log

    sample = read_log((ROOT / "sample_session" / "session.toml").read_text(encoding="utf-8"))

    def moved(part: Part, number: int) -> Part:
        """The part with its capo elsewhere and other notes, where a capo can go."""
        capo = str(number % 7 + 1) if part.capo.isdecimal() and part.counted == "capo" else None
        notes = tuple(replace(v, notes=f"take {number}") for v in part.voicings)
        return replace(part, voicings=notes, capo=part.capo if capo is None else capo)

    made = []
    for number in range(songs):
        song = sample.songs[number % len(sample.songs)]
        versions = tuple(
            replace(v, parts=tuple(moved(p, number) for p in v.parts)) for v in song.versions
        )
        made.append(replace(song, title=f"{song.title} {number:04d}", versions=versions))
    log = replace(sample, songs=tuple(made), projects=(), setlists=())
    with open_log(str(path)) as store, store.change("make the benchmark's log") as change:
        put_log(change, log)


def timed(database: Path, program: Path, *command: str) -> Cost:
    """What one command costs as a whole process; raises where it fails."""
    env = {**os.environ, "LOGBOOK_DB": str(database), "PYTHONPATH": str(program)}
    cost = cost_of([*LOGBOOK, *command], env, program)
    if cost.code:
        raise SystemExit(f"logbook {' '.join(command)} failed:\n{cost.errors}")
    return cost


def copied(folder: Path) -> Path:
    """A copy of the program, compiled as an installer does it."""
    for name in ("logbook", "migrations"):
        shutil.copytree(ROOT / name, folder / name, ignore=shutil.ignore_patterns("__pycache__"))
    compileall.compile_dir(folder, quiet=1)
    return folder


def told(what: str, cost: Cost, judged: Judged) -> bool:
    """Print what something took, and say whether that is too long."""
    quick, how = judged.after(cost)
    print(f"{what}: {how}; {cost.megabytes:.0f} MB: {'met' if quick else 'MISSED'}")
    return not quick


def main() -> int:
    """Run the figures and print them; 1 where a target is missed."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--songs", type=int, default=SONGS)
    parser.add_argument("--log", type=Path, help="a log made before, or where to keep it")
    wanted = parser.parse_args()
    with tempfile.TemporaryDirectory() as scratch:
        database = wanted.log or Path(scratch) / "log.db"
        if not database.exists():
            make_log(database, wanted.songs)
        folder = Path(scratch) / "book"
        program = copied(Path(scratch) / "program")
        part = wanted.songs / SONGS
        judged = Judged(FIRST_S * part, processes=2)
        first = timed(database, program, "book", str(folder))
        missed = told(f"the book of {wanted.songs} songs", first, judged)
        notes = f"once more {first.seconds}"
        timed(database, program, "song", "edit", "Varnish 0002", "--notes", notes)
        begun = 1.0  # what a program takes to begin, in seconds
        judged = Judged(begun + (AGAIN_S - begun) * part)
        again = timed(database, program, "book", str(folder))
        missed |= told("again after one change", again, judged)
        pages = list(folder.rglob("songs/*.html"))
        largest = max(page.stat().st_size for page in pages)
        print(f"{len(pages)} sheets, the largest {largest / 1000:.0f} kB (target 200)")
        missed |= largest >= SHEET_BYTES
    return 1 if missed else 0


if __name__ == "__main__":
    raise SystemExit(main())
