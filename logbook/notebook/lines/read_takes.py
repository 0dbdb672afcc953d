"""Lines of the takes: a take, its punch-ins, notes and words sung."""

from __future__ import annotations

import re
from dataclasses import replace

from logbook.editing.takes import parse_result
from logbook.errors import LogbookError
from logbook.notebook.lines.facts import Fact, NoteSaid, PunchSaid, TakeSaid
from logbook.notebook.lines.kinds import fold
from logbook.notebook.lines.where import Where
from logbook.notebook.lines.words import (
    NUMBERS,
    is_bars,
    number_of,
    place_text,
    section_text,
    words_place,
)
from logbook.timing.bars import parse_range

RESULTS = ("false start", "keeper", "complete", "incomplete", "reject")
_OTHER_RESULTS = {
    "kept": "keeper", "keep": "keeper", "keepers": "keeper", "rejected": "reject",
    "false": "false start", "fs": "false start", "falsestart": "false start",
    "completed": "complete",
}  # fmt: skip
_BAND = re.compile(r"^(?:whole\s+)?band\s+(?=\S)|(?:^|\s+)--band(?=\s|$)", re.I)
_ALONE = ("f", "k", "false", "keeper", "reject")
_NUMBER = r"(?:t|tk|take|#)\s*\.?#?\s*(?P<number>[0-9]{1,5})"
_HEAD = re.compile(rf"{_NUMBER}(?:\s*[:,;]\s*|\s+|$)(?P<rest>.*)", re.I)
_IN_WORDS = re.compile(
    rf"take\s+(?P<number>{'|'.join(NUMBERS)})(?:\s*[:,;]\s*|\s+|$)(?P<rest>.*)", re.I
)
_LAST = re.compile(
    r"(?:(?:the\s+)?last(?:\s+(?:take|one))?|that(?:\s+one)?)"
    r"(?:\s+was)?(?:\s+(?:an?|the))?\s*[:,]?\s+(?P<rest>.+)",
    re.I,
)
_NEXT = re.compile(r"(?:take|next take|t)(?:\s*[:;]\s*|\s+|$)(?P<rest>.*)", re.I)
_BODY_CLAUSE = re.compile(
    r"(?:^|\s*[;,]\s*|\s+)(?=(?:punch(?:ed|es|-?in)?|pi)\s+(?:in\s+)?(?:at\s+)?(?:bars?\s+)?[0-9A-Z])",
    re.I,
)
_PUNCH = re.compile(
    r"(?:punch(?:ed|es|-?in)?|pi)\s+(?:in\s+)?(?:at\s+)?(?P<body>.+)", re.I
)  # fmt: skip


def read_take(line: str, where: Where) -> TakeSaid | None:
    """Read a take: number, result, bars and a note in any order; None for anything else.

    `band` in front, or `--band` anywhere, makes it a pass of the whole band.
    """
    if (plain := _BAND.sub(" ", line)) != line:
        read = read_take(" ".join(plain.split()), where)
        if read is None and line.split()[0].casefold() == "band":
            return None
        return replace(read, band=True) if read else None
    if found := _HEAD.fullmatch(line):
        return take_of(int(found["number"]), found["rest"], where)
    if (found := _IN_WORDS.fullmatch(line)) and (number := number_of(found["number"])):
        read = take_of(number, found["rest"], where)
        if read.result or read.bars or not found["rest"]:
            return read
    if read_last := _of_the_last(line, where):
        return read_last
    if found := re.fullmatch(
        rf"(?:punch(?:ed)?|pi)\s+{_NUMBER}\s+(?:at\s+|bars?\s+)?(?P<rest>.+)", line, re.I
    ):
        return take_of(int(found["number"]), f"punch {found['rest']}", where)
    if (found := _NEXT.fullmatch(line)) and not re.match(r"[0-9]+\s*$", found["rest"]):
        read = take_of(0, found["rest"], where)
        if read.result or read.bars or not found["rest"]:
            return read
        raise LogbookError(
            f'"{found["rest"]}" gives no result and no bars',
            "write it as in take keeper 1-16 the good one, or t3 note ... for a remark",
        )
    first, rest = _result(line)
    if first:
        if found := re.match(rf"{_NUMBER}(?:\s+|$)", rest, re.I):
            return take_of(int(found["number"]), f"{first} {rest[found.end() :]}", where)
        if not rest or place_text(rest.split()[0], where):
            return take_of(0, line, where)
        if line.split()[0] in _ALONE and re.match(r"[^\W\d_]{2}", rest):
            # "f lost the count": a result that no other word begins with, and a note.
            return take_of(0, line, where)
    return None


