"""What a sheet says about the chart: which chord falls where, by section, in rows of four bars."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from fractions import Fraction
from functools import lru_cache
from typing import NamedTuple

from logbook.errors import LogbookError
from logbook.records.parts import ChartEntry
from logbook.records.songs import FormSection
from logbook.sheets.chords import ChordCard
from logbook.timing.bars import bars

BARS_A_ROW = 4
REST = "rest"
PICKUP = "pick-up"
_OFFBEATS = {Fraction(1, 2): "&", Fraction(1, 4): "e", Fraction(3, 4): "a"}


class ChartChord(NamedTuple):
    """A chord where it starts: its beat as counted ("1", "2&"), names and label.

    `beat` counts the meter's written beats from 1, as text that may hold a fraction. A rest of
    the part has "rest" as its concert name and no shape.
    """

    beat: str
    counted: str
    concert: str
    shape: str
    label: str

    @property
    def own_label(self) -> str:
        """The label, where it says something besides the two names."""
        return "" if self.label in (self.concert, self.shape) else self.label


class Sung(NamedTuple):
    """Words that begin in a bar: the beat they begin on, as text, and what is sung.

    `verse` counts the passes of a bar that is sung several times with other words, 0 for all.
    """

    beat: str
    text: str
    verse: int = 0


class ChartBar(NamedTuple):
    """One bar: the chord it begins with when that goes on from before, and those that start here.

    It holds the meter's written beats `first_beat` to `beats`; only a pick-up begins after 1.
    `pattern` is the pattern that takes over in this bar, empty while the one before goes on.
    `pulse` is how many written beats make one that is felt (3 in 6/8). `marks` are the changes of
    meter and tempo that stand at it, `notes` the remarks on how it is played, `words` the lines of
    the lyrics that begin in it; `tune` the notes of the part's melody there, as the player reads
    them. `meter` and `tempo` are in force where it begins, whether they are marked there or not.
    """

    bar: int
    first_beat: int
    beats: int
    held: ChartChord | None
    chords: tuple[ChartChord, ...]
    pattern: str
    pulse: int = 1
    marks: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    words: tuple[Sung, ...] = ()
    tune: str = ""
    meter: str = ""
    tempo: str = ""

    @property
    def said(self) -> str:
        """What stands over the bar, in one line: its marks, then how it is played."""
        return "; ".join((*((" ".join(self.marks),) if self.marks else ()), *self.notes))


class BarFacts(NamedTuple):
    """What is known of a bar besides its chords: its written beats, and what stands at it."""

    beats: range = range(1, 5)
    pulse: int = 1
    marks: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    words: tuple[Sung, ...] = ()
    tune: str = ""
    meter: str = ""
    tempo: str = ""


_NOTHING = BarFacts()


class ChartSection(NamedTuple):
    """A section of the form and its bars, in rows of four; `name` is empty outside the form.

    `tacet` says that the part does not play in it, `charted` is False while nobody has said what
    it plays there; `tune` says that its melody is all that is said.
    """

    name: str
    bars: str
    said: str
    rows: tuple[tuple[ChartBar, ...], ...]
    tacet: bool
    charted: bool = True
    tune: bool = False

    @property
    def has_bars(self) -> bool:
        """Whether its bars are drawn: the part plays in it, or somebody sings in it."""
        sung = any(bar.words for row in self.rows for bar in row)
        tune = self.tune and any(bar.tune for row in self.rows for bar in row)
        return sung or tune or (self.charted and not self.tacet and not self.tune)


def chart_sections(
    chart: Sequence[ChartEntry],
    cards: Mapping[str, ChordCard],
    form: Sequence[FormSection],
    facts: Mapping[int, BarFacts],
    silent: Collection[int] = frozenset(),
) -> tuple[ChartSection, ...]:
    """Lay the chart out by section; bars of the chart outside the form come last.

    `cards` are the part's chord cards by label, `facts` what is known of each bar; 4/4 where
    nothing is. `silent` are bars in which the part says that it does not play.
    Raises LogbookError where an entry's beat cannot be read.
    """
    if not chart:
        return ()
    silent = frozenset(silent)
    every = _bars(chart, cards, form, facts)
    sections = []
    met: set[int] = set()
    for section in sorted(form, key=lambda each: each.start):
        numbers = [n for n in range(section.start, section.start + section.bars) if n not in met]
        met.update(numbers)
        if numbers:
            charted = any(entry.bar in numbers for entry in chart)
            drawn = _section(section.name, section.notes, numbers, every)
            if silent.issuperset(numbers):
                drawn = drawn._replace(tacet=True, tune=False)
            elif not charted and not drawn.tune:
                drawn = drawn._replace(tacet=False, charted=False)
            sections.append(drawn)
    pickup = [number for number in every if number not in met and number < 1]
    if pickup:
        sections.insert(0, _section(PICKUP, "", pickup, every))
    outside = [number for number in every if number not in met and number >= 1]
    if outside:
        sections.append(_section("", "", outside, every))
    return tuple(sections)


def upbeat_of(sections: Sequence[ChartSection]) -> tuple[ChartBar, ...]:
    """Return the pick-up that is drawn as a short bar before the first section's, () for none."""
    if len(sections) < 2 or sections[0].name != PICKUP or not sections[1].has_bars:
        return ()
    pickup = sections[0]
    bars = tuple(bar for row in pickup.rows for bar in row)
    silent = pickup.tacet or pickup.tune or not pickup.charted
    return () if silent or len(bars) != 1 or bars[0].first_beat == 1 else bars


