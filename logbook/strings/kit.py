"""Drum patterns: a row for each piece of the kit, on a grid of a stated note value.

Rows are parted by semicolons; each begins with the piece and has a cell for every grid step.
Blanks between cells are for the eye, and "|" is a bar line:

    grid 1/8    "hat x.x.x.x.; snare ..x...x.; kick x...x..."
    grid 1/16   "ride x.xx; cross-stick ..x.; kick X..."

===== ========================================
cell  what is struck
===== ========================================
x     the piece
X     the piece, accented
g     a ghost note, hardly heard
f     a flam: a grace note just before
o     a hi-hat struck open
.     nothing
===== ========================================

A row shorter than the longest one, but of whole bars, goes round. A pattern may swing like one of
the picking hand. Pieces have the note numbers of General MIDI's percussion key map.

Source: General MIDI System Level 1 (MIDI Association), percussion key map. Places on
the staff: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import NamedTuple

from logbook.errors import LogbookError
from logbook.names import closest
from logbook.strings.picking import STRAIGHT, parse_grid, parse_swing
from logbook.timing.meter import COMMON_TIME, Meter


class KitPiece(NamedTuple):
    """A piece of the kit: its General MIDI note, its place on the staff, and its head.

    `place` is a step and octave as in a treble clef; `feet` says that a foot plays it.
    """

    name: str
    midi: int
    place: str
    cross: bool = False
    feet: bool = False


_ALL = (
    KitPiece("kick", 36, "F4", feet=True),
    KitPiece("snare", 38, "C5"),
    KitPiece("cross-stick", 37, "C5", cross=True),
    KitPiece("hat", 42, "G5", cross=True),
    KitPiece("open hat", 46, "G5", cross=True),
    KitPiece("pedal hat", 44, "D4", cross=True, feet=True),
    KitPiece("ride", 51, "F5", cross=True),
    KitPiece("ride bell", 53, "F5", cross=True),
    KitPiece("crash", 49, "A5", cross=True),
    KitPiece("second crash", 57, "B5", cross=True),
    KitPiece("splash", 55, "B5", cross=True),
    KitPiece("china", 52, "C6", cross=True),
    KitPiece("high tom", 50, "E5"),
    KitPiece("mid tom", 47, "D5"),
    KitPiece("low tom", 45, "B4"),
    KitPiece("floor tom", 43, "A4"),
    KitPiece("low floor tom", 41, "G4"),
    KitPiece("clap", 39, "E5", cross=True),
    KitPiece("tambourine", 54, "B5", cross=True),
    KitPiece("cowbell", 56, "E5", cross=True),
    KitPiece("shaker", 82, "C6", cross=True),
    KitPiece("cabasa", 69, "C6", cross=True),
    KitPiece("maracas", 70, "C6", cross=True),
    KitPiece("claves", 75, "B5", cross=True),
    KitPiece("wood block", 76, "B5", cross=True),
    KitPiece("low wood block", 77, "A5", cross=True),
    KitPiece("triangle", 81, "C6", cross=True),
    KitPiece("high bongo", 60, "E5"),
    KitPiece("low bongo", 61, "C5"),
    KitPiece("high conga", 63, "D5"),
    KitPiece("muted conga", 62, "D5", cross=True),
    KitPiece("low conga", 64, "B4"),
    KitPiece("high timbale", 65, "E5"),
    KitPiece("low timbale", 66, "C5"),
    KitPiece("high agogo", 67, "F5", cross=True),
    KitPiece("low agogo", 68, "D5", cross=True),
)
PIECES = {each.name: each for each in _ALL}
_OTHER_WORDS = {
    "bass drum": "kick", "bd": "kick", "kick drum": "kick", "sd": "snare", "snare drum": "snare",
    "hi-hat": "hat", "hihat": "hat", "hh": "hat", "closed hat": "hat", "hats": "hat",
    "hi-hats": "hat", "open hi-hat": "open hat", "pedal hi-hat": "pedal hat",
    "foot hat": "pedal hat",
    "rim": "cross-stick", "side stick": "cross-stick", "sidestick": "cross-stick",
    "rimshot": "cross-stick", "ride cymbal": "ride", "crash cymbal": "crash",
    "crash 2": "second crash",
    "hi tom": "high tom", "tom 1": "high tom", "tom 2": "mid tom", "tom 3": "floor tom",
    "rack tom": "high tom", "middle tom": "mid tom", "tom": "mid tom", "hand clap": "clap",
    "claps": "clap", "tamb": "tambourine", "bell": "ride bell", "conga": "high conga",
    "bongo": "high bongo", "timbale": "high timbale", "agogo": "high agogo",
}  # fmt: skip
_CELLS = "xXgfo."
CELL_NAMES = {
    "x": "struck",
    "X": "accented",
    "g": "ghost note",
    "f": "flam",
    "o": "open",
    ".": "nothing",
}
_FORM = 'write a row for each piece, as in "hat x.x.; snare ..x.; kick x..."'
_MOST_STEPS = 64 * 96


class DrumHit(NamedTuple):
    """A stroke on a piece: `start` in whole notes from the pattern's beginning."""

    start: Fraction
    piece: KitPiece
    cell: str


class DrumRow(NamedTuple):
    """A piece and its cells, one to a step."""

    piece: KitPiece
    cells: str


