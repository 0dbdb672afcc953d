"""Fits the note model of the listening room on rendered material, and writes its weights.

    python tests/benchmarks/fit_hearing.py PARTS [MINUTES [FILE]]

Parts are rendered with seeds that no test and no benchmark uses (500,000 and up). Each part's sound
and spectra are kept in the folder of renderings. A fifth of the parts is played by other sounds of
the same sound fonts than those that are scored (jazz, overdriven and distorted guitar), and a
sixth by made-up strings, each part another instrument, so that the model does not learn three
guitars by heart. Lines of single notes on guitar and bass, and noise, come on top. Needs
fluidsynth, both sound fonts and ffmpeg.
"""

from __future__ import annotations

import random
import sys
import time
from dataclasses import replace
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))


from logbook.listening import notes
from logbook.listening.decoding import decode
from logbook.listening.notes import EXTRAS, MARGIN, SEEN, SHARED, first_inputs, second_inputs
from logbook.listening.signals import resampled
from logbook.listening.spectra import AUDIO_RATE, CHANNELS, LOWEST, SEMITONES, channels, frames_of
from tests.listening import rendered as r

FIRST_SEED = 500
Material = dict[str, np.ndarray]


def cases(count: int, first: int = FIRST_SEED) -> list[r.Wanted]:
    out = []
    for n, wanted in enumerate(r.spread_of_cases(count, seed=first, bars=12)):
        sound = wanted.sound
        if n % 5 == 4:
            sound = random.Random(n).choice(("jazz", "overdriven", "distorted"))
        out.append(replace(wanted, sound=sound, voicings=20))
    return out


def strings(count: int, first: int = FIRST_SEED + 100) -> list[r.Wanted]:
    """Parts on made-up strings."""
    return [replace(each, font=r.STRINGS) for each in cases(count, first)]