def chords_in(sections: Iterable[ChartSection]) -> Iterator[ChartChord]:
    """Every chord that begins in the bars of a chart, in order."""
    for section in sections:
        for row in section.rows:
            for bar in row:
                yield from bar.chords


@lru_cache(maxsize=1024)
def count_text(beat: Fraction) -> str:
    """Say a beat as it is counted: 1, 2&, 3e; other places as 2+1/3."""
    whole, part = divmod(beat, 1)
    if not part:
        return str(whole)
    return f"{whole}{_OFFBEATS[part]}" if part in _OFFBEATS else f"{whole}+{part}"


def _section(
    name: str, said: str, numbers: Sequence[int], every: Mapping[int, ChartBar]
) -> ChartSection:
    rows = tuple(
        tuple(every[number] for number in numbers[at : at + BARS_A_ROW])
        for at in range(0, len(numbers), BARS_A_ROW)
    )
    sounds = any(_sounds(every[number]) for number in numbers)
    tune = not sounds and any(every[number].tune for number in numbers)
    tacet = not sounds and not tune
    where = str(bars(numbers[0], numbers[-1]))
    return ChartSection(name, where, said, rows, tacet, tune=tune)


def _sounds(bar: ChartBar) -> bool:
    """Whether the part plays anything in a bar."""
    heard = (bar.held, *bar.chords)
    return any(chord is not None and chord.concert != REST for chord in heard)


def _bars(
    chart: Sequence[ChartEntry],
    cards: Mapping[str, ChordCard],
    form: Sequence[FormSection],
    facts: Mapping[int, BarFacts],
) -> dict[int, ChartBar]:
    starting: dict[int, list[tuple[Fraction, ChartEntry]]] = {}
    for entry in chart:
        starting.setdefault(entry.bar, []).append((_beat(entry), entry))
    in_form = {n for section in form for n in range(section.start, section.start + section.bars)}
    first = min(starting)
    last = max(starting) if not form else max(starting.keys() | in_form)
    sung = {number for number, known in facts.items() if known.words}
    numbers = sorted(in_form | sung | set(starting) | (set() if form else set(range(first, last))))
    held: ChartChord | None = None
    pattern = ""
    found = {}
    silent = {section.start for section in form if starting.keys().isdisjoint(_inside(section))}
    for number in numbers:
        if number in silent:
            held = None  # nobody said that the chord before goes on
        known = facts.get(number, _NOTHING)
        beats = known.beats
        # Plain bar 0 means where the pick-up begins, which is on one of the later beats.
        earliest = beats[0] if number < 1 else 1
        entries = [
            (beat if beat >= earliest else Fraction(earliest), each)
            for beat, each in starting.get(number, ())
        ]
        if len(entries) > 1:
            entries.sort(key=lambda each: each[0])
        chords = tuple(_chord(beat, entry, cards) for beat, entry in entries)
        taken_up = [entry.pattern for _, entry in entries if entry.pattern][-1:]
        changed = taken_up[0] if taken_up and taken_up[0] != pattern else ""
        pattern = changed or pattern
        starts_held = held is not None and not (entries and entries[0][0] == earliest)
        found[number] = ChartBar(
            bar=number,
            first_beat=beats[0],
            beats=beats[-1],
            held=held if starts_held else None,
            chords=chords,
            pattern=changed,
            pulse=known.pulse,
            marks=known.marks,
            notes=known.notes,
            words=known.words,
            tune=known.tune,
            meter=known.meter,
            tempo=known.tempo,
        )
        held = chords[-1] if chords else held
    return found


def _inside(section: FormSection) -> range:
    return range(section.start, section.start + section.bars)


def _beat(entry: ChartEntry) -> Fraction:
    try:
        return _fraction(entry.beat)
    except (ValueError, ZeroDivisionError):
        raise LogbookError(
            f"'{entry.beat}' in bar {entry.bar} of the chart is not a beat", "write 1, 3 or 5/2"
        ) from None


@lru_cache(maxsize=1024)
def _fraction(text: str) -> Fraction:
    return Fraction(text)


def _chord(beat: Fraction, entry: ChartEntry, cards: Mapping[str, ChordCard]) -> ChartChord:
    place = (str(beat), count_text(beat))
    if not entry.voicing:
        return ChartChord(*place, REST, "", "")
    card = cards.get(entry.voicing)
    if card is None:
        return ChartChord(*place, f"{entry.voicing}?", "", entry.voicing)
    return ChartChord(*place, card.concert, card.shape, card.label)
