"""Parts played by sound fonts, with the truth of every stretch: material for hearing chords.

A part uses about a dozen voicings, strummed or picked, changing at whole or half bars. It is
played by FluidSynth with the General MIDI sounds of nylon, steel and clean electric guitar of two
sound fonts, and then left clean, put in a room with hiss, given hand-muted hits on the backbeat
and 12 cents sharp, or coded as MP3. Everything follows from the seed, and what was rendered is
kept in a temporary folder.

Fingerings in standard tuning come from the open set named in `FINGERINGS` (its copy under
tests/data or beside the checkout); those in DADGAD are made at random within a hand's reach.
"""

from __future__ import annotations

import json
import os
import random
import shutil
import subprocess
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from functools import lru_cache
from hashlib import sha256
from pathlib import Path

import mido
import numpy as np
import numpy.typing as npt
import soundfile as sf
from scipy import signal

from logbook.strings.fingering import fingers_needed

Audio = npt.NDArray[np.float64]
Frets = tuple[int | None, ...]

FONTS = {
    "FluidR3": Path("/usr/share/sounds/sf2/FluidR3_GM.sf2"),
    "TimGM6mb": Path("/usr/share/sounds/sf2/TimGM6mb.sf2"),
}
STRINGS = "strings"  # in place of a sound font: made-up strings
SOUNDS = ("nylon", "steel", "electric")
BASSES = ("finger bass", "picked bass", "upright bass")
PROGRAMS = {
    "nylon": 24,
    "steel": 25,
    "electric": 27,
    "jazz": 26,
    "overdriven": 29,
    "distorted": 30,
    "upright bass": 32,
    "finger bass": 33,
    "picked bass": 34,
}
MUTED_PROGRAMS = (28, 0)  # the muted electric guitar, or (0) the part's own sound cut short
HAVE_FLUIDSYNTH = shutil.which("fluidsynth") is not None
HAVE_FFMPEG = shutil.which("ffmpeg") is not None
STANDARD = (40, 45, 50, 55, 59, 64)
DADGAD = (38, 45, 50, 55, 57, 62)
BASS = (28, 33, 38, 43)
TUNINGS = {"standard": STANDARD, "dadgad": DADGAD, "line": STANDARD, "bass": BASS}
LENGTHS = {"bar": 4.0, "half": 2.0, "beat": 1.0}
MUTES = ("noise", "damped", "grip", "open")  # how hand-muted hits are made, by the seed
CONDITIONS = ("clean", "room", "muted", "mp3")
RATE = 44_100
CACHE = Path(os.environ.get("LOGBOOK_RENDERED", Path(tempfile.gettempdir()) / "hear"))
_HERE = Path(__file__).resolve()
FINGERINGS = (
    _HERE.parents[1] / "data" / "chord-fingerings" / "guitar.json",
    _HERE.parents[3] / "shared" / "data" / "chord-fingerings" / "guitar.json",
)
COMMON = (
    *("major", "minor", "7", "m7", "maj7", "sus2", "sus4", "add9", "madd9", "6", "m6", "69"),
    *("9", "m9", "maj9", "7sus4", "dim", "dim7", "aug", "m7b5", "5", "13", "11", "7#9", "7b9"),
)
USUAL = 12  # how many of COMMON are drawn three times as often as the rest


@dataclass(frozen=True, kw_only=True, slots=True)
class Wanted:
    """What to render. muted_by: how a hand-muted hit is made. ring: open strings ring over."""

    seed: int
    font: str = "FluidR3"
    sound: str = "steel"
    style: str = "strum"
    division: str = "bar"
    capo: int = 0
    tuning: str = "standard"
    condition: str = "clean"
    bars: int = 16
    voicings: int = 12


@dataclass(frozen=True, kw_only=True, slots=True)
class Rendered:
    """A part on disk and its truth: one entry of `frets` and `notes` for every span."""

    wanted: Wanted
    path: Path
    open_strings: tuple[int, ...]
    capo: int
    tempo: float
    spans: tuple[tuple[float, float], ...]
    frets: tuple[Frets, ...]

    @property
    def notes(self) -> tuple[tuple[int, ...], ...]:
        """The sounding MIDI numbers of every span, low to high, each once."""
        return tuple(sounding(f, self.open_strings, self.capo) for f in self.frets)

    @property
    def own(self) -> tuple[Frets, ...]:
        """The part's own voicings, each once."""
        return tuple(dict.fromkeys(self.frets))


