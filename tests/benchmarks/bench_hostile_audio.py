"""10,000 random and mutated files of every format: none may raise anything but AudioError.

Prints what reading ended in, the slowest file, and the time a file against a bare hash of it.
"""

from __future__ import annotations

import collections
import hashlib
import runpy
import sys
import tempfile
import time
import traceback
from pathlib import Path

HOSTILE = runpy.run_path(str(Path(__file__).parents[1] / "audio" / "test_hostile.py"))
COUNT = 10_000


def main() -> int:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else COUNT
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 8
    outcomes: collections.Counter[str] = collections.Counter()
    slowest, slowest_name, reading_s, hashing_s = 0.0, "", 0.0, 0.0
    failed = 0
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "file"
        for name, content in HOSTILE["hostile_bytes"](count, seed):
            path.write_bytes(content)
            begin = time.perf_counter()
            try:
                outcomes[HOSTILE["outcome"](path)] += 1
            except Exception:
                failed += 1
                print(f"{name} raised:", file=sys.stderr)
                traceback.print_exc()
            took = time.perf_counter() - begin
            reading_s += took
            if took > slowest:
                slowest, slowest_name = took, name
            begin = time.perf_counter()
            hashlib.sha256(path.read_bytes()).hexdigest()
            hashing_s += time.perf_counter() - begin
    print(
        f"{count} hostile files (seed {seed}): "
        + ", ".join(f"{k} {n}" for k, n in sorted(outcomes.items()))
    )
    print(
        f"reading took {reading_s / hashing_s:.1f} x a bare hash; "
        f"slowest {slowest:.2f} s ({slowest_name})"
    )
    print(f"raised something else: {failed} (target 0)")
    return 1 if failed or slowest > 5 else 0


if __name__ == "__main__":
    sys.exit(main())
