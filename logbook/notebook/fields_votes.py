"""Votes, as both doors say them.

A line is `[NAME:] WHERE take N [RATING]`, then `phrase WORDS` and `note TEXT` after semicolons:
`Ada: 9-12 take 3 good; phrase down by the slip`. WHERE is bars, a section's name, or a line
of the words, by its beginning or its number ("line 7"); these stand for their bars then.
"""

from __future__ import annotations

import re
from collections import Counter
from typing import Any

from logbook.editing.takes import TakeId, parse_take_id
from logbook.editing.voting import RATINGS
from logbook.errors import LogbookError
from logbook.names import fold, matches, pick
from logbook.notebook import values
from logbook.notebook.clauses import read_clauses, write_clauses
from logbook.notebook.declare import Context, LineForm, Noun, Value, members_of
from logbook.notebook.fields_takes import session, take_number
from logbook.records import Version, Vote
from logbook.records.context import sections_of
from logbook.records.lyric_lines import lyric_lines
from logbook.timing.bars import BarRange, parse_range

_FORM = 'write it as in "Ada: 9-12 take 3 good; phrase down by the slip"'
_WORDS = {"phrase": "phrase", "words": "phrase", "note": "notes"}
_HEAD = re.compile(
    r"(?:(?P<who>[^;]*\S)\s*:\s+)?(?P<where>[^;:]*\S)\s+(?:take\s+|t(?=\d))(?P<take>\S.*)",
    re.I | re.S,
)
_BARS = re.compile(r"\d+(?:\.\d+(?:\+\d+/\d+)?)?(?:\s*[-\u2013].*)?")

__all__ = ["VOTE", "session", "take_number"]

_LINE = re.compile(r"(?:lyric\s+)?line\s+(?P<number>\d{1,4})", re.I)

_rating_word = values.one_of(*RATINGS)


def _rating(value: Value, context: Context) -> str:
    return str(_rating_word(value, context)) or "best"


def _vote_bars(value: Value, context: Context) -> str:
    return _place(values.text(value, context).strip(), context)[0]


def _place(body: str, context: Context) -> tuple[str, str]:
    """Return the bars that are meant, and the section's name where they were said by it."""
    plain = re.sub(r"^bars?\s+", "", body, flags=re.I)
    if _BARS.fullmatch(plain):
        return str(parse_range("".join(plain.split()))), ""
    name, bars = _named_place(body, context.owner(Version))
    return str(bars), name


def _named_place(body: str, version: Version | None) -> tuple[str, BarRange]:
    """Return the section or the line of the words that is meant, by its name and its bars."""
    sections = _sections(version)
    lines = lyric_lines(version) if version else ()
    if found := _LINE.fullmatch(body):
        if not 1 <= (number := int(found["number"])) <= len(lines):
            raise LogbookError(f"there is no line {number}", f"the words have {len(lines)} lines")
        return lines[number - 1].text, lines[number - 1].bars
    if lines and not matches(body, list(sections)):
        words = body.strip("\"'\u201c\u201d")
        meant = matches(words, lines, called=lambda line: line.text)
        if len({line.text for line in meant}) == 1 and len(meant) > 1:
            numbers = [str(at) for at, line in enumerate(lines, 1) if line in meant]
            raise LogbookError(
                f"{values.shown(words)} is sung {len(meant)} times",
                f"say which: line {' or line '.join(numbers)}",
            )
        if len(meant) == 1:
            return meant[0].text, meant[0].bars
    if not sections:
        raise LogbookError(f"{values.shown(body)} is not a range of bars", _FORM)
    chosen = pick(body, list(sections), "section", _FORM)
    return chosen, sections[chosen]


def _sections(version: Version | None) -> dict[str, BarRange]:
    """The sections by name; where a name comes again they are numbered, "verse 2"."""
    form = sections_of(version) if version else ()
    totals = Counter(fold(each.name) for each in form)
    counts: Counter[str] = Counter()
    named: dict[str, BarRange] = {}
    for each in form:
        counts[fold(each.name)] += 1
        shared = totals[fold(each.name)] > 1
        named[f"{each.name} {counts[fold(each.name)]}" if shared else each.name] = each.bars
    return named


def _read_vote(line: str, context: Context) -> dict[str, Any]:
    head, said = read_clauses(line, _WORDS, _FORM)
    found = _HEAD.fullmatch(head)
    if found is None:
        raise LogbookError(
            f"{values.shown(head)} does not say which take is meant, where, and how good it is",
            _FORM,
        )
    take, rating = _take_and_rating(found["take"].strip())
    bars, name = _place(found["where"], context)
    read: dict[str, Any] = {
        "bars": bars,
        "take": take.number,
        "session": session(take.session, context),
        "rating": rating,
        "person": values.known("person")(found["who"] or "", context),
    }
    read |= {key: values.text(text, context) for key, text in said.items()}
    if name and "phrase" not in read:
        read["phrase"] = name
    return read


def _take_and_rating(text: str) -> tuple[TakeId, str]:
    before, _, last = text.rpartition(" ")
    words = [word for word in RATINGS if before and word.startswith(last.casefold())]
    if len(words) == 1:
        return parse_take_id(before), words[0]
    if before and before.isdecimal():
        raise LogbookError(
            f"{values.shown(last)} is not one of {', '.join(RATINGS)}", "use one, or leave it out"
        )
    return parse_take_id(text), "best"


def _write_vote(vote: Vote, context: Context) -> str | None:
    who = f"{vote.person}: " if vote.person else ""
    take = TakeId(vote.take, vote.session)
    said = {"phrase": vote.phrase, "note": vote.notes}
    return write_clauses(f"{who}{vote.bars} take {take} {vote.rating}", said)


VOTE = Noun(
    word="vote",
    called=lambda vote: f"{f'{vote.person}: ' if vote.person else ''}{vote.bars} take {vote.take}",
    plural="votes",
    record=Vote,
    key=("person", "bars", "take", "session"),
    needs=("bars", "take"),
    help="what somebody thought of a take for one section, phrase or line",
    members=members_of(Vote, __name__),
    line=LineForm(
        read=_read_vote,
        write=_write_vote,
        form="[NAME:] BARS|SECTION take N [best|good|fair|poor]; phrase WORDS; note TEXT",
        example="Ada Fenrush: 9-12 take 3 good; phrase down by the slip",
    ),
)
