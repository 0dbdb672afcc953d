"""How the log behaves when years of sessions are in it.

A log with 5,000 songs, 50,000 takes, 200,000 audio files and 500,000 chart entries is made from
the sample session and filler songs, written straight into the tables, with a history as of one
load of them all. Every command is a whole process, run on the log of the sample alone and on the
large one, in turns; the ratio of the best times counts.

    python tests/benchmarks/bench_scale.py [--keep FOLDER] [--songs 5000]

Targets: `sheet` and `take add` at most 1.5 x their time on the sample; `list`, `search` and a
second `check` under 2 s; `dump`, `file list`, `history` and a first `check` at most 10 s and 200 MB
each; a book within 100 s on two processors, 97 kB a page or less; what was dumped is loaded again
in at most 200 MB (a tenth of the songs); a sheet makes as many queries on the large log as on the
small one; a search says where it stops. The seconds are those of a usual machine (`measuring`).
With `--songs` the log is smaller by as much, and so are the seconds that are allowed.
"""

from __future__ import annotations

import argparse
import compileall
import os
import re
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from tests.benchmarks.measuring import USUAL_S, Cost, Judged, cost_of, yardstick  # noqa: E402

SONGS, TAKES, FILES, ENTRIES = 5_000, 50_000, 200_000, 500_000
PARTS_A_SONG = 2
SLOWER, SECONDS, TURNS = 1.5, 2.0, 5
LONG_SECONDS, MEGABYTES = 10.0, 200
BOOK_SECONDS, PAGE_KB = 100.0, 97
PROCESSORS = 2
SONG = "Low Tide Ledger"
SHAPES = ("x 3 2 0 1 0", "x 0 2 2 1 0", "3 2 0 0 0 3", "x x 0 2 3 2", "0 2 2 1 0 0", "1 3 3 2 1 1")
NAMES = ("C", "Am", "G", "D", "E", "F")


def make_small(path: Path) -> None:
    """The sample session, loaded and imported as anybody would."""
    run(path, "load", str(ROOT / "sample_session"))


def make_large(path: Path, part: float = 1.0) -> None:
    """The sample and the filler, up to the numbers above."""
    from sqlalchemy import func, insert, select

    from logbook.store.engine import writing
    from logbook.store.lifecycle import open_log
    from logbook.store.models import MODELS

    tables = {name: model.__table__ for name, model in MODELS.items()}
    with open_log(str(path)) as store, writing(store.engine, store.dialect) as connection:
        there = {
            name: connection.scalar(select(func.max(table.c.id))) or 0
            for name, table in tables.items()
        }
        rows = {
            name: connection.scalar(select(func.count()).select_from(tables[name])) or 0
            for name in ("song", "take", "audio_file", "chart")
        }
        wanted = {
            "song": int(SONGS * part) - rows["song"],
            "take": int(TAKES * part) - rows["take"],
            "audio_file": int(FILES * part) - rows["audio_file"],
            "chart": int(ENTRIES * part) - rows["chart"],
        }
        held: dict[str, list[dict[str, Any]]] = {}
        for table, row in filler(there, wanted):
            waiting = held.setdefault(table, [])
            waiting.append(row)
            if len(waiting) == 5_000 and table == "audio_file":
                for name in ORDER:
                    if held.get(name):
                        connection.execute(insert(tables[name]), held.pop(name))  # type: ignore[arg-type]
        for name in ORDER:
            if held.get(name):
                connection.execute(insert(tables[name]), held.pop(name))  # type: ignore[arg-type]
        for statement in HISTORY:
            connection.exec_driver_sql(statement)
    with open_log(str(path)) as store, store.engine.connect() as connection:
        connection.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)")


ORDER = (
    "song",
    "version",
    "meter_change",
    "tempo_change",
    "form",
    "part",
    "voicing",
    "pattern",
    "chart",
    "take",
    "comp",
    "comp_piece",
    "audio_file",
)


