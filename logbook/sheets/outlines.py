"""The outlines of a comp's sound for its strip, read from the files where they are there.

Without the extra `listen`, or without a file, a stretch simply has no outline.
"""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

from logbook.errors import LogbookError
from logbook.sheets.strips import Strip, StripSound

Outline = tuple[float, ...]

_A_BAR, _MOST = 16, 400


def outlines_of(strip: Strip) -> dict[StripSound, Outline]:
    """Return the outline of every stretch that is heard and has a file, the loudest part 1.0."""
    found = {}
    for run in strip.runs:
        if run.sound is None or run.sound in found:
            continue
        steps = min(max(round((run.at[1] - run.at[0]) * _A_BAR), 4), _MOST)
        if outline := _outline(run.sound, steps):
            found[run.sound] = outline
    loudest = max((max(each) for each in found.values()), default=0.0)
    if not loudest:
        return {}
    return {sound: tuple(each / loudest for each in found[sound]) for sound in found}


@lru_cache(maxsize=2048)
def _outline(sound: StripSound, steps: int) -> Outline:
    path = Path(sound.path)
    if not path.is_file():
        return ()
    from logbook.listening.extra import missing

    if missing():
        return ()
    from logbook.listening.outline import outline

    try:
        return outline(path, sound.start_s, sound.end_s, steps)
    except LogbookError:
        return ()
