"""Lines that set one thing: of the part (capo, tuning, pan), of the version (tempo, meter, key)."""

from __future__ import annotations

import re
from collections.abc import Callable

from logbook.errors import LogbookError
from logbook.notebook.lines.facts import (
    DoubleSaid,
    Fact,
    MeterSaid,
    OverdubSaid,
    PartFact,
    Setting,
    Several,
    TempoSaid,
    VersionField,
)
from logbook.notebook.lines.where import Where
from logbook.notebook.lines.words import clauses, number_of, place_text
from logbook.strings.capo import read_capos, write_capos
from logbook.strings.tunings import find_tuning, parse_tuning, tuning_names
from logbook.theory.keys import parse_key
from logbook.timing.map_text import read_pickup
from logbook.timing.meter import COMMON_TIME, parse_meter
from logbook.timing.tempo import parse_tempo

_NUMBER = r"[0-9]+(?:\.[0-9]+)?"
_UNIT = r"(?:[a-zQH♩♪][a-z]*\.?|[0-9]+/[0-9]+)"
_TEMPO = rf"(?:{_UNIT}\s*=\s*)?{_NUMBER}(?:\s*>\s*(?:{_UNIT}\s*=\s*)?{_NUMBER})?"
_AT = r"(?:\s+(?:at|from)\s+(?:bar\s+)?(?P<place>.+))"
_TEMPO_FORMS = (
    re.compile(rf"(?:tempo|bpm)\s*:?\s*(?P<text>{_TEMPO}){_AT}?", re.I),
    re.compile(rf"(?P<text>{_TEMPO})\s*bpm{_AT}?", re.I),
    re.compile(rf"(?P<text>{_UNIT}\s*=\s*{_TEMPO}){_AT}?"),
    re.compile(rf"(?:at |from |bar )?(?P<place>[0-9]+(?:\.[0-9]+)?(?:-[0-9]+)?)[:,]?\s+"
               rf"(?:tempo\s+)?(?P<text>{_UNIT}\s*=\s*{_TEMPO})"),
)  # fmt: skip
_METER = r"(?P<meter>[0-9]+(?:\+[0-9]+)*/[0-9]+)"
_METER_FORMS = (
    re.compile(rf"(?:(?:meter|time)\s*:?\s*|in\s+)?{_METER}(?:\s+time)?{_AT}?", re.I),
    re.compile(rf"(?:at |from |bar )?(?P<place>[0-9]+)[:,]?\s+{_METER}", re.I),
)
_NOTE_SIGNS = {"♩": "q", "♪": "e", "crotchet": "q", "quarter": "q", "quaver": "e", "eighth": "e"}
_DOUBLED = re.compile(
    r"(?P<state>not doubled|undoubled|no doubl(?:e|ing)|single|doubled|doubling unknown)"
    r"(?:\s+(?:by|with)\s+(?:the\s+)?(?P<by>[^:,]+?))?"
    r"(?:(?:\s*[:,]\s*|\s+(?:because|since|as)\s+)(?:yes\s*(?:,\s*|$))?(?P<rest>.*))?",
    re.I,
)
_DOUBLES = re.compile(
    r"(?:doubles|doubling|double of|a double of)\s+(?:the\s+)?(?P<of>[^:,]+?)"
    r"(?:\s*[:,]\s*(?P<pan>.+))?",
    re.I,
)
_OVERDUB = re.compile(
    r"(?:overdub(?:bed)?)(?:\s*(?:over|on top of|to)\s+(?:the\s+)?(?P<over>[^,:]+?))?"
    r"(?:\s*[,:]\s*(?:on\s+|in\s+)?(?P<bars>.+))?",
    re.I,
)


def read_part_fact(line: str, where: Where) -> PartFact | None:
    """Read one thing said of the part; None where the line is nothing of the kind."""
    for reader in _PART_READERS:
        if (fact := reader(line, where)) is not None:
            return fact
    return None


