"""Takes: what came of each recorded pass, the bars it covers and what was recorded over.

A take is told by its number within a part, and by its session where numbers start again: "2", or
2 of the session "Saturday", written "2/Saturday". What a comp draws on may lie elsewhere: a take of
another version or part, or a finished file, which has no number.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from typing import NamedTuple

from logbook.errors import LogbookError
from logbook.numerals import read_whole
from logbook.timing.bars import BarRange, parse_range
from logbook.timing.tempo import Tempo
from logbook.timing.tempo_map import TempoMap

_PUNCH = re.compile(r"(?P<bars>\S+)(?:\s+pass\s+(?P<number>\S+))?(?:\s+(?P<why>.*))?")
_TAKE_ID = re.compile(
    r'(?P<number>[0-9]+)(?:/(?:"(?P<quoted>(?:[^"\\]|\\.)+)"|(?P<plain>[^\s"].*)))?'
)


class TakeResult(StrEnum):
    """What came of a take."""

    KEEPER = "keeper"
    COMPLETE = "complete"
    INCOMPLETE = "incomplete"
    FALSE_START = "false start"
    REJECT = "reject"


class TakeId(NamedTuple):
    """Which take of a part: its number, and its session where the number alone is not enough.

    `version` and `part` say where it lies when not in the part itself. `file` names a finished file
    ("mix", "master", "bounce", or a file's own name) instead of a take, and `number` is 0 then.
    """

    number: int
    session: str = ""
    version: str = ""
    part: str = ""
    file: str = ""

    def __str__(self) -> str:
        return self.in_words

    @property
    def is_elsewhere(self) -> bool:
        """Whether it is anything else than a take of the part itself."""
        return bool(self.version or self.part or self.file)

    @property
    def in_words(self) -> str:
        """It as a comp's line has it, without the word take: "2/Saturday", "mix of album"."""
        if self.file:
            said = self.file if self.file in FINISHED else f"file {_quoted(self.file)}"
        else:
            said = str(self.number)
            if self.session:
                plain = re.fullmatch(r"[^\s\"@]+", self.session)
                said += f"/{self.session if plain else _quoted(self.session)}"
        if not (self.version or self.part):
            return said
        said += f" of {_named(self.version) if self.version else ''}"
        return f"{said}/{_named(self.part)}" if self.part else said


FINISHED = ("mix", "master", "bounce")
"""Words for a finished file of a version or a part."""


def _named(name: str) -> str:
    return name if re.fullmatch(r"[^\s\"@/]+", name) else _quoted(name)


def _quoted(name: str) -> str:
    escaped = re.sub(r'(["\\])', r"\\\1", name)
    return f'"{escaped}"'


class PunchedBars(NamedTuple):
    """Bars of a take recorded over: on which pass (the first recording is pass 1), and why."""

    bars: BarRange
    pass_number: int = 2
    why: str = ""

    def __str__(self) -> str:
        text = f"{self.bars} pass {self.pass_number}"
        return f"{text} {self.why}" if self.why else text


@dataclass(frozen=True, slots=True, kw_only=True)
class TakeSpan:
    """One recorded pass of a part. `bars` is None when nobody noted them.

    `version`, `part` and `file` are those of its `TakeId`.

    `clock` is the time of day at which it began ("14:32:05"), empty while not known.

    `file_seconds` is the length of its audio, None while no file is known.
    """

    number: int
    session: str = ""
    version: str = ""
    part: str = ""
    file: str = ""
    result: TakeResult | None = None
    bars: BarRange | None = None
    punch_ins: tuple[PunchedBars, ...] = ()
    note: str = ""
    clock: str = ""
    file_seconds: Fraction | None = None

    @property
    def id(self) -> TakeId:
        """The take as a comp names it."""
        return TakeId(self.number, self.session, self.version, self.part, self.file)


def parse_result(text: str) -> TakeResult:
    """Read a take result by its beginning: "k", "comp", "false".

    Raises LogbookError when no result begins so, or more than one does.
    """
    body = " ".join(text.lower().replace("-", " ").split())
    found = [
        result
        for result in TakeResult
        if body and (result.value.startswith(body) or body == f"{result.value}ed")
    ]
    if len(found) == 1:
        return found[0]
    names = ", ".join(TakeResult)
    raise LogbookError(f'"{text}" is not the result of a take', f"say one of {names}")


def parse_take_id(text: str) -> TakeId:
    """Read "2", "2/Saturday", "2/second day" or '2/"second day"'.

    Raises LogbookError when it is none of these.
    """
    found = _TAKE_ID.fullmatch(text.strip())
    if found is None or read_whole(found["number"]) < 1:
        raise LogbookError(
            f'"{text.strip()}" is not a take',
            'write its number, with its session if need be: 2 or 2/"second day"',
        )
    quoted = re.sub(r"\\(.)", r"\1", found["quoted"] or "")
    return TakeId(read_whole(found["number"]), quoted or found["plain"] or "")


def parse_punch_in(text: str) -> PunchedBars:
    """Read bars, pass and reason: "12", "12-13 pass 3", "12 pass 2 late on the change".

    Raises LogbookError when the bars or the pass cannot be read.
    """
    found = _PUNCH.fullmatch(text.strip())
    if found is None:
        raise LogbookError("the punch-in is empty", 'write its bars, as in "12-13 pass 2 flat"')
    number = found["number"] or "2"
    if not number.isdecimal() or read_whole(number) < 2:
        raise LogbookError(
            f'"{number}" is not the pass of a punch-in',
            "the first recording is pass 1, so write 2 or more",
        )
    return PunchedBars(parse_range(found["bars"]), read_whole(number), (found["why"] or "").strip())


def implied_tempo(take: TakeSpan, tempo_map: TempoMap) -> Tempo | None:
    """The steady tempo at which the take's bars would last exactly as long as its audio.

    In the beat unit of the tempo map where the take begins; None without bars or audio.
    Raises LogbookError when the map lacks such a place.
    """
    if take.bars is None or not take.file_seconds:
        return None
    start, end = tempo_map.span_of(take.bars)
    unit = tempo_map.tempo_at(take.bars.start).unit
    return Tempo((end - start) / unit * 60 / take.file_seconds, unit)


def take_of(takes: Iterable[TakeSpan], take_id: TakeId) -> TakeSpan | None:
    """The take a comp names, or None. Without a session, the only take of that number."""
    named = [take for take in takes if take.number == take_id.number and take.id[2:] == take_id[2:]]
    exact = [take for take in named if take.session == take_id.session]
    if exact:
        return exact[0]
    return named[0] if len(named) == 1 and not take_id.session else None
