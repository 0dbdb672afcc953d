"""How fast a folder is read, each figure as a ratio to a bare loop in the same run.

1. 10,000 small files of every format, digest off: files a second against `mutagen.File`;
   target at least 0.8.
2. Large files, digest on: bytes a second against reading and hashing the whole file;
   target at least 0.8 for every format.
3. Peak memory on a large file: under 150 MB and flat.
4. A second scan of the same 10,000 files: at least 10 times quicker than the first.
5. The same with everything that `logbook import` does, digests and the log with its history
   included: again at least 10 times quicker, and under 150 MB. How it stands to the bare loop is
   printed without a target: what reading costs is figure 1, and the rest is the log.

Both loops run on a warm cache and take turns, and the best of each is compared, so that what is
measured is the code and not the disk.
"""

from __future__ import annotations

import hashlib
import resource
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import mutagen

from logbook.audio.reading import read_audio
from logbook.audio.scanning import Fresh, KnownFile, Unchanged, scan

SAMPLES = sorted((Path(__file__).parents[1] / "audio" / "samples").iterdir())
SMALL_FILES = 10_000
LARGE_S = 1200
ROUNDS = 3
LARGE = {
    "wav": [],
    "rf64.wav": ["-rf64", "always"],
    "aiff": [],
    "flac": ["-compression_level", "0"],
    "mp3": ["-b:a", "320k"],
    "alac.m4a": ["-c:a", "alac"],
    "ogg": ["-c:a", "libvorbis", "-b:a", "400k"],
    "opus": ["-c:a", "libopus", "-b:a", "400k"],
}


def best_s(work: Callable[[], object], rounds: int = ROUNDS) -> float:
    """The shortest of some runs, in seconds."""
    times = []
    for _ in range(rounds):
        begin = time.perf_counter()
        work()
        times.append(time.perf_counter() - begin)
    return min(times)


def hash_whole(path: Path) -> str:
    """The bare read-and-hash loop."""
    state = hashlib.sha256()
    with open(path, "rb") as file:
        while block := file.read(1 << 20):
            state.update(block)
    return state.hexdigest()


def small_files(folder: Path) -> list[Path]:
    """10,000 small files in folders of a hundred, and none that both loops do not read.

    RF64 is left out, since mutagen does not read it and would win by giving up.
    """
    samples = [sample for sample in SAMPLES if sample.name != "wide.wav"]
    paths = []
    for number in range(SMALL_FILES):
        sample = samples[number % len(samples)]
        path = folder / f"{number // 100:03d}" / f"gtr_{number:05d}{sample.suffix}"
        path.parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(sample, path)
        paths.append(path)
    return paths


def compare_small(paths: list[Path]) -> float:
    ours: list[float] = []
    bare: list[float] = []
    for _ in range(ROUNDS):
        bare.append(best_s(lambda: [mutagen.File(path) for path in paths], 1))
        ours.append(best_s(lambda: [read_audio(path, digest=False) for path in paths], 1))
    ratio = min(bare) / min(ours)
    print(
        f"{len(paths)} small files, digest off: {len(paths) / min(ours):,.0f} files/s, "
        f"{ratio:.2f} x a bare mutagen.File loop (target 0.80)"
    )
    return ratio


def compare_large(folder: Path) -> list[float]:
    if shutil.which("ffmpeg") is None:
        print("large files: skipped, ffmpeg is missing")
        return []
    ratios = []
    noise = folder / "noise.wav"
    source = f"anoisesrc=sample_rate=48000:duration={LARGE_S}:seed=1"
    make = ["ffmpeg", "-v", "error", "-y"]
    subprocess.run([*make, "-f", "lavfi", "-i", source, "-ac", "2", noise], check=True)
    for suffix, options in LARGE.items():
        path = folder / f"large.{suffix}"
        subprocess.run([*make, "-i", noise, *options, path], check=True)
        hash_whole(path)
        ours, bare = [], []
        for _ in range(ROUNDS):
            bare.append(best_s(lambda path=path: hash_whole(path), 1))
            ours.append(best_s(lambda path=path: read_audio(path), 1))
        ratios.append(min(bare) / min(ours))
        size = path.stat().st_size
        print(
            f"{size / 1e6:.0f} MB {suffix}, digest on: {size / min(ours) / 1e6:,.0f} MB/s, "
            f"{ratios[-1]:.2f} x a bare read-and-hash loop (target 0.80)"
        )
        if suffix != "wav":
            path.unlink()
    return ratios