def read_setting(line: str, where: Where) -> Fact | None:
    """Read one setting of part or version, or several with commas between."""
    pieces = clauses(line)
    if len(pieces) > 1:
        facts = []
        for each in pieces:
            try:
                facts.append(_one(each, where))
            except LogbookError:
                facts.append(None)
        if all(facts):
            return Several(facts=tuple(each for each in facts if each is not None))
    return _one(line, where)


def _one(line: str, where: Where) -> PartFact | TempoSaid | MeterSaid | VersionField | None:
    return read_version_fact(line, where) or read_part_fact(line, where)


# The version


def read_version_fact(line: str, where: Where) -> TempoSaid | MeterSaid | VersionField | None:
    """Read a tempo, a meter, a key, a pick-up or a reference pitch."""
    return _tempo(line, where) or _meter(line, where) or _version_field(line)


def _tempo(line: str, where: Where) -> TempoSaid | None:
    if re.match(r"A4?\s*=", line):
        return None
    for form in _TEMPO_FORMS:
        if found := form.fullmatch(line):
            text = re.sub(r"\s+", "", found["text"])
            for sign, letter in _NOTE_SIGNS.items():
                text = text.replace(sign, letter)
            start, _, goal = text.partition(">")
            for each in filter(None, (start, goal)):
                parse_tempo(each, COMMON_TIME)
            place = _at(found["place"], where)
            if goal and "-" not in place:
                raise LogbookError(
                    "a gliding tempo needs the bars it glides over",
                    "write it as in 33-36 q=96>84",
                )
            return TempoSaid(text=text, place=place)
    return None


def _meter(line: str, where: Where) -> MeterSaid | None:
    for form in _METER_FORMS:
        if found := form.fullmatch(line):
            return MeterSaid(
                meter=str(parse_meter(found["meter"])), place=_at(found["place"], where)
            )
    return None


def _at(place: str | None, where: Where) -> str:
    """A place that something holds from: a bar, or a section."""
    if not place or place.strip() == "1":
        return ""
    found = place_text(place, where)
    if found is None and re.fullmatch(r"[0-9]+(?:\.[0-9]+)?", place.strip()):
        return place.strip()
    if found is None:
        raise LogbookError(f'"{place}" is not a place in the form', "write a bar, as in at 17")
    return found


def _version_field(line: str) -> VersionField | None:
    if found := re.fullmatch(r"(?:the\s+)?key\s*(?:of|:|is|=)?\s*(?P<key>.+)", line, re.I):
        return VersionField(field="key", value=parse_key(found["key"]).short)
    if found := re.fullmatch(r"in\s+(?P<key>[A-G][b#♭♯]?(?:\s*m|\s+minor|\s+major|\s+maj)?)", line):
        return VersionField(field="key", value=parse_key(found["key"]).short)
    if found := re.fullmatch(r"(?P<key>[A-G][b#♭♯]?\s+(?:minor|major))", line):
        return VersionField(field="key", value=parse_key(found["key"]).short)
    if found := re.fullmatch(rf"A4?\s*=\s*({_NUMBER})(?:\s*hz)?", line, re.I):
        return VersionField(field="a4", value=found[1])
    if found := re.fullmatch(rf"({_NUMBER})\s*khz", line, re.I):
        return VersionField(field="rate", value=str(round(float(found[1]) * 1000)))
    if found := re.fullmatch(r"([0-9]{4,6})\s*hz", line, re.I):
        return VersionField(field="rate", value=found[1])
    return _pickup(line)


