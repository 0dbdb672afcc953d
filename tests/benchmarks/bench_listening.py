"""Recovering comps: right, quick and small, beside plain cross-correlation in the same run.

    python tests/benchmarks/bench_listening.py [--long]

Performances rendered by FluidSynth are cut into comps, passed on as they are, as MP3, through a
channel strip and both. The plain method correlates every second of the bounce with the whole of
every take and takes the highest peak. Printed: times real time (decoding and all takes
included, best of three, as on the usual machine: see measuring), whole seconds right, worst join,
worst lag, wrong pieces. --long adds four takes of five minutes and the peak memory of a process of
its own. Exit 1 when a target is missed: every second right, joins within 10 ms of the crossfade,
lags exact (1 ms after MP3), no false piece, 100 times real time, 600 MB.
"""

from __future__ import annotations

import random
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import soundfile as sf
from scipy import fft

sys.path.insert(0, str(Path(__file__).parents[2]))

from logbook.listening import Piece, recover_comp
from tests.benchmarks.measuring import BUSY, USUAL_S, yardstick
from tests.listening import material as m
from tests.listening.judging import lag, merged

RATE = 44_100
FADE_S = 0.010
EDGE_S = 0.010 + FADE_S / 2
LEAST_SPEED = 100.0
MOST_MB = 600.0


def main() -> int:
    if not m.HAVE_FLUIDSYNTH:
        print("fluidsynth or its sound font is not installed: nothing measured")
        return 0
    missed: list[str] = []
    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder)
        print(f"{'case':38} {'x real':>7} {'seconds':>9} {'join ms':>8} {'lag us':>7} {'wrong':>6}")
        for takes, seconds in ((2, 45), (4, 100)):
            paths, sounds, lead_in, tempo = _takes(home, takes, seconds)
            plan = _plan(takes, seconds, tempo, lead_in)
            for name, bounce, encoded in _bounces(home, sounds, plan, takes):
                speed, pieces = _timed(bounce, paths)
                label = f"{takes} takes of {seconds} s, {name}"
                missed += _report(label, speed, pieces, plan, encoded)
                if speed < LEAST_SPEED:
                    missed.append(f"{label}: {speed:.0f} times real time")
                if takes == 2 and name == "plain":
                    plain_speed, right = _plain(bounce, paths, plan)
                    print(
                        f"{'  plain cross-correlation':38} {plain_speed:7.1f} {right:>9}"
                        f"   ours is {speed / plain_speed:.0f} times as fast"
                    )
        if "--long" in sys.argv:
            missed += _long(home)
    for line in missed:
        print(f"missed: {line}")
    return 1 if missed else 0


def _takes(
    home: Path, count: int, seconds: int
) -> tuple[list[Path], list[m.Audio], list[float], float]:
    tempo = 112.0
    bars = round(seconds / m.bar_length(tempo))
    lead_in = [0.5 + 0.137 * n for n in range(count)]
    paths = []
    for n, lead in enumerate(lead_in):
        notes = m.perform(100 + n, bars=bars, tempo=tempo, lead_in=lead)
        paths.append(m.render(notes, home / f"{count} x {seconds} {n + 1}.wav"))
    return paths, [sf.read(path)[0] for path in paths], lead_in, tempo


def _plan(takes: int, seconds: int, tempo: float, lead_in: list[float]) -> list[m.TruePiece]:
    rng = random.Random(seconds)
    bars = round(seconds / m.bar_length(tempo)) - 1
    pieces: list[tuple[int | None, int, int]] = []
    at, last = 0, -1
    while at < bars:
        count = min(rng.choice((1, 2, 4, 4)), bars - at)
        last = rng.choice([n for n in range(takes) if n != last])
        source = at if rng.random() < 0.8 else rng.randrange(bars - count + 1)
        pieces.append((last, source, count))
        at += count
    return m.plan_of(pieces, tempo=tempo, lead_in=lead_in)


def _bounces(
    home: Path, sounds: list[m.Audio], plan: list[m.TruePiece], takes: int
) -> list[tuple[str, Path, bool]]:
    sound = m.blend(sounds, plan, RATE, fade=FADE_S)
    plain = m.save(sound, home / f"{takes} plain.wav", RATE)
    strip = m.save(m.channel_strip(sound, RATE), home / f"{takes} strip.wav", RATE)
    out = [("plain", plain, False), ("channel strip", strip, False)]
    if m.HAVE_FFMPEG:
        mp3 = m.encode(plain, home / f"{takes} plain.mp3", "-b:a", "192k")
        both = m.encode(strip, home / f"{takes} strip.mp3", "-b:a", "192k")
        out += [("MP3", mp3, True), ("channel strip and MP3", both, True)]
    return out


def _timed(bounce: Path, takes: Sequence[Path]) -> tuple[float, Sequence[Piece]]:
    best = np.inf, np.inf
    pieces: Sequence[Piece] = []
    for _ in range(3):
        start, worked = time.perf_counter(), time.process_time()
        pieces = recover_comp(bounce, takes)
        best = min(best, (time.perf_counter() - start, time.process_time() - worked))
    return pieces[-1].end / _usual(*best, processors=2), pieces


def _usual(seconds: float, worked: float, *, processors: int) -> float:
    """What took so long by the clock and of processors, in seconds of the usual machine."""
    clock, stick = yardstick(processors)
    busy = clock > BUSY * stick
    took, each = (worked / processors, stick) if busy else (seconds, clock)
    return took / max(1.0, each / USUAL_S)