def lines(count: int, first: int = FIRST_SEED + 300) -> list[r.Wanted]:
    """Lines of single notes, on a guitar and on a bass."""
    out = []
    for n, each in enumerate(cases(count, first)):
        low = n % 2 == 0
        sound = r.BASSES[n // 2 % 3] if low else each.sound
        font = r.STRINGS if n % 7 == 6 else each.font
        division, tuning = ("half", "beat")[n // 2 % 2], "bass" if low else "line"
        out.append(replace(each, sound=sound, font=font, division=division, tuning=tuning, bars=8))
    return out


def muted(count: int, first: int = FIRST_SEED + 400) -> list[r.Wanted]:
    """Parts with hand-muted hits of every kind."""
    return [replace(each, condition="muted") for each in cases(count, first)]


def noise(seconds: int = 120) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Levels, seconds and truth of stretches in which nothing but noise sounds."""
    rng = np.random.default_rng(3)
    parts = []
    for n in range(seconds // 2):
        shape = np.exp(-np.linspace(0, rng.uniform(0, 8), AUDIO_RATE + 1))
        white = np.fft.rfft(rng.normal(size=2 * AUDIO_RATE)) * shape
        parts.append(np.fft.irfft(white) * 10 ** rng.uniform(-2, 0) * (1 if n % 3 else 0.01))
    frames = frames_of(np.concatenate(parts).astype(np.float32), 0.0)
    spans = [(2.0 * n, 2.0 * n + rng.uniform(0.3, 2.0)) for n in range(seconds // 2)]
    levels = np.stack([channels(frames, start, end) for start, end in spans])
    truth = np.zeros((len(spans), SEMITONES), dtype=bool)
    return levels.astype(np.float16), np.diff(spans, axis=1)[:, 0].astype(np.float32), truth


def material(wanted: r.Wanted) -> Material:
    """Sound at AUDIO_RATE and truth of a part, kept on disk."""
    keep = r.CACHE / "fit" / f"{wanted.seed}.npz"
    keep.parent.mkdir(parents=True, exist_ok=True)
    if not keep.exists():
        part = r.render(wanted)
        sound = decode(part.path)
        audio = resampled(sound.samples, sound.rate, AUDIO_RATE)
        truth = np.zeros((len(part.spans), 128), dtype=bool)
        for n, notes in enumerate(part.notes):
            truth[n, list(notes)] = True
        hits, _, _ = r.perform(wanted)
        np.savez(
            keep,
            audio=np.round(audio * 32767).astype(np.int16),
            spans=np.array(part.spans),
            truth=truth,
            hits=np.array([(h.at, h.pitch) for h in hits]),
            low=min(part.open_strings) + part.capo,
            frets=np.array([[-1 if f is None else f for f in g] for g in part.frets]),
            opens=np.array(part.open_strings),
            capo=part.capo,
        )
        part.path.unlink()
    with np.load(keep) as kept:
        return dict(kept)


def spectra_of(kept: Material, wanted: r.Wanted) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Levels, seconds and truth of a part, heard in its true tuning give or take a little."""
    keep = r.CACHE / "fit" / f"{wanted.seed}.levels.npy"
    if not keep.exists():
        rng = random.Random(wanted.seed)
        cents = (12.0 if wanted.condition == "muted" else 0.0) + rng.gauss(0.0, 1.5)
        frames = frames_of(kept["audio"].astype(np.float32) / 32767, cents)
        levels = np.stack([channels(frames, start, end) for start, end in kept["spans"]])
        np.save(keep, levels.astype(np.float16))
    seconds = np.diff(kept["spans"], axis=1)[:, 0].astype(np.float32)
    return np.load(keep), seconds, kept["truth"][:, LOWEST : LOWEST + SEMITONES]


def tilted(levels: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """Levels as an equaliser would leave them: up to some decibels an octave up or down."""
    tilt = rng.normal(0.0, 0.04, size=(len(levels), 1, 1)).astype(np.float32)
    centred = (np.arange(SEMITONES, dtype=np.float32) - 40) / 24.0
    return np.where(levels > 0, np.clip(levels + tilt * centred, 0.0, 1.3), 0.0)


class Net:
    """The note model's layers with their gradients, by Adam on cross entropy (the usual method)."""

    def __init__(self, hidden: tuple[int, int], seed: int = 0) -> None:
        rng = np.random.default_rng(seed)
        one, two = CHANNELS * SEEN.size + EXTRAS, hidden[0] * SHARED.size
        shapes = [(one, hidden[0]), (two, hidden[1]), (hidden[1], 1)]
        self.p: list[np.ndarray] = []
        for a, b in shapes:
            self.p += [rng.normal(0, np.sqrt(2 / a), (a, b)).astype(np.float32)]
            self.p += [np.zeros(b, dtype=np.float32)]
        self.p[-1][:] = -2.0
        self.m = [np.zeros_like(p) for p in self.p]
        self.v = [np.zeros_like(p) for p in self.p]
        self.step = 0

    def learn(
        self, levels: np.ndarray, seconds: np.ndarray, truth: np.ndarray, rate: float
    ) -> float:
        """One step on a batch of stretches; the loss a pitch."""
        w1, b1, w2, b2, w3, b3 = self.p
        lows, highs = 0, 66  # pitches that are learned: MIDI 24 to 89
        x = first_inputs(levels, seconds)
        h1 = np.maximum(x @ w1 + b1, 0)
        s = second_inputs(h1)[:, lows:highs]
        h2 = np.maximum(s @ w2 + b2, 0)
        out = (h2 @ w3 + b3)[:, :, 0]
        y = truth[:, lows:highs].astype(np.float32)
        loss = float(np.mean(np.logaddexp(0, out) - y * out))
        d = ((1 / (1 + np.exp(-out)) - y) / len(levels))[:, :, None].astype(np.float32)
        g3 = np.tensordot(h2, d, ((0, 1), (0, 1)))
        d2 = (d @ w3.T) * (h2 > 0)
        flat = d2.reshape(-1, d2.shape[2])
        g2 = s.reshape(-1, s.shape[2]).T @ flat
        ds = (d2 @ w2.T).reshape(len(levels), highs - lows, SHARED.size, -1)
        d1 = np.zeros((len(levels), SEMITONES + 2 * MARGIN, h1.shape[2]), dtype=np.float32)
        for n, offset in enumerate(SHARED):
            d1[:, lows + MARGIN + offset : highs + MARGIN + offset] += ds[:, :, n]
        d1 = d1[:, MARGIN:-MARGIN] * (h1 > 0)
        g1 = x.reshape(-1, x.shape[2]).T @ d1.reshape(-1, d1.shape[2])
        grads = [g1, d1.sum(axis=(0, 1)), g2, flat.sum(axis=0), g3, d.sum(axis=(0, 1))]
        self.step += 1
        for p, g, m, v in zip(self.p, grads, self.m, self.v, strict=True):
            g = g + 1e-4 * p
            m += 0.1 * (g - m)
            v += 0.002 * (g * g - v)
            p -= rate * (m / (1 - 0.9**self.step)) / (np.sqrt(v / (1 - 0.998**self.step)) + 1e-7)
        return loss


def fit(
    levels: np.ndarray, seconds: np.ndarray, truth: np.ndarray, minutes: float, where: Path
) -> None:
    """Fit for so many minutes, the rate falling to nothing; goes on from weights that are there."""
    net, rng, size = Net((32, 24)), np.random.default_rng(1), 32
    highest = 1e-3 if where.exists() else 2e-3
    if where.exists():
        with np.load(where) as kept:
            net.p = [kept[f"p{n}"].astype(np.float32) for n in range(len(net.p))]
    begun, losses = time.monotonic(), []
    while (part := (time.monotonic() - begun) / (60 * minutes)) < 1:
        order = rng.permutation(len(levels))
        for at in range(0, len(order) - size + 1, size):
            part = min(1.0, (time.monotonic() - begun) / (60 * minutes))
            pick = order[at : at + size]
            rate = (
                highest * min(1.0, (net.step + 1) / 200) * 0.5 * (1 + np.cos(np.pi * part)) + 1e-6
            )
            batch = tilted(levels[pick].astype(np.float32), rng)
            losses.append(net.learn(batch, seconds[pick], truth[pick], rate))
        print(f"{part:.2f} loss {np.mean(losses[-len(order) // size :]):.5f}", flush=True)
        np.savez_compressed(where, **{f"p{n}": p.astype(np.float16) for n, p in enumerate(net.p)})


def main() -> None:
    """Render what is missing of so many parts; with minutes given, fit as well."""
    count = int(sys.argv[1])
    wanted = cases(count) + strings(count // 5) + lines(count // 8) + muted(count // 5)
    if len(sys.argv) < 3:
        for each in wanted:
            material(each)
        return
    rows = [noise(), *(spectra_of(material(each), each) for each in wanted)]
    levels, seconds, truth = (np.concatenate(column) for column in zip(*rows, strict=True))
    print(levels.shape, flush=True)
    where = (
        Path(sys.argv[3]) if len(sys.argv) > 3 else Path(notes.__file__).with_name(notes.WEIGHTS)
    )
    fit(levels, seconds, truth, float(sys.argv[2]), where)


if __name__ == "__main__":
    main()
