"""The picking hand heard from patterns that were played by sound fonts."""

from __future__ import annotations

import random
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from logbook.listening.decoding import decode
from logbook.listening.following import hear_onsets, lay_bars
from logbook.listening.hand import feel_text, find_patterns
from logbook.listening.strokes import ACCENT_DB, HeardHand, Sounding, hear_strokes
from logbook.strings.picking import read_pattern
from logbook.timing import parse_meter, read_tempo_map
from tests.listening import material as m
from tests.listening import rendered as r

needs_fluidsynth = pytest.mark.skipif(not r.HAVE_FLUIDSYNTH, reason="fluidsynth is not installed")
CHORDS = ("G", "D", "Em", "C", "G", "Am", "C", "D")
START = 0.5
Case = tuple[str, str, str, int, str, str, str]

# Each: the line of one bar of 4/4, its grid, its feel, tempo, sound, font and condition.
CASES = [
    ("D.DU .UDU", "1/8", "straight", 110, "steel", "FluidR3", "clean"),
    (">D.DU .UDU", "1/8", "straight", 96, "nylon", "TimGM6mb", "clean"),
    ("D.xU .UxU", "1/8", "straight", 100, "electric", "FluidR3", "room"),
    ("DUDU DUDU", "1/8", "swing", 104, "steel", "FluidR3", "clean"),
    ("D..x .U.U D..x .U.U", "1/16", "straight", 90, "electric", "TimGM6mb", "clean"),
    ("B.ii .iB. i.i. B.ii", "1/16", "straight", 84, "nylon", "FluidR3", "clean"),
]


def played(case: Case, folder: Path, seed: int) -> tuple[Path, list[Sounding]]:
    """Eight bars of the pattern on as many chords, as a sound file, and the chords."""
    line, grid, feel, tempo, sound, font, condition = case
    rng = random.Random(seed)
    pattern = read_pattern(line, grid, parse_meter("4/4"), feel)
    bar_s, spread = 240.0 / tempo, rng.uniform(0.010, 0.030)
    notes: list[tuple[float, int, int]] = []
    muted: list[float] = []
    chords: list[Sounding] = []
    for bar, name in enumerate(CHORDS):
        chord, start = m.SHAPES[name], START + bar * bar_s
        chords.append(Sounding(start=start, end=start + bar_s, notes=chord))
        for placed in pattern.placed():
            at = start + float(placed.start) * bar_s + rng.gauss(0.0, 0.006)
            (stroke,) = placed.cell.strokes
            loud = round(72 + (24 if placed.cell.accent else 0) + rng.gauss(0.0, 5.0))
            if stroke.kind == "x":
                muted.append(at)
                continue
            struck = {"D": chord, "U": chord[::-1][:4], "B": chord[:1], "i": chord[-3:-2]}
            for n, pitch in enumerate(struck[stroke.kind]):
                notes.append((at + n * spread / 5, pitch, min(124, loud)))
    hits = []
    for at, pitch, loud in notes:
        stops = [t for t, p, _ in notes if p == pitch and t > at]
        stops += [t for t in muted if t > at + 0.02]
        stops += [c.end for c in chords if c.end > at + 0.03]
        hits.append(r.Hit(max(0.0, at), max(0.03, min(stops) - at - 0.003), pitch, loud))
    audio = r.play(r.Wanted(seed=seed, sound=sound, font=font), hits)
    noise = np.random.default_rng(seed)
    if muted:
        audio = r.with_muted_hits(audio, muted, noise)
    if condition == "room":
        audio = r.in_a_room(audio, noise)
    path = folder / "played.flac"
    r._save(audio, path)
    return path, chords


@needs_fluidsynth
@pytest.mark.parametrize("case", CASES, ids=[case[0] for case in CASES])
def test_a_pattern_is_heard(case: Case, tmp_path: Path) -> None:
    path, chords = played(case, tmp_path, seed=11)
    sound = decode(path)
    onsets = hear_onsets(sound)
    bars = lay_bars(sound, onsets, read_tempo_map("4/4", f"q={case[3]}"))
    assert [bar.bar for bar in bars] == list(range(1, 9))
    assert max(abs(bar.start - chord.start) for bar, chord in zip(bars, chords, strict=True)) < 0.02
    hand = hear_strokes(sound, onsets, bars, chords=chords)
    wanted = read_pattern(case[0], case[1], parse_meter("4/4"), case[2])
    assert hand.grid == wanted.grid
    assert feel_text(hand.swing) in (case[2], "swing 5:3" if case[2] == "swing" else "straight")
    kinds = {"D": "strum", "U": "strum", "x": "muted", "B": "strings", "i": "strings"}
    true = {
        (bar, step): (kinds[cell.strokes[0].kind], cell.accent)
        for bar in range(1, 9)
        for step, cell in enumerate(wanted.cells)
        if cell.strokes
    }
    heard = {(stroke.bar, stroke.step): stroke for stroke in hand.strokes}
    on_place = true.keys() & heard.keys()
    assert len(on_place) >= 0.95 * len(true)
    assert len(heard.keys() - true.keys()) <= 0.07 * len(true)
    right = sum(heard[at].kind == true[at][0] for at in on_place)
    assert right >= 0.7 * len(on_place)
    loud = [heard[at].level_db > ACCENT_DB for at in on_place if true[at][1]]
    assert sum(loud) >= 0.7 * len(loud)
    patterns = find_patterns(hand, bars)
    assert len(patterns[0].bars) >= 7
    told = read_pattern(patterns[0].line, case[1], parse_meter("4/4"), patterns[0].feel)
    for cell, want in zip(told.cells, wanted.cells, strict=True):
        assert bool(cell.strokes) == bool(want.strokes)
        if want.strokes:
            assert cell.accent == want.accent
            assert (cell.strokes[0].kind == "x") == (want.strokes[0].kind == "x")
    # Wherever a direction is said at all, it was heard in most bars, and is right.
    for step, (cell, want) in enumerate(zip(told.cells, wanted.cells, strict=True), 1):
        if want.strokes and want.strokes[0].kind in "DU" and step not in patterns[0].guessed:
            assert cell.strokes[0].kind == want.strokes[0].kind


@pytest.mark.parametrize(
    ("swing", "said"),
    [
        (1.0, "straight"),
        (1.08, "straight"),
        (1.52, "swing 3:2"),
        (2.05, "swing"),
        (2.9, "swing 3:1"),
    ],
)
def test_feel(swing: float, said: str) -> None:
    assert feel_text(swing) == said
    assert read_pattern("DUDUDUDU", "1/8", parse_meter("4/4"), said)


def test_nothing_played(tmp_path: Path) -> None:
    path = m.save(np.zeros((44_100, 1)), tmp_path / "still.wav", 22_050)
    sound = decode(path)
    onsets = hear_onsets(sound)
    bars = lay_bars(sound, onsets, read_tempo_map("4/4", "q=120"))
    hand = hear_strokes(sound, onsets, bars)
    assert hand == HeardHand(grid=Fraction(1, 8), swing=1.0, strokes=(), on_grid=0.0)
    assert find_patterns(hand, bars) == ()