def peak_mb(path: Path) -> float:
    """Peak memory of a process of its own that reads the file, in megabytes."""
    code = (
        "import resource, sys; from logbook.audio.reading import read_audio;"
        "read_audio(sys.argv[1]);"
        "print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)"
    )
    out = subprocess.run([sys.executable, "-c", code, path], check=True, capture_output=True)
    return int(out.stdout) / 1024


def compare_memory(folder: Path) -> bool:
    large = folder / "large.wav"
    if not large.exists():
        return True
    small_mb, large_mb = peak_mb(SAMPLES[-1]), peak_mb(large)
    print(
        f"peak memory: {small_mb:.0f} MB for a small file, {large_mb:.0f} MB for one of "
        f"{large.stat().st_size / 1e6:.0f} MB (target under 150 MB and flat)"
    )
    return large_mb < 150 and large_mb - small_mb < 20


def compare_scans(folder: Path) -> float:
    begin = time.perf_counter()
    found = list(scan(folder, {}))
    first_s = time.perf_counter() - begin
    known = {
        fresh.name: KnownFile(fresh.info.size_bytes, fresh.info.modified_ns)
        for fresh in found
        if isinstance(fresh, Fresh)
    }
    assert len(known) == SMALL_FILES
    again: list[object] = []
    second_s = best_s(lambda: again.extend(scan(folder, known)), 1)
    assert all(isinstance(found, Unchanged) for found in again)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(
        f"scan of {len(found)} files: {first_s:.2f} s, again {second_s:.3f} s, "
        f"{first_s / second_s:.0f} x quicker (target 10); peak {peak:.0f} MB"
    )
    return first_s / second_s


IMPORT = """
import resource, sys, time
from pathlib import Path
from logbook.importing.folder import import_folder
from logbook.importing.matching import ImportOptions
from logbook.store.lifecycle import open_log

with open_log(sys.argv[1]) as store:
    for _ in range(2):
        begin = time.perf_counter()
        done = import_folder(store, Path(sys.argv[2]), ImportOptions(), command="import")
        print(time.perf_counter() - begin, len(done.outcomes))
print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)
"""


def compare_imports(folder: Path, log: Path, paths: list[Path]) -> bool:
    """A whole import and a second one, in a process of its own."""
    bare_s = best_s(lambda: [mutagen.File(path) for path in paths])
    command = [sys.executable, "-c", IMPORT, str(log), str(folder)]
    out = subprocess.run(command, check=True, capture_output=True, text=True).stdout.split()
    first_s, second_s, peak = float(out[0]), float(out[2]), int(out[4]) / 1024
    assert (int(out[1]), int(out[3])) == (SMALL_FILES, 0)
    print(
        f"import of {SMALL_FILES} files into a log: {first_s:.2f} s, again {second_s:.3f} s, "
        f"{first_s / second_s:.0f} x quicker (target 10); peak {peak:.0f} MB (target 150); "
        f"{bare_s / first_s:.2f} x the files a second of a bare mutagen.File loop"
    )
    return first_s / second_s >= 10 and peak < 150


def main() -> int:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        small = folder / "small"
        paths = small_files(small)
        reached = [compare_small(paths) >= 0.8, compare_scans(small) >= 10]
        reached.append(compare_imports(small, folder / "log.db", paths))
        reached += [ratio >= 0.8 for ratio in compare_large(folder)]
        reached.append(compare_memory(folder))
    return 0 if all(reached) else 1


if __name__ == "__main__":
    sys.exit(main())
