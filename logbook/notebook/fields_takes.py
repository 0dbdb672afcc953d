"""Takes, punch-ins and comps, as both doors say them.

Lines, read by `logbook.editing` where it has the grammar:

* a take is `NUMBER [RESULT] [BARS]`, then, each after a semicolon, `began TIME`,
  `punch BARS [pass N] [WHY]`, `file PATH`, and at last `note` with anything to the end:
  `3 keeper 1-32; punch 12 late on the change; file gtr_03.wav; note the one with the long ring`;
* a punch-in is `12`, `12-13 pass 3` or `12 late on the change`;
* a piece of a comp is `17-24 take 5 @ 9-16 xfade 10ms note cleaner`, of another version
  `17-24 take 5 of album @ 9-16`, of a finished file `17-24 mix of album @ 9-16`.

A list of pieces alone is the part's one comp, called "comp".
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from logbook.editing.comp import parse_piece
from logbook.editing.takes import PunchedBars as Punch
from logbook.editing.takes import parse_punch_in, parse_result
from logbook.errors import LogbookError
from logbook.notebook import values
from logbook.notebook.declare import (
    Context,
    LineForm,
    Noun,
    Record,
    Value,
    members_of,
)
from logbook.notebook.fields_files import file_of_path, implied_folder, path_of
from logbook.records import AudioFile, Comp, CompPiece, PunchIn, Take
from logbook.records.context import piece_of_record
from logbook.timing.bars import parse_range

_HEAD = re.compile(r"(?P<number>\S+)(?:\s+(?P<rest>.*))?", re.S)
_FORMS = 'write it as in "3 keeper 1-32; punch 12 late; note the good one"'
USUAL_COMP = "comp"

bars = values.through(parse_range)
session = values.known("session")


def result(value: Value, context: Context) -> str:
    """Read a take's result by its beginning; empty while unrated."""
    body = values.text(value, context)
    return parse_result(body).value if body.strip() else ""


def take_number(value: Value, context: Context) -> int:
    """Read a take's number, from 1."""
    return int(values.whole(1, 1_000_000)(value, context))


def read_take_line(line: str, context: Context) -> dict[str, Any]:
    """Read a take's line into what it mentions. Raises LogbookError naming the piece at fault."""
    head, *clauses = _split_notes(line)
    found = _HEAD.fullmatch(head.strip())
    if found is None:
        raise LogbookError("the take is empty", _FORMS)
    read: dict[str, Any] = {"number": take_number(found["number"], context)}
    read |= _result_and_bars((found["rest"] or "").split(), line)
    punches: list[PunchIn] = []
    files: list[AudioFile] = []
    for clause in clauses:
        word, _, rest = clause.strip().partition(" ")
        if word == "punch":
            punches.append(PunchIn(**read_punch_line(rest, context)))
        elif word == "file":
            files.append(file_of_path(rest.strip(), context))
        elif word == "began":
            read["clock"] = values.time_of_day(rest, context)
        elif word == "note":
            read["notes"] = rest.strip()
        else:
            raise LogbookError(f"{values.shown(clause.strip())} cannot be read", _FORMS)
    if punches:
        read["punch_ins"] = tuple(punches)
    if files:
        read["files"] = tuple(files)
    return read


def _split_notes(line: str) -> list[str]:
    """Part the clauses; a note goes on to the end of the line, semicolons and all."""
    head, separator, rest = line.partition(";")
    early = re.search(r"\snote\s", head)
    if early:
        return [head[: early.start()], line[early.start() :].strip()]
    pieces = [head]
    while separator:
        if rest.lstrip().startswith("note "):
            pieces.append(rest)
            break
        clause, separator, rest = rest.partition(";")
        pieces.append(clause)
    return pieces


def _result_and_bars(words: list[str], line: str) -> dict[str, Any]:
    read: dict[str, Any] = {}
    if words and words[-1][0].isdigit():
        read["bars"] = str(parse_range(words.pop()))
    if words:
        try:
            read["result"] = parse_result(" ".join(words)).value
        except LogbookError as error:
            raise LogbookError(
                error.problem, f"{error.remedy}; a remark goes after a semicolon and the word note"
            ) from error
    return read


def _write_take_line(take: Take, context: Context) -> str | None:
    pieces = [" ".join(filter(None, [str(take.number), take.result, take.bars]))]
    if take.clock:
        pieces.append(f"began {take.clock}")
    for punch in take.punch_ins:
        body = _write_punch_line(punch, context)
        if body is None:
            return None
        pieces.append(f"punch {body}")
    for file in take.files:
        path = path_of(file, context)
        if path is None:
            return None
        pieces.append(f"file {path}")
    if take.notes:
        pieces.append(f"note {take.notes}")
    return "; ".join(pieces)


def read_punch_line(line: str, context: Context) -> dict[str, Any]:
    """Read a punch-in's line: bars, pass and why."""
    punch = parse_punch_in(line)
    return {"bars": str(punch.bars), "number": punch.pass_number, "why": punch.why}


def _write_punch_line(punch: PunchIn, context: Context) -> str | None:
    span = parse_range(punch.bars)
    if punch.number == Punch(span).pass_number:
        return f"{span} {punch.why}".strip()
    return str(Punch(span, punch.number, punch.why))