def _of_the_last(line: str, where: Where) -> TakeSaid | None:
    """Read what is said of the take just played: "punch 12 late", "last take keeper"."""
    said = _LAST.fullmatch(line)
    if said:
        read = take_of(0, said["rest"], where)
        if not read.result:
            return None
    elif _PUNCH.fullmatch(line):
        read = take_of(0, line, where)
        if not read.punches or read.result or read.bars:
            return None
    else:
        return None
    part = where.part_record
    here = where.session.name if where.session else ""
    numbers = [(each.session == here, each.number) for each in part.takes] if part else []
    if not numbers:
        raise LogbookError("there is no take yet that this could be said of", "log it: t1 keeper")
    return replace(read, number=max(numbers)[1])


def _result(text: str) -> tuple[str, str]:
    """Part a result from the words after it: in full, or by its beginning."""
    words = text.split()
    for count in (2, 1):
        said = fold(" ".join(words[:count])).rstrip(",;:")
        if len(words) < count or not said:
            continue
        rest = " ".join(words[count:])
        if said in RESULTS or said in _OTHER_RESULTS:
            return _OTHER_RESULTS.get(said, said), rest
        short = said in tuple("kcifr") and (words[0].islower() or said == "k")
        if count == 1 and (short or (len(said) > 2 and words[0][0].islower())):
            try:
                return parse_result(said).value, rest
            except LogbookError:
                pass
    return "", text


def take_of(number: int, rest: str, where: Where) -> TakeSaid:
    """Read what is said of a take: result, bars, punch-ins, files and a note."""
    result = bars = note = ""
    punches: list[PunchSaid] = []
    files: list[str] = []
    clause_list = [each.strip() for each in rest.split(";")]
    for at, clause in enumerate(clause_list):
        if re.match(r"(?:note|notes)\b\s*:?\s*", clause, re.I):
            # A note goes on to the end of the line.
            whole = "; ".join(clause_list[at:])
            note = re.sub(r"^notes?\s*:?\s*", "", whole, flags=re.I)
            break
        if found := re.fullmatch(r"files?\s*:?\s*(.+)", clause, re.I):
            files.append(found[1])
            continue
        pieces = _BODY_CLAUSE.split(clause)
        for piece in filter(None, (each.strip() for each in pieces)):
            if _PUNCH.fullmatch(piece) and (more := _punches(piece, where)):
                punches += more
            elif not (result or bars or note):
                result, bars, note = _said(piece, where)
            else:
                note = f"{note}, {piece}" if note else piece
    return TakeSaid(
        number=number,
        result=result,
        bars=bars,
        note=note.strip(),
        punches=tuple(punches),
        files=tuple(files),
    )


def _said(text: str, where: Where) -> tuple[str, str, str]:
    """Part a result and bars from the note: at the front in any order, else at the end."""
    result, bars, rest = "", "", text
    while rest:
        if not bars and (found := _front_place(rest, where)):
            bars, rest = found
            continue
        if not result:
            result, left = _result(rest)
            if result:
                rest = left
                continue
        break
    if not result:
        words = rest.split()
        for count in (2, 1):
            said = fold(" ".join(words[-count:]))
            if len(words) > count and (said in RESULTS or said == "kept"):
                result, rest = _OTHER_RESULTS.get(said, said), " ".join(words[:-count])
                break
    if not bars and rest:
        before, _, last = rest.rpartition(" ")
        if is_bars(last) and "-" in last:
            bars, rest = str(parse_range(last)), re.sub(r"\s*,?\s*\bbars?$", "", before)
    return result, bars, re.sub(r"^[,:;.\s]+", "", rest)


