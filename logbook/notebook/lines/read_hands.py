"""Lines of the hands and the form: sections, voicings, chart lines, picking patterns."""

from __future__ import annotations

import re

from logbook.errors import LogbookError
from logbook.notebook.lines.facts import (
    ChartSaid,
    FormSaid,
    PatternSaid,
    SectionSaid,
    VoicingSaid,
    VoicingsSaid,
)
from logbook.notebook.lines.kinds import fold
from logbook.notebook.lines.where import Where
from logbook.notebook.lines.words import clauses, is_bars, is_chord, listed, section_text
from logbook.strings.frets import read_fingers, read_frets, write_fingers
from logbook.strings.picking import parse_grid, parse_swing, swing_text
from logbook.strings.picking_cells import read_cells
from logbook.theory.compass import looks_like_notes, read_notes

# The form

_SECTION = re.compile(
    r"(?:(?P<name>.*?\S)\s*[( ]\s*(?P<bars>[0-9]{1,4})\s*(?P<word>bars?)?\)?"
    r"|(?P<count>[0-9]{1,4})\s*bars?\s+(?:of\s+)?(?P<of>.+))(?P<times>\s+x[0-9]{1,2})?",
    re.I,
)
_AGAIN = re.compile(r"(?P<name>.*?\S)(?P<times>\s+x[0-9]{1,2})?")


def read_form(line: str, where: Where) -> FormSaid | None:
    """Read sections and their lengths: "A 8 bars, B 8 bars, A, B"; None for anything else."""
    head = re.match(r"(?:form|structure|sections)\b\s*:?\s*", line, re.I)
    body = line[head.end() :] if head else line
    pieces = clauses(body) if "," in body else [body]
    if head and len(pieces) == 1:
        pieces = _spread(body, where)
    said: list[SectionSaid] = []
    lengths = 0
    for piece in pieces:
        if (found := _SECTION.fullmatch(piece)) and (
            head or found["word"] or found["count"] or len(pieces) > 1
        ):
            name = (found["name"] or found["of"]).strip()
            if not re.search(r"[^\W\d_]", name) or set("|=:") & set(name):
                return _refused(head, piece)
            section = SectionSaid(name=name, bars=int(found["bars"] or found["count"]))
            lengths += 1
        elif found := _AGAIN.fullmatch(piece):
            names = [*where.section_names, *(each.name for each in said)]
            same = [each for each in names if fold(each) == fold(found["name"])]
            if not same:
                return _refused(head, piece)
            section = SectionSaid(name=same[0])
        else:
            return _refused(head, piece)
        times = int(found["times"].strip()[1:]) if found["times"] else 1
        said += [section] + [SectionSaid(name=section.name)] * (times - 1)
    if not said or (not head and not lengths and len(pieces) < 2):
        return None
    if not head and len(said) == 1 and not re.search(r"\bbars?\b", line, re.I):
        return None
    return FormSaid(sections=tuple(said), whole=bool(head) or len(said) > 1 or not where.form)


def _refused(head: object, piece: str) -> FormSaid | None:
    if head:
        raise LogbookError(
            f'"{piece}" does not give a section and its bars',
            "write it as in form A 8 bars, B 8 bars, A, B",
        )
    return None


def _spread(body: str, where: Where) -> list[str]:
    """Part a form without commas: "A B A B", "ABAB" of sections that are known, "A8 B8"."""
    names = {fold(each) for each in where.section_names}
    words = body.split()
    if len(words) > 1 and all(fold(each) in names for each in words):
        return words
    if len(words) == 1 and len(body) > 1 and all(fold(each) in names for each in body):
        return list(body)
    found = re.findall(r"([^\W\d_]\D*?)\s*([0-9]+)(?:\s*bars?)?(?:\s+|$)", body)
    if len(found) > 1:
        return [f"{name.strip()} {bars}" for name, bars in found]
    return [body]


# Voicings

