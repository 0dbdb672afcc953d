"""Which take a file most likely is: every reading of its path and chunks, weighed.

Conventions. Each piece of evidence adds to a reading what it is worth (in bans: one is ten to one),
or takes from it where it contradicts; the reading that explains most wins. How sure it is follows
from how far it stands before the next one that would hang the file elsewhere, and from whether
part and take are told at all. The worths are ours, set by hand on invented sessions.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import PurePath
from typing import NamedTuple

from logbook.audio.facts import AudioInfo
from logbook.importing.path_words import (
    KIT_WORDS,
    MIC_WORDS,
    SHORT,
    Run,
    Word,
    cells_of,
    initials_of,
    name_words,
    path_words,
    runs_of,
    text_words,
)
from logbook.importing.weighing_takes import (
    dates_of,
    day_written,
    microphone_of,
    sessions_of,
    take_numbers,
)
from logbook.store.file_rows import Outline, PartLine


@dataclass(frozen=True, kw_only=True)
class Reading:
    """One way to read a file: where it hangs, what line of the take it is, how sure, and why.

    `session_id` is None where none is told; `sure` is 0 to 1; `by` the evidence in words.
    """

    part_id: int
    session_id: int | None
    take: int
    microphone: str
    worth: float
    sure: float
    by: tuple[str, ...]


_SHORT_FORMS = frozenset(short for forms in SHORT.values() for short in forms)
CHUNKS = 100
"""The number of the first step that is no step of the path, but a text of the file's chunks."""


class Said(NamedTuple):
    """What the chunks of a file say in words: each text as a step, and what it is called."""

    steps: tuple[tuple[Word, ...], ...]
    named: tuple[str, ...]


def said_of(info: AudioInfo) -> Said:
    """The texts of a file's broadcast and iXML chunks."""
    texts: list[tuple[str, str]] = []
    if info.broadcast and info.broadcast.description:
        texts.append((info.broadcast.description, "broadcast chunk"))
    if info.ixml:
        ixml = info.ixml
        tracks = ixml.tracks if info.channels == len(ixml.tracks) == 1 else ()
        texts += [
            (text, "iXML chunk") for text in (ixml.project, ixml.scene, ixml.note, *tracks) if text
        ]
    return Said(text_words((text for text, _ in texts), CHUNKS), tuple(name for _, name in texts))


@dataclass
class _Weighed:
    part: PartLine
    worth: float
    by: list[str]
    used: set[tuple[int, int]]
    told: bool


@dataclass
class Known:
    """The log's names made ready for weighing."""

    outline: Outline
    song_id: int | None = None
    session_id: int | None = None
    here_song: int | None = None

    def __post_init__(self) -> None:
        self.numbers: dict[tuple[int, int | None], set[int]] = {}
        for take in self.outline.takes:
            self.numbers.setdefault((take.part_id, take.session_id), set()).add(take.number)
        self.parts_of_song: dict[int, list[PartLine]] = {}
        for part in self.outline.parts.values():
            song = self.outline.versions[part.version_id].song_id
            if self.song_id in (None, song):
                self.parts_of_song.setdefault(song, []).append(part)
        titles = [name_words(title)[:1] for title in self.outline.songs.values()]
        two = [
            initials
            for words in map(name_words, self.outline.songs.values())
            if len(words) == 2 and (initials := "".join(word[0] for word in words))
        ]
        self.two_letters = {
            each
            for each in two
            if two.count(each) == 1 and each not in MIC_WORDS | KIT_WORDS | _SHORT_FORMS
        }
        self.first_words = {words[0] for words in titles if words and titles.count(words) == 1}


@dataclass(frozen=True, kw_only=True)
class Near:
    """What the other files of a file's folder are sure to be: songs, sessions, shares of them."""

    songs: Mapping[int, float] = field(default_factory=dict)
    sessions: Mapping[int, float] = field(default_factory=dict)


ALONE = Near()


