"""Hearing a part: rendered chords, the check against what was logged, and hostile requests."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import soundfile as sf

from logbook.listening import ListeningError, hear_part
from tests.listening import rendered as r

needs_fluidsynth = pytest.mark.skipif(
    not (r.HAVE_FLUIDSYNTH and r.FONTS["FluidR3"].exists()),
    reason="fluidsynth or its sound font is not installed",
)
needs_fingerings = pytest.mark.skipif(
    not any(path.exists() for path in r.FINGERINGS), reason="the set of fingerings is not here"
)
STANDARD = r.STANDARD


@pytest.fixture(scope="module")
def tone(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("tone") / "tone.wav"
    t = np.arange(4 * 22050) / 22050
    sound = sum(np.sin(2 * np.pi * k * 220.0 * t) * np.exp(-t) / k for k in range(1, 9))
    sf.write(path, 0.1 * sound, 22050)
    return path


@needs_fluidsynth
@needs_fingerings
def test_a_rendered_part_is_heard() -> None:
    part = r.render(r.Wanted(seed=42, sound="nylon", bars=12, voicings=6))
    heard = hear_part(part.path, part.spans, open_strings=part.open_strings)
    right = [h.voicings[0].notes == notes for h, notes in zip(heard, part.notes, strict=True)]
    assert sum(right) >= 7
    for span in heard:
        assert not span.silent
        assert span.notes == span.voicings[0].notes
        assert sum(v.confidence for v in span.voicings) <= 1.001
        for voicing in span.voicings:
            assert voicing.notes == r.sounding(voicing.frets, part.open_strings, 0)


@needs_fluidsynth
@needs_fingerings
def test_the_parts_own_voicings_are_told_apart() -> None:
    part = r.render(r.Wanted(seed=43, sound="steel", style="pick", bars=12, voicings=8, capo=2))
    heard = hear_part(
        part.path, part.spans, open_strings=part.open_strings, capo=2, logged=part.own
    )
    right = [h.voicings[0].notes == notes for h, notes in zip(heard, part.notes, strict=True)]
    assert sum(right) >= 11
    assert all(v.frets in part.own for h in heard for v in h.voicings)


@pytest.mark.parametrize(
    ("spans", "strings", "capo", "logged", "word"),
    [
        ([(1.0, 2.0), (0.0, 1.0)], STANDARD, 0, None, "in order"),
        ([(0.0, 9.0)], STANDARD, 0, None, "within the file"),
        ([(-1.0, 1.0)], STANDARD, 0, None, "within the file"),
        ([(1.0, 1.0)], STANDARD, 0, None, "no length"),
        ([(0.0, float("nan"))], STANDARD, 0, None, "no length"),
        ([(0.0, 1.0)], (), 0, None, "no open strings"),
        ([(0.0, 1.0)], (400,), 0, None, "open string"),
        ([(0.0, 1.0)], STANDARD, -1, None, "capo"),
        ([(0.0, 1.0)], STANDARD, 0, [(0, 0)], "6"),
        ([(0.0, 1.0)], STANDARD, 0, [(None,) * 6], "plays no string"),
        ([(0.0, 1.0)], STANDARD, 3, [(2, 0, 0, 0, 0, 0)], "capo"),
    ],
)
def test_what_cannot_be_asked(tone, spans, strings, capo, logged, word) -> None:
    with pytest.raises(ListeningError, match=word):
        hear_part(tone, spans, open_strings=strings, capo=capo, logged=logged)
