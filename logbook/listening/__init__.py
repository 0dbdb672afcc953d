"""The listening room: what the sound says.

`recover_comp` is the stable door. Everything here needs the extra `listen` (numpy, scipy,
soundfile); without it each of these raises one sentence that says how to get it. Nothing heavy
is imported until one of them is called.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from logbook.listening.extra import ListenExtraMissingError, ListeningError, require
from logbook.listening.heard import HeardNote, HeardSpan, HeardVoicing
from logbook.listening.pieces import Piece, Pieces

if TYPE_CHECKING:
    from logbook.listening.doubles import Comparison
    from logbook.listening.measuring import TakeMeasures
    from logbook.timing import BarRange, TempoMap

__all__ = [
    "HeardNote",
    "HeardSpan",
    "HeardVoicing",
    "ListenExtraMissingError",
    "ListeningError",
    "Piece",
    "Pieces",
    "compare_doubles",
    "hear_chords",
    "hear_notes",
    "hear_part",
    "measure_take",
    "recover_comp",
]


def recover_comp(bounce: Path, takes: Sequence[Path]) -> Pieces:
    """The edit decisions of a finished part, worked out from its sound and that of its takes.

    Pieces come in order and cover the bounce without gaps; `take` is None where nothing fits,
    `also` names other takes that hold the same recording, and `rough_comps` of the whole says
    which takes are comps themselves.
    Holds under gain changes, fades, crossfades, another sample rate or bit depth, lossy copies,
    a polarity flip, a usual channel strip on the bounce, one channel alone, and another speed of
    the whole (`stretch` of the pieces says it). Raises ListeningError (no takes, silence, a bounce
    too short, a file that cannot be decoded) and ListenExtraMissingError.
    """
    require()
    from logbook.listening.recovering import recover

    return recover(Path(bounce), [Path(take) for take in takes])


def compare_doubles(a: Path, b: Path) -> Comparison:
    """Whether B is A's recording (identical, delayed, processed) or a second performance.

    Raises ListeningError for silence, too short or damaged files, and ListenExtraMissingError.
    """
    require()
    from logbook.listening.doubles import compare

    return compare(Path(a), Path(b))


def hear_part(
    audio: Path,
    spans: Sequence[tuple[float, float]],
    *,
    open_strings: Sequence[int],
    capo: int = 0,
    logged: Sequence[Sequence[int | None]] | None = None,
) -> tuple[HeardSpan, ...]:
    """Which notes and which playable voicing sound in each stretch of a recording.

    spans: start and end in seconds of each stretch with one chord, in order. open_strings: MIDI
    numbers, low to high as on the instrument. capo: its fret, 0 for none. logged: voicings to
    choose from; then only those are ranked, and `voicings` is empty where none of them fits.
    Frets count from the nut, an open string is 0, None is not played. All stretches are heard
    together, so the more of a part is given the better. Raises ListeningError (spans out of
    order or outside the file, a voicing that is not one of this instrument, a file that cannot be
    decoded) and ListenExtraMissingError.
    """
    require()
    from logbook.listening.hearing import hear

    return hear(Path(audio), spans, open_strings=open_strings, capo=capo, logged=logged)


def hear_chords(
    audio: Path,
    tempo_map: TempoMap,
    *,
    open_strings: Sequence[int],
    capo: int = 0,
    covers: BarRange | None = None,
    music_at_s: float | None = None,
    logged: Sequence[Sequence[int | None]] | None = None,
) -> tuple[HeardSpan, ...]:
    """Where the chord changes on the beat grid of a recording, and what sounds in each stretch.

    covers: bars of the map that the file plays (None: from its first bar on). music_at_s: where
    in the file the first of them begins; None takes the first onset. The rest as in `hear_part`.
    Stretches come in order and cover the bars as far as the file goes; neighbours differ in
    their notes. Raises as `hear_part` does, and where the file ends before a beat is over.
    """
    require()
    from logbook.listening import changes

    return changes.hear(
        Path(audio),
        tempo_map,
        open_strings=open_strings,
        capo=capo,
        covers=covers,
        music_at_s=music_at_s,
        logged=logged,
    )


def hear_notes(
    audio: Path, *, start: float = 0.0, end: float | None = None
) -> tuple[HeardNote, ...]:
    """The notes of a single line: a voice, a wind instrument, a bass; one sounds at a time.

    start, end: seconds of the file that are listened to (None: to its end). Notes come in order,
    their seconds count from the beginning of the file, MIDI 23 (a bass's low B) to 96. Vibrato and
    slides stay within their notes; a recording that is sharp or flat as a whole is heard in its own
    tuning. Raises ListeningError (a stretch outside the file, a file that cannot be decoded) and
    ListenExtraMissingError. Silence has no notes.
    """
    require()
    from logbook.listening.line_hearing import hear_line

    return hear_line(Path(audio), start=start, end=end)


def measure_take(
    path: Path,
    *,
    tempo_map: TempoMap | None = None,
    covers: BarRange | None = None,
    music_at_s: float | None = None,
    a4_hz: float = 440.0,
    open_strings: Sequence[int] = (),
    capo: int = 0,
) -> TakeMeasures:
    """Tempo bar by bar, tuning, loudness, peaks, clipping and silence of one take.

    See `logbook.listening.measuring.measure_take`. Raises ListeningError for a file that cannot
    be decoded, and ListenExtraMissingError.
    """
    require()
    from logbook.listening import measuring

    return measuring.measure_take(
        Path(path),
        tempo_map=tempo_map,
        covers=covers,
        music_at_s=music_at_s,
        a4_hz=a4_hz,
        open_strings=open_strings,
        capo=capo,
    )
