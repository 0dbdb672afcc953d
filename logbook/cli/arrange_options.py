"""What was said of an arrangement on the command line, read into a record.

A part's options name the part before an equals sign (`--capo guitar=3`), which may be left out
where only one part can be meant. A section is the line of a session file, and may end with a cue:
`outro x2 at 84 ramp`, `vamp cue nod`.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from logbook.arranging.transposing import read_written_for
from logbook.errors import LogbookError
from logbook.names import begins
from logbook.notebook.declare import Context, Known, Record
from logbook.notebook.fields_arrangements import ARRANGED_SECTION
from logbook.records import ArrangedPart, ArrangedSection, Arrangement, Log, Song, Tuning, Version
from logbook.store.finding import choose
from logbook.strings.tunings import read_tuning
from logbook.theory.keys import parse_key
from logbook.timing.tempo import parse_tempo, parse_unit

_CUE = re.compile(r",?\s+cue\s+(?P<cue>.+)$", re.I | re.S)
_WAYS = ("same shapes", "retuned", "new shapes")


@dataclass(frozen=True, kw_only=True)
class Options:
    """The options as they were typed; empty or None where nothing was said."""

    key: str = ""
    tempo: str = ""
    count_in: int | None = None
    purpose: str = ""
    notes: str = ""
    sections: Sequence[str] = ()
    capos: Sequence[str] = ()
    tunings: Sequence[str] = ()
    instruments: Sequence[str] = ()
    players: Sequence[str] = ()
    ways: Sequence[str] = ()
    written_for: Sequence[str] = ()
    leave_out: Sequence[str] = ()

    @property
    def anything(self) -> bool:
        """Whether something is asked for that changes the music."""
        return any(value not in ("", None, (), []) for value in (getattr(self, f) for f in _FIELDS))


_FIELDS = (
    "key", "tempo", "count_in", "purpose", "notes", "sections", "capos", "tunings", "instruments",
    "players", "ways", "written_for", "leave_out",
)  # fmt: skip


class _NoNames(Known):
    """The log as far as the section reader asks: it looks nothing up."""

    def names(self, noun: str) -> Sequence[str]:
        """Return no names."""
        return ()

    def find(self, noun: str, name: str) -> Record | None:
        """Find nothing."""
        return None

    def add(self, noun: str, record: Record) -> None:
        """Take nothing in."""


def with_options(
    base: Arrangement, options: Options, log: Log, song: Song, version: Version
) -> Arrangement:
    """Return an arrangement with what was said on top.

    Raises LogbookError for what cannot be read, or a part or name that is not there.
    """
    changes: dict[str, Any] = {}
    if options.key:
        changes["key"] = parse_key(options.key).short
    if options.tempo:
        changes["bpm"], changes["unit"] = _tempo(options.tempo)
    if options.count_in is not None:
        changes["count_in_bars"] = options.count_in
    for name in ("purpose", "notes"):
        if getattr(options, name):
            changes[name] = getattr(options, name)
    if options.sections:
        changes["sections"] = tuple(_section(line, song, version) for line in options.sections)
    return replace(base, **changes, parts=_parts(base.parts, options, log, version))


def _tempo(text: str) -> tuple[float, str]:
    tempo = parse_tempo(text)
    unit = str(parse_unit(text.rpartition("=")[0])) if "=" in text else ""
    return float(tempo.bpm), unit


def _section(line: str, song: Song, version: Version) -> ArrangedSection:
    found = _CUE.search(line)
    body = (line[: found.start()] if found else line).strip()
    context = Context(known=_NoNames(), owners=(song, version))
    assert ARRANGED_SECTION.line is not None
    try:
        fields = dict(ARRANGED_SECTION.line.read(body, context))
    except LogbookError as error:
        if not body:
            raise
        if "section" not in error.problem or "," in body:
            raise LogbookError(f'section "{body}": {error.problem}', error.remedy) from error
        names = ", ".join(dict.fromkeys(each.name for each in version.form)) or "none yet"
        raise LogbookError(
            error.problem, f"the form has {names}; a new one needs a length, as in solo 8 bars"
        ) from error
    if found:
        fields["cue"] = found["cue"].strip()
    return ArrangedSection(**fields)


def _parts(
    base: tuple[ArrangedPart, ...], options: Options, log: Log, version: Version
) -> tuple[ArrangedPart, ...]:
    parts = {each.part: each for each in base}

    def set_field(texts: Sequence[str], field: str, fretted: bool = True) -> None:
        for text in texts:
            part, value = _assigned(text, version, f"--{field.replace('_', '-')}", fretted)
            known = parts.get(part, ArrangedPart(part=part))
            named: dict[str, Any] = {field: _value(field, value, log)}
            parts[part] = replace(known, **named)

    set_field(options.capos, "capo")
    set_field(options.tunings, "tuning")
    set_field(options.instruments, "instrument")
    set_field(options.players, "player")
    set_field(options.ways, "way")
    set_field(options.written_for, "written_for", fretted=False)
    for text in options.leave_out:
        part = choose(text, [each.name for each in version.parts], "part")
        parts[part] = replace(parts.get(part, ArrangedPart(part=part)), left_out=True)
    return tuple(parts.values())


def _assigned(text: str, version: Version, option: str, fretted: bool) -> tuple[str, str]:
    """The part and the value of `guitar=3`, or of `3` where only one part can be meant."""
    name, equals, value = text.partition("=")
    names = [each.name for each in version.parts]
    if equals:
        return choose(name.strip(), names, "part"), value.strip()
    meant = [each.name for each in version.parts if each.voicings or not fretted]
    if len(meant) != 1:
        raise LogbookError(
            f"{option} {text} does not say which part is meant",
            f"write it as in {option} {names[0] if names else 'guitar'}={text}",
        )
    return meant[0], text.strip()


def _value(field: str, value: str, log: Log) -> str:
    if field == "capo":
        return "" if value in ("0", "none") else value
    if field == "written_for":
        return read_written_for(value)
    if field == "way":
        found = [way for way in _WAYS if value and begins(way, value)]
        if len(found) != 1:
            raise LogbookError(f'"{value}" is not a way to a key', f"write {', '.join(_WAYS)}")
        return found[0]
    if field == "tuning":
        return _tuning(value, log)
    if field == "instrument":
        return choose(value, [each.name for each in log.instruments], "instrument")
    if field == "player":
        return choose(value, [each.name for each in log.people], "person")
    return value


def _tuning(value: str, log: Log) -> str:
    """A tuning's name: one of the log's, a usual one's, or strings written low to high."""
    names = [each.name for each in log.tunings]
    return value if value in names else read_tuning(value).name


def with_tunings(log: Log, arrangement: Arrangement) -> tuple[Log, tuple[Tuning, ...]]:
    """Return the log with the tunings an arrangement names, and those that were not in it."""
    known = {each.name for each in log.tunings}
    wanted = dict.fromkeys(part.tuning for part in arrangement.parts if part.tuning)
    new = tuple(
        Tuning(name=name, strings=read_tuning(name).text) for name in wanted if name not in known
    )
    return replace(log, tunings=(*log.tunings, *new)), new
