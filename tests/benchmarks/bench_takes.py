"""Many takes and long ones: how quickly a comp of them is found, and in how little memory.

    python tests/benchmarks/bench_takes.py [--seconds N]

A comp of 40 takes of five minutes, four pieces in five at their own place and one from other bars,
is worked out in a process of its own; then one of three takes of an hour. With --seconds that of
40 takes alone, so long each. Printed: the share of half seconds clear of joins that are right (the
right take, its source to 1 ms) and false, seconds and megabytes. Exit 1 where less than 99.5 % is
right, anything is false, a comp of 40 takes is not found at 20 times real time on two processors
of the usual machine, or one takes a gigabyte.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

import numpy as np
import soundfile as sf

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.benchmarks.measuring import Cost, Judged, cost_of
from tests.listening import material as m

RATE = 44_100
TEMPO = 120.0
FADE_S = 0.010
NOTE_S, BURST_S, PARTIALS = 1.2, 0.05, 12
LEAST_RIGHT = 0.995
TIMES_REAL, MOST_MB = 20.0, 1000.0
STEP_S, CLEAR_S = 0.5, 0.02
AT_ONCE = 1 << 20
FIND = """
import json, sys
from pathlib import Path
from logbook.listening import recover_comp
said, bounce, *takes = map(Path, sys.argv[1:])
pieces = [(p.start, p.end, p.take, p.source) for p in recover_comp(bounce, takes)]
said.write_text(json.dumps(pieces))
"""


class Case(NamedTuple):
    """Takes, their length in seconds, and how many times real time is asked (0: not judged)."""

    takes: int
    seconds: int
    times_real: float


def main() -> int:
    parser = argparse.ArgumentParser()
    parser.add_argument("--seconds", type=int, help="of the 40 takes")
    seconds = parser.parse_args().seconds
    cases = [Case(40, seconds or 300, TIMES_REAL)]
    if seconds is None:
        cases.append(Case(3, 3600, 0.0))
    missed: list[str] = []
    for case in cases:
        with tempfile.TemporaryDirectory() as folder:
            missed += _measured(case, Path(folder))
    for line in missed:
        print(f"missed: {line}")
    return 1 if missed else 0


def _measured(case: Case, home: Path) -> list[str]:
    """Make, find and judge one comp; what was missed."""
    name = f"{case.takes} takes of {case.seconds} s"
    plan = _plan(case)
    _made(case, plan, home)
    judged = Judged(case.seconds / (case.times_real or 1.0), processes=2)
    cost, pieces = _found(home)
    if cost.code:
        return [f"{name}: {cost.errors.strip()}"]
    quick, how = judged.after(cost)
    right, false = _shares(pieces, plan)
    print(
        f"{name}: {100 * right:.2f} % right, {100 * false:.2f} % false, {len(pieces)} pieces of"
        f" {len(plan)}; {cost.megabytes:.0f} MB"
    )
    print(f"{name}: {how if case.times_real else f'{cost.processors:.0f} s of processors'}")
    missed = []
    if right < LEAST_RIGHT or false:
        missed.append(f"{name}: {100 * right:.2f} % right, {100 * false:.2f} % false")
    if case.times_real and not quick:
        missed.append(f"{name}: not {case.times_real:.0f} times real time on two processors")
    if cost.megabytes > MOST_MB:
        missed.append(f"{name}: {cost.megabytes:.0f} MB")
    return missed


def _lead_in(take: int) -> float:
    """Seconds before the first bar of a take."""
    return 0.5 + 0.137 * take


def _plan(case: Case) -> list[m.TruePiece]:
    rng = random.Random(case.seconds)
    bars = int(case.seconds / m.bar_length(TEMPO))
    chosen: list[tuple[int | None, int, int]] = []
    at, last = 0, -1
    while at < bars:
        count = min(rng.choice((1, 2, 4, 4)), bars - at)
        last = rng.choice([n for n in range(case.takes) if n != last])
        source = at if rng.random() < 0.8 else rng.randrange(bars - count + 1)
        chosen.append((last, source, count))
        at += count
    leads = [_lead_in(take) for take in range(case.takes)]
    return m.plan_of(chosen, tempo=TEMPO, lead_in=leads)


def _made(case: Case, plan: Sequence[m.TruePiece], home: Path) -> None:
    """Write the takes and the comp; one take is held at a time."""
    comp = np.zeros(round(plan[-1].end * RATE), dtype=np.float32)
    half = round(FADE_S * RATE / 2)
    notes: dict[int, np.ndarray] = {}
    for take in range(case.takes):
        sound = _played(take, case.seconds, notes)
        _write(home / f"take {take + 1:02}.wav", sound)
        for piece in plan:
            if piece.take != take:
                continue
            first, last = round(piece.start * RATE), round(piece.end * RATE)
            early, late = min(half, first), min(half, comp.size - last)
            gain = np.full(last - first + early + late, 0.8, dtype=np.float32)
            if early:
                gain[: 2 * early] *= np.linspace(0, 1, 2 * early, dtype=np.float32)
            if late:
                gain[-2 * late :] *= np.linspace(1, 0, 2 * late, dtype=np.float32)
            begin = round(piece.source * RATE) - early
            comp[first - early : last + late] += gain * sound[begin : begin + gain.size]
    _write(home / "bounce.wav", comp)


def _played(take: int, seconds: int, tables: dict[int, np.ndarray]) -> np.ndarray:
    """One performance: every note is a decaying string of its own phases and levels."""
    seed = 1000 + take
    rng = np.random.default_rng(seed)
    out = 1e-5 * rng.standard_normal(round((seconds + _lead_in(take) + 2) * RATE), np.float32)
    bars = int(seconds / m.bar_length(TEMPO))
    size, burst = round(NOTE_S * RATE), round(BURST_S * RATE)
    struck = 0.4 * np.exp(-np.arange(burst) / RATE / 0.006).astype(np.float32)
    for note in m.perform(seed, bars=bars, tempo=TEMPO, lead_in=_lead_in(take), style="pick"):
        if note.pitch not in tables:
            tables[note.pitch] = _partials(note.pitch, size)
        table = tables[note.pitch]
        phase = rng.uniform(0, 2 * np.pi, len(table) // 2)
        level = np.exp(rng.normal(0, 0.2, phase.size))
        mixed = np.concatenate([level * np.cos(phase), level * np.sin(phase)])
        sound = mixed.astype(np.float32) @ table
        sound[:burst] += struck * rng.standard_normal(burst, np.float32)
        begin = round(note.start * RATE)
        loud = np.float32(0.08 * 10 ** ((note.velocity - 127) / 40))
        out[begin : begin + size] += loud * sound[: out.size - begin]
    return out


def _partials(pitch: int, size: int) -> np.ndarray:
    """Sines, then cosines, of a string's partials as they decay."""
    at = np.arange(size) / RATE
    number = np.arange(1, PARTIALS + 1)
    hertz = 440 * 2 ** ((pitch - 69) / 12) * number * np.sqrt(1 + 4e-5 * number**2)
    turns = 2 * np.pi * hertz[:, None] * at
    decay = np.exp(-at * (1.5 + 0.6 * number[:, None])) / number[:, None]
    decay *= np.clip((at[-1] - at) / 0.02, 0.0, 1.0)
    return np.concatenate([np.sin(turns) * decay, np.cos(turns) * decay]).astype(np.float32)