def _pickup(line: str) -> VersionField | None:
    found = re.fullmatch(
        r"(?:a\s+)?pick-?\s?up(?:\s+bar)?\s*:?\s*(?:of\s+)?(?P<length>.+)", line, re.I
    )
    found = found or re.fullmatch(r"(?P<length>.+?)\s+pick-?\s?up(?:\s+bar)?", line, re.I)
    if found is None:
        return None
    words = found["length"].lower().replace("-", " ").split()
    count = number_of(words[0])
    if count is None and not re.fullmatch(r"[0-9]+/[0-9]+", words[0]):
        return None
    text = str(count) if count is not None else words[0]
    unit = words[1].rstrip("s") if len(words) > 1 else "beat"
    units = {"beat": "", "quarter": " q", "eighth": " e", "sixteenth": " s", "q": " q", "e": " e",
             "s": " s", "crotchet": " q", "quaver": " e"}  # fmt: skip
    if unit not in units or (len(words) > 2 and words[2:] not in (["note"], ["notes"])):
        raise LogbookError(
            f'"{found["length"]}" is not the length of a pick-up',
            "write it as in pick-up 1, or pick-up 3 eighths",
        )
    read_pickup(text + units[unit], COMMON_TIME)
    return VersionField(field="pickup", value=text + units[unit])


# The part


def _capo(line: str, where: Where) -> Setting | None:
    if re.fullmatch(r"(?:no capo|capo (?:off|none|0)|without (?:a )?capo)", line, re.I):
        return Setting(field="capo", value="")
    found = re.fullmatch(r"capo(?:'?d)?\s*:?\s*(?:at |on |@ ?)?(?P<capo>[0-9].*)", line, re.I)
    found = found or re.fullmatch(
        r"(?P<capo>[0-9]+)\s*(?:st|nd|rd|th)?\s*(?:fret )?capo", line, re.I
    )
    if found is None:
        return None
    body = re.sub(r"^([0-9]+)(?:st|nd|rd|th)?(?: fret)?", r"\1", found["capo"])
    return Setting(field="capo", value=write_capos(read_capos(body)))


def _tuning(line: str, where: Where) -> Setting | None:
    found = re.fullmatch(r"(?:tuning|tuned)\s*:?\s*(?:to |in |is )?(?P<name>.+)", line, re.I)
    found = found or re.fullmatch(r"(?P<name>.+?)\s+tuning", line, re.I)
    name = found["name"] if found else line
    logged = {each.name.casefold(): each.name for each in where.tunings}
    if name.casefold() in logged:
        return Setting(field="tuning", value=logged[name.casefold()])
    words = name.replace("-", " ").split()
    if (
        found
        and len(words) > 3
        and all(re.fullmatch(r"[A-G][b#]?[0-9](?:/\S+)?(?:@\d+)?", w) for w in words)
    ):
        return Setting(field="tuning", value=parse_tuning(" ".join(words)).text)
    if not found and not _is_tuning_word(name):
        return None
    return Setting(field="tuning", value=find_tuning(name).name)


def _is_tuning_word(name: str) -> bool:
    """Whether a line without the word tuning is one all the same: drop D, DADGAD, open G."""
    if re.fullmatch(r"(?:double )?drop(?:ped)?[- ][A-G][b#]?"
                    r"|open[- ][A-G][b#]?(?: minor)?|[A-G]{6}",
                    name, re.I):  # fmt: skip
        return not re.fullmatch(r"[a-g]{6}", name)
    plain = name.casefold()
    return plain in [each.casefold() for each in tuning_names()] and plain not in _INSTRUMENTS


_INSTRUMENTS = {"bass", "mandolin", "mandola", "octave mandolin", "ukulele", "baritone ukulele",
                "tenor guitar", "tenor banjo", "banjo", "charango", "twelve-string",
                "seven-string", "eight-string"}  # fmt: skip


def _counted(line: str, where: Where) -> Setting | None:
    found = re.fullmatch(
        r"(?:frets?\s+|fret numbers\s+)?(?:are\s+)?(?:counted\s+|count\s+)?"
        r"from\s+(?:the\s+)?(nut|capo)",
        line,
        re.I,
    )
    return Setting(field="counted", value=found[1].lower()) if found else None


