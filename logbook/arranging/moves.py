"""What an arrangement does with one section, in words: the moves behind a section's name.

Moves are separated by commas: `chorus x2, up 2, rit 2 bars to 60`.

* `bars 3-4`: only these bars of the section, counted from its first.
* `in E`, `up 2`, `down 1`: the section sounds in this key, or so many semitones from the key of
  the arrangement.
* `meter 3/4`: its bars have this meter; what lies beyond their end is left out.
* `last bar 2 beats`: its last bar has only so many beats (a half bar).
* `endings 7-8 / 9-10`: the bars with which its first, second ... pass ends; what comes before the
  first of them is played each time, and the last one ends all further passes.
* `segno`, `coda`, `to coda`, `fine`: where a road map's jumps lead to and leave from; `D.S.`,
  `D.C.`, `D.S. al coda`, `D.S. al fine`, `D.C. al coda`, `D.C. al fine`: a jump after the section.
* `rit 2 bars to 60`: its last bars slow down (or get faster) evenly to this tempo, in the beat
  that is counted there. What follows goes on as before (a tempo).
* `tempos as recorded`: a section made from another keeps the tempo changes inside its bars too.
* `ring`, `stop`, `fade 8 bars`: how the song ends: its last chord rings out, is cut off short, or
  its last bars grow softer.
* `chart C | F . G . | C`: what is played in a new section, a bar between two lines, a chord or a
  dot on each beat (one chord alone fills the bar, `-` is a rest), in the key it sounds in. Comes
  last, since chords may have commas in them.

Dal segno (D.S.), da capo (D.C.), coda, fine: common practice, no source.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Any, NamedTuple

from logbook.errors import LogbookError
from logbook.numerals import read_whole
from logbook.theory.keys import Key, parse_key
from logbook.timing.meter import parse_meter

JUMPS = ("D.S.", "D.C.", "D.S. al coda", "D.S. al fine", "D.C. al coda", "D.C. al fine")
MARKS = ("segno", "coda", "to coda", "fine")
ENDINGS = ("ring", "stop", "fade")
_FORMS = (
    'write moves such as "bars 3-4", "up 2", "in E", "meter 3/4", "last bar 2 beats", '
    '"endings 7-8 / 9-10", "segno", "to coda", "D.S. al coda", "rit 2 bars to 60", "ring", '
    '"fade 8 bars" or "chart C | F . G ."'
)
_MOST_BARS = 10_000


class SectionBars(NamedTuple):
    """Bars of a section, counted from 1, both included."""

    first: int
    last: int

    def __str__(self) -> str:
        return str(self.first) if self.first == self.last else f"{self.first}-{self.last}"


class Moves(NamedTuple):
    """The moves of one section; empty, 0 or None where nothing is said. See the module.

    `steps` are semitones from the arrangement's key (None: not said that way), `key` a key by
    name; `fade_bars` goes with the ending "fade".
    """

    bars: SectionBars | None = None
    key: str = ""
    steps: int | None = None
    meter: str = ""
    last_beats: int = 0
    endings: tuple[SectionBars, ...] = ()
    marks: tuple[str, ...] = ()
    jump: str = ""
    rit_bars: int = 0
    rit_bpm: float = 0.0
    as_recorded: bool = False
    ending: str = ""
    fade_bars: int = 0
    chart: str = ""

    def shift(self, key: Key | None) -> int:
        """Semitones of the section above the arrangement's key, -6 to 5 where a key is named.

        Raises LogbookError where a key is named and that of the arrangement is not known.
        """
        if self.steps is not None:
            return self.steps
        if not self.key:
            return 0
        if key is None:
            raise LogbookError(
                f"the way to {self.key} is unknown: the version has no key",
                "set it first, or write how far the section moves, as in up 2",
            )
        return (parse_key(self.key).pitch_class - key.pitch_class + 6) % 12 - 6

    @property
    def text(self) -> str:
        """The moves as `read_moves` reads them back."""
        said = []
        if self.bars:
            said.append(f"bars {self.bars}")
        if self.key:
            said.append(f"in {self.key}")
        if self.steps:
            said.append(f"{'up' if self.steps > 0 else 'down'} {abs(self.steps)}")
        if self.meter:
            said.append(f"meter {self.meter}")
        if self.last_beats:
            said.append(f"last bar {self.last_beats} {_beats(self.last_beats)}")
        if self.endings:
            said.append(f"endings {' / '.join(map(str, self.endings))}")
        said += self.marks
        if self.rit_bars:
            said.append(f"rit {self.rit_bars} {_bars(self.rit_bars)} to {self.rit_bpm:g}")
        if self.as_recorded:
            said.append("tempos as recorded")
        if self.ending:
            fade = f" {self.fade_bars} {_bars(self.fade_bars)}" if self.fade_bars else ""
            said.append(self.ending + fade)
        if self.jump:
            said.append(self.jump)
        if self.chart:
            said.append(f"chart {self.chart}")
        return ", ".join(said)


PLAIN = Moves()


def read_moves(text: str) -> Moves:
    """Read moves separated by commas, in any order, a chart last.

    Raises LogbookError naming the one that cannot be read, or that is said twice.
    """
    head, chart = _chart_of(text)
    found: dict[str, object] = {"chart": chart} if chart else {}
    for word in filter(None, (each.strip() for each in head.split(","))):
        for field, value in _read(word).items():
            if field == "marks":
                value = (*found.get("marks", ()), *value)  # type: ignore[misc]
            elif field in found:
                raise LogbookError(f'"{word}" is said twice for the section', "say it once")
            found[field] = value
    if "key" in found and "steps" in found:
        raise LogbookError("the section is given a key and a distance", "say one of them")
    return Moves(**found)  # type: ignore[arg-type]


def _chart_of(text: str) -> tuple[str, str]:
    """The moves before a chart, and the chart without its word."""
    start = re.search(r"(?:^|,)\s*chart\s+", text, re.IGNORECASE)
    if start is None:
        return text, ""
    bars = [" ".join(bar.split()) for bar in text[start.end() :].strip().strip("|").split("|")]
    if not all(bars):
        raise LogbookError(
            "the section's chart has an empty bar", "write a dot where a chord goes on"
        )
    return text[: start.start()], " | ".join(bars)


def _read(word: str) -> Mapping[str, object]:
    plain = " ".join(word.replace("\N{EN DASH}", "-").split())
    low = plain.casefold()
    if low in MARKS:
        return {"marks": (low,)}
    jump = low.removeprefix("then ").replace("d. s.", "d.s.").replace("d. c.", "d.c.")
    for each in JUMPS:
        if jump == each.casefold():
            return {"jump": each}
    if low == "tempos as recorded":
        return {"as_recorded": True}
    for pattern, read in _PATTERNS:
        found = pattern.fullmatch(plain)
        if found:
            return read(found)
    raise LogbookError(f'"{word}" is nothing that can be done with a section', _FORMS)


def _count(text: str, what: str) -> int:
    number = read_whole(text)
    if not 1 <= number <= _MOST_BARS:
        raise LogbookError(f"{what} of {text} cannot be", f"write 1 to {_MOST_BARS}")
    return number


def _span(text: str) -> SectionBars:
    first, _, last = text.replace(" ", "").partition("-")
    span = SectionBars(_count(first, "a bar"), _count(last or first, "a bar"))
    if span.last < span.first:
        raise LogbookError(f'bars "{text}" end before they have begun', "write them as in bars 3-4")
    return span


def _steps(found: re.Match[str]) -> dict[str, object]:
    steps = read_whole(found["steps"]) * (1 if found["way"].casefold() == "up" else -1)
    if not 1 <= abs(steps) <= 12:
        raise LogbookError(f"a section cannot go {found[0]}", "write 1 to 12 semitones, as in up 2")
    return {"steps": steps}


def _rit(found: re.Match[str]) -> dict[str, object]:
    bpm = float(found["bpm"])
    if not 0 < bpm < 1000:
        raise LogbookError(
            f"a tempo of {found['bpm']} cannot be reached", "write beats a minute, such as 60"
        )
    return {"rit_bars": _count(found["bars"], "a number of bars"), "rit_bpm": bpm}


_RANGE = r"\d{1,5}(?:\s*-\s*\d{1,5})?"
_PATTERNS: tuple[tuple[re.Pattern[str], Callable[[re.Match[str]], dict[str, Any]]], ...] = (
    (
        re.compile(rf"bars? (?P<bars>{_RANGE})", re.I),
        lambda found: {"bars": _span(found["bars"])},
    ),
    (re.compile(r"(?P<way>up|down) (?P<steps>\d{1,3})(?: semitones?)?", re.I), _steps),
    (
        re.compile(r"in (?P<key>[A-Ga-g].*)"),
        lambda found: {"key": parse_key(found["key"]).short},
    ),
    (
        re.compile(r"meter (?P<meter>\S+)", re.I),
        lambda found: {"meter": str(parse_meter(found["meter"]))},
    ),
    (
        re.compile(r"last bar (?P<beats>\d{1,3}) beats?", re.I),
        lambda found: {"last_beats": _count(found["beats"], "a number of beats")},
    ),
    (
        re.compile(rf"endings? (?P<all>{_RANGE}(?:\s*/\s*{_RANGE})+)", re.I),
        lambda found: {"endings": tuple(_span(each) for each in found["all"].split("/"))},
    ),
    (
        re.compile(r"(?:rit|accel)\.? (?P<bars>\d{1,5}) bars? to (?P<bpm>\d+(?:\.\d+)?)", re.I),
        _rit,
    ),
    (re.compile(r"(?P<how>ring|stop)", re.I), lambda found: {"ending": found["how"].casefold()}),
    (
        re.compile(r"fade (?P<bars>\d{1,5}) bars?", re.I),
        lambda found: {"ending": "fade", "fade_bars": _count(found["bars"], "a number of bars")},
    ),
)


def _bars(count: int) -> str:
    return "bar" if count == 1 else "bars"


def _beats(count: int) -> str:
    return "beat" if count == 1 else "beats"
