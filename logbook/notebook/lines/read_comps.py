"""The line of a comp: which bars of which take stand where, of this part or from elsewhere.

Conventions. What a piece draws on is written as in the session file: `t1`, `t1/"day one"`, and for
what lies elsewhere `t1 of album`, `t1 of album/"low guitar"`, `mix of radio`, `file "last.wav" of
radio`. Its bars and sections are counted in that version. Names in quotation marks are put aside
before a line is parted, so that commas and takes in them part nothing.
"""

from __future__ import annotations

import re
from dataclasses import replace
from typing import NamedTuple

from logbook.editing.takes import FINISHED
from logbook.errors import LogbookError
from logbook.notebook.lines.facts import CompSaid, PieceSaid
from logbook.notebook.lines.kinds import fold
from logbook.notebook.lines.where import Where
from logbook.notebook.lines.words import one_named, place_text, section_text
from logbook.records import Version
from logbook.timing.bars import parse_point

_QUOTED = re.compile(r'"((?:[^"\\]|\\.)+)"')
_NUMBERED = r"(?:t|tk|take|#)\s*(?P<take>[0-9]{1,5})(?:/(?P<session>\"[0-9]+\"|[^\s\",@]+))?"
_DRAWN = re.compile(
    rf"(?<![^\W_])(?:file\s+(?P<file>\"[0-9]+\"|[^\s\",@]+)|(?P<word>{'|'.join(FINISHED)})\b"
    rf"|{_NUMBERED})",
    re.I,
)
_FIRST = re.compile(
    r"(?:^|\s)(?:(?:t|tk|take|#)\s*[0-9]|[0-9]+-[0-9]+\s*(?:=|t|:|mix|master|bounce|file)"
    rf"|(?:{'|'.join(FINISHED)})(?=\s+(?:of\b|[0-9])|\s*@|\s*$|,)"
    r"|file\s+(?:\"|\S+\s+(?:of\b|[0-9@])))",
    re.I,
)
_NAMED = re.compile(r"(?P<name>[^:\s\"][^:\"]*?)\s*:\s+(?P<body>\S.*)")
_PIECE = re.compile(r"(?:t|tk|take|#)\s*[0-9]|[0-9]+-", re.I)
_OF = re.compile(r"(?:^|\s)of\s+(?=\S)", re.I)
_FADE = re.compile(r"\s*\bxfade\s+([0-9.]+)\s*(ms|s)\b", re.I)
_TIMES = re.compile(r"\s+[x×]([0-9]{1,2})$", re.I)


class _Quotes(NamedTuple):
    """A text with the names in quotation marks put aside: each stands as its number in quotes."""

    text: str
    names: tuple[str, ...]

    def name(self, said: str | None) -> str:
        """A name as it was written, without its quotation marks."""
        found = re.fullmatch(r'"([0-9]+)"', said or "")
        return self.names[int(found[1])] if found else said or ""

    def shown(self, text: str) -> str:
        """A piece of the text as it was written."""
        return re.sub(r'"([0-9]+)"', lambda at: f'"{self.names[int(at[1])]}"', text)


def _put_aside(text: str) -> _Quotes:
    names: list[str] = []

    def number(found: re.Match[str]) -> str:
        names.append(re.sub(r"\\(.)", r"\1", found[1]))
        return f'"{len(names) - 1}"'

    return _Quotes(_QUOTED.sub(number, text), tuple(names))


def read_comp(line: str, where: Where) -> CompSaid | None:
    """Read the edit decisions: which bars of which take, in order; None for anything else.

    Raises LogbookError for a comp that cannot be read.
    """
    found = re.fullmatch(r"(?:the\s+)?comp\b\s*:?\s*(?P<rest>.*)", line, re.I)
    if found is None:
        return None
    quotes = _put_aside(found["rest"])
    name, body = _named(quotes.text)
    if not body:
        raise LogbookError("the comp names no take", "write it as in comp t2 1-8, t3 9-16")
    times = 1
    if said := _TIMES.search(body):
        times, body = int(said[1]), body[: said.start()]
    if not 1 <= times <= 99:
        raise LogbookError(f"the comp plays it {times} times", "write x1 or more")
    pieces: list[PieceSaid] = []
    for piece in _parted(body):
        pieces.append(_piece(piece, pieces, quotes, where))
    return CompSaid(name=quotes.shown(name), pieces=tuple(pieces), times=times)


def _named(rest: str) -> tuple[str, str]:
    """Part the comp's own name from its pieces; no pieces where no take or file is named."""
    found = _NAMED.fullmatch(rest)
    if found and _FIRST.match(found["body"]) and not _PIECE.match(found["name"]):
        return found["name"], found["body"]
    first = _FIRST.search(rest)
    if first is None:
        return "", ""
    return rest[: first.start()].strip().rstrip(":= ").strip(), rest[first.start() :].strip()


def _parted(body: str) -> list[str]:
    """The pieces, at commas, "then" or "+", or where the next take is named."""
    rough = [e for e in re.split(r"\s*(?:,|;|\bthen\b|\+|\band\b)\s+", body) if e.strip()]
    pieces: list[str] = []
    for each in rough:
        takes = list(_DRAWN.finditer(each))
        if len(takes) < 2 or takes[0]["word"] or takes[0]["file"]:
            pieces.append(each)
        elif takes[0].start() == 0:
            cuts = [take.start() for take in takes[1:]]
            pieces += [each[a:b].strip() for a, b in zip([0, *cuts], [*cuts, None], strict=True)]
        else:
            cuts = [take.end() for take in takes[:-1]]
            pieces += [each[a:b].strip() for a, b in zip([0, *cuts], [*cuts, None], strict=True)]
    return pieces