@dataclass(frozen=True, slots=True, kw_only=True)
class KitPattern:
    """A drum pattern: rows of cells on a `grid` (fraction of a whole note) in `meter`.

    `swing` is how many times as long the first of two steps is as the second, 1 for straight.
    """

    rows: tuple[DrumRow, ...]
    grid: Fraction
    meter: Meter = COMMON_TIME
    swing: Fraction = STRAIGHT

    @property
    def steps(self) -> int:
        """Steps of the longest row."""
        return max(len(each.cells) for each in self.rows)

    @property
    def steps_a_bar(self) -> int:
        """Grid steps in a bar."""
        return int(self.meter.bar_length / self.grid)

    @property
    def length(self) -> Fraction:
        """Length in whole notes."""
        return self.steps * self.grid

    def step_start(self, step: int) -> Fraction:
        """Where a step begins, in whole notes from the pattern's beginning, swing included."""
        pair, odd = divmod(step, 2)
        first = 2 * self.grid * self.swing / (self.swing + 1)
        return pair * 2 * self.grid + (first if odd else 0)

    def hits(self) -> tuple[DrumHit, ...]:
        """Every stroke, in order of time, rows in their order."""
        found = [
            DrumHit(self.step_start(step), row.piece, cell)
            for row in self.rows
            for step in range(self.steps)
            if (cell := row.cells[step % len(row.cells)]) != "."
        ]
        return tuple(sorted(found, key=lambda hit: hit.start))


def piece_called(name: str) -> KitPiece | None:
    """The piece that is called so, None for none."""
    plain = " ".join(name.casefold().split())
    return PIECES.get(_OTHER_WORDS.get(plain, plain))


def is_kit(line: str) -> bool:
    """Whether a pattern's line is of the kit: its first row begins with a piece."""
    row, _, _ = line.partition(";")
    return bool(_parted(row))


def _parted(row: str) -> tuple[KitPiece, str] | None:
    """A row's piece and its cells: the longest name of a piece that it begins with."""
    words = row.replace(":", " ").split()
    for count in range(min(len(words) - 1, 4), 0, -1):
        piece = piece_called(" ".join(words[:count]))
        if piece is not None:
            return piece, "".join(words[count:])
    return None


def pieces_of(line: str) -> tuple[KitPiece, ...]:
    """The pieces that a pattern's rows begin with; what is no row is passed over."""
    parted = (_parted(row) for row in line.split(";"))
    return tuple(each[0] for each in parted if each is not None)


def read_kit(line: str, grid: str, meter: Meter = COMMON_TIME, swing: str = "") -> KitPattern:
    """Read a drum pattern from its rows, grid and swing, for music in `meter`.

    Raises LogbookError for a piece or cell that is none, and rows that do not fill whole bars.
    """
    step = parse_grid(grid)
    a_bar = meter.bar_length / step
    if a_bar.denominator != 1:
        raise LogbookError(
            f"a grid of {grid} does not divide a bar of {meter}",
            f"use a note value that does, such as {meter.beat_length}",
        )
    rows = [_read_row(each, int(a_bar), meter) for each in line.split(";") if each.strip()]
    if not rows:
        raise LogbookError("the pattern has no row", _FORM)
    longest = max(len(each.cells) for each in rows)
    for row in rows:
        if longest % len(row.cells):
            raise LogbookError(
                f"the row of the {row.piece.name} does not go round in the longest one",
                f"write {longest} steps",
            )
    feel = parse_swing(swing)
    beat_steps = meter.felt_beat_length / step
    if feel != 1 and (beat_steps.denominator != 1 or beat_steps % 2):
        raise LogbookError(
            f"a grid of {grid} in {meter} has no pairs of steps to swing",
            "swing a grid with an even number of steps a beat, or play straight",
        )
    return KitPattern(rows=tuple(rows), grid=step, meter=meter, swing=feel)


def _read_row(text: str, a_bar: int, meter: Meter) -> DrumRow:
    parted = _parted(text)
    if parted is None and (alone := piece_called(text.replace(":", " ").strip())):
        raise LogbookError(f"the row of the {alone.name} has no strokes", _FORM)
    if parted is None:
        word = text.split()[0] if text.split() else ""
        near = closest(word, [*PIECES, *_OTHER_WORDS])
        hint = f"did you mean {near[0]}? " if near else ""
        raise LogbookError(
            f"'{text.strip()[:40]}' does not begin with a piece of the kit",
            f"{hint}{_FORM}",
        )
    piece, body = parted
    at = 0
    for bar in body.split("|")[:-1]:
        at += len(bar)
        if at % a_bar:
            raise LogbookError(
                f"a bar line in the row of the {piece.name} stands after {at} steps",
                f"a bar of {meter} on this grid has {a_bar}",
            )
    cells = body.replace("|", "").replace("-", ".")
    wrong = next((cell for cell in cells if cell not in _CELLS), "")
    if wrong:
        raise LogbookError(
            f"'{wrong}' in the row of the {piece.name} is not a stroke",
            "use x struck, X accented, g ghost, f flam, o open hi-hat, . nothing",
        )
    if "o" in cells and piece.name != "hat":
        raise LogbookError(f"a {piece.name} has no open stroke", "write x, or use the hat's row")
    if not cells or len(cells) % a_bar or len(cells) > _MOST_STEPS:
        raise LogbookError(
            f"the row of the {piece.name} has {len(cells)} steps, and a bar of {meter} has {a_bar}",
            f"write {a_bar} steps for one bar, {2 * a_bar} for two",
        )
    return DrumRow(piece, cells)


def kit_text(line: str) -> str:
    """A pattern's line in its plain form: pieces by their names, one blank, a semicolon."""
    rows = []
    for row in line.split(";"):
        parted = _parted(row)
        if parted is None:
            rows.append(" ".join(row.split()))
            continue
        rest = row.replace(":", " ").split()
        for count in range(min(len(rest) - 1, 4), 0, -1):
            if piece_called(" ".join(rest[:count])) == parted[0]:
                rows.append(" ".join([parted[0].name, *rest[count:]]))
                break
    return "; ".join(each for each in rows if each)
