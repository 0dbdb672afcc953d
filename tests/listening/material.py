"""Test material: performances of a part, takes of it, and comps cut from the takes.

Two sources of sound. `render` plays a MIDI performance through FluidSynth with the FluidR3
General MIDI sound font, when both are installed; `pluck` is a few lines of numpy that make a
decaying string, quick enough for unit tests. Either way each take is a performance of its own:
every note has its own time, loudness and place in the strum.

Comps are joined with linear crossfades centred on the edit point, and say what they are
made of, so that what was recovered can be held against what was done.
"""

from __future__ import annotations

import functools
import os
import random
import shutil
import subprocess
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import mido
import numpy as np
import numpy.typing as npt
import soundfile as sf
from scipy import signal

Audio = npt.NDArray[np.float64]  # frames x channels

SOUND_FONT = Path("/usr/share/sounds/sf2/FluidR3_GM.sf2")
HAVE_FLUIDSYNTH = shutil.which("fluidsynth") is not None and SOUND_FONT.exists()
HAVE_FFMPEG = shutil.which("ffmpeg") is not None

# A plain progression in G: open shapes, low string to high, MIDI note numbers.
SHAPES: dict[str, tuple[int, ...]] = {
    "G": (43, 47, 50, 55, 59, 67),
    "C": (48, 52, 55, 60, 64),
    "D": (50, 57, 62, 66),
    "Em": (40, 47, 52, 55, 59, 64),
    "Am": (45, 52, 57, 60, 64),
    "Bm": (47, 54, 59, 62, 66),
}
PROGRESSION = ("G", "D", "Em", "C", "G", "Bm", "C", "D", "Am", "C", "G", "D", "Em", "Am", "C", "D")
STRUM = (0.0, 1.0, 1.5, 2.5, 3.0, 3.5)  # beats of a bar
PICK = (0.0, 0.5, 1.0, 1.5, 2.0, 2.5, 3.0, 3.5)


@dataclass(frozen=True, kw_only=True)
class Note:
    """One struck note: seconds from the start of the file, MIDI pitch and velocity."""

    start: float
    length: float
    pitch: int
    velocity: int


@dataclass(frozen=True, kw_only=True)
class Player:
    """How unlike the page a performance is: standard deviations, seconds and MIDI steps."""

    timing: float = 0.008
    loudness: float = 7.0
    spread: tuple[float, float] = (0.008, 0.025)


@dataclass(frozen=True, kw_only=True)
class TruePiece:
    """What a comp really has at `start` to `end` (seconds): take and source, or None."""

    start: float
    end: float
    take: int | None
    source: float
    gain_db: float = 0.0


def bar_length(tempo: float) -> float:
    """Seconds of a 4/4 bar at `tempo` beats a minute."""
    return 240.0 / tempo


def perform(
    seed: int,
    *,
    bars: int = 16,
    tempo: float = 120.0,
    lead_in: float = 0.5,
    style: str = "strum",
    player: Player | None = None,
    silent_bars: Sequence[int] = (),
) -> list[Note]:
    """One performance of the progression: `style` is strum, pick or line (a bass line)."""
    player = player or Player()
    rng = random.Random(seed)
    beat = 60.0 / tempo
    notes: list[Note] = []
    for bar in range(bars):
        if bar in silent_bars:
            continue
        chord = SHAPES[PROGRESSION[bar % len(PROGRESSION)]]
        for step, place in enumerate(STRUM if style == "strum" else PICK):
            at = lead_in + (4 * bar + place) * beat + rng.gauss(0.0, player.timing)
            loud = 84 + (8 if place in (0.0, 2.0) else 0)
            if style == "strum":
                up = place % 1.0 != 0.0
                strings = tuple(reversed(chord))[:4] if up else chord
                spread = rng.uniform(*player.spread)
                hits = [(i * spread / len(strings), p) for i, p in enumerate(strings)]
                length = 1.4 * beat
            elif style == "pick":
                hits = [(0.0, chord[(0, 2, 1, 3, 2, -1, 1, 2)[step] % len(chord)])]
                length = 2.0 * beat
            else:
                hits = [(0.0, chord[0] - (12 if step % 4 else 0))]
                length = 0.45 * beat
            for late, pitch in hits:
                start = max(0.0, at + late + rng.gauss(0.0, 0.15 * player.timing))
                velocity = round(min(120.0, max(30.0, loud + rng.gauss(0.0, player.loudness))))
                notes.append(Note(start=start, length=length, pitch=pitch, velocity=velocity))
    return sorted(notes, key=lambda note: note.start)