@dataclass(frozen=True, slots=True)
class Hit:
    """One struck note: seconds at which and for how long, MIDI pitch and velocity."""

    at: float
    length: float
    pitch: int
    velocity: int
    muted: bool = False


def sounding(frets: Frets, open_strings: Sequence[int], capo: int) -> tuple[int, ...]:
    """MIDI numbers that sound: open pitch + max(capo, fret), each once, low to high."""
    return tuple(
        sorted(
            {o + max(capo, f) for o, f in zip(open_strings, frets, strict=True) if f is not None}
        )
    )


@lru_cache(maxsize=1)
def fingerings() -> tuple[tuple[str, Frets], ...]:
    """Every fingering in the set: its chord's suffix, and frets from the nut."""
    path = next(path for path in FINGERINGS if path.exists())
    out = []
    for chords in json.loads(path.read_text())["chords"].values():
        for chord in chords:
            for position in chord["positions"]:
                base = position["baseFret"] - 1
                frets = tuple(
                    None if f < 0 else f + base if f > 0 else 0 for f in position["frets"]
                )
                out.append((chord["suffix"], frets))
    return tuple(out)


def chosen_voicings(wanted: Wanted, rng: random.Random) -> list[Frets]:
    """The voicings of a part, frets from the nut."""
    out: list[Frets] = []
    pool = fingerings() if wanted.tuning == "standard" else ()
    weights = [_weight(suffix) for suffix, _ in pool]
    while len(out) < wanted.voicings:
        if wanted.tuning == "dadgad":
            frets = _made_up(rng)
        elif wanted.tuning in ("line", "bass"):
            frets = _single(rng, len(TUNINGS[wanted.tuning]))
        else:
            frets = rng.choices(pool, weights)[0][1]
        moved = tuple(f if not f else f + wanted.capo for f in frets)
        if max(f or 0 for f in moved) <= 17 and moved not in out:
            out.append(moved)
    return out


def _weight(suffix: str) -> float:
    if suffix not in COMMON:
        return 0.2
    return 3.0 if COMMON.index(suffix) < USUAL else 1.0


def _single(rng: random.Random, strings: int) -> Frets:
    """One note, or seldom two, as a line has them."""
    out: list[int | None] = [None] * strings
    low = rng.randrange(strings)
    out[low] = rng.randrange(13)
    if rng.random() < 0.15 and low + 1 < strings:
        out[rng.randrange(low + 1, strings)] = max(0, (out[low] or 0) + rng.choice((-1, 0, 1, 2)))
    return tuple(out)


def _made_up(rng: random.Random) -> Frets:
    while True:
        low = rng.choice((1, 1, 2, 2, 3, 4, 5, 7, 9))
        frets: list[int | None] = [
            None
            if (kind := rng.random()) < 0.15
            else 0
            if kind < 0.55
            else low + rng.choice((0, 0, 1, 2, 2, 3))
            for _ in range(6)
        ]
        held = [f for f in frets if f]
        if len([f for f in frets if f is not None]) < 4 or not held:
            continue
        least = min(held)
        shape = tuple(-1 if f is None else f - least + 1 if f else 0 for f in frets)
        if fingers_needed(shape) <= 4:
            return tuple(frets)