def _piece(text: str, before: list[PieceSaid], quotes: _Quotes, where: Where) -> PieceSaid:
    body, fade = text, ""
    if found := _FADE.search(body):
        fade = f"{float(found[1]) * (1000 if found[2].lower() == 's' else 1):g}"
        body = (body[: found.start()] + body[found.end() :]).strip()
    drawn = _DRAWN.search(body)
    head, tail = (body[: drawn.start()], body[drawn.end() :]) if drawn else ("", body)
    if drawn is None:
        if not before:
            raise LogbookError(f'"{quotes.shown(text)}" does not say which take', _FORM)
        said = replace(before[-1], source="", at="", crossfade_ms="")
    else:
        if tail and tail[0] not in " \t@=:":
            raise LogbookError(f'"{quotes.shown(text)}" cannot be read', _FORM)
        said = PieceSaid(
            take=int(drawn["take"] or 0),
            session=quotes.name(drawn["session"]),
            file=(drawn["word"] or "").lower() or quotes.name(drawn["file"]),
        )
        if not said.take and not said.file:
            raise LogbookError(f'"{quotes.shown(text)}" does not say which take', _FORM)
    if drawn and not place_text(quotes.shown(tail.strip(" @=:")), where):
        version, part, tail = _origin(tail, quotes, where)
        said = replace(said, version=version, part=part)
    there = _there(said.version, where)
    at, tail = _at(tail, where)
    head, tail = head.strip(" =:"), tail.strip(" @=:")
    if head and tail:
        # "17-24 t2 @ 1-8": the bars of the finished part, the take, the bars of it.
        span = place_text(head, where)
        if span is None:
            raise LogbookError(
                f'"{quotes.shown(head)}" is neither a range of bars nor a section', _FORM
            )
        at = re.sub(r"(?<=[0-9])-.*", "", span) if span[0].isdigit() else span
    source = place_text(tail, there) if tail else place_text(head, where) if head else ""
    if source is None:
        raise LogbookError(
            f'"{quotes.shown(tail or head)}" in "{quotes.shown(text)}" is neither a range of'
            " bars nor a section" + (f" of {said.version}" if said.version else ""),
            "write it as in t2 9-16 again at 25",
        )
    if not source and not drawn:
        source = before[-1].source
    return replace(said, source=source, at=at, crossfade_ms=fade)


_FORM = "write it as in t2 1-8, or mix of radio 1-8"


def _at(body: str, where: Where) -> tuple[str, str]:
    """Where the piece stands ("" in place), and the words before."""
    at = ""
    if found := re.search(
        r"\s*(?:\b(?:again\s+)?at|->|→)\s*(?:bars?\s+)?([0-9][0-9.+/]*)(?:-[0-9.]+)?$", body, re.I
    ):
        at, body = str(parse_point(found[1])), body[: found.start()].strip()
    elif found := re.search(r"\s*(?:\b(?:again\s+)?at)\s+(.+)$", body, re.I):
        at = section_text(found[1], where.form) or ""
        if not at:
            raise LogbookError(f'"{found[1]}" is not a place in the form', "write a bar: at 17")
        body = body[: found.start()].strip()
    return at, re.sub(r"\s*\bagain$", "", body, flags=re.I)


# Where it lies


def _origin(tail: str, quotes: _Quotes, where: Where) -> tuple[str, str, str]:
    """Part "of VERSION/PART" from the words after a take: version, part, what is left."""
    found = _OF.search(tail)
    if found is None:
        return "", "", tail
    words = tail[found.end() :].split()
    versions = where.song.versions if where.song else ()
    for count in range(len(words), 0, -1):
        origin = [quotes.name(each) for each in " ".join(words[:count]).split("/", 1)]
        if _known(origin, versions, where):
            break
    else:
        count, origin = 1, [quotes.name(each) for each in words[0].split("/", 1)]
    left = " ".join([tail[: found.start()].strip(), *words[count:]]).strip()
    version, part = _meant(origin, versions, where)
    return version, part, left


def _known(origin: list[str], versions: tuple[Version, ...], where: Where) -> bool:
    here = where.version_record
    if len(origin) == 1:
        there = next((e for e in versions if fold(e.name) == fold(origin[0])), None)
        parts = here.parts if here else ()
        return there is not None or any(fold(each.name) == fold(origin[0]) for each in parts)
    name = one_named(origin[0], [each.name for each in versions])
    there = next((e for e in versions if e.name == name), None) if origin[0] else here
    return there is not None and any(fold(e.name) == fold(origin[1]) for e in there.parts)


def _meant(origin: list[str], versions: tuple[Version, ...], where: Where) -> tuple[str, str]:
    """The version and part by their own names, as far as they are known."""
    name, part = origin[0], origin[1] if len(origin) > 1 else ""
    if (len(origin) > 1 and not part) or (not name and not part):
        raise LogbookError(
            "it does not say which part it is of", "write it as in t1 of album/guitar"
        )
    here = where.version_record
    version = one_named(name, [each.name for each in versions]) if name else ""
    if len(origin) == 1 and here:
        own = one_named(name, [each.name for each in here.parts])
        if own and version:
            raise LogbookError(
                f"{name} is the name of both a version and a part",
                f"write of {name}/{own} for the version, of /{own} for the part",
            )
        if own:
            return "", own
    there = here if not name else next((e for e in versions if e.name == version), None)
    if part and there:
        part = one_named(part, [each.name for each in there.parts]) or part
    return version or name, part


def _there(version: str, where: Where) -> Where:
    """Where the bars of a piece are counted."""
    if not version:
        return where
    known = where.song.versions if where.song else ()
    named = next((each for each in known if each.name == version), None)
    # No form is known there: only bars in figures can be read.
    return replace(where, version=named.name if named else "")
