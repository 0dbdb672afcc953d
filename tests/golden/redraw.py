"""Draw the golden sheets of the sample session again; then read what changed with `git diff`.

    python tests/golden/redraw.py

They are kept so that a person reads every change of what a sheet says or how it looks.
"""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

from logbook.notebook.read import read_log
from logbook.sheets.catalog import draw_sheet, make_sheet
from logbook.sheets.looks import Look, Wanted

FOLDER = Path(__file__).parent
SAMPLE = FOLDER.parents[1] / "sample_session" / "session.toml"


class Golden(NamedTuple):
    """One kept sheet: its file, the song, the kind of sheet and its width in columns."""

    file: str
    song: str
    kind: str = "player"
    width: int = 80


GOLDEN = (
    Golden("low-tide-ledger.txt", "Low Tide Ledger"),
    Golden("low-tide-ledger.wide.txt", "Low Tide Ledger", width=120),
    Golden("lantern-on-the-slip.txt", "Lantern on the Slip"),
    Golden("varnish.txt", "Varnish"),
    Golden("rowan-gate.txt", "Rowan Gate"),
    Golden("low-tide-ledger.lesson.txt", "Low Tide Ledger", "lesson"),
    Golden("lantern-on-the-slip.lesson.txt", "Lantern on the Slip", "lesson"),
    Golden("low-tide-ledger.live.txt", "Low Tide Ledger", "live"),
    Golden("rowan-gate.live.txt", "Rowan Gate", "live"),
    Golden("low-tide-ledger.credits.txt", "Low Tide Ledger", "credits"),
)


def redrawn(golden: Golden) -> str:
    """Return a sheet of the sample session as it is drawn now."""
    log = read_log(SAMPLE.read_text(encoding="utf-8"))
    drawn = draw_sheet(
        make_sheet(golden.kind, log, Wanted(golden.song)), "text", Look(width=golden.width)
    )
    assert isinstance(drawn, str)
    return drawn


if __name__ == "__main__":
    for each in GOLDEN:
        (FOLDER / each.file).write_text(redrawn(each), encoding="utf-8")
        print(f"drew {each.file}")