_CELL = r"(?:[xX]|[0-9]{1,2}|\([0-9]{1,2}\)|<[0-9.]{1,4}>)"
_FRETS = re.compile(rf"{_CELL}(?:[\s,|-]*{_CELL})*")
_EXTRA = (
    ("counted", re.compile(r"(?:counted\s+)?from\s+(?:the\s+)?(nut|capo)", re.I)),
    ("fingers", re.compile(r"fing(?:er)?s?\s*:?\s*([0-4xXTt ,-]+)", re.I)),
    ("avoid", re.compile(r"avoid(?:\s+strings?)?\s*:?\s*([0-9 ,]+)", re.I)),
    ("ring", re.compile(r"(?:let\s+)?ring(?:\s+strings?)?\s*:?\s*([0-9 ,]+)", re.I)),
    ("ornaments", re.compile(r"with\s+((?:hammer|pull|slide|bend|trill).+)", re.I)),
)


def read_voicings(line: str, where: Where) -> VoicingsSaid | None:
    """Read a chord and its frets, in either order, or several; None for anything else."""
    spread = re.sub(r",\s+", " ", line)
    cells = all(re.fullmatch(_CELL, each) for each in clauses(line)[1:-1])
    if len(clauses(line)) > 3 and cells and (whole := _voicing(spread, where)):
        return VoicingsSaid(voicings=(whole,))
    found: list[VoicingSaid] = []
    for piece in clauses(line):
        if found and (extra := _extra(piece)):
            found[-1] = _with(found[-1], *extra, where)
            continue
        body, extras = _trailing(piece)
        one = _voicing(body, where)
        if one is None:
            if found:
                raise LogbookError(
                    f'"{piece}" is not a chord with its frets',
                    "write each as in Bm7 x24232, Gmaj7 3x443x",
                )
            return None
        for extra in extras:
            one = _with(one, *extra, where)
        found.append(one)
    return VoicingsSaid(voicings=tuple(found)) if found else None


def _extra(piece: str) -> tuple[str, str] | None:
    for field, form in _EXTRA:
        if said := form.fullmatch(piece):
            return field, said[1]
    return None


def _trailing(piece: str) -> tuple[str, list[tuple[str, str]]]:
    """Part what is said after the frets without a comma: "x24232 from capo"."""
    said: list[tuple[str, str]] = []
    for field, form in _EXTRA:
        found = re.search(rf"\s+(?:{form.pattern})$", piece, re.I)
        if found:
            said.append((field, found[found.lastindex or 0]))
            piece = piece[: found.start()]
    return piece, said


def _with(one: VoicingSaid, field: str, value: str, where: Where) -> VoicingSaid:
    from dataclasses import replace

    strings = len(one.frets.split())
    if field == "fingers":
        value = write_fingers(read_fingers(value.strip(), strings=strings))
    elif field in ("avoid", "ring"):
        numbers = sorted({int(each) for each in re.findall(r"[0-9]+", value)})
        wrong = [each for each in numbers if not 1 <= each <= strings]
        if wrong:
            raise LogbookError(f"there is no string {wrong[0]}", f"number them 1 to {strings}")
        value = ", ".join(map(str, numbers))
    elif field == "counted":
        value = value.lower()
    return replace(one, **{field: value})


def _voicing(text: str, where: Where) -> VoicingSaid | None:
    words = (
        re.sub(r"\s*[=:]\s*", " ", text, count=1).split() if text.count(":") < 2 else text.split()
    )
    if len(words) > 1 and is_chord(words[0]) and looks_like_notes(" ".join(words[1:])):
        notes = " ".join(name for name, _ in read_notes(" ".join(words[1:])))
        return VoicingSaid(label=words[0], frets="", pitches=notes)
    strung = where.strung
    count = len(strung) if strung else None
    error: LogbookError | None = None
    for at in range(len(words)):
        for name, frets in (
            (words[:at], words[at:]),
            (words[len(words) - at :], words[: len(words) - at]),
        ):
            label, body = " ".join(name), " ".join(frets)
            if not _FRETS.fullmatch(body) or (name and _FRETS.fullmatch(label)):
                continue
            try:
                line = read_frets(body, counted=where.counted, strings=count)
            except LogbookError as problem:
                if label and (is_chord(name[0]) or "=" in text) and len(_cells(body)) > 2:
                    error = error or problem
                continue
            if len(line.cells) < 3 or (
                not label and not re.search(r"[xX]|\s", body) and len(body) < 5
            ):
                continue
            if label and not _is_label(label):
                continue
            return VoicingSaid(label=label, frets=line.text)
    if error is not None:
        raise error
    return None


