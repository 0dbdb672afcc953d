"""A part and everything said about it: voicings, patterns, chart, takes, comps, doubles."""

from __future__ import annotations

from dataclasses import dataclass

from logbook.records.files import AudioFile
from logbook.records.people import Role


@dataclass(frozen=True, kw_only=True)
class Voicing:
    """One chord as fingered.

    `label` is what the chart calls it (unique in the part); `name` the concert name the player
    gave it (empty: the label is taken as the name when it reads as a chord symbol);
    `frets` the fret line as written, low string to high, empty while nobody has said one;
    `counted` "nut" or "capo", empty for the part's own way; `fingers` a line like
    "x 3 2 0 1 0"; `avoid` and `ring` string numbers (1 is the highest) not to be touched, or
    that may ring; `ornaments` e.g. "hammer-on 4 0-2, slide 2 3-5" (kind, string, frets counted
    as in the fret line).
    """

    label: str
    frets: str = ""
    name: str = ""
    counted: str = ""
    fingers: str = ""
    avoid: str = ""
    ring: str = ""
    ornaments: str = ""
    notes: str = ""


@dataclass(frozen=True, kw_only=True)
class Pattern:
    """What the picking hand does: `line` on a grid of `grid` (a note value, "1/16").

    `feel` is "straight", "swing" or "swing 3:2", as the picking module reads it.
    """

    label: str
    grid: str
    line: str
    feel: str = "straight"
    notes: str = ""


@dataclass(frozen=True, kw_only=True)
class ChartEntry:
    """The voicing that starts at `bar` and `beat` (from 1, may be a fraction "5/2").

    An empty `voicing` is a rest of the part; an empty `pattern` goes on with the one before.
    """

    bar: int
    beat: str = "1"
    voicing: str = ""
    pattern: str = ""


@dataclass(frozen=True, kw_only=True)
class PunchIn:
    """Bars of a take recorded over: `bars` a range ("12", "12.3-14"), which pass, and why.

    The first recording is pass 1, so the first punch-in is pass 2.
    """

    bars: str
    number: int = 2
    why: str = ""


@dataclass(frozen=True, kw_only=True)
class Take:
    """One recorded pass.

    `number` is counted within the part and the session; `result` one of keeper, complete,
    incomplete, false start, reject, or empty while unrated; `bars` the range it covers.
    """

    number: int
    session: str = ""
    result: str = ""
    bars: str = ""
    notes: str = ""
    punch_ins: tuple[PunchIn, ...] = ()
    files: tuple[AudioFile, ...] = ()


@dataclass(frozen=True, kw_only=True)
class CompPiece:
    """One edit decision: `bars` of the finished part come from `source` bars of a take.

    `take` is the take's number and `session` its session, which may stay empty while the number
    alone says which take is meant. Crossfades are in milliseconds at the piece's start.
    """

    bars: str
    take: int
    source: str
    session: str = ""
    crossfade_ms: float | None = None
    notes: str = ""


@dataclass(frozen=True, kw_only=True)
class Comp:
    """An ordered list of pieces; `final` marks the one that is heard (one of a part's)."""

    name: str = "comp"
    final: bool = True
    notes: str = ""
    pieces: tuple[CompPiece, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Double:
    """Another part of the version (`part`) that doubles the one this stands in."""

    part: str
    pan: str = ""
    notes: str = ""


@dataclass(frozen=True, kw_only=True)
class Overdub:
    """The part this stands in was added on top, of `over` (a part of the version) if said."""

    over: str = ""
    session: str = ""
    bars: str = ""
    notes: str = ""


@dataclass(frozen=True, kw_only=True)
class Reused:
    """What was said about reuse: `source` bars of the finished part stand again at `bars`.

    A remembered statement; what the comp says is worked out from the comp, and `check` compares.
    """

    source: str
    bars: str
    notes: str = ""


@dataclass(frozen=True, kw_only=True)
class TechniqueNote:
    """A remark on how something is played, for `bars` of the part (empty: throughout)."""

    text: str
    bars: str = ""


@dataclass(frozen=True, kw_only=True)
class Part:
    """Something played on a version by a player on an instrument.

    `capo` is written as the strings room reads it ("2", "2 on strings 1-5", empty for none);
    `counted` says how frets are counted: "nut" or "capo"; `picked` is "pick", "fingers",
    "pick and fingers" or empty; `doubled` is "doubled", "not doubled" or "unknown", and
    `doubled_why` the reason; `heard` whether the part is in the final version (None: not said).
    `shape_key` is the key the hands play in, when the player said one. `files` are bounces of
    the finished part.
    """

    name: str
    player: str = ""
    instrument: str = ""
    tuning: str = ""
    capo: str = ""
    counted: str = "nut"
    shape_key: str = ""
    picked: str = ""
    technique: str = ""
    chain: str = ""
    pan: str = ""
    doubled: str = "unknown"
    doubled_why: str = ""
    heard: bool | None = None
    notes: str = ""
    technique_notes: tuple[TechniqueNote, ...] = ()
    voicings: tuple[Voicing, ...] = ()
    patterns: tuple[Pattern, ...] = ()
    chart: tuple[ChartEntry, ...] = ()
    takes: tuple[Take, ...] = ()
    comps: tuple[Comp, ...] = ()
    doubles: tuple[Double, ...] = ()
    overdubs: tuple[Overdub, ...] = ()
    reused: tuple[Reused, ...] = ()
    roles: tuple[Role, ...] = ()
    files: tuple[AudioFile, ...] = ()
