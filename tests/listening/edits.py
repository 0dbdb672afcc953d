"""Edits a working editor makes, cut from takes with exact truth, and how much of them was found.

Everything follows from seeds. Pieces are given in seconds; sources are whole samples.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from logbook.listening import Piece
from tests.listening import material as m
from tests.listening.judging import lag
from tests.listening.sung import SungNote, melody, sing

RATE = 22_050
TEMPO = 120.0
HEARD_LEVEL = 3e-4  # root mean square below which a frame is silence, not a piece


def takes_of(kind: str, seed: int, *, count: int = 3, seconds: int = 12) -> list[m.Audio]:
    """Performances of one part: strum, pick, line (plucked strings), sung, drums or pad."""
    makers = {"sung": _sung, "drums": _drums, "pad": _pad}
    out = []
    for number in range(count):
        own = 100 * seed + number
        if kind in makers:
            sound = makers[kind](seed, own, leads(count)[number], seconds)
            out.append(np.stack([sound, 0.7 * sound], axis=1))
            continue
        lead = leads(count)[number]
        notes = m.perform(own, bars=seconds // 2, tempo=TEMPO, lead_in=lead, style=kind)
        out.append(m.pluck(notes, seconds=lead + seconds + 1, rate=RATE, seed=own))
    return out


def leads(count: int) -> list[float]:
    """Where the music begins in each take, seconds."""
    return [0.5 + 0.137 * number for number in range(count)]


def _sung(seed: int, own: int, lead: float, seconds: int) -> m.Audio:
    rng = random.Random(own)
    meant = [note for note in melody(seed, count=2 * seconds) if note.end < seconds]
    notes = [
        SungNote(
            start=max(0.0, note.start + rng.gauss(0, 0.012)),
            end=note.end + rng.gauss(0, 0.012),
            midi=note.midi,
        )
        for note in meant
    ]
    sound = sing(notes, seed=own, ahead=lead, cents=rng.gauss(0, 8), vibrato=rng.gauss(40, 8))
    return np.pad(0.4 * sound.astype(np.float64), (0, RATE))


def _drums(seed: int, own: int, lead: float, seconds: int) -> m.Audio:
    rng = np.random.default_rng(own)
    out = 1e-5 * rng.normal(size=round((lead + seconds + 1) * RATE))
    for step in range(4 * seconds):
        at = round((lead + step / 4 + rng.normal(0, 0.006)) * RATE)
        t = np.arange(round(0.25 * RATE)) / RATE
        noise = rng.normal(size=t.size)
        if step % 8 in (0, 5):
            sweep = 50 * t + rng.uniform(6, 10) * (1 - np.exp(-40 * t))
            hit = np.sin(2 * np.pi * sweep) * np.exp(-14 * t) + 0.1 * noise * np.exp(-60 * t)
        elif step % 8 in (2, 6):
            hit = (0.6 * noise + np.sin(2 * np.pi * 190 * t)) * np.exp(-22 * t)
        else:
            hit = 0.3 * np.diff(noise, prepend=0.0) * np.exp(-60 * t)
        bit = out[max(0, at) : max(0, at) + t.size]
        bit += 0.25 * 10 ** (rng.normal(0, 1.5) / 20) * hit[: bit.size]
    return out


def _pad(seed: int, own: int, lead: float, seconds: int) -> m.Audio:
    rng = np.random.default_rng(own)
    out = 3e-5 * rng.normal(size=round((lead + seconds + 1) * RATE))
    t = np.arange(round(2.4 * RATE)) / RATE
    swell = np.minimum(1, np.minimum(t / 0.25, (2.4 - t) / 0.4))
    for bar in range(seconds // 2):
        at = round((lead + 2 * bar + rng.normal(0, 0.015)) * RATE)
        for pitch in m.SHAPES[m.PROGRESSION[(bar + seed) % len(m.PROGRESSION)]]:
            hertz = 440 * 2 ** ((pitch - 69) / 12)
            for k in range(1, 9):
                bent = k * hertz * (1 + rng.normal(0, 3e-4))
                wave = swell * np.sin(2 * np.pi * bent * t + rng.uniform(0, 6)) / k**1.3
                bit = out[max(0, at) : max(0, at) + t.size]
                bit += 0.02 * wave[: bit.size]
    return out


def at_home(
    seed: int, *, shortest: float, longest: float, slip: float = 0.0, count: int = 3, seconds: float
) -> list[m.TruePiece]:
    """Pieces that stand where they were played, or up to `slip` seconds from there."""
    rng = random.Random(seed)
    plan: list[m.TruePiece] = []
    at, last = 0.0, -1
    while at < seconds - 1e-9:
        length = min(rng.uniform(shortest, longest), seconds - at)
        if seconds - at - length < shortest:
            length = seconds - at
        last = rng.choice([n for n in range(count) if n != last])
        source = max(0.0, at + leads(count)[last] + rng.uniform(-slip, slip))
        end = round((at + length) * RATE) / RATE
        plan.append(m.TruePiece(start=at, end=end, take=last, source=round(source * RATE) / RATE))
        at = end
    return plan


def inserted(
    seed: int, *, shortest: float, longest: float, count: int = 3, seconds: float
) -> list[m.TruePiece]:
    """One take throughout, with short pieces of the others put in every second or two."""
    rng = random.Random(seed)
    plan: list[m.TruePiece] = []
    at = 0.0

    def add(take: int, length: float) -> None:
        nonlocal at
        end = round((at + length) * RATE) / RATE
        source = round((at + leads(count)[take]) * RATE) / RATE
        plan.append(m.TruePiece(start=at, end=end, take=take, source=source))
        at = end

    while at < seconds - 3:
        add(0, rng.uniform(1.2, 2.5))
        add(rng.randrange(1, count), rng.uniform(shortest, longest))
    add(0, seconds - at)
    return plan


def flown_in(
    seed: int, *, shortest: float, longest: float, count: int = 3, seconds: float
) -> list[m.TruePiece]:
    """One take throughout, with short pieces from other bars put in, each used once."""
    rng = random.Random(seed)
    plan: list[m.TruePiece] = []
    at = 0.0
    while at < seconds - 1e-9:
        flown = len(plan) % 2 == 1
        length = rng.uniform(shortest, longest) if flown else rng.uniform(1.3, 2.5)
        if seconds - at - length < 1.3:
            flown, length = False, seconds - at
        take = rng.randrange(count) if flown else 0
        away = at
        while flown and abs(away - at) < 1.0:
            away = rng.uniform(0.0, seconds - length)
        end = round((at + length) * RATE) / RATE
        source = round((away + leads(count)[take]) * RATE) / RATE
        plan.append(m.TruePiece(start=at, end=end, take=take, source=source))
        at = end
    return plan


def named(pieces: Sequence[Piece], given: Sequence[int]) -> list[Piece]:
    """Pieces found among the takes given, with the numbers that these have among all."""
    return [replace(p, take=None if p.take is None else given[p.take]) for p in pieces]


def given_only(plan: Sequence[m.TruePiece], given: Sequence[int]) -> list[m.TruePiece]:
    """What is true of a plan where only some of its takes are given."""
    return [replace(p, take=p.take if p.take in given else None) for p in plan]


def found_of(
    pieces: Sequence[Piece], plan: Sequence[m.TruePiece], bounce: m.Audio, *, fade: float
) -> tuple[float, float]:
    """Shares of the sounding 10 ms frames clear of fades that are right, and that are false.

    Right is the right take, its source to 1 ms, or unknown where no take is; unknown where one is
    given is neither.
    """
    right = false = count = 0
    for true, time in _sounding(plan, bounce, fade):
        count += 1
        piece = next((p for p in reversed(pieces) if p.start <= time), pieces[0])
        same = _same(piece, true)
        right += same
        false += piece.take is not None and not same
    return right / max(1, count), false / max(1, count)


def trusted(
    pieces: Sequence[Piece],
    plan: Sequence[m.TruePiece],
    bounce: m.Audio,
    *,
    fade: float,
    near_s: float = 0.001,
) -> list[tuple[float, float]]:
    """For every piece of a take that sounds: its confidence, and the share of it that is right.

    near_s: what its source may be off, seconds.
    """
    found: dict[int, list[bool]] = {}
    for true, time in _sounding(plan, bounce, fade):
        number = max((n for n, p in enumerate(pieces) if p.start <= time), default=0)
        found.setdefault(number, []).append(_same(pieces[number], true, near_s))
    return [
        (pieces[n].confidence, sum(right) / len(right))
        for n, right in sorted(found.items())
        if pieces[n].take is not None
    ]


def _same(piece: Piece, true: m.TruePiece, near_s: float = 0.001) -> bool:
    return piece.take == true.take and (true.take is None or abs(lag(piece) - lag(true)) < near_s)


def _sounding(
    plan: Sequence[m.TruePiece], bounce: m.Audio, fade: float
) -> Iterator[tuple[m.TruePiece, float]]:
    """The frames that sound clear of fades: what is true there, and when, seconds."""
    for true in plan:
        for time in np.arange(true.start + fade / 2 + 0.002, true.end - fade / 2 - 0.002, 0.01):
            middle = round(time * RATE)
            part = bounce[max(0, middle - 110) : middle + 110]
            if not part.size or np.sqrt(np.mean(part**2)) < HEARD_LEVEL:
                continue
            yield true, float(time)


def invented(pieces: Sequence[Piece], plan: Sequence[m.TruePiece]) -> list[Piece]:
    """Pieces found where nothing of that take, its source to 1 ms, is."""
    return [
        p
        for p in pieces
        if p.take is not None
        and not any(
            p.take == true.take
            and p.start < true.end
            and true.start < p.end
            and abs(lag(p) - lag(true)) < 0.001
            for true in plan
        )
    ]
