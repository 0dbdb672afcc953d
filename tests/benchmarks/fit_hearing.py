"""Fits the note model of the listening room on rendered material, and writes its weights.

    python tests/benchmarks/fit_hearing.py [PARTS]

Parts are rendered with seeds that no test and no benchmark uses (500,000 and up). Each span's
spectra are kept, not the sound. A third of the parts is played by other sounds of the same sound
fonts than those that are scored (jazz, overdriven and distorted guitar), so that the model does not
learn three instruments by heart. Needs fluidsynth, both sound fonts, ffmpeg and scikit-learn.
"""

from __future__ import annotations

import random
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))

import itertools

from logbook.listening import notes
from logbook.listening.decoding import decode
from logbook.listening.notes import INPUTS, inputs
from logbook.listening.spectra import span_spectra
from tests.listening import rendered as r

FIRST_SEED = 500


def cases(count: int, first: int = FIRST_SEED) -> list[r.Wanted]:
    out = []
    for n, wanted in enumerate(r.spread_of_cases(count, seed=first, bars=12)):
        sound = wanted.sound
        if n % 5 == 4:
            sound = random.Random(n).choice(("jazz", "overdriven", "distorted"))
        out.append(replace(wanted, sound=sound, voicings=20))
    return out


def spectra_of(wanted: r.Wanted, jitter: float = 2.0) -> dict[str, np.ndarray]:
    """Spectra and truth of a part, kept on disk; the sound is thrown away."""
    keep = r.CACHE / f"{wanted.seed}.npz"
    if not keep.exists():
        part = r.render(wanted)
        sound = decode(part.path)
        cents = 12.0 if wanted.condition == "muted" else 0.0
        cents += random.Random(wanted.seed).gauss(0.0, jitter)
        levels = span_spectra(sound.samples, sound.rate, part.spans, cents).levels
        truth = np.zeros((len(part.spans), 128), dtype=bool)
        for n, notes in enumerate(part.notes):
            truth[n, list(notes)] = True
        low = min(part.open_strings) + part.capo
        length = np.array([b - a for a, b in part.spans])
        np.savez(keep, levels=levels.astype(np.float16), truth=truth, low=low, length=length)
        part.path.unlink()
    with np.load(keep) as kept:
        return dict(kept)


def rows_of(wanted: list[r.Wanted], rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray]:
    """Inputs and truth of the note model, tilted at random as an equaliser would."""
    every_in, every_out = [], []
    for each in wanted:
        kept = spectra_of(each)
        low = int(kept["low"])
        pitches = np.arange(low, low + 44)
        levels = kept["levels"].astype(np.float32)
        tilt = rng.normal(0.0, 0.05, size=(len(levels), 1, 1))
        levels = np.where(levels > 0, levels + tilt * (np.arange(levels.shape[2]) - 40) / 24.0, 0.0)
        levels = np.clip(levels - np.maximum(levels.max(axis=2, keepdims=True) - 1.0, 0), 0, 1.3)
        rows = inputs(levels.astype(np.float32), kept["length"].astype(np.float32), pitches)
        every_in.append(rows.reshape(-1, INPUTS).astype(np.float16))
        every_out.append(kept["truth"][:, pitches].reshape(-1))
    return np.concatenate(every_in), np.concatenate(every_out)


def fit(
    rows: np.ndarray,
    truth: np.ndarray,
    sizes: tuple[int, ...] = (72, 32),
    rounds: int = 12,
    seed: int = 0,
) -> list[tuple[np.ndarray, np.ndarray]]:
    """A net of rectified sums, by Adam on cross entropy with weight decay (the usual method)."""
    rng = np.random.default_rng(seed)
    layers = [rows.shape[1], *sizes, 1]
    params = []
    for a, b in itertools.pairwise(layers):
        params += [
            rng.normal(0, np.sqrt(2 / a), (a, b)).astype(np.float32),
            np.zeros(b, np.float32),
        ]
    first = [np.zeros_like(p) for p in params]
    second = [np.zeros_like(p) for p in params]
    size, step = 512, 0
    total = rounds * (len(rows) // size)
    for _ in range(rounds):
        order = rng.permutation(len(rows))
        loss = 0.0
        for at in range(0, len(order) - size + 1, size):
            pick = order[at : at + size]
            acts = [rows[pick].astype(np.float32)]
            for n in range(0, len(params) - 2, 2):
                acts.append(np.maximum(acts[-1] @ params[n] + params[n + 1], 0))
            out = (acts[-1] @ params[-2] + params[-1])[:, 0]
            said = 1 / (1 + np.exp(-out))
            loss += float(np.mean(np.logaddexp(0, out) - truth[pick] * out))
            back = ((said - truth[pick]) / size)[:, None].astype(np.float32)
            grads: list[np.ndarray] = []
            for n in range(len(params) - 2, -1, -2):
                grads = [acts[n // 2].T @ back + 2e-5 * params[n], back.sum(axis=0), *grads]
                back = (back @ params[n].T) * (acts[n // 2] > 0)
            step += 1
            rate = 2e-3 * 0.5 * (1 + np.cos(np.pi * step / total)) + 1e-5
            for p, g, m, v in zip(params, grads, first, second, strict=True):
                m += 0.1 * (g - m)
                v += 0.001 * (g * g - v)
                p -= rate * (m / (1 - 0.9**step)) / (np.sqrt(v / (1 - 0.999**step)) + 1e-8)
        print(f"loss {loss / (len(rows) // size):.5f}", flush=True)
    return list(zip(params[::2], params[1::2], strict=True))


def write(layers: list[tuple[np.ndarray, np.ndarray]], path: Path) -> None:
    kept = {}
    for n, (matrix, offset) in enumerate(layers):
        kept[f"w{n}"], kept[f"b{n}"] = matrix.astype(np.float16), offset.astype(np.float16)
    np.savez_compressed(path, **kept)


def main() -> None:
    wanted = cases(int(sys.argv[1]))
    for each in wanted:
        spectra_of(each)
    if "--fit" in sys.argv:
        rows, truth = rows_of(wanted, np.random.default_rng(1))
        print(rows.shape, truth.mean())
        write(fit(rows, truth), Path(notes.__file__).with_name(notes.WEIGHTS))


if __name__ == "__main__":
    main()