def _read_piece_line(line: str, context: Context) -> dict[str, Any]:
    piece = parse_piece(line)
    return {
        "bars": str(piece.bars),
        "take": piece.take.number,
        "source": str(piece.source),
        "session": session(piece.take.session, context),
        "from_version": piece.take.version,
        "from_part": piece.take.part,
        "from_file": piece.take.file,
        "crossfade_ms": float(piece.crossfade_ms) if piece.crossfade_ms else None,
        "notes": piece.note,
    }


def _write_piece_line(piece: CompPiece, context: Context) -> str | None:
    if piece.from_file and (piece.take or piece.session):
        return None
    return str(piece_of_record(piece))


def _piece_take(value: Value, context: Context) -> int:
    """Read a take's number; 0 where a finished file stands instead."""
    return int(values.whole(0, 1_000_000)(value, context))


def _source(value: Value, context: Context) -> str:
    return str(bars(value, context))


def unpack_comps(value: Value) -> Value:
    """Take a list of pieces alone for the part's one comp."""
    if isinstance(value, list) and value and not any(_is_comp(item) for item in value):
        return [{"name": USUAL_COMP, "pieces": value}]
    return value


def _is_comp(item: Value) -> bool:
    return isinstance(item, dict) and not {"bars", "take"} & set(item)


def implied_session(
    given: dict[str, Any], siblings: Sequence[Take], context: Context
) -> dict[str, Any]:
    """Return the session of a take that names none.

    It is the file's only one; without any, that of the only take of this number.
    """
    if "session" in given:
        return {}
    if context.session is None:
        raise LogbookError(
            "the file has several sessions and this take does not say which it belongs to",
            'list takes by session: [song.version.part.takes] and under it "day one" = [...]',
        )
    same = [each.session for each in siblings if each.number == given.get("number")]
    return {"session": same[0] if not context.session and len(same) == 1 else context.session}


def pinned_session(
    given: dict[str, Any], siblings: Sequence[CompPiece], context: Context
) -> dict[str, Any]:
    """Return the session that the log has pinned a piece to which names none itself."""
    if given.get("session") or given.get("from_file"):
        return {}
    place = [given.get(name) for name in ("bars", "take", "source")]
    place[2] = place[2] or place[0]
    same = [each for each in siblings if [each.bars, each.take, each.source or each.bars] == place]
    return {"session": same[0].session} if same and same[0].session else {}


def settle_comps(
    read: list[Record],
    tables: dict[tuple[Any, ...], Value],
    siblings: Sequence[Record],
    noun: Noun,
) -> list[Record]:
    """Leave one comp of a part final: the one that says so, else the one that was."""
    marked = {key for key, table in tables.items() if isinstance(table, dict) and "final" in table}
    chosen = [each for each in read if each.final and noun.key_of(each) in marked]
    if not chosen:
        chosen = [each for each in siblings if each.final and noun.key_of(each) not in marked]
    if not chosen:
        chosen = [each for each in read if each.final]
    names = [each.name for each in chosen[-1:]]
    mine = {each.name for each in read}
    others = [each for each in siblings if each.name not in mine and each.final]
    return [
        replace(each, final=each.final and each.name in names)
        for each in [*read, *(other for other in others if other.name not in names)]
    ]


PUNCH_IN = Noun(
    word="punch-in",
    called=lambda punch: f"{punch.bars} pass {punch.number}",
    plural="punch-ins",
    record=PunchIn,
    key=("bars", "number"),
    needs=("bars",),
    help="bars of a take recorded over",
    members=members_of(PunchIn, __name__),
    line=LineForm(
        read=read_punch_line,
        write=_write_punch_line,
        form="BARS [pass N] [WHY]",
        example="12 late on the change",
    ),
)

TAKE = Noun(
    word="take",
    called=lambda take: f"take {take.number}",
    plural="takes",
    record=Take,
    key=("number", "session"),
    needs=("number",),
    help="one recorded pass of a part",
    members=members_of(Take, __name__),
    line=LineForm(
        read=read_take_line,
        write=_write_take_line,
        form="NUMBER [RESULT] [BARS]; began TIME; punch BARS WHY; file PATH; note TEXT",
        example="3 keeper 1-32; punch 12 late on the change",
    ),
)

PIECE = Noun(
    word="piece",
    called=lambda piece: (
        f"{piece.bars} {'' if piece.from_file else 'take '}{piece_of_record(piece).take}"
    ),
    plural="pieces",
    record=CompPiece,
    key=("bars",),
    needs=("bars", "take"),
    help="one edit decision of a comp",
    members=members_of(CompPiece, __name__),
    line=LineForm(
        read=_read_piece_line,
        write=_write_piece_line,
        form="BARS take N|mix|master|bounce [of VERSION[/PART]] [@ SOURCE BARS] [xfade N ms]"
        " [note TEXT]",
        example="41-48 take 2 @ 9-16 xfade 10ms",
    ),
)

COMP = Noun(
    word="comp",
    plural="comps",
    record=Comp,
    key=("name",),
    help="the edit decisions of a part",
    members=members_of(Comp, __name__),
)
