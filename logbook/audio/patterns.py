"""File-name patterns: how a session names its files, as `{part}_{take}`.

A pattern is text with fields in braces: `{song}`, `{version}`, `{part}`, `{session}`, `{take}`,
`{date}`, `{mic}` (which microphone or line of a take) and `{text}` (anything, not kept; it may
stand several times).
Everything else is meant as it stands, without regard to upper and lower case. A pattern is held
against the name without its extension; with `/` in it, against that many folders too.

A name is never read one way where it could be read several: all readings are found, and what
they leave open is for the caller to say.
"""

from __future__ import annotations

import datetime
import itertools
import re
from collections.abc import Iterable, Iterator, Sequence, Set
from dataclasses import dataclass
from pathlib import PurePath

from logbook.errors import LogbookError
from logbook.names import bare

FIELDS = ("song", "version", "part", "session", "take", "date", "mic", "text")
"""The fields a pattern can have."""

USUAL_PATTERNS = (
    "{part}_{take}",
    "{part}-{take}",
    "{part} {take}",
    "{part}_{mic}_{take}",
    "{part}_{take}_{mic}",
    "{take}_{part}",
    "{take} {part}",
    "{song}_{part}_{take}",
    "{song} - {part} - {take}",
    "{song}_{part}_{take}_{mic}",
    "{date}_{part}_{take}",
    "{date}_{song}_{part}_{take}",
    "{song}/{part}_{take}",
    "{song}/{part} {take}",
    "{part}/{take}",
    "{song}/{part}/{take}",
)
"""Patterns tried when a session has none of its own (common practice, no source)."""

_LONGEST_PATTERN = 200
_MOST_FIELDS = 8
_MOST_READINGS = 32
_MOST_STEPS = 20_000  # in laying the fields over a name; a usual one takes some dozens
_LONGEST_NAME = 1024
_TAKE = re.compile(r"(?:take|tk|t)?[ _.#-]*0*([0-9]{1,4})", re.IGNORECASE)
_TAKE_WORD_AT_END = re.compile(r"(?:^|[ _.#-])(?:take|tk|t)[ _.#-]*$", re.IGNORECASE)
_DATE = re.compile(r"([0-9]{4})([-_.]?)([0-9]{2})\2([0-9]{2})")
_ANY_DAY = re.compile(r"[0-9]{1,2}([-_. ])[0-9]{1,2}\1(?:[0-9]{2}){1,2}|[0-9]{6}|[0-9]{8}")
_SEPARATORS = " _.-"


class PatternError(LogbookError):
    """A file-name pattern that cannot be used."""


@dataclass(frozen=True, slots=True)
class NameReading:
    """One way to read a name: the fields as written, the take a number, the date ISO 8601."""

    song: str | None = None
    part: str | None = None
    take: int | None = None
    date: str | None = None
    mic: str | None = None
    version: str | None = None
    session: str | None = None

    @property
    def told(self) -> int:
        """How many things it tells."""
        return sum(value is not None for value in vars_of(self))


@dataclass(frozen=True, slots=True)
class NamePattern:
    """A checked pattern: `text` as it was typed, `pieces` as (is a field, field or text)."""

    text: str
    pieces: tuple[tuple[bool, str], ...]

    @property
    def folders(self) -> int:
        """How many folders above the file it looks at."""
        return self.text.count("/")

    @property
    def has_part(self) -> bool:
        """Whether it has a field for the part."""
        return (True, "part") in self.pieces

    def readings(self, path: PurePath | str) -> tuple[NameReading, ...]:
        """Every different way to read the file's name, in no order of likelihood."""
        return self.readings_of(steps_of(path))

    def readings_of(self, steps: Sequence[str]) -> tuple[NameReading, ...]:
        """`readings` of a path taken apart by `steps_of`, once for many patterns."""
        name = "/".join(steps[-1 - self.folders :])
        if len(steps) <= self.folders or len(name) > _LONGEST_NAME or not self._could_fit(name):
            return ()
        found: dict[NameReading, None] = {}
        try:
            for values in _match(self.pieces, name):
                found.setdefault(_reading(values))
                if len(found) >= _MOST_READINGS:
                    break
        except _TooManyWaysError:
            return ()  # better none than one that others were never held against
        return tuple(found)

    def _could_fit(self, name: str) -> bool:
        """Whether what stands between the fields stands in the name, in this order."""
        folded, at = name.lower(), 0
        for is_field, text in self.pieces:
            if not is_field:
                at = folded.find(text.lower(), at)
                if at < 0:
                    return False
                at += len(text)
        return True