def _cells(body: str) -> list[str]:
    return re.split(r"[\s,|-]+", body) if re.search(r"[\s,|-]", body) else list(body)


def _is_label(label: str) -> bool:
    """Whether a text can be what a chord is called: not half a sentence."""
    return len(label.split()) < 6 and re.match(r"[^\W\d_]|N\.C|\(", label) is not None


# The chart

_TIMES = re.compile(r"(?P<body>.*\S)\s+[x×](?P<times>[0-9]{1,2})", re.I)
_REPEAT = re.compile(r"%(?P<bars>[0-9]{1,2})")


def read_chart(line: str, where: Where) -> ChartSaid | None:
    """Read which chords stand in the bars of a section; None where it speaks of no chords."""
    head, colon, body = (_without_colon(line, where) or line).partition(":")
    place, body = head.strip(), body.strip()
    if not colon or not body or not place:
        return None
    known = section_text(place, where.form) or (place if is_bars(place) else None)
    bars_said, times = _bars_of(body)
    words = [word for bar in bars_said for word in bar.split()]
    chords = [word for word in words if _is_entry(word, where)]
    strokes = [word for word in words if word in (".", "%", "-", "N.C.", "NC")]
    if not any(chords) and not (known and len(strokes) == len(words)):
        return None
    wrong = [w for w in words if w not in chords and w not in strokes and not _REPEAT.fullmatch(w)]
    if wrong:
        if known is None or len(chords) * 2 < len(words):
            return None
        raise LogbookError(
            f'"{wrong[0]}" is not a chord', f"to write a remark, begin with note: note {place}: ..."
        )
    if known is None and not re.fullmatch(r"[^\W\d_][\w' -]{0,30}", place):
        return None
    bars: list[str] = []
    for bar in bars_said:
        repeat = _REPEAT.fullmatch(bar)
        if repeat:
            count = int(repeat["bars"])
            if not 0 < count <= len(bars):
                raise LogbookError(
                    f"%{count} repeats {count} bars, but only {len(bars)} come before it",
                    "write out the bars first",
                )
            bars += bars[-count:]
        else:
            bars.append(" ".join("-" if w in ("N.C.", "NC") else w for w in bar.split()) or ".")
    if not 0 < len(bars) * times <= 2000:
        raise LogbookError(f"the line is played {times} times", "write x1 or more")
    if bars[0] == "%":
        raise LogbookError('the line begins with "%"', "write out the first bar of a line")
    return ChartSaid(place=known or place, bars=tuple(bars * times))


def _without_colon(line: str, where: Where) -> str:
    """A section's name and nothing but chords after it ("B Em9 . Gmaj7 Bm7"), with its colon."""
    words = line.split()
    for count in (2, 1):
        place, rest = section_text(" ".join(words[:count]), where.form), words[count:]
        if place is None or ":" in line:
            continue
        played = rest[:-1] if len(rest) > 2 and re.fullmatch(r"[x×][0-9]{1,2}", rest[-1]) else rest
        chords = [word for word in played if _is_entry(word, where)]
        if chords and all(
            word in chords or word in (".", "%", "-", "|") or _REPEAT.fullmatch(word)
            for word in played
        ):
            return f"{place}: {' '.join(rest)}"
    return ""


def _bars_of(body: str) -> tuple[list[str], int]:
    times = 1
    if found := _TIMES.fullmatch(body):
        body, times = found["body"], int(found["times"])
    if "|" in body:
        return [bar.strip() for bar in body.strip().strip("|").split("|")], times
    return body.split(), times