def write_midi(notes: Sequence[Note], path: Path, *, program: int = 25) -> None:
    """Write notes at 480 ticks a beat of 120 a minute (about one tick a millisecond)."""
    per_second = 960
    events: list[tuple[int, int, int, int]] = []
    for note in notes:
        events.append((round(note.start * per_second), 1, note.pitch, note.velocity))
        events.append((round((note.start + note.length) * per_second), 0, note.pitch, 0))
    track = mido.MidiTrack([mido.Message("program_change", program=program, time=0)])
    now = 0
    for tick, on, pitch, velocity in sorted(events):
        kind = "note_on" if on else "note_off"
        track.append(mido.Message(kind, note=pitch, velocity=velocity, time=tick - now))
        now = tick
    mido.MidiFile(ticks_per_beat=480, tracks=[track]).save(path)


def render(
    notes: Sequence[Note], path: Path, *, rate: int = 44100, program: int = 25, tuning: float = 0.0
) -> Path:
    """Play notes through FluidSynth into a 16-bit stereo WAV; `tuning` in cents."""
    midi = path.with_suffix(".mid")
    write_midi(notes, midi, program=program)
    command = ["fluidsynth", "-ni", "-q", "-g", "0.5", "-r", str(rate), "-O", "s16"]
    command += ["-F", str(path)]
    if tuning:
        settings = path.with_suffix(".cfg")
        keys = "\n".join(f"tune 0 0 {key} {100 * key + tuning:.3f}" for key in range(128))
        settings.write_text(f"tuning t 0 0\n{keys}\nsettuning 0 0 0\n")
        command += ["-f", str(settings)]
    command += [str(SOUND_FONT), str(midi)]
    quiet = {**os.environ, "SDL_AUDIODRIVER": "dummy"}
    subprocess.run(command, check=True, capture_output=True, timeout=300, env=quiet)
    return path


