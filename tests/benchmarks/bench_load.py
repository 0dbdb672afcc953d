"""What loading a session file costs, against bringing in an export of the same log.

Run as `python tests/benchmarks/bench_load.py [--songs 500]`. Songs of the sample session, each with
a title of its own, are dumped as one file. `load` and `import-log` of the same log are whole
processes, taken in turns; what counts is the processor's time, so that other work on the machine
does not. Targets: `load` at most 3 x `import-log`; eight times as many songs at most 10 x the time
above an empty command; what is dumped again is the same file. Exits 1 where one is missed.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import tempfile
from dataclasses import replace
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

MOST, MOST_GROWTH = 3.0, 10.0


def run(log: Path, *arguments: str) -> tuple[float, float]:
    """Processor seconds and peak megabytes of one command in a process of its own."""
    process = subprocess.Popen(
        [sys.executable, "-c", "from logbook.cli.main import main; main()", *arguments],
        env=os.environ | {"LOGBOOK_DB": str(log), "PYTHONPATH": str(ROOT)},
        stdout=subprocess.DEVNULL,
    )
    _, status, used = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode:
        raise SystemExit(f"logbook {' '.join(arguments)} failed")
    return used.ru_utime + used.ru_stime, used.ru_maxrss / 1024


def without_files(record: Any) -> Any:
    """A song without its audio files, which can be in one song only."""
    versions = []
    for version in record.versions:
        parts = tuple(
            replace(part, files=(), takes=tuple(replace(take, files=()) for take in part.takes))
            for part in version.parts
        )
        versions.append(replace(version, files=(), parts=parts))
    return replace(record, versions=tuple(versions))


def session_file(sample: Path, songs: int, out: Path) -> None:
    """Write a session file with so many songs."""
    from logbook.notebook.write import write_log
    from logbook.store.lifecycle import open_log
    from logbook.store.reading import read_log

    with open_log(str(sample)) as store, store.reading() as connection:
        log = read_log(connection)
    there = [without_files(each) for each in log.songs]
    many = tuple(
        replace(there[n % len(there)], title=f"{there[n % len(there)].title} {n}")
        for n in range(songs)
    )
    log = replace(log, songs=many, projects=(), setlists=(), remarks=(), files=())
    out.write_text(write_log(log), encoding="utf-8")


def main() -> int:
    """Load, export and bring in; print the figures, and say whether the targets are met."""
    parser = argparse.ArgumentParser(description="Loading.")
    parser.add_argument("--songs", type=int, default=500)
    songs = parser.parse_args().songs
    well = True
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch)
        sample = folder / "sample.db"
        run(sample, "load", str(ROOT / "sample_session"))
        small, large = folder / "small.toml", folder / "large.toml"
        session_file(sample, songs // 8, small)
        session_file(sample, songs, large)
        empty = min(run(folder / f"empty{n}.db", "person", "add", "Ina")[0] for n in range(2))
        few = min(run(folder / f"few{n}.db", "load", str(small))[0] for n in range(2))
        loads, brought = [], []
        run(folder / "first.db", "load", str(large))
        exported, again = folder / "log.jsonl", folder / "again.toml"
        run(folder / "first.db", "export", str(exported))
        run(folder / "first.db", "dump", "--out", str(again))
        for turn in range(2):
            loads.append(run(folder / f"load{turn}.db", "load", str(large)))
            brought.append(run(folder / f"in{turn}.db", "import-log", str(exported)))
            same = again.read_text(encoding="utf-8") == large.read_text(encoding="utf-8")
    load, other = min(loads), min(brought)
    ratio, growth = load[0] / other[0], (load[0] - empty) / max(few - empty, 0.01)
    print(
        f"{songs} songs: load {load[0]:.1f} s and {load[1]:.0f} MB, import-log {other[0]:.1f} s and"
        f" {other[1]:.0f} MB: {ratio:.2f} x the time (at most {MOST})"
    )
    print(f"8 x the songs: {growth:.1f} x the time (at most {MOST_GROWTH})")
    print(f"dumped again: {'the same file' if same else 'ANOTHER FILE'}")
    well = ratio <= MOST and growth <= MOST_GROWTH and same
    print("met" if well else "MISSED")
    return 0 if well else 1


if __name__ == "__main__":
    raise SystemExit(main())
