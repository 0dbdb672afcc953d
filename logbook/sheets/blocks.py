"""The blocks a sheet is made of, in reading order: what a form has to know how to draw.

A block holds plain data and says what it is, never how it looks. Level 1 is the sheet's own
title, 2 a version or a part, 3 a heading inside one.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from logbook.editing.bar_map import BarMapRow
    from logbook.sheets.charts import ChartSection
    from logbook.sheets.chords import ChordCard
    from logbook.sheets.patterns import PatternCard
    from logbook.sheets.strips import Strip
    from logbook.strings.voicing import SoundingVoicing

PLAIN, CAUTION, WRONG, KEY = "plain", "caution", "wrong", "key"

ANSWER_LABELS = 13
"""How wide, in characters, the labels are beside what is said of chords."""


class Heading(NamedTuple):
    """A heading, and beside it what belongs on the same line.

    `quiet` is one of an answer on the screen, which needs no rule under it; `of_part` the name of
    a part, which stands at the foot of its pages, and `of_version` of the version it is played on.
    `about` is the part that a heading with a version is about, where its text says more than that.
    """

    level: int
    text: str
    aside: str = ""
    quiet: bool = False
    of_part: bool = False
    of_version: str = ""
    about: str = ""


class Facts(NamedTuple):
    """Label and text, one fact to a row; `large` for what must be read from the floor.

    `column` is where the text begins at least, in columns of a terminal.
    """

    rows: tuple[tuple[str, str], ...]
    large: bool = False
    column: int = 0


class Paragraph(NamedTuple):
    """Running text. `mood` is "plain", "caution", "wrong" or "key" (how to read what is near)."""

    text: str
    mood: str = PLAIN


class Items(NamedTuple):
    """A list of remarks, in order; `loops` are the bars that each is practised in."""

    items: tuple[str, ...]
    mood: str = PLAIN
    loops: tuple[str, ...] = ()


class Table(NamedTuple):
    """Rows under a head; the last column holds running text. `takes` is the take of each row."""

    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    caption: str = ""
    takes: tuple[str, ...] = ()


class Picture(NamedTuple):
    """A photograph: what it shows, where it lies, and what a page shows of it (empty: nothing)."""

    caption: str
    path: str
    media: str = ""
    data: bytes = b""


class Pictures(NamedTuple):
    """Photographs, in order."""

    pictures: tuple[Picture, ...]


class Staff(NamedTuple):
    """A part on a staff, as MusicXML; what is drawn of it is said in words beside it."""

    score: str


class Chords(NamedTuple):
    """Chord cards with their diagrams, as many side by side as fit.

    `charted` says that the diagrams stand on top of a chart already, so that paper can do without.
    """

    cards: tuple[ChordCard, ...]
    large: bool = False
    charted: bool = False


class Patterns(NamedTuple):
    """Picking-hand patterns, strokes under their count."""

    cards: tuple[PatternCard, ...]


class Chart(NamedTuple):
    """The chart by section, bars in rows of four.

    `with_shapes` says that the shape names differ from the concert names, so both are shown;
    `with_labels` that two voicings share a name, so the labels are shown as well. `cards` are drawn
    small along the top of an engraved one; `stage` says that it is read from the floor, `alone`
    that it has a page to itself.
    """

    sections: tuple[ChartSection, ...]
    with_shapes: bool
    with_labels: bool
    cards: tuple[ChordCard, ...] = ()
    stage: bool = False
    alone: bool = False


class TabSection(NamedTuple):
    """A section in tablature: `systems` hold the lines of text of each row of bars."""

    name: str
    bars: str
    systems: tuple[tuple[str, ...], ...]


class Tab(NamedTuple):
    """A part that plays single notes, in tablature."""

    sections: tuple[TabSection, ...]


MOST_ON_TOP = 12
"""How many small diagrams the top of a chart may hold; more are drawn below, in full."""


class BarMap(NamedTuple):
    """Which take every bar of the finished part comes from, and the same to scale."""

    rows: tuple[BarMapRow, ...]
    strip: Strip | None = None


class Diagram(NamedTuple):
    """One voicing on the strings, under its names (what sounds first)."""

    voicing: SoundingVoicing
    names: tuple[str, ...]


class ChordKey(NamedTuple):
    """How to read the diagrams of these cards, where they stand one by one."""

    cards: tuple[ChordCard, ...]


class Study(NamedTuple):
    """One chord in large under its title, and beside it what there is to learn about it."""

    title: str
    aside: str
    card: ChordCard
    beside: tuple[Facts | Paragraph | Items | Patterns, ...]


class HandMove(NamedTuple):
    """The way from one chord to the next: where ("into bar 4"), and what stays and moves.

    `loop` is the bars to go round to practise it ("3-4"), `beat` where it is first made.
    """

    before: ChordCard
    after: ChordCard
    at: str
    said: str
    loop: str = ""
    beat: str = "1"


class NeckMoves(NamedTuple):
    """The moves of one section, drawn on the neck; `lines` are its top notes and guide tones."""

    section: str
    bars: str
    moves: tuple[HandMove, ...]
    lines: tuple[tuple[str, str], ...]


class RoadStop(NamedTuple):
    """One box of the road map: a section and how it is played ("x2", "vamp until the nod")."""

    name: str
    length: str
    bars: str
    starts_at: str
    how: str
    said: str


class RoadMap(NamedTuple):
    """The form as a band reads it, in the order it is played."""

    stops: tuple[RoadStop, ...]


class StageSong(NamedTuple):
    """A song of a set as it is read from the floor.

    `then` says what comes next, `changes` what is changed for that.
    """

    number: str
    title: str
    key: str
    tempo: str
    rigs: tuple[str, ...]
    changes: tuple[str, ...]
    then: str
    notes: str


class StageSongs(NamedTuple):
    """The songs of a set in the largest letters there are."""

    songs: tuple[StageSong, ...]


Block = (
    Heading
    | Facts
    | Paragraph
    | Items
    | Table
    | Pictures
    | Staff
    | Chords
    | Patterns
    | Chart
    | Tab
    | BarMap
    | Diagram
    | ChordKey
    | Study
    | NeckMoves
    | RoadMap
    | StageSongs
)