def weigh(
    info: AudioInfo, path: PurePath | str, known: Known, near: Near = ALONE, most: int = 3
) -> list[Reading]:
    """The likeliest readings of a file, best first; none where nothing tells a part."""
    steps = path_words(path)
    text = str(path)
    said = said_of(info)
    songs = _songs(steps, info, said, known)
    dates, written = dates_of(text, info), day_written(info)
    found: list[tuple[float, Reading]] = []
    for song_id, parts in known.parts_of_song.items():
        song_worth, song_by, song_used = songs.get(song_id, (0.0, "", set()))
        elsewhere = max((w for each, (w, _, _) in songs.items() if each != song_id), default=0.0)
        if elsewhere > song_worth:
            song_worth -= elsewhere
        for weighed in _parts(steps, said, parts, known, song_used):
            worth = weighed.worth + song_worth + _version_worth(steps, weighed, known)
            by = [*weighed.by, *([song_by] if song_by else [])]
            if not songs and known.here_song == song_id:
                worth, by = worth + 0.5, [*by, "here"]
            if not songs and song_id in near.songs:
                worth, by = worth + 0.9 * near.songs[song_id], [*by, "its neighbours' song"]
            used = weighed.used | song_used
            for number, take_worth, take_by, take_used in take_numbers(steps, used, info, text):
                for session_id, session_worth, session_by in sessions_of(
                    steps,
                    dates,
                    weighed.part,
                    number,
                    known.outline,
                    known.numbers,
                    known.session_id,
                    written,
                ):
                    total = worth + take_worth + session_worth
                    if near.sessions:
                        total += 0.9 * near.sessions.get(session_id or 0, 0.0)
                        session_by = session_by or "its neighbours' session"
                    words = dict.fromkeys(filter(None, [*by, take_by, session_by]))
                    microphone = microphone_of(steps[0], used | take_used)
                    reading = Reading(
                        part_id=weighed.part.id,
                        session_id=session_id,
                        take=number,
                        microphone=microphone,
                        worth=total,
                        sure=0.0,
                        by=tuple(words),
                    )
                    found.append((total, reading))
    found.sort(key=lambda each: -each[0])
    return _with_certainty(found, most)


def _with_certainty(found: Sequence[tuple[float, Reading]], most: int) -> list[Reading]:
    """The best readings, each with how sure it is beside all the others."""
    if not found:
        return []
    top = found[0][0]
    total = sum(10 ** (worth - top) for worth, _ in found)
    out = []
    for worth, reading in found[:most]:
        share = 10 ** (worth - top) / total
        # Little evidence is no certainty, however alone it stands.
        enough = 1 / (1 + math.exp(-3.0 * (worth - 2.2)))
        out.append(_replaced(reading, round(share * enough, 3)))
    return out


def _replaced(reading: Reading, sure: float) -> Reading:
    return replace(reading, sure=sure)


# Songs


def _songs(
    steps: Sequence[Sequence[Word]], info: AudioInfo, said: Said, known: Known
) -> dict[int, tuple[float, str, set[tuple[int, int]]]]:
    """What each song that is named is worth, by what, and the words that name it."""
    found: dict[int, tuple[float, str, set[tuple[int, int]]]] = {}
    titles = {bare_title(title) for title in info.tags.get("title", ())}
    for song_id, title in known.outline.songs.items():
        words = name_words(title)
        if not words:
            continue
        worth, by, used = _song_in_path(title, words, steps, known)
        plain = " ".join(words)
        if plain in titles:
            worth, by = worth + 2.0, by or "tags"
        for run in runs_of(title, said.steps):
            worth, by = worth + 2.0 * run.share, by or said.named[run.step - CHUNKS]
            used = used | cells_of(run)
            break
        if worth:
            found[song_id] = (worth, by, used)
    # Without titles whose words are part of a longer one: `Kiln` in `Kiln Road`.
    return {
        song_id: each
        for song_id, each in found.items()
        if not each[2] or not any(each[2] < other[2] for other in found.values())
    }


def _song_in_path(
    title: str, words: Sequence[str], steps: Sequence[Sequence[Word]], known: Known
) -> tuple[float, str, set[tuple[int, int]]]:
    runs = runs_of(title, steps)
    if runs:
        best = max(runs, key=lambda run: (run.share, -run.step))
        length = sum(map(len, words))
        where = "name" if best.step == 0 else "folder"
        return min(3.0, 1.5 + 0.15 * length) * best.share, f"song in its {where}", cells_of(best)
    initials = initials_of(title)
    pair = "".join(word[0] for word in words) if len(words) == 2 else ""
    for number, step in enumerate(steps):
        plain = [word.plain for word in step]
        if initials and initials in plain:
            at = plain.index(initials)
            return 1.5, "song by its initials", {(number, at)}
        if pair in known.two_letters and pair in plain:
            written = step[plain.index(pair)].written
            if written.isupper() or number == 0:
                return 1.2, "song by its initials", {(number, plain.index(pair))}
        if words[0] in plain and words[0] in known.first_words and len(words[0]) >= 4:
            at = plain.index(words[0])
            return 1.2, "song by its first word", {(number, at)}
    return 0.0, "", set()


