"""Hearing chords: the right notes, the right voicing, how sure, how fast, beside plain templates.

    python tests/benchmarks/bench_hearing.py [PARTS] [--seed N]

Parts rendered from seeds that nothing was fitted on go round both sound fonts, three guitars,
strummed and picked, whole and half bars, capo, DADGAD at random, and clean, room and hiss, muted
hits and 12 cents sharp, and MP3. Printed for each: notes exactly right at first and among five,
which of the part's own voicings it is, the mean F of the notes. Names are compared by mir_eval's
rules as well (its `thirds`, `sevenths` and `mirex`, on the best name of the notes). Then how often
a confidence was right, errors planted in the chart (one bar in ten) found, chord changes found on
the grid, and times real time (decoding included; processor time of all threads, so that other
work on the machine does not count). Beside it a plain non-negative fit of harmonic templates in
the same run. Exit 1 where a target is missed. 12 parts when not said.
"""

from __future__ import annotations

import argparse
import random
import sys
import time
from collections import defaultdict
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import mir_eval
import numpy as np
from scipy.optimize import nnls

sys.path.insert(0, str(Path(__file__).parents[2]))

from logbook.listening import hear_chords, hear_part
from logbook.listening.contradictions import Charted, find_contradictions
from logbook.listening.decoding import decode
from logbook.listening.playing import Strings
from logbook.listening.signals import resampled
from logbook.listening.spectra import AUDIO_RATE, LOWEST, SEMITONES, frames_of
from logbook.theory.names import name_chord
from logbook.theory.pitch import midi_to_name
from logbook.timing import constant_tempo, parse_tempo
from tests.listening import rendered as r

FIRST, FIVE, OWN, MEAN_F = 0.88, 0.98, 0.99, 0.97
SPEED = 50.0
FOUND, ACCUSED = 0.95, 0.02
BANDS = (0.0, 0.5, 0.7, 0.8, 0.9, 0.95, 1.01)


def main() -> int:
    if not (r.HAVE_FLUIDSYNTH and r.HAVE_FFMPEG and all(f.exists() for f in r.FONTS.values())):
        print("fluidsynth, its two sound fonts or ffmpeg is not installed: nothing measured")
        return 0
    asked = argparse.ArgumentParser()
    asked.add_argument("parts", type=int, nargs="?", default=12)
    asked.add_argument("--seed", type=int, default=5)
    options = asked.parse_args()
    rng = random.Random(options.seed)
    rows: dict[str, list[tuple[float, ...]]] = defaultdict(list)
    sure: list[tuple[float, bool]] = []
    named: list[tuple[tuple[int, ...], tuple[int, ...]]] = []
    planted, plain, changes = np.zeros(4), np.zeros(2), np.zeros(3)
    spent = length = 0.0
    for wanted in r.spread_of_cases(options.parts, seed=options.seed):
        part = r.render(wanted)
        begun = time.process_time()
        heard = hear_part(part.path, part.spans, open_strings=part.open_strings, capo=part.capo)
        spent += time.process_time() - begun
        length += part.spans[-1][1]
        own = hear_part(
            part.path,
            part.spans,
            open_strings=part.open_strings,
            capo=part.capo,
            logged=part.own,
        )
        for span, among, notes in zip(heard, own, part.notes, strict=True):
            first = bool(span.voicings) and span.voicings[0].notes == notes
            row = (
                first,
                any(v.notes == notes for v in span.voicings[:5]),
                bool(among.voicings) and among.voicings[0].notes == notes,
                2 * len({*span.notes} & {*notes}) / (len(span.notes) + len(notes)),
            )
            kinds = ("all", wanted.condition, wanted.style, wanted.division, wanted.tuning)
            for kind in (*kinds, wanted.sound, wanted.font, "capo" if part.capo else "no capo"):
                rows[kind].append(row)
            named.append((notes, span.notes))
            if span.voicings:
                sure.append((span.voicings[0].confidence, first))
        planted += _planted(part, rng)
        plain += _plain(part)
        changes += _changes(part)
    return _report(rows, sure, planted, plain, changes, length / spent, named)


DEGREES = ("1", "b2", "2", "b3", "3", "4", "b5", "5", "#5", "6", "b7", "7")


def _label(notes: tuple[int, ...]) -> str:
    """The notes' best name as mir_eval writes chords: a root, and degrees in brackets."""
    if not notes:
        return "N"
    best = name_chord(notes)[0]
    above = sorted({(note - best.root) % 12 for note in notes} - {0})
    return f"{midi_to_name(60 + best.root)[:-1]}:(1,{','.join(DEGREES[n] for n in above)})"