def _pan(line: str, where: Where) -> Setting | None:
    found = re.fullmatch(r"pan(?:ned)?\s*:?\s*(?:to (?:the )?)?(?P<where>.+)", line, re.I)
    if found:
        return Setting(field="pan", value=found["where"])
    if re.fullmatch(
        r"(?:(?:hard|full|half) )?(?:left|right)(?: [0-9]{1,3}%?)?|[LR][0-9]{1,3}", line, re.I
    ):
        return Setting(
            field="pan", value=line.lower() if line[0] not in "LR" or " " in line else line
        )
    return None


def _picked(line: str, where: Where) -> Setting | None:
    said = {
        "pick": "pick", "plectrum": "pick", "with a pick": "pick", "with pick": "pick",
        "fingers": "fingers", "fingerstyle": "fingers", "fingerpicked": "fingers",
        "with fingers": "fingers", "with the fingers": "fingers",
        "pick and fingers": "pick and fingers", "hybrid": "pick and fingers",
    }.get(line.casefold())  # fmt: skip
    return Setting(field="picked", value=said) if said else None


def _heard(line: str, where: Where) -> Setting | None:
    found = re.fullmatch(
        r"(?P<no>not\s+)?(?:in the (?:mix|final mix|final version)|heard)", line, re.I
    )
    if found is None:
        return None
    return Setting(field="heard", value="no" if found["no"] else "yes")


def _texts(line: str, where: Where) -> Setting | None:
    found = re.fullmatch(r"(?P<word>chain|signal chain|amp|mic|mics|di|technique|shapes?(?: key)?(?: in)?)"  # noqa: E501
                         r"(?:\s*:\s*|\s+)(?P<text>.+)", line, re.I)  # fmt: skip
    if found is None:
        pickup = re.fullmatch(r"(?P<text>(?:\w+ )?pick-?up[s]?(?: \w+)?)", line, re.I)
        return Setting(field="chain", value=pickup["text"]) if pickup else None
    word = found["word"].casefold()
    if word.startswith("shape"):
        return Setting(field="shape_key", value=parse_key(found["text"]).short)
    if word == "technique":
        return Setting(field="technique", value=found["text"])
    text = found["text"] if "chain" in word else f"{word} {found['text']}"
    return Setting(field="chain", value=text)


def _doubled(line: str, where: Where) -> DoubleSaid | None:
    if found := _DOUBLES.fullmatch(line):
        return DoubleSaid(of=found["of"], pan=found["pan"] or "")
    found = _DOUBLED.fullmatch(line)
    if found is None:
        return None
    state = {"undoubled": "not doubled", "single": "not doubled", "doubling unknown": "unknown"}
    said = re.sub(r"^no doubl.*", "not doubled", found["state"].lower())
    rest = found["rest"] or ""
    if found["by"]:
        return DoubleSaid(by=found["by"], pan=re.sub(r"^pan(?:ned)?\s+", "", rest))
    return DoubleSaid(state=state.get(said, said), why=rest)


def _overdub(line: str, where: Where) -> OverdubSaid | None:
    words = line.split()
    if len(words) > 1 and words[-2][-1] not in ",:" and place_text(words[-1], where):
        before = re.sub(r"\s+(?:on|in|for|from)$", "", " ".join(words[:-1]), flags=re.I)
        line = f"{before}: {words[-1]}"
    found = _OVERDUB.fullmatch(line)
    if found is None:
        return None
    bars = ""
    if found["bars"]:
        bars = place_text(found["bars"], where) or ""
        if not bars:
            raise LogbookError(
                f'"{found["bars"]}" is not a place in the form',
                "write it as in overdub over guitar: 17-24",
            )
    return OverdubSaid(over=found["over"] or "", bars=bars)


_PART_READERS: tuple[Callable[[str, Where], PartFact | None], ...] = (
    _capo, _counted, _doubled, _overdub, _pan, _picked, _heard, _texts, _tuning,
)  # fmt: skip