def bare_title(text: str) -> str:
    """A title as its plain words."""
    return " ".join(name_words(text))


def _version_worth(steps: Sequence[Sequence[Word]], weighed: _Weighed, known: Known) -> float:
    """A version that is named counts for its parts and against those of the song's others."""
    versions = known.outline.versions
    own = versions[weighed.part.version_id]
    others = [each for each in versions.values() if each.song_id == own.song_id and each != own]
    if not others:
        return 0.0
    if runs_of(own.name, steps):
        return 1.0
    return -1.0 if any(runs_of(each.name, steps) for each in others) else 0.0


# Parts


def _parts(
    steps: Sequence[Sequence[Word]],
    said: Said,
    parts: Sequence[PartLine],
    known: Known,
    taken: set[tuple[int, int]],
) -> list[_Weighed]:
    found: list[_Weighed] = []
    for part in parts:
        best = _Weighed(part, 0.0, [], set(), False)
        aliases = [each.strip() for each in part.aliases.split(",") if each.strip()]
        for name in (part.name, *aliases):
            for run in runs_of(name, steps):
                cells = cells_of(run)
                if cells & taken:
                    continue
                worth = _part_worth(name, run)
                if worth > best.worth:
                    where = "name" if run.step == 0 else "folder"
                    best = _Weighed(part, worth, [f"part in its {where}"], cells, True)
        worth, by, cells = _part_in_chunks((part.name, *aliases), said, taken)
        if worth:
            best.worth += worth
            best.by.append(by)
            best.used |= cells
            best.told = True
        if not best.told:
            worth, by, cells = _part_by_one_word(part, parts, steps, taken)
            best = _Weighed(part, worth, [by] if worth else [], cells, bool(worth))
        if not best.told and _is_kit(part.name) and KIT_WORDS & {w.plain for w in steps[0]}:
            best = _Weighed(part, 1.6, ["drum microphones in its name"], set(), True)
        if not best.told and len(parts) == 1:
            best = _Weighed(part, 0.3, ["the song's only part"], set(), True)
        if best.told:
            found.append(best)
    return _longest(found)


def _longest(found: list[_Weighed]) -> list[_Weighed]:
    """Without parts whose words are part of a longer name: `guitar` in `high guitar`."""
    return [
        each
        for each in found
        if not any(other is not each and each.used and each.used < other.used for other in found)
    ]


def _part_worth(name: str, run: Run) -> float:
    length = sum(map(len, name_words(name)))
    worth = min(2.6, 1.3 + 0.12 * length) * run.share
    return worth if run.step == 0 else worth * 0.85


def _part_in_chunks(
    names: Iterable[str], said: Said, taken: set[tuple[int, int]]
) -> tuple[float, str, set[tuple[int, int]]]:
    """What the chunks say of a part, by any of its names."""
    best: tuple[float, str, set[tuple[int, int]]] = (0.0, "", set())
    for name in names:
        for run in runs_of(name, said.steps):
            if 2.0 * run.share > best[0] and not cells_of(run) & taken:
                best = (2.0 * run.share, said.named[run.step - CHUNKS], cells_of(run))
    return best


def _part_by_one_word(
    part: PartLine,
    parts: Iterable[PartLine],
    steps: Sequence[Sequence[Word]],
    taken: set[tuple[int, int]],
) -> tuple[float, str, set[tuple[int, int]]]:
    """A part of two words by the one that no other part of the song has."""
    others = {word for each in parts if each is not part for word in name_words(each.name)}
    own = [w for w in name_words(part.name) if w not in others and len(w) >= 3]
    for word in own:
        for run in runs_of(word, steps):
            if run.step <= 1 and not cells_of(run) & taken:
                return 1.1 * run.share, "part by one of its words", cells_of(run)
    return 0.0, "", set()


def _is_kit(name: str) -> bool:
    return bool({"drums", "drum", "kit"} & set(name_words(name)))