def _planted(part: r.Rendered, rng: random.Random) -> np.ndarray:
    """Wrong bars, of them found, right bars, of them accused."""
    logged = list(part.frets)
    wrong = set(rng.sample(range(len(logged)), max(1, len(logged) // 10)))
    for place in wrong:
        notes = part.notes[place]
        logged[place] = rng.choice(
            [g for g in part.own if r.sounding(g, part.open_strings, part.capo) != notes]
        )
    names = {grip: str(n) for n, grip in enumerate(part.own)}
    charted = [
        Charted(bar=n, beat=Fraction(1), start_s=start, end_s=end, label=names[grip], frets=grip)
        for n, ((start, end), grip) in enumerate(zip(part.spans, logged, strict=True))
    ]
    strings = Strings(
        open_midi=part.open_strings,
        capo=part.capo,
        added=(0,) * len(part.open_strings),
        stops=(part.capo,) * len(part.open_strings),
    )
    own = {name: grip for grip, name in names.items()}
    said = find_contradictions(decode(part.path), charted, own, strings)
    places = {each.charted.bar for each in said}
    right = set(range(len(logged))) - wrong
    return np.array([len(wrong), len(wrong & places), len(right), len(right & places)])


def _changes(part: r.Rendered) -> np.ndarray:
    """Changes there are, of them found, and places said that are none, inside the music."""
    found = hear_chords(
        part.path,
        constant_tempo(parse_tempo(f"{part.tempo:.4f}")),
        open_strings=part.open_strings,
        capo=part.capo,
        music_at_s=part.spans[0][0],
    )
    pairs = zip(part.spans[1:], part.notes[1:], part.notes, strict=False)
    true = [start for (start, _), now, before in pairs if now != before]
    end = part.spans[-1][1] - 0.1
    said = [span.start for span in found[1:] if span.start < end]
    met = sum(any(abs(a - b) < 0.05 for b in said) for a in true)
    return np.array([len(true), met, len(said) - met])


def _plain(part: r.Rendered) -> np.ndarray:
    """Spans, and those whose notes a plain non-negative fit of harmonic templates has right."""
    sound = decode(part.path)
    frames = frames_of(resampled(sound.samples, sound.rate, AUDIO_RATE), 0.0)
    low, high = min(part.open_strings) + part.capo, 84
    templates = np.zeros((SEMITONES, high - low))
    for column in range(high - low):
        for n in range(1, 11):
            row = round(low + column - LOWEST + 12 * np.log2(n))
            if row < SEMITONES:
                templates[row, column] += 0.7 ** (n - 1)
    right = 0
    for (start, end), notes in zip(part.spans, part.notes, strict=True):
        inside = slice(round(start * AUDIO_RATE / 512), round(end * AUDIO_RATE / 512))
        weight, _ = nnls(templates, np.sqrt(frames.long[inside].mean(axis=0)).astype(float))
        right += tuple(np.flatnonzero(weight > 0.2 * weight.max()) + low) == notes
    return np.array([len(part.spans), right])


def _report(
    rows: dict[str, list[tuple[float, ...]]],
    sure: list[tuple[float, bool]],
    planted: np.ndarray,
    plain: np.ndarray,
    changes: np.ndarray,
    speed: float,
    named: list[tuple[tuple[int, ...], tuple[int, ...]]],
) -> int:
    print(f"{'':12} {'spans':>6} {'first':>7} {'in five':>8} {'own':>7} {'mean F':>7}")
    for kind, values in rows.items():
        first, five, own, mean_f = np.mean(np.array(values, dtype=float), axis=0)
        print(f"{kind:12} {len(values):6} {first:7.1%} {five:8.1%} {own:7.1%} {mean_f:7.3f}")
    first, five, own, mean_f = np.mean(np.array(rows["all"], dtype=float), axis=0)
    print(f"{'plain fit':12} {plain[0]:6.0f} {plain[1] / plain[0]:7.1%}")
    labels = [[_label(notes) for notes in column] for column in zip(*named, strict=True)]
    for rule in ("thirds", "sevenths", "mirex"):
        scores = getattr(mir_eval.chord, rule)(*labels)
        print(f"{'names, ' + rule:22} {np.mean(scores[scores >= 0]):5.1%}")
    print("\nsaid         spans    said   right")
    for low, high in pairwise(BANDS):
        inside = [(c, ok) for c, ok in sure if low <= c < high]
        if inside:
            said, right = np.mean(np.array(inside, dtype=float), axis=0)
            print(f"{low:.2f}-{min(high, 1):.2f} {len(inside):8} {said:7.1%} {right:7.1%}")
    found, accused = planted[1] / planted[0], planted[3] / planted[2]
    print(f"\nplanted errors found {found:.1%} of {planted[0]:.0f}", end="")
    print(f", right bars accused {accused:.2%} of {planted[2]:.0f}")
    print(f"chord changes found {changes[1] / changes[0]:.1%} of {changes[0]:.0f}", end="")
    print(f", {changes[2]:.0f} said where there is none")
    print(f"{speed:.0f} times real time")
    missed = [
        f"{name}: {value:.3f}, wanted {wanted}"
        for name, value, wanted in (
            ("first", first, FIRST),
            ("among five", five, FIVE),
            ("own voicings", own, OWN),
            ("mean F", mean_f, MEAN_F),
            ("times real time", speed, SPEED),
            ("planted errors found", found, FOUND),
            ("right bars left alone", 1 - accused, 1 - ACCUSED),
        )
        if value < wanted
    ]
    for line in missed:
        print(f"missed: {line}")
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main())
