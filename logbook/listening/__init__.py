"""The listening room: what the sound says.

`recover_comp` is the stable door. Everything here needs the extra `listen` (numpy, scipy,
soundfile); without it each of these raises one sentence that says how to get it. Nothing heavy
is imported until one of them is called.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from logbook.listening.extra import ListenExtraMissingError, ListeningError, require
from logbook.listening.pieces import Piece

__all__ = ["ListenExtraMissingError", "ListeningError", "Piece", "recover_comp"]


def recover_comp(bounce: Path, takes: Sequence[Path]) -> Sequence[Piece]:
    """The edit decisions of a finished part, worked out from its sound and that of its takes.

    Pieces come in order and cover the bounce without gaps; `take` is None where nothing fits.
    Holds under gain changes, fades, crossfades, another sample rate or bit depth, lossy copies,
    a polarity flip, and a usual channel strip on the bounce. Raises ListeningError (no takes,
    silence, a bounce too short, a file that cannot be decoded) and ListenExtraMissingError.
    """
    require()
    from logbook.listening.recovering import recover

    return recover(Path(bounce), [Path(take) for take in takes])
