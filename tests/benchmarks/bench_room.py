"""From key to screen in the open room, on a log of 5,000 songs and on the sample alone.

The screen runs without a terminal (Textual's pilot); a key counts from its press until the screen
has been drawn with the answer. (The pilot itself then waits for the program to be idle, in steps of
20 ms, which no hand does.) Undo is pressed after every take, so the log stays as large as it was.

    python tests/benchmarks/bench_room.py [--keep FOLDER]

Target: 99 of 100 keys within 100 ms on the large log.
"""

from __future__ import annotations

import argparse
import asyncio
import shutil
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from tests.benchmarks.bench_scale import make_large, make_small  # noqa: E402

KEYS, LIMIT_MS = 100, 100.0


async def pressed(path: Path) -> list[float]:
    """Milliseconds from key to screen for takes, undos and sections in turn."""
    from logbook.room.screen import RoomScreen
    from logbook.room.working import Reply, Room
    from logbook.store.lifecycle import open_log

    times: list[float] = []
    start = 0.0

    class Watched(RoomScreen):
        """The screen, with a look at the clock when an answer has been drawn."""

        def answer(self, reply: Reply) -> None:
            super().answer(reply)
            self.call_after_refresh(lambda: times.append((time.perf_counter() - start) * 1000))

    with open_log(str(path)) as store:
        room = Room(store, who="Ina")
        room.write("song Low Tide Ledger")
        app = Watched(room)
        async with app.run_test(size=(100, 30)) as pilot:
            await pilot.pause()
            for number in range(KEYS + 6):
                for key in ("k", "u", str(1 + number % 4)):
                    start = time.perf_counter()
                    await pilot.press(key)
    # The first keys import what they need.
    return sorted(times[18:])


def main() -> int:
    """Print p50, p95 and p99 of both logs; 1 where the target is missed."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--keep", type=Path, help="keep (and use again) the logs in this folder")
    folder = parser.parse_args().keep or Path(tempfile.mkdtemp())
    folder.mkdir(parents=True, exist_ok=True)
    small, large = folder / "small.db", folder / "large.db"
    if not large.exists():
        make_small(small)
        shutil.copy(small, large)
        make_large(large)
    figures = {}
    for name, path in (("sample", small), ("5,000 songs", large)):
        times = asyncio.run(pressed(path))
        p50, p95, p99 = (times[int(len(times) * share)] for share in (0.5, 0.95, 0.99))
        figures[name] = p99
        print(f"{name:12} p50 {p50:6.1f} ms  p95 {p95:6.1f} ms  p99 {p99:6.1f} ms")
    ratio = figures["5,000 songs"] / figures["sample"]
    print(f"p99 on the large log is {ratio:.2f} x that on the sample (at most {LIMIT_MS:.0f} ms)")
    return int(figures["5,000 songs"] > LIMIT_MS)


if __name__ == "__main__":
    raise SystemExit(main())