HISTORY = (
    "INSERT INTO command (at, who, command, undoes)"
    " VALUES ('2026-01-02T10:00:00.000Z', 'Ada', 'load years.toml', '')",
    *(
        "INSERT INTO change (command_id, action, kind, row_id, label, place, song_id, after)"
        f" SELECT (SELECT MAX(id) FROM command), 'added', '{kind}', t.id,"
        f" '{kind} ' || t.id || ' of a filler song', '{kind} ' || t.id, NULL, {after}"
        f' FROM "{kind}" t'
        for kind, after in (
            ("song", "json_object('title', t.title)"),
            ("take", "json_object('number', t.number, 'result', t.result, 'bars', t.bars)"),
            ("audio_file", "json_object('folder', t.folder, 'path', t.path, 'digest', t.digest)"),
            ("chart", "json_object('bar', t.bar, 'beat', t.beat, 'voicing_id', t.voicing_id)"),
        )
    ),
)
"""One load that brought all of it in, row by row."""


def spread(total: int, over: int) -> list[int]:
    """`total` in `over` whole shares that differ by one at most."""
    return [total * (n + 1) // over - total * n // over for n in range(over)]


def filler(there: dict[str, int], wanted: dict[str, int]) -> Iterator[tuple[str, dict[str, Any]]]:
    """Rows of songs of two parts each, every row after those it refers to."""
    ids = dict(there)

    def new(table: str, **row: Any) -> tuple[str, dict[str, Any]]:
        ids[table] += 1
        return table, {"id": ids[table], **row}

    parts = wanted["song"] * PARTS_A_SONG
    takes, entries = spread(wanted["take"], parts), spread(wanted["chart"], parts)
    files = iter(spread(wanted["audio_file"], wanted["take"]))
    for song in range(wanted["song"]):
        yield new("song", title=f"Filler {song:05d}", notes="tide" if song % 500 == 0 else "")
        yield new("version", song_id=ids["song"], name="album", key="C", sample_rate_hz=48000)
        version = ids["version"]
        yield new("meter_change", version_id=version, bar=1, meter="4/4")
        yield new("tempo_change", version_id=version, bar=1, bpm=96.0)
        for at in range(7):
            yield new(
                "form", version_id=version, name="verse", start=1 + 8 * at, bars=8, position=at
            )
        for number in range(PARTS_A_SONG):
            yield new(
                "part",
                version_id=version,
                name=f"guitar {number + 1}",
                tuning_id=1,
                position=number,
            )
            part = ids["part"]
            for at, frets in enumerate(SHAPES):
                yield new("voicing", part_id=part, label=NAMES[at], frets=frets, position=at)
            yield new("pattern", part_id=part, label="main", grid="1/8", line="D . D U . U D U")
            for at in range(entries[song * PARTS_A_SONG + number]):
                yield new(
                    "chart",
                    part_id=part,
                    bar=1 + at,
                    voicing_id=ids["voicing"] - 5 + at % 6,
                    pattern_id=ids["pattern"],
                    position=at,
                )
            count = takes[song * PARTS_A_SONG + number]
            yield new("comp", part_id=part)
            yield new("comp_piece", comp_id=ids["comp"], bars="1-56", take=1, source="1-56")
            for at in range(count):
                yield new(
                    "take",
                    part_id=part,
                    number=at + 1,
                    result="keeper" if at == 0 else "complete",
                    bars="1-56",
                    position=at,
                )
                for microphone in range(next(files)):
                    yield new(
                        "audio_file",
                        take_id=ids["take"],
                        folder=f"/sessions/{song:05d}",
                        path=f"{number}_{at}_{microphone}.wav",
                        digest=f"{ids['audio_file']:064x}",
                        rate_hz=48000,
                        channels=1,
                        depth_bits=24,
                        frames=48000 * 150,
                        container="wav",
                        position=microphone,
                    )


SEARCH = """
import sys
from logbook.store.lifecycle import open_log
from logbook.store.searching import search
with open_log(sys.argv[1]) as store, store.reading() as connection:
    print(search(connection, sys.argv[2]))
"""


def run_search(log: Path, words: str) -> float:
    """Seconds that a search of the store takes as a whole process."""
    begin = time.perf_counter()
    subprocess.run(
        [sys.executable, "-c", SEARCH, str(log), words], cwd=ROOT, check=True, capture_output=True
    )
    return time.perf_counter() - begin


def run(log: Path, *arguments: str, allowed: tuple[int, ...] = (0,)) -> float:
    """Seconds that one `logbook` command takes as a whole process."""
    begin = time.perf_counter()
    done = subprocess.run(
        [sys.executable, "-c", "from logbook.cli.main import main; main()", *arguments],
        env=os.environ | {"LOGBOOK_DB": str(log), "PYTHONPATH": str(log.parent / "program")},
        cwd=log.parent,
        capture_output=True,
        text=True,
        check=False,
    )
    taken = time.perf_counter() - begin
    if done.returncode not in allowed:
        raise SystemExit(f"logbook {' '.join(arguments)} failed:\n{done.stdout}{done.stderr}")
    return taken


def measured(log: Path, *arguments: str) -> Cost:
    """What one `logbook` command costs as a whole process, with all that it starts."""
    cost = cost_of(
        [sys.executable, "-c", "from logbook.cli.main import main; main()", *arguments],
        os.environ | {"LOGBOOK_DB": str(log), "PYTHONPATH": str(log.parent / "program")},
        log.parent,
    )
    if cost.code not in (0, 1):
        raise SystemExit(f"logbook {' '.join(arguments)} failed:\n{cost.errors}")
    return cost


def large_answers(log: Path, part: float) -> bool:
    """Print what the commands cost that touch all of the log, and whether that is little enough.

    `part` is how large the log is against the whole size.
    """
    met = True
    begun = 1.0  # what a program takes to begin, in seconds
    commands = {
        "check, cold": ("check",),
        "dump": ("dump", "--out", str(log.parent / "dumped.toml")),
        "file list": ("file", "list"),
        "history": ("history",),
        "history, whole": ("history", "--limit", "100000"),
        "search": ("search", "filler"),
    }
    for name, arguments in commands.items():
        count = PROCESSORS if name in ("check, cold", "dump") else 1
        judged = Judged(begun + (LONG_SECONDS - begun) * part, processes=count)
        cost = measured(log, *arguments)
        quick, how = judged.after(cost)
        well = quick and cost.megabytes <= MEGABYTES
        # Search says where it stops: there are more songs than it shows unasked.
        if name == "search":
            well &= "only the first 50 are shown" in cost.errors or part * SONGS <= 50
        met &= well
        print(
            f"{name:14} {how}; {cost.megabytes:.0f} MB (at most {MEGABYTES}):"
            f" {'met' if well else 'MISSED'}"
        )
    return met


def books(log: Path, part: float) -> bool:
    """Print what a book of the log costs, and whether that is little enough."""
    pages = log.parent / "book"
    shutil.rmtree(pages, ignore_errors=True)
    judged = Judged(BOOK_SECONDS * part, processes=PROCESSORS)
    cost = measured(log, "book", str(pages))
    quick, how = judged.after(cost)
    songs = [path.stat().st_size for path in pages.glob("songs/*.html")]
    mean, largest = sum(songs) / len(songs) / 1000, max(songs) / 1000
    well = quick and mean <= PAGE_KB
    print(
        f"book           {how}; {cost.megabytes:.0f} MB, {len(songs)} pages of songs of {mean:.0f}"
        f" kB (at most {PAGE_KB}), the largest {largest:.0f} kB: {'met' if well else 'MISSED'}"
    )
    shutil.rmtree(pages)
    return well


def loads(log: Path) -> bool:
    """Print what loading a tenth of what was dumped costs, and whether all of it came in."""
    text = (log.parent / "dumped.toml").read_text(encoding="utf-8")
    marks = [found.start() for found in re.finditer(r"^\[\[song\]\]$", text, re.MULTILINE)]
    # The sample is in the songs that come first, and set lists behind all of them.
    cut = log.parent / "cut.toml"
    cut.write_text(text[: marks[len(marks) // 10]].rstrip() + "\n", encoding="utf-8")
    other = log.parent / "loaded.db"
    for rest in ("", "-wal", "-shm", "-queue"):
        other.with_name(other.name + rest).unlink(missing_ok=True)
    cost = measured(other, "load", str(cut))
    again = log.parent / "again.toml"
    measured(other, "dump", "--out", str(again))
    same = again.read_text(encoding="utf-8") == cut.read_text(encoding="utf-8")
    count = len(marks) // 10
    print(
        f"load           {cost.seconds:.1f} s and {cost.megabytes:.0f} MB for {count} of the songs"
        f" (at most {MEGABYTES} MB); dumped again {'the same file' if same else 'ANOTHER FILE'}"
    )
    return cost.megabytes <= MEGABYTES and same


def queries_of_a_sheet(log: Path) -> int:
    """How many statements are sent to read what a sheet of the song needs."""
    from sqlalchemy import event

    from logbook.store.finding import find
    from logbook.store.lifecycle import open_log
    from logbook.store.reading import read_log

    sent: list[str] = []
    with open_log(str(log)) as store:
        event.listen(
            store.engine, "before_cursor_execute", lambda *given: sent.append(str(given[2]))
        )
        with store.reading() as connection:
            read_log(connection, [find(connection, "song", SONG).id])
    return len(sent)


def compare(small: Path, large: Path, *arguments: str) -> float:
    """Print and give how much longer a command takes on the large log."""
    pairs = [(run(small, *arguments), run(large, *arguments)) for _ in range(TURNS)]
    least, most = min(pair[0] for pair in pairs), min(pair[1] for pair in pairs)
    print(
        f"{arguments[0]:8} {least * 1000:7.0f} ms on the sample, {most * 1000:7.0f} ms on the"
        f" large log: {most / least:.2f} x (at most {SLOWER} x)"
    )
    return most / least


def main() -> int:
    """Make both logs, run everything, print the figures, and say whether the targets are met."""
    parser = argparse.ArgumentParser(description="The log at scale.")
    parser.add_argument("--keep", type=Path, help="make the logs here, or use those that are")
    parser.add_argument("--songs", type=int, default=SONGS, help="a smaller log")
    asked = parser.parse_args()
    keep: Path | None = asked.keep
    part = asked.songs / SONGS
    met = True
    with tempfile.TemporaryDirectory() as scratch:
        folder = keep or Path(scratch)
        folder.mkdir(parents=True, exist_ok=True)
        small, large = folder / "small.db", folder / "large.db"
        # A copy that nobody edits while it is measured, with byte code as an installer makes it.
        for package in ("logbook", "migrations"):
            shutil.copytree(
                ROOT / package,
                folder / "program" / package,
                copy_function=shutil.copy2,
                dirs_exist_ok=True,
            )
        compileall.compile_dir(folder / "program", quiet=2)
        if not small.exists():
            make_small(small)
        if not large.exists():
            begin = time.perf_counter()
            make_small(large)
            make_large(large, part)
            print(f"made the large log in {time.perf_counter() - begin:.0f} s")
        print(f"file     {large.stat().st_size / 1e6:.0f} MB")
        few, many = queries_of_a_sheet(small), queries_of_a_sheet(large)
        print(f"queries  {few} for a sheet on the sample, {many} on the large log")
        met &= few == many
        run(small, "here", SONG, "--part", "guitar")
        run(large, "here", SONG, "--part", "guitar")
        met &= compare(small, large, "sheet", SONG) <= SLOWER
        met &= compare(small, large, "take", "add") <= SLOWER
        met &= large_answers(large, part)
        met &= loads(large)
        met &= books(large, part)
        before = yardstick()[0]
        taken = {
            "check": min(run(large, "check", allowed=(0, 1)) for _ in range(TURNS)),
            "song list": min(run(large, "song", "list") for _ in range(TURNS)),
            "take list": min(run(large, "take", "list") for _ in range(TURNS)),
            "search": min(run_search(large, "tide") for _ in range(TURNS)),
        }
        stick = min(before, yardstick()[0])
        under = SECONDS * max(1.0, stick / USUAL_S)
        for name, seconds in taken.items():
            print(
                f"{name:9} {seconds:.2f} s, {seconds / stick:.1f} x ten million additions"
                f" (under {SECONDS:.0f} s on the usual machine, here {under:.1f})"
            )
            met &= seconds < under
    print("met" if met else "MISSED")
    return 0 if met else 1


if __name__ == "__main__":
    raise SystemExit(main())
