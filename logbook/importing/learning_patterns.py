"""What a person's corrections teach: how a session's recorder names its files.

Where a file is hung by hand on a part and take that stand in its name, and no pattern read it so,
the name itself becomes a pattern: what stands there of song, version, part, session, take, date
and microphone becomes a field, and whatever else `{text}`. It is kept with the session where it
reads that very name rightly, and reads no file wrongly that hangs in the session already.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from pathlib import Path, PurePath, PurePosixPath
from typing import TYPE_CHECKING

from logbook.audio.patterns import (
    USUAL_PATTERNS,
    compile_pattern,
    known_readings,
    same_name,
    several_patterns,
)
from logbook.errors import LogbookError
from logbook.importing.file_index import entry_of
from logbook.importing.matching import names_of
from logbook.importing.path_words import path_words, runs_of, word_spans
from logbook.importing.proposal_text import FileGroup
from logbook.importing.trade_words import TAKE_WORDS
from logbook.store.file_rows import Outline, read_outline, remember_pattern

if TYPE_CHECKING:
    from logbook.store.changing import Change

_DATE = re.compile(r"(?<!\d)\d{4}([-_. ]?)\d{2}\1\d{2}(?!\d)")
_MOST = 8  # patterns that a session is taught


def learn_patterns(
    change: Change, root: Path, groups: Iterable[tuple[FileGroup, int, int | None]]
) -> None:
    """Keep with each session the patterns by which its files can be read; groups have ids."""
    outline = read_outline(change.connection)
    learnt: dict[int, list[str]] = {}
    for group, part_id, session_id in groups:
        if session_id is None or not group.take:
            continue
        names = names_of(outline.parts[part_id])
        held = several_patterns(outline.sessions[session_id].file_pattern)
        known = [*held, *learnt.get(session_id, ()), *USUAL_PATTERNS]
        for microphone, file in group.files:
            path = PurePosixPath(root.name, file)
            if any(_reads(text, path, group, names, outline) for text in known):
                continue
            text = pattern_from(path, group, names, microphone)
            fits = text and _reads(text, path, group, names, outline)
            if fits and not _misreads(text, session_id, outline) and len(held) < _MOST:
                learnt.setdefault(session_id, []).append(text)
                known.append(text)
    for session_id, texts in learnt.items():
        before = outline.sessions[session_id].file_pattern
        remember_pattern(change, session_id, " | ".join(filter(None, [before, *texts[:_MOST]])))


def pattern_from(
    path: PurePath, group: FileGroup, part_names: Sequence[str], microphone: str
) -> str:
    """The pattern that a file's name is written by; empty where part or take is not in it."""
    stem = path.stem
    step, spans = path_words(path)[0], word_spans(stem)
    fields: dict[int, str] = {}
    for found in _DATE.finditer(stem):
        _mark(fields, "date", [at for at, span in enumerate(spans) if _inside(span, found)])
    named = (
        ("song", [group.song]),
        ("session", [group.session]),
        ("version", [group.version]),
        ("part", sorted(part_names, key=len, reverse=True)),
        ("mic", [microphone]),
    )
    for field, names in named:
        runs = [run for name in names if name for run in runs_of(name, (step,)) if run.share == 1]
        for run in runs:
            if field not in fields.values():
                _mark(fields, field, range(run.start, run.end))
    takes = [
        word.at
        for word in step
        if word.at not in fields and word.plain.isdecimal() and int(word.plain) == group.take
    ]
    if len(takes) != 1:
        return ""
    at = takes[0]
    before = at and at - 1 not in fields and step[at - 1].plain in TAKE_WORDS
    _mark(fields, "take", [at - 1, at] if before else [at])
    folder = path.parent.name
    head = ""
    if "song" not in fields.values() and same_name(folder) == same_name(group.song):
        head = "{song}/"
    elif "part" not in fields.values() and same_name(folder) in map(same_name, part_names):
        head = "{part}/"
    text = head + _written(stem, spans, fields)
    return text if "{part}" in text else ""


def _inside(span: tuple[int, int], found: re.Match[str]) -> bool:
    return found.start() <= span[0] and span[1] <= found.end()


def _mark(fields: dict[int, str], field: str, words: Iterable[int]) -> None:
    listed = list(words)
    if listed and not fields.keys() & set(listed):
        fields.update(dict.fromkeys(listed, field))


def _written(stem: str, spans: Sequence[tuple[int, int]], fields: dict[int, str]) -> str:
    """The name with its words as fields, and what stands between them as it is."""
    out, last, end = "", "", 0
    for at, (start, stop) in enumerate(spans):
        field = fields.get(at, "text")
        if field != last:
            out += f"{stem[end:start] if out or start else ''}{{{field}}}"
        last, end = field, stop
    return out + stem[end:]


def _reads(
    text: str, path: PurePath, group: FileGroup, part_names: Sequence[str], outline: Outline
) -> bool:
    """Whether a pattern reads a file's name in one way only, and that is what was told of it."""
    found = _told(text, path, outline)
    if found is None:
        return False
    part, take, song = found
    return (
        part in set(map(same_name, part_names))
        and take == group.take
        and song in (None, same_name(group.song))
    )


def _told(text: str, path: PurePath, outline: Outline) -> tuple[str, int | None, str | None] | None:
    """The part, take and song that a pattern reads in a name; None where that is not clear."""
    try:
        pattern = compile_pattern(text)
    except LogbookError:
        return None
    parts = {same_name(name) for part in outline.parts.values() for name in names_of(part)}
    readings = known_readings(
        pattern.readings(path),
        parts,
        set(map(same_name, outline.songs.values())),
        {same_name(version.name) for version in outline.versions.values()},
        {same_name(session.name) for session in outline.sessions.values()},
    )
    if len(readings) != 1 or readings[0].part is None:
        return None
    song = readings[0].song
    return same_name(readings[0].part), readings[0].take, None if song is None else same_name(song)


def _misreads(text: str, session_id: int, outline: Outline) -> bool:
    """Whether a pattern reads a file of the session's takes as another take than it is on."""
    takes = {take.id: take for take in outline.takes if take.session_id == session_id}
    for entry in map(entry_of, outline.files):
        take = takes.get(entry.take_id or 0)
        if take is None:
            continue
        found = _told(text, PurePosixPath(entry.place or entry.path), outline)
        names = set(map(same_name, names_of(outline.parts[take.part_id])))
        if found is not None and (found[0] not in names or found[1] != take.number):
            return True
    return False