def _is_entry(word: str, where: Where) -> bool:
    label = word.partition("@")[0]
    label = re.sub(r"^[0-9]+(?:/[0-9]+)?:", "", label)
    part = where.part_record
    return is_chord(label) or (part is not None and label in [each.label for each in part.voicings])


# Patterns

_ON = re.compile(r"(?P<body>.*?)\s+(?:on|in|for)\s+(?P<at>.+)", re.I)


def read_pattern_line(line: str, where: Where) -> PatternSaid | None:
    """Read what the picking hand does; None for anything else."""
    pieces = clauses(line)
    if not pieces:
        return None
    body, said = pieces[0], pieces[1:]
    label, grid, feel = "", "", ""
    at: tuple[str, ...] = ()
    head, colon, rest = body.partition(":")
    if colon and not _strokes(head):
        label, body = head.strip(), rest.strip()
        if section_text(label, where.form) and _chords(body):
            return None
        if re.match(r"pattern\b", label, re.I):
            label = label[7:].strip()
    elif found := re.match(r"(?:pattern|strum|picking)\s+(?=\S)", body, re.I):
        rest = body[found.end() :]
        label, body = ("" if found[0].strip().lower() == "pattern" else found[0].strip()), rest
    if found := _ON.fullmatch(body):
        names = [section_text(each, where.form) for each in listed(found["at"])]
        if all(names):
            at, body = tuple(name for name in names if name), found["body"]
        elif _is_grid(found["at"]):
            grid, body = found["at"], found["body"]
        elif _strokes(found["body"]):
            raise LogbookError(
                f"no section is called {found['at']}",
                f"the form has {', '.join(where.section_names[:8]) or 'no sections yet'}",
            )
    words = body.split()
    while words and not _strokes(" ".join(words)) and (tail := _feel(words)):
        feel, words = tail
    if words and _is_grid(words[-1]) and len(words) > 1:
        grid = words.pop()
    strokes = " ".join(words)
    if not _strokes(strokes):
        return None
    for each in said:
        if re.match(r"swing|straight", each, re.I):
            feel = each
        elif _is_grid(re.sub(r"^in\s+", "", each)):
            grid = re.sub(r"^in\s+", "", each)
        elif found := re.fullmatch(r"(?:on|in)\s+(.+)", each):
            names = [section_text(one, where.form) for one in listed(found[1])]
            if not all(names):
                raise LogbookError(f"no section is called {found[1]}", "see the form")
            at = tuple(name for name in names if name)
        else:
            return None
    if feel:
        feel = swing_text(parse_swing(feel))
        feel = "swing" if feel == "swing 2:1" else "" if feel == "straight" else feel
    return PatternSaid(strokes=strokes, label=label, grid=grid, feel=feel, at=at)


def _feel(words: list[str]) -> tuple[str, list[str]] | None:
    text = " ".join(words)
    found = re.search(r"\s+(swing(?:\s+[0-9]+:[0-9]+)?|straight)$", text, re.I)
    return (found[1], text[: found.start()].split()) if found else None


def _chords(text: str, *, long: bool = False) -> bool:
    """Whether a text may be bars of a chart; `long` ones cannot be strokes (Bm7, not D)."""
    words = [word for word in text.split() if word not in (".", "%", "-")]
    chords = bool(words) and all(map(is_chord, words))
    return chords and (not long or any(len(word) > 1 for word in words))


def _is_grid(text: str) -> bool:
    try:
        parse_grid(text)
    except LogbookError:
        return False
    return bool(re.search(r"[0-9]/|th|eighth|quarter|triplet", text))


def _strokes(text: str) -> bool:
    """Whether a text is strokes of the picking hand and could not be words or a chord."""
    plain = text.replace("|", " ").strip()
    try:
        cells, _ = read_cells(plain)
    except LogbookError:
        return False
    if len(cells) < 3 or _chords(plain, long=True):
        return False
    drawn = sum(plain.count(each) for each in ".DUPpB*[>")
    if set(plain) <= set("DUdux.*r> ") and set(plain) & set("DU"):
        return True
    spread = all(len(word) == 1 or word[1:].isdigit() for word in plain.split())
    return drawn >= 2 or spread