def _report(
    label: str,
    speed: float,
    pieces: Sequence[Piece],
    plan: Sequence[m.TruePiece],
    encoded: bool,
) -> list[str]:
    wanted = merged(plan)
    right, seconds = _seconds_right(pieces, plan)
    joins = [piece.start for piece in pieces[1:]]
    edge = max(min(abs(p.start - join) for join in joins) for p in wanted[1:]) if joins else 9.9
    worst = 0.0
    for piece in pieces:
        true = _at(plan, (piece.start + piece.end) / 2)
        if piece.take is not None and piece.take == true.take:
            # What the cutting rounded to samples is the truth.
            done = (round(true.source * RATE) - round(true.start * RATE)) / RATE
            worst = max(worst, abs(lag(piece) - done))
    wrong = len(pieces) - len(wanted)
    print(
        f"{label:38} {speed:7.0f} {right:4}/{seconds:<4} {1e3 * edge:8.1f} {1e6 * worst:7.0f}"
        f" {wrong:6}"
    )
    missed = []
    if right != seconds or wrong:
        missed.append(f"{label}: {seconds - right} seconds and {wrong} pieces wrong")
    if edge > EDGE_S:
        missed.append(f"{label}: a join is {1e3 * edge:.1f} ms off")
    if worst > (0.001 if encoded else 0.5 / RATE):
        missed.append(f"{label}: a lag is {1e6 * worst:.0f} microseconds off")
    return missed


def _at(pieces: Sequence[m.TruePiece], seconds: float) -> m.TruePiece:
    return next(p for p in reversed(pieces) if p.start <= seconds)


def _seconds_right(pieces: Sequence[Piece], plan: Sequence[m.TruePiece]) -> tuple[int, int]:
    """Whole seconds without a join in them whose take and place are right, and how many."""
    right = count = 0
    joins = [p.start for p in plan[1:]]
    for second in range(int(plan[-1].end)):
        if any(second - 0.02 < join < second + 1.02 for join in joins):
            continue
        count += 1
        true = _at(plan, second + 0.5)
        piece = next(p for p in reversed(pieces) if p.start <= second + 0.5)
        right += piece.take == true.take and abs(lag(piece) - lag(true)) < 0.001
    return right, count


def _plain(bounce: Path, takes: Sequence[Path], plan: Sequence[m.TruePiece]) -> tuple[float, str]:
    """Times real time, and seconds right, of normalised cross-correlation second by second."""
    start, worked = time.perf_counter(), time.process_time()
    sound = sf.read(bounce)[0].mean(axis=1)
    others = [sf.read(path)[0].mean(axis=1) for path in takes]
    size = fft.next_fast_len(max(len(x) for x in others) + RATE, real=True)
    spectra = [fft.rfft(x, size) for x in others]
    sums = [np.concatenate([[0.0], np.cumsum(x**2)]) for x in others]
    found = []
    for second in range(len(sound) // RATE):
        block = sound[second * RATE : (second + 1) * RATE]
        best = (0.0, 0, 0)
        for take, (spectrum, total) in enumerate(zip(spectra, sums, strict=True)):
            spread = fft.irfft(spectrum * np.conj(fft.rfft(block, size)), size)
            places = len(total) - 1 - RATE
            power = np.sqrt(total[RATE : RATE + places] - total[:places] + 1e-9)
            value = np.abs(spread[:places]) / power
            at = int(np.argmax(value))
            best = max(best, (float(value[at]), take, at))
        found.append(best)
    took = time.perf_counter() - start, time.process_time() - worked
    elapsed = _usual(*took, processors=1)
    right = count = 0
    joins = [p.start for p in plan[1:]]
    for second, (_, take, at) in enumerate(found):
        if any(second - 0.02 < join < second + 1.02 for join in joins):
            continue
        true = _at(plan, second + 0.5)
        count += 1
        right += take == true.take and abs(at / RATE - second - lag(true)) < 0.001
    return len(sound) / RATE / elapsed, f"{right}/{count}"


def _long(home: Path) -> list[str]:
    """Four takes of five minutes in a process of their own: its peak memory and speed."""
    paths, sounds, lead_in, tempo = _takes(home, 4, 300)
    plan = _plan(4, 300, tempo, lead_in)
    bounce = m.save(m.blend(sounds, plan, RATE, fade=FADE_S), home / "long.wav", RATE)
    del sounds
    code = (
        "import sys, time\nfrom logbook.listening import recover_comp\n"
        "start = time.perf_counter()\npieces = recover_comp(sys.argv[1], sys.argv[2:])\n"
        "print(pieces[-1].end / (time.perf_counter() - start))\n"
        "print(open('/proc/self/status').read())"
    )
    command = [sys.executable, "-c", code, str(bounce), *map(str, paths)]
    said = subprocess.run(command, check=True, capture_output=True, text=True).stdout
    speed = float(said.split()[0])
    peak = int(said.split("VmHWM:")[1].split()[0]) / 1024
    print(f"{'4 takes of 300 s, own process':38} {speed:7.0f}   peak {peak:.0f} MB")
    return [f"{peak:.0f} MB for four takes of five minutes"] if peak > MOST_MB else []


if __name__ == "__main__":
    sys.exit(main())
