"""Take numbers, days, sessions and microphones, as a file's path and chunks may mean them.

What each is worth is counted as in `weighing`. A number that is a date, a time of day, a sample
rate or part of a name is not a take.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterable, Mapping, Sequence

from logbook.audio.facts import AudioInfo
from logbook.audio.patterns import iso_date, take_number
from logbook.importing.path_words import Word, cells_of, runs_of
from logbook.importing.placing import time_of_day
from logbook.importing.trade_words import NOISE_WORDS, TAKE_WORDS, is_line_word
from logbook.store.file_rows import Outline, PartLine, SessionLine, TakeOutline

_DATE = re.compile(r"(?<!\d)(\d{4})([-_. ]?)(\d{2})\2(\d{2})(?!\d)")
_RATES = frozenset((441, 48, 96, 192, 44100, 48000, 88200, 96000, 192000, 24, 16))
_MOST_TAKES = 999
_NIGHT = frozenset(("00", "01", "02", "03", "04", "05"))
_AFTER_MIDNIGHT = 1.2
_OTHER_ORDER = 1.1
_MAY_BE = (_AFTER_MIDNIGHT, _OTHER_ORDER)
_DAY_FIRST = re.compile(r"(?<!\d)(\d{1,2})([-_. ])(\d{1,2})\2((?:19|20)\d{2})(?!\d)")
_SHORT_YEAR = re.compile(r"(?<!\d)(\d{2})([-_.]?)(\d{2})\2(\d{2})(?!\d)")
_NUMBER_WORDS = {
    word: at
    for at, word in enumerate(
        [
            "one",
            "two",
            "three",
            "four",
            "five",
            "six",
            "seven",
            "eight",
            "nine",
            "ten",
            "eleven",
            "twelve",
        ],
        1,
    )
}
_SAME_START_S = 90  # a clock is set by hand
_OTHER_START_S = 600
_SHORT = 0.6  # of what a take's bars last is another take, or a piece of it
_COUNT_IN_S = 25  # before and behind the bars

# Takes


def take_numbers(
    steps: Sequence[Sequence[Word]],
    used: set[tuple[int, int]],
    info: AudioInfo,
    text: str,
) -> list[tuple[int, float, str, set[tuple[int, int]]]]:
    """The take numbers that may be meant, each with its worth, by what, and its words."""
    chunks: dict[int, float] = {}
    ixml = take_number(info.ixml.take or "") if info.ixml else None
    if ixml is not None:
        chunks[ixml] = 2.0
    if info.broadcast:
        said = re.search(r"take[ _:#]*0*(\d{1,3})", info.broadcast.description, re.IGNORECASE)
        if said:
            chunks[int(said[1])] = 2.0
    dated = _dated_words(steps)
    found: dict[int, tuple[float, str, set[tuple[int, int]]]] = {}
    for number, step in enumerate(steps[:3]):
        plain_numbers = [
            word for word in step
            if word.plain.isdecimal()
            and 0 < int(word.plain[:6]) <= _MOST_TAKES
            and (number, word.at) not in used
            and (number, word.at) not in dated
            and not _is_figure(word, step)
        ]  # fmt: skip
        for word in step:
            spelt = _NUMBER_WORDS.get(word.plain)
            before = step[word.at - 1].plain if word.at else ""
            if spelt and before in TAKE_WORDS and (number, word.at) not in used:
                cells = {(number, word.at), (number, word.at - 1)}
                found[spelt] = (2.4 if number == 0 else 2.0, "take in its name", cells)
        for word in plain_numbers:
            worth, by = _number_worth(word, step, number, plain_numbers)
            value = int(word.plain)
            cells = {(number, word.at)}
            if worth > 1.9:
                cells.add((number, word.at - 1))
            if value not in found or worth > found[value][0]:
                found[value] = (worth, by, cells)
    out = []
    for value in found.keys() | chunks.keys():
        worth, by, cells = found.get(value, (0.0, "", set()))
        if value in chunks:
            worth, by = worth + chunks[value], by or "take in its chunks"
        elif chunks:
            worth -= 2.0
        out.append((value, worth, by, cells))
    return out


def _number_worth(
    word: Word, step: Sequence[Word], number: int, others: Sequence[Word]
) -> tuple[float, str]:
    before = step[word.at - 1].plain if word.at else ""
    if before in TAKE_WORDS:
        return (2.4, "take in its name") if number == 0 else (2.0, "take in its folder")
    if number > 0:
        return (0.4, "number in its folder") if len(step) > 1 else (0.9, "folder is a number")
    worth = 1.0 if len(others) == 1 else 0.6
    if word is others[-1]:
        worth += 0.3
    if word.written.startswith("0"):
        worth += 0.1
    return worth, "number in its name"


def _is_figure(word: Word, step: Sequence[Word]) -> bool:
    """Whether a number is a sample rate, a depth or a tempo rather than a take."""
    if not word.plain.isdecimal():
        return False
    after = step[word.at + 1].plain if word.at + 1 < len(step) else ""
    if after in ("khz", "k", "hz", "bit", "bpm", "db", "st", "nd", "rd", "th"):
        return True
    return (
        int(word.plain[:6]) in _RATES and after in ("1", "24", "16", "32") and len(word.written) > 1
    )


def dates_of(text: str, info: AudioInfo) -> dict[str, float]:
    """The days that a file says it is from, and what each is worth."""
    found: dict[str, float] = {}
    for match in _DATE.finditer(text):
        day = iso_date("-".join(match.group(1, 3, 4)))
        if day:
            found[day] = 1.5
    if not found:
        # The same day in another order may be meant, which counts where it is a session's.
        for match in _DAY_FIRST.finditer(text):
            one, other, year = int(match[1]), int(match[3]), match[4]
            for month, day_of in ((other, one), (one, other)):
                if day := iso_date(f"{year}-{month:02d}-{day_of:02d}"):
                    found[day] = _OTHER_ORDER
        for match in _SHORT_YEAR.finditer(text):
            for year, month_, day_ in (match.group(1, 3, 4), match.group(4, 3, 1)):
                if day := iso_date(f"20{year}-{month_}-{day_}"):
                    found[day] = _OTHER_ORDER
    if info.broadcast:
        day = iso_date(re.sub(r"[^0-9]", "-", info.broadcast.date))
        if day:
            found[day] = found.get(day, 0.0) + 1.5
            if info.broadcast.time[:2] in _NIGHT:
                # A session that goes on after midnight is still the day before's.
                before = datetime.date.fromisoformat(day) - datetime.timedelta(days=1)
                found.setdefault(before.isoformat(), _AFTER_MIDNIGHT)
    return found


def day_written(info: AudioInfo) -> str:
    """The day a file was last written, in the time of this place; copying may have changed it."""
    try:
        return datetime.date.fromtimestamp(info.modified_ns / 1e9).isoformat()
    except (ValueError, OSError, OverflowError):
        return ""


def _dated_words(steps: Sequence[Sequence[Word]]) -> set[tuple[int, int]]:
    """Where numbers are a date or a time of day."""
    found: set[tuple[int, int]] = set()
    for number, step in enumerate(steps):
        for at, word in enumerate(step):
            if len(word.written) >= 6 and word.written.isdecimal():
                found.add((number, at))
            three = [each.written for each in step[at : at + 3]]
            if len(three) == 3 and all(each.isdecimal() for each in three):
                year = len(three[0]) == 4 and iso_date("-".join(three))
                clock = [len(each) for each in three] == [2, 2, 2] and int(three[1]) < 60
                behind = len(three[2]) == 4 and three[2][:2] in ("19", "20")
                if year or behind or clock:
                    found |= {(number, at + offset) for offset in range(3)}
    return found


def take_fits(info: AudioInfo, take: TakeOutline | None, lasts_s: float | None) -> float:
    """What it is worth that a file suits a logged take: its clock, its length, its circle.

    `lasts_s` is how long the take's bars last, None where nobody knows.
    """
    if take is None:
        return 0.0
    worth = 0.0
    began = time_of_day(info)
    if began and take.clock:
        apart = abs(_seconds(began) - _seconds(take.clock))
        apart = min(apart, 24 * 3600 - apart)
        worth += 1.5 if apart <= _SAME_START_S else -1.0 if apart > _OTHER_START_S else 0.0
    if lasts_s:
        length = float(info.duration_s)
        if length < _SHORT * lasts_s:
            worth -= 0.8
        elif lasts_s - 0.5 <= length <= lasts_s + _COUNT_IN_S:
            worth += 0.6
    if info.ixml and info.ixml.circled and take.result:
        worth += 0.4 if take.result == "keeper" else 0.0
        worth -= 0.6 if take.result in ("reject", "false start") else 0.0
    return worth


def _seconds(clock: str) -> int:
    hours, minutes, seconds = (int(each) for each in clock.split(":"))
    return 3600 * hours + 60 * minutes + seconds


# Sessions


def sessions_of(
    steps: Sequence[Sequence[Word]],
    dates: Mapping[str, float],
    part: PartLine,
    number: int,
    outline: Outline,
    numbers: Mapping[tuple[int, int | None], set[int]],
    asked: int | None,
    written: str = "",
) -> list[tuple[int | None, float, str]]:
    """The sessions that a take may be from, each with its worth and by what."""
    sessions = outline.sessions
    if asked is not None:
        return [(asked, 0.5, "--session")]
    if not sessions:
        return [(None, 0.0, "")]
    others = {session for part_id, session in numbers if part_id == part.id}
    out: list[tuple[int | None, float, str]] = []
    for session in sessions.values():
        worth, by = 0.0, ""
        if runs_of(session.name, steps):
            worth, by = 2.0, "session in its path"
        fitting = [value for day, value in dates.items() if _covers(session, day)]
        if session.date and dates:
            # What may be another day as well does not count against a session.
            against = [value for value in dates.values() if value not in _MAY_BE]
            worth += sum(fitting) if fitting else -sum(against)
            by = by or ("its date" if fitting else "")
        if not dates and session.date and _covers(session, written):
            worth, by = worth + 0.5, by or "the day it was written"
        if number in numbers.get((part.id, session.id), ()):
            worth, by = worth + 1.2, by or "that take is logged"
        elif others == {session.id}:
            by = by or "the part's other takes"
        elif len(others) == 1:
            worth -= 0.8
        if len(sessions) == 1:
            worth += 0.3
        out.append((session.id, worth + _latest(session, sessions.values()), by))
    if number in numbers.get((part.id, None), ()):
        out.append((None, 1.2, "that take is logged"))
    return out


def _covers(session: SessionLine, day: str) -> bool:
    return session.date <= day <= (session.end_date or session.date)


def _latest(session: SessionLine, sessions: Iterable[SessionLine]) -> float:
    """Where nothing else tells, the last session is a little likelier."""
    last = max(sessions, key=lambda each: (each.date, each.id))
    return 0.05 if session is last else 0.0


# Microphones


def microphone_beside(step: Sequence[Word], names: Iterable[str]) -> str:
    """Which line of a take a file is, by the words of its name that are none of these names.

    Letters that are both the beginnings of a title and a microphone are the microphone.
    """
    used: set[tuple[int, int]] = set()
    for name in names:
        for run in runs_of(name, (step,)):
            written = step[run.start : run.end]
            if run.share == 1 or not is_line_word("".join(word.plain for word in written)):
                used |= cells_of(run)
    return microphone_of(step, used)


def microphone_of(step: Sequence[Word], used: set[tuple[int, int]]) -> str:
    """Which line of the take a file is: the words for one that nothing else has taken."""
    dated = _dated_words((step,))
    figures = {each.at for word in step if _is_figure(word, step) for each in step[word.at :][:2]}
    words: list[str] = []
    for at, word in enumerate(step):
        if (0, at) in used or (0, at) in dated or at in figures:
            continue
        if word.plain in NOISE_WORDS | TAKE_WORDS:
            continue
        after_word = words and words[-1] == step[at - 1].written
        if is_line_word(word.plain) or (word.plain.isdecimal() and after_word):
            words.append(word.written)
    return " ".join(words)