def steps_of(path: PurePath | str) -> tuple[str, ...]:
    """The folders of a path and the file's name without its extension."""
    path = PurePath(path)
    return (*path.parts[:-1], path.stem)


class _TooManyWaysError(Exception):
    """A name with so many ways to lay a pattern over it that no person could mean one."""


def several_patterns(text: str) -> list[str]:
    """The patterns that a text holds, with strokes between: `{part}_{take} | {song} {take}`."""
    return [each.strip() for each in text.split("|") if each.strip()]


def compile_pattern(text: str) -> NamePattern:
    """The pattern written as `text`; an extension at its end may be there and is not heeded.

    Raises `PatternError` naming what is wrong: an unknown or repeated field, a brace without its
    partner, two fields that nothing keeps apart, no field at all.
    """
    shown = text if len(text) <= 60 else text[:57] + "..."
    if not text.strip():
        raise PatternError("the file-name pattern is empty", "write one such as {part}_{take}")
    if len(text) > _LONGEST_PATTERN:
        raise PatternError(
            f"the file-name pattern {shown!r} has {len(text)} characters",
            f"{_LONGEST_PATTERN} are the most",
        )
    bare = re.sub(r"\.[A-Za-z0-9]{2,4}$", "", text.strip())
    pieces = tuple(_pieces(bare, shown))
    fields = [piece for is_field, piece in pieces if is_field]
    if not fields:
        raise PatternError(
            f"the file-name pattern {shown!r} has no field", "write one such as {part}_{take}"
        )
    if len(fields) > _MOST_FIELDS:
        raise PatternError(
            f"the file-name pattern {shown!r} has {len(fields)} fields", f"{_MOST_FIELDS} are most"
        )
    for field in fields:
        if field not in FIELDS:
            raise PatternError(
                f"the file-name pattern {shown!r} has an unknown field {{{field}}}",
                "the fields are " + ", ".join(f"{{{name}}}" for name in FIELDS),
            )
        if field != "text" and fields.count(field) > 1:
            raise PatternError(
                f"the file-name pattern {shown!r} has {{{field}}} twice", "name it once"
            )
    for (first_is, first), (second_is, second) in itertools.pairwise(pieces):
        if first_is and second_is:
            raise PatternError(
                f"nothing keeps {{{first}}} and {{{second}}} apart in {shown!r}",
                f"write a character between them, such as {{{first}}}_{{{second}}}",
            )
    return NamePattern(bare, pieces)


def _pieces(text: str, shown: str) -> Iterator[tuple[bool, str]]:
    at = 0
    while at < len(text):
        brace = re.compile(r"[{}]").search(text, at)
        if brace is None:
            yield False, text[at:]
            return
        if brace.start() > at:
            yield False, text[at : brace.start()]
        close = re.compile(r"[{}]").search(text, brace.end())
        if brace.group() == "}" or close is None or close.group() == "{":
            raise PatternError(
                f"a brace without its partner in the file-name pattern {shown!r}",
                "write a field as {take}",
            )
        yield True, text[brace.end() : close.start()].strip().lower()
        at = close.end()


def _match(pieces: Sequence[tuple[bool, str]], name: str) -> Iterator[dict[str, str]]:
    """Every way to lay the pieces over the whole name; hopeless places are tried once only."""
    folded = name.lower()
    if len(folded) != len(name):  # a letter whose lower case is longer; keep places comparable
        folded = name
    hopeless: set[tuple[int, int]] = set()
    steps = 0

    def lay(piece: int, at: int) -> Iterator[dict[str, str]]:
        if piece == len(pieces):
            if at == len(name):
                yield {}
            return
        if (piece, at) in hopeless:
            return
        nonlocal steps
        found = False
        is_field, text = pieces[piece]
        if is_field:
            for end in _field_ends(pieces, piece, folded, at):
                steps += 1
                if steps > _MOST_STEPS:
                    raise _TooManyWaysError
                value = name[at:end]
                if _fits(text, value):
                    for rest in lay(piece + 1, end):
                        found = True
                        yield {text: value, **rest}
        elif folded.startswith(text.lower(), at):
            for rest in lay(piece + 1, at + len(text)):
                found = True
                yield rest
        if not found:
            hopeless.add((piece, at))

    return lay(0, 0)