def _front_place(text: str, where: Where) -> tuple[str, str] | None:
    """Part a place in the form that the text begins with: bars, or a section's name."""
    words = text.split()
    for count in (4, 3, 2, 1):
        said = " ".join(words[:count]).rstrip(",;")
        if len(words) < count:
            continue
        rest = " ".join(words[count:])
        if is_bars(said) and (place := place_text(said, where)):
            return place, rest
        # A section is known by its own letters: "a" in a note is no section A.
        exact = section_text(said, where.form)
        if exact and (exact == said or len(said) > 2):
            return exact, rest
        if fold(said) in ("all", "whole form", "whole") and (place := place_text(said, where)):
            return place, rest
    return None


def _punches(text: str, where: Where) -> list[PunchSaid]:
    found = _PUNCH.fullmatch(text)
    assert found is not None
    body = re.sub(r"^bars?\s+", "", found["body"].strip(), flags=re.I)
    punches: list[PunchSaid] = []
    while body:
        front = _front_place(re.sub(r"^(?:,|and|&|bars?)\s+", "", body), where)
        if front is None:
            break
        punches.append(PunchSaid(bars=front[0]))
        body = front[1]
        if not re.match(r"(?:,|and|&)\s", body) and not is_bars(body.split()[0] if body else ""):
            break
    if not punches:
        return []
    number = 0
    if passed := re.match(r",?\s*pass\s+([0-9]+)\b", body, re.I):
        number, body = int(passed[1]), body[passed.end() :]
    why = re.sub(r"^[\s,:;-]+", "", body)
    return [PunchSaid(bars=each.bars, why=why, number=number) for each in punches]


# Notes

_ABOUT = re.compile(r"(?P<about>song|session|day|version|part)\s+notes?\s*:?\s*(?P<text>.+)", re.I)
_NOTE = re.compile(r"notes?\b\s*:?\s*(?:(?:on|at|for)\s+(?=[0-9bA-Z]))?(?P<text>.+)", re.I)
_WORDS = re.compile(r"(?:lyrics?|words|sung)\b\s*:?\s*(?P<text>.+)", re.I)


def read_note(line: str, where: Where) -> Fact | None:
    """Read a remark that says what it is about; None for anything else."""
    if found := _ABOUT.fullmatch(line):
        about = {"day": "session"}.get(found["about"].lower(), found["about"].lower())
        return NoteSaid(text=found["text"], about=about)
    if found := _WORDS.fullmatch(line):
        head, colon, text = (each.strip() for each in found["text"].partition(":"))
        place = words_place(head, where) if colon and text else ""
        if not place:
            raise LogbookError(
                "it is not clear where this is sung",
                "say the section or bar it begins in, as in lyric B: the tide comes in",
            )
        return NoteSaid(text=text, about="words", place=place)
    if found := _NOTE.fullmatch(line):
        place, text = _placed(found["text"], where)
        return NoteSaid(text=text, about="bars" if place else "part", place=place)
    return None


def read_placed_note(line: str, where: Where) -> NoteSaid | None:
    """Read "B: let it ring" or "bar 12: late", where it is neither chords nor strokes."""
    place, text = _placed(line, where)
    if not place:
        return None
    if found := re.fullmatch(r"(?:lyrics?|words|sung)\b\s*:?\s*(.+)", text, re.I):
        return NoteSaid(text=found[1], about="words", place=place)
    return NoteSaid(text=text, about="bars", place=place)


def _placed(text: str, where: Where) -> tuple[str, str]:
    head, colon, rest = text.partition(":")
    if colon and rest.strip() and (place := place_text(head, where)):
        return place, rest.strip()
    return "", text