def perform(wanted: Wanted) -> tuple[list[Hit], list[float], Rendered]:
    """The notes of a part, the moments of its hand-muted hits, and its truth."""
    rng = random.Random(repr(replace(wanted, condition="clean", font="", sound="")))
    open_strings = TUNINGS[wanted.tuning]
    tempo = rng.uniform(76.0, 132.0)
    beat = 60.0 / tempo
    lead = rng.uniform(0.2, 0.8)
    length = LENGTHS[wanted.division]
    count = wanted.bars * round(4.0 / length)
    voicings = chosen_voicings(wanted, rng)
    frets = [voicings[n] if n < len(voicings) else rng.choice(voicings) for n in range(count)]
    rng.shuffle(frets)
    rings = rng.random() < 0.5  # open strings of this part are let ring over the change
    spread = rng.uniform(0.008, 0.035)
    hits: list[Hit] = []
    mutes: list[float] = []
    spans = []
    rhythm = rng.choice(((0, 1, 1.5, 2.5, 3), (0, 1, 2, 3), (0, 2), (0, 0.5, 1, 1.5, 2, 3, 3.5)))
    order = rng.choice(((0, 2, 1, 3, 2, 4, 1, 5), (0, 1, 2, 3, 4, 5, 4, 3), (0, 3, 1, 4, 2, 5)))
    pace = 0.25 if wanted.division == "half" else rng.choice((0.5, 0.25))
    for n, grip in enumerate(frets):
        start = lead + n * length * beat
        end = start + length * beat
        spans.append((start, end))
        strings = [s for s, f in enumerate(grip) if f is not None]

        def until(string: int, grip: Frets = grip, end: float = end) -> float:
            over = rng.uniform(0.3, 1.5) * beat if rings and not grip[string] else 0.0
            return end - 0.01 + over

        def struck(at: float, string: int, loud: float, grip: Frets = grip) -> None:
            pitch = open_strings[string] + max(wanted.capo, grip[string] or 0)
            stop = until(string)
            for i in range(len(hits) - 1, max(-1, len(hits) - 40), -1):
                if hits[i].pitch == pitch and hits[i].at + hits[i].length > at:
                    hits[i] = replace(hits[i], length=max(0.02, at - hits[i].at - 0.003))
            velocity = round(min(118.0, max(35.0, loud + rng.gauss(0, 7))))
            hits.append(Hit(max(0.0, at), stop - at, pitch, velocity))

        if wanted.style == "strum":
            for place in (p for p in rhythm if p < length):
                up = place % 1.0 != 0.0
                at = start + place * beat + rng.gauss(0, 0.006)
                across = strings[::-1][: rng.choice((3, 4, 5, 6))] if up else strings
                for i, string in enumerate(across):
                    struck(at + i * spread / 5, string, 78 if up else 88)
        else:
            steps = int(length / pace)
            for i in range(steps):
                string = strings[order[i % len(order)] % len(strings)]
                if i >= steps - len(strings) or i < len(strings):
                    string = strings[i % len(strings)] if order[1] == 1 else string
                if i == 0:
                    string = strings[0]
                struck(start + i * pace * beat + rng.gauss(0, 0.006), string, 84)
            missing = set(range(len(grip))) & set(strings) - _played(
                hits, start, strings, grip, wanted
            )
            for string in missing:
                struck(start + 0.5 * length * beat, string, 84)
        mutes += [start + p * beat for p in (1.0, 3.0) if p < length]
    if wanted.condition == "muted" and MUTES[wanted.seed % len(MUTES)] != "noise":
        hits += _muted(wanted, mutes, spans, frets)
        mutes = []
    truth = Rendered(
        wanted=wanted,
        path=Path(),
        open_strings=open_strings,
        capo=wanted.capo,
        tempo=tempo,
        spans=tuple(spans),
        frets=tuple(frets),
    )
    return hits, mutes, truth


def _muted(
    wanted: Wanted,
    at: Sequence[float],
    spans: Sequence[tuple[float, float]],
    grips: Sequence[Frets],
) -> list[Hit]:
    """Hand-muted hits as very short notes: of the grip or the open strings, damping it or not."""
    rng = random.Random(wanted.seed)
    kind, opens, out = MUTES[wanted.seed % len(MUTES)], TUNINGS[wanted.tuning], []
    loud, length = rng.randrange(50, 85), rng.uniform(0.02, 0.06)
    for moment in at:
        grip = next((g for g, (a, b) in zip(grips, spans, strict=True) if a <= moment < b), None)
        for string, note in enumerate(opens):
            fret = grip[string] if grip is not None else None
            if kind == "open":
                fret = 0
            if fret is not None:
                begin = moment + 0.002 * string + rng.gauss(0, 0.002)
                pitch = note + max(wanted.capo, fret)
                out.append(Hit(begin, length, pitch, loud, muted=kind != "damped"))
    return out


def _played(
    hits: Sequence[Hit], start: float, strings: Sequence[int], grip: Frets, wanted: Wanted
) -> set[int]:
    """Strings whose pitch has been struck since `start`."""
    opens = TUNINGS[wanted.tuning]
    pitches = {hit.pitch for hit in hits if hit.at >= start - 0.05}
    return {s for s in strings if opens[s] + max(wanted.capo, grip[s] or 0) in pitches}