def _field_ends(
    pieces: Sequence[tuple[bool, str]], piece: int, folded: str, at: int
) -> Iterator[int]:
    """Where the field can end: before each place the text behind it stands, or at the end."""
    if piece + 1 == len(pieces):
        yield len(folded)
        return
    literal = pieces[piece + 1][1].lower()
    end = folded.find(literal, at + 1)
    while end >= 0:
        yield end
        end = folded.find(literal, end + 1)


def _fits(field: str, value: str) -> bool:
    """Whether the field can be written so. A name field does not swallow the word for a take."""
    if field == "take":
        return _TAKE.fullmatch(value) is not None
    if field == "date":
        return iso_date(value) is not None
    if "/" in value or not value.strip(_SEPARATORS):
        return False
    if field == "mic" and is_day(value):
        return False
    return value[0] not in _SEPARATORS and (
        field == "text" or (value[-1] not in _SEPARATORS and not _TAKE_WORD_AT_END.search(value))
    )


def _reading(values: dict[str, str]) -> NameReading:
    return NameReading(
        song=values.get("song"),
        part=values.get("part"),
        take=take_number(values["take"]) if "take" in values else None,
        date=iso_date(values["date"]) if "date" in values else None,
        mic=values.get("mic"),
        version=values.get("version"),
        session=values.get("session"),
    )


def vars_of(reading: NameReading) -> tuple[str | int | None, ...]:
    """Return what a reading says, field by field."""
    return (
        *(reading.song, reading.part, reading.take, reading.date, reading.mic),
        *(reading.version, reading.session),
    )


def take_number(text: str) -> int | None:
    """The number of a take written as `3`, `03`, `T3`, `tk 3` or `Take_003`; None if it is none."""
    found = _TAKE.fullmatch(text.strip())
    return int(found.group(1)) if found else None


def iso_date(text: str) -> str | None:
    """A date written year first (2024-05-06, 2024_05_06, 20240506) as ISO 8601, or None."""
    found = _DATE.fullmatch(text)
    if found is None:
        return None
    try:
        return datetime.date(*(int(found.group(n)) for n in (1, 3, 4))).isoformat()
    except ValueError:
        return None


def is_day(text: str) -> bool:
    """Whether a text is a day, in whatever order its year, month and day stand."""
    return iso_date(text) is not None or _ANY_DAY.fullmatch(text) is not None


def same_name(text: str) -> str:
    """The form in which names are compared: bare, one space for any run of separators."""
    return " ".join(re.split(r"[\s_.\-]+", bare(text))).strip()


@dataclass(frozen=True, slots=True)
class Trial:
    """How a pattern did on a folder: names it can read, and those whose part and song are known."""

    pattern: str
    read: int
    recognised: int
    total: int


def try_patterns(
    names: Iterable[PurePath | str],
    *,
    parts: Iterable[str],
    songs: Iterable[str] = (),
    patterns: Iterable[str] = USUAL_PATTERNS,
) -> tuple[Trial, ...]:
    """Every pattern tried on all names, the one that recognises most first.

    Recognised is a name with exactly one reading whose part (and song, if it names one) the log
    knows. Raises `PatternError` for a bad pattern.
    """
    taken_apart = [steps_of(name) for name in names]
    known_parts = {same_name(part) for part in parts}
    known_songs = {same_name(song) for song in songs}
    trials = []
    for text in patterns:
        pattern = compile_pattern(text)
        read = recognised = 0
        for steps in taken_apart:
            readings = pattern.readings_of(steps)
            read += bool(readings)
            recognised += len(known_readings(readings, known_parts, known_songs)) == 1
        trials.append(Trial(pattern.text, read, recognised, len(taken_apart)))
    return tuple(sorted(trials, key=lambda trial: (-trial.recognised, -trial.read)))


def known_readings(
    readings: Iterable[NameReading],
    parts: Set[str],
    songs: Set[str],
    versions: Set[str] = frozenset(),
    sessions: Set[str] = frozenset(),
) -> tuple[NameReading, ...]:
    """The readings of which all that they name is known (names as `same_name`)."""
    return tuple(
        reading
        for reading in readings
        if (reading.part is None or same_name(reading.part) in parts)
        and (reading.song is None or same_name(reading.song) in songs)
        and (reading.version is None or same_name(reading.version) in versions)
        and (reading.session is None or same_name(reading.session) in sessions)
    )