def pluck(
    notes: Sequence[Note], *, seconds: float, rate: int = 22050, seed: int = 0, a4: float = 440.0
) -> Audio:
    """Decaying strings of a few partials with a little pick noise; stereo, seeded."""
    rng = np.random.default_rng(seed)
    out = np.zeros(round(seconds * rate))
    whole = np.arange(round(1.2 * rate)) / rate
    pick_noise = 0.4 * np.exp(-whole / 0.006)
    for note in notes:
        first = round(note.start * rate)
        t = whole[: max(0, len(out) - first)]
        if t.size == 0:
            continue
        ringing = _partials(a4 * 2.0 ** ((note.pitch - 69) / 12), rate)
        phases = rng.uniform(0, 2 * np.pi, size=len(ringing) // 2)
        tone = np.concatenate([np.cos(phases), np.sin(phases)]) @ ringing[:, : t.size]
        tone += rng.normal(size=t.size) * pick_noise[: t.size]
        tone *= np.minimum(1.0, (t[-1] - t) / 0.02 + 1e-9)
        out[first : first + t.size] += tone * 10 ** ((note.velocity - 127) / 40)
    out = 0.08 * out + 1e-5 * rng.normal(size=out.size)
    return np.stack([out, 0.7 * out], axis=1)


@functools.lru_cache(maxsize=48)
def _partials(pitch: float, rate: int) -> Audio:
    """What a string of `pitch` hertz rings with: a row a partial as a sine, then as a cosine."""
    t = np.arange(round(1.2 * rate)) / rate
    sines, cosines = [], []
    for k in range(1, 13):
        f = k * pitch * np.sqrt(1 + 4e-5 * k * k)
        if f < 0.45 * rate:
            dying = np.exp(-t * (1.5 + 0.6 * k)) / k
            sines.append(np.sin(2 * np.pi * f * t) * dying)
            cosines.append(np.cos(2 * np.pi * f * t) * dying)
    return np.array(sines + cosines)


def blend(
    takes: Sequence[Audio],
    plan: Sequence[TruePiece],
    rate: int,
    *,
    fade: float = 0.010,
    tail: float = 0.0,
) -> Audio:
    """Cut the comp: pieces of takes at their sources, crossfaded over `fade` seconds.

    A piece whose take is None is silence here; to get something unknown, give the take's sound
    in `takes` and withhold that take from the recovery.
    """
    out = np.zeros((round((plan[-1].end + tail) * rate), takes[0].shape[1]))
    half = round(fade * rate / 2)
    for number, piece in enumerate(plan):
        if piece.take is None:
            continue
        first, last = round(piece.start * rate), round(piece.end * rate)
        early = half if number else 0
        late = half if number + 1 < len(plan) else 0
        gain = np.ones(last - first + early + late)
        if early:
            gain[: 2 * early] = np.linspace(0, 1, 2 * early)
        if late:
            gain[-2 * late :] = np.minimum(gain[-2 * late :], np.linspace(1, 0, 2 * late))
        begin = round(piece.source * rate) - early
        bit = takes[piece.take]
        wanted = np.arange(begin, begin + gain.size)
        sound = np.where(
            ((wanted >= 0) & (wanted < len(bit)))[:, None],
            bit[np.clip(wanted, 0, len(bit) - 1)],
            0.0,
        )
        at = first - early
        into = slice(max(0, at), min(len(out), at + gain.size))
        cut = slice(into.start - at, into.stop - at)
        out[into] += (sound * gain[:, None] * 10 ** (piece.gain_db / 20))[cut]
    return out


def plan_of(
    bars: Sequence[tuple[int | None, int, int]],
    *,
    tempo: float,
    lead_in: Sequence[float],
    gains: Sequence[float] = (),
) -> list[TruePiece]:
    """A comp by bars: (take, first source bar, number of bars), bars counted from 0.

    `lead_in[take]` is where bar 0 is in each take; the comp starts with its first bar.
    """
    bar = bar_length(tempo)
    at = 0
    plan: list[TruePiece] = []
    for number, (take, first, count) in enumerate(bars):
        source = 0.0 if take is None else lead_in[take] + first * bar
        gain = gains[number % len(gains)] if gains else 0.0
        end = (at + count) * bar
        plan.append(TruePiece(start=at * bar, end=end, take=take, source=source, gain_db=gain))
        at += count
    return plan


def shift(plan: Sequence[TruePiece], seconds: float) -> list[TruePiece]:
    """The plan of the same comp with `seconds` of nothing put before it."""
    return [replace(p, start=p.start + seconds, end=p.end + seconds) for p in plan]


def channel_strip(sound: Audio, rate: int, *, wet: float = 0.12, seed: int = 1) -> Audio:
    """Equaliser (low cut, mid bell, high shelf), compressor 3:1 and a short reverb."""
    out = signal.sosfilt(signal.butter(2, 90, "highpass", fs=rate, output="sos"), sound, axis=0)
    for freq, gain_db, q in ((350.0, -4.0, 0.9), (3000.0, 4.0, 0.8), (9000.0, 3.0, 0.7)):
        b, a = bell(freq, gain_db, q, rate)
        out = signal.lfilter(b, a, out, axis=0)
    level = np.max(np.abs(out), axis=1)
    hop = 32
    peaks = np.maximum.reduceat(level, np.arange(0, level.size, hop))
    up, down = np.exp(-hop / (0.005 * rate)), np.exp(-hop / (0.120 * rate))
    envelope = np.empty_like(peaks)
    held = 0.0
    for i, peak in enumerate(peaks):
        c = up if peak > held else down
        held = c * held + (1 - c) * peak
        envelope[i] = held
    threshold = 0.25 * np.max(envelope)
    gain = np.minimum(1.0, (np.maximum(envelope, 1e-9) / threshold) ** (1 / 3 - 1))
    smooth = np.interp(np.arange(level.size), np.arange(peaks.size) * hop, gain)
    out = out * smooth[:, None]
    rng = np.random.default_rng(seed)
    t = np.arange(round(0.35 * rate)) / rate
    room = rng.normal(size=(t.size, out.shape[1])) * np.exp(-t / 0.06)[:, None]
    room[: round(0.004 * rate)] = 0.0
    room /= np.sqrt(np.sum(room**2, axis=0))
    reverb = signal.fftconvolve(out, room, axes=0)[: len(out)]
    return out + wet * reverb


def bell(freq: float, gain_db: float, q: float, rate: int) -> tuple[Audio, Audio]:
    """A peaking equaliser section (the usual bilinear second-order one, from memory)."""
    w = 2 * np.pi * freq / rate
    alpha, amp = np.sin(w) / (2 * q), 10 ** (gain_db / 40)
    b = np.array([1 + alpha * amp, -2 * np.cos(w), 1 - alpha * amp])
    a = np.array([1 + alpha / amp, -2 * np.cos(w), 1 - alpha / amp])
    return b / a[0], a / a[0]


def resample(sound: Audio, rate: int, to: int) -> Audio:
    """Band-limited change of sample rate."""
    common = np.gcd(rate, to)
    return np.asarray(signal.resample_poly(sound, to // common, rate // common, axis=0))


def save(sound: Audio, path: Path, rate: int, *, subtype: str = "PCM_16") -> Path:
    """Write a sound file in the format of its name, pulled down if it would clip."""
    peak = np.max(np.abs(sound), initial=0.0)
    sf.write(path, sound / peak * 0.98 if peak > 0.98 else sound, rate, subtype=subtype)
    return path


def encode(source: Path, target: Path, *args: str) -> Path:
    """A copy made by ffmpeg, such as MP3 at a given bit rate."""
    subprocess.run(
        ["ffmpeg", "-y", "-v", "error", "-i", str(source), *args, str(target)],
        check=True,
        timeout=300,
    )
    return target
