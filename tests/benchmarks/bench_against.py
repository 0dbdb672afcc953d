"""Charts with planted errors: how many are found, and how many right chords are accused.

    python tests/benchmarks/bench_against.py [PARTS]

Parts are rendered as for hearing chords (see tests/listening/rendered.py): two sound fonts, three
guitars, strummed and picked, whole and half bars, capos, clean, in a room, with muted hits 12 cents
sharp, and as MP3. One chord in ten of each chart is given another of the part's own voicings. The
capo is logged a fret too low and two too high as well. Exit 1 where fewer than 95 % of the errors
are found, more than 2 % of the right chords accused, or a capo is not told.
"""

from __future__ import annotations

import random
import sys
import time
from fractions import Fraction
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))

from logbook.listening.contradictions import (
    Charted,
    chroma_of_notes,
    chroma_of_spans,
    find_contradictions,
    find_moved,
)
from logbook.listening.decoding import decode
from logbook.listening.playing import Strings
from tests.listening import rendered as r

LEAST_FOUND, MOST_ACCUSED = 0.95, 0.02
FIRST_SEED = 100


def main() -> int:
    if not r.HAVE_FLUIDSYNTH:
        print("fluidsynth is not installed: nothing measured")
        return 0
    parts = int(sys.argv[1]) if len(sys.argv) > 1 else 12
    planted = hit = accused = right = capos = 0
    seconds = spent = 0.0
    for seed in range(FIRST_SEED, FIRST_SEED + parts):
        rng = random.Random(seed)
        wanted = r.Wanted(
            seed=seed,
            font=rng.choice(list(r.FONTS)),
            sound=rng.choice(r.SOUNDS),
            style=rng.choice(("strum", "pick")),
            division=rng.choice(("bar", "half")),
            capo=rng.choice((0, 0, 2, 3)),
            condition=rng.choice(r.CONDITIONS),
            voicings=8,
        )
        part = r.render(wanted)
        sound = decode(part.path)
        count = len(part.open_strings)
        strings = Strings(
            open_midi=part.open_strings,
            capo=part.capo,
            added=(0,) * count,
            stops=(part.capo,) * count,
        )
        own = {f"v{n}": frets for n, frets in enumerate(part.own)}
        labels = {frets: label for label, frets in own.items()}
        logged = list(part.frets)
        bad = set(rng.sample(range(len(logged)), max(1, len(logged) // 10)))
        for n in bad:
            true = set(strings.notes(part.frets[n]))
            logged[n] = rng.choice([f for f in part.own if set(strings.notes(f)) != true])
        charted = [
            Charted(bar=n + 1, beat=Fraction(1), start_s=a, end_s=b, label=labels[f], frets=f)
            for n, ((a, b), f) in enumerate(zip(part.spans, logged, strict=True))
        ]
        start = time.perf_counter()
        found = {each.charted.bar - 1 for each in find_contradictions(sound, charted, own, strings)}
        spent += time.perf_counter() - start
        seconds += sound.seconds
        heard = chroma_of_spans(sound, [(each.start_s, each.end_s) for each in charted])
        chart = np.stack([chroma_of_notes(strings.notes(each.frets)) for each in charted])
        moves = [find_moved(heard, np.roll(chart, shift, axis=1)) for shift in (0, -1, 2)]
        told = [0 if move is None else move.semitones for move in moves]
        capos += told == [0, 1, -2]
        planted, hit = planted + len(bad), hit + len(bad & found)
        right, accused = right + len(logged) - len(bad), accused + len(found - bad)
        print(
            f"{wanted.font:9} {wanted.sound:8} {wanted.style:5} {wanted.division:4} "
            f"{wanted.condition:6} found {len(bad & found)}/{len(bad)}, "
            f"accused {len(found - bad)}/{len(logged) - len(bad)}, capo {told}"
        )
    print(
        f"found {hit}/{planted} = {hit / planted:.1%}, accused {accused}/{right} = "
        f"{accused / right:.1%}, capo told {capos}/{parts}, {seconds / spent:.0f} times real time"
    )
    short = hit < LEAST_FOUND * planted or accused > MOST_ACCUSED * right or capos < parts
    return 1 if short else 0


if __name__ == "__main__":
    sys.exit(main())