def _write(path: Path, sound: np.ndarray) -> None:
    """In stereo, the right side softer."""
    with sf.SoundFile(path, "w", RATE, 2, "PCM_16") as file:
        for at in range(0, sound.size, AT_ONCE):
            part = sound[at : at + AT_ONCE]
            file.write(np.stack([part, np.float32(0.7) * part], axis=1))


def _found(home: Path) -> tuple[Cost, list[tuple[float, float, int | None, float]]]:
    """What finding the comp costs, and its pieces: start, end, take, source."""
    said = home / "pieces.json"
    takes = sorted(home.glob("take *.wav"))
    command = [sys.executable, "-c", FIND, str(said), str(home / "bounce.wav"), *map(str, takes)]
    root = Path(__file__).parents[2]
    cost = cost_of(command, {**os.environ, "PYTHONPATH": str(root)}, root)
    return cost, json.loads(said.read_text()) if said.exists() else []


def _shares(
    pieces: Sequence[tuple[float, float, int | None, float]], plan: Sequence[m.TruePiece]
) -> tuple[float, float]:
    """Shares right and false of moments clear of joins."""
    right = false = count = 0
    for true in plan:
        for at in np.arange(true.start + CLEAR_S, true.end - CLEAR_S, STEP_S):
            start, _, take, source = next(p for p in reversed(pieces) if p[0] <= at)
            lag = true.source - true.start
            fits = take == true.take and abs(source - start - lag) < 0.001
            count += 1
            right += fits
            false += take is not None and not fits
    return right / count, false / count


if __name__ == "__main__":
    sys.exit(main())