def render(wanted: Wanted) -> Rendered:
    """Render a part, or find it rendered; sound fonts need fluidsynth, and MP3 ffmpeg."""
    hits, mutes, truth = perform(wanted)
    CACHE.mkdir(parents=True, exist_ok=True)
    stem = "-".join(str(getattr(wanted, field.name)) for field in fields(wanted))
    stem += f"-{sha256(repr((hits, mutes)).encode()).hexdigest()[:12]}"
    path = CACHE / f"{stem}.{'mp3' if wanted.condition == 'mp3' else 'flac'}"
    if not path.exists():
        cents = 12.0 if wanted.condition == "muted" else 0.0
        rng = np.random.default_rng(wanted.seed)
        if wanted.font == STRINGS:
            sound = plucked(hits, rng, cents=cents)
        else:
            sound = play(wanted, hits, cents=cents)
        if wanted.condition == "room":
            sound = in_a_room(sound, rng)
        elif wanted.condition == "muted":
            sound = with_muted_hits(sound, mutes, rng)
        _save(sound, path)
    return replace(truth, path=path)


def play(wanted: Wanted, hits: Sequence[Hit], *, cents: float = 0.0) -> Audio:
    """The notes through FluidSynth, frames x 2."""
    per_second = 960
    events: list[tuple[int, int, int, int, int]] = []
    for hit in hits:
        start, stop = round(hit.at * per_second), round((hit.at + hit.length) * per_second)
        events.append((start, 1, hit.pitch, hit.velocity, int(hit.muted)))
        events.append((stop, 0, hit.pitch, 0, int(hit.muted)))
    program, second = PROGRAMS[wanted.sound], MUTED_PROGRAMS[wanted.seed // 4 % 2]
    track = mido.MidiTrack(
        [
            mido.Message("program_change", program=program, channel=0, time=0),
            mido.Message("program_change", program=second or program, channel=1, time=0),
        ]
    )
    now = 0
    for tick, on, pitch, velocity, channel in sorted(events):
        kind = "note_on" if on else "note_off"
        track.append(
            mido.Message(kind, note=pitch, velocity=velocity, channel=channel, time=tick - now)
        )
        now = tick
    with tempfile.TemporaryDirectory() as folder:
        midi, wav = Path(folder) / "part.mid", Path(folder) / "part.wav"
        mido.MidiFile(ticks_per_beat=480, tracks=[track]).save(midi)
        command = ["fluidsynth", "-ni", "-q", "-g", "0.5", "-r", str(RATE), "-O", "s16"]
        command += ["-F", str(wav)]
        if cents:
            settings = Path(folder) / "tuning.cfg"
            keys = "\n".join(f"tune 0 0 {key} {100 * key + cents:.3f}" for key in range(128))
            settings.write_text(f"tuning t 0 0\n{keys}\nsettuning 0 0 0\nsettuning 1 0 0\n")
            command += ["-f", str(settings)]
        command += [str(FONTS[wanted.font]), str(midi)]
        quiet = {**os.environ, "SDL_AUDIODRIVER": "dummy"}
        subprocess.run(command, check=True, capture_output=True, timeout=300, env=quiet)
        return np.asarray(sf.read(wav)[0])


def plucked(hits: Sequence[Hit], rng: np.random.Generator, *, cents: float = 0.0) -> Audio:
    """The notes on made-up strings, frames x 2: an instrument that no sound font has.

    Each string is stiff (partial n at n f sqrt(1 + B n^2), the usual formula), plucked at one
    place (partials as sin(pi n place) / n), its high partials dying sooner; a body of a few
    resonances is laid over all. What is drawn at random holds for the whole part.
    """
    rate = RATE // 2
    place, bright = rng.uniform(0.08, 0.35), rng.uniform(0.0, 1.0)
    stiff, slow, loss = 10 ** rng.uniform(-5, -3.7), rng.uniform(0.4, 2.0), rng.uniform(0.1, 0.9)
    bumps = [(rng.uniform(90, 3000), rng.normal(0, 6), rng.uniform(0.2, 0.8)) for _ in range(8)]
    out = np.zeros(round((max(hit.at + hit.length for hit in hits) + 1.0) * rate))
    for hit in hits:
        first = round(hit.at * rate)
        t = np.arange(min(round((hit.length + 0.15) * rate), out.size - first)) / rate
        pitch = 440.0 * 2.0 ** ((hit.pitch - 69 + cents / 100) / 12)
        tone = np.zeros_like(t)
        for n in range(1, 21):
            hz = n * pitch * np.sqrt(1 + stiff * n * n)
            if hz > 0.42 * rate:
                break
            body = sum(g * np.exp(-((np.log2(hz / f) / w) ** 2)) for f, g, w in bumps)
            level = np.sin(np.pi * n * place) / n ** (2 - bright) * 10 ** (body / 20)
            decay = np.exp(-t * (slow + loss * n) * (pitch / 200) ** 0.5)
            tone += level * decay * np.sin(2 * np.pi * hz * t + rng.uniform(0, 6.28))
        tone += 0.1 * rng.normal(size=t.size) * np.exp(-t / 0.008)
        tone *= np.minimum(1.0, (t[-1] - t) / 0.12)
        out[first : first + t.size] += tone * 10 ** ((hit.velocity - 127) / 40)
    whole = signal.resample_poly(out, 2, 1)
    return np.stack([whole, 0.8 * whole], axis=1)


def in_a_room(sound: Audio, rng: np.random.Generator) -> Audio:
    """A decay of about half a second under the sound, and hiss 48 dB below its peak."""
    t = np.arange(round(0.6 * RATE)) / RATE
    room = rng.normal(size=(t.size, sound.shape[1])) * np.exp(-t / rng.uniform(0.08, 0.16))[:, None]
    room[: round(0.006 * RATE)] = 0.0
    room /= np.sqrt(np.sum(room**2, axis=0))
    wet = signal.fftconvolve(sound, room, axes=0)[: len(sound)]
    out = sound + rng.uniform(0.15, 0.35) * wet
    peak = float(np.max(np.abs(out), initial=1e-9))
    return np.asarray(out + peak * 10 ** (-48 / 20) * rng.normal(size=out.shape) / 3)


def with_muted_hits(sound: Audio, at: Sequence[float], rng: np.random.Generator) -> Audio:
    """A hand falling on the strings: the ringing damped for a moment, and a short dull noise."""
    out = sound.copy()
    peak = float(np.max(np.abs(out), initial=1e-9))
    low = signal.butter(2, (120.0, 2500.0), "bandpass", fs=RATE, output="sos")
    for moment in at:
        first = round((moment + rng.normal(0, 0.006)) * RATE)
        length = min(round(0.09 * RATE), len(out) - first)
        if first < 0 or length < 100:
            continue
        t = np.arange(length) / RATE
        noise = signal.sosfilt(low, rng.normal(size=length)) * np.exp(-t / 0.018)
        noise *= 0.5 * peak / (np.max(np.abs(noise)) + 1e-9)
        out[first : first + length] *= (1 - 0.6 * np.exp(-t / 0.03))[:, None]
        out[first : first + length] += noise[:, None]
    return out


def _save(sound: Audio, path: Path) -> None:
    peak = float(np.max(np.abs(sound), initial=0.0))
    sound = sound / peak * 0.9 if peak > 0 else sound
    part = path.with_name(f"{os.getpid()}-{path.name}")
    if path.suffix == ".mp3":
        wav = part.with_suffix(".wav")
        sf.write(wav, sound, RATE, subtype="PCM_16")
        command = ["ffmpeg", "-v", "error", "-y", "-i", str(wav), "-b:a", "128k", str(part)]
        subprocess.run(command, check=True, capture_output=True, timeout=300)
        wav.unlink()
    else:
        sf.write(part, sound, RATE, subtype="PCM_16")
    part.replace(path)


def spread_of_cases(count: int, *, seed: int = 0, bars: int = 16) -> list[Wanted]:
    """Cases that go round every font, sound, style, division, capo, tuning and condition."""
    rng = random.Random(seed)
    out = []
    for n in range(count):
        dadgad = n % 4 == 3
        out.append(
            Wanted(
                seed=1000 * seed + n,
                font=list(FONTS)[n % 2],
                sound=SOUNDS[(n // 2) % 3],
                style=("strum", "pick")[(n // 3) % 2],
                division=rng.choice(("bar", "half")),
                capo=0 if dadgad else rng.choice((0, 0, 1, 2, 3, 4)),
                tuning="dadgad" if dadgad else "standard",
                condition=CONDITIONS[(n + n // 4) % 4],
                bars=bars,
            )
        )
    return out
